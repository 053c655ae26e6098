"""A jaw as a Timoshenko cantilever on an elastic mount, and the taper cut into it. mm, N, MPa, rad.

The jaw stands on the vise: the mount lets it shift in the closing direction and tilt about
the bed (Z = 0); above the metal that backs it the jaw bends as a plate. ``away`` is the
direction in which the part pushes the wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.errors import JawrightError

SOURCE = "Timoshenko beam on an elastic mount; shear coefficient of Cowper 1966; Winkler foundation"


@dataclass(frozen=True, slots=True)
class Plate:
    """The free-standing jaw: ``E`` [MPa], ``nu``, foot at height ``base``, ``thickness``, ``width`` [mm]."""

    E: float
    nu: float
    base: float
    thickness: float
    width: float

    @property
    def bending(self) -> float:
        """E I [N·mm²]."""
        return self.E * self.width * self.thickness**3 / 12

    @property
    def shearing(self) -> float:
        """κ G A [N], ``κ = 10(1+ν)/(12+11ν)`` (rectangle)."""
        kappa = 10 * (1 + self.nu) / (12 + 11 * self.nu)
        return kappa * self.E / (2 * (1 + self.nu)) * self.width * self.thickness


@dataclass(frozen=True, slots=True)
class Mount:
    """What carries the jaw: ``tilt`` moment about the bed per angle [N·mm/rad], ``push`` [N/mm]."""

    tilt: float
    push: float

    def __post_init__(self) -> None:
        if self.tilt <= 0 or self.push <= 0:
            raise JawrightError(
                "value-bad",
                what="the stiffness of a jaw mount must be above zero",
                where="vise",
                todo="give tilt_stiffness and push_stiffness, or leave them to the default band",
            )


def cantilever(plate: Plate, force: float, *, height: float, z: float) -> float:
    """Deflection at height ``z`` of the jaw plate under a force at ``height``; both above the bed.

    ``F x²(3a − x)/(6EI) + F x/(κGA)`` up to the force, ``F a²(3x − a)/(6EI) + F a/(κGA)`` above it;
    a and x from the foot.

    Parameters: ``force`` [N], heights [mm]. Returns: [mm]. Raises: nothing.
    Valid for: small deflection of a plate of even thickness; nothing bends below the foot.
    Source: Timoshenko, Strength of Materials.

    >>> p = Plate(E=3e7, nu=0.3, base=0.0, thickness=12.0, width=1.0)
    >>> round(cantilever(p, 1000.0, height=48.0, z=48.0), 4)
    0.0089
    """
    a, x = height - plate.base, z - plate.base
    if a <= 0 or x <= 0:
        return 0.0
    near, far = min(a, x), max(a, x)
    bend = near**2 * (3 * far - near) / (6 * plate.bending)
    return force * (bend + near / plate.shearing)


def wall_motion(plate: Plate, mount: Mount, force: float, *, height: float, z: float) -> float:
    """How far the wall at height ``z`` moves away under a force at ``height``: mount and bending.

    ``F/k_p + F h z/k_t`` plus ``cantilever``

    Parameters, returns: as ``cantilever``. Raises: nothing. Valid for: as ``cantilever``.
    Source: superposition.
    """
    return force / mount.push + force * height * z / mount.tilt + cantilever(plate, force, height=height, z=z)


@dataclass(frozen=True, slots=True)
class Cut:
    """How the jaws were loaded while they were cut: spacer ``force`` [N] at ``height`` [mm]; 0: free."""

    force: float
    height: float


@dataclass(frozen=True, slots=True)
class Grip:
    """The grip band ``low`` to ``high`` [mm], ``length`` of wall [mm], foundation [MPa/mm], force [N]."""

    low: float
    high: float
    length: float
    foundation: float
    force: float

    @property
    def depth(self) -> float:
        """Grip depth [mm]."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class WallState:
    """A wall in use against how it was cut.

    ``taper`` is the free opening over the grip depth [mm], + opens upward; ``shift`` how far the
    wall at mid grip stands away from where it was cut [mm]; ``share`` of the grip depth in
    contact 0..1; ``center`` height of the resultant [mm]; ``peak`` pressure [MPa], the mean being
    ``force/(length depth)``.
    """

    taper: float
    shift: float
    share: float
    center: float
    peak: float


def foundation(modulus: float, depth: float, *, shape: float) -> float:
    """Pressure per approach of wall and part pressed together over a strip: ``E*/(β d)``.

    Parameters: contact ``modulus`` E* [MPa], strip ``depth`` d [mm], ``shape`` β (1.1 the middle of a
    square, about 2 of a long strip). Returns: [MPa/mm]. Raises: nothing. Valid for: an estimate of
    a local compliance that is really not local; carry a band of β.
    Source: Love's solution for an evenly loaded rectangle; Timoshenko and Goodier.
    """
    return modulus / (shape * depth)


def wedge_pressure(angle: float, grip: Grip) -> tuple[float, float, float]:
    """Elastic strip pressed on a wall that leans by ``angle``: share in contact, center, peak pressure.

    Full contact while ``F ≥ k L |θ| d²/2``; else the depth in contact is ``sqrt(2F/(k L |θ|))``.

    Parameters: ``angle`` θ [rad], + leaving a gap at the top; ``grip``. Returns: (share, height of the
    resultant above ``grip.low`` [mm], peak [MPa]). Raises: nothing. Valid for: one-sided contact,
    linear foundation. Source: statics of a Winkler foundation.
    """
    k, d, F = grip.foundation * grip.length, grip.depth, grip.force
    lean = abs(angle)
    if F <= 0 or lean * k * d * d <= 2 * F:
        even = F / (grip.length * d)
        offset = k * lean * d**3 / (12 * F) if F > 0 else 0.0
        share, from_end, peak = 1.0, d / 2 - offset, even + grip.foundation * lean * d / 2
    else:
        c = math.sqrt(2 * F / (k * lean))
        share, from_end, peak = c / d, c / 3, grip.foundation * lean * c
    return share, from_end if angle >= 0 else d - from_end, peak


def wall_state(plate: Plate, mount: Mount, *, cut: Cut, grip: Grip) -> WallState:
    """Taper, shift and contact of one wall: as it stands in use minus as it was cut.

    The height of the resultant and the lean of the wall depend on each other; the one root is
    found by bisection over the grip.

    Parameters: ``cut``, ``grip``. Returns: ``WallState``. Raises: ``value-bad`` for a grip without
    depth or length. Valid for: a wall straight over the grip depth, an upright part, friction left out.
    Source: Timoshenko beam on an elastic mount and Winkler foundation.
    """
    if grip.depth <= 0 or grip.length <= 0:
        raise JawrightError("value-bad", what="a grip needs a depth and a length of wall", where="grip")

    def moved(force: float, height: float, z: float) -> float:
        return wall_motion(plate, mount, force, height=height, z=z)

    as_cut = moved(cut.force, cut.height, grip.high) - moved(cut.force, cut.height, grip.low)

    def lean(center: float) -> float:
        used = moved(grip.force, center, grip.high) - moved(grip.force, center, grip.low)
        return (used - as_cut) / grip.depth

    low, high = grip.low, grip.high
    for _ in range(60):
        mid = (low + high) / 2
        if grip.low + wedge_pressure(lean(mid), grip)[1] > mid:
            low = mid
        else:
            high = mid
    center = (low + high) / 2
    angle = lean(center)
    share, _, peak = wedge_pressure(angle, grip)
    middle = (grip.low + grip.high) / 2
    shift = moved(grip.force, center, middle) - moved(cut.force, cut.height, middle)
    return WallState(angle * grip.depth, shift, share, center, peak)

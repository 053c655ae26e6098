"""Cutting force: specific-force law, milling over engaged teeth, drilling, boring. mm, N, MPa; torque N·m.

Angles of a milling tooth are measured so that the chip is ``f_z sin φ`` thick: 0 to π is a
full slot, an up cut starts at 0 and a down cut ends at π.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.errors import JawrightError

Array = NDArray[np.float64]

SOURCE = "Kienzle specific cutting force; Altintas, Manufacturing Automation, milling force integration"


def specific_force(kc11: float, mc: float, h: float) -> float:
    """Specific cutting force: ``k_c = k_c1.1 h^(−m_c)``.

    Parameters: ``kc11`` [MPa] at 1 mm chip, exponent ``mc``, chip thickness ``h`` [mm].
    Returns: [MPa]. Raises: ``value-bad`` for a chip not above zero.
    Valid for: h from about 0.02 to 1 mm. Source: Kienzle 1952.

    >>> round(specific_force(1500.0, 0.22, 0.1), 1)
    2489.4
    """
    if h <= 0 or kc11 <= 0:
        raise JawrightError("value-bad", what="a chip needs a thickness above zero", where="cutting force")
    return float(kc11 * h**-mc)


def kienzle_force(kc11: float, mc: float, *, h: float, b: float) -> float:
    """Cutting force of one edge: ``F_c = k_c1.1 b h^(1 − m_c)``.

    Parameters: ``h`` chip thickness, ``b`` chip width [mm]. Returns: [N].
    Raises, valid for, source: as ``specific_force``.

    >>> round(kienzle_force(1500.0, 0.22, h=0.1, b=5.0), 1)
    1244.7
    """
    return specific_force(kc11, mc, h) * b * h


@dataclass(frozen=True, slots=True)
class Kienzle:
    """Force law by specific force; radial and axial parts as shares of the tangential one.

    ``wear`` multiplies all of it (1 for a sharp edge).
    """

    kc11: float
    mc: float
    radial: float
    axial: float
    wear: float = 1.0

    def per_length(self, h: Array) -> tuple[Array, Array, Array]:
        """Tangential, radial, axial force per mm of edge [N/mm] for chip thicknesses ``h`` [mm]."""
        t = self.wear * self.kc11 * np.maximum(h, 0.0) ** (1 - self.mc)
        return t, self.radial * t, self.axial * t


@dataclass(frozen=True, slots=True)
class Mechanistic:
    """Linear-edge force law: cutting coefficients [MPa] and edge coefficients [N/mm]."""

    Ktc: float
    Krc: float
    Kac: float
    Kte: float = 0.0
    Kre: float = 0.0
    Kae: float = 0.0

    def per_length(self, h: Array) -> tuple[Array, Array, Array]:
        """Tangential, radial, axial force per mm of edge [N/mm] for chip thicknesses ``h`` [mm]."""
        return self.Ktc * h + self.Kte, self.Krc * h + self.Kre, self.Kac * h + self.Kae


def oblique_coefficients(
    shear_stress: float, *, shear_angle: float, friction_angle: float, rake: float, helix: float
) -> tuple[float, float, float]:
    """Cutting coefficients of a helical edge from orthogonal cutting data: tangential, radial, axial.

    ``Ktc = τ/sin φ · (cos(β−α) + tan i tan η sin β)/c``, ``Krc = τ/(sin φ cos i) · sin(β−α)/c``,
    ``Kac = τ/sin φ · (cos(β−α) tan i − tan η sin β)/c``, ``c² = cos²(φ+β−α) + tan² η sin² β``, with the
    chip flowing at η = i (Stabler) and ``tan β = tan β_a cos η``.

    Parameters: ``shear_stress`` τ [MPa]; ``shear_angle`` φ, ``friction_angle`` β_a, ``rake`` α and
    ``helix`` i [rad], of the plane square to the edge. Returns: [MPa], for
    ``Mechanistic``. Raises: ``value-bad`` for a shear stress or shear angle not above zero. Valid for:
    continuous chips, sharp edges. Source: Budak, Altintas and Armarego, J. Eng. Ind. 118 (1996) 216-224.

    >>> angles = {"shear_angle": 0.6812, "friction_angle": 0.3941, "rake": 0.2094, "helix": 0.5236}
    >>> [round(k) for k in oblique_coefficients(613.0, **angles)]
    [1510, 215, 515]
    """
    if shear_stress <= 0 or not 0 < shear_angle < math.pi / 2:
        raise JawrightError("value-bad", what="a chip needs a shear stress and a shear angle", where="chip")
    flow = math.tan(helix)
    beta = math.atan(math.tan(friction_angle) * math.cos(helix))
    c = math.hypot(math.cos(shear_angle + beta - rake), flow * math.sin(beta))
    unit = shear_stress / math.sin(shear_angle) / c
    along, aside = math.cos(beta - rake), flow * math.sin(beta)
    return (
        unit * (along + flow * aside),
        unit * math.sin(beta - rake) / math.cos(helix),
        unit * (along * flow - aside),
    )


@dataclass(frozen=True, slots=True)
class MillCut:
    """A cylindrical milling cut: lengths in mm, angles in rad, ``entry`` and ``exit`` of a tooth."""

    diameter: float
    flutes: int
    helix: float
    axial: float
    feed_per_tooth: float
    entry: float
    exit: float

    def __post_init__(self) -> None:
        good = (
            self.diameter > 0
            and self.flutes >= 1
            and self.axial > 0
            and self.feed_per_tooth > 0
            and 0 <= self.helix < math.pi / 2
            and 0 <= self.entry < self.exit <= math.pi + 1e-12
        )
        if not good:
            raise JawrightError(
                "value-bad",
                what="a milling cut needs a cutter, a depth, a feed and an engagement above zero",
                where="cutting force",
            )


def engagement(diameter: float, radial: float, *, position: str) -> tuple[float, float]:
    """Entry and exit angle of a tooth for a radial engagement.

    ``up``: 0 to ``acos(1 − 2 a_e/D)``; ``down``: the mirror of it; ``centered``: ``π/2 ± asin(a_e/D)``.

    Parameters: ``diameter``, ``radial`` a_e [mm], clipped to the diameter. Returns: two angles [rad].
    Raises: ``value-bad`` for an engagement not above zero or an unknown position.
    Valid for: straight feed. Source: geometry.

    >>> a, b = engagement(50.0, 40.0, position="centered")
    >>> round(math.degrees(b - a), 2)
    106.26
    """
    if radial <= 0 or diameter <= 0:
        raise JawrightError("value-bad", what="a radial engagement must be above zero", where="cut")
    ae = min(radial, diameter)
    if position == "centered":
        half = math.asin(ae / diameter)
        return math.pi / 2 - half, math.pi / 2 + half
    arc = math.acos(1 - 2 * ae / diameter)
    if position == "up":
        return 0.0, arc
    if position == "down":
        return math.pi - arc, math.pi
    raise JawrightError("value-bad", what=f"unknown cutter position {position!r}", where="cutting force")


def chip(feed_per_tooth: float, entry: float, exit: float) -> tuple[float, float]:
    """Largest and mean chip thickness over the engagement.

    mean ``f_z (cos φ_in − cos φ_out)/(φ_out − φ_in)``

    Parameters: feed [mm], angles [rad]. Returns: (largest, mean) [mm]. Raises: nothing.
    Valid for: feed small against the diameter, straight edges. Source: geometry of milling.

    >>> a, b = engagement(10.0, 1.0, position="up")
    >>> [round(v, 5) for v in chip(0.05, a, b)]
    [0.03, 0.01554]
    """
    top = 1.0 if entry <= math.pi / 2 <= exit else max(math.sin(entry), math.sin(exit))
    return feed_per_tooth * top, feed_per_tooth * (math.cos(entry) - math.cos(exit)) / (exit - entry)


def mean_torque(cut: MillCut, law: Kienzle) -> float:
    """Mean spindle torque of a milling cut by integrating the specific force over the engagement.

    ``T = z a_p D/(4 π) ∫ k_c1.1 (f_z sin φ)^(1−m_c) dφ``

    Returns: torque [N·m]; power is torque times angular speed. Raises: nothing.
    Valid for: straight edges, no runout. Source: Kienzle law with the chip of milling.
    """
    node, weight = np.polynomial.legendre.leggauss(40)
    phi = cut.entry + (cut.exit - cut.entry) * (node + 1) / 2
    t = law.per_length(cut.feed_per_tooth * np.sin(phi))[0]
    integral = float(weight @ t) * (cut.exit - cut.entry) / 2
    return cut.flutes * cut.axial * cut.diameter / (4 * math.pi) * integral / 1000.0


def mean_forces(cut: MillCut, law: Mechanistic) -> tuple[float, float, float, float]:
    """Mean forces along feed X, across Y, along the tool Z, and mean torque, of the linear-edge law.

    ``dF_x = −dF_t cos φ − dF_r sin φ``, ``dF_y = dF_t sin φ − dF_r cos φ``, integrated over the
    engagement and multiplied by ``z a / 2π``; a helix does not change the means.

    Returns: (Fx, Fy, Fz [N], torque [N·m]). Raises: nothing. Valid for: any engagement within a slot.
    Source: Altintas, Manufacturing Automation, average milling forces.
    """
    c, k = cut.feed_per_tooth, cut.flutes * cut.axial / (2 * math.pi)
    a, b = cut.entry, cut.exit
    cos2 = (math.cos(2 * b) - math.cos(2 * a)) / 4
    sin2 = (b - a) / 2 - (math.sin(2 * b) - math.sin(2 * a)) / 4
    sin1, cos1 = math.sin(b) - math.sin(a), math.cos(b) - math.cos(a)
    fx = k * (law.Ktc * c * cos2 - law.Kte * sin1 - law.Krc * c * sin2 + law.Kre * cos1)
    fy = k * (law.Ktc * c * sin2 - law.Kte * cos1 + law.Krc * c * cos2 - law.Kre * sin1)
    fz = k * (-law.Kac * c * cos1 + law.Kae * (b - a))
    torque = k * cut.diameter / 2 * (-law.Ktc * c * cos1 + law.Kte * (b - a))
    return fx, fy, fz, torque / 1000.0


def milling_forces(
    cut: MillCut, law: Kienzle | Mechanistic, *, steps: int = 180, turns: Array | None = None
) -> Array:
    """Forces over one tooth pitch of rotation, all engaged teeth and the helix lag integrated.

    The lag of the edge at height z is ``2 z tan β / D``; along it the chip is integrated by
    Gauss points over the engaged stretch only, so entry and exit are exact.

    Parameters: ``steps`` rotation angles in one pitch, or the ``turns`` themselves [rad].
    Returns: (n, 4): Fx along feed, Fy across, Fz along the tool with + pulling the part up
    [N] for a right-hand helix in a right-hand cut, torque [N·m]; forces act on the cutter in X, Y.
    Raises: nothing. Valid for: feed small against the diameter, rigid cutter.
    Source: Altintas, Manufacturing Automation, helical end mill.
    """
    lag = 2 * cut.axial * math.tan(cut.helix) / cut.diameter
    pitch = 2 * math.pi / cut.flutes
    turn = pitch * (np.arange(steps) + 0.5) / steps if turns is None else np.asarray(turns) % pitch
    # a tooth whose tip is at angle p has its edge between p - lag and p
    back = math.ceil((math.pi + lag) / pitch) + 1
    tips = (turn[:, None] + pitch * np.arange(-1, back)[None, :])[..., None]
    if lag < 1e-9:
        phi = tips
        on = ((phi > cut.entry) & (phi < cut.exit)).astype(np.float64)
        length = on * cut.axial
    else:
        node, weight = np.polynomial.legendre.leggauss(12)
        low = np.maximum(tips - lag, cut.entry)
        high = np.minimum(tips, cut.exit)
        span = np.maximum(high - low, 0.0)
        phi = low + span * (node + 1) / 2
        length = span * weight / 2 * (cut.axial / lag)
    h = cut.feed_per_tooth * np.maximum(np.sin(phi), 0.0)
    t, r, a = law.per_length(h)
    s, c = np.sin(phi), np.cos(phi)
    out = np.stack(
        [
            np.sum(length * (-t * c - r * s), axis=(1, 2)),
            np.sum(length * (t * s - r * c), axis=(1, 2)),
            np.sum(length * a, axis=(1, 2)),
            np.sum(length * t, axis=(1, 2)) * cut.diameter / 2000.0,
        ],
        axis=1,
    )
    return out


@dataclass(frozen=True, slots=True)
class CutLoad:
    """What a cut can do to the part at one point: any direction in the plan, up and down, and a spin.

    ``side`` in the plan [N], ``up`` and ``down`` along the tool [N], ``spin`` about it [N·m].
    """

    side: float
    up: float
    down: float
    spin: float

    def times(self, factor: float) -> CutLoad:
        """The load times a factor."""
        return CutLoad(self.side * factor, self.up * factor, self.down * factor, self.spin * factor)


def milling_load(cut: MillCut, law: Kienzle, *, runout: float = 0.0) -> CutLoad:
    """Peak load of a milling cut on the part.

    The peak resultant in the plan over one pitch, with the feed per tooth grown by the
    ``runout`` [mm] of the tooth that stands out most. A helix pulls the part up by the axial
    share; without helix the axial share counts both ways.

    Returns: ``CutLoad``. Raises: nothing. Valid for: as ``milling_forces``.
    Source: Kienzle law integrated over the engaged teeth.
    """
    grown = MillCut(
        cut.diameter,
        cut.flutes,
        cut.helix,
        cut.axial,
        cut.feed_per_tooth + max(runout, 0.0),
        cut.entry,
        cut.exit,
    )
    # a short engagement falls between even steps: walk along the engaged stretch as well
    lag = 2 * cut.axial * math.tan(cut.helix) / cut.diameter
    engaged = cut.entry + (cut.exit + lag - cut.entry) * np.linspace(0.002, 0.998, 65)
    even = 2 * math.pi / cut.flutes * (np.arange(180) + 0.5) / 180
    f = milling_forces(grown, law, turns=np.concatenate([even, engaged]))
    axial = float(np.max(np.abs(f[:, 2])))
    side = float(np.max(np.hypot(f[:, 0], f[:, 1])))
    return CutLoad(side, axial, 0.0 if cut.helix > 0 else axial, 0.0)


def drilling_load(
    law: Kienzle, *, diameter: float, feed: float, tip_angle: float, pilot: float = 0.0, grab: float = 0.0
) -> CutLoad:
    """Thrust and torque of a twist drill by the specific force.

    ``M = k_c f (D² − d²)/8`` and ``F = c_t k_c f (D − d)/2 · sin(σ/2)`` with the chip
    ``h = f/2 · sin(σ/2)``; ``law.axial`` is c_t, ``law.radial`` multiplies the torque (chisel
    edge, lands). At break-through the drill pulls up with the share ``grab`` of the thrust.

    Parameters: ``diameter``, ``pilot`` hole d, ``feed`` per turn [mm], full ``tip_angle`` [rad].
    Returns: ``CutLoad`` with ``side`` 0. Raises: ``value-bad`` for a feed or ring not above zero.
    Valid for: two-lipped drills, feed per turn 0.02 to 0.5 mm. Source: Kienzle law; the band of c_t
    must hold handbook values, see the tests.
    """
    if feed <= 0 or diameter <= pilot or tip_angle <= 0:
        raise JawrightError("value-bad", what="a drill needs a feed and metal to cut", where="cutting force")
    half = math.sin(min(tip_angle, math.pi) / 2)
    kc = law.wear * specific_force(law.kc11, law.mc, feed / 2 * half)
    spin = law.radial * kc * feed * (diameter**2 - pilot**2) / 8 / 1000.0
    thrust = law.axial * kc * feed * (diameter - pilot) / 2 * half
    return CutLoad(0.0, grab * thrust, thrust, spin)


def boring_load(law: Kienzle, *, diameter: float, feed: float, radial: float, edges: int = 1) -> CutLoad:
    """Load of a boring bar (one edge) or a reamer (``edges`` balanced edges).

    ``F_c = k_c1.1 a_p h^(1−m_c)``, spin ``F_c D/2``; one edge also pushes sideways with the
    resultant of its tangential and radial part; ``law.axial`` is the feed force's share.

    Parameters: ``diameter``, ``feed`` per edge, ``radial`` metal per side [mm].
    Returns: ``CutLoad``. Raises: ``value-bad`` as ``kienzle_force``.
    Valid for: edges square to the axis. Source: Kienzle law.
    """
    fc = law.wear * kienzle_force(law.kc11, law.mc, h=feed, b=radial)
    side = fc * math.hypot(1.0, law.radial) if edges == 1 else 0.0
    return CutLoad(side, 0.0, edges * law.axial * fc, edges * fc * diameter / 2000.0)


def cutting_power(volume_rate: float, unit_power: float) -> float:
    """Power at the cutter: removal rate times unit power.

    Parameters: ``volume_rate`` [mm³/min], ``unit_power`` [W·s/mm³]. Returns: [kW]. Raises: nothing.
    Valid for: as the unit power. Source: Kalpakjian and Schmid, Manufacturing Engineering and Technology.

    >>> cutting_power(150000.0, 3.0)
    7.5
    """
    return volume_rate / 60.0 * unit_power / 1000.0


def spindle_torque(power: float, spindle: float) -> float:
    """Torque of a ``power`` [kW] at a ``spindle`` speed [rev/min]: ``T = P/ω`` [N·m].

    Parameters, returns: above. Raises: nothing. Valid for: spindle above 0. Source: mechanics.

    >>> round(spindle_torque(7.5, 100.0), 1)
    716.2
    """
    return power * 1000.0 / (2 * math.pi * spindle / 60.0)

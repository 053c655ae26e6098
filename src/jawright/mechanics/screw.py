"""Power screw with a collar: clamp force from torque and back, each with its friction band.

Torques are in N·m, forces in N, lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from jawright.errors import JawrightError

SOURCE = "Budynas and Nisbett, Shigley's Mechanical Engineering Design, power screws with collar"


@dataclass(frozen=True, slots=True)
class Screw:
    """A power screw: ``lead`` and ``mean_diameter`` [mm], half ``flank_angle`` [rad] (0 square).

    ``collar_diameter`` is the mean friction diameter of the thrust collar [mm]; 0 for a
    rolling thrust bearing.
    """

    lead: float
    mean_diameter: float
    flank_angle: float = 0.0
    collar_diameter: float = 0.0

    def __post_init__(self) -> None:
        if self.lead <= 0 or self.mean_diameter <= 0 or self.collar_diameter < 0:
            raise JawrightError(
                "value-bad",
                what="a screw needs a lead and a mean diameter above zero and no negative collar",
                where="screw",
                todo="give the lead and the mean thread diameter of the vise screw",
            )
        if not 0 <= self.flank_angle < math.pi / 3:
            raise JawrightError(
                "value-bad", what="the half flank angle must lie between 0 and 60 degrees", where="screw"
            )

    @property
    def lead_angle(self) -> float:
        """Lead angle at the mean diameter [rad]: ``tan λ = l / (π d_m)``."""
        return math.atan2(self.lead, math.pi * self.mean_diameter)


def thread_torque(screw: Screw, force: float, *, friction: float) -> float:
    """Torque in the thread that raises ``force``, collar left out.

    ``T = F d_m/2 · (l + π μ d_m sec α) / (π d_m − μ l sec α)``

    Parameters: ``force`` [N], ``friction`` of the thread, plain number.
    Returns: torque [N·m].
    Raises: ``value-bad`` when the friction is negative or so high that the screw cannot be turned.
    Valid for: ``μ l sec α < π d_m``; a screw that is turned, not one at rest.
    Source: Shigley, power screws.

    >>> round(thread_torque(Screw(8.0, 30.0), 6400.0, friction=0.08), 3)
    15.937
    """
    _friction(friction)
    pd = math.pi * screw.mean_diameter
    sec = 1.0 / math.cos(screw.flank_angle)
    below = pd - friction * screw.lead * sec
    if below <= 0:
        raise JawrightError("value-bad", what="with this friction the screw cannot be turned", where="screw")
    return force * screw.mean_diameter / 2 * (screw.lead + friction * pd * sec) / below / 1000.0


def torque_to_clamp(screw: Screw, force: float, *, friction: float, collar_friction: float) -> float:
    """Torque at the handle for a clamp ``force``: thread and collar.

    ``T = T_thread + F μ_c d_c / 2``

    Parameters: ``force`` [N]; ``friction`` of the thread and ``collar_friction``, plain numbers.
    Returns: torque [N·m].
    Raises: as ``thread_torque``.
    Valid for: as ``thread_torque``.
    Source: Shigley, power screws with collar.

    >>> round(torque_to_clamp(Screw(8.0, 30.0, 0.0, 40.0), 6400.0, friction=0.08, collar_friction=0.08), 3)
    26.177
    """
    _friction(collar_friction)
    collar = force * collar_friction * screw.collar_diameter / 2 / 1000.0
    return thread_torque(screw, force, friction=friction) + collar


def torque_to_release(screw: Screw, force: float, *, friction: float, collar_friction: float) -> float:
    """Torque that lowers ``force``; negative when the screw would run back by itself.

    ``T = F d_m/2 · (π μ d_m sec α − l) / (π d_m + μ l sec α) + F μ_c d_c / 2``

    Parameters and raises: as ``torque_to_clamp``. Returns: torque [N·m].
    Valid for: any friction from 0 up.
    Source: Shigley, power screws with collar.

    >>> round(torque_to_release(Screw(8.0, 30.0, 0.0, 40.0), 6400.0, friction=0.08, collar_friction=0.08), 3)
    9.774
    """
    _friction(friction)
    _friction(collar_friction)
    pd = math.pi * screw.mean_diameter
    sec = 1.0 / math.cos(screw.flank_angle)
    thread = screw.mean_diameter / 2 * (friction * pd * sec - screw.lead) / (pd + friction * screw.lead * sec)
    return force * (thread + collar_friction * screw.collar_diameter / 2) / 1000.0


def force_from_torque(screw: Screw, torque: float, *, friction: float, collar_friction: float) -> float:
    """Clamp force that a handle ``torque`` gives: ``torque_to_clamp`` solved for the force.

    Parameters: ``torque`` [N·m], at least 0. Returns: force [N].
    Raises: ``value-bad`` for a negative torque, and as ``thread_torque``.
    Valid for: as ``thread_torque``.
    Source: Shigley, power screws with collar.

    >>> vise = Screw(4.0, 18.0, math.radians(15), 24.0)
    >>> round(force_from_torque(vise, 80.0, friction=0.15, collar_friction=0.15) / 1000, 1)
    20.7
    """
    if not torque >= 0:
        raise JawrightError("value-bad", what="a clamping torque cannot be negative", where="torque")
    return torque / torque_to_clamp(screw, 1.0, friction=friction, collar_friction=collar_friction)


def efficiency(screw: Screw, *, friction: float, collar_friction: float) -> float:
    """Share of the work at the handle that arrives at the jaws: ``e = F l / (2 π T)``.

    Parameters: frictions, plain numbers. Returns: 0 to 1. Raises: as ``thread_torque``.
    Valid for: as ``thread_torque``.
    Source: Shigley, power screws.

    >>> round(efficiency(Screw(8.0, 30.0, 0.0, 40.0), friction=0.08, collar_friction=0.08), 3)
    0.311
    """
    per_newton = torque_to_clamp(screw, 1.0, friction=friction, collar_friction=collar_friction)
    return screw.lead / (2 * math.pi * per_newton * 1000.0)


def self_locking(screw: Screw, *, friction: float) -> bool:
    """True when the thread alone does not run back: ``μ ≥ tan λ cos α``.

    Parameters: ``friction`` of the thread. Returns: bool. Raises: ``value-bad`` below 0.
    Valid for: a screw without vibration.
    Source: Shigley, power screws.

    >>> self_locking(Screw(8.0, 30.0), friction=0.08)
    False
    """
    _friction(friction)
    return friction >= math.tan(screw.lead_angle) * math.cos(screw.flank_angle)


def clamp_band(screw: Screw, torque: float, *, frictions: tuple[float, float, float]) -> tuple[float, ...]:
    """Clamp force low / set / high for one torque and a friction band of thread and collar alike.

    Parameters: ``torque`` [N·m]; ``frictions`` low, set, high. Returns: three forces [N], rising.
    Raises: as ``force_from_torque``. Valid for: as ``force_from_torque``.
    Source: Shigley, power screws with collar.

    >>> band = clamp_band(Screw(4, 18, math.radians(15), 24), 80, frictions=(0.1, 0.15, 0.2))
    >>> [round(f / 1000, 1) for f in band]
    [16.2, 20.7, 28.8]
    """
    low, mid, high = frictions
    return tuple(force_from_torque(screw, torque, friction=mu, collar_friction=mu) for mu in (high, mid, low))


def force_from_table(torque: float, table: tuple[tuple[float, float], ...]) -> float | None:
    """Clamp force by straight lines between measured (torque [N·m], force [N]) pairs.

    Below the first pair the line runs to zero force at zero torque. Above the last pair the
    answer is None: not measured.

    Parameters: ``torque`` [N·m]; ``table`` in any order. Returns: force [N] or None.
    Raises: ``value-bad`` when the table is empty or its forces do not rise with the torque.
    Valid for: 0 up to the largest measured torque.
    Source: linear interpolation.

    >>> force_from_table(30.0, ((20.0, 6000.0), (40.0, 11000.0)))
    8500.0
    """
    rows = _rows(table)
    for (t0, f0), (t1, f1) in pairwise(rows):
        if t0 <= torque <= t1:
            return f0 + (f1 - f0) * (torque - t0) / (t1 - t0)
    return None


def torque_from_table(force: float, table: tuple[tuple[float, float], ...]) -> float | None:
    """Inverse of ``force_from_table``: torque [N·m] for a force [N], None beyond the last pair.

    Parameters, raises, valid for, source: as ``force_from_table``.

    >>> torque_from_table(8500.0, ((20.0, 6000.0), (40.0, 11000.0)))
    30.0
    """
    rows = _rows(table)
    for (t0, f0), (t1, f1) in pairwise(rows):
        if f0 <= force <= f1:
            return t0 + (t1 - t0) * (force - f0) / (f1 - f0)
    return None


def stress_area(diameter: float, pitch: float) -> float:
    """Tensile stress area of an ISO metric thread: ``(π/4)(d − 0.938194 P)²``.

    Parameters: nominal ``diameter`` and ``pitch`` [mm]. Returns: area [mm²].
    Raises: ``value-bad`` for a pitch that leaves no core. Valid for: 60° ISO threads.
    Source: ISO 898-1.

    >>> round(stress_area(12.0, 1.75), 2)
    84.27
    """
    core = diameter - 0.938194 * pitch
    if pitch <= 0 or core <= 0:
        raise JawrightError("value-bad", what="this pitch leaves no thread core", where="bolt")
    return math.pi / 4 * core**2


def preload_torque(diameter: float, force: float, *, nut_factor: float = 0.2) -> float:
    """Torque that preloads a jaw bolt: ``T = K F d``.

    Parameters: ``diameter`` [mm], ``force`` [N], ``nut_factor`` K. Returns: torque [N·m].
    Raises: nothing. Valid for: K 0.15 (greased) to 0.30 (dry, as received).
    Source: Shigley, bolted joints.

    >>> preload_torque(10.0, 20000.0)
    40.0
    """
    return nut_factor * force * diameter / 1000.0


def jaw_bolt_pull(force: float, *, above_edge: float, bolt_below_edge: float) -> float:
    """Total pull on jaw bolts of a jaw that overhangs its carrier: moment about the carrier's top edge.

    ``N = F a / b``

    Parameters: clamp ``force`` [N] acting ``above_edge`` [mm] over the edge, bolts
    ``bolt_below_edge`` [mm] under it. Returns: pull of all bolts together [N], 0 when the
    force acts below the edge. Raises: nothing.
    Valid for: a stiff jaw about to open at its foot. Source: statics.

    >>> jaw_bolt_pull(20000.0, above_edge=12.0, bolt_below_edge=25.0)
    9600.0
    """
    return max(0.0, force * above_edge / bolt_below_edge)


def guide_couple(force: float, *, height: float, guide_length: float) -> float:
    """Reaction couple force in the floating jaw's guide: ``R = F h / L``.

    Parameters: clamp ``force`` [N] at ``height`` [mm] above the guide of ``guide_length`` [mm].
    Returns: force at each end of the guide [N]. Raises: nothing.
    Valid for: a rigid jaw body. Source: statics.

    >>> round(guide_couple(20000.0, height=40.0, guide_length=120.0), 1)
    6666.7
    """
    return force * height / guide_length


def guide_rock(play: float, *, guide_length: float, height: float) -> tuple[float, float]:
    """Tilt [rad] of a floating jaw with vertical ``play`` in its guide, and its shift at ``height`` [mm].

    ``θ = c / L``; shift ``θ h``

    Parameters: ``play`` [mm] over ``guide_length`` [mm]. Returns: (tilt, shift). Raises: nothing.
    Valid for: small angles. Source: geometry.

    >>> tilt, shift = guide_rock(0.02, guide_length=120.0, height=40.0)
    >>> round(shift, 4)
    0.0067
    """
    tilt = play / guide_length
    return tilt, tilt * height


def _friction(value: float) -> None:
    if not 0 <= value < 2:
        raise JawrightError(
            "value-bad",
            what=f"a friction coefficient of {value:g} is not plausible",
            where="screw friction",
            todo="give a value between 0 and 2, usually 0.08 to 0.25",
        )


def _rows(table: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    rows = [(0.0, 0.0), *sorted(table)]
    if len(rows) < 2 or any(a[0] >= b[0] or a[1] >= b[1] for a, b in pairwise(rows)):
        raise JawrightError(
            "value-bad",
            what="the measured torques and forces must be above zero and rise together",
            where="torque table",
            todo="measure again or leave the table out",
        )
    return rows

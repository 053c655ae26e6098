"""Datum shift: a datum with a size, taken at its maximum material boundary, lets the whole pattern move.

The gauge for such a datum has the size of its boundary: a pin for a bore, a ring for a round, a slot for a
width. A bore that is larger, a round or a width that is smaller leaves the part free to move by half the
difference either way, and the part is good when some place within that play brings every feature of the
pattern into its zone at once. Source: ISO 2692, ISO 5459, ASME Y14.5 (maximum material boundary,
simultaneous requirements).

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse, Hold
from jawright.job.model import Job, ToleranceAsk
from jawright.proof.datums import AXES, Common, Role
from jawright.statistics.draw import normal_cut, stream

Floats = NDArray[np.float64]

ROUNDS = 120
"""Steps of the search for the best place: what is left is about a hundredth of the deviations."""
FREE, FREE_TURN = 5.0, 0.05
"""Play [mm] and [rad] in what no datum fixes: more than any part here is off."""


@dataclass(frozen=True)
class Play:
    """What each of m parts may move by on its gauge: within a circle, along one line, in turn."""

    circle: Floats  # (m,) radius [mm]
    line: Floats  # (m,) half length [mm]
    way: tuple[float, float]  # of the line, unit
    turn: Floats  # (m,) [rad] either way
    about: tuple[float, float]

    @property
    def none(self) -> bool:
        """Whether nothing can shift."""
        return not (self.circle.any() or self.line.any() or self.turn.any())


def bore_sizes(hold: Hold, job: Job) -> dict[str, float]:
    """Whole width of the size tolerance [mm] of each datum for which one is known, by letter."""
    found = {d.letter: d.size for d in hold.datums if d.size is not None}
    found |= {d.letter: d.size for d in job.datums if d.size is not None}
    for d in hold.datums:
        made = next((f for f in hold.features if d.kind in AXES and set(f.faces) & set(d.faces)), None)
        for t in hold.tolerances:
            if made is not None and t.feature == made.name and t.kind in ("size", "diameter"):
                found.setdefault(d.letter, t.zone)
    return found


def boundary_words(tolerance: ToleranceAsk, datums: Sequence[DatumUse], sizes: Mapping[str, float]) -> str:
    """What is said of the datums at their boundary; empty when there are none."""
    said = []
    for d in datums:
        if d.letter not in tolerance.boundary:
            continue
        if d.kind not in (*AXES, "width") or isinstance(d, Common):
            said.append(f"{d.letter} has no size of its own: no shift counted")
        elif d.letter not in sizes:
            said.append(
                f"no shift of {d.letter} counted: the size tolerance of datum {d.letter} is not given"
            )
        else:
            said.append(f"{d.letter} shifts by what it is off the end of its limits with the most metal")
    return "; ".join(said)


def play(
    tolerance: ToleranceAsk,
    roles: Sequence[Role],
    sizes: Mapping[str, float],
    count: int,
    salt: str,
    *,
    pattern: bool = False,
    own: Mapping[str, Floats] | None = None,
) -> Play:
    """The play of every part: how far each datum's own size is from its limit with the most metal.

    ``own`` has, by letter, how much larger than nominal each part's round or width is (m,) [mm] where the
    population knows it; the size of another datum is spread over its limits.
    For a ``pattern`` what no datum takes is free as well: its features then hold each other.
    """
    circle, line, turn = np.zeros(count), np.zeros(count), np.zeros(count)
    way, about = (1.0, 0.0), (0.0, 0.0)
    if pattern:
        fixed = [r for r in roles if r.takes != "turn"]
        if not fixed:
            circle = np.full(count, FREE)
        elif len(fixed) == 1 and fixed[0].takes == "one":
            line, way = np.full(count, FREE), (-fixed[0].way[1], fixed[0].way[0])
        if all(r.takes != "turn" for r in roles):
            turn = np.full(count, FREE_TURN)
            about = next((r.about for r in roles if r.takes == "both"), about)
    for r in roles:
        if r.letter not in tolerance.boundary or r.letter not in sizes or not r.sized:
            continue
        half = sizes[r.letter] / 2
        if own and r.letter in own:
            over = np.maximum(half - own[r.letter], 0.0)
        else:
            stray = normal_cut(stream(f"{salt}/size of datum {r.letter}"), count, half=half, sigma=half / 3)
            over = half + stray
        if r.takes == "both":
            circle = over / 2
        elif r.takes == "one":
            line, way = over / 2, r.way
        else:
            turn, about = over / 2 / max(float(np.hypot(*r.way)), 1e-9), r.about
    return Play(circle, line, way, turn, about)


def least_beyond(off: Floats, room: Floats, places: Floats, free: Play) -> Floats:
    """How far (m,) [mm] the worst of k features stays beyond its zone at the best place on the gauge.

    ``off`` (m, k, 2) deviations, ``room`` (m, k) radii of the zones, ``places`` (k, 2) nominal. A convex
    problem in the play's unknowns: from the least-squares place by projected subgradient steps no longer
    than what is left there; exact for one feature in a circle.
    """
    if off.shape[1] == 1 and not free.line.any() and not free.turn.any():
        return np.asarray(np.maximum(np.hypot(off[:, 0, 0], off[:, 0, 1]) - free.circle, 0.0) - room[:, 0])
    arm = places - np.array(free.about)
    square = np.column_stack([-arm[:, 1], arm[:, 0]])
    way, line = np.array(free.way), np.arange(len(off))
    v, t, turn = _middle(off, square, free)
    best = np.full(len(off), np.inf)
    reach = np.zeros(len(off))
    lever = max(float(np.hypot(square[:, 0], square[:, 1]).max()), 1e-9)
    for n in range(ROUNDS):
        e = off - (v + t[:, None] * way)[:, None, :] - turn[:, None, None] * square
        far = np.hypot(e[:, :, 0], e[:, :, 1])
        k = (far - room).argmax(axis=1)
        best = np.minimum(best, far[line, k] - room[line, k])
        if n == 0:
            reach = far.max(axis=1)
        u = e[line, k] / np.maximum(far[line, k], 1e-12)[:, None]
        step = reach / (n + 2)
        v = _within(v + np.minimum(step, free.circle)[:, None] * u, free.circle)
        t = np.clip(t + np.minimum(step, free.line) * (u @ way), -free.line, free.line)
        pull = (u * square[k]).sum(axis=1) / lever
        turn = np.clip(turn + np.minimum(step / lever, free.turn) * pull, -free.turn, free.turn)
    return best


def _within(v: Floats, circle: Floats) -> Floats:
    """Moves (m, 2) drawn back into circles (m,)."""
    long = np.maximum(np.hypot(v[:, 0], v[:, 1]), 1e-12)
    return np.asarray(v * np.minimum(1.0, circle / long)[:, None])


def _middle(off: Floats, square: Floats, free: Play) -> tuple[Floats, Floats, Floats]:
    """The least-squares place on the gauge, each unknown held to its play: circle move, line move, turn."""
    flat = square - square.mean(axis=0)
    spin = float((flat**2).sum())
    turn = np.zeros(len(off))
    if spin > 1e-9 and free.turn.any():
        base = flat if free.circle.any() else square
        turn = np.einsum("mkd,kd->m", off, base) / float((base**2).sum())
        turn = np.clip(turn, -free.turn, free.turn)
    mean = off.mean(axis=1) - turn[:, None] * square.mean(axis=0)
    v = _within(mean, free.circle)
    t = np.clip((mean - v) @ np.array(free.way), -free.line, free.line)
    return v, t, turn

"""A datum that does not locate: it floats with each part's own size, and that costs tolerance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse, Hold
from jawright.job.model import Job
from jawright.job.pinned import another_turn
from jawright.part.model import Part
from jawright.proof.deviations import Ask, judge
from jawright.proof.model import Proof, Verdict
from jawright.proof.outcome import PASS_YIELD
from jawright.proof.population import FEW, Population
from jawright.proof.say import Say
from jawright.proof.setups import lies, made_here

Floats = NDArray[np.float64]

USES = 0.1
"""Share of a zone that a floating datum may cost unsaid (common practice, no source)."""
MODEL = "floating-datum-1"
MIDDLES = ("round", "width")
WHERE = {
    "floating": "is on the floating jaw",
    "free": "touches nothing that locates",
    "stop": "is at the stop",
    "fixed": "is on the fixed jaw",
    "floor": "is on the floor",
}


def floating(hold: Hold) -> list[DatumUse]:
    """Datums of the first side that float: planes that neither the fixed jaw, the stop nor the floor carries,
    and axes and middle planes of walls held here, whose place follows the size."""
    held = set(hold.face_of_curve)
    return [
        d
        for d in hold.datums
        if made_here(hold, d) is None
        and (
            (d.kind == "plane" and d.seat not in (("floor",) if lies(d) else ("fixed", "stop")))
            or (d.kind in MIDDLES and held >= set(d.faces))
        )
    ]


def prove(hold: Hold, asks: Sequence[Ask], now: Population, part: Part | None, job: Job) -> list[Proof]:
    """For each datum that floats, what its floating takes of the zones measured from it."""
    found = []
    for d in floating(hold):
        mine = [a for a in asks if any(q.letter == d.letter for q in a.datums)]
        costs = [(cost(a, d, now, part), a) for a in mine]
        if costs:
            found.append(_proof(d, costs, job))
    return found


def cost(ask: Ask, datum: DatumUse, now: Population, part: Part | None) -> float:
    """How much less [mm] a tolerance would use, in its zone's own measure, if ``datum`` stood still.

    What 99.73 % of parts stay within, as it is and with everything that moves the datum against what
    locates the part left out: the size of the part, and a lying datum's height and tilt.
    """
    s = now.scene
    sample = now.sample[:FEW]
    still = sample.copy()
    moves = [f"height of {datum.letter}", f"tilt of {datum.letter}"] if lies(datum) else ["growth"]
    for k, q in enumerate(s.sources):
        if q.key in moves:
            still[:, k] = q.mean
    as_is = judge(ask, s, sample, s.seated(sample), part).value
    held = judge(ask, s, still, s.seated(still), part).value
    if not np.isfinite(as_is).any() or not np.isfinite(held).any():
        return 0.0
    reach = [float(np.quantile(v[np.isfinite(v)], PASS_YIELD)) for v in (as_is, held)]
    return max(0.0, reach[0] - reach[1])


def _proof(d: DatumUse, costs: Sequence[tuple[float, Ask]], job: Job) -> Proof:
    say = Say(job.units)

    def zone(a: Ask) -> float:
        half = a.measure == "distance" or (a.measure == "diameter" and not a.tolerance.diametral)
        return a.tolerance.zone / 2 if half else a.tolerance.zone

    loss, worst = max(costs, key=lambda c: c[0] / max(zone(c[1]), 1e-9))
    limit = USES * zone(worst)
    verdict: Verdict = "pass" if loss <= limit else "caution"
    by = "the part's own thickness" if lies(d) else "each part's own size"
    todo = "turn the part so that it lies on the fixed jaw or at the stop"
    todo = "stand the part on it" if lies(d) else another_turn(job, todo)
    where = WHERE[d.seat]
    if d.kind in MIDDLES:
        where = "is an axis" if d.kind == "round" else "lies midway between two walls"
        todo = "hold it self-centering, or sort the parts by size and pick each lot up on its own middle"
    sentence = f"Datum {d.letter} {where}: it floats with {by}"
    if loss <= limit:
        sentence += f", which takes no more than {say.fine(loss)} of {worst.title(say)}."
    else:
        share = f", {100 * loss / zone(worst):.0f} % of its zone" if zone(worst) > 0 else ""
        sentence += f", which takes {say.fine(loss)} of {worst.title(say)}{share}: {todo}."
    return Proof(
        question="locates",
        name=f"datum {d.letter} floats",
        verdict=verdict,
        sentence=sentence,
        value=loss,
        unit="mm",
        limit=limit,
        margin=limit - loss,
        assumptions=(f"limit: {100 * USES:.0f} % of the zone (common practice, no source)",),
        model=MODEL,
        source="the same parts judged with and without what moves the datum, 99.73 % of each",
        where=d.point,
        detail=tuple((f"taken of {a.title(say)}", c, "mm") for c, a in costs),
    )

"""A chip between the part and a wall: how far off that throws it, and which tolerance goes first."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from jawright.hold.model import Hold
from jawright.job.model import Job, ToleranceAsk
from jawright.mechanics.seat import SeatResult, seat
from jawright.part.model import Part
from jawright.proof.deviations import Ask, judge, resolve
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.proof.population import Scene
from jawright.proof.say import Say

SMALL, LARGE = 0.05, 0.1
"""Chip between part and jaw [mm]: what air and brush leave now and then (common practice, no source)."""
END = "brush and blow the jaws clean for every part"


def room(tolerance: ToleranceAsk, tolerances: Sequence[ToleranceAsk]) -> float:
    """The zone [mm] that is there to be used up; of a zone of 0, the bonus its size tolerance can give."""
    if tolerance.zone > 0.0:
        return tolerance.zone
    sizes = [t.zone for t in tolerances if t.feature == tolerance.feature and t.kind in ("size", "diameter")]
    return max(sizes, default=0.0) or LARGE


def seated_on_chip(s: Scene, chip: float) -> SeatResult:
    """The nominal part seated once per contact, with a chip [mm] at that contact."""
    n = len(s.contacts)
    gaps = np.broadcast_to(s.gap0, (n, n)) - chip * np.eye(n)
    return seat(
        s.points, s.normals, s.ride, gaps, push=s.push, yaw=s.yaw, side_play=s.side_play, radius=s.radius
    )


def _used(
    asks: Sequence[Ask], s: Scene, chip: float, hold: Hold, part: Part | None
) -> list[tuple[float, Ask, int]]:
    """Of each tolerance (share of its zone used up, tolerance, contact) with the chip where it costs most."""
    seated = seated_on_chip(s, chip)
    sample = np.zeros((len(s.contacts), len(s.sources)))
    out = []
    for a in asks:
        got = judge(a, s, sample, seated, part)
        limit = got.limit or room(a.tolerance, hold.tolerances)
        share = np.nan_to_num(got.value / limit, nan=0.0)
        k = int(share.argmax())
        # A chip that uses up a zone to the last is no break: rounding must not say so.
        out.append((round(float(share[k]), 6), a, k))
    return out


def prove(hold: Hold, part: Part | None, job: Job, s: Scene) -> list[Proof]:
    """Which tolerance a chip at the worst wall breaks first; nothing where no tolerance can be judged."""
    asks = [resolve(hold, t) for t in hold.tolerances if t.kind not in ("size", "diameter")]
    asks = [a for a in asks if a.measure in ("diameter", "plane", "distance", "turn")]
    if not asks:
        return []
    say = Say(job.units)
    small, large = (_used(asks, s, c, hold, part) for c in (SMALL, LARGE))
    share, first, k = max(large, key=lambda u: u[0])
    low = max(u[0] for u in small)
    c = s.contacts[k]
    wall = {"fixed": "the fixed jaw", "floating": "the floating jaw", "stop": "the stop"}.get(c.on, "the jaw")
    what = f"A {say.given(LARGE)} chip at {c.name} on {wall}"
    title = first.title(say)
    if share <= 1e-9:
        sentence = f"{what} touches no tolerance that is asked here."
    elif share > 1.0:
        sentence = f"{what} breaks {title} first: {END}."
    else:
        sentence = f"{what} uses up {100 * share:.0f} % of {title}, the first to go: {END}."
    return [
        at_most(
            "sits",
            "chip at a wall",
            sentence,
            band=Band(min(low, share), share, share),
            unit="",
            limit=1.0,
            basis=Basis(
                "chip-seating-1",
                "unilateral linear locating model (Asada and By 1985)",
                (f"chips of {say.given(SMALL)} to {say.given(LARGE)} (common practice, no source)",),
            ),
            extra=Extra(
                at_worst="caution",
                where=c.point,
                detail=tuple((f"used up of {a.title(say)}", u, "") for u, a, _ in large),
            ),
        )
    ]

"""Rank candidates from what the quick proofs say of them, and say why each loser lost.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from jawright.hold.model import DatumUse, Hold
from jawright.hold.view import View
from jawright.hold.walls import SQUARE, STICKS
from jawright.jaws.kept import InKept
from jawright.jaws.soft import Draft

YIELD_STEP = 0.005  # predicted yields closer than this do not decide
ENOUGH = 2.0  # grip margin beyond which more does not decide (slip factor of the trade: 2)
YIELD, SEATS, GRIP, LENGTH, FLAT = 60.0, 10.0, 10.0, 10.0, 10.0
"""Most points a stance gets for each of what ``score`` adds up (common practice, no source)."""
NOT_UPRIGHT = 20.0  # points lost when the walls in the grip are not upright (common practice, no source)
OFF = 25.0  # points lost when parts, as they vary, stand off their locators (common practice, no source)
FEELER = 0.04  # [mm] air that a feeler does not find (0.0015 in; common practice, no source)
LEANS = 15.0  # most points lost when the whole seat leans one way (common practice, no source)
FREE, LEAN = math.sin(STICKS), math.sin(math.radians(20.0))
"""Sines: within the first friction keeps a part from sliding along its seat, beyond the second closing drives
it sideways more than home (common practice, no source)."""
BESIDE = 1.0  # points lost for a stop beside the jaws, to be set by hand (common practice, no source)
ASKEW = 1.0  # points lost when the datum on the fixed jaw is not along it (common practice, no source)
ALONG = math.radians(0.01)  # along the jaw within this: what a file rounds
NO_JAWS = 30.0  # points for hard jaws and kept pairs: nothing has to be cut (common practice, no source)
COST = 5.0  # points for the lot's cost, as the share the cheapest way would cost (common practice, no source)
ORDER = ("floor", "fixed", "stop")  # what should carry the first, second and third datum


@dataclass(frozen=True, slots=True)
class Candidate:
    """One stance that was tried, with what the quick proofs say."""

    kind: Literal["hard jaws", "soft jaws"]
    up: tuple[float, float, float]
    turn: float
    shift: float
    why_tried: str
    rank_hint: int  # the kind of turn: pinned and datum turns before sweeps
    hold: Hold | None
    draft: Draft | None
    view: View | None
    lost: str  # hard constraint that ended it, "" when it lives
    predicted: float | None = None
    margin: float | None = None
    thin: bool = False  # only a thicker blank is missing
    changes: tuple[tuple[str, str], ...] = ()  # after a proof failed: kind and words, "gripped 8.0 mm deep"
    thrift: float = 1.0  # cost of the lot in hard jaws over its cost this way: 1 is cheapest
    money: float | None = None  # of the lot
    air: float | None = None  # [mm] that parts, as they vary, leave at their locators
    kept: InKept | None = None  # a pair that exists holds it as it is

    @property
    def changed(self) -> str:
        """What was changed after a proof failed, in one phrase; "" when nothing was."""
        said = [words for _, words in sorted(self.changes, key=lambda c: c[0] == "cut")]  # a list of its own
        return " and ".join(said) if len(said) < 3 else f"{', '.join(said[:-1])} and {said[-1]}"

    def with_hold(self, hold: Hold) -> Candidate:
        """The same design with something said of its hold: a torque to set, how its features are cut."""
        draft = None if self.draft is None else replace(self.draft, hold=hold)
        kept = None if self.kept is None else replace(self.kept, hold=hold)
        return replace(self, hold=hold, draft=draft, kept=kept)

    def with_change(self, kind: str, words: str) -> Candidate:
        """With one more change; a later one of the same kind takes the place of the earlier."""
        kept = tuple(c for c in self.changes if c[0] != kind)
        return replace(self, changes=(*kept, (kind, words)))


def score(c: Candidate) -> float:
    """Points of a living candidate, at most 135; the stance with the most is proven first.

    Yield 60 (share of good parts the quick proof predicts, half when no tolerance is asked), the
    print's datums on their proper seats 10, grip margin 10 (full at the slip factor of the trade),
    length of the seat on the fixed jaw 10, that seat flat 10; less 20 when the walls in the grip are not
    upright, and up to 25 when parts, as they vary, leave air at their locators: none at three quarters
    of a feeler, all at one and a quarter; less up to 15 when every seat on the fixed jaw leans the same
    way, none within 10° and all beyond 20°, since closing drives the part against the stop; less 1 for a stop
    beside the jaws, and 1 when the datum on the fixed jaw is off its direction, since a wall along the jaw is
    cut and checked more simply; 30 when no jaws need to be cut, and 5 for cost: hard jaws' cost of the lot
    over this one's.
    The weights order candidates the way the trade does; they are common practice, no source.
    """
    assert c.hold is not None
    good = 0.5 if c.predicted is None else c.predicted
    held = 0.0 if c.margin is None else min(c.margin / ENOUGH, 1.0)
    points = YIELD * good + SEATS * seats(c.hold) + GRIP * held + LENGTH * seat_share(c.hold)
    points += FLAT if flat_seat(c.hold) else 0.0
    points -= 0.0 if c.view is None or c.view.band.kind == "prismatic" else NOT_UPRIGHT
    if c.air is not None:
        points -= OFF * min(max(2 * c.air / FEELER - 1.5, 0.0), 1.0)
    points -= LEANS * min(max((leans(c.hold) - FREE) / (LEAN - FREE), 0.0), 1.0)
    points -= BESIDE if c.hold.side_stop is not None else 0.0
    points -= ASKEW if askew(c.hold) else 0.0
    nothing_cut = c.kind == "hard jaws" or c.kept is not None
    return points + COST * min(c.thrift, 1.0) + (NO_JAWS if nothing_cut else 0.0)


def at_best(c: Candidate) -> float:
    """Points of a living candidate if all its parts were good and none stood off its locators."""
    good = None if c.predicted is None else 1.0
    return score(replace(c, air=None if c.air is None else 0.0, predicted=good))


def seats(hold: Hold) -> float:
    """Share of the print's first three datums that rest where they should; one that leans counts half.

    A datum plane on the fixed jaw that is not square to the closing direction slides along the jaw while
    it is pressed home: it is carried, but only together with another wall it locates.
    """
    if not hold.datums:
        return 0.5
    first = hold.datums[:3]
    good = sum(0.5 if lean(d) else 1.0 for d, s in zip(first, ORDER, strict=False) if d.seat == s)
    swapped = sum(
        0.5
        for d, s in zip(first, ORDER, strict=False)
        if d.seat != s and d.seat in ("fixed", "stop") and s in ("fixed", "stop")
    )
    return (good + swapped) / len(first)


def lean(datum: DatumUse) -> float:
    """How far [rad] a datum plane on the fixed jaw leans from square to closing; 0 within ``SQUARE``."""
    if datum.seat != "fixed" or datum.kind != "plane":
        return 0.0
    off = math.acos(min(1.0, abs(datum.normal[1]) / math.hypot(*datum.normal)))
    return off if off > SQUARE else 0.0


def askew(hold: Hold) -> bool:
    """Whether a datum plane on the fixed jaw runs, seen from above, off the jaw's direction."""
    planes = [d for d in hold.datums if d.seat == "fixed" and d.kind == "plane"]
    return any(math.atan2(abs(d.normal[0]), abs(d.normal[1])) > ALONG for d in planes)


def flat_seat(hold: Hold) -> bool:
    """Whether every locating contact on the fixed jaw is square to the closing direction."""
    locating = [c for c in hold.contacts if c.on == "fixed" and c.locates]
    return bool(locating) and all(abs(c.normal[0]) < 0.01 for c in locating)


def leans(hold: Hold) -> float:
    """Sine of how far all locating contacts on the fixed jaw lean the same way at least; 0.0 where not."""
    side = [c.normal[0] for c in hold.contacts if c.on == "fixed" and c.locates]
    return max(min(side), -max(side), 0.0) if side else 0.0


def seat_share(hold: Hold) -> float:
    """Span of the locating contacts on the fixed jaw over the length of the part, up to 1."""
    xs = [c.point[0] for c in hold.contacts if c.on == "fixed" and c.locates]
    x0, _, x1, _ = hold.outline.outer.box
    return min(1.0, (max(xs) - min(xs)) / (x1 - x0)) if xs else 0.0


def ranked(candidates: Sequence[Candidate]) -> list[Candidate]:
    """Living candidates, best first; ties go to the simpler turn, then to the smaller angle."""
    alive = [c for c in candidates if not c.lost and c.hold is not None]
    return sorted(
        alive,
        key=lambda c: (
            -round(score(c), 3),
            c.rank_hint,
            round(c.turn, 6),
            c.up,
        ),
    )


def alike(a: Candidate, b: Candidate) -> bool:
    """Whether two candidates seat the part on the same faces, so that proving both tells nothing new."""
    if a.kind != b.kind or a.up != b.up or a.hold is None or b.hold is None:
        return False
    if a.kept is not None or b.kept is not None:
        return False  # each pair is itself
    return _carriers(a.hold) == _carriers(b.hold)


def _carriers(hold: Hold) -> frozenset[tuple[str, int]]:
    return frozenset((c.on, c.face) for c in hold.contacts if c.locates)


def why_lost(c: Candidate, best: Candidate) -> str:
    """One phrase: what the chosen stance has that this one has not."""
    if c.lost:
        return c.lost
    assert c.hold is not None and best.hold is not None
    if best.kept is not None and c.kept is None:
        return f"pair {best.kept.kept.pair} from the rack serves, and nothing has to be cut"
    if c.kept is not None and best.kept is None and best.kind == c.kind:
        return "a proof fails in it, so new jaws are cut"
    if c.kind != best.kind:
        return f"{best.kind} serve and cost less" if best.kind == "hard jaws" else f"{best.kind} hold better"
    a, b = c.predicted, best.predicted
    if a is not None and b is not None and a < b - YIELD_STEP:
        return f"fewer good parts: {a:.1%} against {b:.1%}"
    if seats(c.hold) < seats(best.hold) - 1e-9:
        loose = [d.letter for d in c.hold.datums if d.seat in ("free", "floating")]
        slant = [f"datum {d.letter} leans {math.degrees(lean(d)):.0f}° on the fixed jaw"
                 for d in c.hold.datums if lean(d)]  # fmt: skip
        if loose or not slant:
            return f"datum {', '.join(loose)} not on a locator" if loose else "datums on the wrong locators"
        return "; ".join(slant)
    if askew(c.hold) and not askew(best.hold) and score(c) + ASKEW > score(best) - 1e-9:
        return "its datum is a little off the direction of the fixed jaw, and nothing is better for it"
    if c.air is not None and best.air is not None and c.air > max(FEELER, best.air + 0.005):
        return f"over-located: parts as they vary stand off their locators by up to {c.air:.2f} mm"
    if c.margin is not None and best.margin is not None and min(c.margin, ENOUGH) < min(best.margin, ENOUGH):
        for digits in (1, 2, 3):  # never "0.8 against 0.8"; nearer than that is no reason
            own, its = f"{c.margin:.{digits}f}", f"{best.margin:.{digits}f}"
            if own != its:
                return f"weaker grip: factor {own} against {its}"
    if c.view is not None and best.view is not None and c.view.band.kind != best.view.band.kind:
        return f"the walls within the grip are {c.view.band.kind}"
    if flat_seat(best.hold) and not flat_seat(c.hold):
        return "no flat seat on the fixed jaw"
    if seat_share(c.hold) < seat_share(best.hold) - 0.01:
        return "shorter seat on the fixed jaw"
    return "no better than the chosen one"

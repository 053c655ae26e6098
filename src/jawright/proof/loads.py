"""Can it be put in, only the right way round?"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most, unknown
from jawright.proof.keys import blocker, blocks, corner
from jawright.proof.model import Proof, Verdict
from jawright.proof.room import most_air
from jawright.proof.say import Say
from jawright.proof.shutting import OPEN
from jawright.proof.shutting import prove as closing_path
from jawright.proof.wrongway import SLACK, UNSEEN, WrongWay, find
from jawright.shop.model import Shop

ROOM = 0.0125
"""Clearance per wall [mm] with which a part drops in by hand (0.001 in; common practice, no source)."""
PIN = 2.0  # [mm] diameter of a pin that stops a wrong way
MOST_TOLD = 4  # wrong ways that are told with what stops them
HARD_JAW = 20.0  # [mm] thickness of one hard jaw where the shop does not say (common practice, no source)


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Drop-in room for the biggest part, the way home, opening of the vise, and wrong ways round."""
    found = []
    if jaws is not None:
        found.append(drop_in(hold, jaws, job, shop))
        found.append(closing_path(hold, jaws, Say(job.units)))
    found.append(opening(hold, jaws, Say(job.units)))
    found.append(wrong_way(hold, jaws, Say(job.units), part))
    return tuple(found)


def drop_in(hold: Hold, jaws: Jaws, job: Job, shop: Shop) -> Proof:
    """Room round the biggest part, let down where the open jaws leave it the most (``room.most_air``)."""
    say = Say(job.units)
    grown = job.incoming.growth
    place = most_air(hold, jaws)
    basis = Basis(
        "drop-in-air-2",
        "linear programs over the walls, the air measured where they put the part",
        (
            f"biggest part: walls {say.given(grown)} out ({job.incoming.profile.basis})",
            f"jaws cut small by two sigma of {say.given(shop.jaw_cut.set)} ({shop.jaw_cut.basis})",
            f"jaw opened {say.given(OPEN)}, part lowered straight down (common practice, no source)",
        ),
    )
    if place is None:
        words = "No wall of the jaws faces the part, so nothing can be said about how it drops in."
        supply = ("a hold with walls in the jaws",)
        return unknown("loads", "drop-in room", words, unit="mm", supply=supply, basis=basis)
    cut = shop.jaw_cut
    low, mid, high = sorted(round(place.air - grown - 2 * c, 9) for c in (cut.high, cut.set, cut.low))
    if low >= ROOM:
        sentence = f"The biggest part drops in with {say.near(mid)} of room at every wall."
    elif mid >= 0:
        sentence = f"The biggest part goes in with only {say.fine(mid)} of room: expect to push."
    else:
        sentence = (
            f"The biggest part does not go in: {say.fine(-mid)} too big between walls that face each other."
        )
    return at_least(
        "loads",
        "drop-in room",
        sentence,
        band=Band(low, mid, high),
        unit="mm",
        limit=ROOM,
        basis=basis,
        extra=Extra(where=(*place.at, jaws.top), at_worst="fail" if mid < 0 else "caution"),
    )


def opening(hold: Hold, jaws: Jaws | None, say: Say) -> Proof:
    """What the vise must open to load, against what it opens."""
    x0, y0, x1, y1 = hold.outline.outer.box
    notes = [f"opened {say.given(OPEN)} past the part to load (common practice, no source)"]
    if jaws is not None:
        thick = jaws.fixed.blank.thickness + jaws.floating.blank.thickness
        need = thick + jaws.gap + OPEN
        made = f"{say.coarse(thick)} of jaws, {say.coarse(jaws.gap)} gap, {say.coarse(OPEN)} to load"
    else:
        need = (y1 - y0) + 2 * HARD_JAW + OPEN
        made = f"{say.coarse(y1 - y0)} of part, two hard jaws, {say.coarse(OPEN)} to load"
        notes.append(f"hard jaws {say.given(HARD_JAW)} thick each (common practice, no source)")
    most = hold.vise.opening
    word = "opens far enough" if need <= most else "does not open far enough"
    return at_most(
        "loads",
        "opening of the vise",
        f"The vise {word}: {say.coarse(need)} needed ({made}), {say.coarse(most)} there.",
        band=Band(need, need, need),
        unit="mm",
        limit=most,
        basis=Basis("opening-sum-1", "sum of lengths", tuple(notes)),
        extra=Extra(where=((x0 + x1) / 2, y0, hold.jaw_top)),
    )


def wrong_way(hold: Hold, jaws: Jaws | None, say: Say, part: Part | None = None) -> Proof:
    """Every turned or flipped stance that goes in, each with the cheapest way to stop it."""
    ways = find(hold, jaws, part)
    bad = [w for w in ways if not w.harmless]
    same = [w for w in ways if w.harmless]
    verdict: Verdict = "caution" if bad else "pass"
    if bad:
        sentence = f"It also goes in {_told(hold, jaws, bad[:MOST_TOLD], say)}."
    elif same:
        sentence = f"It also goes in {same[0].words}, which makes the same part."
    else:
        sentence = "It goes in one way only."
    return Proof(
        question="loads",
        name="wrong way round",
        verdict=verdict,
        sentence=sentence,
        value=float(len(bad)),
        unit="",
        limit=0.0,
        margin=-float(len(bad)),
        assumptions=(
            f"a part that holds the jaw {say.given(UNSEEN)} further open, or needs {say.given(SLACK)} "
            "of force, is not noticed (common practice, no source)",
            "flipped over, what stands in the grip is the part's own outline near its top"
            if part is not None
            else "flipped over, the outline in the grip is taken as mirrored",
            "turns every 5° and those that lay one straight edge like another; no other face up",
        ),
        model="wrong-way-search-2",
        source="plane containment of the outline, repeated linear programs; like surfaces and features",
        detail=tuple((f"goes in {w.words}, interference", w.interference, "mm") for w in ways[:6]),
    )


def _told(hold: Hold, jaws: Jaws | None, ways: Sequence[WrongWay], say: Say) -> str:
    """Wrong ways with what stops them: one thing for all where it does, else one for each."""
    one, some = "", ways
    for some in (ways, ways[:2]):  # one thing for all of them, or for the two that go in best
        if one := stopper(hold, jaws, some, say):
            break
    by: dict[str, list[str]] = {}
    for k, w in enumerate(ways):
        told = one if one and k < len(some) else remedy(hold, jaws, [w], say)
        by.setdefault(told, []).append(w.words)
    return "; ".join(f"{' or '.join(words)}: {told}" for told, words in by.items())


def stopper(hold: Hold, jaws: Jaws | None, ways: Sequence[WrongWay], say: Say) -> str:
    """Metal left standing, or a pin, that stops these wrong ways and not the right one; "" for neither."""
    if jaws is None:
        return ""
    what = "it" if len(ways) == 1 else "both" if len(ways) == 2 else "all"
    left = corner(hold, jaws, *ways) if jaws.left is None else None
    if left is not None:
        wide = say.coarse(math.floor(20.0 * left.radius) / 10.0)
        return (
            f"the corner of the pocket at {say.at(*left.at)}, {wide} across, left standing stops {what}: "
            '[hold] wrong_way = "leave a corner" has the jaws cut so'
        )
    spot = blocker(hold, *ways, gap=jaws.gap)
    if spot and all(blocks(jaws, w, spot, radius=PIN / 2) for w in ways):
        return f"a Ø{say.given(PIN)} pin in the jaw at {say.at(*spot)} stops {what}"
    return ""


def remedy(hold: Hold, jaws: Jaws | None, ways: Sequence[WrongWay], say: Say) -> str:
    """The cheapest thing that stops these wrong ways and not the right one."""
    if said := stopper(hold, jaws, ways, say):
        return said
    shift = max(_off_stop(hold, w) for w in ways)
    if shift > UNSEEN:
        return f"it then stands {say.coarse(shift)} off at the far end: mark that end on the jaw and look"
    if jaws is None:
        return "plain jaws tell nothing apart: mark the end that goes to the stop, and look"
    if all(w.hand for w in ways):
        return (
            "no wall tells the hands apart: engrave which goes where, mark the face that goes up on each part"
        )
    return "no wall tells them apart: engrave FRONT and an arrow on the jaw, mark parts before turning them"


def _off_stop(hold: Hold, way: WrongWay) -> float:
    x0, _, x1, _ = hold.outline.outer.box
    a, _, b, _ = way.shape.bounds
    return max(math.fabs(a - x0), math.fabs(b - x1))

"""What a gentler clamp and lighter cuts would do: the torque and the cuts that a hold's proofs ask for."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import clamp
from jawright.proof.body import part_material
from jawright.proof.factor import worst_cases
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.window import Study, study
from jawright.shop.model import Shop
from jawright.units import show

UNEVEN = ("taper", "contact over the grip depth")
BY_FORCE = ("bruise", *UNEVEN)
"""Proofs besides those of spring that less clamp force can close."""
LEAST_GAIN = 0.93  # a torque that much of the one set is worth proving, one above it is not
SPARE = 0.97  # a torque that is worked out is taken with so much to spare
ROOM = (0.85, 0.97)  # and a load: the window shall not only just open; else with less
LINE = "line contact"
LEAST_FEED = 0.5  # of the usual feed: with less a drill rubs (common practice, no source)
PILOTED = 4.0  # [mm] drills from this size on may follow a pilot of half of it (common practice, no source)
PASSES = 4  # most passes a depth is cut in (common practice, no source)
AT_MOST = "at the most"
"""A note of a feature's cut that begins so was made by the search: a heavier cut is not proven."""
WHY = ", so that the clamp holds it"
HOLES = ("drill", "bore", "ream")


@dataclass(frozen=True, slots=True)
class Gentler:
    """A torque [N·m] to set, and what it closes."""

    torque: float
    why: str


@dataclass(frozen=True, slots=True)
class Lighter:
    """The features of a hold with some cut lighter, and that in words."""

    features: tuple[MadeFeature, ...]
    words: str


def torque(
    hold: Hold, jaws: Jaws | None, bad: Sequence[Proof], *, part: Part, job: Job, shop: Shop
) -> Gentler | None:
    """The torque within an open window at which what failed by too much force would pass.

    None where the job or an earlier change sets the torque already, no wrench closes the vise, nothing
    failed by force, or what holds leaves no room.
    """
    mine = _by_force(bad)
    if hold.torque is not None or not _free(hold, job) or not mine:
        return None
    s = study(gripped(hold, part), jaws, part, job, shop)
    if not s.open or s.least is None:
        return None
    least = max(s.least, 0.1)
    wanted = _wanted(s, mine)
    if wanted < least and any(p.name not in UNEVEN for p in mine):
        return None  # it would not pass at the least that holds
    value = _rounded(max(wanted, least), least)
    if value > LEAST_GAIN * s.torque:
        return None
    return Gentler(value, mine[0].name)


def _by_force(bad: Sequence[Proof]) -> list[Proof]:
    return [p for p in bad if p.name in BY_FORCE or p.name.startswith("spring")]


def _free(hold: Hold, job: Job) -> bool:
    """Whether the torque is the search's to choose."""
    return job.hold.torque is None and not clamp.by_force(hold.vise)


def _wanted(s: Study, mine: Sequence[Proof]) -> float:
    """The torque [N·m] at which all of what failed by too much force would pass."""
    return SPARE * min(s.torque * _ratio(p) for p in mine)


def _ratio(p: Proof) -> float:
    """Share of the clamp force at which a proof that failed would pass.

    Even contact does not go in proportion with the force: a third of it is tried.
    """
    if p.name in UNEVEN or not p.limit or not p.value:
        return 1.0 / 3.0
    share = p.limit / (p.value if p.name == "bruise" else p.set or p.value)
    return share * share if LINE in p.model else share


def _rounded(value: float, least: float) -> float:
    """Down to whole newton meters, or tenths, where that still holds."""
    for step in (1.0, 0.1):
        low = math.floor(value / step) * step
        if low >= least:
            return round(low, 6)
    return math.ceil(least * 10.0) / 10.0


def cuts(
    hold: Hold,
    jaws: Jaws | None,
    bad: Sequence[Proof],
    *,
    part: Part,
    job: Job,
    shop: Shop,
    wide: float = 1.0,
) -> Lighter | None:
    """The cuts that ask for more clamp force than may be, made lighter until they do not.

    The clamp may be what the window allows [N·m], and no more than lets pass what failed by too much force;
    with ``wide`` [1] the window shall then be so many times as wide as one that is just open. Holes are fed
    more slowly (chip load by Kienzle's power), faces and walls cut in more passes. None where the job gives
    that feed or depth itself, nothing is asked too much of, or no light cut is enough.
    """
    s = study(gripped(hold, part), jaws, part, job, shop)
    if s.cases is None or s.least is None or s.most is None:
        return None
    mine = [p for p in _by_force(bad) if p.name not in UNEVEN]
    most = (min(s.most, _wanted(s, mine)) if mine and _free(hold, job) else s.most) / wide
    if s.least <= most:
        return None
    own = gripped(hold, part)

    def need(f: MadeFeature) -> float:
        """Clamp force on the part [N] that one cut asks for."""
        cases = worst_cases(replace(own, features=(f,)), job.material, shop.friction)
        return cases[0].need if cases else math.inf

    needs = {c.feature.name: c.need for c in s.cases}
    share = {f.name: _enough(hold, s, needs.get(f.name, 0.0), most) for f in hold.features}
    for room in ROOM:
        shares = {n: None if k is None else room * k for n, k in share.items()}
        found = [_lighter(f, shares[f.name], job, need) for f in hold.features]
        if all(x is not None for x in found):
            made = [x for x in found if x is not None]
            if not any(words for _, words in made):
                return None
            features = tuple(f for f, _ in made)
            said = ", ".join(s.removesuffix(WHY) for s in limits(features)).replace(f" {AT_MOST} ", " ")
            return Lighter(features, f"cut lighter: {said}")
    return None


def _enough(hold: Hold, s: Study, need: float, most: float) -> float | None:
    """Largest share of a load that a torque carries, above 1 with room; None where there is none."""

    def good(k: float) -> bool:
        return clamp.torque_for_at_least(hold.vise, s.row.total_for_at_least(k * need)) <= most

    if not math.isfinite(need):
        return None
    if need <= 0.0 or good(2.0):
        return 2.0
    low, high = 0.01, 2.0
    if not good(low):
        return None
    for _ in range(24):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if good(middle) else (low, middle)
    return low


def _lighter(
    f: MadeFeature, share: float | None, job: Job, need: Callable[[MadeFeature], float]
) -> tuple[MadeFeature, str] | None:
    """One feature cut with that share of its load, and in words ("" as it is); None when there is no way.

    ``need`` tells the clamp force that a cut asks for.
    """
    if share is None:
        return None
    if share >= 1.0:
        return f, ""
    ask = next((a for a in job.features if a.name == f.name), None)
    work = part_material(job.material)
    if f.kind in HOLES:
        if work is None or work.mc is None or (ask is not None and ask.feed_per_tooth is not None):
            return None
        power = 1.0 / (1.0 - work.mc)
        how = "fed"
        if share**power < LEAST_FEED:  # too slow: open it in two steps
            if (
                f.kind != "drill"
                or f.diameter is None
                or f.diameter < PILOTED
                or f.radial < 0.49 * f.diameter
            ):
                return None
            half = replace(f, radial=f.diameter / 4)
            share = min(1.0, share * need(f) / max(need(half), 1e-9))
            pilot = show(f.diameter / 2, "length", job.units, digits=1 if job.units == "mm" else 3)
            f, how = half, f"after a pilot of {pilot}, fed"
        slower = share**power
        feed = math.floor(slower * f.feed_per_tooth * 1000.0) / 1000.0
        slowed = f.slowed * slower
        if slowed < LEAST_FEED or feed <= 0.0:
            return None
        said = f"{f.name} {how} {show(feed, 'length', job.units)} an edge"
        note = f"{AT_MOST} {said.removeprefix(f.name).strip()}{WHY}"
        kept = tuple(a for a in f.assumed if not a.startswith(("feed ", AT_MOST)))
        return replace(f, feed_per_tooth=feed, slowed=slowed, assumed=(*kept, note)), said
    passes = math.ceil(f.passes / share - 1e-9)
    if passes > PASSES or (ask is not None and ask.axial is not None):
        return None
    axial = f.axial * f.passes / passes
    deep = show(axial, "length", job.units, digits=2 if job.units == "mm" else 3)
    said = f"{f.name} in {passes} passes of {deep}"
    note = f"{AT_MOST} {said.removeprefix(f.name).strip()}{WHY}"
    kept = tuple(a for a in f.assumed if not a.startswith(AT_MOST))
    return replace(f, axial=axial, passes=passes, assumed=(*kept, note)), said


def limits(features: Sequence[MadeFeature]) -> tuple[str, ...]:
    """What the search made lighter, in words: "back face at the most in 2 passes of 0.40 mm, so that ..."."""
    return tuple(f"{f.name} {a}" for f in features for a in f.assumed if a.startswith(AT_MOST))


def as_before(now: Sequence[MadeFeature], before: Sequence[MadeFeature]) -> tuple[MadeFeature, ...]:
    """Features of a changed design, cut as lightly as those of the design before."""
    old = {f.name: f for f in before}
    return tuple(
        replace(
            f,
            feed_per_tooth=o.feed_per_tooth,
            radial=o.radial,
            axial=o.axial,
            assumed=o.assumed,
            passes=o.passes,
            slowed=o.slowed,
        )
        if (o := old.get(f.name)) is not None and any(a.startswith(AT_MOST) for a in o.assumed)
        else f
        for f in now
    )

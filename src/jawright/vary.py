"""What a machinist changes when a proof fails: clamp, cut, seat, spacers, blank or grip."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from jawright import handbook, lighter, tries
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold.incoming import informed
from jawright.hold.model import Hold
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import ABOVE, GRIP_LEAST, GRIP_MOST, view
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.model import Proof
from jawright.proof.remedy import LOAD_SHARE
from jawright.proof.window import NAME as WINDOW
from jawright.proof.window import Shut, shut_by
from jawright.proof.wrench import lacking, width
from jawright.shop.model import Blank, Shop
from jawright.units import show

DEEPER = 1.5  # a grip that fails is deepened by this factor (common practice, no source)
LEAST_MORE = 0.5  # [mm] a smaller gain in grip depth is not worth another proof (common practice, no source)
MORE = 1.12  # nor one below this factor (common practice, no source)
OVER = 1.03  # what a proof says would do is taken with so much to spare
LESS_TAPER = (
    0.75  # spacers are changed when others leave at most so much of the taper (common practice, no source)
)
MORE_WALL = 1.15  # a nest that goes further round must touch that much more of the part
EVEN = "contact over the grip depth"
CUT = "cut"  # the kind of change that makes cuts lighter
TORQUE = "tightened"  # the kind of change that lowers it
SLIGHTLY = 0.9  # so much of a load that would do is tried before other changes (common practice, no source)
SHALLOWER = 0.7  # a grip whose wall bends away is made shallower by this factor (common practice, no source)
ROOMY = 2.0  # only where the most the clamp may is that many times the least that holds
ONCE = frozenset({"wrapping", "bearing", "gripping", "spacers"})
"""Kinds of change that are not tried again on another depth or blank when they did not help before."""
NO_HELP = ("located",)
"""Proofs that no change of a stance closes: another one has to."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A design that was proven, with all its proofs."""

    candidate: Candidate
    hold: Hold
    jaws: Jaws | None
    proofs: tuple[Proof, ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """What the changes are made for."""

    part: Part
    job: Job
    shop: Shop
    ask: Ask


Make = Callable[[], Candidate | None]


def next_change(first: Candidate, tried: Sequence[Tried], best: int, bench: Bench) -> Candidate | None:
    """The next change of a stance worth proving, None when nothing is left that could help.

    ``tried`` holds the stance and its changes so far, ``best`` says which of them is nearest to standing:
    changes build on it, so that a harder blank is also tried with a deeper grip. What the job pins is
    never changed.
    """
    found = _change(first, tried, tried[best], bench)
    if found is None and best > 0 and any(p.verdict == "fail" for p in tried[best].proofs):
        return _change(first, tried, tried[0], bench)  # what was changed led nowhere
    return found


def _change(first: Candidate, tried: Sequence[Tried], last: Tried, bench: Bench) -> Candidate | None:
    bad = [p for p in last.proofs if p.verdict == "fail"]
    window = next((p for p in last.proofs if p.name == WINDOW), None)
    tight = not bad and lacking(window) > 0.0
    if (not bad and not tight) or any(p.name in NO_HELP for p in bad):
        return None
    have = {_key(t.candidate) for t in tried}
    before = {kind for t in tried for kind, _ in t.candidate.changes} & ONCE
    for make in _wider(last, window, bench) if tight else _ways(last, bad, bench):
        found = make()
        if found is None or found.lost or _key(found) in have:
            continue
        if not before & {kind for kind, _ in found.changes} - {kind for kind, _ in last.candidate.changes}:
            return replace(found, why_tried=first.why_tried, rank_hint=first.rank_hint)
    return None


def _key(c: Candidate) -> tuple[object, ...]:
    """What tells two designs of one stance apart."""
    assert c.hold is not None
    cuts = tuple(
        (f.name, round(f.feed_per_tooth, 5), round(f.radial, 4), round(f.axial, 4)) for f in c.hold.features
    )
    own = (round(c.hold.grip_depth, 3), c.hold.torque, c.hold.vise.id, cuts)
    if c.draft is None:
        return own
    p = c.draft.place
    stack = (tuple(s.id for s in p.stack.spacers), round(p.stack.height, 3))
    return (*own, p.blank.id, stack, c.draft.fewest, c.draft.wraps, c.draft.near)


def _ways(last: Tried, bad: Sequence[Proof], bench: Bench) -> Iterator[Make]:
    """Changes that answer the failed proofs, the cheapest first."""
    names = [p.name for p in bad]
    window = next((p for p in bad if p.name == WINDOW), None)
    shut = frozenset[Shut]() if window is None else shut_by(window)
    marked = "bruise" in names or "bruise" in shut
    sprung = any(n.startswith("spring") for n in names) or "spring" in shut
    slips = window is not None or "grip depth" in names or any(n.startswith("load factor") for n in names)
    bends = "taper" in names or EVEN in names
    off = "flush on the locators" in names or "range of incoming sizes" in names
    if window is None:
        yield lambda: _gentler(last, bad, bench)
    elif _share(window) >= SLIGHTLY:
        yield lambda: _lighter(last, bad, bench)
    if last.candidate.kept is not None:  # its jaws are as they are
        yield lambda: _lighter(last, bad, bench)
        return
    yield from _reseated(last, bench, wrap=marked or sprung or slips, pads=off)
    if bends:
        yield lambda: _spaced(last, bench)
        yield lambda: _shallower(last, bench)
    if last.candidate.draft is not None and bench.job.hold.blank == "":
        yield from _blanks(last, bench, marked=marked, bends=bends)
    why = next((n for n in names if n in (WINDOW, "grip depth", "bruise", "spring")
                or n.startswith("load")), "spring")  # fmt: skip
    want = _wanted_depth(window)
    if marked or slips or sprung:
        yield lambda: _deeper(last, why, want, bench)
        if slips:
            yield lambda: _deeper(last, why, want, bench, higher=True)
    if window is not None or sprung or marked:
        yield lambda: _lighter(last, bad, bench)


def _share(window: Proof) -> float:
    """The share of its load with which the cut that asks for most would do, 0 where none would."""
    return min((v for n, v, _ in window.detail if n.startswith(LOAD_SHARE)), default=0.0)


def _wider(last: Tried, window: Proof | None, bench: Bench) -> Iterator[Make]:
    """What widens an open window that is too narrow for a torque wrench: lighter cuts, jaws that bear more.

    Another stance is worth more than a second change of seat or grip.
    """
    assert window is not None and window.low is not None
    wide = width(window.low)
    if not _has(last.candidate, CUT):
        yield lambda: _lighter(last, (), bench, wide=wide)
    if "bruise" in shut_by(window, width=wide) and last.candidate.draft is not None:
        yield from _blanks(last, bench, marked=bench.job.hold.blank == "", bends=False)


def _blanks(last: Tried, bench: Bench, *, marked: bool, bends: bool) -> Iterator[Make]:
    assert last.candidate.draft is not None
    now = last.candidate.draft.place.blank
    if marked and bench.job.hold.jaw_material == "":
        yield lambda: _in_blanks(last, _harder(now, bench), bench)
    if bends:
        thick = [
            b for b in bench.shop.blanks if b.thickness > now.thickness + 1e-9 and b.material == now.material
        ]
        yield lambda: _in_blanks(last, thick, bench)


def _harder(now: Blank, bench: Bench) -> list[Blank]:
    """Blanks of a metal that marks later, when it is the jaw that marks first."""
    work, jaw = handbook.material(bench.job.material), handbook.material(now.material)
    if jaw.bruise_stress >= work.bruise_stress:
        return []
    return [
        b for b in bench.shop.blanks if handbook.material(b.material).bruise_stress > jaw.bruise_stress + 1e-9
    ]


def _again(
    last: Tried,
    bench: Bench,
    *,
    blanks: Sequence[Blank] | None = None,
    few: bool | None = None,
    wrap: bool | None = None,
    near: bool | None = None,
    grip: float | None = None,
    height: float | None = None,
    reason: str = "",
) -> Candidate | None:
    """The same stance once more with something about it changed; None where it cannot be had.

    What an earlier change set stays: the blank, the seat, the depth; the spacers only with blank and depth.
    """
    c, job = last.candidate, bench.job
    assert c.view is not None and c.hold is not None
    depth = c.hold.grip_depth if grip is None else grip
    asked = replace(job, hold=replace(job.hold, grip_depth=depth, torque=job.hold.torque))
    if height is not None:
        asked = replace(asked, hold=replace(asked.hold, spacer_height=height))
    try:
        seen = c.view if grip is None else view(bench.part, asked, bench.ask, c.up)
    except JawrightError:
        return None
    if grip is not None:
        seen = replace(seen, grip_reason=reason)
    turn = Turn(c.turn, c.why_tried, c.rank_hint)
    if c.draft is None:
        shop = bench.shop
        way = tries.hard(seen, turn, c.hold.vise, part=bench.part, job=asked, shop=shop, ask=bench.ask)
    else:
        own = [c.draft.place.blank] if blanks is None else list(blanks)
        if not own:
            return None
        shop = replace(bench.shop, blanks=tuple(own))
        seat = c.draft.fewest if few is None else few
        way = tries.soft(
            seen, turn, c.hold.vise, part=bench.part, job=asked, shop=shop, ask=bench.ask,
            few=seat, wrap=c.draft.wraps if wrap is None else wrap,
            near=c.draft.near if near is None else near,
        )  # fmt: skip
    found = tries.alone(way)
    if found.hold is None or found.lost:
        return None
    kept, hold = lighter.as_before(found.hold.features, c.hold.features), found.hold
    if found.draft is not None and c.draft is not None and c.draft.metal_why:
        found = replace(found, draft=replace(found.draft, metal_why=c.draft.metal_why))
    changes = tuple(x for x in c.changes if x[0] != TORQUE)  # its window is another one now
    found = replace(found, changes=changes)
    return found if kept == hold.features else found.with_hold(replace(hold, features=kept))


def _gentler(last: Tried, bad: Sequence[Proof], bench: Bench) -> Candidate | None:
    """A lower torque within the window, where what fails grows with the clamp force."""
    found = lighter.torque(last.hold, last.jaws, bad, part=bench.part, job=_job(last, bench), shop=bench.shop)
    if found is None:
        return None
    why = f"below the middle of the torque window, where {found.why} would not pass"
    said = show(found.torque, "torque", bench.job.units)
    c = last.candidate
    assert c.hold is not None
    gentle = c.with_hold(replace(c.hold, torque=found.torque, torque_why=why))
    return gentle.with_change(TORQUE, f"tightened to {said}")


def _job(last: Tried, bench: Bench) -> Job:
    return informed(bench.job, bench.part, last.candidate.up)


def _reseated(last: Tried, bench: Bench, *, wrap: bool, pads: bool) -> Iterator[Make]:
    """A nest over the whole outline spreads the force; two pads of it suit parts that vary."""
    draft = last.candidate.draft
    if draft is None:
        return
    if wrap and draft.choice and draft.fewest:
        yield lambda: _said(_again(last, bench, few=False), "bearing", "bearing on its whole outline")
    if wrap and not draft.fewest and not draft.wraps and bench.job.hold.blank == "":
        yield lambda: _wrapped(last, bench)
    if wrap and draft.near and bench.job.hold.blank == "":
        yield lambda: _said(_gripped(last, bench), "gripping", "gripped further in as well")
    if pads and draft.choice and not draft.fewest:
        yield lambda: _said(_again(last, bench, few=True), "bearing", "bearing on two pads")


def _gripped(last: Tried, bench: Bench) -> Candidate | None:
    """A leg gripped at the walls further in as well, in whatever blank is thick enough."""
    old = last.candidate.draft
    assert old is not None
    blanks = [b for b in bench.shop.blanks if b.material == old.place.blank.material]
    return _again(last, bench, near=False, blanks=blanks)


def _wrapped(last: Tried, bench: Bench) -> Candidate | None:
    """A nest that goes further round the part, where that touches more of it, in whatever blank takes it."""
    old = last.candidate.draft
    assert old is not None
    blanks = [b for b in bench.shop.blanks if b.material == old.place.blank.material]
    found = _again(last, bench, wrap=True, blanks=blanks)
    if found is None or found.draft is None:
        return None
    if _bearing(found.draft.hold) < MORE_WALL * _bearing(old.hold):
        return None
    return found.with_change("wrapping", "wrapped further round")


def _bearing(hold: Hold) -> float:
    return sum(c.share for c in hold.contacts if c.on in ("fixed", "floating"))


def _said(found: Candidate | None, kind: str, words: str) -> Candidate | None:
    return None if found is None else found.with_change(kind, words)


def _spaced(last: Tried, bench: Bench) -> Candidate | None:
    """The spacers that leave the least taper of those the shop owns, as the proof worked them out."""
    draft, ask = last.candidate.draft, bench.job.hold
    if draft is None or ask.spacer_height is not None or ask.spacers:
        return None
    proof = next((p for p in last.proofs if p.name == "taper"), None)
    numbers = {n: v for n, v, _ in proof.detail} if proof is not None else {}
    height = numbers.get("spacer height of the best stack of owned parallels")
    left = numbers.get("taper with the best stack of owned parallels")
    if proof is None or proof.set is None or height is None or left is None:
        return None
    if abs(left) > LESS_TAPER * proof.set or abs(height - draft.place.stack.height) < 0.5:
        return None
    found = _again(last, bench, height=height)
    if found is None or found.draft is None:
        return None
    at = show(found.draft.place.stack.height, "length", bench.job.units, digits=1)
    return found.with_change("spacers", f"spacers at {at}")


def _in_blanks(last: Tried, blanks: Sequence[Blank], bench: Bench) -> Candidate | None:
    found = _again(last, bench, blanks=blanks)
    if found is None or found.draft is None:
        return None
    b, old = found.draft.place.blank, last.candidate.draft
    if old is not None and b.material != old.place.blank.material:
        why = f"Jaws of {b.material}: {old.place.blank.material} would be bruised by the clamp on this part."
        found = replace(found, draft=replace(found.draft, metal_why=why))
    return found.with_change("blank", f"blank {b.id} ({b.material})")


def _wanted_depth(window: Proof | None) -> float:
    """The grip depth that the torque window says would do [mm], 0 when it says none."""
    numbers = {n: v for n, v, _ in window.detail} if window is not None else {}
    return OVER * numbers.get("grip depth that would do", 0.0)


def _deeper(last: Tried, why: str, want: float, bench: Bench, *, higher: bool = False) -> Candidate | None:
    """A deeper grip, in a higher blank where that is asked: half as much more, or what a proof asks for."""
    c = last.candidate
    if bench.job.hold.grip_depth is not None or (c.view is not None and c.view.band.kind == "drafted"):
        return None  # upright jaws touch leaning walls on one line, however deep they reach
    assert c.view is not None and c.hold is not None
    now = c.hold.grip_depth
    room = c.view.tall - ABOVE
    most = room if c.draft is None else min(room, max(GRIP_MOST, now))
    asked = min(max(DEEPER * now, want), most)
    if asked < max(now + LEAST_MORE, MORE * now):
        return None
    blanks: list[Blank] = []
    if c.draft is not None:
        old = c.draft.place.blank
        blanks = [b for b in bench.shop.blanks if b.material == old.material
                  and (b.thickness >= old.thickness - 1e-9 or not _has(c, "blank"))
                  and (b.height > old.height + 1e-9 or not higher)]  # fmt: skip
        if bench.job.hold.blank:
            blanks = [old] if not higher else []
    reason = f"deepened from {now:.1f} mm, at which {why} failed"
    found = _again(last, bench, grip=asked, blanks=blanks, reason=reason)
    if found is None or found.hold is None or found.hold.grip_depth < now + LEAST_MORE:
        return None
    deep = show(found.hold.grip_depth, "length", bench.job.units, digits=1 if bench.job.units == "mm" else 2)
    return found.with_change("gripped", f"gripped {deep} deep")


def _shallower(last: Tried, bench: Bench) -> Candidate | None:
    """A shallower grip, where the clamp has room: the lower wall bends away less, so more of it bears."""
    c, window = last.candidate, next((p for p in last.proofs if p.name == WINDOW), None)
    if bench.job.hold.grip_depth is not None or c.draft is None or _has(c, "gripped"):
        return None
    if window is None or window.low is None or window.high is None or window.high < ROOMY * window.low:
        return None
    assert c.hold is not None
    now = c.hold.grip_depth
    asked = max(SHALLOWER * now, GRIP_LEAST)
    if asked > now - LEAST_MORE:
        return None
    reason = f"shallower than {now:.1f} mm, over which the wall bends away from the part"
    found = _again(last, bench, grip=asked, reason=reason)
    if found is None or found.hold is None:
        return None
    deep = show(found.hold.grip_depth, "length", bench.job.units, digits=1 if bench.job.units == "mm" else 2)
    return found.with_change("gripped", f"gripped only {deep} deep")


def _has(c: Candidate, kind: str) -> bool:
    return any(k == kind for k, _ in c.changes)


def _lighter(last: Tried, bad: Sequence[Proof], bench: Bench, *, wide: float = 1.0) -> Candidate | None:
    """Lighter cuts where the job leaves feed and depth open and nothing else opens the window so ``wide``."""
    job = _job(last, bench)
    found = lighter.cuts(last.hold, last.jaws, bad, part=bench.part, job=job, shop=bench.shop, wide=wide)
    if found is None:
        return None
    assert last.candidate.hold is not None
    cut = last.candidate.with_hold(replace(last.candidate.hold, features=found.features))
    return cut.with_change(CUT, found.words)

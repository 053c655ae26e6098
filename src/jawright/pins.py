"""What each choice pinned in the job costs: the best stance with it against the best without it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright import choose, trial, tries
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.job.model import HoldAsk, Job
from jawright.part.model import Part
from jawright.record import Pinned
from jawright.shop.model import Shop, Vise
from jawright.units import show

SAME = 0.05  # points: a smaller difference in score costs nothing
SEARCHED = ("turn", "kind", "fixed_jaw_datum")
"""Pins that are let go by searching all turns again; the others are let go at the same turn."""
CUT_ONLY = ("spacer_height", "spacers", "jaw_cutter")
"""Pins that change how the jaws are cut and not how the part sits: what they cost is told in words."""
KEYS = (
    "kind", "turn", "fixed_jaw_datum", "stop", "shift", "vise", "blank", "jaw_material", "grip_depth",
    *CUT_ONLY,
)  # fmt: skip
FREE = HoldAsk()


def costs(
    job: Job, shop: Shop, *, part: Part, ask: Ask, found: Sequence[Candidate], chosen: Candidate | None
) -> tuple[Pinned, ...]:
    """Every pin of ``[hold]`` with what the search would choose without it, the other pins kept.

    ``found`` are the candidates with all pins, ``chosen`` the one that was taken (None: none holds).
    Compared are the scores and figures of the quick proofs; the free choice is not proven in full.
    """
    best = chosen or next(iter(choose.ranked(found)), None)
    out = []
    for key in KEYS:
        if getattr(job.hold, key) == getattr(FREE, key):
            continue
        free_job = replace(job, hold=replace(job.hold, **{key: getattr(FREE, key)}))
        if key in CUT_ONLY and best is not None and best.draft is None:
            continue  # nothing is cut
        free = _best_free(key, free_job, job, shop, part=part, ask=ask, best=best)
        if free is not None:
            out.append(_pinned(key, job, best, free))
    return tuple(out)


def _best_free(
    key: str, free: Job, job: Job, shop: Shop, *, part: Part, ask: Ask, best: Candidate | None
) -> Candidate | None:
    """The best living stance with one pin let go; None when letting go gives nothing to compare."""
    try:
        vises = trial.vises(part, free, shop)
    except JawrightError:
        return None
    if key == "vise":
        vises = [v for v in vises if v.id != job.hold.vise]
        if not vises:
            return None
    if key in SEARCHED or best is None:
        others = trial.candidates(part, free, shop, ask, vises)
    else:
        others = _at_turn(best, free, shop, vises, part=part, ask=ask)
    return next(iter(choose.ranked(others)), None)


def _at_turn(
    best: Candidate, job: Job, shop: Shop, vises: Sequence[Vise], *, part: Part, ask: Ask
) -> list[Candidate]:
    try:
        seen = view(part, job, ask, best.up)
    except JawrightError:
        return []
    turn = Turn(best.turn, best.why_tried, best.rank_hint)
    one = tries.hard if best.kind == "hard jaws" else tries.soft
    return tries.together([one(seen, turn, v, part=part, job=job, shop=shop, ask=ask) for v in vises])


def _pinned(key: str, job: Job, best: Candidate | None, free: Candidate) -> Pinned:
    value = _value(key, job.hold, job)
    other = _choice(key, free, job)
    with_it = None if best is None else choose.score(best)
    without = choose.score(free)
    words = {
        "kind": "jaws",
        "fixed_jaw_datum": "datum on the fixed jaw",
        "jaw_material": "jaw material",
        "grip_depth": "grip depth",
        "spacer_height": "height of the spacers",
        "jaw_cutter": "cutter of the jaws",
    }.get(key, key)
    if with_it is None or best is None:
        said = f"With the {words} pinned to {value} nothing holds; free it would be {other}."
    elif without <= with_it + SAME and not (worse := _cut_worse(key, best, free, job)):
        said = f"The {words} pinned to {value} costs {_only_money(best, free)} the free choice ({other})."
    elif without <= with_it + SAME:
        said = f"The {words} pinned to {value} instead of {other} costs this: {worse}."
    else:
        said = f"The {words} pinned to {value} instead of {other} costs {without - with_it:.1f} points"
        said += f": {'; '.join(_differences(best, free))}."
    return Pinned(f"hold.{key}", value, other, with_it, without, said)


def _value(key: str, hold: HoldAsk, job: Job) -> str:
    v = getattr(hold, key)
    if key == "turn":
        return show(v, "angle", digits=1)
    if key in ("shift", "grip_depth", "spacer_height"):
        return show(v, "length", job.units, digits=1 if job.units == "mm" else 3)
    return ", ".join(v) if isinstance(v, tuple) else str(v)


def _choice(key: str, c: Candidate, job: Job) -> str:
    """What a free choice takes in the place of a pin."""
    assert c.hold is not None
    small = 1 if job.units == "mm" else 3
    if key == "kind":
        return c.kind
    if key == "turn":
        return f"{show(c.turn, 'angle', digits=1)} ({c.why_tried})"
    if key == "shift":
        return show(c.shift, "length", job.units, digits=small)
    if key == "grip_depth":
        return show(c.hold.grip_depth, "length", job.units, digits=small)
    if key == "vise":
        return c.hold.vise.id
    if key == "jaw_material":
        return c.draft.place.blank.material if c.draft else "none"
    if key == "blank":
        return c.draft.place.blank.id if c.draft else "none"
    if key == "spacer_height":
        return show(c.draft.place.stack.height, "length", job.units, digits=small) if c.draft else "none"
    if key == "spacers":
        return ", ".join(_in_stack(c)) or "none"
    if key == "jaw_cutter":
        return c.draft.cutter.id if c.draft else "none"
    if key == "fixed_jaw_datum":
        on = [d.letter for d in c.hold.datums if d.seat == "fixed"]
        return f"datum {', '.join(on)}" if on else "no datum"
    return ("-X" if c.hold.stop[0] < _middle(c) else "+X") if c.hold.stop else "no stop"


def _in_stack(c: Candidate) -> list[str]:
    stack = c.draft.place.stack if c.draft else None
    return sorted({p.id for p in (*stack.spacers, *stack.risers)}) if stack else []


def _cut_worse(key: str, best: Candidate, free: Candidate, job: Job) -> str:
    """What a pin of the cutting of the jaws makes worse, in words; "" where nothing is."""
    if key not in CUT_ONLY or best.draft is None or free.draft is None:
        return ""
    small = 1 if job.units == "mm" else 3
    if key == "jaw_cutter":
        more = best.draft.cutter.diameter - free.draft.cutter.diameter
        told = show(abs(more), "length", job.units, digits=small + 1)
        if more > 1e-6:
            return f"a cutter {told} thicker, so the reliefs take more of the walls beside each corner"
        return f"a cutter {told} thinner, which takes longer and bends more" if more < -1e-6 else ""
    off = [
        abs(d.place.stack.height - (d.place.floor + d.hold.grip_depth / 2)) for d in (best.draft, free.draft)
    ]
    if off[0] <= off[1] + 0.05:
        return ""
    far, near = (show(o, "length", job.units, digits=small) for o in off)
    return f"the spacers press {far} from the middle of the grip instead of {near}, and the walls taper more"


def _middle(c: Candidate) -> float:
    assert c.hold is not None
    x0, _, x1, _ = c.hold.outline.outer.box
    return (x0 + x1) / 2


def _differences(best: Candidate, free: Candidate) -> list[str]:
    """What is worse with the pin, in figures of the quick proofs."""
    assert best.hold is not None and free.hold is not None
    out = []
    a, b = best.predicted, free.predicted
    if a is not None and b is not None and b > a + 5e-4:
        out.append(f"{a:.1%} good parts against {b:.1%}")
    if best.margin is not None and free.margin is not None and free.margin > best.margin + 0.005:
        out.append(f"grip factor {best.margin:.2f} against {free.margin:.2f}")
    for d, e in zip(best.hold.datums, free.hold.datums, strict=True):
        if d.seat != e.seat:
            out.append(f"datum {d.letter} {_seat(d.seat)} and not {_seat(e.seat)}")
    if best.kind != free.kind:
        out.append(f"{best.kind} and not {free.kind}")
    if best.money is not None and free.money is not None and best.money > free.money + 0.5:
        out.append(f"{best.money - free.money:.0f} more for the lot")
    short, long = choose.seat_share(best.hold), choose.seat_share(free.hold)
    if long > short + 0.01 and not math.isclose(short, long):
        out.append(f"a seat over {short:.0%} of the part's length against {long:.0%}")
    if choose.flat_seat(free.hold) and not choose.flat_seat(best.hold):
        out.append("no flat seat on the fixed jaw")
    return out or ["a little worse in every figure"]


def _only_money(best: Candidate, free: Candidate) -> str:
    """What a pin costs that makes no figure worse."""
    if best.money is None or free.money is None or best.money <= free.money + 0.5:
        return "nothing against"
    more = best.money - free.money
    return f"{more:.0f} more for the lot, the cutting of the jaws not counted, and nothing else against"


def _seat(seat: str) -> str:
    return {"floor": "on the floor", "fixed": "on the fixed jaw", "stop": "on the stop",
            "floating": "on the floating jaw"}.get(seat, "free")  # fmt: skip

"""Planning a new pocket in a pair that exists: its free side, its old pocket taken away, or its top faced."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from jawright import trial
from jawright.errors import JawrightError
from jawright.hold.view import GRIP_LEAST
from jawright.jaws.kept import Kept
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.rack import recut, stock
from jawright.rack.anew import Anew
from jawright.rack.model import Pair
from jawright.record import Record
from jawright.shop.model import Shop

Way = Literal["flip", "re-cut", "face"]


def as_shop(pair: Pair, way: Way, job: Job, shop: Shop) -> tuple[Job, Shop]:
    """The job and the shop for a plan in this pair's metal: its blank is the only one.

    Raises ``rack-state`` when the pair is out, dead, or does not allow the way.
    """
    _usable(pair)
    height, words = pair.height, f"flip pair {pair.id} and cut its {pair.free_side} side"
    if way == "flip" and pair.free_side is None:
        raise _no(pair, "it has no free side", "cut it anew (--way re-cut or face)")
    if way != "flip" and not pair.cuts:
        raise _no(pair, "nothing is cut in it yet", "say --way flip to cut its first side")
    if way == "re-cut":
        words = f"pair {pair.id} is cut anew at the height it has"
    elif way == "face":
        height = recut.faced(pair, recut.deepest(pair))
        words = f"face pair {pair.id} to {height:.2f} mm before its pocket is cut"
    ask = replace(job.hold, kind="soft jaws", blank="", vise=pair.vise or job.hold.vise)
    blank = recut.as_blank(pair, height)
    return replace(job, hold=ask, notes=(*job.notes, words)), replace(shop, blanks=(blank,))


def as_it_is(pair: Pair, job: Job) -> Job:
    """The job for a plan in this pair as it is: what it pins about blank and grip gives way to the pair's.

    Raises ``rack-state`` when the pair is out, dead, or nothing is cut in it.
    """
    _usable(pair)
    if not pair.cuts:
        raise _no(pair, "nothing is cut in it yet", "say --way flip to cut its first side")
    return replace(job, hold=replace(job.hold, kind="soft jaws", blank="", grip_depth=None))


def fits(pair: Pair, kept: Sequence[Kept], job: Job, shop: Shop) -> None:
    """See that the part is held in the pair as it is, before anything is proven. Raises ``rack-state``."""
    t = stock.task(job, shop)
    tried = trial.kept(kept, t.part, t.job, t.shop, t.ask)
    if all(c.lost for c in tried):
        why = tried[0].lost.removeprefix(f"pair {pair.id}: ")
        raise _no(pair, why, 'see what else serves: "jawright rack find"')


def used(record: Record, pair: Pair) -> None:
    """See that the plan uses the pair that was asked for. Raises ``rack-state`` with the reason if not."""
    if record.reuse is not None and record.reuse.pair == pair.id:
        return
    tried = [a for a in record.attempts if pair.id in a.words and a.open]
    why = tried[0].open[0] if tried else "other jaws hold better"
    raise _no(
        pair, f"it does not hold the part as it is: {why}", 'see what else serves: "jawright rack find"'
    )


def early(pair: Pair, way: Way, job: Job, shop: Shop) -> Job:
    """See, before anything is proven, that some pocket goes with what is cut in the pair already.

    ``job`` and ``shop`` are those of ``as_shop``. Where the best stance's pocket does not, but another's
    does, the job comes back with that stance pinned and a note that says why. Raises ``rack-state``.
    """
    blank = shop.blanks[0]
    t = stock.task(job, shop)
    vise = t.vise_of(pair.vise)
    if vise is None:
        raise _no(pair, f"it belongs to vise {pair.vise}", "take another")
    if way == "face" and (why := recut.bars_facing(pair, vise, job.hold.grip_depth or GRIP_LEAST)):
        raise _no(pair, why, "take another")
    got = Anew(t).first(blank, vise, lambda jaws: _bar(jaws, pair, way))
    if isinstance(got, str):
        todo = "face it first (--way face), or take another" if way == "re-cut" else "take another"
        raise _no(pair, got, todo)
    made, passed = got
    if not passed or job.hold.turn is not None:
        return job
    stance = made.hold.stance
    note = f"the part's turn is pinned to {math.degrees(stance.turn):.1f}°: in a better one {_against(way)}"
    return replace(job, up=stance.up, hold=replace(job.hold, turn=stance.turn), notes=(*job.notes, note))


def check(record: Record, pair: Pair, way: Way) -> None:
    """See that the planned pocket goes with what is cut in the pair already, before anything is written.

    Raises ``rack-state`` when too little metal stays to the other side's pocket, or the old one would show.
    """
    if record.jaws is not None and (why := _bar(record.jaws, pair, way)):
        raise _no(
            pair, why, "face it first (--way face), or take another" if way == "re-cut" else "take another"
        )


def _bar(jaws: Jaws, pair: Pair, way: Way) -> str:
    if way == "flip":
        return recut.bars_free_side(jaws, pair)
    return recut.bars_recut(jaws, pair) if way == "re-cut" else ""


def _against(way: Way) -> str:
    return (
        "the old pocket would show" if way == "re-cut" else "too little metal would be left to the other side"
    )


def _usable(pair: Pair) -> None:
    if pair.status == "dead":
        raise _no(pair, f"it is dead: {pair.why or 'no reason given'}", "take another")
    if pair.out_to:
        raise _no(pair, f"it is out since {pair.out_since}, to {pair.out_to}", "check it in first")


def _no(pair: Pair, what: str, todo: str) -> JawrightError:
    return JawrightError("rack-state", what=f"{pair.id}: {what}", where="--pair", todo=todo)

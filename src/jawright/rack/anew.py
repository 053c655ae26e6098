"""A new pocket in the metal of a pair that exists: the best stance that what is cut in it allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from jawright.errors import JawrightError
from jawright.hold.view import View
from jawright.jaws import soft
from jawright.jaws.design import Pair as Designed
from jawright.jaws.model import Jaws
from jawright.proof.everything import quick
from jawright.proof.keys import designed
from jawright.rack.stock import Task
from jawright.shop.model import Blank, Shop, Vise

TURNS = 3
"""Stances designed in a pair's metal before it is given up: the best by the quick figures."""

Look = Callable[[Jaws], str]
"""What stands against a pocket in a pair that has others already; "" when nothing does."""

Ranked = tuple[soft.Draft, View, float]


@dataclass(slots=True)
class Anew:
    """Designs for one job, each made once and shared by all pairs of the same metal."""

    task: Task
    _drafts: dict[tuple[Blank, str], list[Ranked]] = field(default_factory=dict)
    _designs: dict[tuple[Blank, str, int], Designed | str] = field(default_factory=dict)

    def first(self, blank: Blank, vise: Vise, look: Look) -> tuple[Designed, int] | str:
        """The best pocket that ``look`` lets pass, and how many better ones it did not; else why none.

        The reason is that of the best stance that could be cut at all.
        """
        alike = replace(blank, id="", pair="")
        ranked = self._ranked(alike, vise)
        barred, uncut = "", ""
        for k in range(min(TURNS, len(ranked))):
            made = self._designed(alike, vise, k)
            if isinstance(made, str):
                uncut = uncut or made
                continue
            why = look(made.jaws)
            if not why:
                return _in(made, blank), k
            barred = barred or why
        return barred or uncut or "no stance of the part fits its blank"

    def _ranked(self, alike: Blank, vise: Vise) -> list[Ranked]:
        key = (alike, vise.id)
        if key not in self._drafts:
            self._drafts[key] = drafts(self.task, replace(self.task.shop, blanks=(alike,)), vise)
        return self._drafts[key]

    def _designed(self, alike: Blank, vise: Vise, k: int) -> Designed | str:
        key = (alike, vise.id, k)
        if key not in self._designs:
            draft, seen, _ = self._ranked(alike, vise)[k]
            t = self.task
            shop = replace(t.shop, blanks=(alike,))
            job = replace(t.job, hold=replace(t.job.hold, blank=""))
            try:
                self._designs[key] = designed(draft, seen, part=t.part, job=job, shop=shop, vise=vise)
            except JawrightError as error:
                if error.code not in ("hold-none", "geometry"):
                    raise
                self._designs[key] = error.what
        return self._designs[key]


def drafts(t: Task, shop: Shop, vise: Vise) -> list[Ranked]:
    """Stances that go in the shop's blanks, the best by the quick figures first."""
    job = replace(t.job, hold=replace(t.job.hold, blank=""))
    out = []
    for v, turns in t.views:
        for turn in turns:
            got = soft.draft(v, turn, ask=t.ask, part=t.part, job=job, shop=shop, vise=vise)
            if isinstance(got, soft.Draft):
                good, grip, _ = quick(got.hold, None, job, shop)
                out.append((got, v, 10 * (good or 0.0) + min(grip or 0.0, 2.0)))
    return sorted(out, key=lambda r: -r[2])


def _in(made: Designed, blank: Blank) -> Designed:
    """The design in the metal of one pair, under its name."""
    a, b = (
        replace(j, blank=replace(j.blank, id=blank.id, pair=blank.pair))
        for j in (made.jaws.fixed, made.jaws.floating)
    )
    return replace(made, jaws=replace(made.jaws, fixed=a, floating=b))

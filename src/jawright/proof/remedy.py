"""What would open an empty torque window, each change worked out by itself: how much of it is enough."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from jawright import handbook
from jawright.hold.model import Hold, MadeFeature
from jawright.hold.view import ABOVE
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.proof import clamp, pressure
from jawright.proof.body import jaw_material, part_material
from jawright.proof.window import Study
from jawright.shop.model import Shop
from jawright.units import show

STEPS = 24
MOST_MORE = 8.0
"""Contact more than that many times as large is no advice."""
SPRING = "spring of "
LOAD_SHARE = "share of the load of"
"""How the number that says how much lighter a cut has to be begins."""
LEAST_LOAD = 0.05
"""Nor is a cut with less than this share of its load."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that alone opens the window: in words, and its number with a name and a unit."""

    words: str
    name: str
    value: float
    unit: str


def remedies(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop, s: Study) -> tuple[Remedy, ...]:
    """Changes each of which alone opens the window of ``s``, the cheapest first; () when it is open.

    The clamp force a load needs is in proportion to the load, and the force a wall takes to its length and
    depth, so each is found by dividing, or by halving where parts share the force.
    """
    if s.cases is None or s.least is None or s.most is None or s.least <= s.most:
        return ()
    found = [
        _match(hold, job, s),
        _lighter(hold, job, s),
        _metal(hold, jaws, job, shop, s),
        *_contact(hold, jaws, job, s),
        _before(s),
    ]
    return tuple(r for r in found if r is not None)


def _torque_for(hold: Hold, s: Study, need: float) -> float:
    return clamp.torque_for_at_least(hold.vise, s.row.total_for_at_least(need))


def _lighter(hold: Hold, job: Job, s: Study) -> Remedy | None:
    """The share of the load of the cuts that ask too much, and what feed or depth that is."""
    assert s.cases is not None and s.most is not None
    most = s.most
    heavy = [c for c in s.cases if not _torque_for(hold, s, c.need) <= most]
    worst = max(s.cases, key=lambda c: (c.need, c.feature.name))
    if math.isinf(worst.need):
        return None
    share = _largest(lambda k: _torque_for(hold, s, k * worst.need) <= most)
    if share is None or share < LEAST_LOAD:
        return None
    names = " and ".join(c.feature.name for c in heavy[:2]) + (" and others" if len(heavy) > 2 else "")
    return Remedy(
        f"cut {names} with {share:.0%} of the load ({_cut_words(worst.feature, share, job)})",
        f"{LOAD_SHARE} {worst.feature.name} that would do",
        share,
        "",
    )


def _cut_words(f: MadeFeature, share: float, job: Job) -> str:
    """What brings a load down to ``share``: feed by Kienzle's power of the chip, else depth in proportion."""
    work = part_material(job.material)
    if f.kind in ("drill", "bore", "ream") and work is not None and work.mc is not None:
        feed = f.feed_per_tooth * share ** (1 / (1 - work.mc))
        return f"feed {show(feed, 'length', job.units)} an edge, or a pilot hole"
    return f"{show(share * f.axial, 'length', job.units, digits=2)} deep instead of " + show(
        f.axial, "length", job.units, digits=2
    )


def _bruise_force(hold: Hold, jaws: Jaws | None, job: Job, s: Study) -> float:
    """Clamp force on a part at which a wall bruises [N]."""
    if s.walls is None:
        return math.inf
    got = pressure.worst_pressure(
        s.walls, hold=hold, jaws=jaws, material=job.material, force=1.0, share=1.0, marks=job.marks_allowed
    )
    return math.inf if got is None or got.use <= 0 else 1.0 / got.use


def _metal(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop, s: Study) -> Remedy | None:
    """Jaws of a harder metal the shop has blanks of, where the jaw is what bruises."""
    if jaws is None or not _alone(s, "bruising") or s.least is None:
        return None
    now = jaw_material(jaws)
    names = {
        b.material for b in shop.blanks if handbook.material(b.material).bruise_stress > now.bruise_stress
    }
    for name in sorted(names, key=lambda n: handbook.material(n).bruise_stress):
        harder = replace(
            jaws,
            fixed=replace(jaws.fixed, blank=replace(jaws.fixed.blank, material=name)),
            floating=replace(jaws.floating, blank=replace(jaws.floating.blank, material=name)),
        )
        force = _bruise_force(hold, harder, job, s)
        torque = min(
            clamp.torque_for_at_most(hold.vise, s.row.total_for_at_most(force)), clamp.torque_limit(hold.vise)
        )
        if torque >= s.least:
            said, unit = clamp.said(hold.vise, torque, job.units), clamp.unit(hold.vise)
            return Remedy(
                f"cut the jaws in {name}: they take {said}", f"most before harm, {name} jaws", torque, unit
            )
    return None


def _alone(s: Study, kind: str) -> bool:
    """Whether only what is called ``kind`` keeps the window shut."""
    assert s.least is not None
    return kind in s.most_why and all(t >= s.least for t, why in s.ends if kind not in why)


def _contact(hold: Hold, jaws: Jaws | None, job: Job, s: Study) -> list[Remedy]:
    """How much deeper, or over how much more wall, the part must be gripped where pressure is the limit."""
    if not _alone(s, "bruising") or s.walls is None:
        return []
    force, least = _bruise_force(hold, jaws, job, s), s.least
    assert least is not None

    def enough(k: float) -> bool:
        most = s.row.total_for_at_most(force / k)  # k is the share of the grip there is of what is asked
        return clamp.torque_for_at_most(hold.vise, most) >= least

    share = _largest(enough)
    if share is None or share * MOST_MORE < 1:
        return []
    depth = hold.grip_depth / share
    room = hold.part_top - hold.floor - ABOVE
    name = s.most_why.removeprefix("bruising at ")
    wall = next((w.contact.share for w in s.walls if w.contact.name == name), 0.0)
    out = []
    if depth <= room and not any(c.lean for c in hold.contacts):
        out.append(
            Remedy(
                f"grip {show(depth, 'length', job.units, digits=1)} deep",
                "grip depth that would do",
                depth,
                "mm",
            )
        )
    out.append(
        Remedy(
            f"touch {show(wall / share, 'length', job.units, digits=1)} of wall at {name} instead of "
            f"{show(wall, 'length', job.units, digits=1)}",
            f"wall length at {name} that would do", wall / share, "mm",
        )
    )  # fmt: skip
    return out


def _match(hold: Hold, job: Job, s: Study) -> Remedy | None:
    """Parts in a row: how well those of a load must match."""
    assert s.cases is not None and s.most is not None
    if not hold.beside:
        return None
    need = max(c.need for c in s.cases)
    total = clamp.clamp_force(hold.vise, s.most)
    if total is None or not math.isfinite(need):
        return None
    force = total.low * s.row.vises
    within = s.row.match(force, need / force) if need < force else 0.0
    if within <= 0:
        return Remedy(
            "hold fewer parts at a time", "parts at a time that would do", float(_fewer(s, force, need)), ""
        )
    return Remedy(
        f"match the parts of each load within ± {show(within, 'length', job.units)} across the jaws",
        "matched within, ±", within, "mm",
    )  # fmt: skip


def _fewer(s: Study, force: float, need: float) -> int:
    """The most parts whose even share is enough."""
    return max(1, min(s.row.parts - 1, int(force / need)))


def _before(s: Study) -> Remedy | None:
    if not _alone(s, s.most_why) or not s.most_why.startswith(SPRING):
        return None
    name = s.most_why.removeprefix(SPRING)
    return Remedy(f"finish {name} before this operation", f"spring of {name} left then", 0.0, "mm")


def _largest(good: Callable[[float], bool]) -> float | None:
    """Largest share in 0..1 that is good, none where a hundredth is not; larger is never better."""
    low, high = 0.01, 1.0
    if not good(low):
        return None
    for _ in range(STEPS):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if good(middle) else (low, middle)
        if high / low < 1.002:
            break
    return low

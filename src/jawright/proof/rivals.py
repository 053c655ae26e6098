"""The same parts held or made another way: what each would do to the yield, and by how much size enters.

Every way shares the draws of its sources, so that differences between ways are not luck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Arc, Point, right_normal
from jawright.hold.model import Contact, Hold
from jawright.job.model import Job
from jawright.job.pinned import another_turn
from jawright.proof.population import FEW, Population, Scene, otherwise, salt_of, scene
from jawright.proof.samples import roomy
from jawright.proof.sources import Level, Source, deviating
from jawright.shop.model import Shop

Floats = NDArray[np.float64]

HELD = "as held"
EYE = 0.25
"""Without a stop a part is set to a line by eye: ± this much [mm] (common practice, no source)."""
BY_EYE = "without a stop the part is set to a line by eye; common practice, no source"
SQUARE = 0.9  # least cosine between a wall and the push for a stop to stand there


@dataclass(frozen=True)
class Way:
    """One way: what it is called, what to do to get it, and its parts seated. ``stance`` is False for
    another cut or another day in the same hold. ``against`` tells where the clamped part stands still, as in
    ``Gives``. ``basis`` is what else this way takes for granted."""

    words: str
    todo: str
    parts: Population
    stance: bool = True
    against: float = 0.0
    basis: str = ""


def ways(hold: Hold, job: Job, shop: Shop, now: Population) -> dict[str, Way]:
    """Every rival of a hold by its words, over the first ``FEW`` parts of ``now`` (the set level)."""
    few = now.sample[:FEW]
    s = now.scene
    turned = another_turn(job, "turn it round so that the datum is on the fixed jaw")
    out = [
        replace(_seated("located on the floating jaw", turned, other_jaw(s), few), against=1.0),
        replace(_seated("self-centering", "use a self-centering vise", centered(s), few), against=0.5),
    ]
    moved = other_stop(hold)
    if moved is not None:
        t = scene(moved, job, shop)
        out.append(
            _seated("stopped at the other end", "put the stop at the other end", t, _drawn_like(t, now, job))
        )
    loose = without_stop(s)
    if loose is not None:
        by_eye = loose.sources[-1].draw(len(few), salt_of(job))
        own = roomy(len(few), few.shape[1] + 1)  # the room in the drawn table is for the spring
        own[:, :-1], own[:, -1] = few, by_eye
        lined = _seated("without a stop", "leave the stop away", loose, own)
        out.append(replace(lined, basis=BY_EYE))
    for kinds, words in (
        ({"drill"}, "bored instead of drilled"),
        ({"bore", "ream"}, "drilled instead of bored"),
    ):
        made = _made_otherwise(hold, job, shop, now, kinds=kinds)
        if made is not None:
            out.append(Way(words, words, made, stance=False))
    edge = _other_pickup(hold, job, shop, now)
    if edge is not None:
        out.append(Way(edge[0], "pick it up at an edge", edge[1], stance=False))
    if hold.kind == "soft jaws" and not hold.reused:
        t = scene(replace(hold, reused=True), job, shop)
        again = _seated(
            "with the pair put back another day", "put the pair back", t, _drawn_like(t, now, job)
        )
        out.append(replace(again, stance=False))
    return {w.words: w for w in out if w.parts.seated.unsolved.mean() <= 0.5}


def _drawn_like(t: Scene, now: Population, job: Job) -> Floats:
    """The first ``FEW`` parts of ``now`` for another scene; a source it does not have is drawn."""
    had = {q: k for k, q in enumerate(now.scene.sources)}
    few = min(FEW, len(now.sample))
    out = roomy(few, len(t.sources))
    for k, q in enumerate(t.sources):
        out[:, k] = now.sample[:few, had[q]] if q in had else q.draw(few, salt_of(job))
    return out


def _seated(words: str, todo: str, s: Scene, sample: Floats) -> Way:
    return Way(words, todo, Population(s, sample, s.seated(sample)))


def other_jaw(s: Scene) -> Scene:
    """The rival in which the present floating jaw stands still and the fixed one closes."""
    ride = np.array([{"fixed": -1.0, "floating": 0.0}.get(c.on, 0.0) for c in s.contacts])
    return replace(s, ride=ride, yaw=0.0, side_play=0.0)


def centered(s: Scene) -> Scene:
    """The rival in which both jaws close alike."""
    ride = np.array([{"fixed": -0.5, "floating": 0.5}.get(c.on, 0.0) for c in s.contacts])
    return replace(s, ride=ride, yaw=0.0, side_play=0.0)


def without_stop(s: Scene) -> Scene | None:
    """The rival in which the part is set along the jaws by eye; None when nothing stops it now."""
    stops = [i for i, c in enumerate(s.contacts) if c.on == "stop"]
    if not stops:
        return None
    source = Source("by eye", "setting by eye", "uniform", EYE, BY_EYE)
    column = np.zeros((len(s.contacts), 1))
    column[stops] = -1.0
    return replace(s, sources=(*s.sources, source), effect=np.hstack([s.effect, column]))


def other_stop(hold: Hold) -> Hold | None:
    """The hold with its stop at the opposite end; None without a stop or without a wall there."""
    stops = [c for c in hold.contacts if c.on == "stop"]
    if not stops:
        return None
    old = stops[0]
    n = np.array(old.normal[:2]) / math.hypot(*old.normal[:2])
    spot = _facing(hold, (float(n[0]), float(n[1])))
    if spot is None:
        return None
    p, curve, out = spot
    c = hold.outline.outer.curves[curve]
    radius = (c.radius if c.ccw else -c.radius) if isinstance(c, Arc) else 0.0
    face = hold.face_of_curve[curve] if curve < len(hold.face_of_curve) else -1
    z = old.point[2]
    new = Contact("other stop", "stop", (*p, z), (-out[0], -out[1], 0.0), 0.0, old.share, face, True,
                  radius, radius)  # fmt: skip
    keep = tuple(c for c in hold.contacts if c.on != "stop")
    return replace(hold, contacts=(*keep, new), stop=new.point)


def _facing(hold: Hold, way: Point) -> tuple[Point, int, Point] | None:
    """The outline's farthest wall along ``way`` that faces it: (place, curve number, outward normal)."""
    best: tuple[float, Point, int, Point] | None = None
    for i, c in enumerate(hold.outline.outer.curves):
        if i in hold.bridges:
            continue
        for k in range(1, 16):
            n = right_normal(c, k / 16)
            if n[0] * way[0] + n[1] * way[1] < SQUARE:
                continue
            p = c.at(k / 16)
            far = p[0] * way[0] + p[1] * way[1] - 1e-6 * abs(k - 8)  # the middle of a straight wall
            if best is None or far > best[0]:
                best = (far, p, i, n)
    return None if best is None else best[1:]


def _made_otherwise(
    hold: Hold, job: Job, shop: Shop, now: Population, *, kinds: set[str], level: Level = "set"
) -> Population | None:
    """The same seating, holes of these kinds made the other way, drilled for bored or bored for drilled."""
    names = [f.name for f in hold.features if f.kind in kinds]
    if not names:
        return None
    bored = "drill" in kinds
    band = shop.bored_position if bored else shop.drilled_position
    label = "place of a bored hole" if bored else "wander of the drill"
    keys = {f"place {n} {axis}" for n in names for axis in "XY"}
    return _redrawn(now, {k: deviating(k, label, band, level) for k in keys}, salt_of(job))


def _other_pickup(hold: Hold, job: Job, shop: Shop, now: Population) -> tuple[str, Population] | None:
    """The same seating, the work offset picked up at an edge for in a bored hole, or the other way round."""
    here, there = (shop.bore_pickup, shop.edge_pickup) if hold.kind == "soft jaws" else (None, None)
    if here is None or there is None or here == there:
        return None
    new = {
        f"pickup {a}": deviating(f"pickup {a}", "work offset pick-up", there, "set", once=True) for a in "XY"
    }
    return "with the offset picked up at an edge", _redrawn(now, new, salt_of(job))


def _redrawn(now: Population, new: dict[str, Source], salt: str) -> Population:
    """The first ``FEW`` parts with some sources, by key, drawn anew."""
    few = min(FEW, len(now.sample))
    own = enumerate(now.scene.sources)
    return otherwise(now, {k: (new[q.key], new[q.key].draw(few, salt)) for k, q in own if q.key in new})

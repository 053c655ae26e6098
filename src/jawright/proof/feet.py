"""Is there something under every foot of a part that stands on several?

Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from jawright import kernel
from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.part.model import Part
from jawright.proof.judge import Basis, unknown
from jawright.proof.model import Proof
from jawright.proof.obstacles import floors
from jawright.proof.say import Say

LEVEL = 0.02
"""A foot that ends this far above the floor at the most stands on it [mm] (common practice, no source)."""
BEARS = 0.1
"""Share of a foot's sole that must lie on jaws or parallels (common practice, no source)."""
CHORD = 0.05
NAME = "floor under every foot"
MODEL, SOURCE = "feet-1", "plane geometry of soles and floors"


@dataclass(frozen=True, slots=True)
class Foot:
    """One foot: its middle in plan, the share of its sole that is carried, how far it ends above the floor.

    ``over`` names what is cut over it in this operation. A foot without a level face below has no sole:
    nothing of it is carried, and ``above`` is None. ``hangs``: it reaches below the floor, and clear of it.
    """

    at: tuple[float, float]
    carried: float
    above: float | None
    over: tuple[str, ...]
    hangs: bool = False

    @property
    def bears(self) -> float:
        """The share of its sole that bears: 0 where it ends above the floor."""
        return self.carried if self.above is not None and self.above <= LEVEL else 0.0

    @property
    def stands(self) -> bool:
        """Whether something is under it."""
        return self.bears >= BEARS


def feet(hold: Hold, jaws: Jaws | None, part: Part) -> list[Foot]:
    """Every foot of a hold, as its level faces lie over the floors of jaws or parallels."""
    under = shapely.union_all([o.area for o in floors(hold, jaws)])
    shapes = [to_polygon(r, CHORD) for r in hold.feet]
    soles: list[list[tuple[float, shapely.Geometry]]] = [[] for _ in shapes]
    for f in part.faces:
        if f.kind != "plane" or hold.stance.move.direction(f.normal)[2] > -0.9999:
            continue
        z = hold.stance.move.point(f.center)[2] - hold.floor
        for r in kernel.flat_face(part.shape, f.index, hold.stance.move).regions:
            sole = to_polygon(r, CHORD)
            for own, foot in zip(soles, shapes, strict=True):
                if sole.intersection(foot).area > 0.5 * min(sole.area, foot.area):
                    own.append((z, sole))
    return [_foot(hold, shape, own, under) for shape, own in zip(shapes, soles, strict=True)]


def _foot(
    hold: Hold, shape: shapely.Polygon, own: list[tuple[float, shapely.Geometry]], under: shapely.Geometry
) -> Foot:
    low = min((z for z, _ in own), default=None)
    sole = shapely.union_all([s for z, s in own if low is not None and z <= low + LEVEL])
    carried = sole.intersection(under).area / sole.area if sole.area > 0 else 0.0
    middle = shape.representative_point()
    hangs = any(not b.soles and to_polygon(b.region, CHORD).intersects(shape) for b in hold.below)
    over = [f.name for f in hold.features if _cut_over(f.path, shape)]
    return Foot((middle.x, middle.y), carried, low, tuple(over), hangs)


def _cut_over(path: tuple[tuple[float, float, float], ...], shape: shapely.Polygon) -> bool:
    return bool(shapely.MultiPoint([p[:2] for p in path]).convex_hull.intersects(shape))


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, say: Say) -> list[Proof]:
    """Whether the floor reaches under each of several feet; none for a part on one."""
    if len(hold.feet) < 2:
        return []
    if part is None or not part.shape:
        sentence = f"The part stands on {len(hold.feet)} feet; their soles are unknown without its solid."
        supply = ("the part as a solid (STEP)",)
        return [unknown("sits", NAME, sentence, unit="", supply=supply, basis=Basis(MODEL, SOURCE))]
    found = feet(hold, jaws, part)
    short = [f for f in found if not f.stands and _needs_none(f, hold, part)]
    loose = [f for f in found if not f.stands and f not in short]
    sentence = f"All {len(found)} feet stand on the floor."
    if short:
        sentence = " ".join(_no_need(f, say) for f in short[:3])
    if loose:
        sentence = " ".join(_words(f, jaws, say) for f in loose[:3])
        if len(loose) > 3:
            sentence += f" {len(loose) - 3} more feet have nothing under them either."
    standing = len(found) - len(loose)  # and those that need nothing under them
    shares = tuple((f"share of foot {k + 1} that is carried", f.bears, "") for k, f in enumerate(found))
    return [
        Proof(
            "sits", NAME, "caution" if loose else "pass", sentence, float(standing), "",
            limit=float(len(found)), margin=float(-len(loose)), low=float(standing), set=float(standing),
            high=float(len(found)),
            assumptions=(f"a foot stands where {BEARS:.0%} of its sole lies on a floor at its height "
                         "(common practice, no source)",),
            model=MODEL, source=SOURCE,
            where=(loose[0].at[0], loose[0].at[1], hold.floor) if loose else None,
            detail=shares,
        )
    ]  # fmt: skip


def _needs_none(f: Foot, hold: Hold, part: Part) -> bool:
    """Whether a foot needs nothing under it: it hangs clear, or the others carry and nothing is cut on it."""
    if f.hangs:
        return True
    if f.over or f.above is None or f.above <= LEVEL:
        return False
    carried = shapely.MultiPoint([c.point[:2] for c in hold.contacts if c.on == "floor"]).convex_hull
    x, y, _ = hold.stance.move.point(kernel.centroid(part.shape))
    return bool(carried.area > 0 and carried.contains(shapely.Point(x, y)))


def _no_need(f: Foot, say: Say) -> str:
    place = f"The foot at X {say.coarse(f.at[0])}, Y {say.coarse(f.at[1])}"
    if f.hangs or f.above is None:
        return f"{place} reaches below the floor and hangs clear: the others carry the part."
    return (
        f"{place} ends {say.near(f.above)} above the floor and needs none: the others carry the part, and "
        "nothing is cut over it."
    )


def _words(f: Foot, jaws: Jaws | None, say: Say) -> str:
    place = f"The foot at X {say.coarse(f.at[0])}, Y {say.coarse(f.at[1])}"
    cut = f" while {' and '.join(f.over[:2])} {'is' if len(f.over) == 1 else 'are'} cut over it" * bool(
        f.over
    )
    if f.above is None:
        return f"{place} has no level face below and bears nothing{cut}: lay something under it that fits."
    if f.above > LEVEL:
        how = f"ends {say.near(f.above)} above the floor"
        if jaws is None:
            return f"{place} {how}: lay a shim of that height under it{cut}."
        return (
            f'{place} {how}{cut}: [hold] floor = "two levels" has the jaws cut to carry it too, or lay a '
            "shim of that height under it."
        )
    gap = "gap between the jaws" if jaws is not None else "space between the parallels"
    fix = "a smaller gap, or a parallel laid under it" if jaws is not None else "a third parallel under it"
    return f"{place} stands over the {gap} and bears nothing{cut}: {fix} carries it."

"""What keeps a wrong way round out: metal left standing in the pocket, or a pin in the jaw.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from shapely.affinity import affine_transform, translate

from jawright.errors import JawrightError
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold
from jawright.hold.view import View
from jawright.jaws.design import Pair, design
from jawright.jaws.model import Jaws, Left
from jawright.jaws.pocket import AIR
from jawright.jaws.soft import Draft
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.say import Say
from jawright.proof.shutting import OPEN
from jawright.proof.wrongway import CHORD, SLACK, UNSEEN, WrongWay, allowed, find
from jawright.shop.model import Shop, Vise

WAY = 0.5  # [mm] between the places on the part's way home at which it is looked at
PIN_EDGE = 3.0  # [mm] from the edge of a jaw to the middle of a pin in it (common practice, no source)
STANDS = 3.0  # [mm] metal left standing is at least this wide, else it bends (common practice, no source)
PAST = 1.0  # [mm] the block reaches so far into the metal behind the wall
CHANNEL = 0.3  # [mm] and leaves the cutter its own width and this much round the part


def corner(hold: Hold, jaws: Jaws, *ways: WrongWay) -> Left | None:
    """Metal of the pocket that need not be cut for the right part and keeps all these wrong ways out.

    It lies over a jaw, as far from the right part, on its way home as well, as the pocket's cutter is wide.
    """
    room = 2 * jaws.cutter_radius + CHANNEL
    right = _on_its_way(to_polygon(hold.outline, CHORD), jaws.gap).buffer(room)
    far = 500.0
    over_gap = shapely.box(-far, -jaws.gap - SLACK, far, SLACK)
    spare = to_polygon(jaws.pocket, CHORD).difference(right).difference(over_gap)
    inside = shapely.intersection_all([spare, *(w.shape.buffer(-SLACK) for w in ways)])
    rounds = [shapely.maximum_inscribed_circle(p) for p in shapely.get_parts(inside) if p.area > 1e-6]
    if not rounds:
        return None
    best = max(rounds, key=lambda c: c.length)
    (x, y), *_ = best.coords
    at, radius = (float(x), float(y)), float(best.length)
    stays = to_wall(at, radius, jaws, right)
    if stays is None:
        return None  # a post by itself in the pocket is no corner
    left = Left(at, radius, stays)
    held = 2 * left.radius >= STANDS and all(blocks(jaws, w, left.at, radius=left.radius) for w in ways)
    return left if held else None


def to_wall(at: tuple[float, float], radius: float, jaws: Jaws, right: shapely.Geometry) -> Region | None:
    """The smallest block from a round to the pocket's wall, off the ``right`` part and the cutter round it.

    It is as wide as the round, a little less where that would not go. None where every way is shut.
    """
    (x, y), (x0, y0, x1, y1) = at, jaws.pocket.outer.box
    into = min(AIR / 2, jaws.gap / 4)
    fixed = y > 0.0
    for share in (1.0, 0.85, 0.7):
        h = share * radius
        low, high = (-into, y + h) if fixed else (y - h, -jaws.gap + into)  # to the jaw's face: no nick there
        back = (x - h, low, x + h, y1 + PAST) if fixed else (x - h, y0 - PAST, x + h, high)
        tried = [(x - h, low, x1 + PAST, high), (x0 - PAST, low, x + h, high), back]
        able = [b for b in tried if not shapely.box(*b).intersects(right)]
        if able:
            return Region(rectangle(*min(able, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))))
    return None


def designed(draft: Draft, view: View, *, part: Part, job: Job, shop: Shop, vise: Vise) -> Pair:
    """The pair of a draft, with a corner left standing where the job asks for one and one serves.

    Raises as ``jaws.design``.
    """
    pair = design(draft, view, part=part, job=job, shop=shop, vise=vise)
    if job.hold.wrong_way == "":
        return pair
    wrong = [w for w in find(pair.hold, pair.jaws, part) if not w.harmless]
    if not wrong:
        return pair
    left = corner(pair.hold, pair.jaws, *wrong) or corner(pair.hold, pair.jaws, *wrong[:2])
    left = left or corner(pair.hold, pair.jaws, wrong[0])
    say = Say(job.units)
    if left is None:
        return _noted(pair, "no corner of the pocket can be left standing against a wrong way round: the "
                      "cutter has no room")  # fmt: skip
    try:
        made = design(draft, view, part=part, job=job, shop=shop, vise=vise, left=left)
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry"):
            raise
        return _noted(pair, f"no corner is left standing against a wrong way round: {error.what}")
    still = [w for w in find(made.hold, made.jaws, part) if not w.harmless]
    shut = (
        "every wrong way round"
        if not still
        else f"{len(wrong) - len(still)} of {len(wrong)} wrong ways round"
    )
    said = (
        f"the corner of the pocket at {say.at(*left.at)} is left standing, {say.coarse(2 * left.radius)} "
        f"across: it shuts {shut}; do not clear it away as leftover metal"
    )
    return _noted(made, said)


def _noted(pair: Pair, said: str) -> Pair:
    return replace(pair, jaws=replace(pair.jaws, notes=(*pair.jaws.notes, said)))


def blocker(hold: Hold, *ways: WrongWay, gap: float | None = None) -> tuple[float, float] | None:
    """A plan point [mm] where one pin stops all these wrong ways only; None when there is none.

    The pin's middle lies at least 1.5 mm outside the right part and 1 mm inside each wrong one, and
    over a jaw: not over the ``gap`` [mm] between them, where that is given. The right part is let in with
    the jaw ``OPEN``, up to that far off either jaw: it clears the pin there as well, and on its way home.
    """
    right = _on_its_way(to_polygon(hold.outline, CHORD), hold.gap if gap is None else gap)
    inside = shapely.intersection_all([w.shape.buffer(-1.0) for w in ways])
    inside = inside.difference(right.buffer(1.5))
    if gap is not None:
        far = 500.0
        inside = inside.difference(shapely.box(-far, -gap - PIN_EDGE, far, PIN_EDGE))
    parts = [p for p in shapely.get_parts(inside) if p.area > 1e-6]
    if not parts:
        return None
    p = max(parts, key=lambda q: q.area).representative_point()
    return (float(p.x), float(p.y))


def _on_its_way(part: shapely.Polygon, gap: float) -> shapely.Geometry:
    """What the part covers on its way home, as seen from the jaw under each place."""
    far, n = 500.0, math.ceil(OPEN / WAY)
    out = [part]
    for sign, low, high in ((-1.0, -gap / 2, far), (1.0, -far, -gap / 2)):
        swept = shapely.union_all([translate(part, 0.0, sign * OPEN * k / n) for k in range(n + 1)])
        out.append(swept.intersection(shapely.box(-far, low, far, high)))
    return shapely.union_all(out)


def blocks(jaws: Jaws, way: WrongWay, pin: tuple[float, float], *, radius: float) -> bool:
    """Whether a round pin in the jaw keeps a wrong way out, however it is shifted in the pocket's air.

    To get clear of a pin in its metal the part has to move by the pin's depth in it and its radius; it is
    tried so far in sixteen directions.
    """
    metal = way.shape.intersection(shapely.Point(pin).buffer(radius))
    if metal.area < SLACK * radius:
        return False
    off = float(shapely.Point(pin).distance(way.shape.exterior)) + radius
    space = allowed(jaws, further=UNSEEN).buffer(SLACK)
    ways = [2 * math.pi * k / 16 for k in range(16)]
    return not any(
        space.contains(affine_transform(way.shape, [1, 0, 0, 1, off * math.cos(a), off * math.sin(a)]))
        for a in ways
    )

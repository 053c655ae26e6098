"""What the design wants gone and what it allows to go, as upright prisms. Vise frame, mm."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import shapely
from shapely.geometry.base import BaseGeometry

from jawright.geometry.curve import Curve, Line, Point, right_normal
from jawright.geometry.profile import Profile, Region
from jawright.jaws.model import Jaws, Zone
from jawright.shop.model import Shop
from jawright.verify.sweep import arc_points, disc, polygons
from jawright.verify.tool import Body, body
from jawright.verify.words import LIMITS

_SEATS = ("locate", "grip", "stop")


@dataclass(frozen=True, slots=True)
class Prism:
    """Metal over ``plan`` between two heights. ``must``: it has to go; else it may.

    With ``corner`` above 0 what has to go is smaller near the bottom: a cutter's corner leaves a fillet.
    With ``widen`` above 0 it is the 45° band round the plan's upper edge: at height z the plan
    grows by ``widen - (top - z)`` where that is positive.
    """

    name: str
    plan: BaseGeometry
    bottom: float
    top: float
    must: bool
    widen: float = 0.0
    corner: float = 0.0  # radius of the fillet that may stay along its bottom edge [mm]

    def at(self, z: float) -> BaseGeometry | None:
        """Plan at height ``z``; None outside the prism."""
        if not self.bottom < z < self.top:
            return None
        extra = self.widen - (self.top - z)
        if self.widen > 0.0:
            return shapely.buffer(self.plan, extra, quad_segs=64) if extra > 0.0 else None
        return self.plan


@dataclass(frozen=True, slots=True)
class Design:
    """All prisms of a pair, and the walls that seat the part."""

    prisms: tuple[Prism, ...]
    floor: float
    top: float
    finisher: Body | None  # cutter that leaves the pocket's floor corner
    seats: BaseGeometry  # walls that locate, grip or stop, as lines
    pocket: BaseGeometry
    opened: BaseGeometry  # pocket with its corner reliefs
    zones: tuple[Zone, ...]
    heights: tuple[float, ...] = field(default=())

    def key(self, z: float, *, must: bool = False) -> tuple[int, ...] | None:
        """Same key, same ``must`` and ``allowed``; None where the plan changes with every height.

        With ``must`` it speaks for ``must`` alone.
        """
        inside = [n for n, p in enumerate(self.prisms) if p.bottom < z < p.top and (p.must or not must)]
        f = self.finisher
        rounded = [p for p in (self.prisms[n] for n in inside) if z - p.bottom < p.corner]
        if (
            rounded
            or any(self.prisms[n].widen > 0.0 for n in inside)
            or (f and 0.0 < z - self.floor < f.full)
        ):
            return None
        return tuple(inside)

    def must(self, z: float) -> BaseGeometry:
        """What has to be gone at height ``z``; the pocket less the fillet its finishing cutter leaves."""
        out = []
        for p in self.prisms:
            plan = p.at(z) if p.must else None
            if plan is None:
                continue
            f = self.finisher
            if f is not None and p.name in ("pocket", "relief") and z - self.floor < f.full:
                plan = shapely.buffer(plan, -(f.radius - f.at(z - self.floor)), quad_segs=64)
            h = z - p.bottom
            if h < p.corner:
                fillet = p.corner - math.sqrt(p.corner**2 - (p.corner - h) ** 2)
                plan = shapely.buffer(plan, -fillet, quad_segs=64)
            out.append(plan)
        return shapely.union_all(out) if out else shapely.Polygon()

    def upright(self, z: float) -> tuple[int, ...]:
        """The prisms at height ``z`` that do not widen upward."""
        return tuple(n for n, p in enumerate(self.prisms) if p.bottom < z < p.top and p.widen == 0.0)

    def allowed(self, z: float, *, upright: bool = False) -> BaseGeometry:
        """What may be gone at height ``z``; ``upright``: without what widens upward."""
        kept = [p for p in self.prisms if not (upright and p.widen > 0.0)]
        plans = [q for p in kept if (q := p.at(z)) is not None]
        return shapely.union_all(plans) if plans else shapely.Polygon()


def ring(profile: Profile) -> list[Point]:
    """Corners of a profile with arcs within the chord limit."""
    out: list[Point] = []
    for c in profile.curves:
        if isinstance(c, Line):
            out.append(c.start)
        else:
            a = c.start_angle
            pts = arc_points(c.center, c.radius, a, a + c.sweep)
            out.append(c.start)
            out.extend((float(x), float(y)) for x, y in pts[1:-1])
    return out


def plan(region: Region) -> BaseGeometry:
    """Polygon of a region with holes."""
    shape: BaseGeometry = shapely.Polygon(ring(region.outer), [ring(h) for h in region.holes])
    return shape if shape.is_valid else shapely.make_valid(shape)


def _round(center: Point, radius: float) -> BaseGeometry:
    shape: BaseGeometry = polygons([disc(center, radius)])[0]
    return shape


def shifted(curve: Curve, allowance: float) -> list[Point]:
    """Points of the wall that faces a part curve at the zone's allowance [mm]."""
    n = 2 if isinstance(curve, Line) else max(8, math.ceil(curve.length / 0.05))
    out = []
    for k in range(n + 1):
        t = k / n
        x, y = curve.at(t)
        nx, ny = right_normal(curve, t)
        out.append((x + allowance * nx, y + allowance * ny))
    return out


def design(jaws: Jaws, shop: Shop) -> Design:
    """The design of a pair, ready to be compared with what a program leaves."""
    limits = LIMITS["allowed"]
    pocket = plan(jaws.pocket)
    high = max(jaws.top, jaws.fixed.height, jaws.floating.height) + 1.0
    prisms = [Prism("pocket", pocket, jaws.floor, high, True)]
    for r in jaws.reliefs:
        prisms.append(Prism("relief", _round(r.center, r.radius), jaws.floor, high, True))
    for w in jaws.wells:
        prisms.append(Prism(w.purpose, plan(w.region), w.bottom, w.top, True, corner=w.corner))
    wide = jaws.edge_break + limits["edge_slack"]
    cut = shapely.union_all([p.plan for p in prisms if p.name in ("pocket", "relief")])
    prisms.append(Prism("edge break", cut, jaws.top - wide, jaws.top, False, wide))
    prisms += _hole(jaws)
    for text, at in zip(jaws.text, jaws.text_at, strict=True):
        if text:
            h = jaws.text_height
            box = shapely.box(
                at[0] - h / 4, at[1] - h / 4, at[0] + h * limits["text_advance"] * len(text), at[1] + h * 1.25
            )
            prisms.append(Prism("text", box, jaws.top - limits["text_depth"], high, False))
    for jaw in (jaws.fixed, jaws.floating):
        if jaw.height > jaws.top + 1e-6:
            prisms.append(
                Prism("top face", shapely.box(jaw.x0, jaw.y0, jaw.x1, jaw.y1), jaws.top, high, True)
            )
    zones = (*jaws.zones, *jaws.zones_beside)
    lines = [
        shapely.LineString(shifted(c, z.allowance)) for z in zones if z.purpose in _SEATS for c in z.curves
    ]
    cutter = next((c for c in shop.cutters if c.id == jaws.cutter), None)
    heights = {h for p in prisms for h in (p.bottom, p.top)} | {jaws.top, jaws.floor}
    return Design(
        tuple(prisms),
        jaws.floor,
        jaws.top,
        body(cutter) if cutter is not None and cutter.corner_radius > 0.0 else None,
        shapely.union_all(lines) if lines else shapely.Polygon(),
        pocket,
        cut,
        tuple(z for z in zones if z.purpose in _SEATS),
        tuple(sorted(heights)),
    )


def _hole(jaws: Jaws) -> list[Prism]:
    h = jaws.tooling_hole
    if h is None:
        return []
    limits = LIMITS["allowed"]
    bore, top = _round(h.center, h.diameter / 2), h.top
    point = h.drill / 2 / math.tan(math.radians(59))  # 118° point, the usual; sharper ones are flagged
    mouth = limits["hole_mouth"]
    over = top - h.depth - limits["hole_overrun"] - point
    return [
        Prism("tooling hole", bore, top - h.depth + limits["hole_bottom"], top + 1.0, True),
        Prism("tooling hole bottom", bore, over, top - h.depth + limits["hole_bottom"], False),
        Prism("tooling hole mouth", bore, top - mouth, top, False, mouth),
    ]

"""The part's own elastic change under the clamp, by honest closed forms or not at all.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import Point as Dot

from jawright.errors import JawrightError
from jawright.handbook import Material
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.job.model import ToleranceAsk
from jawright.mechanics import plate
from jawright.part.model import Part
from jawright.proof.body import carrying, part_material
from jawright.proof.metal import Metal, circle_of, metal, thin_wall
from jawright.proof.released import Release, releases

FORM = ("roundness", "circularity", "cylindricity", "diameter", "size")
"""Tolerances of a bore's own form or size: the ovality counts."""

ORIENTATION = ("perpendicularity", "parallelism", "angularity", "flatness", "straightness")
"""Tolerances that an even squeeze does not touch: it moves a bore without tilting it."""

SOLID_LEAST = 0.3
"""Least share of the squeezed length with metal right across for the part to be squeezed as a block."""

WALL_LEAST = 1.0
"""A bore whose wall to the outline is thinner than its radius times this is no small hole in a plate."""
RING_WALL = 0.34
"""Thickest wall over mean radius for the ring formula with hoop and shear terms."""


@dataclass(frozen=True, slots=True)
class Spring:
    """Change of one feature per newton of clamp force when the vise opens, low / set / high [mm/N]."""

    feature: MadeFeature | None  # None: the part as a block
    move: tuple[float, float, float]
    oval: tuple[float, float, float]
    tolerance: ToleranceAsk | None
    why_not: str  # set when no closed form reaches: what stands against it
    way: tuple[float, float] | None = None  # move along X and Y by finite elements [mm/N]; None: closed form
    bulge: float = 0.0  # of the block: upper face from flat by finite elements [mm/N]

    @property
    def counted(self) -> tuple[float, float, float]:
        """What counts against the tolerance at each end [mm/N].

        A form tolerance sees the ovality, every other one how far the feature moves; a round
        zone is a diameter, so twice the move counts.
        """
        if self.tolerance is None:
            a = [max(m, o) for m, o in zip(self.move, self.oval, strict=True)]
            return (a[0], a[1], a[2])
        return _counted(self.tolerance, self.move, self.oval)


def _counted(
    t: ToleranceAsk, move: tuple[float, float, float], oval: tuple[float, float, float]
) -> tuple[float, float, float]:
    if t.kind in FORM:
        return oval
    twice = 2.0 if t.diametral else 1.0
    return (move[0] * twice, move[1] * twice, move[2] * twice)


def section(hold: Hold, solid: float = 1.0) -> tuple[float, float, float]:
    """Area that carries the clamp force through the part, smallest, likely and largest [mm²].

    Smallest: length of wall gripped times grip depth; largest: the part's length along the jaws
    times its height; both times the ``solid`` share of the length; likely: their geometric mean.
    """
    fixed = sum(c.share * abs(c.normal[1]) for c in carrying(hold) if c.on == "fixed")
    moving = sum(c.share * abs(c.normal[1]) for c in carrying(hold) if c.on == "floating")
    b = hold.outline.outer.box
    long = b[2] - b[0]
    gripped = min(max(min(fixed, moving), 1e-3), long)
    small = gripped * hold.grip_depth
    large = max(small, long * (hold.part_top - hold.floor))
    return solid * small, solid * math.sqrt(small * large), solid * large


def springs(
    hold: Hold, part: Part | None, material: str, jaws: Jaws | None = None
) -> tuple[Spring, ...] | None:
    """Spring of the part and of each bore made in this operation; None when the material is not known.

    By finite elements where there is a solid between the walls, else by closed forms.
    """
    work = part_material(material)
    if work is None:
        return None
    found = releases(hold, jaws, part, material)
    return _closed_forms(hold, part, work) if found is None else _by_solid(hold, found)


def _by_solid(hold: Hold, found: tuple[Release, ...]) -> tuple[Spring, ...]:
    by_name = {r.feature: r for r in found}
    zero = (0.0, 0.0, 0.0)
    block = found[0]
    out = [Spring(None, _about(abs(block.move[1]), block.error), zero, None, "", block.move, block.bulge)]
    for f in hold.features:
        r = by_name.get(f.name)
        if r is None or f.region is not None or f.kind not in ("bore", "ream", "drill"):
            continue
        move, oval = _about(math.hypot(*r.move), r.error), _about(r.oval, r.error)
        out.append(Spring(f, move, oval, tolerance_of(f, hold, move, oval), "", r.move))
    return tuple(out)


def _about(value: float, error: float) -> tuple[float, float, float]:
    return max(0.0, value - error), value, value + error


def _closed_forms(hold: Hold, part: Part | None, work: Material) -> tuple[Spring, ...]:
    try:
        m = metal(hold, part)
    except JawrightError as error:
        zero = (0.0, 0.0, 0.0)
        return (Spring(None, zero, zero, None, f"{error.what} within the grip"),)
    small, mid, large = section(hold, max(m.solid, 1e-3))
    b = hold.outline.outer.box
    width = b[3] - b[1]
    ring = _ring(m, hold, E=work.E, nu=work.nu)
    reason = "" if ring else _not_a_block(m, width, hold)
    per = [plate.squeeze(1.0, area=a, length=width, E=work.E) for a in (large, mid, small)]
    zero = (0.0, 0.0, 0.0)
    block = (per[0][1], per[1][1], per[2][1])
    out = [Spring(None, (ring, ring, ring) if ring else block, zero, None, reason)]
    for f in hold.features:
        if f.region is not None or f.diameter is None or f.kind not in ("bore", "ream", "drill"):
            continue
        why = reason or _wall_at(f, m)
        away = max(0.0, b[3] - f.center[1])  # the fixed jaw stands; the metal between it and the bore gives
        move = [p[0] * away / work.E for p in per]
        oval = _ovality(per, f.diameter, work.E)
        if ring:
            move, oval = [0.0, 0.0, 0.0], [2 * ring, 2 * ring, 2 * ring]
        mv, ov = (move[0], move[1], move[2]), (oval[0], oval[1], oval[2])
        out.append(Spring(f, mv, ov, tolerance_of(f, hold, mv, ov), why))
    return tuple(out)


def _ovality(per: list[tuple[float, float]], diameter: float, E: float) -> list[float]:
    """Difference of a hole's diameters when the stress is let go, for each stress [mm/N]."""
    out = []
    for stress, _ in per:
        along, across = plate.hole_release(stress, diameter=diameter, E=E)
        out.append(along - across)
    return out


def tolerance_of(
    f: MadeFeature,
    hold: Hold,
    move: tuple[float, float, float],
    oval: tuple[float, float, float],
) -> ToleranceAsk | None:
    """The tolerance of a feature that its spring uses up most; None when it has none that feels it."""
    own = [t for t in hold.tolerances if t.feature == f.name and t.kind not in ORIENTATION and t.zone > 0]
    if not own:
        return None
    return max(own, key=lambda t: (_counted(t, move, oval)[1] / t.zone, t.kind))


def tightest(hold: Hold) -> ToleranceAsk | None:
    """The tightest tolerance of the operation."""
    return min(hold.tolerances, key=lambda t: (t.zone, t.feature, t.kind)) if hold.tolerances else None


def _ring(m: Metal, hold: Hold, *, E: float, nu: float) -> float | None:
    """Closing of a round ring pinched across by 1 N [mm/N]; None when the part is no such ring."""
    outer = circle_of(m.outline)
    inner = circle_of(m.openings[0]) if len(m.openings) == 1 else None
    if outer is None or inner is None or math.dist(outer[:2], inner[:2]) > 0.01 * outer[2]:
        return None
    wall, mean = outer[2] - inner[2], (outer[2] + inner[2]) / 2
    height = hold.part_top - hold.floor
    if wall <= 0 or wall / mean > RING_WALL or height <= 0:
        return None
    area = wall * height
    closing, _ = plate.pinched_ring(1.0, radius=mean, inertia=height * wall**3 / 12, E=E, area=area, nu=nu)
    return closing


def _not_a_block(m: Metal, width: float, hold: Hold) -> str:
    """Why the part is no block to squeeze; "" when it is one."""
    height = hold.part_top - hold.floor
    if width > 10 * height:  # a plate thinner than a tenth of its width may bow (common practice)
        return f"the part is {width:.1f} mm wide between the jaws and only {height:.1f} mm thick: it may bow"
    thin = thin_wall(m, WALL_LEAST)
    if thin:
        return thin
    if m.solid < SOLID_LEAST:
        return f"only {m.solid:.0%} of the squeezed length is metal right across from jaw to jaw"
    return ""


def _wall_at(f: MadeFeature, m: Metal) -> str:
    """Why a bore is no small hole in a plate; "" when it is one."""
    assert f.diameter is not None
    r = f.diameter / 2
    center = Dot(f.center[0], f.center[1])
    if not m.shape.contains(center):
        return ""
    wall = float(m.shape.boundary.distance(center)) - r
    if wall < r * WALL_LEAST:
        return f"the wall beside {f.name} is {wall:.1f} mm, thinner than its radius"
    return ""

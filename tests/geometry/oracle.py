"""Independent answers for offsets and booleans: another program's arcs, and polygons made without buffers."""

from __future__ import annotations

import math

import cavaliercontours
import numpy as np
import shapely

from geometry.families import bulge_curve
from jawright.geometry.curve import Arc, Curve, Point
from jawright.geometry.profile import Profile, Region
from jawright.geometry.winding import middle_of


def _bulges(profile: Profile, origin: Point) -> np.ndarray:
    rows = []
    for c in profile.curves:
        halves: list[Curve] = [c]
        if isinstance(c, Arc) and abs(c.sweep) > 3.14159:
            m = c.at(0.5)
            halves = [Arc(c.start, m, c.center, c.ccw), Arc(m, c.end, c.center, c.ccw)]
        for e in halves:
            bulge = math.tan(e.sweep / 4) if isinstance(e, Arc) else 0.0
            rows.append((e.start[0] - origin[0], e.start[1] - origin[1], bulge))
    return np.array(rows).T


def arc_program_area(profile: Profile, d: float) -> float:
    """Area [mm²] of the offset by the arc-offset program ``cavaliercontours`` of 2020, another method."""
    line = cavaliercontours.Polyline(_bulges(profile, middle_of(profile)), True)
    return float(sum(r.get_area() for r in line.parallel_offset(-d, 0)))


def capsule_area(region: Region, d: float, chord: float = 1e-3) -> tuple[float, float]:
    """Area [mm²] of the offset as polygon plus or minus the union of one capsule per edge, and its bound.

    No outline is buffered as a whole, so the known failures of fine buffers do not enter.
    Each capsule's ends have 64 chords a quadrant.
    """
    loops = [np.array(q.points(chord)) for q in (region.outer, *region.holes)]
    body = shapely.Polygon(loops[0], loops[1:])
    edges = [shapely.LineString([q[k - 1], q[k]]) for q in loops for k in range(len(q))]
    swept = shapely.union_all([e.buffer(abs(d), quad_segs=64) for e in edges])
    result = body.union(swept) if d > 0 else body.difference(swept)
    sag = abs(d) * (1 - math.cos(math.pi / 256)) + chord
    # every border of the result or of a hole that closed may be wrong by the sag, meetings by more
    return float(result.area), 2.0 * sag * (result.length + body.length) + 1e-9


def exact_distance(region: Region, points: np.ndarray, chord: float = 1e-6) -> np.ndarray:
    """Signed distance [mm] from a polygon with very fine chords, by ``shapely``; right to ``chord``."""
    body = shapely.Polygon(region.outer.points(chord), [h.points(chord) for h in region.holes])
    shapely.prepare(body)
    p = shapely.points(points)
    d = shapely.distance(body.boundary, p)
    return np.where(shapely.contains(body, p), -d, d)


def read_outline(text: str) -> tuple[list[Profile], list[tuple[float, float | None, int]]]:
    """Outlines and expectations of a plain-text file of the hostile corpus.

    ``#`` starts a remark. ``loop`` starts an outline, whose corners follow as ``x y bulge``.
    ``offset d area n``: the offset by d has n regions and this area; ``offset d refused``.
    """
    loops: list[list[tuple[float, float, float]]] = []
    asked: list[tuple[float, float | None, int]] = []
    for raw in text.splitlines():
        words = raw.split("#")[0].split()
        if not words:
            continue
        if words[0] == "loop":
            loops.append([])
        elif words[0] == "offset":
            d = float(words[1])
            asked.append((d, None, 0) if words[2] == "refused" else (d, _number(words[2]), int(words[3])))
        else:
            x, y, b = (_number(w) for w in words)
            loops[-1].append((x, y, b))
    profiles = []
    for rows in loops:
        n = len(rows)
        p = [(x, y) for x, y, _ in rows]
        profiles.append(Profile(tuple(bulge_curve(p[k], p[(k + 1) % n], rows[k][2]) for k in range(n))))
    return profiles, asked


def _number(word: str) -> float:
    """A number, or a product or sum of numbers and pi without spaces: ``4+8*pi-0.5*pi``."""
    total = 0.0
    for term in word.replace("e-", "e~").replace("-", "+-").split("+"):
        if term:
            product = 1.0
            for f in term.replace("~", "-").split("*"):
                product *= {"pi": math.pi, "-pi": -math.pi}.get(f) or float(f)
            total += product
    return total

"""Features of a part as ``jawright part`` prints them, and as JSON.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable
from typing import Any

from jawright import kernel, units
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, standing
from jawright.hold.view import GRIP
from jawright.part.breaks import seat_edges
from jawright.part.corners import outline_corners
from jawright.part.features import find_features
from jawright.part.model import Drilled, OutlineCorner, Part, Recess, SeatEdge
from jawright.part.pick import direction
from jawright.units import show

NAMED = 6
"""Places of alike things that are written out."""


def lines(part: Part, up: Vec3, system: units.System) -> list[tuple[str, str]]:
    """Label and words of every feature; edges and corners that are alike stand in one line."""
    found = find_features(part)

    def size(v: float) -> str:
        return show(v, "length", system)

    def at(*p: float) -> str:
        digits = 3 if system == "mm" else 4
        return "(" + ", ".join(show(v, "length", system, digits=digits).split(" ")[0] for v in p) + ")"

    rows: list[tuple[str, str]] = []
    for (what,), places in _alike(((_drilled(d, size),), at(*d.holes[0].mouth)) for d in found.drilled):
        many = f"{len(places)} × " if len(places) > 1 else ""
        rows.append(
            ("hole", f"{many}{what}, at {', '.join(places)}")
        )  # all places: they are copied into jobs
    rows += [(r.kind, _recess(r, size, at)) for r in found.recesses]
    for (kind, width), faces in _alike(
        ((b.kind, size(b.size)), f"face {b.face} between {b.between[0]} and {b.between[1]}")
        for b in found.breaks
    ):
        rows.append((str(kind), f"{width} at {len(faces)} edges: {_few(faces)}"))
    view = f"seen with {direction(up)} up"
    for (kind, width), walls in _alike(
        ((e.kind, size(e.size)), f"wall {e.wall}") for e in seat_edges(part, up)
    ):
        what = str(kind) if kind in ("sharp", "undercut") else f"{kind} {width}"
        rows.append(("lower edge", f"{what} under {_few(walls)}, {view}"))
    found_corners, height = corners(part, up), size(outline_height(part, up))
    if found_corners is None:
        rows.append(("corner", f"there is no exact outline {height} up, {view}"))
    for (kind, radius), places in _alike(
        ((c.kind, size(c.radius) if c.radius else "sharp"), at(*c.at)) for c in found_corners or ()
    ):
        word = str(radius) if radius == "sharp" else f"R{radius}"
        rows.append(("corner", f"{len(places)} {kind}, {word}: {_few(places)}, {height} up, {view}"))
    return rows


def outline_height(part: Part, up: Vec3) -> float:
    """Height above the lowest point at which the outline is looked at: amid a usual grip [mm]."""
    box = kernel.box(part.shape, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)))
    return min(0.5 * GRIP, 0.27 * (box[5] - box[2]))


def corners(part: Part, up: Vec3) -> tuple[OutlineCorner, ...] | None:
    """Corners of the part's outline at ``outline_height``; None where there is no exact outline."""
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    low = kernel.box(part.shape, move)[2]
    try:
        cut = kernel.section(part.shape, move, low + outline_height(part, up))
        return tuple(c for r in cut.regions for c in outline_corners(r.outer))
    except JawrightError as e:
        if e.code != "geometry":
            raise
        return None


def _few(words: list[str]) -> str:
    more = len(words) - NAMED
    return ", ".join(words[:NAMED]) + (f" and {more} more" if more > 0 else "")


def _alike(pairs: Iterable[tuple[tuple[Hashable, ...], str]]) -> list[tuple[tuple[Hashable, ...], list[str]]]:
    groups: dict[tuple[Hashable, ...], list[str]] = defaultdict(list)
    for key, words in pairs:
        groups[key].append(words)
    return list(groups.items())


def _drilled(d: Drilled, size: Any) -> str:
    steps = []
    for h in d.holes:
        steps.append(f"Ø{size(h.diameter)} {'through' if h.through else size(h.depth) + ' deep'}")
    sink = f", countersunk Ø{size(d.sink)} × {math.degrees(d.sink_angle):.0f}°" if d.sink else ""
    mouth = d.holes[0]
    kind = "stepped, " if len(d.holes) > 1 else ""
    return f"{kind}{', then '.join(steps)}{sink}, opens {direction(mouth.axis)}"


def _recess(r: Recess, size: Any, at: Any) -> str:
    how = "through" if r.through else f"{size(r.depth)} deep"
    sides = "" if r.closed else ", open at the side"
    corner = (
        "" if r.corner is None else ", sharp corners" if r.corner == 0 else f", corners R{size(r.corner)}"
    )
    root = f", root R{size(r.root)}" if r.root else ""
    where = f"at {at(*r.center)}, opens {direction(r.opens)}"
    return f"{size(r.length)} × {size(r.width)}, {how}{sides}{corner}{root}, {where}"


def data(part: Part, up: Vec3) -> dict[str, object]:
    """All features as plain data: lengths in mm and angles in degrees, as the keys say."""
    found, found_corners = find_features(part), corners(part, up)
    return {
        "drilled": [
            {
                "holes": [part.holes.index(h) for h in d.holes],
                "faces": d.faces,
                "through": d.through,
                "sink_mm": d.sink,
                "sink_angle_deg": math.degrees(d.sink_angle),
            }
            for d in found.drilled
        ],
        "recesses": [
            {
                "kind": r.kind,
                "opens": r.opens,
                "floor": r.floor,
                "walls": r.walls,
                "center_mm": r.center,
                "depth_mm": r.depth,
                "length_mm": r.length,
                "width_mm": r.width,
                "corner_mm": r.corner,
                "root_mm": r.root,
                "through": r.through,
                "closed": r.closed,
            }
            for r in found.recesses
        ],
        "breaks": [
            {"kind": b.kind, "face": b.face, "between": b.between, "size_mm": b.size, "legs_mm": b.legs}
            for b in found.breaks
        ],
        "up": up,
        "lower_edges": [_edge(e) for e in seat_edges(part, up)],
        "outline_height_mm": outline_height(part, up),
        "corners": None
        if found_corners is None
        else [
            {"kind": c.kind, "at_mm": c.at, "radius_mm": c.radius, "angle_deg": math.degrees(c.angle)}
            for c in found_corners
        ],
    }


def _edge(e: SeatEdge) -> dict[str, object]:
    return {"wall": e.wall, "kind": e.kind, "size_mm": e.size, "length_mm": e.length}

"""Are the broken edge and the identification what was asked, or not there at all? Vise frame, mm.

Both may be left to the hand, so a program without them is fine and says so. One that has them
in part, or other than asked, has lost or changed a line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from jawright.handbook import table
from jawright.jaws.model import Jaws
from jawright.verify.compare import Scene
from jawright.verify.model import NcFinding
from jawright.verify.words import LIMITS

_MARKS: dict[str, float] = LIMITS["marks"]


@dataclass(frozen=True, slots=True)
class _Level:
    """The highest level that was compared: what stood there, and what is gone."""

    z: float
    metal: BaseGeometry
    gone: BaseGeometry


def marks(jaws: Jaws, scene: Scene, *, turned: bool) -> list[NcFinding]:
    """Findings about edge break and text; ``turned``: text is read from the fixed jaw's side."""
    under = [k for k, s in enumerate(scene.spans) if s.at < jaws.top]
    if not under:
        return []
    k = under[-1]
    level = _Level(scene.spans[k].at, scene.metal[k], scene.gone.at(k))
    out = _edge(jaws, scene, level)
    for text, at, side in zip(jaws.text, jaws.text_at, ("fixed", "floating"), strict=True):
        if text:
            out += _text(scene, level, text, at, height=jaws.text_height, turned=turned, side=side)
    return out


def _edge(jaws: Jaws, scene: Scene, level: _Level) -> list[NcFinding]:
    """The band of the edge break at this height must be gone all round, or nowhere."""
    wide = jaws.edge_break - (jaws.top - level.z)
    if jaws.edge_break <= 0.0 or wide <= 2 * _MARKS["edge"]:
        return []
    cut = scene.design.opened
    band = shapely.intersection(shapely.difference(shapely.buffer(cut, wide, quad_segs=64), cut), level.metal)
    must = scene.design.must(level.z)
    band = shapely.difference(band, must)
    left = shapely.difference(band, level.gone)
    if left.area > (1 - _MARKS["absent"]) * band.area:
        words = "edge break: not cut by this program, break the pocket's upper edge by hand"
        return [NcFinding("noted", 0, 0, words)]
    core = shapely.buffer(left, -_MARKS["edge"])
    if core.is_empty:
        return []
    p = shapely.point_on_surface(core)
    line = scene.cuts.nearest(p.x, p.y, level.z)
    words = f"edge break: left out at X {p.x:.3f} Y {p.y:.3f} in the vise, though it is cut elsewhere"
    return [NcFinding("fault", line, 0, words)]


def _text(
    scene: Scene,
    level: _Level,
    text: str,
    at: tuple[float, float],
    *,
    height: float,
    turned: bool,
    side: str,
) -> list[NcFinding]:
    """What is engraved in the room of the text against the letters' strokes, at the scale found."""
    prism = next(p for p in scene.design.prisms if p.name == "text" and _at(p.plan, at, height))
    d = scene.design
    beside = max((p.widen for p in d.prisms), default=0.0)  # an edge break or a hole's mouth is no letter
    room = shapely.difference(prism.plan, shapely.buffer(d.opened, beside + 0.5 * _MARKS["stroke"]))
    room = shapely.difference(room, shapely.buffer(d.must(level.z), LIMITS["allowed"]["hole_mouth"] - 1e-3))
    found = shapely.intersection(shapely.intersection(room, level.gone), level.metal)
    if found.area < _MARKS["absent"] * _MARKS["stroke"] * height:
        return [NcFinding("noted", 0, 0, f"text: none is engraved on the {side} jaw by this program")]
    strokes, (wide, high) = _strokes(text)
    x0, y0, x1, y1 = found.bounds
    lines = shapely.multilinestrings([shapely.linestrings(s) for s in strokes])
    lx0, ly0, lx1, ly1 = lines.bounds
    across = (lx1 - lx0) - (ly1 - ly0)
    scale = ((x1 - x0) - (y1 - y0)) / across if across > 0.0 else height / high
    pen = (y1 - y0) - scale * (ly1 - ly0)
    fits = 0.0 < pen < height and 0.0 < scale * high <= height + _MARKS["stroke"]
    if fits:
        placed = shapely.transform(
            lines,
            lambda p: np.array(at) + scale * (np.array((wide, high)) - p if turned else p),
        )
        extra = shapely.difference(found, shapely.buffer(placed, pen / 2 + _MARKS["stroke"]))
        lack = shapely.difference(placed, shapely.buffer(found, _MARKS["stroke"]))
        if extra.is_empty and lack.is_empty:
            return []
        spot = shapely.point_on_surface(lack if extra.is_empty else extra)
        x, y = spot.x, spot.y
    else:
        x, y = x0, y0
    line = scene.cuts.nearest(x, y, level.z)
    words = (
        f"text: what is engraved on the {side} jaw is not the text asked, see X {x:.2f} Y {y:.2f} in the vise"
    )
    return [NcFinding("fault", line, 0, words)]


def _at(plan: BaseGeometry, at: tuple[float, float], height: float) -> bool:
    x0, y0, _, _ = plan.bounds
    return math.dist((x0, y0), (at[0] - height / 4, at[1] - height / 4)) < 1e-6


def _strokes(text: str) -> tuple[list[list[tuple[float, float]]], tuple[float, float]]:
    """The letters' strokes on their grid, lower left at (0, 0), and width and height of the line."""
    data = table("strokes")
    advance, high = float(data["advance"]), float(data["grid_height"])
    out = []
    for n, letter in enumerate(text):
        for stroke in data["letters"].get(letter.upper(), "").split(";"):
            points = [tuple(map(float, p.split(","))) for p in stroke.split()]
            if len(points) > 1:
                out.append([(n * advance + x, y) for x, y in points])
    wide = len(text) * advance - (advance - float(data["grid_width"]))
    return out, (wide, high)

"""Are the broken edge and the identification what was asked? Vise frame, mm.

Either may be left to the hand where no cutter of the shop can make it, or where a remark in the
program says so. One that is left out without a word, made in part, moved, mirrored, too deep or
unevenly deep has lost or changed a line.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from jawright.handbook import table
from jawright.jaws.model import Jaw, Jaws
from jawright.shop.model import Shop
from jawright.verify.compare import Scene
from jawright.verify.design import plan
from jawright.verify.model import NcFinding
from jawright.verify.words import LIMITS

_MARKS: dict[str, float] = LIMITS["marks"]
_ALLOWED: dict[str, float] = LIMITS["allowed"]


@dataclass(frozen=True, slots=True)
class _Level:
    """The highest level that was compared: what stood there, and what is gone."""

    z: float
    metal: BaseGeometry
    gone: BaseGeometry


def marks(
    jaws: Jaws, shop: Shop, scene: Scene, *, turned: bool, remarks: Sequence[str] = ()
) -> list[NcFinding]:
    """Findings about edge break and text.

    Parameters
    ----------
    turned : text is read from the fixed jaw's side.
    remarks : the program's comments, in order: what is left to the hand must be told there.
    """
    under = [k for k, s in enumerate(scene.spans) if s.at < jaws.top]
    if not under:
        return []
    # a remark may run over several comments: they are read as one
    told = " ".join(" ".join(remarks).upper().split())
    k = under[-1]
    level = _Level(scene.spans[k].at, scene.metal[k], scene.gone.at(k))
    out = _edge(jaws, scene, level, able=_can_break(jaws, shop) and not _EDGE_BY_HAND.search(told))
    depths: list[float] = []
    for n, side in enumerate((jaws.fixed, jaws.floating)):
        if jaws.text[n] and jaws.text_height > 0.0:  # without room there is nothing to engrave
            able = _can_engrave(jaws, shop, side, jaws.text[n], jaws.text_at[n])
            hand = _quoted(jaws.text[n]) in told and _TEXT_BY_HAND.search(told) is not None
            found, depth = _text(jaws, scene, under, n, turned=turned, able=able and not hand)
            out += found
            depths += [depth] if depth > 0.0 else []
    if len(depths) > 1 and max(depths) - min(depths) > _MARKS["stroke"]:
        words = f"text: engraved {depths[0]:.3f} mm deep on one jaw and {depths[1]:.3f} mm on the other"
        out.append(NcFinding("fault", 0, 0, words))
    return out


_EDGE_BY_HAND = re.compile(r"EDGE[^:]{0,40}BY HAND|BY HAND[^:]{0,60}EDGE")
_TEXT_BY_HAND = re.compile(r"(STAMP|ENGRAVE)[^:]{0,40}BY HAND|BY HAND[^:]{0,60}(STAMP|ENGRAVE)")


def _quoted(text: str) -> str:
    """The text as a remark can have it: a remark holds no parentheses."""
    return f'"{text.upper().replace("(", "[").replace(")", "]")}"'


def _can_break(jaws: Jaws, shop: Shop) -> bool:
    """Has the shop a 90° point that gets along the pocket's whole upper edge?"""
    for c in sorted(shop.cutters, key=lambda c: c.diameter):
        if c.kind != "spot drill" or abs(c.tip_angle - math.pi / 2) > _MARKS["square_point"]:
            continue
        axis = min(
            _MARKS["edge_axis"] * c.diameter, jaws.top - jaws.floor - jaws.edge_break - _MARKS["edge_air"]
        )
        if axis < _MARKS["edge_axis_least"] or axis + jaws.edge_break > c.diameter / 2:
            continue
        pocket = plan(jaws.pocket)
        rolled = shapely.buffer(shapely.buffer(pocket, -axis, quad_segs=64), axis, quad_segs=64)
        return bool(shapely.difference(pocket, rolled).area < _MARKS["edge_area"])
    return False


def _can_engrave(jaws: Jaws, shop: Shop, jaw: Jaw, text: str, at: tuple[float, float]) -> bool:
    """Has the shop an engraver, and the jaw room for the smallest letters that can be read?"""
    if not any(c.kind == "engraver" for c in shop.cutters):
        return False
    lines, (wide, high) = _strokes(text)
    scale = _MARKS["text_least"] / high
    box = shapely.box(at[0], at[1], at[0] + scale * wide, at[1] + scale * high)
    room = shapely.buffer(box, _MARKS["text_air"], join_style="mitre")
    taken = [shapely.buffer(plan(jaws.pocket), jaws.edge_break), *(plan(w.region) for w in jaws.wells)]
    if jaws.tooling_hole is not None:
        taken.append(shapely.Point(jaws.tooling_hole.center).buffer(jaws.tooling_hole.diameter / 2))
    face = shapely.box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)
    return bool(lines) and bool(face.covers(room)) and not any(room.intersects(t) for t in taken)


def _edge(jaws: Jaws, scene: Scene, level: _Level, *, able: bool) -> list[NcFinding]:
    """The band of the edge break at this height must be gone all round, or nowhere where that is told."""
    wide = jaws.edge_break - (jaws.top - level.z)
    if jaws.edge_break <= 0.0 or wide <= 2 * _MARKS["edge"]:
        return []
    cut = scene.design.opened
    band = shapely.intersection(shapely.difference(shapely.buffer(cut, wide, quad_segs=64), cut), level.metal)
    must = scene.design.must(level.z)
    band = shapely.difference(band, must)
    left = shapely.difference(band, level.gone)
    if left.area > (1 - _MARKS["absent"]) * band.area:
        if able:
            words = "edge break: not cut, and no remark leaves the pocket's upper edge to the hand"
            return [NcFinding("fault", 0, 0, words)]
        words = "edge break: not cut by this program, break the pocket's upper edge by hand"
        return [NcFinding("noted", 0, 0, words)]
    core = shapely.buffer(left, -_MARKS["edge"])
    if core.is_empty:
        return []
    p = shapely.point_on_surface(core)
    line = scene.cuts.nearest(p.x, p.y, level.z)
    at = scene.cuts.frame.words((p.x, p.y, level.z))
    words = f"edge break: left out at {at}, though it is cut elsewhere"
    return [NcFinding("fault", line, 0, words)]


def _text(
    jaws: Jaws, scene: Scene, under: Sequence[int], n: int, *, turned: bool, able: bool
) -> tuple[list[NcFinding], float]:
    """What is engraved against the letters' strokes, at the scale found; and its depth [mm]."""
    side, text, at = ("fixed", "floating")[n], jaws.text[n], jaws.text_at[n]
    room = _room(scene, under[-1], at, jaws.text_height)
    found = _found(scene, under[-1], room)
    if found.area < _MARKS["absent"] * _MARKS["stroke_wide"] * jaws.text_height:
        if able:
            words = f'text: "{text}" is not engraved on the {side} jaw, and no remark leaves it to the hand'
            return [NcFinding("fault", 0, 0, words)], 0.0
        return [NcFinding("noted", 0, 0, f"text: none is engraved on the {side} jaw by this program")], 0.0
    strokes, (wide, high) = _strokes(text)
    if not strokes:
        return [NcFinding("fault", 0, 0, f"text: letters on the {side} jaw, though its text has none")], 0.0
    lines = shapely.multilinestrings([shapely.linestrings(s) for s in strokes])
    if turned:
        lines = shapely.transform(lines, lambda p: np.array((wide, high)) - p)
    scale, pen = _fitted(found, lines, at)
    placed = shapely.transform(lines, lambda p: np.array(at) + scale * p)
    spot: BaseGeometry = shapely.Point(found.bounds[:2])
    wrong = not (0.0 < pen < jaws.text_height and 0.0 < scale * high <= jaws.text_height + _MARKS["stroke"])
    what, depth = "not the text asked", 0.0
    if not wrong:
        extra = shapely.difference(found, shapely.buffer(placed, pen / 2 + _MARKS["stroke"]))
        lack = _lacking(placed, found, pen)
        wrong = not extra.is_empty or not lack.is_empty
        spot = shapely.point_on_surface(lack if extra.is_empty else extra) if wrong else spot
    if not wrong:
        # the deepest level with any stroke must have them all: they are of one depth
        first = scene.gone.first(room.bounds)
        least = _MARKS["absent"] * _MARKS["stroke"]
        looked = ((k, _found(scene, k, room)) for k in under if k >= first)
        deep, low = next((k, shape) for k, shape in looked if shape.area > least)
        lack = _beside(placed, low, _MARKS["stroke_wide"])
        depth = jaws.top - scene.spans[deep].low
        if not lack.is_empty:
            wrong, what, spot = True, "not of one depth", shapely.point_on_surface(lack)
        elif depth > _MARKS["text_depth"]:
            wrong, what = True, f"{depth:.3f} mm deep (limit {_MARKS['text_depth']:.3f} mm)"
    if not wrong:
        return [], depth
    x, y = spot.x, spot.y
    z = scene.spans[under[-1]].at
    line, where = scene.cuts.nearest(x, y, z), scene.cuts.frame.words((x, y, z))
    words = f"text: what is engraved on the {side} jaw is {what}, see {where}"
    return [NcFinding("fault", line, 0, words)], 0.0


def _room(scene: Scene, k: int, at: tuple[float, float], height: float) -> BaseGeometry:
    """Where the text may be, less what an edge break, a hole's mouth or a pocket takes."""
    d = scene.design
    prism = next(p for p in d.prisms if p.name == "text" and _at(p.plan, at, height))
    beside = max((p.widen for p in d.prisms), default=0.0)  # an edge break or a hole's mouth is no letter
    room = shapely.difference(prism.plan, shapely.buffer(d.opened, beside + 0.05))
    must = d.must(scene.spans[k].at)
    return shapely.difference(room, shapely.buffer(must, _ALLOWED["hole_mouth"] - 1e-3))


def _found(scene: Scene, k: int, room: BaseGeometry) -> BaseGeometry:
    return shapely.intersection(scene.gone.within(k, room), scene.metal[k])


def _fitted(found: BaseGeometry, lines: BaseGeometry, at: tuple[float, float]) -> tuple[float, float]:
    """Size of a grid step and width of the pen [mm]: from the box's sides and from the area.

    The width comes from the area, which one line that is a little off hardly changes.
    """
    step = np.array(lines.bounds)
    box = np.array(found.bounds) - np.array((*at, *at))
    half = np.array((-0.5, -0.5, 0.5, 0.5))
    scale, pen = np.linalg.lstsq(np.column_stack((step, half)), box, rcond=None)[0]
    for _ in range(3):
        placed = shapely.transform(lines, lambda p, s=scale: np.array(at) + s * p)
        wide = shapely.buffer(placed, max(pen, 1e-3) / 2)
        pen += (found.area - wide.area) / max(placed.length, 1e-9)
        scale = step @ (box - half * pen) / (step @ step)
    return float(scale), float(pen)


def _beside(lines: BaseGeometry, shape: BaseGeometry, width: float) -> BaseGeometry:
    """What of the lines is farther than a width from a shape; most of them lie in it."""
    rest = shapely.difference(lines, shape)
    return rest if rest.is_empty else shapely.difference(rest, shapely.buffer(shape, width))


def _lacking(placed: BaseGeometry, found: BaseGeometry, pen: float) -> BaseGeometry:
    """What the pen should have taken and did not."""
    width = pen / 2 - _MARKS["stroke"]
    if width > 0.0:
        return shapely.difference(shapely.buffer(placed, width), found)
    return _beside(placed, found, _MARKS["stroke"])


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

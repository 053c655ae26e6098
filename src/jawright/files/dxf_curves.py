"""Entities of a drawing to runs of lines and arcs in millimeters, in the reading child.

What is no outline (dimensions, texts, points, center lines, hatches, help lines) is counted,
not dropped in silence. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable
from typing import Any

from ezdxf.math import Vec3

from jawright.errors import JawrightError
from jawright.files import limits
from jawright.files.outline_chain import Run, bulged
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.fit import fit_bspline, fit_ellipse
from jawright.geometry.profile import circle
from jawright.geometry.through import fit_through

FIT = 1e-3
"""Largest distance [mm] of a spline or ellipse from the arcs that stand for it."""
LEVEL = 0.01
"""Curves whose heights differ by more than this [mm] are no flat drawing."""
UPRIGHT = 1e-9
_ADVICE = "export the flat outline alone, as lines, arcs, circles and polylines"
_WORDS = {
    "DIMENSION": "dimensions",
    "TEXT": "texts",
    "MTEXT": "texts",
    "ATTDEF": "texts",
    "ATTRIB": "texts",
    "POINT": "points",
    "HATCH": "hatches",
    "MPOLYGON": "hatches",
    "LEADER": "leaders",
    "MULTILEADER": "leaders",
    "TOLERANCE": "tolerance frames",
    "XLINE": "construction lines",
    "RAY": "construction lines",
    "IMAGE": "pictures",
    "WIPEOUT": "pictures",
    "VIEWPORT": "viewports",
}


_BROKEN = ("CENT", "HIDDEN", "DASH", "PHANTOM", "DOT")


class Sheet:
    """Collects the curves of a drawing; lengths of the file times ``scale`` are millimeters."""

    def __init__(self, document: Any, scale: float, name: str) -> None:
        self.document, self.scale, self.name = document, scale, name
        self.open: list[Run] = []
        self.closed: list[Run] = []
        self.ignored: Counter[str] = Counter()
        self.kinds: Counter[str] = Counter()
        self.wide = 0  # polylines drawn as bands
        self.levels: dict[float, str] = {}
        self.fitted = 0
        self.through = 0
        self.beside = 0.0
        self.bound = 0.0
        self._count = 0
        self._turned: dict[str, bool] = {}

    def read(self, entities: Iterable[Any], depth: int = 0) -> None:
        """Take all ``entities``; blocks are taken apart. Raises ``file-too-large`` for too many."""
        for e in entities:
            self._count += 1
            if self._count > limits.DXF_ENTITIES:
                raise JawrightError(
                    "file-too-large", what=f"the drawing has more than {limits.DXF_ENTITIES} entities"
                )
            why = self._why_not(e)
            if why:
                self.ignored[why] += 1
            elif e.dxftype() == "INSERT":
                self._insert(e, depth)
            else:
                self._curve(e)

    def _curve(self, e: Any) -> None:
        """Take one curve; what is wrong with it names it."""
        for name, value in e.dxfattribs().items():
            numbers = value if isinstance(value, Vec3 | tuple) else (value,)
            if not all(math.isfinite(v) for v in numbers if isinstance(v, float)):
                raise JawrightError(
                    "file-broken", what=f"{label(e)} has no finite {name.replace('_', ' ')}", todo=_ADVICE
                )
        try:
            _READERS[e.dxftype()](self, e)
        except JawrightError as error:
            if not error.where:
                raise
            raise JawrightError(
                error.code, what=f"{label(e)}: {error.what} {error.where}", todo=error.todo or _ADVICE
            ) from error

    # ---- what is outline and what is not ---------------------------------------------------

    def _why_not(self, e: Any) -> str:
        """Why an entity is no part of the outline, in words; "" when it is."""
        kind = e.dxftype()
        if kind != "INSERT" and kind not in _READERS:
            return _WORDS.get(kind, f"{kind} entities")
        layer = str(e.dxf.get("layer", "0"))
        if layer.lower() == "defpoints":
            return "curves on the help layer of dimensions"
        if e.dxf.get("invisible", 0):
            return "curves that are not shown"
        found = self.document.layers.get(layer) if layer in self.document.layers else None
        if found is not None and (found.is_off() or found.is_frozen()):
            return f'curves on layer "{layer}", which is switched off'
        if kind == "INSERT":
            return ""
        line = str(e.dxf.get("linetype", "BYLAYER"))
        if line.upper() == "BYLAYER":
            line = str(found.dxf.get("linetype", "CONTINUOUS")) if found is not None else "CONTINUOUS"
        return f"{line.lower()} lines, which are drawn broken" if self._broken(line) else ""

    def _broken(self, line: str) -> bool:
        """Whether a line type has gaps: center, hidden and phantom lines."""
        if line.upper() in ("CONTINUOUS", "BYBLOCK", ""):
            return False
        if line not in self._turned:
            if line in self.document.linetypes:
                tags = self.document.linetypes.get(line).pattern_tags.tags
                self._turned[line] = any(t.code == 49 and t.value <= 0 for t in tags)
            else:  # named and not described: its name is all there is
                self._turned[line] = any(w in line.upper() for w in _BROKEN)
        return self._turned[line]

    def _insert(self, e: Any, depth: int) -> None:
        block = e.block()
        if depth >= limits.DXF_DEPTH:
            raise JawrightError("file-broken", what="blocks of the drawing hold one another without end")
        if block is None:
            raise JawrightError(
                "file-broken",
                what=f'block "{e.dxf.get("name", "")}" is placed but not in the file',
                todo=_ADVICE,
            )
        if block.block is not None and block.block.dxf.get("flags", 0) & 4:
            raise JawrightError(
                "file-missing",
                what=f'block "{block.name}" lies in another file, which is not read',
                todo="bind it into the drawing, or export the outline alone",
            )
        if e.mcount > limits.DXF_ENTITIES:
            raise JawrightError("file-too-large", what=f'block "{block.name}" is repeated {e.mcount} times')
        scales = [e.dxf.get(f"{k}scale", 1.0) for k in "xyz"]
        if not all(math.isfinite(s) and s != 0 for s in scales):
            raise JawrightError("file-broken", what=f'block "{block.name}" is placed with a scale of zero')
        self.kinds["INSERT"] += 1
        for one in e.multi_insert() if e.mcount > 1 else (e,):

            def skipped(entity: Any, _: str) -> None:
                if entity.dxftype() in _READERS or entity.dxftype() == "INSERT":
                    raise JawrightError(
                        "file-broken", what=f"{label(entity)} in a block cannot be placed", todo=_ADVICE
                    )
                self.ignored[_WORDS.get(entity.dxftype(), f"{entity.dxftype()} entities")] += 1

            self.read(one.virtual_entities(skipped_entity_callback=skipped), depth + 1)

    # ---- taking curves ---------------------------------------------------------------------

    def take(self, e: Any, curves: Iterable[Curve], *, closed: bool, level: float) -> None:
        """Keep the curves of one entity; those of no length are dropped.

        Raises ``file-broken`` for a number that is not finite, ``part-size`` far from the origin.
        """
        kept = tuple(c for c in curves if isinstance(c, Arc) or c.start != c.end)
        for c in kept:
            if not all(map(math.isfinite, (*c.start, *c.end))):
                raise JawrightError("file-broken", what=f"{label(e)} has a number that is not finite")
            if max(map(abs, (*c.start, *c.end))) > limits.OUTLINE_FAR:
                raise JawrightError(
                    "part-size",
                    what=f"{label(e)} lies more than {limits.OUTLINE_FAR / 1e6:g} km from the origin",
                )
        self.levels.setdefault(round(level, 6), label(e))
        self.kinds[e.dxftype()] += 1
        if kept:
            (self.closed if closed else self.open).append(Run(kept, label(e)))

    def point(self, p: Any) -> Point:
        """A point of the drawing [mm]."""
        return (float(p[0]) * self.scale, float(p[1]) * self.scale)

    def height(self, z: float) -> float:
        """A height of the drawing [mm]."""
        return float(z) * self.scale


def label(e: Any) -> str:
    """How messages name an entity: its kind and its handle in the file."""
    handle = e.dxf.get("handle", None)
    return f"{e.dxftype()} #{handle}" if handle else e.dxftype()


def _need(e: Any, *names: str) -> None:
    """Refuse an entity that lacks a number which the library would fill in."""
    for name in names:
        if not e.dxf.hasattr(name):
            raise JawrightError(
                "file-broken", what=f"{label(e)} has no {name.replace('_', ' ')}", todo=_ADVICE
            )


def _flip(e: Any) -> float:
    """1 for an entity seen from above, -1 from below; refuses tilted ones."""
    x, y, z = e.dxf.get("extrusion", (0.0, 0.0, 1.0))
    n = math.sqrt(x * x + y * y + z * z)
    if not n > 0 or math.hypot(x, y) > UPRIGHT * n:
        raise _not_flat(f"{label(e)} is tilted")
    return 1.0 if z > 0 else -1.0


def _not_flat(why: str) -> JawrightError:
    return JawrightError("geometry", what=f"the drawing is not flat: {why}", todo=_ADVICE)


def _line(sheet: Sheet, e: Any) -> None:
    _need(e, "start", "end")
    a, b = e.dxf.start, e.dxf.end
    if abs(a[2] - b[2]) * sheet.scale > LEVEL:
        raise _not_flat(f"{label(e)} rises")
    sheet.take(e, [Line(sheet.point(a), sheet.point(b))], closed=False, level=sheet.height(a[2]))


def _disk(sheet: Sheet, e: Any) -> tuple[float, Point, float]:
    """Side, center and radius [mm] of a circle or arc."""
    _need(e, "center", "radius")
    side = _flip(e)
    c, r = e.dxf.center, float(e.dxf.radius) * sheet.scale
    if not (r > 0 and math.isfinite(r)):
        raise JawrightError("file-broken", what=f"{label(e)} has a radius of {e.dxf.radius:g}", todo=_ADVICE)
    return side, sheet.point((side * c[0], c[1])), r


def _circle(sheet: Sheet, e: Any) -> None:
    side, center, r = _disk(sheet, e)
    sheet.take(e, circle(center, r).curves, closed=True, level=sheet.height(side * e.dxf.center[2]))


def _arc(sheet: Sheet, e: Any) -> None:
    _need(e, "start_angle", "end_angle")
    side, center, r = _disk(sheet, e)
    a, b = math.radians(e.dxf.start_angle), math.radians(e.dxf.end_angle)
    level = sheet.height(side * e.dxf.center[2])
    sweep = (b - a) % (2 * math.pi)
    if sweep * r < 1e-9 or (2 * math.pi - sweep) * r < 1e-9:
        sheet.take(e, circle(center, r).curves, closed=True, level=level)
        return

    def at(angle: float) -> Point:
        return (center[0] + side * r * math.cos(angle), center[1] + r * math.sin(angle))

    sheet.take(e, [Arc(at(a), at(b), center, side > 0)], closed=False, level=level)


def _polygon(
    sheet: Sheet, e: Any, points: list[tuple[float, float, float]], *, closed: bool, level: float
) -> None:
    """A polyline of (x, y, bulge) in mm."""
    if not all(math.isfinite(v) for p in points for v in p):
        raise JawrightError("file-broken", what=f"{label(e)} has a number that is not finite", todo=_ADVICE)
    after = [*points[1:], points[0]] if closed else points[1:]
    curves = [
        bulged((p[0], p[1]), (q[0], q[1]), p[2])
        for p, q in zip(points, after, strict=False)
        if p[:2] != q[:2]
    ]
    if curves and not closed and curves[-1].end == curves[0].start and len(curves) > 1:
        closed = True  # drawn back to its first point
    sheet.take(e, curves, closed=closed and len(curves) > 1, level=level)


def _lwpolyline(sheet: Sheet, e: Any) -> None:
    side, s = _flip(e), sheet.scale
    points = [(side * x * s, y * s, side * b) for x, y, b in e.get_points("xyb")]
    sheet.wide += bool(e.dxf.get("const_width", 0.0)) or any(any(w) for w in e.get_points("se"))
    level = sheet.height(side * e.dxf.get("elevation", 0.0))
    _polygon(sheet, e, points, closed=bool(e.closed), level=level)


def _polyline(sheet: Sheet, e: Any) -> None:
    if e.is_polygon_mesh or e.is_poly_face_mesh:
        sheet.ignored["meshes"] += 1
        return
    s = sheet.scale
    corners = [v for v in e.vertices if not v.dxf.get("flags", 0) & 16]  # 16: only steers a smooth curve
    for v in corners:
        if not v.dxf.hasattr("location"):
            raise JawrightError("file-broken", what=f"{label(e)} has a corner without a place", todo=_ADVICE)
    heights = [v.dxf.location[2] for v in corners] or [0.0]
    side = 1.0
    if e.is_2d_polyline:
        side = _flip(e)
        elevation = e.dxf.get("elevation", (0.0, 0.0, 0.0))
        heights = [elevation[2]]
    if (max(heights) - min(heights)) * s > LEVEL:
        raise _not_flat(f"{label(e)} rises")
    points = [
        (side * v.dxf.location[0] * s, v.dxf.location[1] * s, side * v.dxf.get("bulge", 0.0)) for v in corners
    ]
    _polygon(sheet, e, points, closed=bool(e.is_closed), level=sheet.height(side * heights[0]))


def _fitted(sheet: Sheet, e: Any, found: tuple[tuple[Curve, ...], float], level: float) -> None:
    curves, bound = found
    sheet.fitted += 1
    sheet.bound = max(sheet.bound, bound)
    gap = math.dist(curves[0].start, curves[-1].end)
    whole = len(curves) > 1 and gap < 1e-9 * max(1.0, math.fsum(c.length for c in curves))
    sheet.take(e, curves, closed=whole, level=level)


def _ellipse(sheet: Sheet, e: Any) -> None:
    _need(e, "center", "major_axis", "ratio")
    side, s = _flip(e), sheet.scale
    a0, a1 = float(e.dxf.start_param), float(e.dxf.end_param)
    if abs(a1 - a0 - 2 * math.pi) < 1e-9:
        a0, a1 = 0.0, 2 * math.pi
    if side < 0:  # seen from below it runs the other way round
        a0, a1 = -a1, -a0
    axis, ratio = e.dxf.major_axis, float(e.dxf.ratio)
    if abs(axis[2]) > UPRIGHT * max(abs(axis[0]), abs(axis[1]), 1e-300):
        raise _not_flat(f"{label(e)} is tilted")
    if abs(ratio - 1.0) < 1e-9:
        ratio = 1.0
    level = sheet.height(e.dxf.center[2])
    major = (axis[0] * s, axis[1] * s)
    _fitted(sheet, e, fit_ellipse(sheet.point(e.dxf.center), major, ratio, a0, a1, tol=FIT), level)


def _spline(sheet: Sheet, e: Any) -> None:
    points, s = list(e.control_points), sheet.scale
    if not points:
        _through(sheet, e)
        return
    heights = [p[2] for p in points]
    if (max(heights) - min(heights)) * s > LEVEL:
        raise _not_flat(f"{label(e)} rises")
    control = [(p[0] * s, p[1] * s) for p in points]
    weights = list(e.weights) or None
    knots = list(e.knots)
    _fitted(
        sheet, e, fit_bspline(int(e.dxf.degree), knots, control, weights, tol=FIT), sheet.height(heights[0])
    )


def _through(sheet: Sheet, e: Any) -> None:
    """A spline that gives only points on its way: the cubic through them, with chord lengths as parameter.

    Where the file gives the direction at an end it is kept; else the curve has no curvature there.
    """
    points, s = list(e.fit_points), sheet.scale
    if len(points) < 2:
        raise JawrightError(
            "geometry",
            what=f"{label(e)} has neither control points nor two points on its way",
            todo="export it with control points, or as arcs or a polyline",
        )
    heights = [p[2] for p in points]
    tangents = [e.dxf.get(f"{end}_tangent", None) for end in ("start", "end")]
    if (max(heights) - min(heights)) * s > LEVEL or any(t and abs(t[2]) > UPRIGHT for t in tangents):
        raise _not_flat(f"{label(e)} rises")
    first, last = ((float(t[0]), float(t[1])) if t else None for t in tangents)
    fitted, beside = fit_through(
        [(p[0] * s, p[1] * s) for p in points], ends=(first, last), closed=bool(e.closed), tol=FIT
    )
    sheet.through += 1
    sheet.beside = max(sheet.beside, beside)
    _fitted(sheet, e, fitted, sheet.height(heights[0]))


_READERS: dict[str, Callable[[Sheet, Any], None]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}


def flat(sheet: Sheet) -> None:
    """Refuse curves at several heights: a wire model of a solid, not an outline."""
    low, high = min(sheet.levels, default=0.0), max(sheet.levels, default=0.0)
    if high - low > LEVEL:
        a, b = sheet.levels[low], sheet.levels[high]
        raise _not_flat(f"{a} lies at Z {low / sheet.scale:.4g} and {b} at Z {high / sheet.scale:.4g}")

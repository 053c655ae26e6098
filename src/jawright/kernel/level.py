"""Level cuts of a solid into regions of lines and arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import OCP.collections as occ
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
from OCP.Geom import Geom_TrimmedCurve
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.GeomConvert import GeomConvert
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.fit import fit_bspline
from jawright.geometry.frame import Move, Vec3
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.kernel.border import EDGE, FACE, WIRE, Opened, flat, location, loose_box, open_shape, parts, vec
from jawright.kernel.build import plane_face

JOINED = 1e-7
"""Ends nearer to one another than this [mm] differ by rounding."""
CROSSING = 0.1
"""Sine of the angle from which two curves are told to cross at their joint."""
FIT = 9e-4
"""Bound asked of fitted arcs [mm]: with the kernel's own tolerance the sum stays within 1 µm."""


@dataclass(frozen=True, slots=True)
class Section:
    """What a level cut leaves: regions in the plan and the part face behind each of their curves.

    ``sources[i]`` are the face indices along ``regions[i].outer``, ``hole_sources[i][j]`` those
    along its hole ``j``. ``bound`` is the largest distance of a fitted arc from the true curve [mm].
    """

    regions: tuple[Region, ...]
    sources: tuple[tuple[int, ...], ...]
    hole_sources: tuple[tuple[tuple[int, ...], ...], ...]
    bound: float


def section(shape: bytes, move: Move, z: float) -> Section:
    """Cut of the moved shape at height ``z`` [mm]: exact lines and arcs, other curves fitted.

    Keep ``z`` off horizontal faces: there the cut is not defined. Empty where nothing is met.

    Raises ``geometry`` when the cut cannot be made.
    """
    opened = open_shape(shape)
    placed = opened.shape.Moved(location(move))
    b = loose_box(placed)
    pad = 1.0 + 0.1 * max(b[3] - b[0], b[4] - b[1])
    sheet = rectangle(b[0] - pad, b[1] - pad, b[3] + pad, b[4] + pad)
    common = BRepAlgoAPI_Common()
    for put, item in ((common.SetArguments, plane_face(Region(sheet), z)), (common.SetTools, placed)):
        shapes = occ.List_TopoDS_Shape()
        shapes.Append(item)
        put(shapes)
    common.SetNonDestructive(True)
    common.Build()
    if not common.IsDone():
        raise JawrightError("geometry", what=f"the part could not be cut at Z = {z:.3f} mm")
    back = move.inverse()
    found = [_region(TopoDS.Face(f), opened, back) for f in parts(common.Shape(), FACE) if _wide(f)]
    found.sort(key=lambda r: (r[0].outer.box, -r[0].area))  # the kernel's order is its own affair
    return Section(
        tuple(r[0] for r in found),
        tuple(r[1] for r in found),
        tuple(r[2] for r in found),
        max((r[3] for r in found), default=0.0),
    )


def flat_face(shape: bytes, index: int, move: Move) -> Section:
    """The plan of a planar face that lies level after ``move``. Raises ``geometry`` when it does not."""
    opened = open_shape(shape)
    face = TopoDS.Face(opened.faces[index].Moved(location(move)))
    if abs(BRepAdaptor_Surface(face).Plane().Axis().Direction().Z()) < 1 - 1e-9:
        raise JawrightError("geometry", what="a face does not lie level")
    region, sources, hole_sources, bound = _region(face, opened, move.inverse())
    return Section((region,), (sources,), (hole_sources,), bound)


def _wide(shape: Any) -> bool:
    """False for slivers narrower than the kernel's own tolerance, which bound nothing."""
    b = loose_box(shape)
    return min(b[3] - b[0], b[4] - b[1]) > 1e-5


def _bounds(wire: Any) -> bool:
    """False for lines that only lie in the metal: where faces of the part were left standing inside of it."""
    return any(e.Orientation() != TopAbs_Orientation.TopAbs_INTERNAL for e in _edges(wire))


def _edges(wire: Any) -> list[Any]:
    found, walk = [], TopExp_Explorer(wire, EDGE)
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    return found


_Loop = tuple[Profile, tuple[int, ...], float]


def _region(
    face: Any, opened: Opened, back: Move
) -> tuple[Region, tuple[int, ...], tuple[tuple[int, ...], ...], float]:
    outer = BRepTools.OuterWire_s(face)
    loop = _loop(outer, face, opened, back)
    holes = [
        _loop(TopoDS.Wire(w), face, opened, back)
        for w in parts(face, WIRE)
        if not w.IsSame(outer) and _wide(w) and _bounds(w)
    ]
    loop = loop if loop[0].area > 0 else _turned(loop)
    holes = sorted((h if h[0].area < 0 else _turned(h) for h in holes), key=lambda h: h[0].box)
    region = Region(loop[0], tuple(h[0] for h in holes))
    return region, loop[1], tuple(h[1] for h in holes), max(h[2] for h in (loop, *holes))


def _turned(loop: _Loop) -> _Loop:
    return loop[0].reversed(), loop[1][::-1], loop[2]


def _loop(wire: Any, face: Any, opened: Opened, back: Move) -> _Loop:
    curves: list[Curve] = []
    sources: list[int] = []
    bound = 0.0
    walk = BRepTools_WireExplorer(wire, face)
    while walk.More():
        edge = TopoDS.Edge(walk.Current())
        flip = walk.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        pieces, off = edge_curves(edge, flip=flip)
        middle = BRepAdaptor_Curve(edge)
        at = middle.Value(0.5 * (middle.FirstParameter() + middle.LastParameter()))
        sources += [_source(opened, back.point(vec(at)))] * len(pieces)
        curves += pieces
        bound = max(bound, off)
        walk.Next()
    if not curves:
        raise JawrightError("geometry", what="a cut of the part has a border without any curve")
    closed, moved = _closed(curves)
    return Profile(tuple(closed)), tuple(sources), max(bound, moved)


def _closed(curves: Sequence[Curve]) -> tuple[list[Curve], float]:
    """Ends brought onto one another, and how far off its own course a curve was bent for it [mm].

    Where two faces of a part do not quite meet, their cuts end beside one another by up to the
    tolerance of the part's own corner. Curves that cross are run on or cut back to where they do.
    """
    starts, worst = [], 0.0
    for a, b in zip([curves[-1], *curves[:-1]], curves, strict=True):
        at, off = _joint(a, b)
        starts.append(at)
        worst = max(worst, off)
    ends = [*starts[1:], starts[0]]
    return [
        Line(p, q) if isinstance(c, Line) else Arc(p, q, c.center, c.ccw)
        for c, p, q in zip(curves, starts, ends, strict=True)
    ], worst


def _joint(a: Curve, b: Curve) -> tuple[Point, float]:
    """Where the end of ``a`` and the start of ``b`` become one point, and how far it lies off both [mm]."""
    p, q = a.end, b.start
    gap = (q[0] - p[0], q[1] - p[1])
    if math.hypot(*gap) < JOINED:
        return q, 0.0
    u, v = a.tangent(1.0), b.tangent(0.0)
    sharp = u[0] * v[1] - u[1] * v[0]
    if abs(sharp) > CROSSING:
        t = (gap[0] * v[1] - gap[1] * v[0]) / sharp
        at = (p[0] + t * u[0], p[1] + t * u[1])
    else:
        at = (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]))
    return at, max(_aside(a, at), _aside(b, at))


def _aside(c: Curve, p: Point) -> float:
    """Distance of a point from the line or circle of a curve [mm]."""
    if isinstance(c, Arc):
        return abs(math.dist(p, c.center) - c.radius)
    u = c.tangent()
    return abs((p[0] - c.start[0]) * u[1] - (p[1] - c.start[1]) * u[0])


def _source(opened: Opened, point: Vec3) -> int:
    """The face a point of the surface lies on."""
    near = [
        i
        for i, b in enumerate(opened.boxes)
        if all(b[k] - 1e-4 <= point[k] <= b[k + 3] + 1e-4 for k in range(3))
    ]
    if len(near) == 1:
        return near[0]
    at = BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex()
    gaps = [(float(BRepExtrema_DistShapeShape(at, opened.faces[i]).Value()), i) for i in near]
    gap, index = min(gaps, default=(math.inf, -1))
    return index if gap < 1e-3 else -1


def edge_curves(edge: Any, *, flip: bool) -> tuple[list[Curve], float]:
    """Lines and arcs of a kernel edge lying in a level plane, and the fit's bound [mm]."""
    adaptor = BRepAdaptor_Curve(edge)
    a, b = adaptor.FirstParameter(), adaptor.LastParameter()
    start, end = flat(adaptor.Value(a)), flat(adaptor.Value(b))
    bound = 0.0
    kind = adaptor.GetType()
    curves: list[Curve]
    if kind == GeomAbs_CurveType.GeomAbs_Line:
        curves = [Line(start, end)]
    elif kind == GeomAbs_CurveType.GeomAbs_Circle:
        ring = adaptor.Circle()
        center, ccw = flat(ring.Location()), ring.Axis().Direction().Z() > 0
        middle = flat(adaptor.Value(0.5 * (a + b)))
        if abs(b - a) > 1.5 * math.pi:  # a full circle needs two arcs; near-full ones stay clear of doubt
            curves = [Arc(start, middle, center, ccw), Arc(middle, end, center, ccw)]
        else:
            curves = [Arc(start, end, center, ccw)]
    else:
        curves, bound = _fitted(edge)
    if flip:
        curves = [c.reversed() for c in reversed(curves)]
    return curves, bound


def _fitted(edge: Any) -> tuple[list[Curve], float]:
    """Lines and arcs for an ellipse, hyperbola or spline, and their largest distance from it [mm].

    Curves that the kernel traced between two surfaces carry a tolerance of their own; it counts.
    """
    first, last = BRep_Tool.Range_s(edge)
    curve = GeomConvert.CurveToBSplineCurve_s(
        Geom_TrimmedCurve(BRep_Tool.Curve_s(edge, first, last), first, last)
    )
    if curve.IsPeriodic():
        curve.SetNotPeriodic()
    count = curve.NbPoles()
    knots = [k for i in range(1, curve.NbKnots() + 1) for k in [curve.Knot(i)] * curve.Multiplicity(i)]
    poles = [flat(curve.Pole(i)) for i in range(1, count + 1)]
    weights = [curve.Weight(i) for i in range(1, count + 1)] if curve.IsRational() else None
    found, bound = fit_bspline(curve.Degree(), knots, poles, weights, FIT)
    traced = float(BRep_Tool.Tolerance_s(edge)) if weights is None else 0.0
    return list(found), bound + traced

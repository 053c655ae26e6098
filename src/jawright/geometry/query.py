"""Questions about outlines: inside or not, how far, self-crossings, area moments. Exact for arcs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from jawright.errors import JawrightError
from jawright.geometry.arrange import arrange
from jawright.geometry.curve import Curve, Point
from jawright.geometry.meet import Hits, distances, meetings, share
from jawright.geometry.profile import Profile, Region
from jawright.geometry.table import Floats, Row, Table, from_rows, row_of
from jawright.geometry.winding import (
    chain_rows,
    columns,
    inside,
    inside_profile,
    loops_of,
    middle_of,
    shape_table,
    winding,
)

__all__ = [
    "Crossing",
    "Foot",
    "Moments",
    "inside",
    "inside_profile",
    "moments",
    "nearest_on",
    "require_simple",
    "self_crossings",
    "signed_distance",
    "simple",
    "winding",
]


def signed_distance(region: Region | Profile, points: ArrayLike) -> Floats:
    """Distance [mm] of the ``points`` (n, 2) from the border, negative in the material, shape (n,)."""
    origin = middle_of(loops_of(region)[0])
    x, y = columns(points, origin)
    d, _ = distances(shape_table(region, origin), x, y)
    return np.where(winding(region, points) != 0, -d, d)


@dataclass(frozen=True, slots=True)
class Foot:
    """The nearest place on a border: ``loop`` 0 is the outer outline, then the holes in order."""

    point: Point
    distance: float  # unsigned [mm]
    loop: int
    curve: int
    share: float  # of the curve's length


def nearest_on(region: Region | Profile, points: ArrayLike) -> tuple[Foot, ...]:
    """For each of the ``points`` (n, 2) [mm] the nearest place on the border."""
    loops = loops_of(region)
    origin = middle_of(loops[0])
    x, y = columns(points, origin)
    rows: list[Row] = []
    names: list[tuple[int, int]] = []
    for n, q in enumerate(loops):
        part, tags = chain_rows(q, origin)
        rows += part
        names += [(n, k) for k in tags]
    t = from_rows(rows, halved=True)
    d, w = distances(t, x, y)
    s = np.clip(share(t, w, x, y), 0.0, 1.0)
    fx, fy = t.at(w, s)
    # at an arc seen from beyond its ends the nearer end counts, not the clipped angle
    for ex, ey, end in ((t.x0[w], t.y0[w], 0.0), (t.x1[w], t.y1[w], 1.0)):
        closer = np.hypot(ex - x, ey - y) <= np.hypot(fx - x, fy - y)
        fx, fy, s = np.where(closer, ex, fx), np.where(closer, ey, fy), np.where(closer, end, s)
    out = []
    for k in range(len(x)):
        n, c = names[int(w[k])]
        p = (float(fx[k]) + origin[0], float(fy[k]) + origin[1])
        out.append(Foot(p, float(d[k]), n, c, _share_on(loops[n].curves[c], p)))
    return tuple(out)


def _share_on(c: Curve, p: Point) -> float:
    from_start = from_rows([row_of(c, p)])
    zero = np.zeros(1)
    return float(np.clip(share(from_start, np.zeros(1, dtype=np.int64), zero, zero)[0], 0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two curves of a shape that cross, each as (outline, curve) with the outer outline 0, and where [mm]."""

    first: tuple[int, int]
    second: tuple[int, int]
    point: Point


def self_crossings(shape: Region | Profile, tol: float = 1e-8) -> tuple[Crossing, ...]:
    """Places where the outlines of a shape cross themselves or each other, in the order of their curves.

    Touching in points is allowed; running back along itself is not. Overlaps thinner than
    ``tol`` [mm] are not seen.
    Raises ``geometry`` when a region's outlines run the wrong way round or a hole lies outside.
    """
    origin = middle_of(loops_of(shape)[0])
    rows: list[Row] = []
    names: list[tuple[int, int]] = []
    for n, q in enumerate(loops_of(shape)):
        part, tags = chain_rows(q, origin)
        rows += part
        names += [(n, k) for k in tags]
    t = from_rows(rows, halved=True)
    h = meetings(t, tol)
    alone = isinstance(shape, Profile) or (not shape.holes and shape.area > 0)
    if alone and not _beyond_joints(t, h, tol):
        return ()
    p = arrange(t, np.zeros(len(t), dtype=np.int64), 1, tol)
    runs_back = isinstance(shape, Profile) and shape.area < 0
    wrong = (p.left[:, 0] != (0 if runs_back else 1)) | (p.right[:, 0] != (-1 if runs_back else 0))
    idle = p.idle.reshape(-1, 2)
    found = []
    for m, n in idle.tolist():
        x, y = t.at(np.array([m, n]), np.array([0.5, 0.5]))
        k = 0 if t.length[m] <= t.length[n] else 1  # the middle of the shorter lies nearer the shared run
        if t.length[(m, n)[k]] > 1e-6:
            point = (float(x[k]) + origin[0], float(y[k]) + origin[1])
            found.append(Crossing(names[min(m, n)], names[max(m, n)], point))
    if found or not wrong.any():
        return tuple(sorted(found, key=_place))
    at: dict[int, set[int]] = {}
    for k in range(len(wrong)):
        for v in (int(p.start[k]), int(p.end[k])):
            at.setdefault(v, set()).add(int(p.owner[k]))
    ends = np.unique(np.concatenate((p.start[wrong], p.end[wrong]))).tolist()
    degree = np.bincount(np.concatenate((p.start, p.end)), minlength=len(p.px))
    for v in ends:
        if degree[v] > 2:
            a, b = _apart(sorted(at[v]), names)
            found.append(Crossing(a, b, (float(p.px[v]) + origin[0], float(p.py[v]) + origin[1])))
    if not found:
        raise JawrightError(
            "geometry", what="an outline runs the wrong way round or a hole lies outside its outline"
        )
    return tuple(sorted(found, key=_place))


def _place(c: Crossing) -> tuple[tuple[int, int], tuple[int, int], Point]:
    return (c.first, c.second, c.point)


def _beyond_joints(t: Table, h: Hits, tol: float) -> bool:
    """True when some meeting is not just the joint of two curves that follow each other."""
    if not len(h.i):
        return False
    d0 = np.minimum(np.hypot(h.x - t.x0[h.i], h.y - t.y0[h.i]), np.hypot(h.x - t.x1[h.i], h.y - t.y1[h.i]))
    d1 = np.minimum(np.hypot(h.x - t.x0[h.j], h.y - t.y0[h.j]), np.hypot(h.x - t.x1[h.j], h.y - t.y1[h.j]))
    joins = (t.x1[h.i] == t.x0[h.j]) & (t.y1[h.i] == t.y0[h.j])
    joins |= (t.x1[h.j] == t.x0[h.i]) & (t.y1[h.j] == t.y0[h.i])
    # the tangency of a smooth joint may slide along it as far as the two stay within tol
    slide = 3 * np.sqrt(2 * tol * np.maximum(np.where(t.arc, t.r, 0.0)[h.i], np.where(t.arc, t.r, 0.0)[h.j]))
    reach = np.where(h.end, tol, np.maximum(slide, tol))
    return bool((~joins | (d0 > reach) | (d1 > reach)).any())


def _apart(owners: list[int], names: list[tuple[int, int]]) -> tuple[tuple[int, int], tuple[int, int]]:
    """The two of the curves at a crossing that lie furthest apart along the outline."""
    a = owners[0]
    b = next((o for o in owners if o > a + 1), owners[-1])
    return names[a], names[b]


def simple(shape: Region | Profile) -> bool:
    """True when no outline of the shape crosses itself or another; touching in points is allowed.

    Raises as ``self_crossings`` does.
    """
    return not self_crossings(shape)


def require_simple(shape: Region | Profile) -> None:
    """Raise ``geometry``, naming the place, when an outline crosses itself or another, or has no area."""
    for q in loops_of(shape):
        if not abs(q.area) > 1e-9 * q.perimeter:  # not a number also counts as none
            x, y = q.curves[0].start
            raise JawrightError("geometry", what="an outline has no area", where=f"at ({x:.4f}, {y:.4f}) mm")
    for c in self_crossings(shape)[:1]:
        (m, a), (n, b) = c.first, c.second
        who = f"curves {a + 1} and {b + 1}" if m == n else f"outlines {m + 1} and {n + 1}"
        raise JawrightError(
            "geometry",
            what=f"an outline crosses itself or runs back on itself ({who})"
            if m == n
            else f"two outlines cross ({who})",
            where=f"at ({c.point[0]:.4f}, {c.point[1]:.4f}) mm",
            todo="mend the outline where it crosses",
        )


@dataclass(frozen=True, slots=True)
class Moments:
    """Area [mm²], its center [mm], and second moments [mm⁴] about axes through the center."""

    area: float
    center: Point
    ixx: float  # integral of y²
    iyy: float  # integral of x²
    ixy: float  # integral of x·y


def moments(shape: Region | Profile) -> Moments:
    """Area moments by Green's theorem, exact for arcs: chord polygon plus circular segments.

    Segment of radius r and half angle h about its center, axis u along its middle (any
    handbook of section properties): area r²(h - sin h cos h), center (2/3) r³ sin³h / area,
    integrals of u² and v²: r⁴/4 (h - sin h cos h + 2 sin³h cos h) and
    r⁴/12 (3 h - 3 sin h cos h - 2 sin³h cos h).
    """
    origin = middle_of(loops_of(shape)[0])
    t = shape_table(shape, origin)
    x0, y0, x1, y1 = t.x0, t.y0, t.x1, t.y1
    c = x0 * y1 - x1 * y0
    a = [0.5 * c]
    sx, sy = [c * (x0 + x1) / 6], [c * (y0 + y1) / 6]
    xx, yy = [c * (x0 * x0 + x0 * x1 + x1 * x1) / 12], [c * (y0 * y0 + y0 * y1 + y1 * y1) / 12]
    xy = [c * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) / 24]
    k = np.flatnonzero(t.arc)
    if len(k):
        r, h = t.r[k], 0.5 * np.abs(t.sweep[k])
        sign, m = np.sign(t.sweep[k]), t.a0[k] + 0.5 * t.sweep[k]
        sh, ch = np.sin(h), np.cos(h)
        area = r**2 * (h - sh * ch)
        first = 2 / 3 * r**3 * sh**3
        uu = r**4 / 4 * (h - sh * ch + 2 * sh**3 * ch)
        vv = r**4 / 12 * (3 * h - 3 * sh * ch - 2 * sh**3 * ch)
        cu, cv = np.cos(m), np.sin(m)
        px, py = t.cx[k], t.cy[k]
        a.append(sign * area)
        sx.append(sign * (area * px + first * cu))
        sy.append(sign * (area * py + first * cv))
        xx.append(sign * (uu * cu**2 + vv * cv**2 + 2 * px * first * cu + area * px**2))
        yy.append(sign * (uu * cv**2 + vv * cu**2 + 2 * py * first * cv + area * py**2))
        xy.append(sign * ((uu - vv) * cu * cv + first * (px * cv + py * cu) + area * px * py))
    total, qx, qy, ixx, iyy, ixy = (math.fsum(np.concatenate(v)) for v in (a, sx, sy, yy, xx, xy))
    gx, gy = qx / total, qy / total
    return Moments(
        total,
        (gx + origin[0], gy + origin[1]),
        ixx - total * gy * gy,
        iyy - total * gx * gx,
        ixy - total * gx * gy,
    )

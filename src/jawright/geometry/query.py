"""Questions about outlines: inside or not, how far, self-crossings, area moments. Exact for arcs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from jawright.errors import JawrightError
from jawright.geometry.curve import Curve, Point
from jawright.geometry.meet import distances, meetings, share
from jawright.geometry.profile import Profile, Region
from jawright.geometry.table import Bools, Floats, Ints, Row, Table, from_rows, row_of, tidy_chain


def middle_of(profile: Profile) -> Point:
    """Middle of the joints [mm]: the origin to work about, so that far-off outlines keep digits."""
    xs = [c.start[0] for c in profile.curves]
    ys = [c.start[1] for c in profile.curves]
    return (0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys)))


def chain_rows(profile: Profile, origin: Point) -> tuple[list[Row], list[int]]:
    """The outline as an exact closed chain about ``origin``, and the index of each row's curve."""
    return tidy_chain([row_of(c, origin) for c in profile.curves])


def _loops(shape: Region | Profile) -> tuple[Profile, ...]:
    return (shape,) if isinstance(shape, Profile) else (shape.outer, *shape.holes)


def _shape_table(shape: Region | Profile, origin: Point) -> Table:
    rows: list[Row] = []
    for q in _loops(shape):
        rows += chain_rows(q, origin)[0]
    return from_rows(rows, halved=True)


def _columns(points: ArrayLike, origin: Point) -> tuple[Floats, Floats]:
    p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return p[:, 0] - origin[0], p[:, 1] - origin[1]


def winding_terms(t: Table, x: Floats, y: Floats) -> Ints:
    """What each curve of closed chains adds to the winding number of each point, shape ``(m, n)``.

    The chord by the half-open crossing rule on a ray to +X, and the piece of disk between chord
    and arc; both ask the same cross product, so the chord itself never shows.
    """
    px, py = x[:, None], y[:, None]
    dx, dy = t.x1 - t.x0, t.y1 - t.y0
    cross = dx * (py - t.y0) - dy * (px - t.x0)
    zero_is_left = (dy < 0) | ((dy == 0) & (dx > 0))
    left = (cross > 0) | ((cross == 0) & zero_is_left)
    up = (t.y0 <= py) & (py < t.y1)
    down = (t.y1 <= py) & (py < t.y0)
    out: Ints = (up & left).astype(np.int64) - (down & ~left)
    k = np.flatnonzero(t.arc)
    if len(k):
        inside = (px - t.cx[k]) ** 2 + (py - t.cy[k]) ** 2 < t.r[k] ** 2
        ccw = t.sweep[k] > 0
        out[:, k] += inside & ccw & ~left[:, k]
        out[:, k] -= inside & ~ccw & left[:, k]
    return out


def winding(shape: Region | Profile, points: ArrayLike) -> Ints:
    """Winding number of each of the ``points`` (n, 2) [mm]; a point on the border gets either side's."""
    origin = middle_of(_loops(shape)[0])
    t = _shape_table(shape, origin)
    x, y = _columns(points, origin)
    out = np.zeros(len(x), dtype=np.int64)
    step = max(1, 400_000 // len(t))
    for k in range(0, len(x), step):
        out[k : k + step] = winding_terms(t, x[k : k + step], y[k : k + step]).sum(axis=1)
    return out


def inside(region: Region, points: ArrayLike) -> Bools:
    """Which of the ``points`` (n, 2) [mm] lie in the region's material, shape (n,)."""
    return np.asarray(winding(region, points) != 0, dtype=bool)


def inside_profile(profile: Profile, points: ArrayLike) -> Bools:
    """Which of the ``points`` (n, 2) [mm] lie within the outline, whichever way it runs, shape (n,)."""
    return np.asarray(winding(profile, points) != 0, dtype=bool)


def signed_distance(region: Region | Profile, points: ArrayLike) -> Floats:
    """Distance [mm] of the ``points`` (n, 2) from the border, negative in the material, shape (n,)."""
    origin = middle_of(_loops(region)[0])
    x, y = _columns(points, origin)
    d, _ = distances(_shape_table(region, origin), x, y)
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
    loops = _loops(region)
    origin = middle_of(loops[0])
    x, y = _columns(points, origin)
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
    """Two curves of an outline that meet where they should not, and the place [mm]."""

    first: int
    second: int
    point: Point


def self_crossings(profile: Profile, tol: float = 1e-7) -> tuple[Crossing, ...]:
    """Places where an outline crosses or touches itself away from its joints, in the order of its curves."""
    origin = middle_of(profile)
    rows, tags = chain_rows(profile, origin)
    n = len(rows)
    t = from_rows(rows, halved=True)
    h = meetings(t, tol)
    jx, jy = t.x0, t.y0  # joint k lies between rows k-1 and k
    found: set[tuple[int, int]] = set()
    out: list[Crossing] = []
    for i, j, x, y in zip(h.i.tolist(), h.j.tolist(), h.x.tolist(), h.y.tolist(), strict=True):
        a, b = min(i, j), max(i, j)
        joints = [b] if b == a + 1 else []
        if a == 0 and b == n - 1:
            joints.append(0)
        # beside a smooth joint the meeting may slide along the common tangent
        if any(math.hypot(x - jx[k], y - jy[k]) <= 1e3 * tol for k in joints):
            continue
        if (a, b) not in found:
            found.add((a, b))
            out.append(Crossing(tags[a], tags[b], (x + origin[0], y + origin[1])))
    return tuple(sorted(out, key=lambda c: (c.first, c.second, c.point)))


def simple(profile: Profile) -> bool:
    """True when the outline neither crosses nor touches itself."""
    return not self_crossings(profile)


def require_simple(region: Region | Profile) -> None:
    """Raise ``geometry``, naming the place, when an outline or two outlines of a region cross."""
    for q in _loops(region):
        for c in self_crossings(q)[:1]:
            raise JawrightError(
                "geometry",
                what=f"the outline crosses itself (curves {c.first + 1} and {c.second + 1})",
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
    origin = middle_of(_loops(shape)[0])
    t = _shape_table(shape, origin)
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

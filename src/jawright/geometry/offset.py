"""Exact offsets of regions made of lines and arcs: the result is lines and arcs again.

The border moved by ``d`` along its normals, with an arc of radius |d| about each corner
(run backward at inside corners, arcs smaller than |d| turned inside out), is the
convolution of the border with a circle. Its winding number at a point counts the pieces
the disk of radius |d| about that point has in common with the region (for a shrink: with
its outside), so the offset region is where it is at least one. Rule and proof:
L. Guibas, L. Ramshaw, J. Stolfi, "A kinetic framework for computational geometry",
Proc. 24th IEEE Symp. Foundations of Computer Science, 1983, pp. 100-111.
The rule needs no distance tolerance; the distance of the result from the source is
measured afterwards as an independent check.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.arrange import Loop, arrange, boundary, chain, profiles, regions
from jawright.geometry.boolean import union
from jawright.geometry.curve import Point
from jawright.geometry.meet import distances
from jawright.geometry.profile import Region
from jawright.geometry.query import require_simple
from jawright.geometry.table import Ints, Row, Table, from_rows, recentered
from jawright.geometry.winding import chain_rows, middle_of

SNAP = 1e-4
"""Joints that turn less than this [rad] count as smooth."""

TOLERANCES = (1e-8, 1e-9, 1e-7)
"""Merging distances [mm] tried in this order."""

CHECK = 1e-6
"""Largest accepted error [mm] of the distance of the result from the source."""


def offset(region: Region, d: float) -> tuple[Region, ...]:
    """Grow (d > 0) or shrink (d < 0) a region by the distance ``d`` [mm], outside corners rounded.

    Parameters: ``region`` simple outlines, holes inside; ``d`` in mm, any size.
    Returns the regions left, largest first; none when nothing is left.
    Raises ``geometry`` when an outline crosses itself so that no exact offset exists.
    Valid for outlines that do not cross themselves. Source: see the module.
    """
    if not math.isfinite(d):
        raise JawrightError("geometry", what=f"an offset of {d} mm is not a distance")
    require_simple(region)
    if d == 0.0:
        return (region,)
    origin = middle_of(region.outer)
    source = [chain_rows(q, origin)[0] for q in (region.outer, *region.holes)]
    if d > 0:
        groups = [[source[0]]] + [[h] for h in source[1:] if not _swallowed(h, d)]
    elif _swallowed(source[0], d):
        return ()
    else:
        groups = [source]
    everything = from_rows([r for rows in source for r in rows], halved=True)
    failure: JawrightError | None = None
    for tol in TOLERANCES:
        try:
            loops = [q for g in groups for q in _loops(g, d, everything, origin, tol)]
            return regions(loops)
        except JawrightError as e:
            failure = failure or e
    assert failure is not None
    raise failure


def opening(shapes: Sequence[Region] | Region, r: float) -> tuple[Region, ...]:
    """What a cutter of radius ``r`` [mm] can really leave: shrunk by ``r``, then grown by ``r``.

    ``shapes`` may overlap or share edges; they are one body. Raises as ``offset`` does.
    """
    if r < 0:
        raise JawrightError("geometry", what=f"a cutter radius of {r:g} mm is below zero")
    body = (shapes,) if isinstance(shapes, Region) else union(shapes, ())
    left = [q for s in body for q in offset(s, -r)]
    return union([q for s in left for q in offset(s, r)], ())


def _swallowed(rows: list[Row], d: float) -> bool:
    """True when a disk of radius |d| is at least as wide as the outline: nothing survives a shrink."""
    b = from_rows(rows, halved=True).boxes()
    w, h = b[:, 2].max() - b[:, 0].min(), b[:, 3].max() - b[:, 1].min()
    return bool(2 * abs(d) >= min(w, h))


def _loops(group: list[list[Row]], d: float, source: Table, origin: Point, tol: float) -> list[Loop]:
    rows = [r for chain_ in group for r in _raw(chain_, d)]
    t = from_rows(rows, halved=True)
    p = arrange(t, np.zeros(len(t), dtype=np.int64), 1, tol)
    # a shrinking hole runs clockwise: there the outside of the offset is where the number is negative
    grows_hole = d > 0 and group[0] is not None and _clockwise(group[0])

    def rule(w: Ints) -> np.ndarray:
        return w[:, 0] >= (0 if grows_hole else 1)

    edges = boundary(p, rule)
    if edges:
        v = np.array([e[0] for e in edges])
        (k,) = (rule(p.left) != rule(p.right)).nonzero()
        _check(source, np.concatenate((p.px[v], p.mx[k])), np.concatenate((p.py[v], p.my[k])), d)
    return profiles(t, p, chain(t, p, edges), origin, 4 * tol)


def _check(source: Table, x: np.ndarray, y: np.ndarray, d: float) -> None:
    off, _ = distances(source, x, y)
    worst = int(np.argmax(np.abs(off - abs(d))))
    if abs(off[worst] - abs(d)) > CHECK:
        raise JawrightError(
            "geometry",
            what=f"no exact offset by {d:g} mm was found: the outline may cross or touch itself",
            where=f"at ({x[worst]:.4f}, {y[worst]:.4f}) mm from the outline's own center",
            todo="mend the outline there",
        )


def _clockwise(rows: list[Row]) -> bool:
    t = from_rows(rows, halved=True)
    chord = 0.5 * (t.x0 * t.y1 - t.x1 * t.y0)
    bow = np.where(t.arc, 0.5 * t.r**2 * (t.sweep - np.sin(t.sweep)), 0.0)
    return float((chord + bow).sum()) < 0


def _raw(rows: list[Row], d: float) -> list[Row]:
    """The moved border with its corner arcs, closed: each row starts exactly where the one before ends."""
    t = from_rows(rows, halved=True)
    sign = np.where(t.arc, np.sign(t.sweep), 0.0)
    a1 = t.a0 + t.sweep
    dx, dy, n = t.x1 - t.x0, t.y1 - t.y0, np.hypot(t.x1 - t.x0, t.y1 - t.y0)
    # outward normals: right of travel
    n0x = np.where(t.arc, sign * np.cos(t.a0), dy / n)
    n0y = np.where(t.arc, sign * np.sin(t.a0), -dx / n)
    n1x = np.where(t.arc, sign * np.cos(a1), dy / n)
    n1y = np.where(t.arc, sign * np.sin(a1), -dx / n)
    radius = np.abs(np.where(t.arc, t.r + sign * d, 0.0))
    length = np.where(t.arc, radius * np.abs(t.sweep), n)
    m = len(rows)
    starts = [(t.x0[k] + d * n0x[k], t.y0[k] + d * n0y[k]) for k in range(m)]
    ends = [(t.x1[k] + d * n1x[k], t.y1[k] + d * n1y[k]) for k in range(m)]
    corner: list[Row | None] = [None] * m
    for k in range(m):
        j = (k + 1) % m
        cosine = n1x[k] * n0x[j] + n1y[k] * n0y[j]
        turn = math.atan2(n1x[k] * n0y[j] - n1y[k] * n0x[j], cosine)
        slide = 0.5 * abs(d * turn)
        bend = min(radius[i] if t.arc[i] else math.inf for i in (k, j))
        if abs(turn) < SNAP and (
            slide < 1e-10 or (8 * slide < min(length[k], length[j]) and slide**2 < 4e-8 * bend)
        ):
            f = d / (1 + cosine)
            p = (t.x1[k] + f * (n1x[k] + n0x[j]), t.y1[k] + f * (n1y[k] + n0y[j]))
            ends[k] = starts[j] = p
            continue
        if abs(turn) > math.pi - 1e-4:
            turn = math.copysign(turn, _cusp_side(t, k, j))
        corner[k] = (*ends[k], *starts[j], t.x1[k], t.y1[k], math.copysign(1.0, turn))
    out: list[Row] = []
    for k in range(m):
        row = (*starts[k], *ends[k], t.cx[k], t.cy[k], sign[k])
        out.append(recentered(row) if radius[k] > 1e-6 else row)
        c = corner[k]
        if c is not None:
            out.append(c)
    return out


def _cusp_side(t: Table, k: int, j: int) -> float:
    """Left (+) or right (-) turn at a joint where the border turns back on itself."""
    reach = 0.25 * min(float(t.length[k]), float(t.length[j]))
    a, b = np.array([k]), np.array([j])
    ax, ay = t.at(a, np.array([1.0 - reach / t.length[k]]))
    bx, by = t.at(b, np.array([reach / t.length[j]]))
    px, py = t.x1[k], t.y1[k]
    return float((px - ax[0]) * (by[0] - py) - (py - ay[0]) * (bx[0] - px))

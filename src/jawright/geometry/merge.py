"""One outline, one form: runs joined, nothing of zero length, always the same start.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.profile import Profile, Region


def simplify(profile: Profile, tol: float = 1e-9) -> Profile:
    """The same outline with as few curves as it needs, starting at its lowest, then leftmost, joint.

    Curves shorter than ``tol`` [mm] go; consecutive lines on one line and arcs on one circle
    within ``tol`` become one. A full circle is two arcs from its lowest to its highest point
    and back. The direction of travel stays. Raises ``geometry`` when nothing is left.
    """
    curves = _without_short(profile.curves, tol)
    if len(curves) < 2:
        raise JawrightError("geometry", what="the outline has no area")
    first = next((k for k in range(len(curves)) if not _runs_on(curves[k - 1], curves[k], tol)), None)
    if first is None:
        return _circle(curves)
    run: list[Curve] = []
    out: list[Curve] = []
    done: Curve | None = None
    for c in curves[first:] + curves[:first]:
        longer = _merge([*run, c], tol) if run else c
        if longer is None:
            assert done is not None
            out.append(done)
            run, done = [c], c
        else:
            run.append(c)
            done = longer
    assert done is not None
    out.append(done)
    if len(out) < 2:
        return _circle(curves) if isinstance(curves[0], Arc) else Profile(tuple(curves))
    low = min(range(len(out)), key=lambda k: (round(out[k].start[1], 7), round(out[k].start[0], 7)))
    return Profile(tuple(out[low:] + out[:low]))


def simplify_region(region: Region, tol: float = 1e-9) -> Region:
    """Every outline of the region simplified; holes by place, lowest first."""
    holes = sorted((simplify(h, tol) for h in region.holes), key=lambda h: (h.box[1], h.box[0], h.box))
    return Region(simplify(region.outer, tol), tuple(holes))


def _without_short(curves: tuple[Curve, ...], tol: float) -> list[Curve]:
    kept = [
        c for c in curves if math.dist(c.start, c.end) > tol or (isinstance(c, Arc) and c.length > 4 * tol)
    ]
    out: list[Curve] = []
    for k, c in enumerate(kept):
        end = kept[(k + 1) % len(kept)].start
        out.append(Line(c.start, end) if isinstance(c, Line) else Arc(c.start, end, c.center, c.ccw))
    return out


def _runs_on(a: Curve, b: Curve, tol: float) -> bool:
    """True when ``b`` goes on as ``a`` did."""
    if isinstance(a, Arc) and isinstance(b, Arc) and a.ccw == b.ccw:
        lead = max(a, b, key=lambda c: c.length)
        points = (a.start, a.at(0.5), b.start, b.at(0.5), b.end)
        return all(abs(math.dist(p, lead.center) - lead.radius) <= tol for p in points)
    return isinstance(a, Line) and isinstance(b, Line) and _one_line([a, b], tol) is not None


def _merge(run: list[Curve], tol: float) -> Curve | None:
    """The one curve that stands for a run within ``tol``, or None."""
    a, b = run[0], run[-1]
    if isinstance(a, Line) and isinstance(b, Line):
        return _one_line([c for c in run if isinstance(c, Line)], tol)
    if isinstance(a, Arc) and isinstance(b, Arc) and a.ccw == b.ccw:
        return _one_arc([c for c in run if isinstance(c, Arc)], tol)
    return None


def _one_line(run: list[Line], tol: float) -> Line | None:
    whole = Line(run[0].start, run[-1].end)
    if whole.length <= tol:
        return None
    ux, uy = whole.tangent()
    along = 0.0
    for c in run:
        dx, dy = c.end[0] - whole.start[0], c.end[1] - whole.start[1]
        here = dx * ux + dy * uy
        if abs(dx * uy - dy * ux) > tol or here <= along:
            return None
        along = here
    return whole


def _one_arc(run: list[Arc], tol: float) -> Arc | None:
    lead = max(run, key=lambda c: c.length)
    if sum(abs(c.sweep) for c in run) > 2 * math.pi - 1e-3:
        return None
    r = lead.radius
    if any(
        abs(math.dist(p, lead.center) - r) > tol
        for c in run
        if c is not lead
        for p in (c.start, c.at(0.5), c.end)
    ):
        return None
    return Arc(run[0].start, run[-1].end, lead.center, lead.ccw)


def _circle(curves: list[Curve]) -> Profile:
    lead = max(curves, key=lambda c: c.length)
    if not isinstance(lead, Arc):
        raise JawrightError("geometry", what="the outline has no area")
    (x, y), r = lead.center, lead.radius
    low: Point = (x, y - r)
    high: Point = (x, y + r)
    return Profile((Arc(low, high, lead.center, lead.ccw), Arc(high, low, lead.center, lead.ccw)))

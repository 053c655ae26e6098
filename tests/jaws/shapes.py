"""Families of random outlines for the property tests of jaws, each reproducible from its number."""

from __future__ import annotations

import math

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.profile import Profile, circle
from jawright.geometry.query import simple

Rng = np.random.Generator


def rounded(points: list[tuple[float, float]], radii: list[float]) -> Profile:
    """Polygon with a tangent arc at every corner whose radius is above 0; radii are held to what fits."""
    p = [np.array(q) for q in points]
    n = len(p)
    ends = []
    for i in range(n):
        a, b, c = p[i - 1], p[i], p[(i + 1) % n]
        u, v = (a - b) / np.linalg.norm(a - b), (c - b) / np.linalg.norm(c - b)
        half = math.acos(float(np.clip(u @ v, -1, 1))) / 2
        room = 0.45 * min(float(np.linalg.norm(a - b)), float(np.linalg.norm(c - b)))
        r = min(radii[i], room * math.tan(half)) if abs(math.cos(half)) > 1e-6 else 0.0
        t = r / math.tan(half)
        left = float(u[0] * v[1] - u[1] * v[0]) < 0
        bis = (u + v) / max(float(np.linalg.norm(u + v)), 1e-12)
        center = b + bis * (r / math.sin(half))
        ends.append((tuple(b + u * t), tuple(b + v * t), tuple(center), left, r))
    curves: list[Curve] = []
    for i in range(n):
        start, end, center, left, r = ends[i]
        if r > 1e-9:
            curves.append(Arc(start, end, center, left))
        after = ends[(i + 1) % n][0]
        if math.dist(end, after) > 1e-9:
            curves.append(Line(end, after))
    return Profile(tuple(curves))


def star(rng: Rng) -> Profile:
    n = int(rng.integers(3, 9))
    angles = np.arange(n) * 2 * np.pi / n + rng.uniform(0, 1.6 * np.pi / n, n)
    radii = rng.uniform(12.0, 34.0, n)
    pts = [(float(r * math.cos(a)), float(r * math.sin(a))) for r, a in zip(radii, angles, strict=True)]
    sharp = rng.random() < 0.4
    return rounded(pts, [0.0 if sharp else float(rng.uniform(0.3, 8.0)) for _ in pts])


def box(rng: Rng) -> Profile:
    w, h = float(rng.uniform(12, 110)), float(rng.uniform(10, 70))
    lean = float(rng.uniform(-0.3, 0.3)) if rng.random() < 0.5 else 0.0
    pts = [(0.0, 0.0), (w, 0.0), (w + lean * h, h), (lean * h, h)]
    r = float(rng.choice([0.0, 0.5, 1.5, 3.0, 6.0]))
    return rounded(pts, [r] * 4)


def ell(rng: Rng) -> Profile:
    a, b = float(rng.uniform(35, 80)), float(rng.uniform(30, 60))
    s, t = float(rng.uniform(8, 20)), float(rng.uniform(8, 20))
    pts = [(0.0, 0.0), (a, 0.0), (a, s), (t, s), (t, b), (0.0, b)]
    return rounded(pts, [float(rng.uniform(0.0, 5.0)) for _ in pts])


def tee(rng: Rng) -> Profile:
    w, s, d, leg = (float(rng.uniform(*q)) for q in ((40, 80), (8, 16), (15, 40), (10, 20)))
    x0, x1 = w / 2 - leg / 2, w / 2 + leg / 2
    pts = [(0.0, 0.0), (w, 0.0), (w, s), (x1, s), (x1, s + d), (x0, s + d), (x0, s), (0.0, s)]
    return rounded(pts, [float(rng.uniform(0.0, 4.0)) for _ in pts])


def fork(rng: Rng) -> Profile:
    w, h, t, m = (float(rng.uniform(*q)) for q in ((35, 70), (30, 60), (8, 14), (8, 18)))
    pts = [(0.0, 0.0), (w, 0.0), (w, h), (w - t, h), (w - t, m), (t, m), (t, h), (0.0, h)]
    return rounded(pts, [float(rng.uniform(0.0, 4.0)) for _ in pts])


def flats(rng: Rng) -> Profile:
    """A disc with one or two flats, not parallel."""
    r = float(rng.uniform(9, 40))
    cuts = sorted(float(a) for a in rng.uniform(0, 2 * math.pi, int(rng.integers(1, 3))))
    half = float(rng.uniform(0.3, 0.7))
    spans = [(a - half, a + half) for a in cuts]
    if len(spans) == 2 and (spans[1][0] - spans[0][1] < 0.3 or spans[0][0] + 2 * math.pi - spans[1][1] < 0.3):
        spans = spans[:1]
    curves: list[Curve] = []

    def at(a: float) -> tuple[float, float]:
        return (r * math.cos(a), r * math.sin(a))

    for i, (a, b) in enumerate(spans):
        curves.append(Line(at(a), at(b)))
        after = spans[(i + 1) % len(spans)][0] + (2 * math.pi if i + 1 == len(spans) else 0.0)
        middle = (b + after) / 2
        curves += [Arc(at(b), at(middle), (0.0, 0.0), True), Arc(at(middle), at(after), (0.0, 0.0), True)]
    return Profile(tuple(curves))


def lobes(rng: Rng) -> Profile:
    """Alternating outward and hollow arcs round a center: a hand knob, with tangent joints."""
    n = int(rng.integers(3, 7))
    big, r = float(rng.uniform(18, 30)), float(rng.uniform(5, 9))
    step = math.pi / n
    out = [(big * math.cos(2 * k * step), big * math.sin(2 * k * step)) for k in range(n)]
    apart = big * 2 * math.sin(step)
    hollow = max(float(rng.uniform(0.8, 2.0)) * apart - r, apart / 2 - r + 1.0, 1.0)
    reach = math.sqrt(max((r + hollow) ** 2 - (apart / 2) ** 2, 0.0))
    far = big * math.cos(step) + reach
    inner = [(far * math.cos((2 * k + 1) * step), far * math.sin((2 * k + 1) * step)) for k in range(n)]

    def touch(c: tuple[float, float], d: tuple[float, float]) -> tuple[float, float]:
        k = r / math.dist(c, d)
        return (c[0] + k * (d[0] - c[0]), c[1] + k * (d[1] - c[1]))

    curves: list[Curve] = []
    for k in range(n):
        start, end = touch(out[k], inner[k - 1]), touch(out[k], inner[k])
        curves.append(Arc(start, end, out[k], True))
        curves.append(Arc(end, touch(out[(k + 1) % n], inner[k]), inner[k], False))
    return Profile(tuple(curves))


def slot(rng: Rng) -> Profile:
    a, r = float(rng.uniform(10, 70)), float(rng.uniform(6, 20))
    s = float(rng.uniform(0.4, 1.0)) * r
    lean = math.asin((r - s) / a) if r - s < a else 0.0
    up = (math.sin(lean), math.cos(lean))
    p, q = (r * up[0], r * up[1]), (a + s * up[0], s * up[1])
    return Profile(
        (
            Line((p[0], -p[1]), (q[0], -q[1])),
            Arc((q[0], -q[1]), q, (a, 0.0), True),
            Line(q, p),
            Arc(p, (p[0], -p[1]), (0.0, 0.0), True),
        )
    )


def bone(rng: Rng) -> Profile:
    """A bar with a bay in each end: what stops it along X is short, beside the corners of its long sides."""
    w, h, cheek, deep = (float(rng.uniform(*q)) for q in ((30, 80), (10, 40), (1.5, 6.0), (1.5, 8.0)))
    cheek = min(cheek, 0.3 * h)
    pts = [(0.0, 0.0), (w, 0.0), (w, cheek), (w - deep, cheek), (w - deep, h - cheek), (w, h - cheek)]
    pts += [(w, h), (0.0, h), (0.0, h - cheek), (deep, h - cheek), (deep, cheek), (0.0, cheek)]
    return rounded(pts, [float(rng.choice([0.0, rng.uniform(0.2, 1.0)]))] * 12)


def disc(rng: Rng) -> Profile:
    return circle((0.0, 0.0), float(rng.uniform(6, 45)))


FAMILIES = (star, box, ell, tee, fork, flats, lobes, slot, disc, bone)


def outline(number: int) -> Profile | None:
    """The outline of a number, turned at random; None where the draw crosses itself."""
    rng = np.random.default_rng(number)
    family = FAMILIES[number % len(FAMILIES)]
    try:
        profile = family(rng).moved(turn=float(rng.choice([0.0, rng.uniform(0, 2 * math.pi)])))
        return profile if profile.area > 50.0 and simple(profile) else None
    except (JawrightError, ValueError, ZeroDivisionError):
        return None


JOB = """units = "mm"
[job]
name = "Outline {number}"
quantity = 20
[part]
file = "part.step"
material = "6061-T6"
[hold]
up = "+Z"
[[feature]]
name = "top"
kind = "face"
depth = 0.5
at = [{x:.3f}, {y:.3f}, {tall}]
[[tolerance]]
feature = "top"
kind = "parallelism"
zone = 0.1
datums = ["A"]
[[datum]]
letter = "A"
at = [{x:.3f}, {y:.3f}, 0.0]
"""
"""A plate of an outline whose top is faced: by its number, a point inside and its height [mm]."""

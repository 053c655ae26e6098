"""Build the parts of the gallery's kinds as STEP files: `python examples/make_kinds.py [FOLDER]`.

Nineteen kinds of part that a milling vise has to deal with, each an invented part of a dinghy
winch. All stand on z = 0 with the side this operation finishes on top. They are written beside the
jobs that ask for them, into examples/kinds, when no other folder is named.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from jawright import kernel
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.frame import Move
from jawright.geometry.profile import Profile, Region, circle, rectangle

JOBS = Path(__file__).resolve().parent / "kinds"


def rounded(corners: Sequence[tuple[float, float, float]]) -> Profile:
    """Polygon of ``(x, y, radius)`` corners, counter-clockwise, each rounded by a tangent arc (0: sharp)."""
    ends: list[tuple[Point, Point, Point, bool]] = []
    n = len(corners)
    for i, (x, y, r) in enumerate(corners):
        (ax, ay, _), (bx, by, _) = corners[i - 1], corners[(i + 1) % n]
        la, lb = math.hypot(ax - x, ay - y), math.hypot(bx - x, by - y)
        u, v = ((ax - x) / la, (ay - y) / la), ((bx - x) / lb, (by - y) / lb)
        half = math.acos(max(-1.0, min(1.0, u[0] * v[0] + u[1] * v[1]))) / 2
        t = r / math.tan(half)
        left = u[0] * v[1] - u[1] * v[0] < 0
        along = r / math.sin(half)
        bis = (u[0] + v[0], u[1] + v[1])
        size = math.hypot(*bis) or 1.0
        middle = (x + bis[0] / size * along, y + bis[1] / size * along)
        ends.append(((x + u[0] * t, y + u[1] * t), (x + v[0] * t, y + v[1] * t), middle, left))
    curves: list[Curve] = []
    for i, (start, end, middle, left) in enumerate(ends):
        if corners[i][2] > 0:
            curves.append(Arc(start, end, middle, left))
        after = ends[(i + 1) % n][0]
        if math.dist(end, after) > 1e-9:
            curves.append(Line(end, after))
    return Profile(tuple(curves))


def _plate(outline: Profile, thick: float, holes: Sequence[tuple[Point, float]] = ()) -> bytes:
    body = kernel.extrude(Region(outline), 0.0, thick)
    return _drilled(body, thick, holes)


def _drilled(body: bytes, thick: float, holes: Sequence[tuple[Point, float]]) -> bytes:
    tools = [kernel.cylinder((x, y, -1.0), (0.0, 0.0, 1.0), d / 2, thick + 2.0) for (x, y), d in holes]
    return kernel.cut(body, *tools)


def square_block() -> bytes:
    """Cleat block 45 × 45 × 20, sharp corners, one bolt hole."""
    return _plate(rectangle(-22.5, -22.5, 22.5, 22.5), 20.0, [((0.0, 0.0), 9.5)])


def disc() -> bytes:
    """Drum cap, 48 across, 12 thick, with a bore of 10."""
    return _plate(circle((0.0, 0.0), 24.0), 12.0, [((0.0, 0.0), 10.0)])


def triangle() -> bytes:
    """Gusset: three sides, corners of radius 1.2."""
    corners = [(0.0, 0.0, 1.2), (64.0, 0.0, 1.2), (22.0, 46.0, 1.2)]
    return _plate(rounded(corners), 12.0, [((28.0, 15.0), 10.0)])


def bracket() -> bytes:
    """Lead bracket: an L of arms 62 and 44, 16 wide, hollow corner of radius 6."""
    corners = [
        (0.0, 0.0, 2.0), (62.0, 0.0, 3.0), (62.0, 16.0, 3.0), (16.0, 16.0, 6.0), (16.0, 44.0, 3.0),
        (0.0, 44.0, 3.0),
    ]  # fmt: skip
    return _plate(rounded(corners), 14.0, [((52.0, 8.0), 5.0), ((8.0, 34.0), 5.0)])


def ring() -> bytes:
    """Bearing ring, 60 outside, 50 inside, 12 thick: a wall of 5."""
    return kernel.extrude(Region(circle((0.0, 0.0), 30.0), (circle((0.0, 0.0), 25.0).reversed(),)), 0.0, 12.0)


def lever() -> bytes:
    """Release lever: bosses of 26 and 18 at 60 apart, 14 thick, an arm of tangent sides 10 thick between."""
    big, small, apart = 13.0, 9.0, 60.0
    lean = math.asin((big - small) / apart)
    up = (math.sin(lean), math.cos(lean))
    a, b = (big * up[0], big * up[1]), (apart + small * up[0], small * up[1])
    arm = Profile(
        (
            Line((a[0], -a[1]), (b[0], -b[1])),
            Arc((b[0], -b[1]), b, (apart, 0.0), True),
            Line(b, a),
            Arc(a, (a[0], -a[1]), (0.0, 0.0), True),
        )
    )
    body = kernel.extrude(Region(arm), 0.0, 10.0)
    bosses = [
        kernel.cylinder((x, 0.0, 0.0), (0.0, 0.0, 1.0), r, 14.0) for x, r in ((0.0, big), (apart, small))
    ]
    return _drilled(kernel.fuse(body, *bosses), 14.0, [((0.0, 0.0), 10.0), ((apart, 0.0), 5.0)])


def one_flat() -> bytes:
    """Spool end: a disc of 44 with one flat 16 from its center."""
    x = math.sqrt(22.0**2 - 16.0**2)
    outline = Profile((Line((x, 16.0), (-x, 16.0)), Arc((-x, 16.0), (x, 16.0), (0.0, 0.0), True)))
    return _plate(outline, 12.0, [((0.0, 0.0), 10.0)])


def tall_plate() -> bytes:
    """Fairlead rib: 70 long, 6 thick, standing 45 high."""
    return kernel.extrude(Region(rectangle(-35.0, -3.0, 35.0, 3.0)), 0.0, 45.0)


def long_bar() -> bytes:
    """Track bar, 420 long, 34 at one end and 28 at the other, 16 thick: longer than any pair of jaws."""
    corners = [(-210.0, 0.0, 3.0), (210.0, 0.0, 3.0), (210.0, 28.0, 3.0), (-210.0, 34.0, 3.0)]
    return _plate(rounded(corners), 16.0, [((-150.0, 15.0), 9.5), ((150.0, 14.0), 9.5)])


def tapered() -> bytes:
    """Anchor pad 50 × 36 × 14 with walls drafted 3 degrees, wide side down."""
    return wedge_block(50.0, 36.0, 14.0, math.radians(3.0))


def wedge_block(length: float, width: float, tall: float, draft: float) -> bytes:
    """Block wider at the bottom: each wall leans in by ``draft`` [rad]."""
    body = kernel.extrude(Region(rectangle(-length / 2, -width / 2, length / 2, width / 2)), 0.0, tall)
    far = 4.0 * max(length, width, tall)
    s, c = math.sin(draft), math.cos(draft)
    tools = []
    for nx, ny, off in ((1, 0, length), (-1, 0, length), (0, 1, width), (0, -1, width)):
        slab = kernel.extrude(Region(rectangle(0.0, -far, far, far)), -far, far)
        # lean about Y, then turn about Z so that the slab lies outside the wall
        turn = Move(
            "prism",
            "part",
            ((nx * c, -ny, nx * s * -1.0), (ny * c, nx, ny * s * -1.0), (s, 0.0, c)),
            (nx * off / 2, ny * off / 2, 0.0),
        )
        tools.append(kernel.moved(slab, turn))
    return kernel.cut(body, *tools)


def tiny() -> bytes:
    """Spring seat, 9 by 6 by 5, one end round."""
    outline = Profile(
        (
            Line((3.0, 3.0), (-5.0, 3.0)),
            Line((-5.0, 3.0), (-5.0, -3.0)),
            Line((-5.0, -3.0), (3.0, -3.0)),
            Arc((3.0, -3.0), (3.0, 3.0), (3.0, 0.0), True),
        )
    )
    return kernel.extrude(Region(outline), 0.0, 5.0)


def small_pawl() -> bytes:
    """Small pawl for four in one pair: a flat, a round nose and a slanted belly."""
    corners = [(0.0, -14.0, 3.0), (26.0, -9.0, 3.5), (26.0, 0.0, 2.0), (0.0, 0.0, 2.0)]
    return _plate(rounded(corners), 8.0, [((8.0, -6.5), 5.0)])


def cheek() -> bytes:
    """Cheek for a left and a right hand: no mirror line of its own."""
    corners = [(0.0, 0.0, 3.0), (46.0, 0.0, 3.0), (50.0, 14.0, 4.0), (30.0, 30.0, 4.0), (0.0, 26.0, 3.0)]
    return _plate(rounded(corners), 10.0, [((14.0, 13.0), 9.5), ((36.0, 12.0), 5.0)])


def spacer_bar() -> bytes:
    """Spacer bar 80 × 30 × 20: two long parallel flats."""
    return _plate(rectangle(-40.0, -15.0, 40.0, 15.0), 20.0, [((-28.0, 0.0), 5.8), ((28.0, 0.0), 5.8)])


def hooked() -> bytes:
    """Drip cover: a block whose roof reaches out and hangs down beside it to 3 above the floor."""
    body = kernel.extrude(Region(rectangle(-25.0, -14.0, 25.0, 14.0)), 0.0, 24.0)
    roof = kernel.extrude(Region(rectangle(-25.0, 10.0, 25.0, 32.0)), 16.0, 24.0)
    skirt = kernel.extrude(Region(rectangle(-25.0, 26.0, 25.0, 32.0)), 3.0, 20.0)
    return kernel.fuse(body, roof, skirt)


def bell() -> bytes:
    """Bell mouth of the chain pipe: round, 28 across below, 68 above, its wall leaning 40 degrees."""
    whole = kernel.cone((0.0, 0.0, 24.0), (0.0, 0.0, -1.0), 34.0, 34.0 / math.tan(math.radians(40.0)))
    return kernel.cut(whole, kernel.extrude(Region(rectangle(-99.0, -99.0, 99.0, 99.0)), -99.0, 0.0))


def pad() -> bytes:
    """Rudder stock pad 70 × 40 × 12, corners of radius 3, a bore of 10: its outline is still raw."""
    corners = [(0.0, 0.0, 3.0), (70.0, 0.0, 3.0), (70.0, 40.0, 3.0), (0.0, 40.0, 3.0)]
    return _plate(rounded(corners), 12.0, [((35.0, 20.0), 10.0)])


def cover() -> bytes:
    """Bearing cover 70 × 46 × 14, its far side aslant, with a hub of 24 that reaches 5 below it; bore 12."""
    corners = [(-35.0, -22.0, 4.0), (35.0, -22.0, 4.0), (24.0, 24.0, 8.0), (-35.0, 16.0, 4.0)]
    flange = kernel.extrude(Region(rounded(corners)), 5.0, 19.0)
    body = kernel.fuse(flange, kernel.cylinder((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 12.0, 6.0))
    return _drilled(body, 19.0, [((0.0, 0.0), 12.0)])


def casting() -> bytes:
    """Stanchion foot as cast: a kidney of tangent arcs without one straight run."""
    arcs = [
        (0.0, 0.0, 20.0), (52.0, 4.0, 14.0),
    ]  # fmt: skip
    (x1, y1, r1), (x2, y2, r2) = arcs
    over, under = 90.0, 60.0
    top = _bridge((x1, y1), r1, (x2, y2), r2, over, below=True)
    low = _bridge((x1, y1), r1, (x2, y2), r2, under, below=False)
    # over the top a wide outward arc that both rounds touch from inside, below a hollow one from outside
    outline = Profile(
        (
            Arc(top[1], top[0], top[2], True),
            Arc(top[0], low[0], (x1, y1), True),
            Arc(low[0], low[1], low[2], False),
            Arc(low[1], top[1], (x2, y2), True),
        )
    )
    return _plate(outline, 14.0, [((0.0, 0.0), 9.5)])


def _bridge(
    a: Point, ra: float, b: Point, rb: float, radius: float, *, below: bool
) -> tuple[Point, Point, Point]:
    """Touch points and center of an arc tangent to two rounds.

    ``below``: its center lies below both and it wraps them; else below and they touch it from outside.
    """
    da, db = (radius - ra, radius - rb) if below else (radius + ra, radius + rb)
    d = math.dist(a, b)
    along = (da * da - db * db + d * d) / (2 * d)
    high = math.sqrt(da * da - along * along)
    ux, uy = (b[0] - a[0]) / d, (b[1] - a[1]) / d
    center = (a[0] + along * ux + high * uy, a[1] + along * uy - high * ux)

    def touch(c: Point, r: float) -> Point:
        k = r / math.dist(c, center)
        sign = 1.0 if below else -1.0
        return (c[0] + sign * k * (c[0] - center[0]), c[1] + sign * k * (c[1] - center[1]))

    return touch(a, ra), touch(b, rb), center


PARTS: dict[str, Callable[[], bytes]] = {
    "square": square_block,
    "disc": disc,
    "triangle": triangle,
    "l-bracket": bracket,
    "thin-ring": ring,
    "lever": lever,
    "one-flat": one_flat,
    "tall-plate": tall_plate,
    "long-bar": long_bar,
    "tapered": tapered,
    "tiny": tiny,
    "four-up": small_pawl,
    "mirror-pair": cheek,
    "no-soft-jaws": spacer_bar,
    "cannot-load": bell,
    "two-feet": hooked,
    "casting": casting,
    "milled-round": pad,
    "two-levels": cover,
}
"""Kind of part to the function that builds it; a job of the same name stands in examples/kinds."""


def write(folder: Path) -> list[Path]:
    """Write every part into ``folder``; returns the paths of the jobs that name them."""
    for name, build in PARTS.items():
        (folder / f"{name}.step").write_bytes(kernel.step_text({name: build()}, title=name))
    return [JOBS / f"{name}.toml" for name in PARTS]


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else JOBS
    target.mkdir(parents=True, exist_ok=True)
    write(target)
    print(f"wrote {len(PARTS)} parts into {target}")

"""How cost grows with contacts, parts, moves and jaws: the power of each fitted over four sizes.

    python benchmarks/growth_bench.py [--small] [--picture FILE.svg]

Processor time of one answer at four sizes, each against the smallest of them; the power p of time ~ size^p
is the least-squares slope of the logarithms, with its 95 % interval. The picture draws points and lines.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cone_bench
import rack_bench
import seating_bench
import verify_bench

import samples
from jawright.mechanics import cone
from jawright.mechanics.seat import seat
from jawright.rack import search
from jawright.rack.store import Rack
from jawright.statistics.regress import least_squares
from jawright.verify.check import check
from rack import made
from verify.program import ORIGIN

Work = Callable[[], object]


@dataclass(frozen=True)
class Growth:
    """Times [s] over sizes, and the power with its interval."""

    what: str
    sizes: tuple[int, ...]
    seconds: tuple[float, ...]
    power: float
    low: float
    high: float


def contacts(n: int, _: Path) -> Work:
    body, loads = cone_bench.body(n), cone_bench.loads(60)
    return lambda: cone.least_clamp(body, loads)


def parts(n: int, _: Path) -> Work:
    points, normals, ride = seating_bench.block()
    gaps = seating_bench.population(n)
    return lambda: seat(points, normals, ride, gaps, push=seating_bench.PUSH)


def moves(n: int, _: Path) -> Work:
    text = verify_bench.program(n)
    return lambda: check(
        text, origin=ORIGIN, turned=False, jaws=samples.jaws(), shop=samples.shop(), vise=samples.vise()
    )


def jaws(n: int, folder: Path) -> Work:
    rack = Rack(folder / f"rack-{n}-{time.monotonic_ns()}.db")
    with rack.write():
        for k in range(n):
            pair = made.pair(k)
            rack.insert(pair, pair.id)
    part = made.turned_away(made.outline(7))
    return lambda: search.as_they_are(rack, part, rack_bench.TURNS, depth=(2.5, 30.0))


WAYS: tuple[tuple[str, Callable[[int, Path], Work], tuple[int, ...], tuple[int, ...]], ...] = (
    ("contacts (least clamp force)", contacts, (12, 24, 48, 96), (8, 12, 16)),
    ("parts (seated)", parts, (20_000, 60_000, 180_000, 540_000), (500, 1000, 2000)),
    ("moves (program checked)", moves, (200, 600, 1800, 5400), (100, 150, 200)),
    ("jaws (pairs searched)", jaws, (1250, 2500, 5000, 10_000), (20, 40, 80)),
)
"""What grows, how it is set up, and its sizes: in full and small."""


def measured(what: str, make: Callable[[int, Path], Work], sizes: tuple[int, ...], folder: Path) -> Growth:
    """Least processor time of three answers at each size, and the power fitted."""
    make(sizes[0], folder)()  # warm
    spent = []
    for n in sizes:
        work = make(n, folder)
        times = []
        for _ in range(3):
            start = time.process_time()
            work()
            times.append(time.process_time() - start)
        spent.append(max(min(times), 1e-6))
    fit = least_squares([np.log(np.array(sizes, dtype=float))], np.log(np.array(spent)))
    low, high = fit.interval(1, 0.95)
    return Growth(what, sizes, tuple(spent), float(fit.coefficients[1]), low, high)


def svg(found: list[Growth]) -> str:
    """Time against size, each from its own smallest, on logarithmic axes; the thin lines grow as size."""
    wide, tall, left, top = 640, 420, 70, 30
    x_most = math.log10(max(g.sizes[-1] / g.sizes[0] for g in found))
    y_most = max(x_most, math.log10(max(max(g.seconds) / g.seconds[0] for g in found)))
    inks = ("#1f5fa8", "#a8501f", "#2c7a3f", "#7a2c73")

    def at(x: float, y: float) -> tuple[float, float]:
        return (left + x / x_most * (wide - left - 200), tall - 50 - y / y_most * (tall - 50 - top))

    (ax, ay), (bx, by) = at(0, 0), at(x_most, x_most)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {tall}"'
        ' font-family="sans-serif" font-size="12">',
        f'<rect width="{wide}" height="{tall}" fill="#fff"/>',
        f'<path d="M{ax:.1f} {top} V{ay:.1f} H{bx:.1f}" fill="none" stroke="#333"/>',
        f'<path d="M{ax:.1f} {ay:.1f} L{bx:.1f} {by:.1f}" stroke="#999" stroke-dasharray="4 3"/>',
        f'<text x="{ax:.0f}" y="{tall - 18}">size, times the smallest</text>',
        f'<text x="8" y="{top - 10}">processor time, times that of the smallest; dashed: as the size</text>',
    ]
    for k in range(int(x_most) + 1):
        x, y = at(k, 0)
        out.append(f'<text x="{x:.1f}" y="{y + 16:.1f}" text-anchor="middle">{10**k}</text>')
    for k in range(int(y_most) + 1):
        x, y = at(0, k)
        out.append(f'<text x="{x - 6:.1f}" y="{y + 4:.1f}" text-anchor="end">{10**k}</text>')
    for g, ink, row in zip(found, inks, range(len(found)), strict=False):
        pts = [
            at(math.log10(n / g.sizes[0]), max(0.0, math.log10(t / g.seconds[0])))
            for n, t in zip(g.sizes, g.seconds, strict=True)
        ]
        line = " L".join(f"{x:.1f} {y:.1f}" for x, y in pts)
        out.append(f'<path d="M{line}" fill="none" stroke="{ink}" stroke-width="2"/>')
        out += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{ink}"/>' for x, y in pts]
        out.append(
            f'<text x="{wide - 190}" y="{top + 20 + 34 * row}" fill="{ink}">{g.what}</text>'
            f'<text x="{wide - 190}" y="{top + 35 + 34 * row}" fill="{ink}">power {g.power:.2f}</text>'
        )
    return "\n".join([*out, "</svg>", ""])


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--small", action="store_true")
    ask.add_argument("--picture", type=Path)
    args = ask.parse_args()
    found = []
    for what, make, full, small in WAYS:
        with tempfile.TemporaryDirectory() as name:
            found.append(measured(what, make, small if args.small else full, Path(name)))
        g = found[-1]
        rows = ", ".join(f"{n:,} {t / g.seconds[0]:.2f}" for n, t in zip(g.sizes, g.seconds, strict=True))
        print(f"{what}: {1e3 * g.seconds[0]:.1f} ms at {g.sizes[0]:,}; times that: {rows}")
        print(f"    grows as size^{g.power:.2f} ({g.low:.2f} to {g.high:.2f})")
    if args.picture:
        args.picture.write_text(svg(found), encoding="utf-8")


if __name__ == "__main__":
    main()

"""How long a program takes to write, and how short its text is, as ratios in the same run.

Run: python benchmarks/cutting_bench.py
Time is a ratio to offsetting the same pocket a hundred times as a polygon of 1 µm chords
(``shapely``): about what a writer that nests polygons would spend on geometry alone. Text is
a ratio to the same path with its arcs chopped into chords of 1 µm, as writers without arcs do.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

from shapely.geometry import Polygon

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "cutting")]

import pockets  # noqa: E402
from nc_replay import replay  # noqa: E402

from jawright.cutting import program  # noqa: E402

CHORD = 1e-3  # mm


def chopped(text: str) -> int:
    """Lines of the program were every arc written as chords."""
    lines = len(text.splitlines())
    for m in replay(text):
        if m.code >= 2:
            r = math.dist(m.a[:2], m.center)
            step = 2 * math.acos(1 - CHORD / r) if r > CHORD else math.pi
            lines += math.ceil(abs(m.sweep) / step) - 1
    return lines


def best_of(work: object, repeats: int = 3) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()  # type: ignore[operator]
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> None:
    print(f"{'pocket':32s} {'write':>9s} {'x shapely':>10s} {'lines':>7s} {'x chords':>9s} {'minutes':>8s}")
    for name, (jaws, shop) in pockets.cases().items():
        job = pockets.job()
        ours = best_of(lambda j=jaws, s=shop, k=job: program.write(j, s, k))
        shape = Polygon(jaws.pocket.outer.points(CHORD), [h.points(CHORD) for h in jaws.pocket.holes])
        theirs = best_of(lambda g=shape: [g.buffer(-0.05 * k, quad_segs=64) for k in range(100)])
        p = program.write(jaws, shop, job)
        lines = len(p.text.splitlines())
        share = lines / chopped(p.text)
        print(
            f"{name:32s} {1e3 * ours:6.0f} ms {ours / theirs:10.2f} {lines:7d} {share:9.3f} {p.minutes:8.1f}"
        )


if __name__ == "__main__":
    main()

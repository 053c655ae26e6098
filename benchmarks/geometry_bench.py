"""How long exact offsets and booleans take, as ratios to general-purpose polygons in the same run.

Run: python benchmarks/geometry_bench.py
The yardstick is ``shapely`` on chords of 1 µm (the deviation a jaw drawing would accept),
with 64 chords a quadrant: it gives polygons, we give lines and arcs.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from geometry.families import comb, filleted, star, wave
from jawright.geometry.boolean import union
from jawright.geometry.offset import offset
from jawright.geometry.polygon import to_multipolygon, to_polygon
from jawright.geometry.profile import Region, circle
from jawright.geometry.query import simple

CHORD = 1e-3


def best_of(work: Callable[[], object], repeats: int = 5) -> float:
    """Least time of ``repeats`` runs [s]: the run that was disturbed least."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def outlines(count: int) -> list[tuple[Region, float]]:
    """Simple outlines of 10 to 30 curves from three families, each with an offset distance [mm]."""
    rng = np.random.default_rng(1)
    out: list[tuple[Region, float]] = []
    while len(out) < count:
        q = [star, filleted, comb][len(out) % 3](rng)
        if 10 <= len(q.curves) <= 30 and q.area > 0 and simple(q):
            out.append((Region(q), float(rng.uniform(-4, 8))))
    return out


def line(name: str, ours: float, theirs: float, count: int) -> None:
    each = f"{1e3 * ours / count:9.3f} ms each {count / ours:9.0f} per s"
    print(f"{name:34s} {each} {ours / theirs:8.2f} x shapely")


def main() -> None:
    few = outlines(200)
    ours = best_of(lambda: [offset(r, d) for r, d in few])
    theirs = best_of(lambda: [to_polygon(r, CHORD).buffer(d, quad_segs=64) for r, d in few])
    line("offset, 10 to 30 curves", ours, theirs, len(few))

    long = [Region(wave(np.random.default_rng(k))) for k in (5, 6, 7)]
    ours = best_of(lambda: [offset(r, d) for r in long for d in (-3.0, 3.0)], 3)
    theirs = best_of(
        lambda: [to_polygon(r, CHORD).buffer(d, quad_segs=64) for r in long for d in (-3.0, 3.0)], 3
    )
    line("offset, 500 arcs", ours, theirs, 2 * len(long))

    pairs = [(r, [Region(circle(c.start, 1.5)) for c in r.outer.curves[::2]]) for r, _ in few[:100]]
    ours = best_of(lambda: [union(a, b) for a, b in pairs])
    theirs = best_of(lambda: [to_polygon(a, CHORD).union(to_multipolygon(b, CHORD)) for a, b in pairs])
    line("union, outline and corner reliefs", ours, theirs, len(pairs))


if __name__ == "__main__":
    main()

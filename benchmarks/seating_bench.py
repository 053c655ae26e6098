"""One million parts on forty contacts seated and judged, against one linear program per part.

Run: python benchmarks/seating_bench.py. Prints ratios measured in the same run on the same machine.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from jawright.mechanics.seat import seat
from jawright.statistics.draw import stream
from jawright.statistics.tolerance import position

Floats = NDArray[np.float64]
PUSH = (-0.2, 0.0)
PER_WALL = 10


def block() -> tuple[Floats, Floats, Floats]:
    """Four walls of a 60 × 26 block, ten contacts each; the one at +X is cut 0.3 clear."""
    x, y = np.linspace(-30, 30, PER_WALL), np.linspace(-25, -1, PER_WALL)
    zero = np.zeros(PER_WALL)
    points = np.vstack(
        [
            np.column_stack([x, zero]),
            np.column_stack([x, zero - 26]),
            np.column_stack([zero - 30, y]),
            np.column_stack([zero + 30, y]),
        ]
    )
    normals = np.repeat(np.array([[0, -1], [0, 1], [1, 0], [-1, 0]], dtype=float), PER_WALL, axis=0)
    ride = np.repeat([0.0, 1.0, 0.0, 0.0], PER_WALL)
    return points, normals, ride


def population(count: int) -> Floats:
    """Gaps (count, 40): growth of the outline, offset and tilt of each wall."""
    rng = stream("benchmark")
    along = np.tile(np.linspace(-1, 1, PER_WALL), 4)
    gaps = np.repeat(rng.normal(0, 0.005, (count, 4)), PER_WALL, axis=1) * along
    gaps += np.repeat(rng.normal(0, 0.005, (count, 4)), PER_WALL, axis=1)
    gaps -= rng.normal(0, 0.03, (count, 1))
    gaps[:, 3 * PER_WALL :] += 0.3
    return gaps


def one_by_one(points: Floats, normals: Floats, ride: Floats, gaps: Floats) -> Floats:
    """The baseline: the same program handed to a general solver, part by part."""
    turn = normals[:, 1] * points[:, 0] - normals[:, 0] * points[:, 1]
    rows = np.column_stack([normals, turn, -ride * normals[:, 1]])
    at = points.mean(axis=0)
    gain = np.array([PUSH[0], PUSH[1], PUSH[1] * at[0] - PUSH[0] * at[1], 1.0])
    out = []
    for g in gaps:
        r = linprog(-gain, A_ub=-rows, b_ub=g, bounds=[(None, None)] * 4, method="highs")
        out.append(r.x[:3])
    return np.array(out)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--parts", type=int, default=1_000_000)
    ask.add_argument("--singles", type=int, default=300)
    given = ask.parse_args()
    points, normals, ride = block()
    gaps = population(given.parts)
    seat(points, normals, ride, gaps[:1000], push=PUSH)  # warm

    begin, cpu = time.perf_counter(), time.process_time()
    got = seat(points, normals, ride, gaps, push=PUSH)
    c, s = np.cos(got.pose[:, 2]), np.sin(got.pose[:, 2])
    px, py = 10.0 - got.pose[:, 0], -12.0 - got.pose[:, 1]
    off = position(c * px + s * py - 10.0, -s * px + c * py + 12.0)
    good = float((off <= 0.1).mean())
    wall, cpu = time.perf_counter() - begin, time.process_time() - cpu

    begin, single_cpu = time.perf_counter(), time.process_time()
    single = one_by_one(points, normals, ride, gaps[: given.singles])
    each = (time.perf_counter() - begin) / given.singles
    each_cpu = (time.process_time() - single_cpu) / given.singles
    same = float(np.abs(single - got.pose[: given.singles])[:, :2].max())

    print(f"{'':34}{'shared bases':>16}{'one by one':>16}")
    print(f"{'parts':34}{given.parts:>16,}{given.singles:>16,}")
    print(f"{'time per part [µs]':34}{wall / given.parts * 1e6:>16.2f}{each * 1e6:>16.1f}")
    print(f"{'whole run [s wall / s processor]':34}{f'{wall:.2f} / {cpu:.2f}':>16}{'':>16}")
    print(f"{'bases in use':34}{len(got.counts):>16}")
    print(f"{'share within Ø0.1':34}{good:>16.4f}")
    print(f"{'largest difference of place [mm]':34}{same:>16.2e}")
    print(f"{'peak memory [MB]':34}{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:>16.0f}")
    by_cpu = each_cpu / (cpu / given.parts)
    print(f"ratio per part: {each / (wall / given.parts):,.0f} (by processor time {by_cpu:,.0f})")


if __name__ == "__main__":
    main()

"""How long many load cases take, as ratios to a linear program of another library in the same run.

Run: python benchmarks/cone_bench.py
Least clamp force of a block on 12, 24 and 40 friction contacts for random loads: our second-order cone
program with one solver set up per body, the same set up anew for each load, and the yardstick, a
linear program with 16-sided inscribed pyramids by ``scipy`` (which is also a little wrong: see the
last column, how much more clamp force it asks for on average).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import linprog

from jawright.mechanics import cone

FACETS = 16
MU = 0.12


def body(contacts: int) -> cone.Contacts:
    """A block with three quarters of its contacts on two jaws and the rest on the floor."""
    rng = np.random.default_rng(contacts)
    jaw = contacts * 3 // 8
    rows = []
    for n, y in ((-1.0, 0.0), (1.0, -40.0)):
        for x, z in zip(rng.uniform(-30, 30, jaw), rng.uniform(1, 6, jaw), strict=True):
            rows.append(((x, y, z), (0.0, n, 0.0), n > 0))
    for x, y in zip(rng.uniform(-30, 30, contacts - 2 * jaw), rng.uniform(-38, -2, jaw * 2), strict=False):
        rows.append(((x, y, 0.0), (0.0, 0.0, 1.0), False))
    return cone.Contacts(
        np.array([r[0] for r in rows]),
        np.array([r[1] for r in rows]),
        np.full(len(rows), MU),
        np.array([r[2] for r in rows]),
    )


def loads(count: int) -> np.ndarray:
    rng = np.random.default_rng(7)
    force = rng.normal(size=(count, 3)) * 300
    at = rng.uniform((-30, -40, 0), (30, 0, 15), size=(count, 3))
    return np.hstack([force, np.cross(at, force)])


def pyramids(c: cone.Contacts, rows: np.ndarray) -> list[float]:
    """The yardstick."""
    columns, drive = [], []
    for p, n, mu, pushed in zip(c.points, c.normals, c.friction, c.driven, strict=True):
        t = np.cross(n, (0.3, 0.5, 0.8))
        t /= np.linalg.norm(t)
        s = np.cross(n, t)
        for k in range(FACETS):
            a = 2 * math.pi * k / FACETS
            f = n + mu * (math.cos(a) * t + math.sin(a) * s)
            columns.append(np.concatenate([f, np.cross(p, f)]))
            drive.append(f[1] if pushed else 0.0)
    n = len(columns)
    equal = np.zeros((7, n + 1))
    equal[:6, :n], equal[6, :n], equal[6, n] = np.array(columns).T, drive, -1.0
    cost = np.zeros(n + 1)
    cost[n] = 1.0
    out = []
    for w in rows:
        got = linprog(cost, A_eq=equal, b_eq=np.concatenate([-w, [0.0]]), method="highs")
        out.append(float(got.fun) if got.status == 0 else math.inf)
    return out


def timed(work: Callable[[], object], repeats: int = 3) -> float:
    """Least time of a few runs [s]: the run that was disturbed least."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    print("contacts   one solver    anew each    pyramids   ours/pyramids   pyramids ask for more")
    for contacts in (12, 24, 40):
        c, rows = body(contacts), loads(200)
        few = rows[:40]
        ours = timed(lambda c=c, rows=rows: cone.least_clamp(c, rows)) / len(rows)  # type: ignore[misc]
        anew = timed(lambda c=c, few=few: [cone.least_clamp(c, w) for w in few], 1) / len(few)  # type: ignore[misc]
        theirs = timed(lambda c=c, few=few: pyramids(c, few), 1) / len(few)  # type: ignore[misc]
        exact = np.array([g.clamp for g in cone.least_clamp(c, few)])
        rough = np.array(pyramids(c, few))
        counted = exact > 1.0
        more = float(np.mean(rough[counted] / exact[counted])) - 1.0
        print(
            f"{contacts:8d} {1e3 * ours:9.3f} ms {1e3 * anew:9.3f} ms {1e3 * theirs:8.3f} ms"
            f" {ours / theirs:15.3f} {more:20.2%}"
        )


if __name__ == "__main__":
    main()

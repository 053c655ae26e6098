"""The slowest third of the demo when it was first profiled: that program and this one, in the same run.

    python benchmarks/slowest_bench.py

The program as it was when the demo was first profiled is taken out of this repository's history into a
folder that is removed again, and the demo planned in a fresh process of either, all work in turn, by
processor time. Its slowest stages are those that together make up at least a third of it, the longest
first. The two run by turns, and each figure is the least of its runs. The proofs of now answer more than
those of then, so their ratio tells the time waited and not the speed of like work. Needs git and that
history; where there is none nothing is measured, and it says so.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
FIRST = "35f465c"
"""The commit that has the first profile of the demo."""
RUNS = 2
THIRD = 1 / 3
NO_STAGE = ("all", "start of the interpreter", "imports")
PART_OF = {"torque window": "proofs"}
"""Stages of now that were part of another one at first."""
Spent = dict[str, float]


def then(folder: Path) -> bool:
    """The program and the demo's benchmark as at first, in ``folder``; False when that is not had."""
    git = shutil.which("git")
    if git is None:
        return False
    got = subprocess.run(
        [git, "-C", str(HERE.parent), "archive", "--format=tar", FIRST], capture_output=True, check=False
    )
    if got.returncode != 0:
        return False
    with tarfile.open(fileobj=io.BytesIO(got.stdout)) as tar:
        tar.extractall(folder, filter="data")
    return True


def cold(top: Path) -> Spent:
    """Processor time [s] of each stage of the demo in a fresh process of the program in ``top``."""
    begin = (
        f"import sys, os; sys.argv[:] = ['demo_bench.py']; sys.path.insert(0, {str(top / 'benchmarks')!r}); "
        f"import demo_bench; os.cpu_count = lambda: 1; how = demo_bench.run.__code__.co_argcount; "
        f"demo_bench.run({time.time()!r}, *[True][: how - 1])"
    )
    done = subprocess.run(
        [sys.executable, "-c", begin],
        env={**os.environ, "PYTHONPATH": str(top / "src"), "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    both = json.loads(done.stdout.strip().splitlines()[-1])
    spent = {k: v[1] for k, v in both["cold"].items() if not k.startswith(" ")}
    for part, whole in PART_OF.items():
        if part in spent:
            spent[whole] += spent.pop(part)
    return spent


def slowest(spent: Spent) -> list[str]:
    """The longest stages that together are at least a third of the whole."""
    chosen: list[str] = []
    for name in sorted((k for k in spent if k not in NO_STAGE), key=lambda k: -spent[k]):
        if sum(spent[k] for k in chosen) >= THIRD * spent["all"]:
            break
        chosen.append(name)
    return chosen


def least(runs: list[Spent]) -> Spent:
    """Of each stage the least of its runs."""
    return {k: min(r[k] for r in runs) for k in runs[0]}


def main() -> None:
    """Measure both by turns and print the ratio."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if not then(folder):
            print("the history this compares with is not here: nothing measured")
            return
        old, new = [], []
        for _ in range(RUNS):
            old.append(cold(folder))
            new.append(cold(HERE.parent))
    a, b = least(old), least(new)
    names = slowest(a)
    print(f"{'stage, cold, all in turn':28} {'first [s]':>10} {'share':>7} {'now [s]':>9} {'first/now':>10}")
    for stage in [*names, *(k for k in a if k not in (*names, "all")), "all"]:
        now = b.get(stage)
        said = f"{now:9.3f} {a[stage] / now:10.2f}" if now else f"{'':9} {'':10}"
        print(f"{stage:28} {a[stage]:10.3f} {a[stage] / a['all']:7.1%} {said}")
    first, now_ = sum(a[k] for k in names), sum(b[k] for k in names)
    print(
        f"\nslowest third when first profiled ({', '.join(names)}): "
        f"{first:.2f} s then, {now_:.2f} s now: {first / now_:.2f} times as fast (aim 2)"
    )


if __name__ == "__main__":
    main()

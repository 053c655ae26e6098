"""The slowest third of the demo as it was twice before: those programs and this one, in the same run.

    python benchmarks/slowest_bench.py

The program as it was when the demo was first profiled, and as it was before the search over stances was
sped up, are taken out of this repository's history into folders that are removed again, and the demo
planned in a fresh process of each, all work in turn, by processor time. The slowest stages are those that
together make up at least a third of it, the longest first: cold, a plan in a fresh process, and of the
second baseline warm as well, the same plan again, as the page on this machine does it. Then what somebody
waits for: the wall clock from one step that the program says to the next, as it is shipped, with work
beside other work where a program did that. All run by turns, and each figure is the least of its runs.
The proofs of now answer more than those first profiled, so that ratio tells the time waited and not the
speed of like work; since the second baseline the answers are the same.
Needs git and that history; where there is none nothing is measured, and it says so.
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
SLOW_SEARCH = "6e6381e"
"""The last commit before the search over stances was sped up."""
RUNS = 2
THIRD = 1 / 3
NO_STAGE = ("all", "start of the interpreter", "imports", "start and part")
PART_OF = {"torque window": "proofs"}
"""Stages of now that were part of another one at first."""
Spent = dict[str, float]


def then(commit: str, folder: Path) -> bool:
    """The program and the demo's benchmark at a commit, in ``folder``; False when that is not had."""
    git = shutil.which("git")
    if git is None:
        return False
    got = subprocess.run(
        [git, "-C", str(HERE.parent), "archive", "--format=tar", commit], capture_output=True, check=False
    )
    if got.returncode != 0:
        return False
    with tarfile.open(fileobj=io.BytesIO(got.stdout)) as tar:
        tar.extractall(folder, filter="data")
    return True


def planned(top: Path) -> dict[str, Spent]:
    """Processor time [s] of each stage of the demo in a fresh process of ``top``: cold, and then warm."""
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
    return {how: _stages(both[how]) for how in ("cold", "warm")}


def _stages(timed: dict[str, list[float]]) -> Spent:
    spent = {k: v[1] for k, v in timed.items() if not k.startswith(" ")}
    for part, whole in PART_OF.items():
        if part in spent:
            spent[whole] += spent.pop(part)
    return spent


def waited(top: Path) -> Spent:
    """Wall clock [s] between the steps that the demo says in a fresh process of ``top``, as it is shipped."""
    with tempfile.TemporaryDirectory() as out:
        begun = time.perf_counter()
        run = subprocess.Popen(
            [sys.executable, "-m", "jawright", "demo", "--out", out],
            env={**os.environ, "PYTHONPATH": str(top / "src"), "OPENBLAS_NUM_THREADS": "1"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert run.stderr is not None
        said = [(time.perf_counter(), line.strip()) for line in run.stderr]
        assert run.wait() in (0, 1)
        ended = time.perf_counter()
    at = {word: next(t for t, line in said if line.startswith(begins)) for word, begins in STEPS.items()}
    marks = [begun, *at.values(), ended]
    spent = {w: b - a for w, a, b in zip(("start and part", *STEPS), marks, marks[1:], strict=False)}
    return {**spent, "all": ended - begun}


STEPS = {
    "stances": "trying stances",
    "design, proofs, program and its check": "designing and proving",
    "papers and files": "writing the papers",
}
"""What is waited for, and what every one of these programs says when it begins."""


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


def compare(title: str, a: Spent, b: Spent, then_: str) -> None:
    """One table of stages then and now, and what the slowest third of then takes now."""
    names = slowest(a)
    print(f"{title:36} {then_ + ' [s]':>10} {'share':>7} {'now [s]':>9} {then_ + '/now':>11}")
    for stage in [*names, *(k for k in a if k not in (*names, "all")), "all"]:
        now = b.get(stage)
        said = f"{now:9.3f} {a[stage] / now:11.2f}" if now else f"{'':9} {'':11}"
        print(f"{stage:36} {a[stage]:10.3f} {a[stage] / a['all']:7.1%} {said}")
    first, now_ = sum(a[k] for k in names), sum(b[k] for k in names)
    print(
        f"\nslowest third then ({', '.join(names)}): {first:.2f} s then, {now_:.2f} s now: "
        f"{first / now_:.2f} times as fast (aim 2)\n"
    )


def main() -> None:
    """Measure all by turns and print the ratios."""
    with tempfile.TemporaryDirectory() as at_first, tempfile.TemporaryDirectory() as before:
        if not (then(FIRST, Path(at_first)) and then(SLOW_SEARCH, Path(before))):
            print("the history this compares with is not here: nothing measured")
            return
        tops = (Path(at_first), Path(before), HERE.parent)
        runs: list[list[dict[str, Spent]]] = [[], [], []]
        waits: list[list[Spent]] = [[], [], []]
        for _ in range(RUNS):
            for done, wait, top in zip(runs, waits, tops, strict=True):
                done.append(planned(top))
                wait.append(waited(top))
    (first, _), (slow, slow_warm), (now, now_warm) = (
        (least([r["cold"] for r in done]), least([r["warm"] for r in done])) for done in runs
    )
    shipped = [least(w) for w in waits]
    print("What is waited for as it is shipped, wall clock, on as many cores as there are\n")
    for name, at in (("first", 0), ("before", 1)):
        compare("from one step to the next", shipped[at], shipped[2], name)
    print("The demo when it was first profiled\n")
    compare("stage, cold, all in turn", first, now, "first")
    print("The demo before the search was sped up\n")
    compare("stage, cold, all in turn", slow, now, "before")
    compare("stage, warm, all in turn", slow_warm, now_warm, "before")


if __name__ == "__main__":
    main()

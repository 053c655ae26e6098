"""Where the demo's time goes, stage by stage, cold and warm.

    python benchmarks/demo_bench.py

Cold is a fresh process, from its start to the written folder. Warm is that process, as the page on this
machine is, with another job: the part in another alloy and as it comes by a hundredth otherwise, the
blanks by half a millimeter, so that nothing kept from the first serves. Last comes that other job again,
where all that was kept serves: the time of a job opened again. The stages are timed with all work done
in turn, in seconds of wall clock, of processor time, and as a share of the run; the child that reads the
part is in the wall clock only. Then the whole is timed once more as it is shipped, with work beside
other work on a second core. Nothing is judged: times belong to the machine and its other work, shares to
the program.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path
from types import ModuleType
from typing import Any

STAGES = (
    ("job and shop files", "jawright.doors.cli.inputs", "read"),
    ("reading the part", "jawright.begun", "read_part"),
    ("stances", "jawright.trial", "candidates"),
    ("  hard jaws proposed", "jawright.hold.hard", "propose"),
    ("  soft jaws drafted", "jawright.jaws.soft", "draft"),
    ("  quick figures", "jawright.tries", "quick_all"),
    ("design of the jaws", "jawright.carry", "designed|design"),
    ("torque window", "jawright.carry", "window"),
    ("proofs", "jawright.carry", "answer"),
    ("  loads", "jawright.proof.loads", "prove"),
    ("  sits", "jawright.proof.sits", "prove"),
    ("  grips", "jawright.proof.grips", "prove"),
    ("  grips: bruise", "jawright.proof.bruise", "prove"),
    ("  grips: spring", "jawright.proof.spring", "prove"),
    ("  holds", "jawright.proof.holds", "prove"),
    ("  locates", "jawright.proof.locates", "prove"),
    ("  clears", "jawright.proof.clears", "prove"),
    ("program written", "jawright.carry", "write"),
    ("program verified", "jawright.carry", "check"),
    ("jaws as STEP and DXF", "jawright.doors.cli.plan", "jaw_files"),
    ("papers", "jawright.papers.bundle", "write"),
)
"""Stage, module and name of the function it is spent in, of two names the one that a program has; indented
ones are part of the one above."""


class Watch:
    """Wall and processor time spent in named functions."""

    def __init__(self) -> None:
        self.spent: dict[str, list[float]] = {}

    def around(self, stage: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def timed(*args: Any, **kw: Any) -> Any:
            wall, cpu = time.perf_counter(), time.process_time()
            try:
                return work(*args, **kw)
            finally:
                self.add(stage, time.perf_counter() - wall, time.process_time() - cpu)

        return timed

    def add(self, stage: str, wall: float, cpu: float) -> None:
        was = self.spent.setdefault(stage, [0.0, 0.0])
        was[0] += wall
        was[1] += cpu

    @contextlib.contextmanager
    def on(self, modules: dict[str, ModuleType]) -> Iterator[None]:
        """Time the stages' functions where they are looked up; put them back afterwards."""
        kept = []
        for stage, m, names in STAGES:
            name = next(n for n in names.split("|") if hasattr(modules[m], n))
            kept.append((modules[m], name, getattr(modules[m], name)))
            setattr(modules[m], name, self.around(stage, kept[-1][2]))
        try:
            yield
        finally:
            for module_, name, work in kept:
                setattr(module_, name, work)


OTHER = {
    "pawl.toml": (('material = "6061-T6"', 'material = "7075-T6"'), ('"0.40 mm"', '"0.39 mm"')),
    "shop.toml": (("thickness = 20\n", "thickness = 20.5\n"),),
}
"""What the other job has otherwise: file, and each text with what takes its place."""


def other_job(folder: Path) -> list[str]:
    """The demo's files with what ``OTHER`` says; the command that plans them."""
    demo = Path(str(resources.files("jawright.data").joinpath("demo")))
    for file in demo.iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    for name, changes in OTHER.items():
        text = (folder / name).read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, f"{name} says no {old!r}"
            text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")
    return ["plan", str(folder / "pawl.toml"), "--shop", str(folder / "shop.toml")]


def once(modules: dict[str, ModuleType], command: list[str]) -> dict[str, list[float]]:
    """Plan and write one time by this command; the stages' times and the whole of it."""
    main = modules["jawright.doors.cli.main"].main
    watch = Watch()
    wall, cpu = time.perf_counter(), time.process_time()
    with tempfile.TemporaryDirectory() as folder, watch.on(modules):
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            code = main([*command, "--out", folder])
        assert code in (0, 1), f"{command[0]} ended with {code}"
    watch.add("all", time.perf_counter() - wall, time.process_time() - cpu)
    return watch.spent


def run(begun: float, in_turn: bool) -> None:
    """In the fresh process: load, plan, plan another job, plan that again, print all as JSON."""
    if in_turn:
        os.cpu_count = lambda: 1  # nothing is forked off, so every stage is seen here
    names = ["jawright.doors.cli.main", *(m for _, m, _ in STAGES)]
    start = [time.time() - begun, time.process_time()]
    wall, cpu = time.perf_counter(), time.process_time()
    # the door starts the child that reads parts before it loads the rest; so does this
    importlib.import_module("jawright.files.child").warm()
    modules = {n: importlib.import_module(n) for n in names}
    loading = [time.perf_counter() - wall, time.process_time() - cpu]
    cold = {"start of the interpreter": start, "imports": loading, **once(modules, ["demo"])}
    cold["all"] = [a + b + c for a, b, c in zip(start, loading, cold["all"], strict=True)]
    with tempfile.TemporaryDirectory() as folder:
        command = other_job(Path(folder))
        warm, again = once(modules, command), once(modules, command)
    print(json.dumps({"cold": cold, "warm": warm, "again": again}))


def show(title: str, spent: dict[str, list[float]]) -> None:
    whole = spent["all"]
    known = [k for k in spent if k != "all" and not k.startswith(" ")]
    rest = [whole[i] - sum(spent[k][i] for k in known) for i in (0, 1)]
    order = ["start of the interpreter", "imports", *(s for s, _, _ in STAGES)]
    print(f"\n{title:28s} {'wall s':>8s} {'cpu s':>8s} {'share':>7s}")
    for name in order:
        if name in spent:
            wall, cpu = spent[name]
            print(f"{name:28s} {wall:8.3f} {cpu:8.3f} {cpu / whole[1]:7.1%}")
    print(f"{'everything else':28s} {rest[0]:8.3f} {rest[1]:8.3f} {rest[1] / whole[1]:7.1%}")
    print(f"{'all':28s} {whole[0]:8.3f} {whole[1]:8.3f}")


def fresh(how: str) -> dict[str, dict[str, list[float]]]:
    """Cold and warm times of a fresh process, and those of a job opened again."""
    got = subprocess.run(
        [sys.executable, str(Path(__file__).resolve()), how, repr(time.time())],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    both: dict[str, dict[str, list[float]]] = json.loads(got.stdout.strip().splitlines()[-1])
    return both


def main() -> None:
    if sys.argv[1:2] in (["--in-turn"], ["--shipped"]):
        run(float(sys.argv[2]), sys.argv[1] == "--in-turn")
        return
    both, shipped = fresh("--in-turn"), fresh("--shipped")
    show("cold, a fresh process", both["cold"])
    show("warm, another job", both["warm"])
    show("warm, that job again", both["again"])
    cold, warm = both["cold"]["all"], both["warm"]["all"]
    print(f"\nratio cold to warm, processor time: {cold[1] / warm[1]:.2f}")
    print(f"share of the wall clock in which a cold run had its core: {cold[1] / cold[0]:.0%}")
    for name in ("cold", "warm", "again"):
        whole = shipped[name]["all"][0]
        print(
            f"as shipped, {name}: {whole:.2f} s wall, {whole / both[name]['all'][0]:.2f} of the same in turn"
        )


if __name__ == "__main__":
    main()

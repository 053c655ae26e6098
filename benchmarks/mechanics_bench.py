"""What the mechanics of a plan cost: all of the demo's, a changed height or torque, two thousand loads.

Run: python benchmarks/mechanics_bench.py
Processor time of this process, best of some runs, beside the aim; and as a ratio to a baseline that is named
and measured in the same run: the whole plan, condensing the jaws anew, and a linear program with 16-sided
pyramids by ``scipy`` for the loads.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parent)]

import cone_bench  # noqa: E402

import jawright  # noqa: E402
from jawright.doors.cli import inputs  # noqa: E402
from jawright.hold.model import Hold  # noqa: E402
from jawright.jaws.model import Jaws  # noqa: E402
from jawright.live import Bench  # noqa: E402
from jawright.mechanics import cone  # noqa: E402
from jawright.proof import (  # noqa: E402
    advice,
    bruise,
    elastic,
    factor,
    grips,
    holds,
    pads,
    released,
    spring,
    window,
)
from jawright.record import Record  # noqa: E402

LOADS, CONTACTS = 2000, 40
FORCE = 6000.0


def spent(work: Callable[[], Any], times: int = 1) -> float:
    """Least processor time of some runs [s]."""
    got = []
    for _ in range(times):
        start = time.process_time()
        work()
        got.append(time.process_time() - start)
    return min(got)


def forget() -> None:
    """Drop all that is kept of earlier questions, so that each answer is worked out."""
    for kept in (elastic._model, elastic.cut_state, elastic.even_states, window._study, released._releases,
                 factor.worst_cases):  # fmt: skip
        kept.cache_clear()


def row(what: str, seconds: float, aim: float, ratio: str) -> None:
    unit, k = ("s", 1.0) if aim >= 1 else ("ms", 1e3)
    print(f"{what:46s} {seconds * k:8.2f} {unit:2s}  aim {aim * k:4.0f} {unit:2s}  {ratio}")


def demo(record: Record, whole: float) -> None:
    """Everything the questions of grip and hold ask of the mechanics, from nothing."""
    hold, jaws = record.hold, record.jaws
    assert hold is not None

    def all_of_it() -> None:
        forget()
        for room in (grips, bruise, spring, holds):
            room.prove(hold, jaws, record.part, record.job, record.shop)  # type: ignore[arg-type]
        pads.pressure_maps(hold, jaws, record.part, record.job, record.shop)  # type: ignore[arg-type]

    took = spent(all_of_it, 2)
    row("the demo's whole mechanics", took, 4.0, f"{took / whole:.2f} of the whole plan ({whole:.1f} s)")


def changed(record: Record) -> None:
    """Another height of the spacers or another torque, where the jaws are condensed already."""
    hold, jaws = record.hold, record.jaws
    assert isinstance(hold, Hold) and isinstance(jaws, Jaws)
    bench = Bench(record)
    bench.spacers()
    m = elastic.model(hold, jaws, record.part, record.job.material)
    assert m is not None

    def anew() -> None:
        elastic._model.cache_clear()
        again = elastic.model(hold, jaws, record.part, record.job.material)
        assert again is not None
        mounts = elastic.ends(hold.vise, "set")
        advice.leaves(again, mounts, jaws.stack, cut_force=FORCE, force=FORCE)

    heights = iter([12.0 + 0.7 * k for k in range(40)])
    torques = iter([11.0 + 0.37 * k for k in range(40)])
    again = spent(anew)
    bench = Bench(record)
    bench.spacers()
    for what, ask in (
        ("a changed height of the spacers", lambda: bench.spacers(height=next(heights))),
        ("a changed torque", lambda: bench.spacers(torque=next(torques))),
    ):
        took = spent(ask, 9)
        row(what, took, 0.050, f"condensing the jaws anew is {again / took:.0f} times that")


def loads() -> None:
    """Two thousand load cases on forty contacts."""
    c, rows = cone_bench.body(CONTACTS), cone_bench.loads(LOADS)
    took = spent(lambda: cone.least_clamp(c, rows), 2)
    few = rows[:25]
    theirs = spent(lambda: cone_bench.pyramids(c, few)) / len(few) * LOADS
    row(
        f"{LOADS} load cases, {CONTACTS} contacts",
        took,
        3.0,
        f"16-sided pyramids {theirs / took:.1f} times that",
    )


if __name__ == "__main__":
    folder = inputs.demo_folder()
    job, shop = jawright.read_job(folder / "pawl.toml"), jawright.read_shop(folder / "shop.toml")
    start = time.process_time()
    planned = jawright.plan(job, shop)
    demo(planned, time.process_time() - start)
    changed(planned)
    loads()

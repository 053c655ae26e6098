"""How many stances a second the search tries, against proving in full and against every half degree.

Run: python benchmarks/search_bench.py [--plates N]. Processor time of one core, all work in turn.
The baselines are had in the same run: a few of the stances carried through design and all proofs, as a
search without quick figures would carry every one; and an exhaustive search over turns on a grid of
half a degree, of which every eighth turn is timed. With it stands how much of the best score on that
grid is missed.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from hold.plates import plate, shop
from jawright import choose, trial, tries
from jawright.beside import one_thread
from jawright.errors import JawrightError
from jawright.hold import stance
from jawright.hold.view import view
from jawright.jaws.design import design
from jawright.proof.everything import prove

STEP = math.radians(0.5)
EVERY = 8
FULL = 2


def main() -> None:
    """Search, prove a few in full, and walk the grid, plate by plate."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--plates", type=int, default=3)
    os.cpu_count = lambda: 1  # nothing beside: the processor time is all seen here
    print("plate  stances  per second   x proven in full   x every half degree   score missed")
    with one_thread():
        for seed in range(arguments.parse_args().plates):
            one(seed)


def one(seed: int) -> None:
    """One plate, one line."""
    part, job, ask = plate(seed)
    vises = trial.vises(part, job, shop())
    trial.candidates(part, job, shop(), ask, vises)  # what is read once is read
    start = time.process_time()
    found = trial.candidates(part, job, shop(), ask, vises)
    spent = time.process_time() - start
    order = choose.ranked(found)
    full, proven = 0.0, 0
    for c in order:
        if c.draft is None or c.view is None or proven == FULL:
            continue
        start = time.process_time()
        try:
            pair = design(c.draft, c.view, part=part, job=job, shop=shop(), vise=c.draft.hold.vise)
        except JawrightError:
            continue
        prove(pair.hold, pair.jaws, part, job, shop())
        full, proven = full + time.process_time() - start, proven + 1
    assert job.up is not None
    seen, best, tried = view(part, job, ask, job.up), -math.inf, 0
    turns = range(seed % EVERY, round(2 * math.pi / STEP), EVERY)
    start = time.process_time()
    for k in turns:
        turn = stance.Turn(k * STEP, "grid", 1)
        for v in vises:
            for way in (tries.hard, tries.soft):
                c = tries.alone(way(seen, turn, v, part=part, job=job, shop=shop(), ask=ask))
                tried += 1
                best = best if c.lost else max(best, choose.score(c))
    grid = (time.process_time() - start) * EVERY
    each = full / proven if proven else math.nan
    missed = max(0.0, 1 - choose.score(order[0]) / best) if order and best > 0 else 0.0
    print(
        f"{seed:5d}  {len(found):7d}  {len(found) / spent:10.0f}   {each * len(found) / spent:16.0f}   "
        f"{grid / spent:19.1f}   {missed:12.2%}"
    )


if __name__ == "__main__":
    main()

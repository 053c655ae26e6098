"""A rack of 10,000 pairs searched by short list, against trying every pocket.

Run: python benchmarks/rack_bench.py [--pairs N]. Prints ratios measured in the same run on the same machine.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from jawright.rack import search
from jawright.rack.store import Rack
from rack import made

TURNS = [k * math.pi / 2 for k in range(4)] + [0.37 + 0.6 * k for k in range(10)]


def main() -> None:
    """Fill a register, search it both ways, compare answers and processor time."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--pairs", type=int, default=10_000)
    count = arguments.parse_args().pairs
    with tempfile.TemporaryDirectory() as folder, Rack(Path(folder) / "rack.db") as rack:
        with rack.write():
            for k in range(count):
                pair = made.pair(k)
                rack.insert(pair, pair.id)
        part = made.turned_away(made.outline(7))
        spent = {}
        answers = {}
        for short in (True, False):
            start = time.process_time()
            answers[short] = search.as_they_are(rack, part, TURNS, depth=(2.5, 30.0), short=short)
            spent[short] = time.process_time() - start
    assert answers[True] == answers[False], "the short list has lost an answer"
    print(f"{count} pairs, {len(TURNS)} turns: {len(answers[True])} pockets fit, the same both ways")
    print(f"short list: {spent[True]:.2f} s of processor time")
    print(f"every pocket: {spent[False]:.2f} s, {spent[False] / spent[True]:.1f} times as long")


if __name__ == "__main__":
    main()

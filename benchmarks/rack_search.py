"""Search of ten thousand pairs by signature against trying every pocket: `python benchmarks/rack_search.py`.

Prints processor seconds of both, their ratio, and whether the answers are the same.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from jawright.rack import search
from jawright.rack.store import Rack
from rack import made
from rack.test_search import TURNS

PAIRS = 10_000
PARTS = (3, 77, 4321, 123_456)


def main() -> None:
    """Fill a register of invented pairs and search it."""
    with tempfile.TemporaryDirectory() as folder, Rack(Path(folder) / "rack.db") as rack:
        with rack.write():
            for k in range(PAIRS):
                pair = made.pair(k)
                rack.insert(pair, pair.id)
        print(f"{PAIRS} pairs, {len(TURNS)} turns of each part")
        for seed in PARTS:
            part = made.turned_away(made.outline(seed), 0.0)
            took, answers = [], []
            for short in (True, False):
                start = time.process_time()
                answers.append(search.as_they_are(rack, part, TURNS, depth=(2.5, 30.0), short=short))
                took.append(time.process_time() - start)
            same = "same answers" if answers[0] == answers[1] else "ANSWERS DIFFER"
            times = f"{took[0]:.2f} s against {took[1]:.2f} s, ratio {took[1] / took[0]:.1f}"
            print(f"part {seed}: {len(answers[0])} fit, {times}, {same}")


if __name__ == "__main__":
    main()

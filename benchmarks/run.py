"""All benchmarks, or those named: `python benchmarks/run.py [name ...]`.

Each runs in a process of its own and prints ratios to a named baseline measured in the same
run on the same machine; `demo` prints where the demo's time goes. Nothing here is a test:
a figure is only ever compared with the baseline beside it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
LAST = "demo"


def benches() -> dict[str, Path]:
    """Every benchmark by its short name, the demo last."""
    found = {p.stem.removesuffix("_bench"): p for p in sorted(HERE.glob("*_bench.py"))}
    return {n: found[n] for n in sorted(found, key=lambda n: (n == LAST, n))}


def main(names: list[str]) -> int:
    known = benches()
    strangers = [n for n in names if n not in known]
    if strangers:
        print(f"no benchmark {', '.join(strangers)}; there are {', '.join(known)}", file=sys.stderr)
        return 2
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}
    failed = []
    for name in names or list(known):
        purpose = known[name].read_text(encoding="utf-8").split('"""')[1].strip().splitlines()[0]
        print(f"\n== {name}: {purpose}", flush=True)
        if subprocess.run([sys.executable, str(known[name])], env=environment, check=False).returncode:
            failed.append(name)
    if failed:
        print(f"\nended with an error: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""All benchmarks, or those named: `python benchmarks/run.py [--page] [name ...]`.

`--page` also writes what they print into docs/performance.md. Each runs in a process of its own
and prints ratios to a named baseline measured in the same run on the same machine; `demo` prints
where the demo's time goes. Nothing here is a test:
a figure is only ever compared with the baseline beside it.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).resolve().parent
LAST = "demo"
DRAWN = ("growth",)
"""Benchmarks that draw a picture beside what they print."""
PAGE = HERE.parent / "docs" / "performance.md"
HEAD = """# Performance

Written by `python benchmarks/run.py --page`; `make bench` prints the same for your machine. Ratios are
to a named baseline measured in the same run; seconds belong to the machine of that run and to its other
work, so compare shares and processor time. No test judges speed.

The aim for the demo is 10 s from a cold start and 5 s warm, on two cores that have nothing else to do.

Had on {machine}.

"""


def benches() -> dict[str, Path]:
    """Every benchmark by its short name, the demo last."""
    found = {p.stem.removesuffix("_bench"): p for p in sorted(HERE.glob("*_bench.py"))}
    return {n: found[n] for n in sorted(found, key=lambda n: (n == LAST, n))}


def machine() -> str:
    """What the figures were had on, without naming the machine."""
    libraries = ", ".join(f"{n} {version(n)}" for n in ("numpy", "scipy", "shapely"))
    body = f"{platform.system()}, {platform.machine()}, {os.cpu_count()} cores"
    load = f"{os.getloadavg()[0]:.1f} processes waiting for them"
    return f"{body}, {load}, Python {platform.python_version()}, {libraries}"


def purpose(path: Path) -> str:
    """The first sentence of a benchmark's own text."""
    return path.read_text(encoding="utf-8").split('"""')[1].strip().splitlines()[0]


def run(path: Path, *more: str) -> tuple[str, bool]:
    """What a benchmark printed, passed on line by line, and whether it ended well."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}
    said = []
    with subprocess.Popen(
        [sys.executable, str(path), *more], env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        for line in process.stdout:
            print(line, end="", flush=True)
            said.append(line)
    return "".join(said), process.returncode == 0


def main(names: list[str]) -> int:
    page = "--page" in names
    names = [n for n in names if n != "--page"]
    known = benches()
    strangers = [n for n in names if n not in known]
    if strangers:
        print(f"no benchmark {', '.join(strangers)}; there are {', '.join(known)}", file=sys.stderr)
        return 2
    failed, parts = [], []
    for name in names or list(known):
        print(f"\n== {name}: {purpose(known[name])}", flush=True)
        drawn = PAGE.parent / "img" / f"{name}.svg"
        said, well = run(known[name], *(["--picture", str(drawn)] if page and name in DRAWN else []))
        if not well:
            failed.append(name)
        parts.append(f"## {name}\n\n{purpose(known[name])}\n\n```text\n{said.strip()}\n```")
        if name in DRAWN:
            parts[-1] += f"\n\n![{purpose(known[name])}](img/{name}.svg)"
    if failed:
        print(f"\nended with an error: {', '.join(failed)}", file=sys.stderr)
    elif page:
        PAGE.write_text(HEAD.format(machine=machine()) + "\n\n".join(parts) + "\n", encoding="utf-8")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

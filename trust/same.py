"""The same job gives the same bytes, and the same hold in either unit.

    python trust/same.py --counts FILE

The demo is planned twice, in two folders, on one core and on two, with one thread of linear algebra and with
two; and once with its whole job and shop in inches.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from importlib import resources
from pathlib import Path
from typing import Any

from jawright.files.schema import Section
from jawright.job.schema import SECTIONS as JOB
from jawright.shop.schema import SECTIONS as SHOP

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))


def in_inches(text: str, sections: tuple[Section, ...]) -> str:
    """A job or shop file with each plain length divided by 25.4 and its unit changed; the rest as it is."""
    kinds = {(s.name, k.name): k.band or k.kind for s in sections for k in s.keys}
    here, out = "", []
    for row in text.splitlines():
        head = re.match(r"\[\[?(\w+)\]", row)
        here = head[1] if head else here
        pair = re.match(r"(\w+) = ([^#]*?)\s*(#.*)?$", row)
        if pair and kinds.get((here, pair[1])) in ("length", "point") and '"' not in pair[2]:
            figures = re.sub(r"-?\d+(\.\d+)?", lambda m: repr(float(m[0]) / 25.4), pair[2])
            out.append(f"{pair[1]} = {figures}")
        else:
            out.append(row)
    return "\n".join(out).replace('units = "mm"', 'units = "inch"', 1) + "\n"


def planned(work: Path, *, cores: int, threads: int, units: str = "mm") -> Path:
    """Plan a copy of the demo in a folder of its own; the folder it wrote."""
    work.mkdir(parents=True)
    for f in DEMO.iterdir():
        shutil.copy(f, work / f.name)
    if units == "inch":
        for name, sections in (("pawl.toml", JOB), ("shop.toml", SHOP)):
            text = (work / name).read_text("utf-8")
            changed = in_inches(text, sections)
            assert changed.count("\n") >= text.count("\n") and "25.4" not in changed
            (work / name).write_text(changed, "utf-8")

    def on() -> None:
        os.sched_setaffinity(0, set(sorted(os.sched_getaffinity(0))[:cores]))

    environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "OMP_NUM_THREADS": str(threads)}
    done = subprocess.run(
        [sys.executable, "-m", "jawright", "plan", "pawl.toml", "--out", "out", "--units", units],
        cwd=work,
        env=environment,
        preexec_fn=on,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return work / "out"


def numbers(value: Any, path: str = "") -> dict[str, Any]:
    """Each leaf of a record by its place."""
    if isinstance(value, dict):
        return {k: v for key, item in value.items() for k, v in numbers(item, f"{path}.{key}").items()}
    if isinstance(value, list):
        return {k: v for i, item in enumerate(value) for k, v in numbers(item, f"{path}[{i}]").items()}
    return {path: value}


def compared(a: dict[str, Any], b: dict[str, Any]) -> tuple[float, list[str]]:
    """Largest difference among the numbers of hold and jaws, and where verdicts or words differ."""
    one, two = numbers({k: a[k] for k in ("hold", "jaws")}), numbers({k: b[k] for k in ("hold", "jaws")})
    odd = sorted(set(one) ^ set(two))
    most = 0.0
    for key in set(one) & set(two):
        x, y = one[key], two[key]
        if isinstance(x, bool) or not isinstance(x, int | float) or not isinstance(y, int | float):
            if x != y:
                odd.append(f"{key}: {x!r} {y!r}")
        else:
            most = max(most, abs(x - y))
    verdicts = [
        f"{p['question']} {p['name']}: {p['verdict']} {q['verdict']}"
        for p, q in zip(a["proofs"], b["proofs"], strict=True)
        if (p["question"], p["verdict"]) != (q["question"], q["verdict"])
    ]
    return most, odd + verdicts


def main() -> None:
    """Plan the demo in several ways and compare."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--counts", type=Path, required=True)
    args = ask.parse_args()
    broken: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        ways = {
            "two cores, two threads": planned(top / "a", cores=2, threads=2),
            "again, in a folder with another name": planned(top / "another folder" / "b", cores=2, threads=2),
            "one core, one thread": planned(top / "c", cores=1, threads=1),
            "one core, two threads": planned(top / "d", cores=1, threads=2),
        }
        lists = {k: (v / "contents.sha256").read_bytes() for k, v in ways.items()}
        first = next(iter(lists.values()))
        same = {k: v == first for k, v in lists.items()}
        broken += [f"{k}: other bytes" for k, v in same.items() if not v]
        inch = planned(top / "inch", cores=2, threads=2, units="inch")
        records = [
            json.loads((f / "record.json").read_text("utf-8")) for f in (next(iter(ways.values())), inch)
        ]
        most, odd = compared(records[0], records[1])
        if most > 1e-9:
            broken.append(f"inch: geometry differs by {most:g} mm")
        broken += [f"inch: {x}" for x in odd]
    args.counts.write_text(json.dumps({"same bytes": same, "inch": most, "broken": broken}))
    print(json.dumps(json.loads(args.counts.read_text()), indent=1))


if __name__ == "__main__":
    main()

"""Try to break Jawright, and write what came of it into a page.

    python trust/run.py [--small] [--keep] [--only-page] [--page docs/trust.md] [--out out/trust]

Every figure on the page is printed by this one command. ``--small`` tries a tenth of everything;
``--keep`` goes on where an interrupted run stopped, with the pieces that it finished without a fault.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import zip_longest
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent

READERS = {
    "part21": "statements of an exchange file (STEP)",
    "annotations": "datums and tolerances of an exchange file",
    "job": "job file",
    "shop": "shop file",
    "program": "NC program",
    "run": "measurements of a run (CSV)",
    "record": "record.json",
}
FAULTS = (
    "full disk",
    "full disk, an earlier result in place",
    "read-only folder",
    "killed child",
    "killed plan",
    "clock jumps",
    "two plans into one folder",
)
UNTRIED = "unknown: not tried in this run"
JOBS, SHARDS = 312, 12
"""Random jobs in all, and the pieces that they are split into."""
DAMAGED = {
    "step": "STEP file",
    "dxf": "DXF drawing",
    "register": "register of jaws",
    "record": "record.json of a plan",
}


def tasks(scale: float, out: Path, *, keep: bool) -> dict[str, list[str]]:
    """Each piece of work: its name and its command."""
    each = max(3, int(JOBS * scale) // SHARDS)
    more = ["--keep"] if keep else []
    made = {
        f"jobs-{i}": ["random_jobs.py", f"--first={i * each}", f"--count={each}", *more]
        for i in range(SHARDS)
    }
    made["same"] = ["same.py"]
    made["faults"] = ["faults.py", f"--kills={max(3, int(30 * scale))}"]
    for reader in READERS:
        made[f"guided-{reader}"] = ["guided.py", reader, f"--runs={int(20000 * scale)}"]
    for kind in DAMAGED:
        made[f"damage-{kind}"] = ["damage.py", kind, f"--count={int(700 * scale)}"]
    return {
        k: [sys.executable, str(HERE / v[0]), *v[1:], f"--counts={out / k}.json"] for k, v in made.items()
    }


def work(name: str, command: list[str], out: Path) -> tuple[str, dict[str, Any] | None, str]:
    """Run one piece; its counts, and what it said when it broke."""
    kept = out / f"{name}.done.json"
    if kept.exists():
        print(f"{name}: kept", flush=True)
        return name, json.loads(kept.read_text()), ""
    if "--keep" not in command:
        (out / f"{name}.json").unlink(missing_ok=True)
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(command, capture_output=True, text=True, env=environment)
    (out / f"{name}.log").write_text(done.stdout + done.stderr)
    print(f"{name}: {'done' if done.returncode == 0 else 'BROKEN'}", flush=True)
    counts = json.loads((out / f"{name}.json").read_text()) if (out / f"{name}.json").exists() else None
    if done.returncode == 0 and counts is not None and not counts.get("broken"):
        kept.write_text(json.dumps(counts))
    return name, counts, "" if done.returncode == 0 else (done.stdout + done.stderr)[-2000:]


def page(found: dict[str, dict[str, Any] | None], broken: list[str], todo: dict[str, list[str]]) -> str:
    """The page, in Markdown; what was not done is said to be unknown."""
    rows = ["# Trust", "", "Made by `make trust`; every figure below was counted by it.", ""]
    if any(found.get(k) is None for k in todo):
        rows += ["This run was broken off before its end: what it did not come to is unknown.", ""]
    rows += ["What broke:", "", *(f"    {b}" for b in broken)] if broken else ["Nothing broke."]
    rows += ["", "## Readers of ours, searched by coverage", ""]
    rows += [
        "Inputs that reach new code are changed further. A reader gives a value or one sentence.",
        "",
    ]
    rows += ["| reader | inputs | read | refused |", "| --- | ---: | ---: | ---: |"]
    for key, label in READERS.items():
        c = found.get(f"guided-{key}") or {}
        rows.append(
            f"| {label} | {c.get('runs', 'unknown')} | {c.get('read', '')} | {c.get('refused', '')} |"
        )
    rows += [
        "",
        "## Damaged files, read whole",
        "",
        "| file | files | how they ended |",
        "| --- | ---: | --- |",
    ]
    for key, label in DAMAGED.items():
        c = found.get(f"damage-{key}") or {}
        ends = ", ".join(f"{k} {n}" for k, n in sorted(c.get("ends", {}).items(), key=lambda e: -e[1]))
        rows.append(f"| {label} | {c.get('files', 'unknown')} | {ends} |")
    ends: dict[str, int] = {}
    for i in range(SHARDS):
        for k, n in ((found.get(f"jobs-{i}") or {}).get("ends", {})).items():
            ends[k] = ends.get(k, 0) + n
    rows += ["", "## Random parts in random shops", ""]
    done, asked = sum(ends.values()), sum(int(c[3].split("=")[1]) for k, c in todo.items() if "jobs-" in k)
    rows += [f"{done} jobs through the whole plan and its papers. How they ended:", ""]
    if done < asked:
        rows[-2] = (
            f"{done} of {asked} jobs were planned when the run was broken off; how the others end is unknown."
        )
    rows += [
        "| end | jobs |",
        "| --- | ---: |",
        *(f"| {k} | {n} |" for k, n in sorted(ends.items(), key=lambda e: -e[1])),
    ]
    rows += ["", "## When the machine fails", "", "| fault | what was left |", "| --- | --- |"]
    faults = (found.get("faults") or {}).get("faults", {})
    rows += [
        f"| {k} | {faults.get(k, UNTRIED)} |" for k in (*FAULTS, *(k for k in faults if k not in FAULTS))
    ]
    same = found.get("same") or {}
    rows += ["", "## Same inputs, same bytes", "", "| the demo planned | same bytes |", "| --- | --- |"]
    rows += [f"| {k} | {'yes' if v else 'NO'} |" for k, v in same.get("same bytes", {}).items()]
    inch = same.get("inch")
    rows += ["", "## The demo in inches", ""]
    if inch is not None:
        rows.append(
            f"Largest difference of any number of hold and jaws: {inch:.1e} mm; every verdict is the same."
        )
    else:
        rows.append("unknown: it was not compared")
    return "\n".join(rows) + "\n"


def main() -> int:
    """Run everything, two pieces at a time; 1 when something broke."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--small", action="store_true")
    ask.add_argument("--keep", action="store_true", help="take the pieces that an interrupted run finished")
    ask.add_argument("--only-page", action="store_true", help="write the page from what is there already")
    ask.add_argument("--page", type=Path)
    ask.add_argument("--out", type=Path, default=Path("out/trust"))
    args = ask.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    if not args.keep:
        for old in args.out.glob("*.done.json"):
            old.unlink()
    todo = tasks(0.1 if args.small else 1.0, args.out, keep=args.keep)
    if args.only_page:
        files = {k: args.out / f"{k}.json" for k in todo}
        found = {k: json.loads(f.read_text()) if f.exists() else None for k, f in files.items()}
        marks = [f"{k}: {b}" for k, counts in found.items() for b in (counts or {}).get("broken", [])]
        (args.page or Path("/dev/stdout")).write_text(page(found, marks, todo), encoding="utf-8")
        return 1 if marks else 0
    jobs = [item for item in todo.items() if item[0].startswith("jobs-")]
    rest = [item for item in todo.items() if item not in jobs]
    order = [x for both in zip_longest(jobs, rest) for x in both if x is not None]
    with ThreadPoolExecutor(max_workers=2) as pool:
        ended = list(pool.map(lambda item: work(*item, args.out), order))
    found = {name: counts for name, counts, _ in ended}
    broken = [f"{name}: {error}" for name, _, error in ended if error]
    broken += [f"{name}: {b}" for name, counts, _ in ended for b in (counts or {}).get("broken", [])]
    text = page(found, broken, todo)
    if args.page:
        args.page.write_text(text, encoding="utf-8")
    print(text)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())

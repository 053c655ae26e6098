"""``jawright plan``: plan a job and write its folder."""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from jawright.conductor import whole
from jawright.doors.cli import inputs, screen
from jawright.errors import JawrightError
from jawright.jaws.kept import Kept
from jawright.job.model import Job
from jawright.papers import bundle
from jawright.papers.jaw_files import jaw_files
from jawright.record import Record
from jawright.shop.model import Shop
from jawright.told import error_in

Check = Callable[[Record], None]
"""Looks at a record before it is written, and raises when it must not be."""


def run(args: argparse.Namespace) -> int:
    """Plan one job; 0 when it is ready, 1 when something is open."""
    job, shop = inputs.read(args.job, args.shop, args.units)
    out = Path(args.out) if args.out else Path("out") / Path(args.job).stem
    if args.rack is None and not args.pair:
        return execute(job, shop, out=out, stances=args.stances)
    pairs = importlib.import_module("jawright.doors.cli.plan_rack")  # the register is loaded only when asked
    return int(pairs.run(args, job, shop, out))


def execute(
    job: Job, shop: Shop, *, out: Path, stances: bool, kept: Sequence[Kept] = (), check: Check | None = None
) -> int:
    """Plan, print the decision and the six answers, write the folder; 0 when the record is ready, else 1."""
    try:
        planned = whole(job, shop, kept=kept, progress=_progress)
    except JawrightError as error:
        raise error_in(error, job.units) from error
    record = planned.record
    if check is not None:
        check(record)
    _progress("writing the papers")
    written = bundle.write(record, out, jaw_files(record), clampings=planned.clampings)
    print("\n".join([*screen.decision(record), *screen.tried(record)]))
    print()
    print("\n".join(screen.clampings(planned) or screen.six(record)))
    if stances:
        print()
        print("\n".join(screen.stances(record)))
    print()
    for line in screen.not_ready(record):
        print(line)
    print("\n".join(screen.wrap(f"Wrote {len(written)} files to {out}: {', '.join(sorted(written))}", "  ")))
    if stayed := sorted(p.name for kind in bundle.KEPT for p in out.glob(kind)):
        print("\n".join(screen.wrap(f"Left in it, measured by an earlier plan: {', '.join(stayed)}", "  ")))
    return 0 if record.ready else 1


def _progress(step: str) -> None:
    print(f"  {step}", file=sys.stderr, flush=True)

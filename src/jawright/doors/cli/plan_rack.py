"""``jawright plan --rack``: a plan that may use the jaws that exist."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from jawright.doors.cli.plan import execute
from jawright.job.model import Job
from jawright.rack import metal, stock
from jawright.rack.store import Rack
from jawright.shop.model import Shop


def run(args: argparse.Namespace, job: Job, shop: Shop, out: Path) -> int:
    """Plan with the register's pairs as they are, or in the metal of the pair named by --pair."""
    path = Path(args.rack or os.environ.get("JAWRIGHT_RACK") or "rack.db")
    with Rack(path, create=False) as rack:
        if args.pair and args.way != "as it is":
            pair = rack.get(args.pair)
            job, shop = metal.as_shop(pair, args.way, job, shop)
            said = len(job.notes) - 1
            job = metal.early(pair, args.way, job, shop)
            print(f"In the metal of a pair that exists: {'; '.join(job.notes[said:])}.")
            return execute(
                job, shop, out=out, stances=args.stances, check=lambda r: metal.check(r, pair, args.way)
            )
        if args.pair:
            pair = rack.get(args.pair)
            job = metal.as_it_is(pair, job)
            kept = tuple(stock.kept(rack, pair, cut) for cut in pair.cuts)
            metal.fits(pair, kept, job, shop)
            return execute(
                job, shop, out=out, stances=args.stances, kept=kept, check=lambda r: metal.used(r, pair)
            )
        kept = stock.short_list(rack, job, shop)
    return execute(job, shop, out=out, stances=args.stances, kept=kept)

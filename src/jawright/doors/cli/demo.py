"""``jawright demo``: plan the built-in demo job."""

from __future__ import annotations

import argparse
from pathlib import Path

from jawright.doors.cli import inputs, plan


def run(args: argparse.Namespace) -> int:
    """Plan the demo; exit code as of ``plan``."""
    folder = inputs.demo_folder()
    job, shop = inputs.read(str(folder / "pawl.toml"), str(folder / "shop.toml"), args.units)
    return plan.execute(job, shop, out=Path(args.out or Path("out") / "demo"), stances=args.stances)

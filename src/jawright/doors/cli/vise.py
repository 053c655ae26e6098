"""``jawright vise calibrate``: indicator readings to the stiffness of a jaw's mount."""

from __future__ import annotations

import argparse
from pathlib import Path

from jawright.doors.cli import inputs, screen
from jawright.proof.calibrate import Calibration, calibrate, snippet
from jawright.shop.read import read_shop
from jawright.shop.readings import read_readings
from jawright.units import System, show


def run(args: argparse.Namespace) -> int:
    """Read, work out and print what goes into the shop file; 0."""
    path = Path(args.readings)
    readings = read_readings(path)
    beside = path.parent / "shop.toml"
    shop = read_shop(
        Path(args.shop) if args.shop else beside if beside.exists() else inputs.demo_folder() / "shop.toml"
    )
    got = calibrate(readings, shop)
    units: System = args.units or readings.units
    print("\n".join(_lines(got, units, readings.high)))
    print(f"\nPut this under the vise in the shop file:\n\n{snippet(got, units)}")
    return 0


def _lines(c: Calibration, system: System, height: float) -> list[str]:
    m = c.mount
    rows = [("vise", f"{c.vise}, {c.steps} readings, {c.force_why}")]
    for name, s, kind in (("tilt", m.tilt, "turning stiffness"), ("push", m.push, "stiffness")):
        low, mid, high = (show(v, kind, system) for v in (s.low, s.set, s.high))
        rows.append((name, f"{mid}, between {low} and {high if s.bounded else 'not told'}"))
    lean, half = (v * height for v in m.tilt_play)
    foot, spread = m.push_play
    by_tilt, by_push = (
        f"{show(v, 'length', system)} ± {show(d, 'length', system)}"
        for v, d in ((lean, half), (foot, spread))
    )
    rows.append(("play", f"{by_tilt} by tilt at the upper indicator, {by_push} at the bed"))
    return screen.table(rows)

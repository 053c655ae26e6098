"""What a machinist would hold and the tool does not: random outlines planned whole, and what stays open told.

    python trust/held.py --first 0 --count 180

Each outline of ``tests/jaws/shapes.py`` becomes a plate of 6, 12 or 20 mm in the demo workshop; its top is
faced and has a parallelism of 0.1 mm to the bottom. A line tells the decision, and under it stands every
proof that fails or is unknown. Nothing here decides whether that is right: each is to be looked at.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path

import numpy as np

from jawright import kernel
from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.job.read import read_job
from jawright.shop.model import Shop
from jawright.shop.read import read_shop

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from jaws.shapes import FAMILIES, outline

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
TALL = (6.0, 12.0, 20.0)  # [mm]
JOB = """units = "mm"
[job]
name = "Outline {number}"
quantity = 20
[part]
file = "part.step"
material = "6061-T6"
[hold]
up = "+Z"
[[feature]]
name = "top"
kind = "face"
depth = 0.5
at = [{x:.3f}, {y:.3f}, {tall}]
[[tolerance]]
feature = "top"
kind = "parallelism"
zone = 0.1
datums = ["A"]
[[datum]]
letter = "A"
at = [{x:.3f}, {y:.3f}, 0.0]
"""


def told(number: int, shop: Shop, folder: Path) -> tuple[str, list[str]]:
    """The decision for an outline in a line, "" where the draw crosses itself, and what stays open."""
    profile = outline(number)
    if profile is None:
        return "", []
    tall = float(np.random.default_rng(number + 7).choice(TALL))
    inside = to_polygon(Region(profile), 0.01).representative_point()
    shape = kernel.extrude(Region(profile), 0.0, tall)
    (folder / "part.step").write_bytes(kernel.step_text({"part": shape}, title="part"))
    text = JOB.format(number=number, x=inside.x, y=inside.y, tall=tall)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    x0, y0, x1, y1 = profile.box
    head = f"{number} {FAMILIES[number % len(FAMILIES)].__name__} {x1 - x0:.0f} x {y1 - y0:.0f} x {tall:g} mm"
    began = time.monotonic()
    try:
        record = plan(read_job(folder / "job.toml"), shop)
    except JawrightError as error:
        return f"{head}: refused", [str(error)]
    turn = "" if record.hold is None else f", turn {math.degrees(record.hold.stance.turn):.1f}°"
    open_ = [p for p in record.proofs if p.verdict in ("fail", "unknown")]
    said = [f"{p.question}, {p.name}: {p.verdict}. {p.sentence}" for p in open_]
    return f"{head}{turn}, {time.monotonic() - began:.0f} s: {record.decision.sentence}", said


def main() -> None:
    """Plan outlines of the numbers asked for and print what became of each, then how many stay open."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--count", type=int, default=60)
    args = ask.parse_args()
    shop, left, tried = read_shop(DEMO / "shop.toml"), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(args.first, args.first + args.count):
            line, said = told(number, shop, Path(folder))
            if not line:
                continue
            tried, left = tried + 1, left + bool(said)
            print(line, *(f"    {s}" for s in said), sep="\n", flush=True)
    print(f"{left} of {tried} stay open")


if __name__ == "__main__":
    main()

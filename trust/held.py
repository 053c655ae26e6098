"""What a machinist would hold and the tool does not: random outlines planned whole, and what stays open told.

    python trust/held.py --first 0 --count 180

Each outline of ``tests/jaws/shapes.py`` becomes a plate of 6, 12 or 20 mm in the demo workshop; its top is
faced and has a parallelism of 0.1 mm to the bottom. With ``--printed`` it is of another metal in turn, has
datums on its two longest walls and a hole drilled where most metal is, placed to them within 0.2 mm. A line
tells the decision, and under it stands every proof that fails or is unknown. Nothing here decides whether
that is right: each is to be looked at.
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
from shapely import maximum_inscribed_circle

from jawright import kernel
from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.geometry.curve import Line
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region, circle
from jawright.job.read import read_job
from jawright.shop.model import Shop
from jawright.shop.read import read_shop

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from jaws.shapes import FAMILIES, JOB, outline

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
TALL = (6.0, 12.0, 20.0)  # [mm]
METALS = (
    "6061-T6",
    "1018 cold drawn",
    "304 annealed",
    "C36000 half hard",
    "2024-T351",
    "4140 prehard",
)
SIDES = """
[[datum]]
letter = "{letter}"
at = [{x:.4f}, {y:.4f}, {z}]
"""
HOLE = """
[[feature]]
name = "hole"
kind = "drill"
at = [{x:.4f}, {y:.4f}, {z}]
[[tolerance]]
feature = "hole"
kind = "position"
zone = 0.2
datums = [{letters}]
"""
DRILL = 6.0  # [mm] the demo workshop has it
WALL = 8.0  # [mm] shorter ones are no datum
ACROSS = math.radians(30.0)  # a second wall runs at least so much across the first


def printed(profile: Profile, tall: float) -> tuple[str, Region]:
    """More of a job, and the outline with the hole drilled: datums on its walls, a hole placed to them."""
    walls = sorted(
        (c for c in profile.curves if isinstance(c, Line) and c.length >= WALL), key=lambda c: -c.length
    )
    second = [c for c in walls[1:] if abs(math.sin(_way(c) - _way(walls[0]))) > math.sin(ACROSS)]
    sides = dict(zip("BC", [*walls[:1], *second[:1]], strict=False))
    text = ""
    for letter, wall in sides.items():
        (x, y) = wall.at(0.5)
        text += SIDES.format(letter=letter, x=x, y=y, z=tall / 2)
    circle_in = maximum_inscribed_circle(to_polygon(Region(profile), 0.01))
    (x, y), room = circle_in.coords[0], circle_in.length
    if room < DRILL:
        return text, Region(profile)
    letters = ", ".join(f'"{k}"' for k in ("A", *sides))
    text += HOLE.format(x=x + DRILL / 2, y=y, z=tall / 2, letters=letters)
    return text, Region(profile, (circle((x, y), DRILL / 2).reversed(),))


def _way(c: Line) -> float:
    tx, ty = c.tangent(0.0)
    return math.atan2(ty, tx)


def told(number: int, shop: Shop, folder: Path, *, full: bool) -> tuple[str, list[str]]:
    """The decision for an outline in a line, "" where the draw crosses itself, and what stays open."""
    profile = outline(number)
    if profile is None:
        return "", []
    tall = float(np.random.default_rng(number + 7).choice(TALL))
    more, region = printed(profile, tall) if full else ("", Region(profile))
    inside = to_polygon(region, 0.01).representative_point()
    shape = kernel.extrude(region, 0.0, tall)
    (folder / "part.step").write_bytes(kernel.step_text({"part": shape}, title="part"))
    text = JOB.format(number=number, x=inside.x, y=inside.y, tall=tall)
    if full:
        text = text.replace(METALS[0], METALS[number % len(METALS)])
    (folder / "job.toml").write_text(text + more, encoding="utf-8")
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
    ask.add_argument("--printed", action="store_true", help="other metals, datums on walls, a hole")
    args = ask.parse_args()
    shop, left, tried = read_shop(DEMO / "shop.toml"), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(args.first, args.first + args.count):
            line, said = told(number, shop, Path(folder), full=args.printed)
            if not line:
                continue
            tried, left = tried + 1, left + bool(said)
            print(line, *(f"    {s}" for s in said), sep="\n", flush=True)
    print(f"{left} of {tried} stay open")


if __name__ == "__main__":
    main()

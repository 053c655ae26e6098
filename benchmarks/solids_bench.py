"""Removing metal by exact areas against booleans of swept solids, and against a height map's findings.

    python benchmarks/solids_bench.py [moves ...]

Baseline one: the solid kernel cuts each level move's swept solid from the blank, one after the other, as
a general solid modeler would; only moves along straight lines are taken, for both. Baseline two: the
stamped height map of tests/verify; every place where the check finds more than a cell of gouge or rest
in a spoiled program must be one where the map differs from the good program's, and the other way
round. Prints processor time and counts; judges nothing.
"""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path

import numpy as np

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "cutting"), str(Path(__file__).parent)]

from mutants import by_hand  # noqa: E402
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse  # noqa: E402
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder  # noqa: E402
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt  # noqa: E402
from verify_bench import program  # noqa: E402

import samples  # noqa: E402
from jawright.verify.gone import Gone  # noqa: E402
from jawright.verify.material import Cuts, levels  # noqa: E402
from jawright.verify.place import Frame, place  # noqa: E402
from jawright.verify.place import Path as Way  # noqa: E402
from jawright.verify.reader import read  # noqa: E402
from jawright.verify.tool import body  # noqa: E402
from verify.mutants import CELL, KINDS, cut, outcome  # noqa: E402
from verify.program import ORIGIN  # noqa: E402

TOP, RADIUS = 50.0, 5.0
SPOILED = ("Z off by 10", "X or Y off by 5", "lines lost")


def straight(moves: int) -> list[Way]:
    """The first level feed moves of the end mill along straight lines."""
    frame = Frame(ORIGIN, False, TOP)
    out = []
    for m in read(program(4 * moves + 200)).moves:
        p = place(m, frame)
        level = p.known and len(p.runs) == 1 and p.runs[0].z0 == p.runs[0].z1 and p.runs[0].center is None
        if m.kind == "feed" and m.tool == 2 and level and p.low < TOP and p.runs[0].length > 0.1:
            out.append(p)
    return out[:moves]


def by_areas(ways: list[Way]) -> float:
    """Seconds to know what is left on every level."""
    start = time.process_time()
    tool = body(next(c for c in samples.cutters() if c.number == 2))
    cuts = Cuts(ways, [tool] * len(ways), TOP, Frame((0.0, 0.0, 0.0), False, TOP))
    spans = levels(cuts, [], 40.0)
    gone = Gone(cuts, spans)
    for k in range(len(spans)):
        gone.at(k)
    return time.process_time() - start


def by_solids(ways: list[Way]) -> float:
    """Seconds for the kernel to cut the swept solids one after the other."""
    start = time.process_time()
    shape = BRepPrimAPI_MakeBox(gp_Pnt(-75, -31, 0), gp_Pnt(75, 25, TOP)).Shape()
    for p in ways:
        r = p.runs[0]
        shape = BRepAlgoAPI_Cut(shape, _swept(r.start, r.end, r.z0)).Shape()
    return time.process_time() - start


def _swept(a: tuple[float, float], b: tuple[float, float], z: float):
    up, high = gp_Dir(0, 0, 1), TOP + 1 - z
    long = float(np.hypot(b[0] - a[0], b[1] - a[1]))
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    corner = gp_Pnt(a[0] + RADIUS * uy, a[1] - RADIUS * ux, z)
    out = BRepPrimAPI_MakeBox(gp_Ax2(corner, up, gp_Dir(ux, uy, 0)), long, 2 * RADIUS, high).Shape()
    for p in (a, b):
        end = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*p, z), up), RADIUS, high).Shape()
        out = BRepAlgoAPI_Fuse(out, end).Shape()
    return out


def agreement() -> str:
    """Findings of check and height map on spoiled programs, each looked for in the other."""
    base = by_hand("by hand", spring=False)
    good = cut(base, base.text)
    found = agreed = mapped = caught = 0
    for kind in (k for k in KINDS if k in SPOILED):
        for seed in (1, 2):
            bad = outcome(base, kind, seed)
            if bad is None or not bad.text:
                continue
            grid = cut(base, bad.text)
            differ = np.argwhere(np.abs(grid.h - good.h) > CELL)
            spots = np.column_stack((grid.x[differ[:, 0]], grid.y[differ[:, 1]]))
            v = base.check(bad.text)
            for f in v.findings:
                m = re.match(r"(?:gouge|rest): ([0-9.]+) mm.* X (-?[0-9.]+) Y (-?[0-9.]+) Z", f.what)
                if m is None or float(m.group(1)) < 2 * CELL:
                    continue
                found += 1
                here = (float(m.group(2)), float(m.group(3)))
                agreed += bool(len(spots)) and np.hypot(*(spots - here).T).min() <= CELL * 2**0.5
            mapped += len(spots) > 0
            caught += len(spots) > 0 and not v.verified
    return (
        f"{found} gouges and rests deeper than two cells ({CELL} mm): {agreed} stand on the map too, "
        f"within a cell; {mapped} programs differ on the map: the check refuses {caught}"
    )


def main(sizes: list[int]) -> None:
    for n in sizes:
        ways = straight(n)
        ours, theirs = by_areas(ways), by_solids(ways)
        print(
            f"{len(ways):5d} moves: areas {ours:.3f} s, solid booleans {theirs:.3f} s, "
            f"{theirs / ours:.0f} times as long"
        )
    print(agreement())


if __name__ == "__main__":
    main([int(a) for a in sys.argv[1:]] or [20, 60])

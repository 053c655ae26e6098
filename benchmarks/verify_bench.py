"""How long a program's check takes, as ratios in one run.

    python benchmarks/verify_bench.py [moves ...]

Baseline: a height map with 0.1 mm cells, the usual second way, that only removes metal (no
comparison, no faults). Prints seconds of processor time and ratios; judges nothing.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

import samples
from jawright.verify.check import check
from jawright.verify.place import Frame, place
from jawright.verify.reader import read
from verify.heightmap import Grid, flat
from verify.program import FLOOR, ORIGIN, Text, footer, header, hole, layer, loop, relief, tool, well


def program(moves: int) -> str:
    """A verified program of about that many moves: the pocket in thinner and thinner layers."""
    layers = max(4, round((moves - 60) / 26))
    t = Text()
    header(t)
    t.add("(BREAK THE UPPER EDGE BY HAND)")
    for text in samples.jaws().text:
        t.add(f'(STAMP BY HAND "{text}")')
    tool(t, 2, 8000, -17, -7)
    t.add(f"G0 {t.z(52)}")
    above = 50.2
    for k in range(1, layers + 1):
        z = round(50 - (50 - FLOOR) * k / layers, 4)
        layer(t, above, z, 1200)
        above = z
    loop(t, 5.0, 800)
    t.add(f"G1 {t.x(0)} {t.y(-7)}")
    t.add(f"G0 {t.z(52)}")
    relief(t)
    well(t)
    hole(t)
    footer(t)
    return t.text()


def clock(action):
    start = time.process_time()
    result = action()
    return result, time.process_time() - start


def height_map(text: str) -> Grid:
    """The baseline: every level or sloped feed of the end mill walked over a grid."""
    grid = Grid(-76, -32, 76, 26, 0.1, 50.0)
    frame = Frame(ORIGIN, False, 50.0)
    for m in read(text).moves:
        p = place(m, frame)
        if m.kind != "feed" or m.tool != 2 or p.low >= 50.0:
            continue
        for r in p.runs:
            pts = r.points(0.01)
            n = max(1, len(pts) - 1)
            chain = [(*q, min(50.0, r.z0 + (r.z1 - r.z0) * k / n)) for k, q in enumerate(pts)]
            grid.walk(chain, flat(0.0, 5.0), 5.0, 0.05)
    return grid


def main(sizes: list[int]) -> None:
    first = None
    for size in sizes:
        text = program(size)
        _, t_read = clock(lambda text=text: read(text))
        v, t_check = clock(
            lambda text=text: check(
                text,
                origin=ORIGIN,
                turned=False,
                jaws=samples.jaws(),
                shop=samples.shop(),
                vise=samples.vise(),
            )
        )
        line = f"{v.moves:6d} moves, {len(v.levels):4d} levels: read {t_read:.3f} s, check {t_check:.3f} s"
        if size <= 500:  # a minute beyond that
            _, t_map = clock(lambda text=text: height_map(text))
            line += f", height map {t_map:.3f} s = {t_map / t_check:.1f} times"
        if first is None:
            first = (v.moves, t_check)
        else:
            power = math.log(t_check / first[1]) / math.log(v.moves / first[0])
            line += f", grows as moves^{power:.2f}"
        print(line, "" if v.verified else "NOT VERIFIED", *[f.what for f in v.findings[:3]])


if __name__ == "__main__":
    main([int(a) for a in sys.argv[1:]] or [200, 2000, 20000])

"""Random programs: metal taken away by exact areas and by the height map agree within a cell."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely

import samples
from jawright.verify.gone import Gone
from jawright.verify.material import Cuts, levels
from jawright.verify.place import Frame, place
from jawright.verify.reader import read
from jawright.verify.tool import body
from verify.heightmap import Grid, flat, pointed

CELL = 0.2
TOP = 50.0
TOOLS = {
    2: (flat(0.0, 5.0), 5.0),
    4: (flat(1.0, 5.0), 5.0),
    5: (pointed(math.radians(90)), 3.0),
    6: (pointed(math.radians(118)), 2.9),
    8: (pointed(math.radians(60), 0.1), 1.5),
}


class Writer:
    """Random moves, as text and as chains of points, both made from the same numbers."""

    def __init__(self, seed: int, turned: bool) -> None:
        self.rng = random.Random(seed)
        self.turned = turned
        self.lines = ["G21 G17 G40 G49 G80 G90 G94 G54", "S5000 M3 F500"]
        self.chains: list[tuple[int, list]] = []
        self.at = (0.0, 0.0, 60.0)

    def say(self, code: str, p, extra: str = "") -> None:
        s = -1 if self.turned else 1
        self.lines.append(f"{code} X{s * p[0]:.6f} Y{s * p[1]:.6f} Z{p[2] - TOP:.6f}{extra}")

    def place(self, low: float = 40.0):
        r = self.rng
        return (round(r.uniform(-20, 20), 3), round(r.uniform(-20, 20), 3), round(r.uniform(low, 49.5), 3))

    def tool(self, number: int) -> None:
        self.number = number
        x, y, z = self.place()
        self.lines += ["G53 G0 Z0", f"T{number} M6", "S5000 M3", f"G43 H{number}"]
        s = -1 if self.turned else 1
        self.lines.append(f"G0 X{s * x:.6f} Y{s * y:.6f}")
        self.say("G0", (x, y, 60.0))
        self.say("G1", (x, y, z), " F500")
        self.chains.append((number, [(x, y, 60.0), (x, y, z)]))
        self.at = (x, y, z)

    def line(self) -> None:
        x, y, z = self.place()
        to = (x, y, self.rng.choice([self.at[2], self.at[2], z]))
        self.say("G1", to)
        self.chains.append((self.number, [self.at, to]))
        self.at = to

    def arc(self) -> None:
        r = self.rng
        a, rho = r.uniform(-math.pi, math.pi), r.choice([r.uniform(0.3, 5.0), r.uniform(5.0, 12.0)])
        sweep = r.choice([r.uniform(0.2, 6.2), 2 * math.pi]) * r.choice([-1, 1])
        x, y, z = self.at
        c = (x - rho * math.cos(a), y - rho * math.sin(a))
        if max(abs(c[0]), abs(c[1])) > 20:
            return
        drop = r.choice([0.0, 0.0, r.uniform(0.0, z - 38.0)])
        n = 4000
        chain = [
            (
                c[0] + rho * math.cos(a + sweep * k / n),
                c[1] + rho * math.sin(a + sweep * k / n),
                z - drop * k / n,
            )
            for k in range(n + 1)
        ]
        if abs(abs(sweep) - 2 * math.pi) < 1e-9:
            chain[-1] = (x, y, z - drop)
        s = -1 if self.turned else 1
        extra = f" I{s * (c[0] - x):.6f} J{s * (c[1] - y):.6f}"
        self.say("G3" if sweep > 0 else "G2", chain[-1], extra)
        self.chains.append((self.number, [*chain[::40], chain[-1]]))
        self.at = chain[-1]


def both(seed: int, turned: bool):
    w = Writer(seed, turned)
    for _ in range(2):
        w.tool(w.rng.choice(list(TOOLS)))
        for _ in range(4):
            w.rng.choice([w.line, w.line, w.arc, w.arc])()
    text = "\n".join([*w.lines, "M30", ""])
    grid = Grid(-34, -34, 34, 34, CELL, TOP)
    for number, chain in w.chains:
        surface, radius = TOOLS[number]
        grid.walk(chain, surface, radius, CELL / 2)
    reading = read(text)
    assert [f for f in reading.findings if f.level in ("refused", "fault")] == []
    frame = Frame((0.0, 0.0, TOP), turned, TOP)
    tools = {c.number: body(c) for c in samples.cutters()}
    low = [p for m in reading.moves if (p := place(m, frame)).known and p.low < TOP]
    cuts = Cuts(low, [tools[p.move.tool] for p in low], TOP, frame)
    return grid, cuts


def disagree(grid: Grid, cuts: Cuts) -> list[str]:
    """Cells on which the two ways differ though they lie more than a cell from the area's edge."""
    spans = levels(cuts, [], 30.0)
    swept = Gone(cuts, spans)
    gone = [swept.at(k) for k in range(len(spans))]
    xx, yy = np.meshgrid(grid.x, grid.y, indexing="ij")
    spots = shapely.points(xx.ravel(), yy.ravel())
    out = []
    for span, area in list(zip(spans, gone, strict=True))[:: max(1, len(spans) // 6)]:
        shapely.prepare(area)
        ours = shapely.intersects(area, spots)
        theirs = (grid.h < span.at).ravel()
        differ = np.flatnonzero(ours != theirs)
        if len(differ) == 0:
            continue
        edge = shapely.boundary(area)
        far = shapely.distance(edge, spots[differ])
        # half a cell's diagonal and half the walking step; in height, half the step again
        limit = CELL * math.sqrt(2) / 2 + CELL / 4
        bad = differ[(far > limit) & (np.abs(grid.h.ravel()[differ] - span.at) > CELL / 4)]
        if len(bad):
            out.append(f"z {span.at:.3f}: {len(bad)} cells, worst {far.max():.3f} mm")
    return out


@pytest.mark.parametrize("seed", range(8))
def test_random_programs_agree(seed):
    grid, cuts = both(seed, turned=seed % 3 == 0)
    assert (grid.h < TOP).any()
    assert disagree(grid, cuts) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 300))
def test_many_random_programs_agree(seed):
    grid, cuts = both(seed, turned=seed % 3 == 0)
    assert disagree(grid, cuts) == []


def test_the_map_can_tell_a_difference():
    """The same program with its cutter 1 mm smaller does not agree."""
    grid, cuts = both(3, turned=True)
    small = [body(samples.cutters()[1])] * len(cuts.bodies)
    other = Cuts(
        cuts.paths, [type(b)(b.radius - 0.5, 0.0, math.pi / 2, 25, 40, 16) for b in small], TOP, cuts.frame
    )
    assert disagree(grid, other) != []

"""Which datum takes which tilt: leaning walls and a part that leans, against frames built in space."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import sample_block as block

from jawright.job.model import Given, ToleranceAsk
from jawright.proof.deviations import judge, resolve
from jawright.proof.population import Scene, scene
from jawright.shop.model import Band3

TALL, MIDDLE = 12.0, 3.25  # of the block, and of its grip, over the floor
DEEP = 12.0


def leaning(square: float, lift: float) -> tuple[Scene, np.ndarray]:
    """The block with walls that lean by up to ``square`` over its height, and a floating jaw that rises."""
    h = block.hold()
    h = replace(h, vise=replace(h.vise, lift=Band3(lift, lift, lift, "test")))
    job = block.job(profile=0.0)
    job = replace(job, incoming=replace(job.incoming, squareness=Given(square, "test")))
    s = scene(h, job, block.quiet_shop())
    assert s.tall == TALL and s.rise[0] * TALL == pytest.approx(-MIDDLE)
    return s, s.draw(400, "tilts")


def by_space(order: str, slopes: dict[str, float], lean: float, at: np.ndarray) -> float:
    """Diameter of the zone about true position that an upright hole at ``at`` needs, all in space.

    The block lies on A (z = 0); B faces +Y at y = 0, C faces -X at x = -30; each touches with the corner that
    is highest along the datum plane's own normal. The hole is upright in the machine, the part leans by
    ``lean`` about X.
    """
    walls = {"B": np.array([0.0, 1.0, -slopes["B"]]), "C": np.array([-1.0, 0.0, -slopes["C"]])}
    normals = {k: n / np.linalg.norm(n) for k, n in walls.items()} | {"A": np.array([0.0, 0.0, -1.0])}
    frame: list[np.ndarray] = []
    places: dict[str, float] = {}
    for letter in order:
        n = normals[letter].copy()
        for q in frame:
            n -= (n @ q) * q
        assert np.linalg.norm(n) > 0.9
        n /= np.linalg.norm(n)
        frame.append(n)
        if letter == "A":
            continue
        ends = (-30.0, 30.0) if letter == "B" else (-30.0, 0.0)
        corners = []
        for e in ends:
            for z in (0.0, TALL):
                out = slopes[letter] * (z - MIDDLE)
                corners.append([e, out, z] if letter == "B" else [-30.0 - out, e, z])
        places[letter] = float(max(np.array(c) @ n for c in corners))
    rows = dict(zip(order, frame, strict=True))
    far = 0.0
    for z in (TALL, TALL - DEEP):
        p = np.array([at[0], at[1] - lean * z, z])
        off = np.zeros(2)
        for letter, axis, nominal in (("B", 1, 0.0), ("C", 0, -30.0)):
            if letter not in rows:
                continue
            sign = 1.0 if letter == "B" else -1.0
            true = at[axis] - nominal
            off[axis] = sign * (p @ rows[letter] - places[letter]) - true
        far = max(far, 2 * float(np.hypot(*off)))
    return far


@pytest.mark.parametrize("order", ["ABC", "ACB", "BAC", "BCA", "CBA", "CAB", "BC", "B", "C", "AB"])
def test_frames_of_any_order_against_frames_in_space(order: str) -> None:
    s, sample = leaning(0.005, 0.005)
    letters = tuple(order)
    ask = ToleranceAsk("pivot bore", "position", 0.1, letters, True)
    h = block.hold()
    got = judge(resolve(h, ask), s, sample, s.seated(sample)).value
    at = np.array([10.0, -12.0])
    want = [
        by_space(
            order,
            {"B": row[s.column("lean 1")] / TALL, "C": row[s.column("lean 2")] / TALL},
            float(np.arctan2(row[s.column("lift")], s.lift_span)),
            at,
        )
        for row in sample
    ]
    assert got == pytest.approx(np.array(want), abs=1e-5)  # a slope of 4e-4 squared, over 40 mm
    assert np.max(want) > 0.003

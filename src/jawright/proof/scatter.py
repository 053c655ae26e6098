"""Points for the picture of deviation against part size: the hold and its rivals, one tolerance at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.deviations import Ask, resolve
from jawright.proof.locates import Run, study
from jawright.proof.model import Cloud, Scatter
from jawright.proof.rivals import HELD
from jawright.shop.model import Shop

Floats = NDArray[np.float64]

POINTS = 100
MOST = 3
"""Tolerances drawn: those with the lowest yield."""
FLAT = 0.05  # slope on size up to which a way counts as not following it
MICRON = 4  # decimals [mm] a point keeps: a tenth of a micrometer
IN_PLANE = ("diameter", "plane", "distance")


def scatter(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> tuple[Scatter, ...]:
    """Scatter of the in-plane tolerances with the lowest yield; empty when nothing can be judged.

    Size is how far the part is too big across (twice the growth of its outline).
    """
    asks = [resolve(hold, t) for t in hold.tolerances if t.kind not in ("size", "diameter")]
    asks = [a for a in asks if a.measure in IN_PLANE]
    if not asks:
        return ()
    run = study(hold, jaws, part, job, shop)
    if run.lost:
        return ()
    asks.sort(key=lambda a: run.outcome(a, "set")[0].share)  # stable: the print's order among equals
    return tuple(_one(run, a) for a in asks[:MOST])


def _one(run: Run, ask: Ask) -> Scatter:
    keys = ["set", *(k for k, w in run.ways.items() if w.stance)]
    assert ask.feature is not None
    clouds = tuple(_cloud(run, ask, k) for k in keys)
    return Scatter(ask.feature.name, ask.title(run.say), ask.tolerance.zone / 2, clouds)


def _cloud(run: Run, ask: Ask, key: str) -> Cloud:
    outcome, _ = run.outcome(ask, key)
    size, parts = 2.0 * run.all[key].sample[:, 0], outcome.judged.parts
    seated = np.isfinite(parts).all(axis=1)
    size, parts = size[seated], parts[seated]
    slopes = _slopes(size, parts)
    way = _direction(ask, slopes, parts)
    off = parts @ way
    points = tuple(
        (round(float(a), MICRON), round(float(b), MICRON))
        for a, b in zip(size[:POINTS], off[:POINTS], strict=True)
    )
    n = ask.datums[0].normal
    plan = (float(way[0]), float(way[1])) if ask.measure == "diameter" else (float(n[0]), float(n[1]))
    slope = round(float(slopes @ way), MICRON)
    return Cloud(HELD if key == "set" else key, plan, slope, outcome.share, points)


def _slopes(size: Floats, parts: Floats) -> Floats:
    """Slope (d,) of every deviation on size, by least squares."""
    if len(size) < 2 or size.std() == 0:
        return np.zeros(parts.shape[1])
    return np.asarray((size - size.mean()) @ (parts - parts.mean(axis=0)) / (len(size) * size.var()))


def _direction(ask: Ask, slopes: Floats, parts: Floats) -> Floats:
    """Weights (d,) that make one signed deviation.

    Positions follow the slope on size where there is one, else the longest axis of the scatter; of the
    points of an edge the one that moves most.
    """
    way = np.zeros(parts.shape[1])
    if ask.measure != "diameter":
        moves = np.abs(slopes) if np.abs(slopes).max() > FLAT else parts.std(axis=0)
        way[int(moves.argmax())] = 1.0
        return way if slopes @ way >= 0 else -way
    steep = float(np.linalg.norm(slopes))
    if steep > FLAT:
        return np.asarray(slopes / steep)
    _, axes = np.linalg.eigh(np.cov(parts, rowvar=False)) if len(parts) > 1 else (None, np.eye(2))
    way = axes[:, -1]
    return np.asarray(way if way[int(np.abs(way).argmax())] > 0 else -way)

"""Runs of known cause: sizes, scatter and one thing wrong. Invented numbers, lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jawright.floor.run import Run, Series
from jawright.statistics.draw import stream

CAUSES = (
    "located on the datum",
    "self-centering",
    "located on the other side",
    "mixed",
    "warm-up",
    "drift",
    "step",
    "two nests",
    "chip",
    "spring",
    "chasing",
    "gauge",
    "scatter",
)

SIDE = {"located on the datum": 0.0, "self-centering": 0.5, "located on the other side": 1.0}


@dataclass(frozen=True)
class Made:
    """A run and the causes that are really in it."""

    run: Run
    cause: str
    truth: frozenset[str]
    hit: frozenset[str] = frozenset()  # parts with a chip


def make(cause: str, seed: str, *, parts: int = 60, noise: float = 0.004, strength: float = 1.0) -> Made:
    """A run of ``parts`` with one ``cause`` in X; effects are a few times the ``noise`` by chance.

    Sizes vary by 0.03 mm, the spread of a saw-cut or first-side length; every run has a locating side.
    """
    rng = stream(f"{cause} {seed} {parts} {noise} {strength}")
    n = parts
    size = rng.normal(0.0, 0.03, n)
    x = rng.normal(0.0, noise, n)
    y = rng.normal(0.0, noise, n)
    side = cause if cause in SIDE else list(SIDE)[int(rng.integers(3))]
    truth = {side}
    if cause in ("gauge", "scatter"):
        side, truth = "located on the datum", {"located on the datum"}
    slope = SIDE[side]
    if cause == "mixed":
        slope = float(rng.choice([0.25, 0.75]))
        truth = {"mixed"}
    x = x + slope * size
    share = np.arange(n) / max(n - 1, 1)
    big = strength * noise * float(rng.uniform(5, 9)) * float(rng.choice([-1.0, 1.0]))
    minutes = np.cumsum(rng.uniform(3.5, 4.5, n))
    nests = torque = offsets = None
    hit = np.zeros(0, dtype=int)
    names = [f"P{k + 1:03d}" for k in range(n)]
    if cause == "warm-up":
        x += big * np.exp(-share / float(rng.uniform(0.06, 0.16)))
    elif cause == "drift":
        x += big * share
    elif cause == "step":
        x += 0.8 * big * (share > rng.uniform(0.3, 0.7))
    elif cause == "two nests":
        nests = tuple("AB"[k % 2] for k in range(n))
        x += 0.5 * big * (np.arange(n) % 2)
    elif cause == "spring":
        torque = rng.uniform(20.0, 40.0, n)
        x += big * (torque - 30.0) / 20.0
    elif cause == "chip":
        hit = rng.choice(np.arange(2, n - 1), max(1, n // 30), replace=False)
        depth = strength * noise * rng.uniform(9, 16, len(hit))
        x[hit] -= depth
        y[hit] -= depth * rng.uniform(0.7, 1.3, len(hit))
    if cause == "chasing":
        x, offsets, truth = _chased_run(rng, n, noise)
        size = None
    truth |= {"scatter"} if cause == "scatter" else ({cause} if cause not in (*SIDE, "mixed") else set())
    values = {"x_mm": x, "y_mm": y}
    if cause == "gauge":
        return _with_gauge(rng, names, minutes, size, x, noise, truth)
    return Made(
        Run(
            source="simulated",
            unit="mm",
            parts=tuple(names),
            minutes=minutes,
            sizes=() if size is None else (Series("size_x", "x", "x", size),),
            measured=tuple(Series(k[0], "", k[0], v) for k, v in values.items()),
            offsets=() if offsets is None else (Series("offset_x", "x", "x", offsets),),
            torque=torque,
            nests=nests,
            ignored=(),
        ),
        cause,
        frozenset(truth),
        frozenset(names[int(k)] for k in hit),
    )


def judge(made: Made, diagnosis) -> str:
    """ "right", "unsure" or "wrong": wrong when any cause is named that is not in the run."""
    named = set(diagnosis.causes)
    main = {made.cause} if made.cause in SIDE else set(made.truth) - set(SIDE)
    allowed = set(made.truth)
    if main == {"located on the datum"}:
        allowed.add("scatter")  # and nothing else stands out
    if made.hit and all(set(n.parts) <= made.hit for n in diagnosis.named if n.cause == "outlier"):
        allowed.add("outlier")
    if named - allowed:
        return "wrong"
    return "right" if main <= named else "unsure"


def _chase(x, rng, gain):
    """The operator dials in a share of each deviation before the next part."""
    level, out, made = 0.0, [], []
    change = 0.0
    for v in x:
        level += change
        out.append(v + level)
        made.append(change)
        change = -gain * (v + level)
    return np.array(out), np.array(made)


def _chased_run(rng, n, noise):
    x, made = _chase(rng.normal(0.0, noise, n), rng, float(rng.uniform(0.7, 1.0)))
    return x, made, {"chasing"}


def _with_gauge(rng, names, minutes, size, x, noise, truth):
    """Each part read three times with a gauge that is worse than the parts."""
    rows = np.repeat(np.arange(len(names)), 3)
    read = x[rows] + rng.normal(0.0, 2.0 * noise, len(rows))
    return Made(
        Run(
            source="simulated",
            unit="mm",
            parts=tuple(names[k] for k in rows),
            minutes=minutes[rows],
            sizes=(Series("size_x", "x", "x", size[rows]),),
            measured=(Series("x", "", "x", read),),
            offsets=(),
            torque=None,
            nests=None,
            ignored=(),
        ),
        "gauge",
        frozenset(truth | {"gauge"}),
    )

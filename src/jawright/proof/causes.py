"""What makes the scatter of a tolerance: the share of each source, by sampling and by sensitivities."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.part.model import Part
from jawright.proof.deviations import Ask, Judged, judge
from jawright.proof.population import Scene
from jawright.statistics.tolerance import shares

Floats = NDArray[np.float64]


def _linear(ask: Ask, s: Scene, part: Part | None) -> tuple[Floats, Floats]:
    """Central values (d,) and sensitivities (d, s) per unit of each source, by one step of σ either way."""
    steps = np.array([q.sigma for q in s.sources])
    mean = np.array([q.mean for q in s.sources])
    k = len(steps)
    sample = np.vstack([mean, mean + np.diag(steps), mean - np.diag(steps)])
    judged = judge(ask, s, sample, s.seated(sample), part).parts
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = (judged[1 : k + 1] - judged[k + 1 :]) / (2 * steps[:, None])
    return judged[0], np.nan_to_num(slope, posinf=0.0, neginf=0.0).T


@dataclass(frozen=True)
class Shares:
    """What makes the scatter: share by label, largest first; variances [mm²]; slope on size."""

    by_label: dict[str, float]
    sampled: float
    linear: float
    size_slope: float


CHANGES = "contacts that change from part to part"


@dataclass(frozen=True)
class Sampled:
    """A sample (m, s) of the parts that seat, and the variance of each source (s,)."""

    seated: NDArray[np.bool_]
    sample: Floats
    own: Floats


def sampled_of(sample: Floats, lost: NDArray[np.bool_]) -> Sampled:
    """What ``contributions`` needs of a population, the same for all of its tolerances."""
    seated = ~lost[: len(sample)]
    sample = sample if seated.all() else sample[seated]
    own = np.array([c.var() if len(c) else 0.0 for c in sample.T])  # without a table of squares
    return Sampled(seated, sample, own)


def contributions(
    ask: Ask, s: Scene, c: Sampled, judged: Judged, part: Part | None = None, *, steps: bool = True
) -> Shares:
    """Share of each source in the variance of a population.

    Slopes by least squares over the sample (sources are independent, so each is a covariance over a
    variance); what they leave unexplained is contacts that change. The linear variance, from
    one step of σ of each source about the mean part, is given beside it (0 without ``steps``): equal where
    no contact changes. Source: first-order error propagation.
    """
    count = len(c.sample)
    if count < 2:
        return Shares({CHANGES: 1.0}, 0.0, 0.0, 0.0)
    parts = judged.parts[: len(c.seated)][c.seated]
    parts = parts - parts.mean(axis=0)  # so that the sample needs no centering
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.nan_to_num((parts.T @ c.sample) / count / c.own, posinf=0.0, neginf=0.0)
    variance = (slope**2).sum(axis=0) * c.own
    # A slope that is no more than sampling noise must not show as a source.
    total = float((parts**2).mean(axis=0).sum())
    variance[variance < 20 * total / count] = 0.0
    by_label: dict[str, float] = {}
    for q, v in zip(s.sources, variance, strict=True):
        by_label[q.label] = by_label.get(q.label, 0.0) + float(v)
    by_label[CHANGES] = max(0.0, total - sum(by_label.values()))
    share = shares(list(by_label.values()))
    ranked = sorted(zip(by_label, share, strict=True), key=lambda p: (-p[1], p[0]))
    linear = 0.0
    if steps:
        _, step = _linear(ask, s, part)
        linear = float(((step**2).sum(axis=0) * np.array([q.sigma**2 for q in s.sources])).sum())
    on_size = float(np.linalg.norm(slope[:, 0])) / 2 if variance[0] > 0 else 0.0
    return Shares(dict(ranked), total, linear, on_size)

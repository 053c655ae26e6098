"""What would close a tolerance that too few parts meet: which source has to be held tighter, and to what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from jawright.proof.gives import LABEL as SPRING
from jawright.proof.outcome import PASS_YIELD, Outcome
from jawright.proof.population import FEW, LOST, Population, otherwise
from jawright.proof.say import Say
from jawright.proof.sources import Source
from jawright.units import show

TIGHTER = (0.75, 0.5, 0.33, 0.25, 0.1)
"""Shares of a source's width that are tried; below a tenth another way is cheaper (common practice)."""
WORTH = 0.1
"""A source with less than this share of the scatter is left alone."""
TRIED = 3
"""So many of the largest sources are tried, alone and then the two largest together."""

Judge = Callable[[Population], Outcome]


def tightened(p: Population, labels: Sequence[str], share: float) -> Population:
    """The first parts of a population seated again with the named sources drawn ``share`` times as wide."""
    new = {}
    for i, q in enumerate(p.scene.sources):
        if q.label in labels:
            mean = q.mean * (share if q.kind == "rise" else 1.0)
            new[i] = (replace(q, size=q.size * share), mean + (p.sample[:FEW, i] - q.mean) * share)
    return otherwise(p, new)


def closing(p: Population, now: Outcome, by_label: dict[str, float], judge: Judge, say: Say) -> str:
    """One sentence: which source, held how tight, brings the yield to ``PASS_YIELD``; or that none does.

    Parameters
    ----------
    p : the parts as they are expected
    now : the tolerance over them
    by_label : share of each source in the scatter, largest first
    judge : the tolerance over another population of the same hold

    Each answer is a population seated and judged again, not a rule of squares: contacts may change.
    """
    if now.share >= PASS_YIELD or not np.isfinite(now.reach) or now.reach >= LOST:
        return ""
    known: dict[str, Source] = {}
    for q in p.scene.sources:
        known.setdefault(q.label, q)
    able = [label for label, v in by_label.items() if v >= WORTH and label in known][:TRIED]
    found = []
    for label in able:
        share = _enough(p, (label,), judge)
        if share is not None:
            found.append(_words(known[label], share, say))
    if not found and len(able) > 1:
        share = _enough(p, able[:2], judge)
        if share is not None:
            found.append(" and ".join(_words(known[label], share, say) for label in able[:2]))
    if found:
        return f"It would close with {', or with '.join(found)}."
    return f"No one or two sources close it: held this way a zone of {say.fine(now.reach)} is met."


def _enough(p: Population, labels: Sequence[str], judge: Judge) -> float | None:
    """The widest share tried at which the yield is reached; None when a tenth is not enough."""
    if judge(tightened(p, labels, TIGHTER[-1])).share < PASS_YIELD:
        return None
    return next(s for s in TIGHTER if judge(tightened(p, labels, s)).share >= PASS_YIELD)


def _words(q: Source, share: float, say: Say) -> str:
    width = q.sigma if q.kind == "measured" else q.size
    sign = {"normal": "σ ", "measured": "σ ", "rise": "0 to "}.get(q.kind, "± ")
    was, tight = (_figure(q, v, say) for v in (width, width * share))
    return f"{q.label} {sign}{tight} instead of {was}"


def _figure(q: Source, value: float, say: Say) -> str:
    """A width in the unit of its source: most are lengths, heat and the clamp force are not."""
    if "temperature" in q.label:
        return f"{value:.1f} K"
    if q.label == SPRING:
        return show(value, "force", say.units)
    return say.fine(value)

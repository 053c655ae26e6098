"""Spacer stacks the shop's parallels can make: what is clamped between the jaws while they are cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jawright.jaws.model import SpacerStack
from jawright.shop.model import Parallel

CLEAR = 1.0  # [mm] least gap between cutter and spacer, below or beside (common practice, no source)
SIDE_CLEAR = 2.0  # [mm] least gap beside the pocket (common practice, no source)
NARROWEST = 1.5  # [mm] least jaw gap with the part clamped (common practice, no source)
LOOSE = 0.1  # [mm] a riser must be at least this much thinner than the gap, or it would be clamped itself


@dataclass(frozen=True, slots=True)
class Width:
    """A gap the shop's parallels can set: ``pieces`` side by side, each ``tall`` high as they are clamped."""

    gap: float
    parallel: Parallel
    pieces: int
    tall: float
    flat: bool  # lying flat: its height spans the gap

    def words(self) -> str:
        lie = "lying flat" if self.flat else "standing"
        return f"{self.pieces} × {self.parallel.id} {lie}"


def widths(parallels: Sequence[Parallel]) -> list[Width]:
    """Every gap the parallels can set, narrowest first."""
    out = []
    for p in parallels:
        for k in (1, 2):
            if p.count >= k and k * p.thickness >= NARROWEST:
                out.append(Width(k * p.thickness, p, k, p.height, False))
        if p.count >= 1:
            out.append(Width(p.height, p, 1, p.thickness, True))
    return sorted(out, key=lambda w: (w.gap, w.pieces, w.tall, w.parallel.id))


def _risers(width: Width, parallels: Sequence[Parallel]) -> Iterator[tuple[tuple[Parallel, ...], float]]:
    """What can stand loosely in the gap under the spacers: (pieces, height)."""
    yield (), 0.0
    for p in parallels:
        left = p.count - (width.pieces if p.id == width.parallel.id else 0)
        if left < 1:
            continue
        if p.thickness <= width.gap - LOOSE:
            yield (p,), p.height
        if p.height <= width.gap - LOOSE:
            yield (p,), p.thickness


def stacks(
    width: Width,
    parallels: Sequence[Parallel],
    *,
    top: float,
    grip_height: float,
    jaw: tuple[float, float],
    pocket: tuple[float, float],
    lowest: float,
    reach: float,
    middles: Sequence[float] = (0.0,),
) -> list[SpacerStack]:
    """Stacks that keep clear of the cutter, the one nearest the grip's height first.

    Parameters
    ----------
    top : Z of the jaws' top [mm]
    grip_height : Z of the middle of the grip [mm]
    jaw, pocket : X range of the jaws and of the pocket [mm]
    lowest : Z of the lowest cut in the gap [mm] (the floor, or the bottom of a well that crosses the gap)
    reach : how far the cutter goes beyond the pocket along X [mm], 0 when it stays inside
    middles : X of each vise in line [mm]; each gets a stack of its own
    """
    out = []
    p = width.parallel
    for risers, low in _risers(width, parallels):
        high = low + width.tall
        under = lowest - high
        n = len(middles)
        if under >= CLEAR and _enough(width, risers, n):
            half = min(p.length, jaw[1] - jaw[0]) / 2
            mid = (jaw[0] + jaw[1]) / 2
            out.append(
                SpacerStack(
                    spacers=(p,) * (width.pieces * n),
                    risers=risers * n,
                    width=width.gap,
                    low=low,
                    high=high,
                    x_runs=tuple((mid + m - half, mid + m + half) for m in middles),
                    height=(low + high) / 2,
                    cutter_gap=under,
                    reason="across the jaws, under the pocket",
                )
            )
        beside = _beside(width, risers, low, high, jaw=jaw, pocket=pocket, top=top, reach=reach)
        if beside is not None and n == 1:
            out.append(beside)
    return sorted(out, key=lambda s: (round(abs(s.height - grip_height), 6), len(s.risers), s.high))


def _enough(width: Width, risers: Sequence[Parallel], vises: int) -> bool:
    """Whether the shop has the pieces for a stack in each of several vises."""
    if vises == 1:
        return True
    own = width.pieces * vises + sum(vises for r in risers if r.id == width.parallel.id)
    return own <= width.parallel.count and all(vises <= r.count for r in risers)


def _beside(
    width: Width,
    risers: tuple[Parallel, ...],
    low: float,
    high: float,
    *,
    jaw: tuple[float, float],
    pocket: tuple[float, float],
    top: float,
    reach: float,
) -> SpacerStack | None:
    """One spacer at each side of the pocket, as high as the grip, when two short ones fit."""
    p = width.parallel
    away = reach + SIDE_CLEAR
    room_left = pocket[0] - away - jaw[0]
    room_right = jaw[1] - pocket[1] - away
    if high > top or p.count < 2 * width.pieces or p.length > min(room_left, room_right):
        return None
    if risers:
        r = risers[0]
        spare = r.count - (2 * width.pieces if r.id == p.id else 0)
        long_enough = r.length >= jaw[1] - jaw[0] - 10.0
        if not long_enough and spare < 2:
            return None
        risers = risers if long_enough else risers * 2
    left = (pocket[0] - away - p.length, pocket[0] - away)
    right = (pocket[1] + away, pocket[1] + away + p.length)
    return SpacerStack(
        spacers=(p,) * (2 * width.pieces),
        risers=risers,
        width=width.gap,
        low=low,
        high=high,
        x_runs=(left, right),
        height=(low + high) / 2,
        cutter_gap=SIDE_CLEAR,
        reason="one at each side of the pocket",
    )

"""Spacer stacks the shop's parallels can make: what is clamped between the jaws while they are cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

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
        """The parallels that make the width, and how they lie."""
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


Risers = tuple[tuple[tuple[Parallel, ...], float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """A gap the shop's parallels can set and what can stand loosely in it; each is itself."""

    width: Width
    risers: Risers


@lru_cache(maxsize=8)
def gaps_and_risers(parallels: tuple[Parallel, ...]) -> tuple[Gap, ...]:
    """Every gap with what can stand loosely in it; kept, as a search asks for them thousands of times."""
    return tuple(Gap(w, risers_in(w, parallels)) for w in widths(parallels))


def risers_in(width: Width, parallels: Sequence[Parallel]) -> Risers:
    """What can stand loosely in the gap under the spacers: (pieces, height)."""
    out: list[tuple[tuple[Parallel, ...], float]] = [((), 0.0)]
    for p in parallels:
        left = p.count - (width.pieces if p.id == width.parallel.id else 0)
        if left < 1:
            continue
        if p.thickness <= width.gap - LOOSE:
            out.append(((p,), p.height))
        if p.height <= width.gap - LOOSE:
            out.append(((p,), p.thickness))
    return tuple(out)


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
    middles: tuple[float, ...] = (0.0,),
    risers: Risers | None = None,
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
    risers : what can stand in the gap, where it is known already
    """
    sides = len(middles) == 1 and _short_enough(width, jaw=jaw, pocket=pocket, away=reach + SIDE_CLEAR)
    own = risers_in(width, parallels) if risers is None else risers
    found = _ways(width, own, Clear(top, grip_height, jaw, lowest, middles), sides=sides)
    return [way.stack(pocket, reach) for way in sorted(found, key=_order)]


@dataclass(frozen=True, slots=True)
class Clear:
    """What a stack keeps clear of and how high it should be, wherever the pocket begins and ends [mm].

    As the parameters of ``stacks``.
    """

    top: float
    grip_height: float
    jaw: tuple[float, float]
    lowest: float
    middles: tuple[float, ...] = (0.0,)


@dataclass(frozen=True, slots=True)
class Way:
    """One stack that can stand in a gap; made only when it is chosen."""

    off: float  # from the grip's height [mm]
    risers: int
    high: float
    height: float  # of its middle
    stack: Callable[[tuple[float, float], float], SpacerStack]  # by pocket's X range and cutter's reach


def _order(way: Way) -> tuple[float, int, float]:
    """Nearest the grip's height first, then the one of fewest pieces, then the lowest."""
    return (way.off, way.risers, way.high)


class Nearest:
    """The stack of each gap that stands nearest the grip's height; kept, as a search asks at every turn."""

    def __init__(self, clear: Clear) -> None:
        self.clear = clear
        self._known: dict[tuple[Gap, bool], Way | None] = {}

    def of(self, gap: Gap, pocket: tuple[float, float]) -> Way | None:
        """The stack as ``stacks`` would give it first; None when none keeps clear of the cutter.

        ``pocket`` is its X range [mm].
        """
        c = self.clear
        room = len(c.middles) == 1 and _short_enough(gap.width, jaw=c.jaw, pocket=pocket, away=SIDE_CLEAR)
        key = (gap, room)
        if key not in self._known:
            ways = _ways(gap.width, gap.risers, c, sides=room)
            self._known[key] = min(ways, key=_order, default=None)
        return self._known[key]


@lru_cache(maxsize=256)
def nearest_by(
    top: float,
    grip_height: float,
    jaw: tuple[float, float],
    lowest: float,
    middles: tuple[float, ...] = (0.0,),
) -> Nearest:
    """What stands nearest the grip's height and keeps clear as said; parameters [mm] as ``stacks``."""
    return Nearest(Clear(top, grip_height, jaw, lowest, middles))


def _ways(width: Width, risers: Risers, clear: Clear, *, sides: bool) -> list[Way]:
    """Every stack of a gap that keeps clear of the cutter; beside the pocket where ``sides`` have room."""
    found: list[Way] = []
    n = len(clear.middles)
    for under_it, low in risers:
        high = low + width.tall
        across = clear.lowest - high >= CLEAR and (n == 1 or _enough(width, under_it, n))
        long = clear.jaw[1] - clear.jaw[0]
        pieces = _under_two(width, under_it, long) if sides and high <= clear.top else None
        if pieces is not None and clear.lowest - low < CLEAR and _longer(pieces, width.parallel):
            pieces = None  # they would reach into the pocket, above its floor
        height = (low + high) / 2
        off = round(abs(height - clear.grip_height), 6)
        if across:
            made = _across(width, under_it, low, jaw=clear.jaw, lowest=clear.lowest, middles=clear.middles)
            found.append(Way(off, len(under_it), high, height, partial(_as_made, made)))
        if pieces is not None:
            beside = partial(_at_the_sides, width, pieces, low)
            found.append(Way(off, len(pieces), high, height, beside))
    return found


def _as_made(stack: SpacerStack, pocket: tuple[float, float], reach: float) -> SpacerStack:
    """A stack under the pocket lies the same wherever the pocket ends."""
    del pocket, reach
    return stack


def _across(
    width: Width,
    risers: tuple[Parallel, ...],
    low: float,
    *,
    jaw: tuple[float, float],
    lowest: float,
    middles: Sequence[float],
) -> SpacerStack:
    """One stack under the pocket in each vise."""
    p, n, high = width.parallel, len(middles), low + width.tall
    half = min(p.length, jaw[1] - jaw[0]) / 2
    mid = (jaw[0] + jaw[1]) / 2
    return SpacerStack(
        spacers=(p,) * (width.pieces * n),
        risers=risers * n,
        width=width.gap,
        low=low,
        high=high,
        x_runs=tuple((mid + m - half, mid + m + half) for m in middles),
        height=(low + high) / 2,
        cutter_gap=lowest - high,
        reason="across the jaws, under the pocket",
    )


def _enough(width: Width, risers: Sequence[Parallel], vises: int) -> bool:
    """Whether the shop has the pieces for a stack in each of several vises."""
    if vises == 1:
        return True
    own = width.pieces * vises + sum(vises for r in risers if r.id == width.parallel.id)
    return own <= width.parallel.count and all(vises <= r.count for r in risers)


def _short_enough(
    width: Width, *, jaw: tuple[float, float], pocket: tuple[float, float], away: float
) -> bool:
    """Whether the shop has a spacer for each side of the pocket, and each is short enough to lie there."""
    room = min(pocket[0] - away - jaw[0], jaw[1] - pocket[1] - away)
    return width.parallel.count >= 2 * width.pieces and width.parallel.length <= room


def _under_two(width: Width, risers: tuple[Parallel, ...], jaw_length: float) -> tuple[Parallel, ...] | None:
    """The risers under one spacer at each side of the pocket; None when the shop has not enough of them."""
    if not risers:
        return ()
    r = risers[0]
    if r.length >= jaw_length - 10.0:
        return risers
    spare = r.count - (2 * width.pieces if r.id == width.parallel.id else 0)
    return risers * 2 if spare >= 2 else None


def _longer(risers: Sequence[Parallel], spacer: Parallel) -> bool:
    """Whether a riser reaches out from under the spacer that stands on it."""
    return any(r.length > spacer.length for r in risers)


def _at_the_sides(
    width: Width, risers: tuple[Parallel, ...], low: float, pocket: tuple[float, float], reach: float
) -> SpacerStack:
    """One spacer at each side of the pocket."""
    p, high = width.parallel, low + width.tall
    away = reach + SIDE_CLEAR
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

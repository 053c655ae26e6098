"""Which blank and gap take the outline, and where it stands in them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from jawright.jaws.model import SpacerStack
from jawright.jaws.needs import Needs
from jawright.jaws.spacers import Clear, Gap, Nearest, Way, gaps_and_risers, nearest_by, stacks
from jawright.same import Same
from jawright.shop.model import Blank, Parallel, Vise

LEDGE = 4.0  # [mm] width of floor under the part in each jaw (common practice, no source)
LEDGE_LEAST = 2.0  # [mm] (common practice, no source)
BEHIND = 10.0  # [mm] metal kept behind the pocket where the jaw stands free (common practice, no source)
BEHIND_BACKED = 6.5  # [mm] the same where the vise backs the jaw (common practice, no source)
WEB = 2.5  # [mm] metal kept between a cut and a bolt or counterbore (common practice, no source)
END_METAL = 6.0  # [mm] metal kept at the ends of the jaw (common practice, no source)
BACK = 3.0  # [mm] metal left behind a cut beside the part, or none (common practice, no source)
OVER_BODY = 1.0  # [mm] such a cut passes over the vise by this (common practice, no source)
LOADING = 3.0  # [mm] the vise must open this much beyond the clamped position (common practice, no source)
AS_PINNED = 0.5  # [mm] a stack stands at a pinned height when it is this near (common practice, no source)
USUAL_GAP = (3.0, 12.7)  # [mm] usual jaw gap with the part clamped (common practice, no source)
BEST_GAP = 6.0  # [mm] (common practice, no source)


ASIDE, MOST_ASIDE = 2.0, 20.0
"""A part whose cuts would meet a jaw bolt is shifted along the jaw in such steps, and so far at most [mm]
(within the middle third of a 150 mm vise; common practice, no source)."""

Rank = tuple[int, int, float, int]


@dataclass(frozen=True, slots=True)
class Place:
    """A blank, a gap and a stack, and the shift that stands the outline in them."""

    blank: Blank
    gap: float
    stack: SpacerStack
    shift: tuple[float, float]
    floor: float
    top: float
    fixed_depth: float
    floating_depth: float
    thin_blanks: tuple[str, ...]  # ids of cheaper blanks that were too thin


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a blank cannot take the outline: ``reason`` in words, ``thin`` when only its thickness lacks."""

    blank: str
    reason: str
    thin: bool = False
    mounts: bool = True  # its bolt holes fit the vise
    narrow: bool = False  # the part is too narrow for every gap that the parallels can set


@dataclass(frozen=True, slots=True)
class Ranked:
    """A gap with how usual it is and how far from the best."""

    rank: tuple[int, float]
    opens: float  # [mm]
    gap: Gap


Fit = tuple[Rank, Ranked, tuple[float, float], Way | SpacerStack]
"""A gap that takes the outline: how good, the depths in the two jaws, and what can stand in it."""


@lru_cache(maxsize=8)
def _gaps(parallels: tuple[Parallel, ...]) -> tuple[Ranked, ...]:
    """Every gap the parallels can set, best first."""
    ranked = [Ranked(_gap_rank(g.width.gap), g.width.gap, g) for g in gaps_and_risers(parallels)]
    return tuple(sorted(ranked, key=lambda r: r.rank))


def places(
    needs: Needs, vise: Vise, blanks: Sequence[Blank], parallels: Sequence[Parallel]
) -> tuple[Place | None, tuple[Refusal, ...]]:
    """The cheapest blank that takes the outline, with its best gap and stack; and why the others do not."""
    refused: list[Refusal] = []
    every = _gaps(tuple(parallels))
    gaps = [g for g in every if g.opens >= needs.least_gap - 1e-9]
    if every and not gaps:
        words = f"no parallels set a gap of {needs.least_gap:.1f} mm: the smallest part would shut the jaws"
        return None, tuple(Refusal(b.id, words, narrow=True) for b in blanks)
    for blank in sorted(blanks, key=lambda b: (b.price, b.length * b.thickness * b.height, b.id)):
        found = _in_blank(needs, vise, blank, parallels, gaps)
        if isinstance(found, Place):
            thin = tuple(r.blank for r in refused if r.thin)
            return (
                Place(
                    found.blank,
                    found.gap,
                    found.stack,
                    found.shift,
                    found.floor,
                    found.top,
                    found.fixed_depth,
                    found.floating_depth,
                    thin,
                ),
                tuple(refused),
            )
        refused.append(found)
    return None, tuple(refused)


def _in_blank(
    needs: Needs, vise: Vise, blank: Blank, parallels: Sequence[Parallel], gaps: Sequence[Ranked]
) -> Place | Refusal:
    """The place in one blank, best of the ``gaps``, which come best first; or why there is none."""
    x0, _, x1, _ = needs.box
    long = x1 - x0 + 2 * (needs.beyond + END_METAL)
    if (amiss := _unfit(Same(vise), Same(blank))) is not None:
        return amiss
    if long > blank.length:
        return Refusal(
            blank.id, f"the part needs {long:.1f} mm of jaw length, the blank has {blank.length:.1f} mm"
        )
    floor = blank.height - needs.grip_depth
    met = ""
    for shift_x in _shifts(needs, blank, (x0, x1)):
        why = _bolts(needs, vise, blank, floor, shift_x)
        if not why:
            break
        met = met or why
    else:
        return Refusal(blank.id, met)
    reasons: list[Refusal] = []
    found: list[Fit] = []
    most = _most_depth(needs, vise, blank)
    stand = (
        _standing(needs, vise, blank) if max(needs.fixed_depth, needs.floating_depth) < most + 1e-6 else None
    )
    for g in _worth_trying(needs, most, gaps):
        if found:
            if found[0][0][0] < g.rank[0]:
                break  # gaps come best first: no unusual one wins over a usual one
            rank, last, _, _ = found[-1]
            if rank[1] == 0 and last.rank < g.rank:
                break  # spacers in the middle of the grip: nothing that comes later is better
        tried = _with_gap(needs, vise, blank, parallels, g, stand=stand, most=most, shift_x=shift_x)
        if isinstance(tried, Refusal):
            reasons.append(tried)
        else:
            found.append(tried)
    if found:
        _, g, depths, stack = min(found, key=lambda fit: fit[0])
        if isinstance(stack, Way):
            stack = stack.stack(_pocket(needs, shift_x), 0.0)
        shift = (shift_x, depths[0] - needs.box[3])
        return Place(blank, g.opens, stack, shift, floor, blank.height, *depths, thin_blanks=())
    thin = [r for r in reasons if r.thin]
    return thin[0] if thin else (reasons[0] if reasons else Refusal(blank.id, "the shop has no parallels"))


@lru_cache(maxsize=256)
def _unfit(of: Same[Vise], made: Same[Blank]) -> Refusal | None:
    """Why a blank serves no part in this vise; None when it may."""
    vise, blank = of.it, made.it
    if blank.stock < 2:
        return Refusal(blank.id, "fewer than two in stock")
    if abs(blank.bolt_spacing - vise.bolt_spacing) > max(blank.slot_length, 0.5) or (
        vise.in_line > 1 and blank.length < vise.span - vise.jaw_width + vise.bolt_spacing + blank.bolt_hole
    ):
        return Refusal(blank.id, f"its bolt holes do not fit vise {vise.id}", mounts=False)
    return None


def _standing(needs: Needs, vise: Vise, blank: Blank) -> Nearest:
    """What stands nearest the middle of the grip in each gap, clear of what is cut."""
    floor, half = blank.height - needs.grip_depth, blank.length / 2
    lowest = floor - max(needs.groove, needs.well_depth if needs.well_in_gap else 0.0)
    return nearest_by(blank.height, floor + needs.grip_depth / 2, (-half, half), lowest, vise.middles)


def _worth_trying(needs: Needs, most: float, gaps: Sequence[Ranked]) -> Sequence[Ranked]:
    """The gaps that leave each jaw enough of the part and enough metal behind it.

    Where there is none, the one gap that tells best why: the first that leaves enough of the part.
    """
    span = needs.box[3] - needs.box[1]
    least = needs.fixed_depth + needs.floating_depth - 1e-9
    most += 1e-9
    if max(needs.fixed_depth, needs.floating_depth) <= most:
        deepest = 2 * most
        good = [g for g in gaps if least <= span - g.opens <= deepest]
        if good:
            return good
    return [next((g for g in gaps if span - g.opens >= least), gaps[0])] if gaps else gaps


def _gap_rank(gap: float) -> tuple[int, float]:
    usual = 0 if USUAL_GAP[0] <= gap <= USUAL_GAP[1] else 1
    return (usual, abs(gap - BEST_GAP))


def _rank(gap: Ranked, height: float, risers: int, needs: Needs, floor: float) -> Rank:
    """A usual gap first, then spacers nearest the middle of the grip (in steps of 2 mm), then the gap."""
    middle = floor + needs.grip_depth / 2 if needs.spacer_height is None else needs.spacer_height
    return (gap.rank[0], round(abs(height - middle) / 2.0), gap.rank[1], risers)


def _shifts(needs: Needs, blank: Blank, x: tuple[float, float]) -> Iterator[float]:
    """Shifts along the jaw to try: the middle of the grip at the middle of the jaws, then off it in steps.

    As far as the blank's ends allow, and as the clamp's push stays near the screw. A pinned one is the only.
    """
    if needs.shift is not None:
        yield needs.shift
        return
    room = needs.beyond + END_METAL
    low = -blank.length / 2 + room - x[0]
    high = blank.length / 2 - room - x[1]
    first = max(low, min(high, -needs.grip_x))
    yield first
    for k in range(1, round(MOST_ASIDE / ASIDE) + 1):
        for s in (first + k * ASIDE, first - k * ASIDE):
            if low <= s <= high:
                yield s


def _bolts(needs: Needs, vise: Vise, blank: Blank, floor: float, shift_x: float) -> str:
    """Words when a cut would come too near a bolt or its counterbore, else ""."""
    reach = max(blank.counterbore, blank.bolt_hole) / 2
    lowest = floor - max(needs.groove, needs.well_depth if needs.holes else 0.0)
    if lowest - WEB >= blank.bolt_height + reach:
        return ""  # no cut comes down to the bolts
    x0, _, x1, _ = needs.box
    runs = [(x0 + shift_x - needs.beyond, x1 + shift_x + needs.beyond, floor - needs.groove)]
    runs += [(x + shift_x - r, x + shift_x + r, floor - needs.well_depth) for x, _, r in needs.holes]
    bolts = vise.bolt_places
    for a, b, bottom in runs:
        for bolt in bolts:
            near = a - reach - blank.slot_length / 2 - WEB < bolt < b + reach + blank.slot_length / 2 + WEB
            if near and bottom - WEB < blank.bolt_height + reach:
                need = blank.bolt_height + reach + WEB - bottom
                return (
                    f"a cut at {bottom:.1f} mm would come within {WEB} mm of the jaw bolt "
                    f"at X {bolt:+.0f} mm; "
                    f"a blank {need:.1f} mm higher or a shallower pocket is needed"
                )
    return ""


def _with_gap(
    needs: Needs,
    vise: Vise,
    blank: Blank,
    parallels: Sequence[Parallel],
    gap: Ranked,
    *,
    stand: Nearest | None,
    most: float,
    shift_x: float,
) -> Fit | Refusal:
    _, y0, _, y1 = needs.box
    needs = needs.at(gap.opens)
    split = _split_depth(needs, blank, y1 - y0 - gap.opens, most)
    if isinstance(split, str) or stand is None:
        narrow = y1 - y0 - gap.opens < needs.fixed_depth + needs.floating_depth - 1e-9
        words = f"with a gap of {gap.opens:g} mm {split}"
        return Refusal(blank.id, words, thin=not narrow, narrow=narrow)
    if needs.over > 0.0 and (why := _out_at_the_back(needs, vise, blank, max(split))):
        return Refusal(blank.id, f"with a gap of {gap.opens:g} mm {why}", thin=True)
    open_width = 2 * blank.thickness + gap.opens + LOADING
    if open_width > vise.opening:
        return Refusal(blank.id, f"vise {vise.id} opens {vise.opening:g} mm, {open_width:.1f} mm are needed")
    floor, pocket = blank.height - needs.grip_depth, _pocket(needs, shift_x)
    if needs.spacer_height is None and not needs.spacers:
        way = stand.of(gap.gap, pocket)
        if way is None:
            return _no_stack(blank, gap)
        return _rank(gap, way.height, way.risers, needs, floor), gap, split, way
    options = _every(gap.gap, parallels, stand.clear, pocket)
    if not options:
        return _no_stack(blank, gap)
    options, near = _as_pinned(needs, options)
    if not options:
        return Refusal(blank.id, f"no stack of spacers {gap.opens:g} mm wide is as the job pins it: {near}")
    best = options[0]
    return _rank(gap, best.height, len(best.risers), needs, floor), gap, split, best


def _out_at_the_back(needs: Needs, vise: Vise, blank: Blank, deep: float) -> str:
    """Words when the cut beside a milled wall would run out of the jaw's back into the vise, else ""."""
    reach, lowest = deep + needs.over, blank.height - needs.grip_depth - needs.well_depth
    if reach <= blank.thickness - BACK or lowest >= vise.body_height + OVER_BODY:
        return ""
    return (
        f"the cutter that mills past the jaws would run into the vise behind them: {reach + BACK:.1f} mm of "
        f"blank are needed, or one that stands {vise.body_height + OVER_BODY - lowest:.1f} mm higher"
    )


def _pocket(needs: Needs, shift_x: float) -> tuple[float, float]:
    """Where the pocket begins and ends along X [mm]."""
    return needs.box[0] + shift_x - needs.beyond, needs.box[2] + shift_x + needs.beyond


def _no_stack(blank: Blank, gap: Ranked) -> Refusal:
    return Refusal(blank.id, f"no stack of parallels {gap.opens:g} mm wide stays clear of the cutter")


def _every(
    gap: Gap, parallels: Sequence[Parallel], clear: Clear, pocket: tuple[float, float]
) -> list[SpacerStack]:
    """All stacks of a gap, where the job pins one of them."""
    return stacks(
        gap.width,
        parallels,
        top=clear.top,
        grip_height=clear.grip_height,
        jaw=clear.jaw,
        pocket=pocket,
        lowest=clear.lowest,
        reach=0.0,
        middles=clear.middles,
        risers=gap.risers,
    )


def _as_pinned(needs: Needs, options: list[SpacerStack]) -> tuple[list[SpacerStack], str]:
    """The stacks that are what the job pins, the nearest first; and in words what stands nearest."""
    if needs.spacers:
        named = set(needs.spacers)
        options = [s for s in options if {p.id for p in (*s.spacers, *s.risers)} == named]
        if not options:
            return [], f"{', '.join(sorted(named))} make none that stays clear of the cutter"
    wanted = needs.spacer_height
    if wanted is None:
        return options, ""
    options = sorted(options, key=lambda s: abs(s.height - wanted))
    near = [s for s in options if abs(s.height - wanted) <= AS_PINNED]
    return near, f"the nearest stands at {options[0].height:.1f} mm, {wanted:.1f} mm is asked"


def _most_depth(needs: Needs, vise: Vise, blank: Blank) -> float:
    """How deep the pocket may go into a jaw of this blank."""
    behind = BEHIND if blank.height - needs.grip_depth >= vise.body_height - 2.0 else BEHIND_BACKED
    return blank.thickness - behind - needs.beyond_y


def _split_depth(needs: Needs, blank: Blank, rest: float, most: float) -> tuple[float, float] | str:
    """Share what the gap leaves between the two jaws, ``most`` [mm] each; words when it cannot be done."""
    if rest < needs.fixed_depth + needs.floating_depth - 1e-9:
        return "the part would not stand on both jaws"
    extra = (rest - needs.fixed_depth - needs.floating_depth) / 2
    fixed, floating = needs.fixed_depth + extra, needs.floating_depth + extra
    if fixed > most:
        fixed, floating = most, rest - most
    elif floating > most:
        fixed, floating = rest - most, most
    short = fixed < needs.fixed_depth - 1e-9 or floating < needs.floating_depth - 1e-9
    if short or max(fixed, floating) > most + 1e-9:
        deep = max(needs.fixed_depth, needs.floating_depth, rest / 2)  # the least that either jaw must take
        thick = math.ceil(10 * (deep + blank.thickness - most)) / 10
        return (
            f"the blank is too thin: {thick:.1f} mm are needed "
            f"to keep {blank.thickness - most - needs.beyond_y:g} mm of metal behind the pocket"
        )
    return fixed, floating

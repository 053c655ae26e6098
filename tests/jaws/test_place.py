"""Blanks, gaps and spacer stacks: what fits is taken, what does not is refused with the reason."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from jawright.jaws.model import SpacerStack
from jawright.jaws.needs import Needs
from jawright.jaws.place import ASIDE, WEB, Place, _most_depth, _split_depth, places
from jawright.jaws.spacers import CLEAR, SIDE_CLEAR, Width, stacks, widths
from jawright.shop.model import Parallel
from samples import blank, parallels, pawl_outline, vise


def needs(**changes: object) -> Needs:
    base = Needs(
        box=pawl_outline().box,
        fixed_depth=8.0,
        floating_depth=4.0,
        least=(8.0, 4.0),
        grip_depth=6.5,
        beyond=6.0,
        beyond_y=1.0,
        grip_x=13.0,
        well_depth=0.0,
        well_in_gap=False,
        holes=(),
        shift=None,
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def found(n: Needs, **changes: object) -> Place:
    place, refused = places(n, vise(), [replace(blank(), **changes)], parallels())  # type: ignore[arg-type]
    assert place is not None, refused
    return place


def why(n: Needs, **changes: object) -> str:
    place, refused = places(n, vise(), [replace(blank(), **changes)], parallels())  # type: ignore[arg-type]
    assert place is None
    return refused[0].reason


def test_depths_and_gap_add_up_to_the_part() -> None:
    p = found(needs())
    _, y0, _, y1 = pawl_outline().box
    assert abs(p.fixed_depth + p.floating_depth + p.gap - (y1 - y0)) < 1e-9
    assert p.shift[1] == p.fixed_depth - y1
    assert p.floor == 50.0 - 6.5


def test_grip_stands_at_the_middle_of_the_jaws() -> None:
    assert found(needs()).shift[0] == -13.0
    assert found(needs(shift=4.0)).shift[0] == 4.0


def test_short_blank_is_refused_with_both_lengths() -> None:
    words = why(needs(), length=60.0)
    assert "79.0 mm of jaw length" in words and "60.0 mm" in words


def test_thin_blank_is_called_thin() -> None:
    place, refused = places(needs(), vise(), [replace(blank(), thickness=16.0)], parallels())
    assert place is None
    assert refused[0].thin and "too thin" in refused[0].reason


@pytest.mark.parametrize("depths", [(8.0, 4.0), (4.0, 8.0), (9.0, 9.0), (3.0, 14.0), (14.0, 3.0)])
@pytest.mark.parametrize("thickness", [8.0, 12.0, 15.0, 18.0])
def test_the_thickness_asked_for_is_the_least_that_serves(
    depths: tuple[float, float], thickness: float
) -> None:
    """One pinned gap: the thickness that was asked for could be the one the blank had."""
    n = needs(fixed_depth=depths[0], floating_depth=depths[1])
    span = n.box[3] - n.box[1]
    deepest = max(*depths, (span - 6.0) / 2)
    most = _most_depth(n, vise(), replace(blank(), thickness=thickness))
    said = _split_depth(n, replace(blank(), thickness=thickness), span - 6.0, most)
    if deepest <= most:
        assert isinstance(said, tuple)
        return
    assert isinstance(said, str)
    asked = float(re.search(r"too thin: ([\d.]+) mm", said)[1])  # type: ignore[index]
    assert thickness < asked
    for size, serves in ((asked, True), (asked - 0.1 - 1e-6, False)):
        b = replace(blank(), thickness=size)
        assert isinstance(_split_depth(n, b, span - 6.0, _most_depth(n, vise(), b)), tuple) == serves


def test_cheaper_thin_blank_is_remembered() -> None:
    thin = replace(blank(), id="thin", thickness=16.0, price=1.0)
    place, _ = places(needs(), vise(), [thin, blank()], parallels())
    assert place is not None and place.blank.id == "A25" and place.thin_blanks == ("thin",)


def test_pocket_over_a_bolt_needs_a_higher_blank() -> None:
    words = why(needs(shift=40.0), height=40.0)
    assert "jaw bolt at X +50 mm" in words and "higher" in words


def test_a_part_is_shifted_along_the_jaw_where_a_cut_would_meet_a_bolt() -> None:
    """The room under a through hole stands over a bolt with the grip in the middle, and not some mm aside."""
    over = (50.0 + 13.0, -5.0, 4.0)  # at X = +50 once the grip stands in the middle
    deep = needs(holes=(over,), well_depth=12.0)
    aside = found(deep)
    reach = max(blank().counterbore, blank().bolt_hole) / 2 + blank().slot_length / 2
    x = over[0] + aside.shift[0]
    assert aside.shift[0] != -13.0 and abs(aside.shift[0] + 13.0) <= 20.0
    assert abs(x - 50.0) >= over[2] + reach + WEB - 1e-9
    nearer = aside.shift[0] + math.copysign(ASIDE, -13.0 - aside.shift[0])
    assert abs(over[0] + nearer - 50.0) < over[2] + reach + WEB, "no smaller shift does"
    assert "jaw bolt at X +50 mm" in why(replace(deep, shift=-13.0)), "a pinned shift is kept"


def test_other_bolt_pattern_is_refused() -> None:
    assert "do not fit vise V1" in why(needs(), bolt_spacing=80.0)


def test_one_piece_is_no_pair() -> None:
    assert "fewer than two" in why(needs(), stock=1)


def test_vise_that_does_not_open_wide_enough() -> None:
    place, refused = places(needs(), replace(vise(), opening=50.0), [blank()], parallels())
    assert place is None and "opens 50 mm" in refused[0].reason


def test_no_parallel_no_gap() -> None:
    place, refused = places(needs(), vise(), [blank()], ())
    assert place is None and "no parallels" in refused[0].reason


def test_spacers_stand_beside_the_pocket_at_the_height_of_the_grip() -> None:
    short = Parallel("S8x12", 12.0, 8.0, 20.0, 2)
    riser = Parallel("P6x32", 32.0, 6.0, 150.0, 2)
    width = next(w for w in widths([short]) if w.gap == 8.0)
    best = stacks(
        width,
        [short, riser],
        top=50.0,
        grip_height=44.0,
        jaw=(-75.0, 75.0),
        pocket=(-40.0, 40.0),
        lowest=40.0,
        reach=0.0,
    )[0]
    assert (best.low, best.high) == (32.0, 44.0)
    assert len(best.x_runs) == 2
    for a, b in best.x_runs:
        assert b <= -40.0 - SIDE_CLEAR + 1e-9 or a >= 40.0 + SIDE_CLEAR - 1e-9


@pytest.mark.parametrize(("riser", "serves"), [(38.5, True), (39.5, False), (41.0, False)])
@pytest.mark.parametrize("long", [150.0, 40.0])
def test_no_riser_under_spacers_beside_the_pocket_reaches_into_it(
    riser: float, serves: bool, long: float
) -> None:
    """The floor is cut at 40 mm: a bar across the pocket, or one longer than its spacer, stays 1 mm below."""
    short, bar = Parallel("S6x8", 8.0, 6.0, 30.0, 2), Parallel("R", riser, 3.0, long, 2)
    (width,) = (w for w in widths([short]) if w.gap == 6.0 and w.pieces == 1)
    made = stacks(
        width, [short, bar], top=50.0, grip_height=45.0, jaw=(-75.0, 75.0), pocket=(-30.0, 30.0),
        lowest=40.0, reach=0.0,
    )  # fmt: skip
    assert any(s.risers == ((bar,) if long > 100.0 else (bar, bar)) for s in made) == serves
    lone = Parallel("R", riser, 3.0, 30.0, 2)
    beside = stacks(
        width, [short, lone], top=50.0, grip_height=45.0, jaw=(-75.0, 75.0), pocket=(-30.0, 30.0),
        lowest=40.0, reach=0.0,
    )  # fmt: skip
    assert beside[0].risers == (lone, lone), "no longer than the spacer it stays beside the pocket"


def test_spacers_under_the_pocket_keep_clear_of_the_cutter() -> None:
    for width in widths(parallels()):
        for s in stacks(
            width,
            parallels(),
            top=50.0,
            grip_height=46.0,
            jaw=(-75.0, 75.0),
            pocket=(-40.0, 40.0),
            lowest=43.5,
            reach=0.0,
        ):
            if len(s.x_runs) == 1:
                assert 43.5 - s.high >= CLEAR - 1e-9
            assert s.high <= 50.0
            assert s.width == width.gap
            assert all(r.thickness < s.width or r.height < s.width for r in s.risers), (
                "a riser would be clamped"
            )


def test_spacers_stand_where_the_job_pins_them() -> None:
    free = found(needs())
    heights = sorted({s.height for w in widths(parallels()) if w.gap == 6.0 for s in _all_stacks(w)})
    other = next(h for h in heights if abs(h - free.stack.height) > 2.0)
    pinned = found(needs(spacer_height=other + 0.3))
    assert pinned.stack.height == other
    words = why(needs(spacer_height=1.0))
    assert "as the job pins it: the nearest stands at" in words and "1.0 mm is asked" in words


def test_spacers_are_the_ones_the_job_names() -> None:
    used = {p.id for s in found(needs()).stack.spacers for p in [s]}
    other = next(
        s for w in widths(parallels()) for s in _all_stacks(w) if not {p.id for p in s.spacers} & used
    )
    named = tuple(sorted({p.id for p in (*other.spacers, *other.risers)}))
    stack = found(needs(spacers=named)).stack
    assert {p.id for p in (*stack.spacers, *stack.risers)} == set(named)


def _all_stacks(width: Width) -> list[SpacerStack]:
    """What ``places`` chooses from with these needs and this blank."""
    n, b = needs(), blank()
    x0, _, x1, _ = n.box
    shift = -n.grip_x
    return stacks(
        width, parallels(), top=b.height, grip_height=43.5 + 3.25, jaw=(-b.length / 2, b.length / 2),
        pocket=(x0 + shift - 6.0, x1 + shift + 6.0), lowest=43.5, reach=0.0,
    )  # fmt: skip

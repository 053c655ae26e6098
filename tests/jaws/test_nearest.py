"""The stack that is kept through a search is the one a fresh search would give first."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from jawright.jaws.spacers import Clear, Nearest, gaps_and_risers, nearest_by, stacks
from jawright.shop.model import Parallel

OWNED = (
    Parallel("P6", 20.0, 6.0, 150.0, 4),
    Parallel("P10", 16.0, 10.0, 40.0, 6),
    Parallel("P3", 12.0, 3.0, 150.0, 2),
)


@given(
    top=st.sampled_from([36.0, 44.0, 60.0]),
    grip=st.floats(10.0, 55.0),
    low=st.floats(8.0, 50.0),
    half=st.floats(10.0, 70.0),
    middles=st.sampled_from([(0.0,), (-80.0, 80.0)]),
)
def test_nearest_is_the_first_of_all(
    top: float, grip: float, low: float, half: float, middles: tuple[float, ...]
) -> None:
    jaw, pocket = (-75.0, 75.0), (-half, half)
    for gap in gaps_and_risers(OWNED):
        clear = Clear(top, grip, jaw, low, middles)
        every = stacks(
            gap.width, OWNED, top=top, grip_height=grip, jaw=jaw, pocket=pocket, lowest=low, reach=0.0,
            middles=middles,
        )  # fmt: skip
        way = Nearest(clear).of(gap, pocket)
        assert (way is None) == (not every)
        if way is not None:
            assert way.stack(pocket, 0.0) == every[0]
            assert way.height == every[0].height


def test_other_inputs_are_not_answered_from_what_is_kept() -> None:
    gap = next(g for g in gaps_and_risers(OWNED) if g.width.gap == 6.0)
    jaw, pocket = (-75.0, 75.0), (-70.0, 70.0)
    high = nearest_by(60.0, 40.0, jaw, 50.0).of(gap, pocket)
    low = nearest_by(60.0, 12.0, jaw, 24.0).of(gap, pocket)
    assert high is not None and low is not None and low.height < high.height
    more = (*OWNED, Parallel("P5", 24.0, 5.0, 150.0, 2))
    other = next(
        g for g in gaps_and_risers(more) if g.width.gap == 6.0 and g.width.pieces == gap.width.pieces
    )
    best = nearest_by(60.0, 40.0, jaw, 50.0).of(other, pocket)
    assert best is not None and {p.id for p in best.stack(pocket, 0.0).risers} != {
        p.id for p in high.stack(pocket, 0.0).risers
    }

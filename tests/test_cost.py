"""Minutes and money by hand, and the quantity at which two ways break even."""

from __future__ import annotations

from dataclasses import replace

import pytest

import samples
from jawright import cost
from jawright.cost import Cost, CostItem


def shop():
    s = samples.shop()
    rates = replace(
        s.rates, machine_hour=90.0, programmer_hour=60.0, setup_minutes_hard=20.0, setup_minutes_soft=40.0,
        jaw_design_minutes=30.0, load_seconds=40.0, load_seconds_hard=60.0, setup_minutes_kept=25.0,
        jaw_handling_minutes=10.0,
    )  # fmt: skip
    return replace(s, rates=rates)


def test_new_jaws_by_hand() -> None:
    """Two blanks at 20; 30 min desk at 60; 16 + 10 + 40 min and 40 s a part on the machine at 90."""
    s = shop()
    blank = replace(s.blanks[0], price=20.0)
    c = cost.of_new(s, blank, 16.0)
    assert c.once == pytest.approx(40 + 30 + (16 + 10 + 40) * 1.5)
    assert c.each == pytest.approx(1.0)
    assert c.minutes(30) == pytest.approx(30 + 66 + 20)
    assert cost.soft_jaws(s, 30, blank, 16.0) == (pytest.approx(116.0), pytest.approx(199.0))
    assert "as programmed" in " ".join(i.what for i in c.items)
    assert "taken" in " ".join(i.what for i in cost.of_new(s, blank).items)
    assert cost.hard_jaws(s, 30) == (pytest.approx(50.0), pytest.approx(75.0))


def test_break_even_is_where_the_lines_meet() -> None:
    s = shop()
    hard, new, kept = cost.of_hard(s), cost.of_new(s, replace(s.blanks[0], price=20.0), 16.0), cost.of_kept(s)
    even = cost.break_even(new, hard)
    assert (even.first, even.later) == ("hard jaws", "new soft jaws")
    assert even.quantity is not None
    n = even.quantity
    assert new.money(n) <= hard.money(n) + 1e-9 and new.money(n - 1) > hard.money(n - 1)
    assert cost.break_even(hard, new) == even
    assert cost.break_even(new, kept).quantity == 1  # no bar, no desk, no cutting
    assert "at any quantity" in cost.in_words(cost.break_even(new, kept))
    assert f"up to {n - 1} parts" in cost.in_words(even)
    dear = Cost("new soft jaws", (CostItem("all", 1.0, 100.0), hard.items[-1]))
    assert cost.break_even(hard, dear) == cost.BreakEven("new soft jaws", "hard jaws", 1)  # dearer both ways
    load = hard.items[-1]
    late = Cost("new soft jaws", (dear.items[0], replace(load, money=load.money - 1e-6)))
    never = cost.break_even(hard, late)  # a millionth saved with every part
    assert never.quantity is None and "Hard jaws cost less" in cost.in_words(never)
    assert len(cost.pairs((hard, new, kept))) == 3


@pytest.mark.parametrize("seed", range(40))
def test_break_even_against_counting(seed: int) -> None:
    """The first quantity found by counting up is the one by the formula."""
    a = Cost("hard jaws", (CostItem("", 0, 10.0 * (seed % 7)), CostItem("", 0, 1 + 0.25 * (seed % 5), True)))
    b = Cost(
        "new soft jaws", (CostItem("", 0, 9.0 * (seed % 11)), CostItem("", 0, 1 + 0.3 * (seed % 3), True))
    )
    even = cost.break_even(a, b)
    first, later = (a, b) if even.first == a.way else (b, a)
    counted = next((n for n in range(1, 2000) if later.money(n) <= first.money(n) + 1e-9), None)
    assert even.quantity == counted

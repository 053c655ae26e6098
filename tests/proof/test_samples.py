"""Tables of drawn parts: one more column in place, and never into somebody else's."""

from __future__ import annotations

import numpy as np

from jawright.proof.samples import copied, roomy, widened


def _table(count: int = 50, columns: int = 4) -> np.ndarray:
    out = roomy(count, columns)
    out[...] = np.random.default_rng(3).normal(size=(count, columns))
    return out


def test_a_column_is_added_in_place_and_the_table_stays_as_it_was() -> None:
    table = _table()
    before, column = table.copy(), np.arange(50.0)
    wider = widened(table, column)
    assert np.shares_memory(wider, table)
    assert np.array_equal(wider, np.column_stack([before, column]))
    assert np.array_equal(table, before)


def test_the_first_rows_share_the_room_of_the_whole_where_they_say_the_same() -> None:
    table, column = _table(), np.arange(50.0)
    whole, few = widened(table, column), widened(table[:20], column[:20])
    assert np.shares_memory(whole, few) and few.shape == (20, 5)


def test_another_column_makes_a_copy_and_spoils_nothing() -> None:
    table, column = _table(), np.arange(50.0)
    first, second = widened(table, column), widened(table, column + 1.0)
    assert not np.shares_memory(first, second)
    assert np.array_equal(first[:, -1], column) and np.array_equal(second[:, -1], column + 1.0)


def test_few_rows_first_never_pass_for_all() -> None:
    table, column = _table(), np.arange(50.0)
    few, whole = widened(table[:20], column[:20]), widened(table, column)
    assert np.array_equal(few[:, -1], column[:20]) and np.array_equal(whole[:, -1], column)
    assert not np.isnan(whole).any()


def test_later_rows_and_tables_without_room_are_copied() -> None:
    table, plain = _table(), np.ones((6, 2))
    assert not np.shares_memory(widened(table[10:], np.zeros(40)), table)
    assert np.array_equal(widened(plain, np.zeros(6)), np.column_stack([plain, np.zeros(6)]))
    again = copied(table)
    assert not np.shares_memory(again, table) and np.array_equal(again, table)
    assert np.shares_memory(widened(again, np.zeros(50)), again)

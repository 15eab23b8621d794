"""Columns make room for each other."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tui.widgets.columns import GAP, Column, lay_out

COLUMNS = (
    Column("where", "Pond", 18, weight=2),
    Column("what", "What", 20, weight=3),
    Column("spark", "Trend", 6, drop_order=1),
    Column("age", "Test", 5, align="right", drop_order=3),
    Column("visit", "Visit", 6, drop_order=2),
)


def keys(width: int) -> list[str]:
    return [placed.column.key for placed in lay_out(COLUMNS, width)]


def test_columns_go_in_their_order_as_it_narrows() -> None:
    assert keys(70) == ["where", "what", "spark", "age", "visit"]
    assert keys(60) == ["where", "what", "age", "visit"]
    assert keys(50) == ["where", "what", "age"]
    assert keys(40) == ["where", "what"]
    assert keys(5) == ["where", "what"]


@given(st.integers(40, 300))
def test_the_whole_width_is_used_and_not_a_cell_more(width: int) -> None:
    placed = lay_out(COLUMNS, width)
    assert sum(column.before + column.width for column in placed) == width
    assert all(entry.width >= entry.column.width for entry in placed)


@given(st.integers(0, 40))
def test_no_width_is_too_small(width: int) -> None:
    assert all(placed.width >= 1 for placed in lay_out(COLUMNS, width))


def test_fixed_columns_stay_as_wide_as_they_are() -> None:
    fixed = (Column("a", "A", 4), Column("b", "B", 6))
    assert [placed.width for placed in lay_out(fixed, 100)] == [4, 6]
    assert lay_out(fixed, 100)[1].before == GAP
    assert lay_out((), 10) == ()

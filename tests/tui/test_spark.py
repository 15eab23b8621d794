"""The small row of blocks."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from rich.style import Style

from store.watch.concern import Spark
from tui.widgets.spark import BEYOND, BLOCKS, spark


def _spark(values: list[float], foot: float, head: float, limit: float) -> Spark:
    return Spark(tuple(values), foot, head, tuple(value > limit for value in values))


def test_heights_follow_the_scale_from_foot_to_head() -> None:
    values = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]
    assert spark(_spark(values, 0, 8, 99), 8).plain == BLOCKS


def test_a_flat_harmless_line_looks_flat_and_low() -> None:
    text = spark(_spark([0.010, 0.011, 0.009, 0.010], 0.0, 0.05, 0.05), 4)
    assert text.plain == "▂▂▂▂"
    assert not text.spans


def test_beyond_the_limit_is_full_and_told_by_weight_and_name() -> None:
    text = spark(_spark([0.01, 0.06], 0.0, 0.05, 0.05), 2)
    assert text.plain == "▂█"
    assert {(span.start, span.end, str(span.style)) for span in text.spans} == {
        (1, 2, str(Style(bold=True))), (1, 2, BEYOND),
    }  # fmt: skip


def test_a_limit_at_the_foot_is_broken_downward() -> None:
    text = spark(Spark((8.0, 6.0, 3.0), 4.0, 9.0, (False, False, True)), 3)
    assert text.plain == "▇▄▁"
    assert [span.start for span in text.spans] == [2, 2]


def test_a_falling_scale_is_drawn_as_it_is_given() -> None:
    assert spark(Spark((8.0, 6.0, 3.0), 8.0, 4.0, (False, False, True)), 3).plain == "▁▅█"


def test_the_newest_values_stand_at_the_right() -> None:
    assert spark(_spark([0, 0, 7.9], 0, 8, 99), 5).plain == "  ▁▁█"
    assert spark(_spark([7.9, 0, 0], 0, 8, 99), 2).plain == "▁▁"


def test_a_scale_without_height_and_a_value_that_is_none() -> None:
    assert spark(_spark([1.0, 2.0], 1.0, 1.0, 9.0), 2).plain == "▁█"
    assert spark(_spark([math.nan, 2.0], 0.0, 4.0, 9.0), 2).plain == " ▅"
    assert spark(_spark([1.0], 0.0, 4.0, 9.0), 0).plain == ""


@given(
    st.lists(st.floats(allow_nan=True, allow_infinity=True), max_size=12),
    st.floats(-1e6, 1e6),
    st.floats(-1e6, 1e6),
    st.integers(0, 10),
)
def test_always_exactly_as_wide_as_asked(
    values: list[float], foot: float, head: float, width: int
) -> None:
    assert len(spark(_spark(values, foot, head, head), width).plain) == width

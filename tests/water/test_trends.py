"""Slopes and swings by hand, and what must hold of them."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.water.trends import (
    daily_means,
    days_to_floor,
    degree_days,
    largest_change_24h,
    theil_sen,
)

quick = settings(deadline=None, max_examples=100, derandomize=True)
START = datetime(2026, 3, 1, tzinfo=UTC)
VALUE = st.floats(-100.0, 100.0)


def at(*hours: float) -> list[datetime]:
    return [START + timedelta(hours=hour) for hour in hours]


@quick
@given(st.floats(-5.0, 5.0), VALUE, st.lists(st.integers(0, 400), min_size=2, unique=True))
def test_a_straight_line_has_its_own_slope(per_day, start, days):
    slope = theil_sen([float(day) for day in days], [start + per_day * day for day in days])
    assert slope is not None
    assert slope.per_day == pytest.approx(per_day, abs=1e-9)
    assert slope.n == len(days)


@quick
@given(st.lists(st.tuples(st.integers(0, 50), VALUE), min_size=2, max_size=20))
def test_the_order_of_readings_does_not_matter(points):
    days, values = [float(day) for day, _ in points], [value for _, value in points]
    there = theil_sen(days, values)
    back = theil_sen(days[::-1], values[::-1])
    if there is None or back is None:
        assert there is back is None
        assert len(set(days)) == 1
    else:
        assert back.per_day == pytest.approx(there.per_day, abs=1e-9)


def test_one_odd_reading_does_not_turn_the_slope():
    days = [float(day) for day in range(9)]
    assert theil_sen(days, [10.0, 10.5, 11.0, 11.5, 40.0, 12.5, 13.0, 13.5, 14.0]).per_day == 0.5


def test_no_slope_without_two_times():
    assert theil_sen([], []) is None
    assert theil_sen([1.0], [2.0]) is None
    assert theil_sen([1.0, 1.0], [2.0, 3.0]) is None
    assert theil_sen([1.0, 2.0], [2.0, math.nan]) is None


def test_lists_out_of_step_are_an_error():
    with pytest.raises(ValueError, match="shorter"):
        theil_sen([1.0, 2.0], [1.0])


@quick
@given(st.lists(st.tuples(st.integers(0, 200), VALUE), max_size=25))
def test_the_largest_change_is_that_of_every_pair(points):
    times, values = at(*(hour for hour, _ in points)), [value for _, value in points]
    found = largest_change_24h(times, values)
    pairs = [
        abs(values[i] - values[j])
        for i in range(len(points))
        for j in range(i)
        if abs(times[i] - times[j]) <= timedelta(hours=24)
    ]
    if not pairs:
        assert found is None
        return
    assert found is not None
    assert abs(found.size) == max(pairs)
    assert found.size == found.to_value - found.from_value
    assert timedelta(0) <= found.to_time - found.from_time <= timedelta(hours=24)


def test_a_change_over_midnight_counts_and_one_over_a_day_does_not():
    found = largest_change_24h(at(18, 30, 60), [20.0, 16.0, 5.0])
    assert found is not None
    assert (found.size, found.from_time, found.to_time) == (-4.0, *at(18, 30))
    assert largest_change_24h(at(0, 24), [1.0, 3.0]).size == 2.0
    assert largest_change_24h(at(0, 24.001), [1.0, 3.0]) is None


def test_missing_readings_are_passed_over():
    found = largest_change_24h(at(0, 1, 2), [1.0, math.nan, 4.0])
    assert found is not None
    assert found.size == 3.0
    assert degree_days([None, math.nan, 12.0], 10.0) == 2.0


@quick
@given(st.lists(st.floats(-10.0, 40.0)), st.floats(0.0, 20.0))
def test_degree_days_never_fall_and_a_higher_base_counts_less(daily, base):
    assert 0.0 <= degree_days(daily, base + 1.0) <= degree_days(daily, base)
    assert degree_days([*daily, 30.0], base) == pytest.approx(
        degree_days(daily, base) + 30.0 - base
    )


def test_days_to_a_floor():
    assert days_to_floor(80.0, -1.5, 50.0) == 20.0
    assert days_to_floor(50.0, -1.5, 50.0) == 0.0
    assert days_to_floor(40.0, 1.0, 50.0) == 0.0
    assert days_to_floor(80.0, 0.0, 50.0) is None
    assert days_to_floor(80.0, 1.0, 50.0) is None


def test_a_day_is_the_practices_own_day():
    london = ZoneInfo("Europe/London")
    # The clocks go forward on 29 March 2026: 23:30 UTC is past midnight in summer, not in winter.
    times = [
        datetime(2026, 3, 28, 23, 30, tzinfo=UTC),
        datetime(2026, 3, 29, 22, 30, tzinfo=UTC),
        datetime(2026, 3, 29, 23, 30, tzinfo=UTC),
        datetime(2026, 3, 28, 12, 0, tzinfo=UTC),
    ]
    assert daily_means(times, [10.0, 11.0, 14.0, math.nan], london) == {
        date(2026, 3, 28): 10.0,
        date(2026, 3, 29): 11.0,
        date(2026, 3, 30): 14.0,
    }
    assert list(daily_means(times[::-1], [1.0, 2.0, 3.0, 4.0], london)) == [
        date(2026, 3, 28),
        date(2026, 3, 29),
        date(2026, 3, 30),
    ]

"""What is told of a pond's temperature by estimate: the days that a chart draws, and the sentences."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import UUID

import pytest

from store.warmth.estimate import Doubt, Estimate, EstimatedDay
from store.watch.chart_ahead import estimated_series
from store.watch.warmth_told import doubt_in_short, rests_in_short

POND = UUID(int=7)
TODAY = date(2026, 3, 14)


def told(last_on: date | None, *, doubted: bool = False) -> Estimate:
    days = tuple(
        EstimatedDay(TODAY + timedelta(days=n), 10.0 + n / 10, 9.0, 12.0) for n in range(-14, 15)
    )
    return Estimate(POND, TODAY, days, 9.5, 30.0, last_on, 9.0, (), doubted)


@pytest.mark.parametrize(
    ("last_on", "first", "count"),
    [
        (TODAY - timedelta(days=3), TODAY - timedelta(days=2), 17),
        (TODAY, TODAY + timedelta(days=1), 14),
        (None, TODAY - timedelta(days=14), 29),
        (TODAY - timedelta(days=40), TODAY - timedelta(days=14), 29),
    ],
)
def test_a_chart_is_given_the_days_since_the_last_reading(
    last_on: date | None, first: date, count: int
) -> None:
    series = estimated_series(told(last_on))
    assert series is not None
    assert len(series.times) == len(series.means) == len(series.lows) == len(series.highs) == count
    assert series.times[0] == datetime.combine(first, datetime.min.time().replace(hour=12))
    assert series.times[-1].date() == TODAY + timedelta(days=14)
    assert series.means[-1] == pytest.approx(11.4)
    assert (series.lows[0], series.highs[0]) == (9.0, 12.0)


def test_beside_doubted_readings_stands_what_was_to_be_expected() -> None:
    run = Doubt(POND, TODAY - timedelta(days=9), TODAY - timedelta(days=1), 3, 24.0, 9.0, False)
    series = estimated_series(told(TODAY - timedelta(days=1), doubted=True), (run,))
    assert series is not None
    assert series.times[0].date() == run.first
    settled = estimated_series(told(TODAY - timedelta(days=1)), (run,))
    assert settled is not None
    assert settled.times[0].date() == TODAY, "a later reading that nobody doubts counts"


def test_without_an_estimate_nothing_is_drawn() -> None:
    assert estimated_series(None) is None


def test_one_line_says_what_it_rests_on_and_what_is_doubted() -> None:
    assert rests_in_short(told(TODAY - timedelta(days=12))) == "read 12 d ago, no neighbours"
    assert rests_in_short(told(TODAY - timedelta(days=1), doubted=True)).startswith("its season")
    assert rests_in_short(told(None)) == "its season, no neighbours"
    one = Doubt(POND, date(2026, 2, 18), date(2026, 2, 18), 1, 66.2, 18.8, True)
    said = doubt_in_short(one)
    assert said == "18 Feb 2026: read as 66.2 °C, about 18.8 was expected; as °F it fits"
    assert len(said) <= 69, "it fits a line of eighty cells beside its gutter"
    cold = one._replace(readings=12, read_c=2.0, fahrenheit=False)
    assert doubt_in_short(cold) == (
        "12 readings from 18 Feb 2026: down to 2.0 °C, about 18.8 was expected"
    )

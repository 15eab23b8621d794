"""Dates and times as people say them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.said import clock, said_age, said_date, said_day, said_head, said_moment, said_since

TODAY = date(2026, 11, 25)  # a Wednesday


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (None, "–"),
        (TODAY, "today"),
        (date(2026, 11, 24), "Tue"),
        (date(2026, 11, 19), "Thu"),
        (date(2026, 11, 18), "18 Nov"),
        (date(2026, 12, 1), "Tue"),
        (date(2026, 12, 2), "2 Dec"),
        (date(2027, 1, 7), "7 Jan 2027"),
        (date(2025, 11, 25), "25 Nov 2025"),
    ],
)
def test_a_day_is_said_shortly(day: date | None, words: str) -> None:
    assert said_day(day, TODAY) == words


def test_the_last_week_of_the_year_keeps_its_weekdays() -> None:
    assert said_day(date(2027, 1, 2), date(2026, 12, 30)) == "Sat"
    assert said_date(date(2027, 1, 2), date(2026, 12, 30)) == "2 Jan 2027"


@given(st.dates(date(1990, 1, 1), date(2060, 1, 1)), st.integers(-6, 6))
def test_a_weekday_never_means_two_days_on_one_side(today: date, away: int) -> None:
    words = {said_day(today + timedelta(days=n), today) for n in range(7)}
    assert len(words) == 7
    assert len(said_day(today + timedelta(days=away), today)) <= 5


@pytest.mark.parametrize(
    ("days", "words"),
    [(None, "–"), (0, "today"), (1, "1 d"), (41, "41 d"), (999, "999 d"), (1500, "4 y"),
     (-2, "in 2 d")],
)  # fmt: skip
def test_an_age_fits_a_narrow_column(days: int | None, words: str) -> None:
    assert said_age(days) == words


def test_since_names_day_and_date() -> None:
    assert said_since(date(2026, 11, 23), TODAY) == "Mon 23 Nov"
    assert said_since(date(2026, 9, 3), TODAY) == "3 Sep"
    assert said_since(TODAY, TODAY) == "today"
    assert said_since(None, TODAY) == "–"


def test_the_clock_is_that_of_the_practice() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    at = datetime(2026, 11, 24, 23, 31, tzinfo=UTC)
    assert clock(at, berlin) == "00:31"
    assert said_head(at, berlin) == "Wed 25 Nov 00:31"
    assert said_moment(at, berlin, TODAY) == "25 Nov 00:31"


def test_the_hour_before_and_after_the_clock_goes_back_are_both_said() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert [clock(first + timedelta(hours=n), berlin) for n in range(3)] == [
        "02:30", "02:30", "03:30",
    ]  # fmt: skip


def test_an_instant_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="without a zone"):
        clock(datetime(2026, 11, 25, 7, 31), ZoneInfo("Europe/Berlin"))  # noqa: DTZ001

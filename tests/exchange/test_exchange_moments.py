"""Days and times out of cells: clock changes, leap days, orders that are not guessed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exchange.plain.moments import Skipped, read_day, read_moment

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-07-02 09:15", datetime(2026, 7, 2, 8, 15, tzinfo=UTC)),
        ("2026-01-02T09:15:30", datetime(2026, 1, 2, 9, 15, 30, tzinfo=UTC)),
        ("2026-07-02T09:15Z", datetime(2026, 7, 2, 9, 15, tzinfo=UTC)),
        ("2026-07-02 09:15 +02:00", datetime(2026, 7, 2, 7, 15, tzinfo=UTC)),
        ("2026-07-02 9:15 PM", datetime(2026, 7, 2, 20, 15, tzinfo=UTC)),
        ("2026-07-02 12:05 am", datetime(2026, 7, 1, 23, 5, tzinfo=UTC)),
        ("2024-02-29 00:00", datetime(2024, 2, 29, tzinfo=UTC)),
        ("2026-07-02 09:15:30.250", datetime(2026, 7, 2, 8, 15, 30, tzinfo=UTC)),
    ],
)
def test_times_in_the_zone_or_with_an_offset(text: str, expected: datetime) -> None:
    assert read_moment(text, LONDON).at == expected


@pytest.mark.parametrize(
    "text",
    ["2026-02-29 09:00", "2026-13-01", "02/03/2026", "yesterday", "", "2026-03-02 24:00",
     "2026-03-02 9", "2026-03-02 13:00 pm", "2026-03-02 09:00+99:00", "9999-12-31x"],
)  # fmt: skip
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read_moment(text, LONDON)


def test_the_order_of_day_and_month_has_to_be_said() -> None:
    assert read_day("2/3/2026", "dmy") == date(2026, 3, 2)
    assert read_day("2/3/2026", "mdy") == date(2026, 2, 3)
    with pytest.raises(BadInput, match="--dates"):
        read_day("25/3/2026")
    with pytest.raises(BadInput, match="no day"):
        read_day("25/3/2026", "mdy")


def test_the_hour_that_the_clock_skips() -> None:
    with pytest.raises(Skipped, match="went forward"):
        read_moment("2026-03-29 01:30", LONDON)
    assert read_moment("2026-03-29 02:00", LONDON).at == datetime(2026, 3, 29, 1, tzinfo=UTC)


def test_the_hour_that_the_clock_shows_twice() -> None:
    first = read_moment("2026-10-25 01:30", LONDON)
    assert (first.at, first.told) == (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "twice")
    second = read_moment("2026-10-25 01:30", LONDON, second_time=True)
    assert second.at - first.at == timedelta(hours=1)


@given(
    day=st.dates(date(2000, 1, 1), date(2080, 1, 1)),
    hour=st.integers(3, 23),
    shift_days=st.integers(-4000, 4000),
)
def test_moving_by_whole_days_keeps_the_clock(day: date, hour: int, shift_days: int) -> None:
    """Over clock changes and leap days alike; the hours of a clock change itself are left out."""
    moved = read_moment(f"{day} {hour:02}:20", LONDON, shift_days=shift_days).at.astimezone(LONDON)
    assert moved.date() == day + timedelta(days=shift_days)
    assert (moved.hour, moved.minute) == (hour, 20)


@given(at=st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)))  # noqa: DTZ001
def test_an_instant_written_with_its_offset_comes_back(at: datetime) -> None:
    whole = at.replace(microsecond=0)
    assert read_moment(whole.isoformat(), LONDON).at == whole
    assert read_moment(whole.astimezone(LONDON).isoformat(), LONDON).at == whole


@given(text=st.text(max_size=40))
def test_any_text_is_a_time_or_a_sentence(text: str) -> None:
    said = ""
    try:
        said = f"{read_moment(text, LONDON).at.isoformat()}."
    except BadInput as error:
        said = error.message
    assert said.endswith(".")

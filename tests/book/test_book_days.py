"""Days as people type them."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.book.days import typed_day, typed_time
from store.errors import BadInput

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "ahead", "day"),
    [
        ("", True, "2026-11-25"), ("today", False, "2026-11-25"),
        ("Tomorrow", False, "2026-11-26"), ("yesterday", True, "2026-11-24"),
        ("Wed", True, "2026-12-02"), ("wed", False, "2026-11-18"),
        ("thu", True, "2026-11-26"), ("Thursday", False, "2026-11-19"),
        ("3 d", True, "2026-11-28"), ("3 d", False, "2026-11-22"), ("3d ago", True, "2026-11-22"),
        ("in 2 weeks", False, "2026-12-09"), ("1 week", True, "2026-12-02"),
        ("12 Dec", True, "2026-12-12"), ("12 dec", False, "2025-12-12"),
        ("25 November", True, "2026-11-25"), ("3rd Feb 2024", True, "2024-02-03"),
        ("29 Feb", True, "2028-02-29"), ("29 feb", False, "2024-02-29"),
        ("2026-12-01", False, "2026-12-01"),
        ("1 month", True, "2026-12-25"), ("2 months ago", True, "2026-09-25"),
        ("on Thurs.", True, "2026-11-26"), ("2 wks", True, "2026-12-09"),
        ("12. Dec", True, "2026-12-12"), ("1 Sept 2026", False, "2026-09-01"),
    ],
)  # fmt: skip
def test_days_that_are_understood(text: str, ahead: bool, day: str) -> None:
    assert str(typed_day(text, WEDNESDAY, ahead=ahead)) == day


@pytest.mark.parametrize(
    "text",
    ["soon", "31 Feb", "2026-13-01", "12/11", "3", "[/nope]", "0 Jan", "monkey", "sunshine",
     "friend", "12 marbles", "12 decent", "mond", "3 decades", "in 3 d ago", "٣ d", "3 dogs"],
)  # fmt: skip
def test_what_is_no_day_is_told_at_its_field(text: str) -> None:
    with pytest.raises(BadInput, match="is not a day") as trouble:
        typed_day(text, WEDNESDAY, ahead=True, field="until_day")
    assert trouble.value.field == "until_day"


def test_a_month_from_a_last_day_is_a_last_day() -> None:
    assert typed_day("1 month", date(2027, 1, 31), ahead=True) == date(2027, 2, 28)
    assert typed_day("1 month", date(2028, 3, 31), ahead=False) == date(2028, 2, 29)
    for year in ("12 months", "1 year"):
        assert typed_day(year, date(2028, 2, 29), ahead=True) == date(2029, 2, 28)
    assert typed_day("4 years", date(2028, 2, 29), ahead=True) == date(2032, 2, 29)


def test_last_and_next_say_where_a_weekday_lies() -> None:
    for ahead in (True, False):
        assert typed_day("last Tue", WEDNESDAY, ahead=ahead) == WEDNESDAY - timedelta(days=1)
        assert typed_day("next Tue", WEDNESDAY, ahead=ahead) == WEDNESDAY + timedelta(days=6)


@given(st.dates(date(1990, 1, 1), date(2100, 1, 1)), st.dates(date(1990, 1, 1), date(2100, 1, 1)))
def test_a_written_day_reads_the_same_from_any_day(day: date, today: date) -> None:
    for ahead in (True, False):
        assert typed_day(day.isoformat(), today, ahead=ahead) == day
        months = [
            "Jan",
            "Feb",
            "Mar",
            "Apr",
            "May",
            "Jun",
            "Jul",
            "Aug",
            "Sep",
            "Oct",
            "Nov",
            "Dec",
        ]
        assert typed_day(f"{day.day} {months[day.month - 1]} {day.year}", today, ahead=ahead) == day
        near = typed_day(f"{day.day} {months[day.month - 1]}", today, ahead=ahead)
        assert (near >= today) if ahead else (near <= today)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("9:30", time(9, 30)), ("09.05", time(9, 5)), ("7", time(7)), ("", None), ("  ", None)],
)
def test_a_time_of_the_day(typed: str, meant: time | None) -> None:
    assert typed_time(typed) == meant


@pytest.mark.parametrize(
    "typed", ["25:00", "9:60", "9:5", "-1", "half past nine", "٩:٣٠", "9:30:10"]
)
def test_no_time_of_the_day_is_told_at_its_field(typed: str) -> None:
    with pytest.raises(BadInput) as told:
        typed_time(typed, "tested_at")
    assert told.value.field == "tested_at"
    assert "09:30" in told.value.message

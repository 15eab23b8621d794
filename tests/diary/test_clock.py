"""Days and hours on the wall, over the clock changes of eight zones.

The changes are those of the IANA time zone database for 2026: an hour is left out in London on
29 March at 01:00, in Los Angeles on 8 March at 02:00, in Havana on 8 March at midnight, in Cairo on
24 April at midnight, in St John's on 8 March at 02:00, in Auckland on 27 September at 02:00.
Kathmandu (UTC+5:45) and Kiritimati (UTC+14) change nothing.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from store.diary.times.clock import at_instant, ends_at, hour_twice
from store.errors import BadInput

ZONES = (
    "Pacific/Auckland", "America/St_Johns", "Asia/Kathmandu", "Pacific/Kiritimati",
    "America/Los_Angeles", "Europe/London", "America/Havana", "Africa/Cairo", "Australia/Lord_Howe",
)  # fmt: skip


@pytest.mark.parametrize(
    ("zone", "day", "at", "instant"),
    [
        ("Europe/London", "2026-01-15", "09:00", "2026-01-15T09:00"),
        ("Europe/London", "2026-07-15", "09:00", "2026-07-15T08:00"),
        ("Pacific/Auckland", "2026-01-15", "09:00", "2026-01-14T20:00"),
        ("Pacific/Auckland", "2026-07-15", "09:00", "2026-07-14T21:00"),
        ("America/St_Johns", "2026-01-15", "09:00", "2026-01-15T12:30"),
        ("America/St_Johns", "2026-07-15", "09:00", "2026-07-15T11:30"),
        ("Asia/Kathmandu", "2026-07-15", "09:00", "2026-07-15T03:15"),
        ("Pacific/Kiritimati", "2026-07-15", "09:00", "2026-07-14T19:00"),
        ("America/Los_Angeles", "2026-07-15", "09:00", "2026-07-15T16:00"),
        ("America/Los_Angeles", "2026-12-31", "23:30", "2027-01-01T07:30"),
        ("Pacific/Kiritimati", "2027-01-01", "00:30", "2026-12-31T10:30"),
        ("Europe/London", "2028-02-29", "23:59", "2028-02-29T23:59"),
        # Just before and just after a change.
        ("Europe/London", "2026-03-29", "00:59", "2026-03-29T00:59"),
        ("Europe/London", "2026-03-29", "02:00", "2026-03-29T01:00"),
        ("America/Havana", "2026-03-08", "01:00", "2026-03-08T05:00"),
        ("Africa/Cairo", "2026-04-24", "01:00", "2026-04-23T22:00"),
        # An hour that comes twice is the first of the two.
        ("Europe/London", "2026-10-25", "01:30", "2026-10-25T00:30"),
        ("Pacific/Auckland", "2026-04-05", "02:30", "2026-04-04T13:30"),
        ("America/Los_Angeles", "2026-11-01", "01:00", "2026-11-01T08:00"),
        ("America/Havana", "2026-11-01", "00:30", "2026-11-01T04:30"),
        ("Africa/Cairo", "2026-10-29", "23:30", "2026-10-29T20:30"),
    ],
)
def test_a_local_hour_is_an_instant(zone: str, day: str, at: str, instant: str) -> None:
    found = at_instant(date.fromisoformat(day), time.fromisoformat(at), ZoneInfo(zone))
    assert found == datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert found.tzinfo is UTC


@pytest.mark.parametrize(
    ("zone", "day", "at", "said"),
    [
        ("Europe/London", "2026-03-29", "01:30",
         "On 29 Mar 2026 the clock goes from 01:00 to 02:00, so there is no 01:30."),
        ("Europe/London", "2026-03-29", "01:00",
         "On 29 Mar 2026 the clock goes from 01:00 to 02:00, so there is no 01:00."),
        ("America/Los_Angeles", "2026-03-08", "02:59",
         "On 8 Mar 2026 the clock goes from 02:00 to 03:00, so there is no 02:59."),
        ("America/St_Johns", "2026-03-08", "02:15",
         "On 8 Mar 2026 the clock goes from 02:00 to 03:00, so there is no 02:15."),
        ("Pacific/Auckland", "2026-09-27", "02:30",
         "On 27 Sep 2026 the clock goes from 02:00 to 03:00, so there is no 02:30."),
        ("America/Havana", "2026-03-08", "00:30",
         "On 8 Mar 2026 the clock goes from 00:00 to 01:00, so there is no 00:30."),
        ("Africa/Cairo", "2026-04-24", "00:00",
         "On 24 Apr 2026 the clock goes from 00:00 to 01:00, so there is no 00:00."),
        ("Australia/Lord_Howe", "2026-10-04", "02:15",
         "On 4 Oct 2026 the clock goes from 02:00 to 02:30, so there is no 02:15."),
        # Samoa left a whole day out when it moved across the date line.
        ("Pacific/Apia", "2011-12-30", "12:00",
         "There is no 30 Dec 2011 in Pacific/Apia: the calendar there left that day out."),
    ],
)  # fmt: skip
def test_an_hour_that_is_left_out_is_refused_at_its_field(
    zone: str, day: str, at: str, said: str
) -> None:
    with pytest.raises(BadInput) as told:
        at_instant(date.fromisoformat(day), time.fromisoformat(at), ZoneInfo(zone))
    assert told.value.message.startswith(said)
    assert told.value.field == "at_time"


@pytest.mark.parametrize(
    ("zone", "day", "at", "twice"),
    [
        ("Europe/London", "2026-10-25", "01:00", True),
        ("Europe/London", "2026-10-25", "01:59", True),
        ("Europe/London", "2026-10-25", "02:00", False),
        ("Europe/London", "2026-10-25", "00:59", False),
        ("Europe/London", "2026-03-29", "01:30", False),  # left out, not twice
        ("America/Havana", "2026-11-01", "00:15", True),
        ("Africa/Cairo", "2026-10-29", "23:15", True),
        ("Australia/Lord_Howe", "2026-04-05", "01:45", True),
        ("Australia/Lord_Howe", "2026-04-05", "01:15", False),
        ("Asia/Kathmandu", "2026-10-25", "01:30", False),
    ],
)
def test_an_hour_that_comes_twice_is_said(zone: str, day: str, at: str, twice: bool) -> None:
    said = hour_twice(date.fromisoformat(day), time.fromisoformat(at), ZoneInfo(zone))
    assert bool(said) is twice
    if twice:
        assert f"The clock shows {at} twice" in said
        assert said.endswith("the first of the two is meant.")


@pytest.mark.parametrize(
    ("zone", "day", "at", "minutes", "ends"),
    [
        ("Europe/London", "2026-07-01", "09:00", 60, ("2026-07-01", "10:00")),
        ("Europe/London", "2026-03-29", "00:30", 60, ("2026-03-29", "02:30")),
        ("Europe/London", "2026-10-25", "00:30", 120, ("2026-10-25", "01:30")),
        ("Europe/London", "2026-12-31", "23:30", 45, ("2027-01-01", "00:15")),
        ("Europe/London", "2028-02-28", "23:00", 60, ("2028-02-29", "00:00")),
        ("America/Havana", "2026-03-07", "23:30", 60, ("2026-03-08", "01:30")),
        ("Africa/Cairo", "2026-10-29", "23:30", 60, ("2026-10-29", "23:30")),
        ("Asia/Kathmandu", "2026-02-28", "23:30", 60, ("2026-03-01", "00:30")),
    ],
)
def test_the_end_is_what_the_wall_shows(
    zone: str, day: str, at: str, minutes: int, ends: tuple[str, str]
) -> None:
    found = ends_at(date.fromisoformat(day), time.fromisoformat(at), minutes, ZoneInfo(zone))
    assert (found[0].isoformat(), f"{found[1]:%H:%M}") == ends


DAYS = st.dates(date(1990, 1, 1), date(2037, 12, 31))
HOURS = st.integers(0, 1439).map(lambda minute: time(minute // 60, minute % 60))


@settings(deadline=None)
@given(st.sampled_from(ZONES), DAYS, HOURS)
@example("Europe/London", date(2026, 3, 29), time(1, 30))
@example("America/Havana", date(2026, 3, 8), time(0))
@example("Africa/Cairo", date(2026, 10, 29), time(23, 30))
def test_the_instant_is_that_of_pandas(zone: str, day: date, at: time) -> None:
    """pandas refuses what is left out, and is told to take the first of two."""
    naive = pd.Timestamp(datetime.combine(day, at))
    # As its daylight saving time, where that is the first; NaT where there is no such hour.
    first = naive.tz_localize(zone, ambiguous=True, nonexistent="NaT")
    try:
        ours = at_instant(day, at, ZoneInfo(zone))
    except BadInput:
        assert pd.isna(first)
        return
    assert not pd.isna(first)
    assert first.tz_convert("UTC").to_pydatetime() == ours


@settings(deadline=None)
@given(st.sampled_from(ZONES), DAYS, HOURS, st.integers(0, 2000))
def test_an_end_is_so_many_minutes_after_the_beginning(
    zone: str, day: date, at: time, minutes: int
) -> None:
    where = ZoneInfo(zone)
    try:
        begins = at_instant(day, at, where)
    except BadInput:
        return
    end_day, end_at = ends_at(day, at, minutes, where)
    passed = begins + timedelta(minutes=minutes)
    assert passed.astimezone(where).replace(tzinfo=None, fold=0) == datetime.combine(
        end_day, end_at.replace(fold=0)
    )

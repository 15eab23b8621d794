"""What is seen of a pond: days of instants, and what its tests hold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from ponds import days_ago, pond

from store.watch.seen import DayOf
from store.water.packed import PackedTest

ZONES = (
    "UTC", "Europe/London", "America/Sao_Paulo", "Asia/Kathmandu", "Pacific/Kiritimati",
    "Australia/Lord_Howe", "America/St_Johns", "Pacific/Apia",
)  # fmt: skip
instants = st.datetimes(
    datetime(1990, 1, 1),  # noqa: DTZ001
    datetime(2035, 1, 1),  # noqa: DTZ001
    timezones=st.just(UTC),
)


@pytest.mark.parametrize("zone", ZONES)
@given(at=instants, later=st.integers(0, 36 * 3_600_000))
@example(at=datetime(2026, 3, 29, tzinfo=UTC), later=23 * 3_600_000)  # two midnights in a day
@example(at=datetime(2026, 3, 28, 23, 59, 59, 999_000, tzinfo=UTC), later=1)
@example(at=datetime(2017, 10, 15, 2, 59, 59, tzinfo=UTC), later=1000)  # a midnight left out
@example(at=datetime(1999, 10, 31, 3, tzinfo=UTC), later=0)  # put back at a minute past midnight
@example(at=datetime(2011, 12, 30, 9, 59, 59, tzinfo=UTC), later=1000)  # a day left out
def test_a_day_is_that_of_the_zone(zone: str, at: datetime, later: int) -> None:
    day_of = DayOf(ZoneInfo(zone))
    for moment in (at, at + timedelta(milliseconds=later), at):
        at_ms = (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(milliseconds=1)
        day = datetime.fromtimestamp(at_ms // 1000, ZoneInfo(zone)).date()
        assert day_of(at_ms) == day
        assert day_of.ordinal(at_ms) == day.toordinal()


def test_what_is_not_read_yet_is_read_when_it_is_asked_for() -> None:
    tests = [days_ago(day, ph=7.0, nitrite_mg_l=0.1 * day) for day in (1, 8, 15)]
    asked = []
    seen = pond(tests[0], *(PackedTest(one.at_ms, None, None) for one in tests[1:]))

    def whole(key: object) -> list[PackedTest]:
        asked.append(key)
        return tests

    seen.whole = whole
    week = seen.oldest_ms(7)
    assert seen.lacks("chlorine_mg_l", week)
    assert not seen.lacks("chlorine_mg_l", week - 7 * 86_400_000)
    assert not seen.lacks("ph", week)
    assert seen.has(0, "ph")
    assert not seen.has(0, "chlorine_mg_l")
    assert not seen.is_whole
    assert asked == []
    assert seen.has(2, "ph")
    assert seen.values(1)["nitrite_mg_l"] == pytest.approx(0.8)
    assert seen.is_whole
    assert seen.lacks("chlorine_mg_l", 0)
    assert asked == [seen.pond]

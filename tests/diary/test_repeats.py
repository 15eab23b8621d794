"""What falls due on which day: the ends of months and years, leap days, clock changes, refusals."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from store.diary.times.clock import at_instant
from store.diary.times.repeats import MOST_DAYS, days_of, next_of, repeat_of
from store.diary.times.rule_parts import MOST_TIMES, parts_of
from store.errors import BadInput

ZONES = (
    "Pacific/Auckland", "America/St_Johns", "Asia/Kathmandu", "Pacific/Kiritimati",
    "America/Los_Angeles", "Europe/London", "America/Havana", "Africa/Cairo",
)  # fmt: skip
RULES = (
    "", "FREQ=DAILY", "FREQ=DAILY;INTERVAL=10", "FREQ=DAILY;COUNT=20", "FREQ=WEEKLY",
    "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU", "FREQ=MONTHLY;BYMONTHDAY=31", "FREQ=MONTHLY;BYMONTHDAY=-1",
    "FREQ=MONTHLY;BYDAY=1MO,-1FR", "FREQ=MONTHLY;COUNT=7", "FREQ=YEARLY;BYMONTH=3,10",
    "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "FREQ=MONTHLY;BYDAY=TU,WE,TH;BYSETPOS=3",
)  # fmt: skip
FIRSTS = st.dates(date(2000, 1, 1), date(2060, 12, 31))


def said(rule: str, first: date) -> str:
    return repeat_of(rule, first).said


def days(rule: str, first: date, until: date, since: date | None = None) -> list[str]:
    return [day.isoformat() for day in days_of(rule, first, since or first, until)]


# --- months and years that lack the day ----------------------------------------------------------


def test_monthly_on_the_31st_leaves_short_months_out_and_says_so() -> None:
    first = date(2026, 1, 31)
    rule = "FREQ=MONTHLY;BYMONTHDAY=31"
    assert days(rule, first, date(2026, 12, 31)) == [
        "2026-01-31", "2026-03-31", "2026-05-31", "2026-07-31", "2026-08-31", "2026-10-31",
        "2026-12-31",
    ]  # fmt: skip
    assert said(rule, first) == "every month on the 31st (months without one are skipped)"
    # The same where the rule leaves the day to the first one.
    assert days("FREQ=MONTHLY", first, date(2026, 12, 31)) == days(rule, first, date(2026, 12, 31))
    assert said("FREQ=MONTHLY", first) == said(rule, first)


def test_the_last_day_of_every_month_leaves_none_out() -> None:
    first = date(2027, 11, 30)
    assert days("FREQ=MONTHLY;BYMONTHDAY=-1", first, date(2028, 4, 30)) == [
        "2027-11-30", "2027-12-31", "2028-01-31", "2028-02-29", "2028-03-31", "2028-04-30",
    ]  # fmt: skip
    assert said("FREQ=MONTHLY;BYMONTHDAY=-1", first) == "every month on the last day"


@pytest.mark.parametrize(
    ("rule", "remark"),
    [
        ("FREQ=MONTHLY;BYMONTHDAY=28", ""),
        ("FREQ=MONTHLY;BYMONTHDAY=29", "months without one are skipped"),
        ("FREQ=MONTHLY;BYMONTHDAY=30", "months without one are skipped"),
        ("FREQ=MONTHLY;BYMONTHDAY=-31", "months without one are skipped"),
        ("FREQ=YEARLY;BYMONTH=1,7;BYMONTHDAY=31", ""),
        ("FREQ=YEARLY;BYMONTH=1,6;BYMONTHDAY=31", "months without one are skipped"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "in leap years only"),
        ("FREQ=MONTHLY;BYDAY=5MO", "months without one are skipped"),
        ("FREQ=MONTHLY;BYDAY=1MO,5MO", "a day that a month does not have is skipped"),
        ("FREQ=MONTHLY;BYDAY=4MO", ""),
        ("FREQ=MONTHLY;BYMONTHDAY=15,31", "a day that a month does not have is skipped"),
        ("FREQ=YEARLY;BYDAY=53TH", "years without one are skipped"),
        ("FREQ=YEARLY;BYYEARDAY=366", "years without one are skipped"),
        ("FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO", "years without one are skipped"),
    ],
)
def test_what_is_left_out_is_said(rule: str, remark: str) -> None:
    first = next_of(rule, date(2026, 1, 1), date(2026, 1, 1))
    assert first is not None
    words = said(rule, first)
    assert words.partition(" (")[2].rstrip(")") == remark


def test_yearly_on_29_february_falls_on_leap_years_only() -> None:
    first = date(2096, 2, 29)
    assert days("FREQ=YEARLY", first, date(2110, 1, 1)) == [
        "2096-02-29", "2104-02-29", "2108-02-29",  # not 2100
    ]  # fmt: skip
    assert said("FREQ=YEARLY", first) == "every year on 29 Feb (in leap years only)"


@pytest.mark.parametrize(
    ("rule", "first", "expected"),
    [
        ("FREQ=DAILY", "2027-12-30", ["2027-12-30", "2027-12-31", "2028-01-01"]),
        ("FREQ=DAILY;INTERVAL=2", "2028-02-27", ["2028-02-27", "2028-02-29", "2028-03-02"]),
        ("FREQ=DAILY;INTERVAL=2", "2027-02-27", ["2027-02-27", "2027-03-01", "2027-03-03"]),
        ("FREQ=WEEKLY", "2026-12-25", ["2026-12-25", "2027-01-01", "2027-01-08"]),
        ("FREQ=MONTHLY;INTERVAL=3", "2026-11-30", ["2026-11-30", "2027-05-30", "2027-08-30"]),
        ("FREQ=YEARLY", "2026-12-31", ["2026-12-31", "2027-12-31", "2028-12-31"]),
        ("FREQ=MONTHLY;BYDAY=-1SU", "2026-03-29", ["2026-03-29", "2026-04-26", "2026-05-31"]),
    ],
)
def test_over_the_ends_of_months_and_years(rule: str, first: str, expected: list[str]) -> None:
    begins = date.fromisoformat(first)
    assert days(rule, begins, begins + timedelta(days=1100))[:3] == expected


# --- the first day -------------------------------------------------------------------------------


def test_a_first_day_that_the_rule_would_not_give_counts_and_is_said() -> None:
    wednesday = date(2026, 3, 4)
    rule = "FREQ=WEEKLY;BYDAY=MO;COUNT=3"
    assert days(rule, wednesday, date(2027, 1, 1)) == ["2026-03-04", "2026-03-09", "2026-03-16"]
    assert said(rule, wednesday) == "on 4 Mar 2026, then every week on Mon, 3 times in all"
    assert said(rule, date(2026, 3, 9)) == "every week on Mon, 3 times"


def test_what_happens_once_has_one_day() -> None:
    day = date(2026, 3, 29)
    assert repeat_of(" ", day).said == ""
    assert days_of("", day, day, day) == (day,)
    assert days_of("", day, day + timedelta(days=1), date(2030, 1, 1)) == ()
    assert next_of("", day, day - timedelta(days=1)) == day
    assert next_of("", day, day) is None


def test_both_ends_of_the_stretch_count() -> None:
    first = date(2026, 3, 3)
    assert days("FREQ=WEEKLY", first, date(2026, 3, 17), date(2026, 3, 10)) == [
        "2026-03-10", "2026-03-17",
    ]  # fmt: skip
    assert days("FREQ=WEEKLY", first, date(2026, 3, 9), date(2026, 3, 10)) == []


def test_the_end_counts_and_nothing_follows_it() -> None:
    first = date(2026, 3, 3)
    assert days("FREQ=WEEKLY;UNTIL=20260317", first, date(2027, 1, 1)) == [
        "2026-03-03", "2026-03-10", "2026-03-17",
    ]  # fmt: skip
    assert days("FREQ=WEEKLY;UNTIL=20260316", first, date(2027, 1, 1))[-1] == "2026-03-10"
    assert next_of("FREQ=WEEKLY;UNTIL=20260317", first, date(2026, 3, 17)) is None


def test_a_first_day_long_ago_or_far_ahead() -> None:
    assert next_of("FREQ=YEARLY", date(1904, 2, 29), date(1999, 1, 1)) == date(2000, 2, 29)
    assert next_of("FREQ=WEEKLY", date(2399, 12, 28), date(2399, 12, 28)) == date(2400, 1, 4)
    assert next_of("FREQ=DAILY", date(2026, 1, 1), date.max) is None
    assert days("FREQ=DAILY", date(9999, 12, 30), date.max) == ["9999-12-30", "9999-12-31"]
    assert next_of("FREQ=WEEKLY", date(9999, 12, 30), date(9999, 12, 30)) is None
    assert next_of("FREQ=YEARLY", date.min, date.min) == date(2, 1, 1)


# --- zones and clock changes ---------------------------------------------------------------------


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("at", [time(0, 30), time(9, 0), time(23, 45)])
def test_a_weekly_hour_stays_on_the_wall_over_both_clock_changes(zone: str, at: time) -> None:
    """The day is reckoned without a zone, the zone is put on last: no occurrence moves an hour."""
    where = ZoneInfo(zone)
    first = date(2026, 1, 5)
    for day in days_of("FREQ=WEEKLY", first, first, date(2027, 1, 31)):
        assert day.weekday() == first.weekday()
        try:
            wall = at_instant(day, at, where).astimezone(where)
        except BadInput:
            continue  # the clock leaves that hour out; see the tests of the clock
        assert (wall.date(), wall.time()) == (day, at)


@pytest.mark.parametrize("zone", ZONES)
def test_days_differ_from_steps_of_24_hours_where_the_clock_changes(zone: str) -> None:
    """What this would look like done wrongly: instants a week of hours apart leave the wall."""
    where = ZoneInfo(zone)
    start = at_instant(date(2026, 1, 5), time(9), where)
    shown = {(start + timedelta(weeks=week)).astimezone(where).time() for week in range(56)}
    changes = where.utcoffset(datetime(2026, 1, 5)) != where.utcoffset(datetime(2026, 7, 6))  # noqa: DTZ001
    assert (len(shown) > 1) is changes
    weekly = days_of("FREQ=WEEKLY", date(2026, 1, 5), date(2026, 1, 5), date(2027, 1, 25))
    ours = {at_instant(day, time(9), where).astimezone(where).time() for day in weekly}
    assert ours == {time(9)}


def test_the_days_on_which_clocks_change_are_days_like_others() -> None:
    """London 2026: 29 March and 25 October; Auckland 5 April and 27 September; Havana 8 March."""
    for change in ("2026-03-29", "2026-10-25", "2026-04-05", "2026-09-27", "2026-03-08"):
        day = date.fromisoformat(change)
        around = days_of("FREQ=DAILY", day - timedelta(days=1), day - timedelta(days=1),
                         day + timedelta(days=1))  # fmt: skip
        assert [one - day for one in around] == [timedelta(days=step) for step in (-1, 0, 1)]
        assert next_of("FREQ=DAILY;INTERVAL=7", day - timedelta(days=7),
                       day - timedelta(days=7)) == day  # fmt: skip


def test_the_practices_day_decides_not_that_of_utc() -> None:
    """A first day taken in Kiritimati (UTC+14) is a day later there than in Los Angeles."""
    now = datetime(2026, 3, 1, 11, 0, tzinfo=UTC)
    east = now.astimezone(ZoneInfo("Pacific/Kiritimati")).date()
    west = now.astimezone(ZoneInfo("America/Los_Angeles")).date()
    assert (east, west) == (date(2026, 3, 2), date(2026, 3, 1))
    assert next_of("FREQ=MONTHLY;BYDAY=1SU", west, west) == date(2026, 4, 5)
    assert next_of("FREQ=MONTHLY;BYDAY=1MO", east, east) == date(2026, 4, 6)


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "sentence"),
    [
        ("FREQ=HOURLY", "falls on days"),
        ("FREQ=DAILY;BYHOUR=9", "falls on days"),
        ("FREQ=SECONDLY;BYSECOND=1", "falls on days"),
        ("FREQ=DAILY;BYMINUTE=30", "falls on days"),
        ("FREQ=SOMETIMES", "does not say FREQ="),
        ("INTERVAL=2", "does not say FREQ="),
        ("first Monday", "not part of a rule"),
        ("FREQ=DAILY;;", "not part of a rule"),
        ("FREQ=DAILY;INTERVAL", "not part of a rule"),
        ("FREQ=DAILY;FREQ=WEEKLY", "twice"),
        ("FREQ=DAILY;BYEASTER=1", "no part of a rule"),
        ("RSCALE=CHINESE;FREQ=YEARLY", "no part of a rule"),
        ("FREQ=DAILY;INTERVAL=0", "from 1 to 1000"),
        ("FREQ=DAILY;INTERVAL=-1", "from 1 to 1000"),
        ("FREQ=DAILY;INTERVAL=1.5", "from 1 to 1000"),
        ("FREQ=DAILY;INTERVAL=٣", "from 1 to 1000"),
        (f"FREQ=DAILY;COUNT={MOST_TIMES + 1}", "from 1 to 1000"),
        ("FREQ=DAILY;COUNT=99999999999999999999", "from 1 to 1000"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20260401", "not both"),
        ("FREQ=DAILY;UNTIL=20260229", "takes a day"),
        ("FREQ=DAILY;UNTIL=tomorrow", "takes a day"),
        ("FREQ=DAILY;UNTIL=20260401T120000", "names an hour"),
        ("FREQ=DAILY;UNTIL=20260302", "ends before its first day"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "does not know “0”"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "does not know “32”"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,", "does not know “”"),
        ("FREQ=YEARLY;BYMONTH=13", "does not know “13”"),
        ("FREQ=YEARLY;BYMONTH=-1", "does not know “-1”"),
        ("FREQ=WEEKLY;BYDAY=XX", "does not know “XX”"),
        ("FREQ=MONTHLY;BYDAY=0MO", "does not know “0MO”"),
        ("FREQ=WEEKLY;WKST=1", "does not know “1”"),
        ("FREQ=WEEKLY;BYMONTHDAY=1", "cannot stand in a weekly rule"),
        ("FREQ=WEEKLY;BYDAY=1MO", "monthly or yearly"),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "monthly or yearly"),
        ("FREQ=MONTHLY;BYDAY=6MO", "more than five times"),
        ("FREQ=YEARLY;BYMONTH=3;BYDAY=-6MO", "more than five times"),
        ("FREQ=MONTHLY;BYYEARDAY=100", "yearly rule"),
        ("FREQ=MONTHLY;BYWEEKNO=20", "yearly rule"),
        ("FREQ=YEARLY;INTERVAL=2;BYWEEKNO=20", "every year"),
        ("FREQ=MONTHLY;BYSETPOS=1", "BYSETPOS"),
        ("FREQ=DAILY;" + "INTERVAL=1" * 60, "at most 500 letters"),
    ],
)  # fmt: skip
def test_a_rule_that_cannot_be_kept_is_refused_at_its_field(rule: str, sentence: str) -> None:
    with pytest.raises(BadInput) as told:
        repeat_of(rule, date(2026, 3, 3))
    assert sentence in told.value.message
    assert told.value.field == "repeats"


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;INTERVAL=7;BYDAY=MO",  # from a Tuesday
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=6",
        "FREQ=YEARLY;INTERVAL=100;BYMONTH=2;BYMONTHDAY=29",
        "FREQ=YEARLY;BYYEARDAY=40;BYMONTH=6",
    ],
)
def test_a_rule_that_never_gives_a_day_is_found_out(rule: str) -> None:
    with pytest.raises(BadInput, match="no day after the first within a hundred years"):
        repeat_of(rule, date(2026, 3, 3))
    # Where one stands in a book all the same, the first day is given and nothing hangs.
    assert days(rule, date(2026, 3, 3), date(2040, 1, 1)) == ["2026-03-03"]


def test_a_repeat_that_ended_on_its_first_day_is_no_fault() -> None:
    first = date(2026, 3, 3)
    assert said("FREQ=WEEKLY;COUNT=1", first) == "every week on Tue, 1 time"
    assert days("FREQ=WEEKLY;COUNT=1", first, date(2030, 1, 1)) == ["2026-03-03"]
    assert days("FREQ=WEEKLY;UNTIL=20260303", first, date(2030, 1, 1)) == ["2026-03-03"]


def test_more_days_than_anybody_reads_are_refused() -> None:
    first = date(2000, 1, 1)
    last = first + timedelta(days=MOST_DAYS - 1)
    assert len(days_of("FREQ=DAILY", first, first, last)) == MOST_DAYS
    with pytest.raises(BadInput, match="more than 4000 days") as told:
        days_of("FREQ=DAILY", first, first, last + timedelta(days=1))
    assert told.value.field == "repeats"


def test_the_parts_of_a_rule_come_in_one_order() -> None:
    rule = " rrule:byday=-1fr,mo,1tu;wkst=su; bymonth=10,3,3; freq=monthly ;until=20270101;"
    assert repeat_of(rule, date(2026, 3, 3)).rule == (
        "FREQ=MONTHLY;BYMONTH=3,10;BYDAY=MO,1TU,-1FR;UNTIL=20270101"
    )


# --- properties ----------------------------------------------------------------------------------


@settings(deadline=None)
@given(
    rule=st.sampled_from(RULES),
    first=FIRSTS,
    cuts=st.lists(st.integers(-30, 1200), min_size=2, max_size=6, unique=True).map(sorted),
)
def test_the_days_of_spans_side_by_side_are_those_of_the_whole(
    rule: str, first: date, cuts: list[int]
) -> None:
    edges = [first + timedelta(days=cut) for cut in cuts]
    parts = [
        days_of(rule, first, since, until - timedelta(days=1)) for since, until in pairwise(edges)
    ]
    whole = days_of(rule, first, edges[0], edges[-1] - timedelta(days=1))
    assert tuple(day for part in parts for day in part) == whole


@settings(deadline=None)
@given(rule=st.sampled_from(RULES), first=FIRSTS, away=st.integers(-40, 800))
@example("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", date(2024, 2, 29), 1)
@example("FREQ=MONTHLY;BYMONTHDAY=31", date(2027, 12, 31), 31)
def test_the_next_day_is_the_first_of_those_that_follow(rule: str, first: date, away: int) -> None:
    after = first + timedelta(days=away)
    found = next_of(rule, first, after)
    following = days_of(rule, first, after + timedelta(days=1), after + timedelta(days=3700))
    assert found == (following[0] if following else None)


@settings(deadline=None)
@given(first=FIRSTS, interval=st.integers(1, 60), ahead=st.integers(0, 2000))
def test_weekly_keeps_its_weekday_and_its_distance(first: date, interval: int, ahead: int) -> None:
    since = first + timedelta(days=ahead)
    found = days_of(f"FREQ=WEEKLY;INTERVAL={interval}", first, since, since + timedelta(days=900))
    assert found
    assert {day.weekday() for day in found} == {first.weekday()}
    assert {(day - first).days % (7 * interval) for day in found} == {0}


@settings(deadline=None)
@given(rule=st.sampled_from(RULES), first=FIRSTS, length=st.integers(0, 1500))
def test_days_rise_begin_with_the_first_and_stay_in_the_stretch(
    rule: str, first: date, length: int
) -> None:
    until = first + timedelta(days=length)
    found = days_of(rule, first, first, until)
    assert found[0] == first
    assert list(found) == sorted(set(found))
    assert found[-1] <= until


@settings(deadline=None)
@given(rule=st.sampled_from(RULES[1:]), first=FIRSTS, count=st.integers(1, 30))
def test_a_number_of_times_is_that_number(rule: str, first: date, count: int) -> None:
    assume("COUNT" not in rule)
    endless = days_of(rule, first, first, first + timedelta(days=3900))
    counted = days_of(f"{rule};COUNT={count}", first, first, first + timedelta(days=3900))
    assert counted == endless[:count]


@settings(deadline=None)
@given(rule=st.sampled_from(RULES[1:]), first=FIRSTS)
def test_a_rule_in_order_stays_as_it_is(rule: str, first: date) -> None:
    kept = repeat_of(rule, first)
    assert repeat_of(kept.rule, first) == kept
    assert str(parts_of(kept.rule)) == kept.rule

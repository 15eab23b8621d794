"""Repeats as people type them, and read back from their own words."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import example, given, reject, settings
from hypothesis import strategies as st

from store.diary.times.repeats import Repeat, days_of, repeat_of
from store.diary.times.repeats_typed import as_typed, typed_repeat
from store.diary.times.rule_parts import Parts
from store.errors import BadInput

TUESDAY = date(2026, 3, 3)
"""The third of March 2026, the first Tuesday of its month."""


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("daily", "FREQ=DAILY"),
        ("every day", "FREQ=DAILY"),
        ("every 10 days", "FREQ=DAILY;INTERVAL=10"),
        ("Every ten days.", "FREQ=DAILY;INTERVAL=10"),
        ("every day in Jan", "FREQ=DAILY;BYMONTH=1"),
        ("weekly", "FREQ=WEEKLY;BYDAY=TU"),
        ("every week", "FREQ=WEEKLY;BYDAY=TU"),
        ("once a week", "FREQ=WEEKLY;BYDAY=TU"),
        ("weekly on Thursdays", "FREQ=WEEKLY;BYDAY=TH"),
        ("fortnightly", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"),
        ("every other week", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"),
        ("every second week", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"),
        ("every 2nd week", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"),
        ("2-weekly", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"),
        ("every other Thu", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH"),
        ("every 6 weeks on Mon and Thu", "FREQ=WEEKLY;INTERVAL=6;BYDAY=MO,TH"),
        ("Mon, Wed & Fri", "FREQ=WEEKLY;BYDAY=MO,WE,FR"),
        ("every Mon", "FREQ=WEEKLY;BYDAY=MO"),
        ("Mon–Fri", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("weekdays", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("daily Mon to Fri", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("Sat to Mon", "FREQ=WEEKLY;BYDAY=MO,SA,SU"),
        ("every weekend", "FREQ=WEEKLY;BYDAY=SA,SU"),
        ("weekly in May-Aug", "FREQ=WEEKLY;BYMONTH=5,6,7,8;BYDAY=TU"),
        ("Tuesdays in May", "FREQ=WEEKLY;BYMONTH=5;BYDAY=TU"),
        ("monthly", "FREQ=MONTHLY;BYMONTHDAY=3"),
        ("every 3 months", "FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=3"),
        ("quarterly", "FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=3"),
        ("half-yearly", "FREQ=MONTHLY;INTERVAL=6;BYMONTHDAY=3"),
        ("six-monthly", "FREQ=MONTHLY;INTERVAL=6;BYMONTHDAY=3"),
        ("monthly on the 31st", "FREQ=MONTHLY;BYMONTHDAY=31"),
        ("on the 1st and 15th of each month", "FREQ=MONTHLY;BYMONTHDAY=1,15"),
        ("the 5th", "FREQ=MONTHLY;BYMONTHDAY=5"),
        ("last day of the month", "FREQ=MONTHLY;BYMONTHDAY=-1"),
        ("end of every month", "FREQ=MONTHLY;BYMONTHDAY=-1"),
        ("first and last day", "FREQ=MONTHLY;BYMONTHDAY=1,-1"),
        ("first Monday", "FREQ=MONTHLY;BYDAY=1MO"),
        ("1st Mon of the month", "FREQ=MONTHLY;BYDAY=1MO"),
        ("every first Monday", "FREQ=MONTHLY;BYDAY=1MO"),
        ("second Tuesday", "FREQ=MONTHLY;BYDAY=2TU"),
        ("every second Tuesday of the month", "FREQ=MONTHLY;BYDAY=2TU"),
        ("first and third Monday", "FREQ=MONTHLY;BYDAY=1MO,3MO"),
        ("last Fri, every other month", "FREQ=MONTHLY;INTERVAL=2;BYDAY=-1FR"),
        ("second to last Friday", "FREQ=MONTHLY;BYDAY=-2FR"),
        ("penultimate Friday of each month", "FREQ=MONTHLY;BYDAY=-2FR"),
        ("every Friday the 13th", "FREQ=MONTHLY;BYMONTHDAY=13;BYDAY=FR"),
        ("every month on each Tue", "FREQ=MONTHLY;BYDAY=TU"),
        ("monthly from April to September", "FREQ=MONTHLY;BYMONTH=4,5,6,7,8,9;BYMONTHDAY=3"),
        ("monthly Nov to Feb", "FREQ=MONTHLY;BYMONTH=1,2,11,12;BYMONTHDAY=3"),
        ("yearly", "FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=3"),
        ("March and October", "FREQ=YEARLY;BYMONTH=3,10;BYMONTHDAY=3"),
        ("every March", "FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=3"),
        ("first Mon in Mar and Oct", "FREQ=YEARLY;BYMONTH=3,10;BYDAY=1MO"),
        ("15 Mar and 15 Oct", "FREQ=YEARLY;BYMONTH=3,10;BYMONTHDAY=15"),
        ("15th of March and October", "FREQ=YEARLY;BYMONTH=3,10;BYMONTHDAY=15"),
        ("March 15", "FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=15"),
        ("yearly on 29 Feb", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29"),
        ("every 2 years in May on the last Fri", "FREQ=YEARLY;INTERVAL=2;BYMONTH=5;BYDAY=-1FR"),
        ("first Mon of the year", "FREQ=YEARLY;BYDAY=1MO"),
        ("in week 20", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=TU"),
        ("day 100 of the year", "FREQ=YEARLY;BYYEARDAY=100"),
        ("rrule:freq=weekly;byday=mo", "FREQ=WEEKLY;BYDAY=MO"),
    ],
)
def test_words_become_a_rule(text: str, rule: str) -> None:
    found = typed_repeat(text, TUESDAY)
    assert found is not None
    assert found.rule == rule


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("weekly until 30 Sep", "UNTIL=20260930"),
        ("weekly, until 30 September 2027", "UNTIL=20270930"),
        ("weekly till Sep 30", "UNTIL=20260930"),
        ("weekly until 2026-09-30", "UNTIL=20260930"),
        ("weekly until 2 Mar", "UNTIL=20270302"),  # the next one: 2 March has just gone
        ("weekly until 3 Mar", "UNTIL=20260303"),
        ("weekly until 29 Feb", "UNTIL=20280229"),
        ("weekly until the end of Feb", "UNTIL=20270228"),
        ("weekly until end of Feb 2028", "UNTIL=20280229"),
        ("weekly, 6 times", "COUNT=6"),
        ("weekly for 6 times", "COUNT=6"),
        ("weekly 6x", "COUNT=6"),
        ("weekly, six times in all", "COUNT=6"),
        ("weekly for 6 weeks", "UNTIL=20260413"),
        ("weekly for 10 days", "UNTIL=20260312"),
        ("weekly for a month", "UNTIL=20260402"),
        ("weekly for 2 years", "UNTIL=20280302"),
    ],
)
def test_an_end(text: str, end: str) -> None:
    found = typed_repeat(text, TUESDAY)
    assert found is not None
    assert found.rule == f"FREQ=WEEKLY;BYDAY=TU;{end}"


def test_weekly_for_six_weeks_is_six_times() -> None:
    found = typed_repeat("weekly for 6 weeks", TUESDAY)
    assert found is not None
    assert len(days_of(found.rule, TUESDAY, TUESDAY, date(2030, 1, 1))) == 6


def test_monthly_for_a_month_from_the_last_of_january_ends_before_the_last_of_february() -> None:
    found = typed_repeat("daily for a month", date(2027, 1, 31))
    assert found is not None
    assert found.rule.endswith("UNTIL=20270227")


@pytest.mark.parametrize("text", ["", "  ", "once", "Never", "no", "does not repeat"])
def test_what_does_not_repeat(text: str) -> None:
    assert typed_repeat(text, TUESDAY) is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("hourly", "not on hours"),
        ("every 3 hours", "not on hours"),
        ("every 30 minutes", "not on hours"),
        ("FREQ=HOURLY", "hours, minutes or seconds"),
        ("spring and autumn", "name the months"),
        ("seasonal", "name the months"),
        ("biweekly", "used both for"),
        ("bi-monthly", "used both for"),
        ("semi-annual", "used both for"),
        ("twice a month", "On which days"),
        ("three times a year", "On which days"),
        ("every second Tuesday", "mean every so many weeks"),
        ("every 3rd Fri", "mean every so many weeks"),
        ("every working day", "Mon to Fri"),
        ("monthly on Tuesday", "Which one of the month"),
        ("Mon and first Fri", "Which one of the month"),
        ("every year on the first Mon", "In which month"),
        ("weekly on the 15th", "cannot repeat every so many days or weeks"),
        ("daily on the first Mon", "cannot repeat every so many days or weeks"),
        ("monthly on 15 March", "comes once a year"),
        ("1 Mar and 15 Oct", "cannot be one repeat"),
        ("weekly and monthly", "Two different repeats"),
        ("6 times", "How often is not said"),
        ("until 30 Sep", "How often is not said"),
        ("weekly until 30 Sep, 6 times", "not both"),
        ("weekly, 6 times until 30 Sep", "not both"),
        ("weekly until September", "not a day on which it can end"),
        ("weekly until 30 Feb 2027", "not a day on which it can end"),
        ("weekly until Christmas", "not a day on which it can end"),
        ("weekly until 2026-02-01", "ends before its first day"),
        ("31 Feb", "no day after the first"),
        ("every 0 days", "from 1 to 1000"),
        ("every 5000 days", "from 1 to 1000"),
        ("32nd", "does not know"),
        ("sixth Mon", "“sixth” is not understood"),
        ("every 40 days starting 3 May", "“starting” is not understood"),
        ("when it suits", "“when” is not understood"),
        ("Monthly-ish", "“-ish” is not understood"),
        ("monday\x1b[2J", "not understood"),
        ("every ٣ days", "not understood"),
        ("weekly " * 100, "at most 500 letters"),
        ("weekly for 9999 years", "too long"),
    ],
)
def test_what_is_unclear_is_asked_at_the_field(text: str, sentence: str) -> None:
    with pytest.raises(BadInput) as told:
        typed_repeat(text, TUESDAY)
    assert sentence in told.value.message
    assert told.value.field == "repeats"


def test_the_words_name_the_first_day_where_the_rule_would_not_give_it() -> None:
    found = typed_repeat("first Monday", TUESDAY)
    assert found is not None
    assert found.said == "on 3 Mar 2026, then every month on the first Mon"
    assert typed_repeat(found.said, TUESDAY) == found


# --- round trips ---------------------------------------------------------------------------------

FIRSTS = st.dates(date(2000, 1, 1), date(2060, 12, 31))
INTERVALS = st.integers(1, 99)
WEEKDAYS = st.sets(st.integers(0, 6), min_size=1, max_size=6)
MONTHS = st.sets(st.integers(1, 12), min_size=1, max_size=5).map(lambda some: tuple(sorted(some)))
MONTH_DAYS = st.sets(st.sampled_from([*range(1, 32), -1, -2, -3]), min_size=1, max_size=4)
PLACED = st.sets(
    st.tuples(st.sampled_from([1, 2, 3, 4, 5, -1, -2]), st.integers(0, 6)), min_size=1, max_size=4
)


def every(days: set[int]) -> tuple[tuple[int, int], ...]:
    return tuple((0, day) for day in days)


RULES = st.one_of(
    st.builds(lambda n: Parts("DAILY", n), INTERVALS),
    st.builds(lambda months: Parts("DAILY", months=months), MONTHS),
    st.builds(lambda n, days: Parts("WEEKLY", n, weekdays=every(days)), INTERVALS, WEEKDAYS),
    st.builds(lambda days: Parts("WEEKLY", 2, weekdays=every(days), week_start=6), WEEKDAYS),
    st.builds(lambda days, months: Parts("WEEKLY", weekdays=every(days), months=months), WEEKDAYS,
              MONTHS),
    st.builds(lambda n, days: Parts("MONTHLY", n, month_days=tuple(days)), INTERVALS, MONTH_DAYS),
    st.builds(lambda n, days: Parts("MONTHLY", n, weekdays=tuple(days)), INTERVALS, PLACED),
    st.builds(lambda n, days: Parts("MONTHLY", n, weekdays=every(days)), INTERVALS, WEEKDAYS),
    st.builds(lambda days, months: Parts("MONTHLY", month_days=tuple(days), months=months),
              st.just({15, -1}), MONTHS),
    st.builds(lambda n, days, months: Parts("YEARLY", n, month_days=tuple(days), months=months),
              INTERVALS, st.sampled_from([{1}, {28}, {1, 15}, {-1}, {2, -2}]), MONTHS),
    st.builds(lambda n, days, months: Parts("YEARLY", n, weekdays=tuple(days), months=months),
              st.just(1), PLACED, MONTHS),
    st.builds(lambda days, months: Parts("YEARLY", weekdays=every(days), months=months), WEEKDAYS,
              MONTHS),
    st.builds(lambda days: Parts("YEARLY", weekdays=tuple(days)), PLACED),
)  # fmt: skip
ENDS = st.one_of(st.none(), st.integers(2, 60), st.timedeltas(timedelta(1), timedelta(2000)))


@settings(deadline=None)
@given(parts=RULES, first=FIRSTS, end=ENDS)
@example(Parts("MONTHLY", month_days=(31,)), date(2026, 1, 31), None)
@example(Parts("YEARLY", months=(2,), month_days=(29,)), date(2028, 2, 29), 3)
def test_a_rule_is_read_back_from_its_own_words(
    parts: Parts, first: date, end: int | timedelta | None
) -> None:
    rule = str(parts)
    if isinstance(end, int):
        rule += f";COUNT={end}"
    elif end is not None:
        rule += f";UNTIL={first + end:%Y%m%d}"
    try:
        repeat = repeat_of(rule, first)
    except BadInput:
        reject()  # such as a fifth Monday in the Februaries of odd years
    assert typed_repeat(repeat.said, first) == repeat
    assert as_typed(repeat, first) == repeat.said


@pytest.mark.parametrize(
    "rule",
    ["FREQ=DAILY", "FREQ=WEEKLY", "FREQ=WEEKLY;INTERVAL=3", "FREQ=MONTHLY", "FREQ=YEARLY",
     "FREQ=YEARLY;BYMONTH=3,10", "FREQ=YEARLY;BYWEEKNO=20"],
)  # fmt: skip
@settings(deadline=None)
@given(first=FIRSTS)
def test_what_a_rule_leaves_to_its_first_day_is_spelt_out(rule: str, first: date) -> None:
    typed = typed_repeat(repeat_of(rule, first).said, first)
    assert typed is not None
    until = first + timedelta(days=3000)
    assert days_of(typed.rule, first, first, until) == days_of(rule, first, first, until)


@pytest.mark.parametrize(
    "rule",
    ["FREQ=MONTHLY;BYDAY=TU,WE,TH;BYSETPOS=3", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
     "FREQ=WEEKLY", "FREQ=YEARLY;BYYEARDAY=-1", "FREQ=YEARLY;BYWEEKNO=-1;BYDAY=MO"],
)  # fmt: skip
def test_a_rule_whose_words_do_not_say_the_same_is_typed_as_a_rule(rule: str) -> None:
    repeat = repeat_of(rule, TUESDAY)
    assert as_typed(repeat, TUESDAY) == repeat.rule
    assert repeat.said  # a person still reads it in words


def test_once_is_typed_as_nothing() -> None:
    assert as_typed(repeat_of("", TUESDAY), TUESDAY) == ""


def understood(text: str) -> Repeat | BadInput | None:
    try:
        return typed_repeat(text, TUESDAY)
    except BadInput as told:
        return told


@settings(deadline=None)
@given(st.text(max_size=80))
@example("every")
@example("first")
@example("the")
@example("until")
@example("for a year")
@example("on 3 Mar 2026, then ")
def test_any_text_is_understood_or_refused_at_the_field(text: str) -> None:
    told = understood(text)
    if isinstance(told, BadInput):
        assert told.field == "repeats"
    elif told is not None:
        assert repeat_of(told.rule, TUESDAY) == told


WORDS = st.lists(
    st.sampled_from([
        "every", "each", "first", "second", "last", "to", "day", "days", "week", "month", "year",
        "mon", "tue,", "and", "on", "the", "of", "in", "15th", "31st", "10", "mar", "oct", "until",
        "30", "sep", "times", "for", "a", "6", "other", "monthly", "weekly", "-",
    ]),
    max_size=9,
).map(" ".join)  # fmt: skip


@settings(deadline=None)
@given(WORDS)
def test_any_words_of_the_trade_are_understood_or_refused(text: str) -> None:
    told = understood(text)
    if isinstance(told, BadInput):
        assert told.field == "repeats"
    elif told is not None:
        assert repeat_of(told.rule, TUESDAY) == told

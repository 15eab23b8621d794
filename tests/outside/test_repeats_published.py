"""Repeats against the worked examples of RFC 5545, python-dateutil's sets and pandas' offsets.

RFC 5545, Internet Calendaring and Scheduling Core Object Specification (Desruisseaux, 2009),
section 3.8.5.3. Its examples begin at nine in the morning in New York; here only their days count.
An end such as UNTIL=19971224T000000Z is an instant, the evening of the 23rd in New York: the rule
beside it names that day. Examples by the hour and the minute are refused, see the last tests.
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

import pandas as pd
import pytest
from dateutil import rrule as engine
from hypothesis import given, settings
from hypothesis import strategies as st

from store.diary.times.repeats import days_of, next_of, repeat_of
from store.errors import BadInput

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")  # fmt: skip


def printed(text: str) -> list[date]:
    """The days as the RFC prints them: `(1997) September 2-4,30;October 1`."""
    found = []
    for year, months in re.findall(r"\(([0-9]{4})\)([^(]*)", text):
        for month in months.split(";"):
            name, _space, days = month.strip().partition(" ")
            for one in days.split(","):
                first, _dash, last = one.strip().partition("-")
                found += [
                    date(int(year), MONTHS.index(name) + 1, day)
                    for day in range(int(first), int(last or first) + 1)
                ]
    return found


def test_the_printed_form_is_read() -> None:
    assert printed("(1997) September 2-3;October 1 (1998) May 5,7") == [
        date(1997, 9, 2), date(1997, 9, 3), date(1997, 10, 1), date(1998, 5, 5), date(1998, 5, 7),
    ]  # fmt: skip


# First day, rule, days as printed, and whether they are all or the RFC goes on with an ellipsis.
EXAMPLES = [
    ("daily for 10 occurrences", (1997, 9, 2), "FREQ=DAILY;COUNT=10", "(1997) September 2-11", True),
    ("daily until December 24, 1997", (1997, 9, 2), "FREQ=DAILY;UNTIL=19971223",
     "(1997) September 2-30;October 1-31;November 1-30;December 1-23", True),
    ("every other day, forever", (1997, 9, 2), "FREQ=DAILY;INTERVAL=2",
     "(1997) September 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30;"
     "October 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30;"
     "November 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29;December 1,3", False),
    ("every 10 days, 5 occurrences", (1997, 9, 2), "FREQ=DAILY;INTERVAL=10;COUNT=5",
     "(1997) September 2,12,22;October 2,12", True),
    ("every day in January, for 3 years", (1998, 1, 1),
     "FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
     "(1998) January 1-31 (1999) January 1-31 (2000) January 1-31", True),
    ("the same by days", (1998, 1, 1), "FREQ=DAILY;UNTIL=20000131;BYMONTH=1",
     "(1998) January 1-31 (1999) January 1-31 (2000) January 1-31", True),
    ("weekly for 10 occurrences", (1997, 9, 2), "FREQ=WEEKLY;COUNT=10",
     "(1997) September 2,9,16,23,30;October 7,14,21;October 28;November 4", True),
    ("weekly until December 24, 1997", (1997, 9, 2), "FREQ=WEEKLY;UNTIL=19971223",
     "(1997) September 2,9,16,23,30;October 7,14,21,28;November 4,11,18,25;December 2,9,16,23",
     True),
    ("every other week, forever", (1997, 9, 2), "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
     "(1997) September 2,16,30;October 14;October 28;November 11,25;December 9,23 "
     "(1998) January 6,20;February 3,17", False),
    ("weekly on Tuesday and Thursday for five weeks", (1997, 9, 2),
     "FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH",
     "(1997) September 2,4,9,11,16,18,23,25,30;October 2", True),
    ("the same by number", (1997, 9, 2), "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
     "(1997) September 2,4,9,11,16,18,23,25,30;October 2", True),
    ("every other week on Monday, Wednesday and Friday until December 24, 1997", (1997, 9, 1),
     "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR",
     "(1997) September 1,3,5,15,17,19,29;October 1,3,13,15,17;October 27,29,31;"
     "November 10,12,14,24,26,28;December 8,10,12,22", True),
    ("every other week on Tuesday and Thursday, for 8 occurrences", (1997, 9, 2),
     "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
     "(1997) September 2,4,16,18,30;October 2,14,16", True),
    ("monthly on the first Friday for 10 occurrences", (1997, 9, 5),
     "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
     "(1997) September 5;October 3;November 7;December 5 "
     "(1998) January 2;February 6;March 6;April 3;May 1;June 5", True),
    ("monthly on the first Friday until December 24, 1997", (1997, 9, 5),
     "FREQ=MONTHLY;UNTIL=19971223;BYDAY=1FR",
     "(1997) September 5;October 3;November 7;December 5", True),
    ("every other month on the first and last Sunday for 10 occurrences", (1997, 9, 7),
     "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
     "(1997) September 7,28;November 2,30 (1998) January 4,25;March 1,29;May 3,31", True),
    ("monthly on the second-to-last Monday for 6 months", (1997, 9, 22),
     "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
     "(1997) September 22;October 20;November 17;December 22 (1998) January 19;February 16", True),
    ("monthly on the third-to-the-last day, forever", (1997, 9, 28), "FREQ=MONTHLY;BYMONTHDAY=-3",
     "(1997) September 28;October 29;November 28;December 29 (1998) January 29;February 26", False),
    ("monthly on the 2nd and 15th for 10 occurrences", (1997, 9, 2),
     "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
     "(1997) September 2,15;October 2,15;November 2,15;December 2,15 (1998) January 2,15", True),
    ("monthly on the first and last day for 10 occurrences", (1997, 9, 30),
     "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
     "(1997) September 30;October 1;October 31;November 1,30;December 1,31 "
     "(1998) January 1,31;February 1", True),
    ("every 18 months on the 10th thru 15th for 10 occurrences", (1997, 9, 10),
     "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
     "(1997) September 10,11,12,13,14,15 (1999) March 10,11,12,13", True),
    ("every Tuesday, every other month", (1997, 9, 2), "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
     "(1997) September 2,9,16,23,30;November 4,11,18,25 "
     "(1998) January 6,13,20,27;March 3,10,17,24,31", False),
    ("yearly in June and July for 10 occurrences", (1997, 6, 10), "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
     "(1997) June 10;July 10 (1998) June 10;July 10 (1999) June 10;July 10 (2000) June 10;July 10 "
     "(2001) June 10;July 10", True),
    ("every other year in January, February and March for 10 occurrences", (1997, 3, 10),
     "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
     "(1997) March 10 (1999) January 10;February 10;March 10 "
     "(2001) January 10;February 10;March 10 (2003) January 10;February 10;March 10", True),
    ("every third year on the 1st, 100th and 200th day for 10 occurrences", (1997, 1, 1),
     "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
     "(1997) January 1;April 10;July 19 (2000) January 1;April 9;July 18 "
     "(2003) January 1;April 10;July 19 (2006) January 1", True),
    ("every 20th Monday of the year, forever", (1997, 5, 19), "FREQ=YEARLY;BYDAY=20MO",
     "(1997) May 19 (1998) May 18 (1999) May 17", False),
    ("Monday of week number 20, forever", (1997, 5, 12), "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
     "(1997) May 12 (1998) May 11 (1999) May 17", False),
    ("every Thursday in March, forever", (1997, 3, 13), "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
     "(1997) March 13,20,27 (1998) March 5,12,19,26 (1999) March 4,11,18,25", False),
    ("every Thursday, but only during June, July and August, forever", (1997, 6, 5),
     "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
     "(1997) June 5,12,19,26;July 3,10,17,24,31;August 7,14,21,28 "
     "(1998) June 4,11,18,25;July 2,9,16,23,30;August 6,13,20,27 "
     "(1999) June 3,10,17,24;July 1,8,15,22,29;August 5,12,19,26", False),
    ("the first Saturday that follows the first Sunday of the month, forever", (1997, 9, 13),
     "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
     "(1997) September 13;October 11;November 8;December 13 "
     "(1998) January 10;February 7;March 7;April 11;May 9;June 13", False),
    ("every 4 years, the first Tuesday after a Monday in November", (1996, 11, 5),
     "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
     "(1996) November 5 (2000) November 7 (2004) November 2", False),
    ("the third instance of one of Tuesday, Wednesday or Thursday, for 3 months", (1997, 9, 4),
     "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
     "(1997) September 4;October 7;November 6", True),
    ("the second-to-last weekday of the month", (1997, 9, 29),
     "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
     "(1997) September 29;October 30;November 27;December 30 (1998) January 29;February 26;March 30",
     False),
    ("weeks that begin on Monday", (1997, 8, 5),
     "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "(1997) August 5,10,19,24", True),
    ("the same with weeks that begin on Sunday", (1997, 8, 5),
     "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "(1997) August 5,17,19,31", True),
    ("a day that does not exist is ignored", (2007, 1, 15), "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
     "(2007) January 15,30;February 15;March 15,30", True),
]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "rule", "days", "whole"),
    [pytest.param(*example[1:], id=example[0]) for example in EXAMPLES],
)
def test_an_example_of_the_rfc(
    first: tuple[int, int, int], rule: str, days: str, whole: bool
) -> None:
    begins, expected = date(*first), printed(days)
    until = date(2020, 12, 31) if whole else expected[-1]
    rule = repeat_of(rule, begins).rule
    assert list(days_of(rule, begins, begins, until)) == expected
    # Each day leads to the next, and the last to none where the example is whole.
    walk = [next_of(rule, begins, day) for day in expected]
    assert walk[:-1] == expected[1:]
    if whole:
        assert walk[-1] is None


def test_every_friday_the_thirteenth() -> None:
    """The RFC takes the first day, a Tuesday, out with EXDATE: by itself it counts."""
    first = date(1997, 9, 2)
    rule = "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13"
    expected = printed("(1998) February 13;March 13;November 13 (1999) August 13 (2000) October 13")
    assert list(days_of(rule, first, first, expected[-1])) == [first, *expected]


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
        "FREQ=MINUTELY;INTERVAL=15;COUNT=6",
        "FREQ=MINUTELY;INTERVAL=90;COUNT=4",
        "FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40",
        "FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16",
    ],
)
def test_the_examples_by_the_hour_are_refused(rule: str) -> None:
    with pytest.raises(BadInput, match="hours, minutes or seconds") as told:
        repeat_of(rule, date(1997, 9, 2))
    assert told.value.field == "repeats"


def test_an_end_at_an_hour_is_asked_for_as_a_day() -> None:
    with pytest.raises(BadInput, match="UNTIL=19971224") as told:
        repeat_of("FREQ=DAILY;UNTIL=19971224T000000Z", date(1997, 9, 2))
    assert told.value.field == "repeats"


# --- against python-dateutil's sets -----------------------------------------------------------

RULES = st.sampled_from([
    "FREQ=DAILY", "FREQ=DAILY;INTERVAL=10", "FREQ=DAILY;BYMONTH=2,3", "FREQ=WEEKLY",
    "FREQ=WEEKLY;INTERVAL=3;BYDAY=MO,SU", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=SU",
    "FREQ=MONTHLY", "FREQ=MONTHLY;BYMONTHDAY=31", "FREQ=MONTHLY;BYMONTHDAY=-1",
    "FREQ=MONTHLY;INTERVAL=5;BYDAY=-1FR", "FREQ=MONTHLY;BYDAY=1MO,3MO", "FREQ=MONTHLY;BYDAY=5WE",
    "FREQ=YEARLY", "FREQ=YEARLY;BYMONTH=3,10", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29",
    "FREQ=YEARLY;INTERVAL=2;BYMONTH=3;BYDAY=1MO", "FREQ=YEARLY;BYYEARDAY=1,-1",
    "FREQ=YEARLY;BYDAY=53TH", "FREQ=YEARLY;BYWEEKNO=1,53;BYDAY=MO,FR",
    "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=1,-1",
])  # fmt: skip
FIRSTS = st.dates(date(1995, 1, 1), date(2045, 12, 31))


def by_a_set(rule: str, first: date, since: date, until: date, count: int | None) -> list[date]:
    """The first day and the days of the rule as a set of python-dateutil has them."""
    start = datetime.combine(first, datetime.min.time())
    days = engine.rruleset()
    days.rdate(start)
    days.rrule(engine.rrulestr(rule, dtstart=start))
    found = []
    for place, at in enumerate(days):
        if at.date() > until or place == count:
            break
        found.append(at.date())
    return [day for day in found if day >= since]


@settings(deadline=None)
@given(
    rule=RULES,
    first=FIRSTS,
    ahead=st.integers(-400, 3000),
    length=st.integers(0, 900),
    count=st.one_of(st.none(), st.integers(1, 40)),
)
def test_days_are_those_of_a_set(
    rule: str, first: date, ahead: int, length: int, count: int | None
) -> None:
    since = first + timedelta(days=ahead)
    until = since + timedelta(days=length)
    ours = days_of(f"{rule};COUNT={count}" if count else rule, first, since, until)
    assert list(ours) == by_a_set(rule, first, since, until, count)


@settings(deadline=None)
@given(first=FIRSTS)
def test_plain_and_placed_weekdays_in_one_rule_are_the_days_of_both(first: date) -> None:
    """python-dateutil takes the two together for days that are both; RFC 5545 for either."""
    until = first + timedelta(days=400)
    both = days_of("FREQ=MONTHLY;BYDAY=MO,1TU,-1FR", first, first, until)
    alone = [days_of(f"FREQ=MONTHLY;BYDAY={day}", first, first, until)
             for day in ("MO", "1TU", "-1FR")]  # fmt: skip
    assert both == tuple(sorted({day for days in alone for day in days}))


@settings(deadline=None)
@given(first=FIRSTS)
def test_a_number_of_a_week_without_a_weekday_takes_that_of_the_first_day(first: date) -> None:
    until = first + timedelta(days=1500)
    days = days_of("FREQ=YEARLY;BYWEEKNO=20", first, first, until)
    assert {day.isocalendar().week for day in days[1:]} == {20}
    assert {day.weekday() for day in days} == {first.weekday()}


# --- against pandas' offsets ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "offset"),
    [
        ("FREQ=MONTHLY;BYDAY=1MO", "WOM-1MON"),
        ("FREQ=MONTHLY;BYDAY=3TH", "WOM-3THU"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "ME"),
        ("FREQ=MONTHLY;BYMONTHDAY=1", "MS"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", "SMS"),
        ("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", "BME"),
        ("FREQ=WEEKLY;BYDAY=WE", "W-WED"),
        ("FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR", "B"),
        ("FREQ=DAILY;INTERVAL=10", "10D"),
        ("FREQ=MONTHLY;BYMONTH=3,6,9,12;BYMONTHDAY=-1", "QE-DEC"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=-1", "YE-FEB"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=-1", pd.offsets.YearEnd(month=2)),
        ("FREQ=MONTHLY;BYDAY=-1FR", pd.offsets.LastWeekOfMonth(weekday=4)),
    ],
)
@pytest.mark.parametrize("year", [1999, 2000, 2023, 2024, 2100])
def test_days_are_those_of_pandas(rule: str, offset: str | pd.DateOffset, year: int) -> None:
    since, until = date(year, 1, 1), date(year + 2, 3, 15)
    theirs = [at.date() for at in pd.date_range(since, until, freq=offset)]
    ours = days_of(rule, theirs[0], since, until)
    assert list(ours) == theirs
    assert len(theirs) > 1

"""The days on which something that repeats falls due.

python-dateutil expands the rules. Days only: no hour and no zone takes part, so that no clock
change can move a day.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache
from itertools import islice

from store.diary.times.repeats_said import said_repeat
from store.diary.times.rule_parts import FIELD, Parts, parts_of
from store.errors import BadInput

MOST_DAYS = 4000
"""The most days that are given at once: every day of ten years, and more."""

# The calendar repeats itself, weekdays and all, every 400 years, which are 146,097 days or 20,871
# weeks. Rules are expanded in the last such stretch before the year 9999, where the engine stops:
# one that never gives a day is found out after some hundred years, and not after eight thousand.
_CYCLE_YEARS = 400
_ROOM_YEARS = 100
_LAST_YEAR = 9999


@dataclass(frozen=True, slots=True)
class Repeat:
    """A rule of RFC 5545 that was checked, and what it says in words."""

    rule: str
    said: str


def repeat_of(rule: str, first: date) -> Repeat:
    """A rule that was checked, with its words.

    Parameters
    ----------
    rule
        An RRULE of RFC 5545, with or without `RRULE:` before it; empty for what happens once.
    first
        The first day. It counts, whether or not the rule would give it: RFC 5545 has the day on
        which something begins count as its first occurrence.

    Returns
    -------
    Repeat
        The rule with its parts in our order. The words name what months or years are left out,
        and a first day that the rule would not give.

    Raises
    ------
    BadInput
        At the field `repeats`: it is no rule, falls on hours, ends before it begins, or gives no
        second day within a hundred years.

    Notes
    -----
    A day that a month does not have is left out, never moved (RFC 5545, section 3.3.10): monthly
    on the 31st falls on seven months of a year. For the last day of every month there is
    `BYMONTHDAY=-1`.

    Examples
    --------
    >>> repeat_of("FREQ=MONTHLY;BYDAY=1MO", date(2026, 3, 2)).said
    'every month on the first Mon'
    >>> repeat_of("FREQ=MONTHLY;BYMONTHDAY=31", date(2026, 1, 31)).said
    'every month on the 31st (months without one are skipped)'
    """
    if not rule.strip():
        return Repeat("", "")
    parts = parts_of(rule)
    if parts.until is not None and parts.until < first:
        raise BadInput(
            "The repeat ends before its first day; please name a later end, or none.", field=FIELD
        )
    follow = next(_given(str(parts), first), None)
    if parts.count != 1 and parts.until is None and follow is None:
        raise BadInput(
            "This rule gives no day after the first within a hundred years; please look at its "
            "days and months again.",
            field=FIELD,
        )
    return Repeat(str(parts), said_repeat(parts, first, fits=_fits(parts, first)))


def days_of(rule: str, first: date, since: date, until: date) -> tuple[date, ...]:
    """The days within a stretch of time, earliest first.

    Parameters
    ----------
    rule
        As `repeat_of` takes it; empty for what happens once.
    first
        The first day, which always counts.
    since, until
        The stretch, both days included.

    Returns
    -------
    tuple of date
        Empty where nothing falls into the stretch. Days more than a hundred years after the first
        may be missing.

    Raises
    ------
    BadInput
        At the field `repeats`: the rule cannot be read, or gives more than `MOST_DAYS` days.

    Examples
    --------
    >>> days = days_of("FREQ=MONTHLY;BYMONTHDAY=31", date(2026, 1, 31), date(2026, 2, 1),
    ...                date(2026, 5, 31))
    >>> [str(day) for day in days]
    ['2026-03-31', '2026-05-31']
    """
    found: list[date] = []
    for day in _all(rule, first):
        if day > until:
            break
        if day >= since:
            found.append(day)
        if len(found) > MOST_DAYS:
            raise BadInput(
                f"This repeat gives more than {MOST_DAYS} days in that time; please ask for less.",
                field=FIELD,
            )
    return tuple(found)


def next_of(rule: str, first: date, after: date) -> date | None:
    """The earliest day after another.

    Parameters
    ----------
    rule
        As `repeat_of` takes it; empty for what happens once.
    first
        The first day, which always counts.
    after
        The day that is not given any more.

    Returns
    -------
    date or None
        None when the repeat has ended.

    Raises
    ------
    BadInput
        At the field `repeats`, when the rule cannot be read.

    Examples
    --------
    >>> str(next_of("FREQ=WEEKLY", date(2026, 3, 24), date(2026, 3, 24)))
    '2026-03-31'
    >>> next_of("", date(2026, 3, 24), date(2026, 3, 24)) is None
    True
    """
    return next((day for day in _all(rule, first) if day > after), None)


def _all(rule: str, first: date) -> Iterator[date]:
    """The first day and all that follow."""
    yield first
    if not rule.strip():
        return
    count = parts_of(rule).count
    yield from islice(_given(rule, first), None if count is None else count - 1)


def _given(rule: str, first: date) -> Iterator[date]:
    """What the rule gives after the first day, its number of times aside."""
    engine, away = _engine(rule, first)
    for at in engine:
        if at.year - away > _LAST_YEAR:
            return
        day = at.date().replace(year=at.year - away)
        if day > first:
            yield day


def _fits(parts: Parts, first: date) -> bool:
    """Whether the rule itself gives the first day."""
    engine, away = _engine(str(parts), first)
    at = next(iter(engine), None)
    return at is not None and at.date().replace(year=at.year - away) == first


@lru_cache(maxsize=4096)
def _engine(rule: str, first: date) -> tuple[Iterable[datetime], int]:
    """The expansion without a number of times, and by how many years its days lie ahead [a]."""
    from dateutil import rrule as engine

    parts = parts_of(rule)
    away = (_LAST_YEAR - _ROOM_YEARS - first.year) // _CYCLE_YEARS * _CYCLE_YEARS
    start = first.replace(year=first.year + away)
    until = None
    if parts.until is not None:
        last = parts.until.replace(year=min(parts.until.year + away, _LAST_YEAR - 3))
        until = datetime.combine(last, time())
    weekdays = _weekdays(parts, first)
    return engine.rrule(
        getattr(engine, parts.frequency),
        dtstart=datetime.combine(start, time()),
        interval=parts.interval,
        wkst=parts.week_start,
        until=until,
        bysetpos=parts.places or None,
        bymonth=parts.months or None,
        bymonthday=parts.month_days or None,
        byyearday=parts.year_days or None,
        byweekno=parts.weeks or None,
        byweekday=[
            engine.weekday(day, place) if place else engine.weekday(day) for place, day in weekdays
        ]
        or None,
    ), away


def _weekdays(parts: Parts, first: date) -> tuple[tuple[int, int], ...]:
    """The weekdays as the engine wants them.

    It takes “every Monday and the first Tuesday” for days that are both, and a week without a
    weekday for all of its days, where RFC 5545 takes the weekday of the first day.
    """
    if parts.weeks and not (parts.weekdays or parts.month_days or parts.year_days):
        return ((0, first.weekday()),)
    if not any(place for place, _day in parts.weekdays):
        return parts.weekdays
    most = 5 if parts.frequency == "MONTHLY" or parts.months else 53
    return tuple(
        (each, day)
        for place, day in parts.weekdays
        for each in ((place,) if place else range(1, most + 1))
    )

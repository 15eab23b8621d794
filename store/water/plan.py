"""How often a pond is to be tested, and when the next test is due."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.errors import BadInput

MOST_DAYS = 366


@dataclass(frozen=True, slots=True)
class Season:
    """Part of the year in which another interval holds; it may run over the turn of the year.

    `first` and `last` are (month, day), both included.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    every_days: int

    def holds(self, day: date) -> bool:
        """Whether the day lies in this season."""
        at = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last


def read_seasons(entries: Sequence[dict[str, object]]) -> tuple[Season, ...]:
    """The seasons of a test plan as they are kept with a pond.

    Parameters
    ----------
    entries
        One mapping a season with `from` and `to` as `MM-DD` and `every_days` [d].

    Raises
    ------
    BadInput
        A day that no year has, or an interval that is no whole number of 1 to 366 days.

    Examples
    --------
    >>> read_seasons([{"from": "11-01", "to": "02-28", "every_days": 30}])[0].every_days
    30
    """
    seasons = []
    for entry in entries:
        every = entry.get("every_days")
        if isinstance(every, bool) or not isinstance(every, int) or not 1 <= every <= MOST_DAYS:
            raise BadInput(
                "The days between tests in a season must be a whole number from 1 to 366.",
                field="test_seasons",
            )
        seasons.append(Season(_month_day(entry.get("from")), _month_day(entry.get("to")), every))
    return tuple(seasons)


def _month_day(text: object) -> tuple[int, int]:
    try:
        # 2000 is a leap year: 02-29 is a day that some years have.
        day = date.fromisoformat(f"2000-{text}")
    except ValueError as error:
        raise BadInput(
            f"“{text}” is no day of the year. Write month and day, for example 03-01.",
            field="test_seasons",
        ) from error
    return day.month, day.day


def interval_days(day: date, every_days: int | None, seasons: Sequence[Season]) -> int | None:
    """Days between tests that hold on a day; the first season that holds wins.

    Parameters
    ----------
    day
        The calendar day asked about, in the practice's zone.
    every_days : int or None [d]
        The interval outside all seasons; None if the pond has no plan there.
    seasons
        The seasons with their own interval.

    Returns
    -------
    int or None [d]
        None where no plan holds.
    """
    for season in seasons:
        if season.holds(day):
            return season.every_days
    return every_days


def due_on(last: date, every_days: int | None, seasons: Sequence[Season]) -> date | None:
    """Day on which the next test is due, reckoned with the interval in force on that day.

    Parameters
    ----------
    last
        Day of the last test, in the practice's zone.
    every_days : int or None [d]
        The interval outside all seasons.
    seasons
        The seasons with their own interval.

    Returns
    -------
    date or None
        The first day d after `last` on which as many days have passed as the interval of d asks
        for; a winter test is thus not overdue on the first day of spring by the spring's measure
        before the spring's interval has passed. None where no plan holds for two years.

    Examples
    --------
    >>> due_on(date(2026, 5, 4), 7, ())
    datetime.date(2026, 5, 11)
    """
    if not seasons:
        return None if every_days is None else last + timedelta(days=every_days)
    for passed in range(1, 732):
        day = last + timedelta(days=passed)
        every = interval_days(day, every_days, seasons)
        if every is not None and passed >= every:
            return day
    return None


_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip
_LAST_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_SEASON = re.compile(r"(?P<days>.+?)[\s,:]+(?P<every>every\s.+|daily|weekly|fortnightly|monthly)")
_SPAN = re.compile(r"\s*(?:–|—|-|\bto\b|\buntil\b|\btill\b)\s*")
_DAY = re.compile(
    r"(?:(?P<before>[0-9]{1,2})(?:st|nd|rd|th|\.)?\s*)?(?P<month>[a-z]{3,9})\.?"
    r"(?:\s*(?P<after>[0-9]{1,2})(?:st|nd|rd|th)?)?"
)
_EVERY = re.compile(r"every\s+(?:(?P<count>[0-9]{1,3})\s*)?(?P<unit>d|days?|w|wks?|weeks?|months?)")
_EVERY_WORD = {"daily": 1, "weekly": 7, "fortnightly": 14, "monthly": 30}
_UNIT_DAYS = {"d": 1, "w": 7, "m": 30}


def typed_seasons(text: str) -> list[dict[str, object]]:
    """The seasons of a test plan as people write them, as they are kept with a pond.

    Parameters
    ----------
    text
        Seasons with `;` or a new line between them, each the first and last day or month and the
        interval; empty for none.

    Returns
    -------
    list of dict
        Entries for `read_seasons`.

    Raises
    ------
    BadInput
        Naming the season that could not be read.

    Notes
    -----
    A month is counted as 30 days. A last month without a day goes to its end.

    Examples
    --------
    >>> typed_seasons("1 Nov – 28 Feb every 30 d")
    [{'from': '11-01', 'to': '02-28', 'every_days': 30}]
    >>> typed_seasons("mar to may weekly; June 1 - 31 aug every 2 weeks")[1]
    {'from': '06-01', 'to': '08-31', 'every_days': 14}
    """
    entries: list[dict[str, object]] = []
    for part in re.split(r"[;\n]", text):
        said = " ".join(part.split())
        if said:
            entries.append(_typed_season(said))
    read_seasons(entries)
    return entries


def _typed_season(said: str) -> dict[str, object]:
    whole = _SEASON.fullmatch(said.casefold().rstrip("."))
    ends = _SPAN.split(whole["days"]) if whole else []
    if whole is None or len(ends) != 2:
        raise BadInput(
            f"“{said[:60]}” is no season. Write its first and last day and how often to test, such "
            "as 1 Nov – 28 Feb every 30 d, with ; between two seasons.",
            field="test_seasons",
        )
    return {
        "from": _typed_day(ends[0], last=False),
        "to": _typed_day(ends[1], last=True),
        "every_days": _typed_interval(whole["every"]),
    }


def _typed_day(said: str, *, last: bool) -> str:
    found = _DAY.fullmatch(said.strip())
    month = 0
    if found and not (found["before"] and found["after"]):
        beginning = found["month"]
        fitting = [n for n, name in enumerate(_MONTHS, 1) if name.casefold().startswith(beginning)]
        month = fitting[0] if len(fitting) == 1 else 0
    if not (found and month):
        raise BadInput(
            f"“{said[:30]}” is no day of the year. Write day and month in letters, such as 1 Nov.",
            field="test_seasons",
        )
    number = found["before"] or found["after"]
    day = int(number) if number else _LAST_DAYS[month - 1] if last else 1
    if not 1 <= day <= _LAST_DAYS[month - 1]:
        raise BadInput(
            f"“{said[:30]}” is no day of the year: {_MONTHS[month - 1]} has "
            f"{_LAST_DAYS[month - 1]} days.",
            field="test_seasons",
        )
    return f"{month:02d}-{day:02d}"


def _typed_interval(said: str) -> int:
    if said in _EVERY_WORD:
        return _EVERY_WORD[said]
    found = _EVERY.fullmatch(said)
    days = int(found["count"] or 1) * _UNIT_DAYS[found["unit"][0]] if found else 0
    if not 1 <= days <= MOST_DAYS:
        raise BadInput(
            f"“{said[:30]}” is no interval of 1 to {MOST_DAYS} days. Write every 30 d, or every 2 "
            "weeks.",
            field="test_seasons",
        )
    return days


def said_seasons(entries: Sequence[Mapping[str, object]]) -> str:
    """The seasons of a test plan as `typed_seasons` reads them.

    Parameters
    ----------
    entries
        As they are kept with a pond.

    Examples
    --------
    >>> said_seasons([{"from": "11-01", "to": "02-28", "every_days": 30}])
    '1 Nov – 28 Feb every 30 d'
    """
    return "; ".join(
        f"{_said_day(entry['from'])} – {_said_day(entry['to'])} every {entry['every_days']} d"
        for entry in entries
    )


def _said_day(text: object) -> str:
    month, day = _month_day(text)
    return f"{day} {_MONTHS[month - 1][:3]}"

"""How often a pond is to be tested, and when the next test is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.errors import BadInput


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
        if isinstance(every, bool) or not isinstance(every, int) or not 1 <= every <= 366:
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

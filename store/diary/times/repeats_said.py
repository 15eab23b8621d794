"""A rule in words; `typed_repeat` reads them back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from store.diary.times.rule_parts import Parts
from store.text import day_said

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
PLACES = ("", "first", "second", "third", "fourth", "fifth")
UNITS = {"DAILY": "day", "WEEKLY": "week", "MONTHLY": "month", "YEARLY": "year"}

LEAP_YEARS = "in leap years only"
MONTHS_SKIPPED = "months without one are skipped"
DAYS_SKIPPED = "a day that a month does not have is skipped"
YEARS_SKIPPED = "years without one are skipped"
REMARKS = (LEAP_YEARS, MONTHS_SKIPPED, DAYS_SKIPPED, YEARS_SKIPPED)
"""What may stand in brackets behind the words of a rule."""

_SHORTEST_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_LONGEST_YEAR, _LONGEST_YEAR_WEEKS = 366, 53


def said_repeat(parts: Parts, first: date, *, fits: bool) -> str:
    """A rule in words.

    Parameters
    ----------
    parts
        The rule.
    first
        The first day; it says what the rule leaves open, such as the weekday of `FREQ=WEEKLY`.
    fits
        Whether the rule itself gives that day; where not, it is named.

    Returns
    -------
    str
        With what is left out, such as months without a 31st.

    Examples
    --------
    >>> said_repeat(Parts("WEEKLY", 2, weekdays=((0, 1),)), date(2026, 3, 3), fits=True)
    'every 2 weeks on Tue'
    >>> said_repeat(Parts("YEARLY", months=(3, 10)), date(2026, 3, 2), fits=True)
    'every year on the 2nd in Mar and Oct'
    """
    unit = UNITS[parts.frequency]
    said = [f"every {unit}" if parts.interval == 1 else f"every {parts.interval} {unit}s"]
    parts = filled(parts, first)
    chosen = listed(_chosen(parts))
    one_day = _day_of_the_year(parts)
    if parts.places:
        where = listed([f"{place_said(place)} of" for place in parts.places])
        said.append(f"on the {where} {chosen or 'these'}")
    elif one_day or chosen:
        said.append(f"on {one_day or chosen}")
    if parts.weeks:
        said.append(f"in week {listed([str(week) for week in parts.weeks])}")
    if parts.months and not one_day:
        said.append(f"in {listed([MONTHS[month - 1] for month in parts.months])}")
    if parts.week_start and (parts.weeks or (parts.frequency == "WEEKLY" and parts.interval > 1)):
        said.append(f"with weeks from {DAYS[parts.week_start]}")
    if parts.until is not None:
        said.append(f"until {day_said(parts.until)}")
    words = " ".join(said)
    if parts.count is not None:
        words += f", {parts.count} time{'s' * (parts.count != 1)}{' in all' * (not fits)}"
    if skipped := _skipped(parts):
        words += f" ({skipped})"
    return words if fits else f"on {day_said(first)}, then {words}"


def filled(parts: Parts, first: date) -> Parts:
    """The rule with the days that it takes from its first day.

    Parameters
    ----------
    parts
        The rule.
    first
        The first day.

    Returns
    -------
    Parts
        A weekly rule names its weekday, a monthly or yearly one its day of the month.
    """
    if parts.weekdays or parts.month_days or parts.year_days or parts.frequency == "DAILY":
        return parts
    if parts.weeks or parts.frequency == "WEEKLY":
        return replace(parts, weekdays=((0, first.weekday()),))
    if parts.frequency == "YEARLY" and not parts.months:
        parts = replace(parts, months=(first.month,))
    return replace(parts, month_days=(first.day,))


def _chosen(parts: Parts) -> list[str]:
    """The days that a rule names, each group of them in a few words."""
    said = []
    if parts.year_days:
        said.append(f"day {listed([str(day) for day in parts.year_days])} of the year")
    if parts.month_days:
        said.append(f"the {listed([day_of_month_said(day) for day in parts.month_days])}")
    plain_days = [DAYS[day] for place, day in parts.weekdays if place == 0]
    placed = [f"{place_said(place)} {DAYS[day]}" for place, day in parts.weekdays if place != 0]
    if plain_days and (said or parts.frequency in ("MONTHLY", "YEARLY")):
        plain_days = [f"each {listed(plain_days, 'or')}"] if not said else plain_days
    of_the_year = parts.frequency == "YEARLY" and not parts.months
    if placed and not said:
        placed = [f"the {listed(placed)}{' of the year' * of_the_year}"]
    weekdays = listed([*plain_days, *placed])
    if said and weekdays:
        return [f"{listed(said)} where that is {listed(plain_days + placed, 'or')}"]
    return [*said, *([weekdays] if weekdays else [])]


def _day_of_the_year(parts: Parts) -> str:
    """`29 Feb` where the rule is one day of one month, else empty."""
    if parts.frequency != "YEARLY" or len(parts.months) != 1 or len(parts.month_days) != 1:
        return ""
    if parts.weekdays or parts.year_days or parts.weeks or parts.places or parts.month_days[0] < 0:
        return ""
    return f"{parts.month_days[0]} {MONTHS[parts.months[0] - 1]}"


def _skipped(parts: Parts) -> str:
    """What is left out because a month or a year does not have the day; empty where nothing is."""
    if parts.places:
        return ""
    within_months = parts.frequency != "YEARLY" or bool(parts.months or parts.month_days)
    rare = [place for place, _day in parts.weekdays if abs(place) >= (5 if within_months else 53)]
    if not within_months:
        rare += [day for day in parts.year_days if abs(day) == _LONGEST_YEAR]
        rare += [week for week in parts.weeks if abs(week) == _LONGEST_YEAR_WEEKS]
        return YEARS_SKIPPED if rare else ""
    if parts.weekdays and parts.month_days:
        return ""  # “the 13th where that is Fri” says so itself
    months = parts.months or tuple(range(1, 13))
    longest = max((abs(day) for day in parts.month_days), default=0)
    if months == (2,) and longest == 29 and len(parts.month_days) == 1:
        return LEAP_YEARS
    if any(_SHORTEST_MONTH[month - 1] < longest for month in months):
        rare.append(longest)
    if not rare:
        return ""
    alone = len(parts.month_days or parts.weekdays) == 1
    return MONTHS_SKIPPED if alone else DAYS_SKIPPED


def place_said(place: int) -> str:
    """A place among others in words.

    Parameters
    ----------
    place
        1 is the first, -1 the last, -2 the second to last.

    Examples
    --------
    >>> [place_said(place) for place in (1, 20, -1, -2)]
    ['first', '20th', 'last', 'second to last']
    """
    if place == -1:
        return "last"
    word = PLACES[abs(place)] if abs(place) < len(PLACES) else nth(abs(place))
    return f"{word} to last" if place < 0 else word


def day_of_month_said(day: int) -> str:
    """A day of the month in words.

    Parameters
    ----------
    day
        1 to 31; -1 is the last.

    Examples
    --------
    >>> day_of_month_said(31), day_of_month_said(-1)
    ('31st', 'last day')
    """
    return nth(day) if day > 0 else f"{place_said(day)} day"


def nth(number: int) -> str:
    """A number as an ordinal.

    Parameters
    ----------
    number
        Above zero.

    Examples
    --------
    >>> [nth(number) for number in (1, 2, 3, 11, 22)]
    ['1st', '2nd', '3rd', '11th', '22nd']
    """
    teens = number % 100 in (11, 12, 13)
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Words as a list within a sentence.

    Parameters
    ----------
    words
        The words; none gives an empty text.
    joint
        What stands before the last.

    Examples
    --------
    >>> listed(["Mon", "Wed", "Fri"])
    'Mon, Wed and Fri'
    """
    *most, last = list(words) or [""]
    return f"{', '.join(most)} {joint} {last}" if most else last

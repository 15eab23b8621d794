"""The day until which a concern may rest, as people type it."""

from __future__ import annotations

import re
from datetime import date, timedelta

from store.errors import BadInput

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_SPAN = re.compile(r"(?:in )?([0-9]{1,3}) ?(d|days?|w|wks?|weeks?|m|months?)")
_DAY = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ .]{0,2}([a-z]{3,9})\.?(?:[ ]([0-9]{4}))?")
_WEEKDAY = re.compile(r"(?:next )?([a-z]{3,9})")
LONGEST_DAYS = 366
"""Nothing rests longer: by then the pond is another one."""


def typed_until(text: str, today: date) -> date:
    """The first day on which a concern speaks again.

    Parameters
    ----------
    text
        `3 d`, `2 weeks`, `1 month`, `tomorrow`, `Mon`, `12 Dec`, `2026-12-12`.
    today
        The practice's calendar day.

    Returns
    -------
    date
        A day ahead; a weekday is the next one, never today; a day without a year is the next such.

    Raises
    ------
    BadInput
        It is no day, or not one within the coming year.

    Examples
    --------
    >>> typed_until("2 weeks", date(2026, 11, 25))
    datetime.date(2026, 12, 9)
    >>> typed_until("Mon", date(2026, 11, 25))
    datetime.date(2026, 11, 30)
    >>> typed_until("12 Jan", date(2026, 11, 25))
    datetime.date(2027, 1, 12)
    """
    typed = " ".join(text.casefold().split())
    found = _understood(typed, today)
    if found is None:
        raise BadInput(
            "Please give a day such as 3 d, 2 weeks, Mon, 12 Dec or 2026-12-12.", field="until"
        )
    if not today < found <= today + timedelta(days=LONGEST_DAYS):
        raise BadInput(
            f"{found.isoformat()} is not a day within the coming year. A concern rests until a "
            "day ahead, at most a year.",
            field="until",
        )
    return found


def _understood(typed: str, today: date) -> date | None:
    if typed == "tomorrow":
        return today + timedelta(days=1)
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", typed):
        return _made(int(typed[:4]), int(typed[5:7]), int(typed[8:]))
    if span := _SPAN.fullmatch(typed):
        return _after(int(span[1]), span[2][0], today)
    if day := _DAY.fullmatch(typed):
        return _of_month(int(day[1]), day[2], day[3], today)
    if (named := _WEEKDAY.fullmatch(typed)) and named[1][:3] in _WEEKDAYS:
        full = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
        place = _WEEKDAYS.index(named[1][:3])
        if full[place].startswith(named[1]):
            return today + timedelta(days=(place - today.weekday() - 1) % 7 + 1)
    return None


def _after(number: int, unit: str, today: date) -> date:
    if unit != "m":
        return today + timedelta(days=number * (7 if unit == "w" else 1))
    months = today.month - 1 + number
    year, month = today.year + months // 12, months % 12 + 1
    # The last day of a shorter month stands for one it does not have.
    return next(
        made for day in range(today.day, 27, -1) if (made := _made(year, month, day))
    ) if today.day > 28 else date(year, month, today.day)  # fmt: skip


def _of_month(day: int, name: str, year: str | None, today: date) -> date | None:
    full = (
        "january", "february", "march", "april", "may", "june", "july", "august", "september",
        "october", "november", "december",
    )  # fmt: skip
    if name[:3] not in _MONTHS:
        return None
    month = _MONTHS.index(name[:3]) + 1
    if not full[month - 1].startswith(name) and name != "sept":
        return None
    if year is not None:
        return _made(int(year), month, day)
    this_year = _made(today.year, month, day)
    if this_year is not None and this_year > today:
        return this_year
    return _made(today.year + 1, month, day)


def _made(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None

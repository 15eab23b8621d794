"""A calendar day as people type it."""

from __future__ import annotations

import re
from datetime import date, timedelta

from store.errors import BadInput
from store.text import plain

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WORDS = {"today": 0, "tomorrow": 1, "yesterday": -1}
_UNIT_DAYS = {"d": 1, "day": 1, "w": 7, "week": 7}

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DISTANCE = re.compile(r"(?:in )?(\d{1,3}) ?(d|day|w|week)s?( ago)?")
_DAY_MONTH = re.compile(
    rf"(\d{{1,2}})(?:st|nd|rd|th)? ({'|'.join(_MONTHS)})[a-z]*\.?(?: (\d{{4}}))?"
)
_WEEKDAY = re.compile(rf"(?:on |last |next )?({'|'.join(_WEEKDAYS)})[a-z]*\.?")


def typed_day(text: str, today: date, *, ahead: bool, field: str = "on_day") -> date:
    """The calendar day that was typed.

    Parameters
    ----------
    text
        `today`, `yesterday`, `tomorrow`, a weekday, `3 d`, `2 weeks`, `3 d ago`, `12 Dec`,
        `12 Dec 2026` or `2026-12-12`. Empty is today.
    today
        The practice's calendar day.
    ahead
        Whether a weekday, a distance and a day without a year lie ahead or behind.
    field
        The name of the field in an error.

    Returns
    -------
    date
        A weekday is never today; a day without a year is the nearest in that direction, today
        included.

    Raises
    ------
    BadInput
        The text is no day, or one that does not exist.

    Examples
    --------
    >>> wednesday = date(2026, 11, 25)
    >>> [str(typed_day(text, wednesday, ahead=True)) for text in ("Mon", "2 weeks", "3 Feb")]
    ['2026-11-30', '2026-12-09', '2027-02-03']
    >>> str(typed_day("Mon", wednesday, ahead=False))
    '2026-11-23'
    """
    said = " ".join(plain(text).lower().split())
    try:
        found = _day(said, today, ahead)
    except (ValueError, OverflowError):
        found = None
    if found is None:
        raise BadInput(
            f"“{plain(text)[:30]}” is not a day. Please type it as 12 Dec, Mon, 3 d or 2026-12-12.",
            field=field,
        )
    return found


def _day(said: str, today: date, ahead: bool) -> date | None:
    if not said:
        return today
    if said in _WORDS:
        return today + timedelta(days=_WORDS[said])
    if match := _ISO.fullmatch(said):
        return date(int(match[1]), int(match[2]), int(match[3]))
    if match := _DISTANCE.fullmatch(said):
        days = int(match[1]) * _UNIT_DAYS[match[2]]
        forward = not match[3] and (ahead or said.startswith("in "))
        return today + timedelta(days=days if forward else -days)
    if match := _DAY_MONTH.fullmatch(said):
        return _of_year(int(match[1]), _MONTHS.index(match[2]) + 1, match[3], today, ahead)
    if match := _WEEKDAY.fullmatch(said):
        away = (_WEEKDAYS.index(match[1]) - today.weekday()) % 7 or 7
        return today + timedelta(days=away if ahead else away - 7 or -7)
    return None


def _of_year(day: int, month: int, year: str | None, today: date, ahead: bool) -> date:
    if year is not None:
        return date(int(year), month, day)
    step = 1 if ahead else -1
    # 29 February may be up to eight years away.
    for away in range(9):
        try:
            found = date(today.year + step * away, month, day)
        except ValueError:
            continue
        if (found >= today) if ahead else (found <= today):
            return found
    raise ValueError("no such day")

"""Days and times of the day as people type them: the one reader of both."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from datetime import date, time, timedelta

from store.errors import BadInput
from store.text import plain

_MONTH_NAMES = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_WEEKDAY_NAMES = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip


def _spelt(names: tuple[str, ...], **others: int) -> Mapping[str, int]:
    """Each name whole and by its first three letters; nothing that only begins like one."""
    whole = {name: place for place, name in enumerate(names)}
    return {**whole, **{name[:3]: place for name, place in whole.items()}, **others}


_MONTHS = _spelt(_MONTH_NAMES, sept=8)
_WEEKDAYS = _spelt(_WEEKDAY_NAMES, tues=1, weds=2, thur=3, thurs=3)
_WORDS = {"today": 0, "tomorrow": 1, "yesterday": -1}
_UNITS = {
    "d": "d", "day": "d", "days": "d", "w": "w", "wk": "w", "wks": "w", "week": "w", "weeks": "w",
    "m": "m", "month": "m", "months": "m", "y": "y", "year": "y", "years": "y",
}  # fmt: skip

_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
_DISTANCE = re.compile(r"(?:(in) )?([0-9]{1,3}) ?([a-z]{1,6})(?: (ago))?")
_DAY_MONTH = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ .]{0,2}([a-z]{3,9})\.?(?:,? ([0-9]{4}))?")
_WEEKDAY = re.compile(r"(?:(on|last|next) )?([a-z]{3,9})\.?")
_SAYS_WHERE = {"last": False, "next": True}


def typed_day(text: str, today: date, *, ahead: bool, field: str = "on_day") -> date:
    """The calendar day that was typed.

    Parameters
    ----------
    text
        `today`, `yesterday`, `tomorrow`, a weekday, `3 d`, `2 weeks`, `1 month`, `1 year`,
        `3 d ago`, `12 Dec`, `12 Dec 2026` or `2026-12-12`. Names of weekdays and months stand
        whole or by their first three letters. Empty is today.
    today
        The practice's calendar day.
    ahead
        Whether a weekday, a distance and a day without a year lie ahead or behind, where the
        words do not say so themselves: last Tuesday, 3 d ago.
    field
        The name of the field in an error.

    Returns
    -------
    date
        A weekday is never today; a day without a year is the nearest in that direction, today
        included. A month from the last day of a month ends on the last day.

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
    said = " ".join(plain(text).casefold().split())
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
    if (match := _DISTANCE.fullmatch(said)) and match[3] in _UNITS:
        if match[1] and match[4]:
            return None  # "in 3 d ago"
        forward = not match[4] and (ahead or bool(match[1]))
        return _away(int(match[2]) if forward else -int(match[2]), _UNITS[match[3]], today)
    if (match := _DAY_MONTH.fullmatch(said)) and match[2] in _MONTHS:
        return _of_year(int(match[1]), _MONTHS[match[2]] + 1, match[3], today, ahead)
    if (match := _WEEKDAY.fullmatch(said)) and match[2] in _WEEKDAYS:
        ahead = _SAYS_WHERE.get(match[1] or "", ahead)
        away = (_WEEKDAYS[match[2]] - today.weekday()) % 7 or 7
        return today + timedelta(days=away if ahead else away - 7 or -7)
    return None


def _away(number: int, unit: str, today: date) -> date:
    if unit == "y":
        number *= 12
    elif unit != "m":
        return today + timedelta(days=number * (7 if unit == "w" else 1))
    months = today.month - 1 + number
    first = date(today.year + months // 12, months % 12 + 1, 1)
    # The last day of a shorter month stands for one that it does not have.
    last = (first.replace(day=28) + timedelta(days=4)).replace(day=1) - timedelta(days=1)
    return first.replace(day=min(today.day, last.day))


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


def typed_time(text: str, field: str = "at_time") -> time | None:
    """A time of the day as it is typed.

    Parameters
    ----------
    text
        `9:30`, `09.30` or a bare hour; empty means that none is stated.
    field
        The field that a fault is told at.

    Raises
    ------
    BadInput
        It is no time of day.

    Examples
    --------
    >>> typed_time("9.30"), typed_time("17"), typed_time(" ")
    (datetime.time(9, 30), datetime.time(17, 0), None)
    """
    said = text.strip().replace(".", ":")
    if not said:
        return None
    if (found := re.fullmatch(r"([0-9]{1,2})(?::([0-9]{2}))?", said)) is not None:
        with suppress(ValueError):
            return time(int(found[1]), int(found[2] or 0))
    raise BadInput(
        f"“{plain(text.strip()):.20}” is no time of day. Please type it as 09:30, or leave it "
        "empty.",
        field=field,
    )

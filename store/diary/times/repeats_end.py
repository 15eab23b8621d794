"""When something that repeats ends, as people type it."""

from __future__ import annotations

import calendar
import re
from datetime import date, timedelta
from typing import NoReturn

from store.diary.times.names import MONTH_WORDS, NUMBER_WORDS, any_of
from store.diary.times.rule_parts import FIELD
from store.errors import BadInput

NUMBER = rf"(?:[0-9]{{1,4}}|{any_of(NUMBER_WORDS)})"
MONTH = rf"(?:{any_of(MONTH_WORDS)})\b\.?"

_UNTIL = re.compile(r",? ?\b(?:until|till|til|up to|ending)(?: and including)?(?: on)? (.+)$")
_TIMES = re.compile(
    rf"(?:^|,| for|\b) ?({NUMBER}) ?(?:times|time|occurrences|visits|x)(?: in all)?$"
)
_FOR = re.compile(rf",? for (an?|{NUMBER}) (day|week|month|year)s?$")
_DAY = re.compile(
    rf"([0-9]{{4}})-([0-9]{{1,2}})-([0-9]{{1,2}})|(?:the )?([0-9]{{1,2}})(?:st|nd|rd|th)?(?: of)? "
    rf"({MONTH})(?:,? ([0-9]{{4}}))?|({MONTH}) ([0-9]{{1,2}})(?:st|nd|rd|th)?(?:,? ([0-9]{{4}}))?"
    rf"|(?:the )?end of ({MONTH})(?: ([0-9]{{4}}))?"
)


def end_of(words: str, first: date) -> tuple[str, int | None, date | None]:
    """The words without their end, and when it is.

    Parameters
    ----------
    words
        Small letters, single spaces.
    first
        The first day.

    Returns
    -------
    tuple of str, int or None, date or None
        What stands before the end; the number of times in all; the last day that may be given.

    Raises
    ------
    BadInput
        At the field `repeats`: it is no day, or both a day and a number of times.

    Examples
    --------
    >>> end_of("weekly, 6 times", date(2026, 3, 3))
    ('weekly', 6, None)
    >>> end_of("weekly for 6 weeks", date(2026, 3, 3))
    ('weekly', None, datetime.date(2026, 4, 13))
    """
    if match := _UNTIL.search(words):
        if _TIMES.search(match[1]) or _TIMES.search(words[: match.start()]):
            _refuse("It ends after a number of times or on a day, not both; which is meant?")
        return words[: match.start()], None, _last_day(match[1], first)
    if match := _FOR.search(words):
        number = 1 if match[1] in ("a", "an") else number_of(match[1])
        return words[: match.start()], None, _after(first, number, match[2])
    if match := _TIMES.search(words):
        return words[: match.start()].rstrip(", "), number_of(match[1]), None
    return words, None, None


def _after(first: date, number: int, unit: str) -> date:
    """The last day of a stretch that begins on the first day."""
    try:
        if unit in ("day", "week"):
            return first + timedelta(days=number * (7 if unit == "week" else 1) - 1)
        months = first.month - 1 + number * (12 if unit == "year" else 1)
        year, month = first.year + months // 12, months % 12 + 1
        day = min(first.day, calendar.monthrange(year, month)[1])
        return date(year, month, day) - timedelta(days=1)
    except (ValueError, OverflowError):
        _refuse("That is too long; please name a day on which it ends, or none.")


def _last_day(text: str, first: date) -> date:
    match = _DAY.fullmatch(text.strip())
    try:
        if match is None:
            raise ValueError(text)
        if match[1]:
            return date(int(match[1]), int(match[2]), int(match[3]))
        month = MONTH_WORDS[(match[5] or match[7] or match[10]).rstrip(".")]
        year = match[6] or match[9] or match[11]
        for candidate in (int(year),) if year else range(first.year, first.year + 9):
            last = calendar.monthrange(candidate, month)[1]
            day = last if match[10] else int(match[4] or match[8])
            if year or (day <= last and date(candidate, month, day) >= first):
                return date(candidate, month, day)
        raise ValueError(text)
    except ValueError:
        _refuse(f"“{text:.40}” is not a day on which it can end. Please type it as until 30 Sep.")


def number_of(text: str) -> int:
    """A whole number in figures or as a word up to twelve.

    Parameters
    ----------
    text
        As `NUMBER` finds it.
    """
    return NUMBER_WORDS[text] if text in NUMBER_WORDS else int(text)


def _refuse(sentence: str) -> NoReturn:
    raise BadInput(sentence, field=FIELD)

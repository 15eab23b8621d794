"""The day and the hour that a phrase names, reckoned from the day on which it was written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Final, Literal

from store.errors import BadInput
from store.exchange.columns import DayCell, Order, day_cell, resolved
from store.exchange.columns.day_words import MONTH, WEEKDAY, part_of_day, weekday_of
from store.exchange.told.pieces import DAY
from store.text import day_said

How = Literal["said", "message", "reckoned", "asked"]
_NUMBERS: Final = {"a": 1, "one": 1, "two": 2, "couple of": 2, "three": 3, "four": 4, "five": 5,
                   "six": 6, "seven": 7}  # fmt: skip
_COUNT = rf"(?P<count>[0-9]{{1,2}}|{'|'.join(_NUMBERS)})"
_PART = r"morning|afternoon|evening|night|lunchtime|noon|midday"
_WEEKDAY = WEEKDAY.pattern.replace("(?P<day>", "(?:", 1)
_VAGUE = (
    r"last[ ](?:week|month|year|spring|summer|autumn|winter|weekend)|(?:the[ ])?other[ ]day"
    r"|(?:a[ ]few|some|several)[ ](?:days|weeks|months)[ ]ago|(?:earlier[ ])?this[ ](?:week|month)"
    r"|(?:at|over)[ ]the[ ]weekend|this[ ]weekend|recently|months?[ ]ago|years?[ ]ago"
    rf"|in[ ](?:early[ ]|late[ ])?(?:{MONTH})(?![ ][0-9])|(?:{MONTH})(?=:)"
)
"""Words for more than one day: which of them is meant is asked."""
_WORD = re.compile(
    r"(?<![\w.,:/-])(?:"
    r"(?P<before_that>(?:the[ ])?day[ ]before[ ]yesterday)"
    rf"|(?P<yesterday>yesterday)(?:[ ](?P<part1>{_PART}))?"
    rf"|(?:this|earlier[ ]this)[ ](?P<part2>{_PART}|am|pm)|(?P<tonight>tonight)"
    r"|(?P<last_night>last[ ]night)|(?P<overnight>overnight)"
    r"|(?P<today>today|just[ ]now|right[ ]now|now)"
    rf"|{_COUNT}[ ](?P<unit>days?|weeks?)[ ]ago"
    rf"|(?:on[ ])?(?P<written>{DAY})"
    rf"|(?P<vague>{_VAGUE})"
    rf"|(?:on[ ])?(?P<which>last[ ]|this[ ])?(?P<weekday>{_WEEKDAY})"
    rf"(?:[ ](?P<part3>{_PART}))?"
    r")(?![\w/])",
    re.IGNORECASE,
)
_CLOCK = re.compile(
    r"(?<![\w.,:/-])(?:(?:at|@)[ ]{0,2}(?:about[ ]|around[ ])?)?(?:"
    r"(?P<hour>[0-9]{1,2})(?::(?P<minute>[0-9]{2})|\.(?P<minute2>[0-9]{2})(?=[ ]?[ap]\.?m))"
    r"(?:[ ]?(?P<half>[ap])\.?m\b\.?)?"
    r"|(?P<hour12>1[0-2]|[1-9])[ ]?(?P<half12>[ap])\.?m\b\.?"
    r"|(?P<noon>noon|midday))(?![\w:]|[.,/][0-9])"
    r"|(?<![\w.,:/-])(?:at[ ]{1,2}|@[ ]{0,2})(?P<four_h>[01][0-9]|2[0-3])"
    r"(?P<four_m>[0-5][0-9])(?![\w.,%])",
    re.IGNORECASE,
)
_LOOSE_PART = re.compile(
    r"(?<![\w-])(?:in[ ]the[ ](?P<part>morning|afternoon|evening|night)"
    r"|first[ ]thing(?P<early>)|at[ ](?P<dawn>dawn|dusk|night))(?![\w-])",
    re.IGNORECASE,
)

_FAR: Final = timedelta(days=240)
_VERBS: Final = frozenset({"sat", "sun", "wed", "mon"})
"""Also words of other kinds: without a capital and alone they name no day."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a phrase says of its day and hour.

    `day` is None where it names one that cannot be reckoned, with the question in `asks`; `word` is
    what was typed for it, empty where it names none. `clock` is None where it names no hour;
    `part` is the word that a supposed hour rests on. `places` are the spans that the words take.
    """

    word: str = ""
    day: date | None = None
    asks: str = ""
    clock: time | None = None
    part: str = ""
    written: bool = False
    """The day stands there as a date with its year, so that nothing is reckoned."""
    places: tuple[tuple[int, int], ...] = ()


def said_in(text: str, base: date | None, today: date, order: Order = "") -> Said:
    """The day and the hour that a phrase names.

    Parameters
    ----------
    text
        A phrase out of a message.
    base
        The day on which it was written; None where nobody has said.
    today
        The present day of the practice; a date without a year lies behind it.
    order
        In which order the text writes day and month in figures.

    Returns
    -------
    Said
        Relative words are reckoned from `base`; without it, and where a weekday is that of the
        base itself, the day is asked. Two different days in one phrase are asked as well.

    Examples
    --------
    >>> thursday = date(2026, 4, 30)
    >>> said_in("did a change on Sat", thursday, thursday).day
    datetime.date(2026, 4, 25)
    >>> said_in("temp 17 at 7.40am", thursday, thursday).clock
    datetime.time(7, 40)
    >>> said_in("did a change on Sat", None, thursday).asks
    '“Sat”: which day was that? Nobody has said when this was written.'
    """
    found = [one for one in _WORD.finditer(text) if not _no_day(one)]
    clocks = list(_CLOCK.finditer(text))
    parts = list(_LOOSE_PART.finditer(text))
    day, asks, word, written = _one_day(found, base, today, order)
    hour, part = _one_clock(found, clocks, parts)
    places = tuple(one.span() for one in (*found, *clocks, *parts))
    return Said(word, day, asks, hour, part, written, places)


def _no_day(found: re.Match[str]) -> bool:
    """Words that are no day: `the fish sat`, `the sun`, and figures that no calendar has."""
    if found["weekday"]:
        alone = found[0].strip(" .")
        return alone in _VERBS
    if not found["written"]:
        return False
    try:
        day_cell(found["written"])
    except BadInput:
        return True
    return False


def _one_day(
    found: Sequence[re.Match[str]], base: date | None, today: date, order: Order
) -> tuple[date | None, str, str, bool]:
    days: dict[date | None, str] = {}
    asks = ""
    written = True
    for one in found:
        day, question, exact = _day(one, base, today, order)
        days.setdefault(day, one[0].strip())
        asks = asks or question
        written = written and exact
    word = " … ".join(one[0].strip() for one in found)
    if len(days) > 1:
        return None, f"“{word}”: two days stand there. Which is meant?", word, False
    return next(iter(days), None), asks, word, written and bool(found)


def _day(
    found: re.Match[str], base: date | None, today: date, order: Order
) -> tuple[date | None, str, bool]:
    typed = re.sub(r"^on[ ]", "", found[0].strip(), flags=re.IGNORECASE)
    if found["vague"]:
        return None, f"“{typed}”: which day was that?", False
    if found["written"]:
        return _written(found["written"], base or today, order)
    if base is None:
        asks = f"“{typed}”: which day was that? Nobody has said when this was written."
        return None, asks, False
    if found["before_that"]:
        return base - timedelta(days=2), "", False
    if found["yesterday"] or found["last_night"]:
        return base - timedelta(days=1), "", False
    if found["count"]:
        count = found["count"].lower()
        number = _NUMBERS.get(count) or int(count)
        days = number * (7 if found["unit"].lower().startswith("week") else 1)
        return base - timedelta(days=days), "", False
    if found["weekday"]:
        back = (base.weekday() - weekday_of(found["weekday"].strip(" ."))) % 7
        which = (found["which"] or "").strip().lower()
        if back == 0 and which != "this":
            if which == "last":
                return base - timedelta(days=7), "", False
            asks = f"“{typed}” may be {day_said(base)}, when it was written, or a week before."
            return None, asks, False
        return base - timedelta(days=back), "", False
    return base, "", False


def _written(text: str, latest: date, order: Order) -> tuple[date | None, str, bool]:
    cell = day_cell(text)
    day = day_of(cell, latest, order)
    if day is None:
        return None, f"“{text}”: which day was that, written as 2026-05-02?", False
    return day, "", bool(cell.year)


def day_of(cell: DayCell, latest: date, order: Order) -> date | None:
    """The day of a cell; without a year the nearest that is not after `latest`.

    Parameters
    ----------
    cell
        From `day_cell`.
    latest
        The day of writing, or today.
    order
        Of day and month in figures.

    Returns
    -------
    date or None
        None where it can be read in two ways, where the calendar has no such day, or where without
        a year it may as well lie ahead.
    """
    years = (None,) if cell.year else (latest.year, latest.year - 1)
    nearest = max(latest, date.min + _FAR) - _FAR
    for year in years:
        try:
            day = resolved(cell, order or "each", year)
        except BadInput:
            continue
        if cell.year or nearest <= day <= latest:
            return day
    return None


def _one_clock(
    found: Sequence[re.Match[str]],
    clocks: Sequence[re.Match[str]],
    parts: Sequence[re.Match[str]],
) -> tuple[time | None, str]:
    hours = {_clock_of(one) for one in clocks}
    if len(hours) == 1:
        return hours.pop(), ""
    if hours:
        return None, ""
    for one in found:
        word = one["part1"] or one["part2"] or one["part3"]
        if one["tonight"]:
            word = "evening"
        elif one["last_night"]:
            word = "night"
        if word:
            return time.fromisoformat(part_of_day(word)), one[0].strip()
    for one in parts:
        word = one["part"] or one["dawn"] or "early"
        said = {"dawn": "early"}.get(word.lower(), word)
        return time.fromisoformat(part_of_day(said)), one[0].strip()
    return None, ""


def _clock_of(found: re.Match[str]) -> time | None:
    """The hour of a match of the clock, None where no clock shows it."""
    if found["noon"]:
        return time(12)
    if found["four_h"]:
        return time(int(found["four_h"]), int(found["four_m"]))
    hour = int(found["hour"] or found["hour12"])
    minute = int(found["minute"] or found["minute2"] or 0)
    half = (found["half"] or found["half12"] or "").lower()
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def typed_clock(text: str) -> time | None:
    """The hour that a person typed, or that stands in a stamp: `7:40`, `07.40 pm`, `morning`.

    Parameters
    ----------
    text
        As typed.

    Returns
    -------
    time or None
        None where it is none.

    Examples
    --------
    >>> typed_clock("9:14:33"), typed_clock("7.40 pm"), typed_clock("morning")
    (datetime.time(9, 14), datetime.time(19, 40), datetime.time(9, 0))
    """
    said = " ".join(text.split()).strip(" .").replace(".", ":", 1)
    if word := part_of_day(said):
        return time.fromisoformat(word)
    found = re.fullmatch(r"([0-9]{1,2}:[0-9]{2})(?::[0-9]{2})?([ ]?[ap]\.?m)?", said, re.IGNORECASE)
    whole = said if found is None else f"{found[1]}{found[2] or ''}"
    match = _CLOCK.fullmatch(whole)
    return None if match is None else _clock_of(match)

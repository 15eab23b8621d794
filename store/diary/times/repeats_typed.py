"""How often something repeats, as people type it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NoReturn

from store.diary.times.names import (
    MONTH_WORDS,
    NUMBER_WORDS,
    PLACE_WORDS,
    WEEKDAY_WORDS,
    any_of,
)
from store.diary.times.repeats import Repeat, repeat_of
from store.diary.times.repeats_end import MONTH, NUMBER, end_of, number_of
from store.diary.times.repeats_said import REMARKS
from store.diary.times.rule_parts import FIELD, LONGEST_RULE, Frequency, Parts
from store.errors import BadInput
from store.text import plain

_EXAMPLES = "every 10 days, first Mon, every 2 weeks on Tue until 30 Sep, or in Mar and Oct"
_ONCE = ("", "once", "no", "none", "never", "does not repeat", "not repeated")
_UNITS: Mapping[str, tuple[Frequency, int]] = {
    "day": ("DAILY", 1), "week": ("WEEKLY", 1), "fortnight": ("WEEKLY", 2),
    "month": ("MONTHLY", 1), "quarter": ("MONTHLY", 3), "half year": ("MONTHLY", 6),
    "half-year": ("MONTHLY", 6), "year": ("YEARLY", 1),
}  # fmt: skip
_LY: Mapping[str, str] = {
    "daily": "day", "weekly": "week", "fortnightly": "fortnight", "monthly": "month",
    "quarterly": "quarter", "half-yearly": "half year", "half yearly": "half year",
    "yearly": "year", "annually": "year", "annual": "year",
}  # fmt: skip

_NTH = rf"(?:[0-9]{{1,2}}(?:st|nd|rd|th)|{any_of(PLACE_WORDS)})"
_PLACE = rf"(?:{_NTH}(?: to last| last)?|penultimate)"
_WEEKDAY = rf"(?:{any_of(WEEKDAY_WORDS)})\b\.?"
_UNIT = rf"(?:{any_of(_UNITS)})"
_AND = r"(?:, ?and |,? and |, ?| ?& ?)"

# What our own words say about a rule, and what is no part of it.
_BEFORE = re.compile(rf"on [0-9]{{1,2}} {MONTH} [0-9]{{4}}, then ")
_REMARK = re.compile(rf" \((?:{any_of(REMARKS)})\)$")

_UNCLEAR: tuple[tuple[re.Pattern[str], str], ...] = (
    (
        re.compile(r"\b(?:hour|hourly|minute|second(?=s\b))"),
        "A follow-up falls on days, not on hours; the hour is agreed when the visit is booked.",
    ),
    (
        re.compile(r"\b(?:spring|summer|autumn|fall|winter|season(?:al|s)?)\b"),
        "Seasons differ from place to place. Please name the months, such as in Mar and Oct.",
    ),
    (
        re.compile(r"\b(?:bi-?(?:weekly|monthly|annual(?:ly)?)|semi-?\w+)\b"),
        "That word is used both for twice in that time and for every second one. Please type "
        "every 2 weeks, or the days such as Mon and Thu.",
    ),
    (
        re.compile(r"\b(?:twice|thrice|three times) (?:a|an|each|every|per) "),
        "On which days? Please name them, such as Mon and Thu, or 1st and 15th.",
    ),
    (
        re.compile(rf"\bevery (?:second|third|fourth|fifth|[2-5](?:nd|rd|th)) {_WEEKDAY}"
                   r"(?! (?:of|in)\b)"),
        "That may mean every so many weeks, or once a month. Please type every 2 weeks on Tue, or "
        "second Tue of the month.",
    ),
    (
        re.compile(r"\b(?:working|business|school) days?\b"),
        "Which days those are differs. Please name them, such as Mon to Fri.",
    ),
)  # fmt: skip


@dataclass(slots=True)
class _Told:
    """What the words have told so far."""

    unit: tuple[Frequency, int] | None = None
    weekdays: set[int] = field(default_factory=set)
    placed: set[tuple[int, int]] = field(default_factory=set)
    month_days: set[int] = field(default_factory=set)
    year_days: set[int] = field(default_factory=set)
    weeks: set[int] = field(default_factory=set)
    months: set[int] = field(default_factory=set)
    pairs: set[tuple[int, int]] = field(default_factory=set)
    each: bool = False
    of_the_year: bool = False
    week_start: int = 0


def typed_repeat(text: str, first: date) -> Repeat | None:
    """The repeat that was typed.

    Parameters
    ----------
    text
        `weekly`, `every 10 days`, `first Monday`, `every 2 weeks on Tue until 30 Sep`,
        `March and October`, `monthly on the 31st, 6 times`, `last day of the month`, or a rule of
        RFC 5545. Empty or `once` for what does not repeat.
    first
        The first day. It says what the words leave open: the weekday of `weekly`, the day of the
        month of `March and October`, the year of an end without one.

    Returns
    -------
    Repeat or None
        With the rule spelt out, so that it says the same without the first day. None for once.

    Raises
    ------
    BadInput
        At the field `repeats`: the words are not understood, mean two things, contradict each
        other, or cannot be one rule.

    Examples
    --------
    >>> tuesday = date(2026, 3, 3)
    >>> for text in ("weekly", "first Monday", "March and October", "monthly on the 31st, 6 times"):
    ...     print(typed_repeat(text, tuesday).rule)
    FREQ=WEEKLY;BYDAY=TU
    FREQ=MONTHLY;BYDAY=1MO
    FREQ=YEARLY;BYMONTH=3,10;BYMONTHDAY=3
    FREQ=MONTHLY;BYMONTHDAY=31;COUNT=6
    >>> typed_repeat("every 2 weeks on Tue until 30 Sep", tuesday).said
    'every 2 weeks on Tue until 30 Sep 2026'
    """
    if len(text) > LONGEST_RULE:
        _refuse(f"A repeat takes at most {LONGEST_RULE} letters; this one has {len(text)}.")
    words = " ".join(re.sub("[–—−]", "-", plain(text)).casefold().split()).rstrip(".")
    if words in _ONCE:
        return None
    if "freq=" in words:
        return repeat_of(text, first)
    words = _REMARK.sub("", _BEFORE.sub("", words))
    for pattern, sentence in _UNCLEAR:
        if pattern.search(words):
            _refuse(sentence)
    words, count, until = end_of(words, first)
    told = _Told()
    _hear(words, told)
    return repeat_of(str(_rule(told, first, count, until)), first)


def as_typed(repeat: Repeat, first: date) -> str:
    """A repeat as a text for the field in which it is typed.

    Parameters
    ----------
    repeat
        As `repeat_of` gives it.
    first
        The first day.

    Returns
    -------
    str
        Its words where they read back as the same rule, else the rule.

    Examples
    --------
    >>> as_typed(repeat_of("FREQ=DAILY;INTERVAL=10", date(2026, 3, 3)), date(2026, 3, 3))
    'every 10 days'
    """
    try:
        again = typed_repeat(repeat.said, first)
    except BadInput:
        return repeat.rule
    return repeat.said if again is None or again.rule == repeat.rule else repeat.rule


def _place(text: str) -> int:
    if text == "penultimate":
        return -2
    word = text.split(maxsplit=1)[0]
    number = PLACE_WORDS.get(word) or int(re.sub(r"\D", "", word))
    return -number if " last" in text and number > 0 else number


def _all(pattern: str, text: str) -> list[str]:
    return re.findall(rf"\b{pattern}", text)


def _unit(told: _Told, name: str, number: int) -> None:
    frequency, each = _UNITS[name]
    if told.unit is not None:
        _refuse("Two different repeats are named; please type one of them.")
    told.unit = (frequency, each * number)


def _every(told: _Told, found: re.Match[str]) -> None:
    how = found[1] or "1"
    number = 2 if how == "other" else number_of(how) if how in NUMBER_WORDS or how.isdigit() else (
        _place(how))  # fmt: skip
    _unit(told, found[2], number)


def _ordinals(told: _Told, found: re.Match[str]) -> None:
    places = [_place(one) for one in _all(_PLACE, found[1])]
    if found[2] == "day":
        told.month_days.update(places)
    else:
        day = WEEKDAY_WORDS[found[2].rstrip(".")]
        told.placed.update((place, day) for place in places)


def _month_range(told: _Told, found: re.Match[str]) -> None:
    first, last = (MONTH_WORDS[one.rstrip(".")] for one in found.groups())
    told.months.update((first - 1 + ahead) % 12 + 1 for ahead in range((last - first) % 12 + 1))


def _day_range(told: _Told, found: re.Match[str]) -> None:
    first, last = (WEEKDAY_WORDS[one.rstrip(".")] for one in found.groups())
    told.weekdays.update((first + ahead) % 7 for ahead in range((last - first) % 7 + 1))


def _pair(told: _Told, found: re.Match[str]) -> None:
    day, month = (found[1], found[2]) if found[1] else (found[4], found[3])
    told.pairs.add((int(day), MONTH_WORDS[month.rstrip(".")]))


def _flag(name: str) -> Callable[[_Told, re.Match[str]], None]:
    return lambda told, _found: setattr(told, name, True)


def _other_weekday(told: _Told, found: re.Match[str]) -> None:
    _unit(told, "week", 2)
    told.weekdays.add(WEEKDAY_WORDS[found[1].rstrip(".")])


def _nothing(_told: _Told, _found: re.Match[str]) -> None:
    """A word that only joins others."""


_HEARD: tuple[tuple[re.Pattern[str], Callable[[_Told, re.Match[str]], None]], ...] = tuple(
    (re.compile(pattern), hear)
    for pattern, hear in (
        (rf"every other ({_WEEKDAY})", _other_weekday),
        (rf"(?:every|each|once (?:an?|every|each))(?: ({NUMBER}|other|{_NTH}))? ({_UNIT})s?\b",
         _every),
        (rf"()({any_of(_LY)})\b", lambda told, found: _unit(told, _LY[found[2]], 1)),
        (rf"({NUMBER})[ -]({any_of(('daily', 'weekly', 'monthly', 'yearly'))})\b",
         lambda told, found: _unit(told, _LY[found[2]], number_of(found[1]))),
        (r"(?:every |on )?weekdays?\b", lambda told, _found: told.weekdays.update(range(5))),
        (r"(?:every |at |on )?weekends?\b", lambda told, _found: told.weekdays.update((5, 6))),
        (r"(?:at |on )?(?:the )?(?:end of (?:the|each|every) month|month'?s? end)\b",
         lambda told, _found: told.month_days.add(-1)),
        (r"day ([0-9]{1,3}) of the year\b",
         lambda told, found: told.year_days.add(int(found[1]))),
        (r"week ([0-9]{1,2})\b", lambda told, found: told.weeks.add(int(found[1]))),
        (rf"({_PLACE}(?:{_AND}(?:the )?{_PLACE})*) (day|{_WEEKDAY})(?! of the year\b)", _ordinals),
        (rf"({_PLACE}(?:{_AND}(?:the )?{_PLACE})*) ({_WEEKDAY})", _ordinals),
        (rf"([0-9]{{1,2}})(?:st|nd|rd|th)?(?: of)? ({MONTH})|({MONTH}) ([0-9]{{1,2}})"
         r"(?:st|nd|rd|th)?\b", _pair),
        (r"([0-9]{1,2})(?:st|nd|rd|th)\b", lambda told, found: told.month_days.add(int(found[1]))),
        (r"the ([0-9]{1,2})\b", lambda told, found: told.month_days.add(int(found[1]))),
        (rf"(?:from )?({MONTH}) ?(?:-|to|through) ?({MONTH})", _month_range),
        (MONTH, lambda told, found: told.months.add(MONTH_WORDS[found[0].rstrip(".")])),
        (rf"({_WEEKDAY}) ?(?:-|to|through) ?({_WEEKDAY})", _day_range),
        (rf"with weeks from ({_WEEKDAY})",
         lambda told, found: setattr(told, "week_start", WEEKDAY_WORDS[found[1].rstrip(".")])),
        (rf"each (?={_WEEKDAY})", _flag("each")),
        (_WEEKDAY, lambda told, found: told.weekdays.add(WEEKDAY_WORDS[found[0].rstrip(".")])),
        (r"of the year\b", _flag("of_the_year")),
        (r"(?:of the|in the|a) month\b|of a month\b", _nothing),
        (r"where that is\b|repeats?\b|repeated\b", _nothing),
        (rf"(?:every|each)(?= (?:{_PLACE}|{_WEEKDAY}|{MONTH}|[0-9]))", _nothing),
        (r"(?:on|in|of|the|and|or|at|during)\b|[,&]| ", _nothing),
    )
)  # fmt: skip


def _hear(words: str, told: _Told) -> None:
    at = 0
    while at < len(words):
        for pattern, hear in _HEARD:
            if (found := pattern.match(words, at)) is not None and found.end() > at:
                hear(told, found)
                at = found.end()
                break
        else:
            word = words[at:].partition(" ")[0]
            _refuse(f"“{word:.30}” is not understood in a repeat. Please type it as {_EXAMPLES}.")


def _rule(told: _Told, first: date, count: int | None, until: date | None) -> Parts:
    month_days = told.month_days | {day for day, _month in told.pairs}
    months = told.months | {month for _day, month in told.pairs}
    if len(told.pairs) > 1 and len(told.pairs) != len(month_days) * len(months):
        _refuse(
            "Those days of the year cannot be one repeat. Please make a follow-up of each of them."
        )
    frequency, interval = told.unit or (_frequency(told, month_days, months), 1)
    weekdays = {(0, day) for day in told.weekdays} | told.placed
    if frequency == "DAILY" and weekdays and not month_days and interval == 1:
        frequency = "WEEKLY"  # "daily Mon to Fri"
    _contradictions(told, frequency, month_days, months)
    if frequency == "WEEKLY" and not weekdays:
        weekdays = {(0, first.weekday())}
    if frequency == "YEARLY" and told.weeks and not weekdays:
        weekdays = {(0, first.weekday())}
    if frequency in ("MONTHLY", "YEARLY") and not (weekdays or month_days or told.year_days):
        month_days = {first.day}
        months = months or ({first.month} if frequency == "YEARLY" else set())
    # The reader of rules puts everything into its order.
    return Parts(
        frequency, interval, count, until, tuple(sorted(months)), tuple(told.weeks),
        tuple(told.year_days), tuple(month_days), tuple(weekdays), (), told.week_start,
    )  # fmt: skip


def _frequency(told: _Told, month_days: set[int], months: set[int]) -> Frequency:
    """What is meant where no unit was typed."""
    if told.weeks or told.year_days:
        return "YEARLY"
    if told.weekdays and not (told.placed or month_days):
        return "WEEKLY"
    if told.placed or month_days:
        return "YEARLY" if months or told.of_the_year else "MONTHLY"
    if not months:
        _refuse(f"How often is not said. Please type it as {_EXAMPLES}.")
    return "YEARLY"


def _contradictions(
    told: _Told, frequency: Frequency, month_days: set[int], months: set[int]
) -> None:
    if frequency in ("DAILY", "WEEKLY") and (month_days or told.placed):
        _refuse(
            "A day of the month cannot repeat every so many days or weeks. Please type every month."
        )
    if frequency == "MONTHLY" and told.pairs:
        _refuse("A day of one month comes once a year. Please type every year, or every month.")
    unplaced = told.weekdays and not (told.each or told.weeks or month_days)
    if frequency in ("MONTHLY", "YEARLY") and unplaced:
        _refuse("Which one of the month? Please type it as first Mon or last Fri.")
    if frequency == "YEARLY" and told.placed and not (months or told.of_the_year):
        _refuse("In which month? Please type it as first Mon in Mar.")


def _refuse(sentence: str) -> NoReturn:
    raise BadInput(sentence, field=FIELD)

"""The parts of a rule as RFC 5545 writes it, checked; only rules that fall on days.

A rule is kept as its text, `FREQ=MONTHLY;BYDAY=1MO`. Hours, minutes and seconds are refused: a
follow-up is a calendar day, and its hour is put on when somebody books it.

References
----------
RFC 5545, Internet Calendaring and Scheduling Core Object Specification, 2009, section 3.3.10.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Literal, NoReturn, cast

from store.errors import BadInput
from store.text import plain

FIELD = "repeats"
Frequency = Literal["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]
FREQUENCIES: tuple[Frequency, ...] = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
MOST_TIMES = 1000
"""The most times that a rule may name, and the most days, weeks, months or years between two."""
LONGEST_RULE = 500
"""Letters that the book keeps of a rule."""

_FINER = ("HOURLY", "MINUTELY", "SECONDLY", "BYHOUR", "BYMINUTE", "BYSECOND")
_WEEKDAY = re.compile(r"([+-]?[0-9]{1,2})?(MO|TU|WE|TH|FR|SA|SU)")
_DAY = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})")
_AT_AN_HOUR = re.compile(r"[0-9]{8}T[0-9]{6}Z?")


@dataclass(frozen=True, slots=True)
class Parts:
    """A rule taken apart.

    `weekdays` are pairs of place and weekday (0 is Monday); place 0 is every one of them, 1 the
    first and -1 the last of the month or year. Negative days count from the end. `until` is the
    last day that may be given, `count` how often in all, the first day included.
    """

    frequency: Frequency
    interval: int = 1
    count: int | None = None
    until: date | None = None
    months: tuple[int, ...] = ()
    weeks: tuple[int, ...] = ()
    year_days: tuple[int, ...] = ()
    month_days: tuple[int, ...] = ()
    weekdays: tuple[tuple[int, int], ...] = ()
    places: tuple[int, ...] = ()
    week_start: int = 0

    def __str__(self) -> str:
        """The rule in the order in which this application writes it."""
        said = [f"FREQ={self.frequency}"]
        if self.interval != 1:
            said.append(f"INTERVAL={self.interval}")
        for name, numbers in (
            ("BYMONTH", self.months),
            ("BYWEEKNO", self.weeks),
            ("BYYEARDAY", self.year_days),
            ("BYMONTHDAY", self.month_days),
        ):
            if numbers:
                said.append(f"{name}={','.join(map(str, numbers))}")
        if self.weekdays:
            days = (f"{place or ''}{WEEKDAYS[day]}" for place, day in self.weekdays)
            said.append(f"BYDAY={','.join(days)}")
        if self.places:
            said.append(f"BYSETPOS={','.join(map(str, self.places))}")
        if self.week_start:
            said.append(f"WKST={WEEKDAYS[self.week_start]}")
        if self.count is not None:
            said.append(f"COUNT={self.count}")
        if self.until is not None:
            said.append(f"UNTIL={self.until:%Y%m%d}")
        return ";".join(said)


@lru_cache(maxsize=4096)
def parts_of(rule: str) -> Parts:
    """A rule taken apart and checked.

    Parameters
    ----------
    rule
        An RRULE of RFC 5545, with or without `RRULE:` before it.

    Raises
    ------
    BadInput
        At the field `repeats`: it is no such rule, falls on hours, or asks for what cannot be.

    Examples
    --------
    >>> parts_of("FREQ=MONTHLY;BYDAY=1MO").weekdays
    ((1, 0),)
    >>> str(parts_of("rrule:freq=daily; interval=10; count=5"))
    'FREQ=DAILY;INTERVAL=10;COUNT=5'
    """
    if len(rule) > LONGEST_RULE:
        _refuse(f"A rule has at most {LONGEST_RULE} letters; this one has {len(rule)}.")
    given = _pairs(rule)
    if given.get("FREQ", "") in _FINER or any(name in _FINER for name in given):
        _refuse(
            "A follow-up falls on days; a rule with hours, minutes or seconds cannot be kept. "
            "Please say the hour when the visit is booked."
        )
    if given.get("FREQ", "") not in FREQUENCIES:
        _refuse(
            f"“{plain(rule):.60}” does not say FREQ=DAILY, WEEKLY, MONTHLY or YEARLY. "
            "Please type the repeat in words, such as every 10 days."
        )
    for name in given:
        if name != "FREQ" and name not in _READERS:
            _refuse(f"“{plain(name):.30}” is no part of a rule that is understood here.")
    read = {field: reader(given[name]) for name, (field, reader) in _READERS.items()
            if name in given}  # fmt: skip
    # The readers give what the field of each holds; the dataclass cannot say so of a mapping.
    parts = Parts(cast("Frequency", given["FREQ"]), **read)  # type: ignore[arg-type]
    _consistent(parts)
    # Where a week begins matters only to every second week or so, and to their numbers.
    if parts.weeks or (parts.frequency == "WEEKLY" and parts.interval > 1):
        return parts
    return replace(parts, week_start=0)


def _pairs(rule: str) -> Mapping[str, str]:
    text = "".join(plain(rule).upper().split()).removeprefix("RRULE:").removesuffix(";")
    found: dict[str, str] = {}
    for piece in text.split(";"):
        name, equals, value = piece.partition("=")
        if not (name and equals and value):
            _refuse(
                f"“{piece:.40}” is not part of a rule such as FREQ=WEEKLY;BYDAY=TU. "
                "Please type the repeat in words, or all of the rule."
            )
        if name in found:
            _refuse(f"The rule says {name:.30} twice; which of the two is meant?")
        found[name] = value
    return found


def _whole(name: str) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:6]) <= MOST_TIMES):
            _refuse(f"{name} is a whole number from 1 to {MOST_TIMES}, not “{text:.20}”.")
        return int(text)

    return read


def _numbers(name: str, most: int, *, signed: bool) -> Callable[[str], tuple[int, ...]]:
    lowest = -most if signed else 1

    def read(text: str) -> tuple[int, ...]:
        numbers = set()
        for one in text.split(","):
            good = re.fullmatch(r"[+-]?[0-9]{1,3}", one, re.ASCII)
            if good is None or not lowest <= int(one) <= most or int(one) == 0:
                _refuse(f"{name} does not know “{one:.20}”: it goes from {lowest} to {most}"
                        f"{', without 0' if signed else ''}.")  # fmt: skip
            numbers.add(int(one))
        return tuple(sorted(numbers, key=lambda number: (number < 0, number)))

    return read


def _weekdays(text: str) -> tuple[tuple[int, int], ...]:
    found = set()
    for one in text.split(","):
        match = _WEEKDAY.fullmatch(one)
        place = int(match[1] or 0) if match else 0
        if match is None or (match[1] and place == 0) or abs(place) > 53:
            _refuse(f"BYDAY does not know “{one:.20}”: it takes MO, 1MO or -1FR.")
        found.add((place, WEEKDAYS.index(match[2])))
    return tuple(sorted(found, key=lambda pair: (pair[0] < 0, pair)))


def _week_start(text: str) -> int:
    if text not in WEEKDAYS:
        _refuse(f"WKST does not know “{text:.20}”: a week begins on MO, or on another such day.")
    return WEEKDAYS.index(text)


def _until(text: str) -> date:
    if _AT_AN_HOUR.fullmatch(text):
        _refuse(
            "UNTIL names an hour, and its day depends on the time zone. Please name the last day "
            f"itself, such as UNTIL={text[:8]}."
        )
    match = _DAY.fullmatch(text)
    try:
        if match is None:
            raise ValueError(text)
        return date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        _refuse(f"UNTIL takes a day such as 20260930, not “{text:.20}”.")


_READERS: Mapping[str, tuple[str, Callable[[str], object]]] = {
    "INTERVAL": ("interval", _whole("INTERVAL")),
    "COUNT": ("count", _whole("COUNT")),
    "UNTIL": ("until", _until),
    "BYMONTH": ("months", _numbers("BYMONTH", 12, signed=False)),
    "BYWEEKNO": ("weeks", _numbers("BYWEEKNO", 53, signed=True)),
    "BYYEARDAY": ("year_days", _numbers("BYYEARDAY", 366, signed=True)),
    "BYMONTHDAY": ("month_days", _numbers("BYMONTHDAY", 31, signed=True)),
    "BYDAY": ("weekdays", _weekdays),
    "BYSETPOS": ("places", _numbers("BYSETPOS", 366, signed=True)),
    "WKST": ("week_start", _week_start),
}


def _consistent(parts: Parts) -> None:
    """What section 3.3.10 says of parts that cannot stand together."""
    placed = any(place for place, _day in parts.weekdays)
    if parts.count is not None and parts.until is not None:
        _refuse("A rule ends after a number of times or on a day, not both.")
    if parts.month_days and parts.frequency == "WEEKLY":
        _refuse("A day of the month cannot stand in a weekly rule; please say every month.")
    if parts.year_days and parts.frequency != "YEARLY":
        _refuse("A day of the year can only stand in a yearly rule.")
    if parts.weeks and parts.frequency != "YEARLY":
        _refuse("A number of a week can only stand in a yearly rule.")
    if parts.weeks and parts.interval > 1:
        # A first week may begin in the year before: which year it counts to is not agreed.
        _refuse("Numbers of weeks are only understood for every year.")
    if placed and (parts.frequency not in ("MONTHLY", "YEARLY") or parts.weeks):
        _refuse("A first or last weekday can only stand in a monthly or yearly rule.")
    if placed and (parts.frequency == "MONTHLY" or parts.months) and any(
        abs(place) > 5 for place, _day in parts.weekdays
    ):  # fmt: skip
        _refuse("No weekday comes more than five times in a month.")
    if parts.places and not (
        parts.months or parts.weeks or parts.year_days or parts.month_days or parts.weekdays
    ):
        _refuse("BYSETPOS chooses among days; the rule must name them with BYDAY or the like.")


def _refuse(sentence: str) -> NoReturn:
    raise BadInput(sentence, field=FIELD)

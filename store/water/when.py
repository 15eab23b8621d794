"""The time in a typed line: `at 07:40`, `yesterday 16:20`, `@7:40`, `Mon 4pm`, `2026-05-02 07:40`.

A clock time without a day is today's. A date in figures is read in the order year-month-day only;
in others nobody can tell the day from the month, so they are asked about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo

from store.water.understood import Doubt, shown_time

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MINUTE = timedelta(minutes=1)

_DAY = (
    r"(?:(?P<iso>[0-9]{4}-[0-9]{2}-[0-9]{2})|(?P<yesterday>yesterday)|(?P<today>today)"
    r"|(?P<weekday>(?:mon|tue(?:s)?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?)\b\.?"
    rf"|(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?[ ](?P<month>{'|'.join(_MONTHS)})[a-z]{{0,6}}\.?"
    r"(?:[ ](?P<year>[0-9]{4}))?)"
)
_TIME = (
    r"(?P<hour>[0-9]{1,2})(?:[:h](?P<minute>[0-9]{2})(?::(?P<second>[0-9]{2}))?)"
    r"(?:[ ]?(?P<half>[ap])\.?m\b\.?)?(?P<offset>Z|[+-][0-9]{2}:[0-9]{2})?"
    r"|(?P<hour12>[0-9]{1,2})[ ]?(?P<half12>[ap])\.?m\b\.?"
)
_WHEN = re.compile(
    rf"(?<![\w.,:/-])(?:(?:at|@)[ ]{{0,2}})?(?:{_DAY}(?:T|[ ,]{{1,2}})(?:(?:at|@)[ ]{{0,2}})?)?"
    rf"(?:{_TIME})(?![0-9:]|[.,][0-9]|[^\W\d_])",
    re.IGNORECASE,
)
_FOUR_FIGURES = re.compile(
    r"(?<![\w.,:/-])(?:at[ ]{1,2}|@[ ]{0,2})(?P<hour>[0-9]{2})(?P<minute>[0-9]{2})"
    r"(?![0-9:-]|[.,][0-9]|[^\W\d_])",
    re.IGNORECASE,
)
# A day in figures, day or month first, and the time behind it.
_DAY_IN_FIGURES = re.compile(
    r"(?<![\w.,:/-])[0-9]{1,2}(?P<mark>[/.-])[0-9]{1,2}(?P=mark)(?:[0-9]{4}|[0-9]{2})"
    rf"(?![\w/-]|[.,][0-9])(?:(?:[ ,]{{1,2}}(?:at[ ]|@)?)(?:{_TIME})(?![\w:]))?"
    rf"|(?<![\w.,:/-])[0-9]{{1,2}}/[0-9]{{1,2}}[ ,]{{1,2}}(?:at[ ]|@)?"
    r"[0-9]{1,2}[:h][0-9]{2}(?![\w:])",
    re.IGNORECASE,
)
_DAY_BEHIND = re.compile(rf"[ ,]{{1,2}}(?:on[ ])?{_DAY}(?![\w])", re.IGNORECASE)
_YESTERDAY = re.compile(r"(?<!\w)yesterday(?!\w)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class When:
    """The time found in a line, what is asked about it, and the places it stood at."""

    taken_at: datetime | None
    doubts: tuple[Doubt, ...]
    places: tuple[tuple[int, int], ...]


def find_time(text: str, now: datetime, zone: tzinfo) -> When:
    """The time typed in a line.

    Parameters
    ----------
    text
        The line, with look-alike characters replaced.
    now
        The present instant, aware.
    zone
        The zone of the practice, in which the time is meant.

    Returns
    -------
    When
        A time to come, one that the clock skips or shows twice, and a second time are doubts.
    """
    if in_figures := _DAY_IN_FIGURES.search(text):
        typed = in_figures[0].strip()
        question = f"“{typed}”: is the day or the month first? Please type the day as 2026-05-31."
        return When(None, (Doubt("", typed, question),), (in_figures.span(),))
    found = [*_WHEN.finditer(text), *_FOUR_FIGURES.finditer(text)]
    if not found:
        return When(None, (), ())
    found.sort(key=lambda match: match.start())
    places = tuple(match.span() for match in found)
    behind = _DAY_BEHIND.match(text, found[0].end()) if len(found) == 1 else None
    if behind is not None and not _has_day(found[0].groupdict()):
        places = ((found[0].start(), behind.end()),)
    else:
        behind = None
    if len(found) > 1:
        typed = ", ".join(match[0].strip() for match in found)
        question = f"“{typed}”: one line is one test and has one time. Please keep one of them."
        return When(None, (Doubt("", typed, question),), places)
    parts = found[0].groupdict() | (behind.groupdict() if behind is not None else {})
    typed = text[places[0][0] : places[0][1]].strip()
    answer = _instant(parts, typed, now.astimezone(zone), zone)
    if not isinstance(answer, Doubt) and not _has_day(parts) and _YESTERDAY.search(text):
        before = answer - timedelta(days=1)
        question = f"“{typed}”: was that {shown_time(before)}, as “yesterday” stands there too?"
        answer = Doubt("", typed, question, taken_at=before)
    if isinstance(answer, Doubt):
        return When(None, (answer,), places)
    return When(answer, (), places)


def _has_day(parts: dict[str, str | None]) -> bool:
    return any(parts.get(key) for key in ("iso", "yesterday", "today", "weekday", "month"))


def _instant(
    parts: dict[str, str | None], typed: str, now: datetime, zone: tzinfo
) -> datetime | Doubt:
    hour = _hour(parts)
    day = _day(parts, now)
    minute = int(parts.get("minute") or 0)
    if hour is None or day is None or minute > 59 or int(parts.get("second") or 0) > 59:
        return Doubt("", typed, f"“{typed}” is no time. Please type it as 07:40.")
    try:
        wall = datetime(day.year, day.month, day.day, hour, minute)  # noqa: DTZ001 - put in zone below
        if offset := parts.get("offset"):
            at = wall.replace(tzinfo=_offset(offset)).astimezone(zone)
        else:
            at = wall.replace(tzinfo=zone)
            second = at.replace(fold=1)
            if at.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall:
                question = f"“{typed}”: the clock skipped that time. Which is meant?"
                return Doubt("", typed, question)
            if at.utcoffset() != second.utcoffset():
                question = f"“{typed}”: the clock showed that time twice. The first of them?"
                return Doubt("", typed, question, taken_at=at)
        if parts.get("weekday") and at > now + _MINUTE:
            at = at - timedelta(days=7)
        if at > now + _MINUTE:
            return _to_come(typed, at, parts, now)
    except (ValueError, OverflowError):
        return Doubt("", typed, f"“{typed}” is no time. Please type it as 07:40.")
    return at


def _to_come(typed: str, at: datetime, parts: dict[str, str | None], now: datetime) -> Doubt:
    if not _has_day(parts) and at - timedelta(days=1) <= now:
        before = at - timedelta(days=1)
        question = f"“{typed}” is still to come. Was it {shown_time(before)}?"
        return Doubt("", typed, question, taken_at=before)
    return Doubt("", typed, f"“{typed}” is still to come. When was the test?")


def _hour(parts: dict[str, str | None]) -> int | None:
    hour = int(parts.get("hour12") or parts.get("hour") or 0)
    half = (parts.get("half12") or parts.get("half") or "").lower()
    if not half:
        return hour if hour < 24 else None
    if not 1 <= hour <= 12:
        return None
    return hour % 12 + (12 if half == "p" else 0)


def _day(parts: dict[str, str | None], now: datetime) -> date | None:
    today = now.date()
    try:
        if iso := parts.get("iso"):
            return date.fromisoformat(iso)
        if parts.get("yesterday"):
            return today - timedelta(days=1)
        if weekday := parts.get("weekday"):
            back = (today.weekday() - _WEEKDAYS.index(weekday[:3].lower())) % 7
            return today - timedelta(days=back)
        month = parts.get("month")
        if month is not None:
            number = _MONTHS.index(month.lower()) + 1
            year = parts.get("year")
            day = date(int(year) if year else today.year, number, int(parts.get("day") or 0))
            if not year and day > today:
                day = day.replace(year=today.year - 1)
            return day
    except (ValueError, OverflowError):
        return None
    return today


def _offset(typed: str) -> tzinfo:
    if typed in "Zz":
        return UTC
    hours, minutes = int(typed[1:3]), int(typed[4:6])
    ahead = timedelta(hours=hours, minutes=minutes)
    return timezone(-ahead if typed[0] == "-" else ahead)

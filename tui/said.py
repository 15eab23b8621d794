"""Dates and times as people say them.

The names of days and months are our own: those of the system would change with its language, and
the screens would no longer line up.
"""

from __future__ import annotations

from datetime import date, datetime, tzinfo

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NOTHING = "–"


def said_day(day: date | None, today: date) -> str:
    """The day in as few words as leave no doubt, for a column that looks one way in time.

    Parameters
    ----------
    day
        The calendar day; `None` gives a dash.
    today
        The day from which it is looked at.

    Returns
    -------
    str
        `today`; the weekday up to six days away on either side; else the day and month, with
        the year where it is another one.

    Examples
    --------
    >>> said_day(date(2026, 11, 23), date(2026, 11, 25))
    'Mon'
    >>> said_day(date(2026, 9, 3), date(2026, 11, 25))
    '3 Sep'
    >>> said_day(date(2025, 1, 7), date(2026, 11, 25))
    '7 Jan 2025'
    """
    if day is None:
        return NOTHING
    away = (day - today).days
    if away == 0:
        return "today"
    if abs(away) < 7:
        return DAYS[day.weekday()]
    return said_date(day, today)


def said_date(day: date, today: date) -> str:
    """Day and month, with the year where it is another one.

    Examples
    --------
    >>> said_date(date(2026, 11, 25), date(2026, 11, 25))
    '25 Nov'
    """
    short = f"{day.day} {MONTHS[day.month - 1]}"
    return short if day.year == today.year else f"{short} {day.year}"


def said_since(day: date | None, today: date) -> str:
    """When something began, for a sentence: `today`, `Mon 23 Nov`, `7 Jan 2025`.

    Examples
    --------
    >>> said_since(date(2026, 11, 23), date(2026, 11, 25))
    'Mon 23 Nov'
    """
    if day is None:
        return NOTHING
    if day == today:
        return "today"
    near = abs((day - today).days) < 7
    return f"{DAYS[day.weekday()]} {said_date(day, today)}" if near else said_date(day, today)


def since_column(day: date | None, today: date, *, or_earlier: bool = False) -> str:
    """Since when, for a narrow column: with `≤` before a day that is only the first day known.

    A day of another year is told by its month and year.

    Examples
    --------
    >>> today = date(2026, 11, 25)
    >>> since_column(date(2026, 9, 30), today, or_earlier=True), since_column(None, today)
    ('≤30 Sep', '')
    >>> since_column(date(2025, 9, 2), today, or_earlier=True)
    "≤Sep'25"
    """
    if day is None:
        return ""
    far = day.year != today.year and abs((day - today).days) > 6
    said = f"{MONTHS[day.month - 1]}'{day.year % 100:02}" if far else said_day(day, today)
    return f"{'≤' if or_earlier else ''}{said}"


def began(day: date | None, today: date, *, or_earlier: bool = False, what: str = "") -> str:
    """Since when, or from when where that day lies ahead; empty where nothing is known.

    Parameters
    ----------
    day
        The calendar day; `None` where it is not known.
    today
        The day from which it is looked at.
    or_earlier
        Whether it is only the first day known.
    what
        The clause that stands beside it: what is due today is not said to be so since today.

    Examples
    --------
    >>> began(date(2025, 9, 30), date(2026, 11, 25), or_earlier=True)
    'since 30 Sep 2025 or earlier'
    >>> began(date(2026, 11, 23), date(2026, 11, 25)), began(date(2026, 11, 26), date(2026, 11, 25))
    ('since Mon 23 Nov', 'from Thu 26 Nov')
    """
    if day is None or (day == today and what.endswith("due today")):
        return ""
    earlier = " or earlier" if or_earlier else ""
    return f"{'from' if day > today else 'since'} {said_since(day, today)}{earlier}"


def said_age(days: int | None) -> str:
    """How long ago, in days, for a narrow column: `today`, `3 d`, `41 d`, `4 y`.

    Parameters
    ----------
    days
        Whole days since; `None` (never) gives a dash; a negative number lies ahead.

    Examples
    --------
    >>> said_age(3), said_age(0), said_age(-2), said_age(None)
    ('3 d', 'today', 'in 2 d', '–')
    """
    if days is None:
        return NOTHING
    if days == 0:
        return "today"
    if days < 0:
        return f"in {-days} d"
    return f"{days} d" if days < 1000 else f"{days // 365} y"


def clock(at: datetime, zone: tzinfo) -> str:
    """The time of day in that zone, `07:31`.

    Raises
    ------
    ValueError
        The instant has no zone of its own.
    """
    local = _local(at, zone)
    return f"{local.hour:02d}:{local.minute:02d}"


def said_head(now: datetime, zone: tzinfo) -> str:
    """Weekday, date and time for the head of a screen, `Wed 25 Nov 07:31`."""
    local = _local(now, zone)
    return f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]} {clock(now, zone)}"


def said_moment(at: datetime, zone: tzinfo, today: date) -> str:
    """Date and time of a record, `22 Nov 07:40`, with the year where it is another one."""
    return f"{said_date(_local(at, zone).date(), today)} {clock(at, zone)}"


def _local(at: datetime, zone: tzinfo) -> datetime:
    if at.tzinfo is None:
        raise ValueError("An instant without a zone cannot be told in another one.")
    return at.astimezone(zone)

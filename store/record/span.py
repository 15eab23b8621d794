"""Days of the record as a person asks for them: one, or from one to another."""

from __future__ import annotations

import re
from datetime import date

from store.book.days import typed_day
from store.errors import BadInput
from store.text import day_said, plain

_BETWEEN = re.compile(r"\s+(?:to|until|till|-|–)\s+|\s*–\s*")
_SINCE = re.compile(r"(?:since|from)\s+(.+)|(.+?)\s*[-–]", re.DOTALL)
_UNTIL = re.compile(r"(?:until|till|to|[-–])\s*(.+)", re.DOTALL)


def typed_span(text: str, today: date) -> tuple[date | None, date | None]:
    """The first and the last day that were typed, each open where nothing was said of it.

    Parameters
    ----------
    text
        `12 Mar`; `1 Mar – 12 Mar`, `Mon to Wed`; `since 1 month`; `until 2026-03-12`; each day as
        `store.book.days.typed_day` reads it, looking back. Empty asks for all days.
    today
        The practice's calendar day.

    Raises
    ------
    BadInput
        A part is no day, or the last lies before the first.

    Examples
    --------
    >>> [str(day) for day in typed_span("1 Mar – 12 Mar", date(2026, 3, 14))]
    ['2026-03-01', '2026-03-12']
    >>> typed_span("since 2 weeks", date(2026, 3, 14))
    (datetime.date(2026, 2, 28), None)
    >>> typed_span("yesterday", date(2026, 3, 14))[1]
    datetime.date(2026, 3, 13)
    """
    said = " ".join(plain(text).casefold().split())
    if not said:
        return None, None
    if found := _UNTIL.fullmatch(said):
        return None, _day(found[1], today)
    if (found := _SINCE.fullmatch(said)) and not _BETWEEN.search(found[1] or ""):
        return _day(found[1] or found[2], today), None
    ends = _BETWEEN.split(said.removeprefix("from ").removeprefix("since "), maxsplit=1)
    first, last = _day(ends[0], today), _day(ends[-1], today)
    if last < first:
        raise BadInput(
            f"{day_said(last)} lies before {day_said(first)}. Please type the earlier day first.",
            field="days",
        )
    return first, last


def _day(text: str, today: date) -> date:
    if not text.strip():
        raise BadInput("A day is missing. Please type it as 12 Dec, Mon, 3 d or 2026-12-12.",
                       field="days")  # fmt: skip
    return typed_day(text, today, ahead=False, field="days")


def said_span(since: date | None, until: date | None) -> str:
    """The days in words; empty for all of them.

    Parameters
    ----------
    since, until
        First and last day, None for an open end.

    Examples
    --------
    >>> said_span(date(2026, 3, 1), date(2026, 3, 12)), said_span(None, date(2026, 3, 12))
    ('1 Mar 2026 to 12 Mar 2026', 'until 12 Mar 2026')
    """
    if since is not None and until is not None:
        return day_said(since) if since == until else f"{day_said(since)} to {day_said(until)}"
    if since is not None:
        return f"since {day_said(since)}"
    return f"until {day_said(until)}" if until is not None else ""

"""The day until which a concern may rest."""

from __future__ import annotations

from datetime import date, timedelta

from store.book.days import typed_day
from store.errors import BadInput

LONGEST_DAYS = 366
"""Nothing rests longer: by then the pond is another one."""


def typed_until(text: str, today: date) -> date:
    """The first day on which a concern speaks again.

    Parameters
    ----------
    text
        `3 d`, `2 weeks`, `1 month`, `tomorrow`, `Mon`, `12 Dec`, `2026-12-12`; never empty.
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
    try:
        found = typed_day(text, today, ahead=True) if text.strip() else None
    except BadInput:
        found = None
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

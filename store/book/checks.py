"""What may stand in the columns whose rule is longer than two bounds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from store.errors import BadInput

_DAY_OF_YEAR = re.compile(r"(\d\d)-(\d\d)")
MOST_DAYS = 366


def time_zone(name: str) -> None:
    """Refuse a name that is no time zone.

    Parameters
    ----------
    name
        Such as `Europe/London`.

    Raises
    ------
    BadInput
        If the time zone database has no such entry.
    """
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:  # KeyError: ZoneInfoNotFoundError
        raise BadInput(
            f"There is no time zone named {name!r:.60}; nothing was saved. "
            "Write it like Europe/London.",
            field="time_zone",
        ) from error


def day_of_year(text: str) -> tuple[int, int]:
    """Month and day out of `MM-DD`; 29 February is a day of the year.

    Parameters
    ----------
    text
        Such as `04-01`.

    Returns
    -------
    tuple of int
        Month and day.

    Raises
    ------
    BadInput
        If there is no such day.

    Examples
    --------
    >>> day_of_year("04-01")
    (4, 1)
    """
    found = _DAY_OF_YEAR.fullmatch(text)
    try:
        if found is None:
            raise ValueError(text)
        day = date(2000, int(found[1]), int(found[2]))  # a leap year
    except ValueError as error:
        raise BadInput(
            f"{text!r:.20} is no day of the year; write month and day like 04-01. "
            "Nothing was saved.",
            field="test_seasons",
        ) from error
    return day.month, day.day


def seasons(value: Any) -> None:
    """Refuse a test plan that is not a list of `{"from": "MM-DD", "to": "MM-DD", "every_days": n}`.

    Parameters
    ----------
    value
        What is to stand in the column.

    Raises
    ------
    BadInput
        Naming the season that is wrong.
    """
    if not isinstance(value, list):
        raise BadInput("The seasons of a test plan are a list; nothing was saved.")
    for season in value:
        if not isinstance(season, Mapping) or set(season) != {"from", "to", "every_days"}:
            raise BadInput(
                "A season of the test plan needs its first day, its last day and the days between "
                "two tests; nothing was saved.",
                field="test_seasons",
            )
        day_of_year(str(season["from"]))
        day_of_year(str(season["to"]))
        every_days = season["every_days"]
        if type(every_days) is not int or not 1 <= every_days <= MOST_DAYS:
            raise BadInput(
                f"The days between two tests should be a whole number from 1 to {MOST_DAYS}, "
                f"not {every_days!r:.20}; nothing was saved.",
                field="test_seasons",
            )


def mapping(value: Any) -> None:
    """Refuse what is not a mapping of names to values.

    Parameters
    ----------
    value
        What is to stand in the column.

    Raises
    ------
    BadInput
        For a list, a number or a text.
    """
    if not isinstance(value, Mapping):
        raise BadInput("Named values were expected here; nothing was saved.")


def texts(value: Any) -> None:
    """Refuse what is not a list of texts.

    Parameters
    ----------
    value
        What is to stand in the column.

    Raises
    ------
    BadInput
        For anything but a list, and for anything in it that is no text.
    """
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise BadInput("A list of texts was expected here; nothing was saved.")


def email(text: str) -> None:
    """Refuse what cannot be an address for mail; the empty text is fine.

    Parameters
    ----------
    text
        What was typed.

    Raises
    ------
    BadInput
        If there is not exactly one `@` with something on both sides, or a blank.
    """
    name, at, place = text.partition("@")
    if text and (not (name and at and place) or "@" in place or " " in text):
        raise BadInput(
            f"{text!r:.60} is no address for mail; nothing was saved. "
            "Leave it empty if there is none.",
            field="email",
        )

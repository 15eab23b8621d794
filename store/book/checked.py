"""A value checked against its column: the sentence before the database has to refuse."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date, time
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Double, Integer, String, Time

from store.book.columns import Day, Instant, to_the_millisecond
from store.errors import BadInput
from store.text import plain

_UNITS = {
    "_mg_l": "mg/L", "_m": "m", "_l": "litres", "_days": "days", "_min": "minutes", "_s": "seconds",
    "_id": "", "_on": "", "_at": "",
}  # fmt: skip

_LONGEST_SAID = 20_000
"""Characters of one text among listed or named ones: as many as a note may have."""

_COMPOSED = 4
"""At most so many characters become one (Unicode 15, canonical decompositions): what is longer than
so many times the room is too long in any form, and need not be composed, which takes seconds for a
megabyte."""


def label(name: str) -> str:
    """A column's name in words.

    Parameters
    ----------
    name
        Such as `depth_m`.

    Returns
    -------
    str
        Such as `depth (m)`.

    Examples
    --------
    >>> label("test_every_days")
    'test every (days)'
    """
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            stem = name.removesuffix(ending).replace("_", " ")
            return f"{stem} ({unit})" if unit else stem
    return name.replace("_", " ")


def checked(column: Column[Any], value: Any) -> Any:
    """The value as the book will keep it, made plain, or a sentence why it cannot be kept.

    Parameters
    ----------
    column
        Where it is to stand.
    value
        What was given; `None` means not known.

    Returns
    -------
    Any
        Text without harmful characters and without blanks at its ends; everything else as given.

    Raises
    ------
    BadInput
        With the column's name as `field`.
    """

    def refuse(what: str) -> BadInput:
        sentence = (
            f"{label(column.name).capitalize()} {what}. Nothing was saved; please correct it."
        )
        return BadInput(sentence, field=column.name)

    if value is None:
        if not column.nullable:
            raise refuse("is needed")
        return None
    info: Mapping[str, Any] = column.info
    if isinstance(column.type, String):
        if not isinstance(value, str):
            raise refuse(f"should be text, not {value!r:.40}")
        return _checked_text(info, value, refuse)
    if isinstance(column.type, Double | Integer):  # BigInteger is an Integer
        return _checked_number(column, value, refuse)
    if isinstance(column.type, Boolean) and not isinstance(value, bool):
        raise refuse("should be yes or no")
    if isinstance(column.type, Instant):
        return to_the_millisecond(value)
    if isinstance(column.type, Day) and type(value) is not date:
        raise refuse(f"should be a calendar day, not {value!r:.40}")
    if isinstance(column.type, Time) and not isinstance(value, time):
        raise refuse(f"should be a time of day, not {value!r:.40}")
    if isinstance(column.type, JSON):
        value = _plain_data(value, refuse)
    if "check" in info:
        info["check"](value)
    return value


def _checked_text(info: Mapping[str, Any], value: str, refuse: Callable[[str], BadInput]) -> str:
    choices = info.get("choices", ())
    room = info.get("longest", max(map(len, choices), default=len(value)))
    if (given := len(value.strip())) > _COMPOSED * room:
        if choices:
            raise refuse(_not_one_of(choices, plain(value[:40])))
        raise refuse(f"is longer than {room} characters ({given})")
    text = plain(value, lines=info.get("lines", False)).strip()
    if choices and text not in choices:
        raise refuse(_not_one_of(choices, text))
    if len(text) < info.get("shortest", 0):
        raise refuse("is needed")
    if len(text) > info.get("longest", len(text)):
        raise refuse(f"is longer than {info['longest']} characters ({len(text)})")
    if "check" in info:
        info["check"](text)
    return text


def _not_one_of(choices: Sequence[str], text: str) -> str:
    return f"should be one of {', '.join(choices)}; {text!r:.40} was given"


def _checked_number(column: Column[Any], value: Any, refuse: Callable[[str], BadInput]) -> Any:
    whole_only = not isinstance(column.type, Double)
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or (whole_only and isinstance(value, float))
    ):
        raise refuse(f"should be a {'whole ' if whole_only else ''}number, not {value!r:.40}")
    low, high = column.info["low"], column.info["high"]
    if not low <= value <= high:  # refuses "not a number" as well
        bounds = f"{low:,.15g} and {high:,.15g}"
        raise refuse(f"should lie between {bounds}; {value!r:.40} was given")
    return value if whole_only else float(value)


def _plain_data(value: Any, refuse: Callable[[str], BadInput]) -> Any:
    if isinstance(value, str):
        if len(value) > _LONGEST_SAID:
            raise refuse(f"holds a text longer than {_LONGEST_SAID} characters ({len(value)})")
        return plain(value, lines=True)
    if isinstance(value, Mapping):
        return {
            plain(_plain_data(str(name), refuse)): _plain_data(item, refuse)
            for name, item in value.items()
        }
    if isinstance(value, list | tuple):
        return [_plain_data(item, refuse) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        raise BadInput("A number that is not finite cannot be kept; nothing was saved.")
    return value

"""Weekdays, months and small numbers as people write them in English."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip

WEEKDAY_WORDS: Mapping[str, int] = {
    **{name: number for number, name in enumerate(_WEEKDAYS)},
    **{f"{name}s": number for number, name in enumerate(_WEEKDAYS)},
    **{name[:3]: number for number, name in enumerate(_WEEKDAYS)},
    "tues": 1, "weds": 2, "thur": 3, "thurs": 3,
}  # fmt: skip
"""Monday is 0."""
MONTH_WORDS: Mapping[str, int] = {
    **{name: number for number, name in enumerate(_MONTHS, 1)},
    **{name[:3]: number for number, name in enumerate(_MONTHS, 1)},
    "sept": 9,
}
NUMBER_WORDS: Mapping[str, int] = {
    word: number
    for number, word in enumerate(
        ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
         "twelve"), 1)
}  # fmt: skip
PLACE_WORDS: Mapping[str, int] = {
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "last": -1,
}  # fmt: skip


def any_of(words: Iterable[str]) -> str:
    """The inside of a regular expression for one of several words, the longest first.

    Parameters
    ----------
    words
        Letters only.

    Examples
    --------
    >>> any_of(["mon", "monday"])
    'monday|mon'
    """
    return "|".join(sorted(words, key=lambda word: (-len(word), word)))

"""Text from people and files, made harmless once and the same way everywhere."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Iterable
from datetime import date

_REPLACED = "\N{REPLACEMENT CHARACTER}"
_HARMFUL_CATEGORIES = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
# Bidirectional overrides and what is there without being seen: zero-width marks, soft hyphen,
# fillers, operators that stand for nothing, tags. Joiners U+200C and U+200D and the selectors of
# variants stay: Persian, Mongolian and emoji need them.
_HARMFUL_MARKS = frozenset(
    chr(code)
    for code in (
        0x00AD, 0x034F, 0x061C, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x180E, 0x200B, 0x200E, 0x200F,
        0x3164, 0xFEFF, 0xFFA0, *range(0x202A, 0x202F), *range(0x2060, 0x2070),
        *range(0xFFF9, 0xFFFC), *range(0x1BCA0, 0x1BCA4), *range(0x1D173, 0x1D17B),
        *range(0xE0000, 0xE0080),
    )
)  # fmt: skip
_MARKS = frozenset({"Mn", "Me"})
_MOST_MARKS = 30
"""Combining marks in a row: what UAX #15 (stream-safe text) calls beyond any real text."""
_MAY_PILE = re.compile(f"[\u0300-\U0010ffff]{{{_MOST_MARKS + 1}}}")
"""No combining mark comes before U+0300."""

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAY = re.compile(
    rf"\b(?:(?P<iso>[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})"
    rf"|(?P<day>[0-9]{{1,2}}) (?P<month>{'|'.join(_MONTHS)}) (?P<year>[0-9]{{4}}))\b"
)


def day_said(day: date) -> str:
    """A day within a sentence, which may be read in another year.

    Parameters
    ----------
    day
        The calendar day.

    Returns
    -------
    str
        Day, month in letters, year: no two countries read it differently.

    Examples
    --------
    >>> day_said(date(2026, 3, 24))
    '24 Mar 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def joined(parts: Iterable[str], by: str = "; ") -> str:
    """Sentences and phrases in one line, parted by one mark alone.

    Parameters
    ----------
    parts
        What is said one after another; empty ones are left out.
    by
        What stands between them.

    Returns
    -------
    str
        A full stop before a mark is left out; after the last part it stays as it was.

    Examples
    --------
    >>> joined(["A public holiday.", "", "the first free hour"])
    'A public holiday; the first free hour'
    >>> joined(["Ring first …", "gate code on the note."])
    'Ring first …; gate code on the note.'
    """
    said = [part for one in parts if (part := one.strip())]
    return by.join([*(one.rstrip(".").rstrip() for one in said[:-1]), *said[-1:]])


def with_days(text: str, said: Callable[[date], str]) -> str:
    """A text with every day in it said in another way.

    Parameters
    ----------
    text
        With days as `day_said` says them, or as 2026-03-24.
    said
        How a day is to be said.

    Returns
    -------
    str
        What only looks like a day stays as it is.

    Examples
    --------
    >>> with_days("Test until 24 Mar 2026.", lambda day: f"{day:%d/%m}")
    'Test until 24/03.'
    >>> with_days("Lot 2026-13-40", day_said)
    'Lot 2026-13-40'
    """

    def other(found: re.Match[str]) -> str:
        try:
            if found["iso"]:
                return said(date.fromisoformat(found["iso"]))
            month = _MONTHS.index(found["month"]) + 1
            return said(date(int(found["year"]), month, int(found["day"])))
        except ValueError:
            return found[0]

    return _DAY.sub(other, text)


def plain(text: str, *, lines: bool = False) -> str:
    """The text in composed form, with every character that could drive a terminal made visible.

    Parameters
    ----------
    text
        Anything a person typed or a file held.
    lines
        Keep line feeds (and turn carriage returns into them); for notes of several lines.

    Returns
    -------
    str
        NFC text without control, unassigned, private or surrogate characters, without
        bidirectional and zero-width marks, and without a combining mark behind thirty others; each
        of them became U+FFFD. A tab became a space.

    Examples
    --------
    >>> plain("Mill\\tLane")
    'Mill Lane'
    >>> plain("a\\x1b[2Jb")
    'a�[2Jb'
    """
    if text.isascii() and text.isprintable():
        return text
    # Composing puts marks in order, in a time that grows with the square of their number; it may
    # also make two marks of one, so that it is looked at again.
    text = _unpiled(unicodedata.normalize("NFC", _unpiled(text))).replace("\t", " ")
    if lines:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        _REPLACED if _harmful(character) and not (lines and character == "\n") else character
        for character in text
    )


def plain_json(text: str) -> str:
    """JSON that says the same and in which no character could drive a terminal.

    Parameters
    ----------
    text
        JSON of a standard writer, which escapes what is below U+0020 in texts by itself.

    Returns
    -------
    str
        What `plain` replaces is written as an escape of RFC 8259, section 7, so that every reader
        gives back the value that stood there. Line feeds between values stay.

    Examples
    --------
    >>> plain_json('{"note": "koi\u202e 鯉"}')
    '{"note": "koi\\\\u202e 鯉"}'
    """
    if text.isprintable() and _HARMFUL_MARKS.isdisjoint(text):
        return text
    return "".join(
        json.dumps(character)[1:-1] if _harmful(character) and character != "\n" else character
        for character in text
    )


def _harmful(character: str) -> bool:
    return unicodedata.category(character) in _HARMFUL_CATEGORIES or character in _HARMFUL_MARKS


def _unpiled(text: str) -> str:
    """The text with every combining mark behind thirty others replaced."""
    if _MAY_PILE.search(text) is None:
        return text
    run, kept = 0, []
    for character in text:
        marks = unicodedata.combining(character) or unicodedata.category(character) in _MARKS
        run = run + 1 if marks else 0
        kept.append(character if run <= _MOST_MARKS else _REPLACED)
    return "".join(kept)

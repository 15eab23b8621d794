"""Sentences cut into clauses, and what of the trade's words stands in one."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from store.exchange.told.phrases import CLAUSE_ENDS
from store.water.parameters import PARAMETERS
from store.water.pieces import cut
from store.water.understood import Doubt, ReadingValue

LONGEST_CLAUSE = 1_000
"""What is longer without a comma or a full stop [characters] is not read: the time that takes grows
with the square of it."""


def clauses(sentence: str) -> Iterator[str]:
    """The parts of a sentence; at an `and` it is cut only where a number stands before.

    Parameters
    ----------
    sentence
        Of a message.

    Examples
    --------
    >>> list(clauses("temp 17 and pH 7.8, KH and GH 6"))
    ['temp 17', 'pH 7.8', 'KH and GH 6']
    """
    begin = looked = 0
    has_name = False
    for found in CLAUSE_ENDS.finditer(sentence):
        before = sentence[begin : found.start()]
        if found["and"] and not re.search(r"[0-9]", before):
            has_name = has_name or bool(named(sentence[looked : found.start()]))
            looked = found.end()
            if has_name and len(before) <= LONGEST_CLAUSE:
                continue
        if before.strip():
            yield before
        begin = looked = found.end()
        has_name = False
    if sentence[begin:].strip():
        yield sentence[begin:]


def blanked(text: str, places: Sequence[tuple[int, int]]) -> str:
    """The text with blanks in those places, of the same length.

    Parameters
    ----------
    text
        Any text.
    places
        First character and the one behind the last [characters from 0].
    """
    for start, end in places:
        text = text[:start] + " " * (end - start) + text[end:]
    return text


def named(text: str) -> str:
    """The first name of a parameter of ours that is no everyday word, or nothing.

    Parameters
    ----------
    text
        Any text.
    """
    for piece in cut(text):
        if piece.name is not None and piece.name.parameter and not piece.name.weak:
            return text[piece.start : piece.end]
    return ""


def weak(text: str, reading: ReadingValue) -> str:
    """The doubt over a reading that hangs on an everyday word, such as `water 20`.

    Parameters
    ----------
    text
        The clause it was read from.
    reading
        As the typed line's reader gave it.

    Returns
    -------
    str
        Empty where a name of its own or a unit says what it is.
    """
    pieces = cut(text)
    names = [one for one in pieces if one.name and one.name.parameter == reading.parameter]
    if not names or any(one.name and not one.name.weak for one in names):
        return ""
    if any(one.amount is not None and one.amount.unit for one in pieces):
        return ""
    word = text[names[0].start : names[0].end]
    if word == "DO":
        return ""
    return f"“{word}” is also an everyday word. Was it {PARAMETERS[reading.parameter].label}?"


def has_unit(typed: str) -> bool:
    """Whether a number with a unit of water tests stands in a text.

    Parameters
    ----------
    typed
        Any text.
    """
    return any(
        one.amount is not None and one.amount.unit not in {"", "other"} for one in cut(typed)
    )


def no_value(one: Doubt) -> str:
    """Why a question of the typed line's reader has no answer that can be taken.

    Parameters
    ----------
    one
        The question.
    """
    return one.question.replace(" It can be kept in the note.", "")

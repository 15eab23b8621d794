"""What a column is by what stands in it, where its heading does not say so or says too little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from store.errors import BadInput
from store.exchange.columns.dates import day_cell
from store.exchange.columns.guess import UNKNOWN, Guess
from store.exchange.sheets import RawRow

_DAYS, _DAYS_OF = 6, 10
_WORDS = 2.0
"""Words a cell, on average, from which a column is running text."""


def is_day(cell: str) -> bool:
    """Whether a cell can be read as a day, in whatever order.

    Parameters
    ----------
    cell
        As it stands in the file.

    Examples
    --------
    >>> is_day("14.3.26"), is_day("am"), is_day("7.6")
    (True, False, False)
    """
    if not any(letter.isdigit() for letter in cell):
        return False
    try:
        found = day_cell(cell)
    except BadInput:
        return False
    return bool(found.year or found.month)


def by_cells(guesses: Sequence[Guess], rows: Sequence[RawRow]) -> list[Guess]:
    """Days, hours and notes that the headings alone do not tell; what a person said stays.

    Parameters
    ----------
    guesses
        The columns by their headings.
    rows
        The lines below.
    """
    found = list(guesses)
    days = [place for place, one in enumerate(found) if one.meaning in ("date", "taken_at")]
    if not days:
        return _a_note(_a_day(found, rows), rows)
    if len(days) > 1:
        for place in days:
            one = found[place]
            held = _held(one, rows)
            beside = any(other != place and found[other].block == one.block for other in days)
            if one.sure != "said" and held and beside and not any(map(is_day, held)):
                found[place] = replace(
                    one, meaning="time", sure="likely", why="beside the day, and its cells are none"
                )
    return _a_note(found, rows)


def _held(guess: Guess, rows: Sequence[RawRow]) -> list[str]:
    return [cell for row in rows if (cell := row.cell(guess.column).strip())]


def _a_day(guesses: list[Guess], rows: Sequence[RawRow]) -> list[Guess]:
    """The first column without a known heading whose cells are days."""
    for place, one in enumerate(guesses):
        if one.meaning != "ignore" or one.sure == "said" or one.why == "hidden in the file":
            continue
        held = _held(one, rows)
        if held and sum(map(is_day, held)) * _DAYS_OF >= len(held) * _DAYS:
            guesses[place] = replace(
                one, meaning="taken_at", sure="likely", why="its cells are days"
            )
            break
    return guesses


def _a_note(guesses: list[Guess], rows: Sequence[RawRow]) -> list[Guess]:
    """Where no column is headed as a note: the one of an unknown heading that holds sentences."""
    if any(one.meaning == "note" for one in guesses):
        return guesses
    best, place = 0.0, -1
    for at, one in enumerate(guesses):
        held = _held(one, rows) if one.why == UNKNOWN and one.block is None else []
        words = sum(len(cell.split()) for cell in held) / len(held) if held else 0.0
        if words >= _WORDS and words > best and not any(map(is_day, held)):
            best, place = words, at
    if place >= 0:
        guesses[place] = replace(
            guesses[place], meaning="note", sure="likely", why="its cells are running words"
        )
    return guesses

"""Weights of fish as sheets write them."""

from __future__ import annotations

import re

from store.errors import BadInput
from store.exams.line import LEAST_G, MOST_G
from store.exams.line_words import WEIGHT_G
from store.text import plain

_WEIGHT = re.compile(
    r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>kg|g|grams?|lbs?|oz)?\.?", re.IGNORECASE
)


def weight_g_of(cell: str, unit: str) -> float | None:
    """The weight that a cell writes [g]; None where it is none and belongs into the note.

    Parameters
    ----------
    cell
        Such as `1.2 kg`.
    unit
        Where the cell has none; empty where nobody knows.

    Raises
    ------
    BadInput
        When no unit is known, or no fish of a pond weighs as much.

    Examples
    --------
    >>> weight_g_of("1,2", "kg"), weight_g_of("heavy", "kg")
    (1200.0, None)
    """
    text = " ".join(plain(cell).split())
    found = _WEIGHT.fullmatch(text)
    if found is None:
        return None
    written = (found["unit"] or unit).casefold()
    if not written:
        raise BadInput(f"“{text:.40}” names no unit of weight. Write it with g or kg.")
    weight_g = round(float(found["number"].replace(",", ".")) * WEIGHT_G[written], 6)
    if not LEAST_G <= weight_g <= MOST_G:
        raise BadInput(f"“{text:.40}” in {written} is no weight of a fish of a pond.")
    return weight_g

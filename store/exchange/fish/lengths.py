"""Lengths of fish as sheets write them: one number or a range, the unit in the cell or heading."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.errors import BadInput
from store.exams.line import LEAST_CM, MOST_CM
from store.text import plain

LENGTH_UNITS = ("cm", "mm", "inch", "inches", "in", "m")
_IN_CM = {
    "cm": 1.0, "mm": 0.1, "m": 100.0, "inch": 2.54, "inches": 2.54, "in": 2.54, '"': 2.54
}  # fmt: skip
"""Exact: the inch is 2.54 cm by definition."""
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_UNIT = r"cm|mm|inch(?:es)?|in|m|\""
_RANGE = re.compile(
    rf"(?:(?:from|between)\s+)?(?P<low>{_NUMBER})\s*(?:{_UNIT})?"
    rf"(?:\s*(?:-|–|—|to|bis|and|à|/|\.\.)\s*(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?\.?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Lengths:
    """The smallest and the largest length [cm]; both the same where one was written."""

    low_cm: float
    high_cm: float


def lengths_of(cell: str, unit: str) -> Lengths | None:
    """The length or the range of lengths that a cell writes.

    Parameters
    ----------
    cell
        Such as `42`, `12-18 cm`, `16 in`.
    unit
        Where the cell has none; empty where nobody knows.

    Returns
    -------
    Lengths or None
        None where the cell is no length, such as `up to my arm`: it belongs into the note.

    Raises
    ------
    BadInput
        When no unit is known, or no fish of a pond is as long.

    Examples
    --------
    >>> lengths_of("12-18", "cm"), lengths_of("420", "mm")
    (Lengths(low_cm=12.0, high_cm=18.0), Lengths(low_cm=42.0, high_cm=42.0))
    >>> lengths_of("big ones", "cm") is None
    True
    """
    text = " ".join(plain(cell).split())
    found = _RANGE.fullmatch(text)
    if found is None:
        return None
    written = (found["unit"] or unit).casefold()
    if not written:
        raise BadInput(f"“{text:.40}” names no unit of length. Write it with cm or mm.")
    ends = [
        round(float(one.replace(",", ".")) * _IN_CM[written], 10)
        for one in (found["low"], found["high"] or found["low"])
    ]
    if ends[0] > ends[1]:
        raise BadInput(f"“{text:.40}”: the first length is larger than the second.")
    if not LEAST_CM <= ends[0] <= ends[1] <= MOST_CM:
        raise BadInput(
            f"“{text:.40}” in {written} is no length of a fish of a pond ({LEAST_CM:g} to "
            f"{MOST_CM:g} cm). Correct it, or its unit."
        )
    return Lengths(*ends)


def is_bare(cell: str) -> bool:
    """Whether a cell is a number or a range alone, so that its unit has to be known.

    Parameters
    ----------
    cell
        The cell.
    """
    found = _RANGE.fullmatch(" ".join(plain(cell).split()))
    return found is not None and not found["unit"]

"""What one column is taken for, how sure that is, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from store.exchange.columns.day_words import part_in
from store.exchange.columns.headings import Heading, heading_of
from store.exchange.columns.shape import IGNORED, Shape
from store.exchange.columns.words import OF_MANY, PASSED_OVER, ROLE_OF, mended, same
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.words import UNIT, UNITS_OF, unit_of

Sure = Literal["said", "sure", "likely", "unsure"]
UNKNOWN = "the book keeps no such thing"
"""Why a column is left out whose heading means nothing here."""


@dataclass(frozen=True, slots=True)
class Guess:
    """One column, counted from 0: `meaning` is `reading`, a role such as `date`, or `ignore`."""

    column: int
    title: str
    meaning: str
    sure: Sure
    why: str
    heading: Heading | None = None
    block: int | None = None
    """The block of columns it belongs to; None where it belongs to all of them."""

    @property
    def words(self) -> str:
        """What it is taken for, as a person says it."""
        if self.heading is None:
            return {"taken_at": "date and time", "by": "taken by"}.get(self.meaning, self.meaning)
        unit = self.heading.unit
        label = PARAMETERS[self.heading.parameter].label
        if unit or not UNITS_OF[self.heading.parameter]:
            return f"{label}, in {unit}" if unit else label
        return f"{label}, no unit said"


def guess_of(title: str, column: int, shape: Shape) -> Guess:
    """What a column is by its heading, or by what a person said of it.

    Parameters
    ----------
    title
        The heading.
    column
        Its place, counted from 0.
    shape
        What a person said.
    """
    shown = plain(" ".join(title.split()))
    said = shape.said(title, column)
    if said is not None:
        return _meant(said, column, shown, "said", "said by a person")
    if not shown or same(title) in PASSED_OVER:
        return Guess(column, shown, "ignore", "sure", "no heading" if not shown else "passed over")
    if any(OF_MANY.fullmatch(word.strip(".()[]:")) for word in shown.replace("_", " ").split()):
        why = "it sums up many readings, and none of one time"
        return Guess(column, shown, "ignore", "sure", why)
    return _meant(shown, column, shown, "sure", "by its heading")


def _meant(text: str, column: int, title: str, sure: Sure, why: str) -> Guess:
    role = ROLE_OF.get(same(text))
    if text.casefold() in IGNORED:
        return Guess(column, title, "ignore", sure, why)
    if role is not None:
        return Guess(column, title, role, sure, why)
    heading = heading_of(mended(text))
    if heading is None:
        return Guess(column, title, "ignore", "sure", UNKNOWN)
    other = UNIT.fullmatch(heading.unit)
    if sure != "said" and other is not None and unit_of(other) == "other":
        label = PARAMETERS[heading.parameter].label
        return Guess(column, title, "ignore", "sure", f"{heading.unit} is no unit of {label}")
    return Guess(column, title, "reading", sure, why, heading)


def is_title(text: str) -> bool:
    """Whether a cell by itself would do as the heading of a column.

    Parameters
    ----------
    text
        The cell. A unit alone is none.
    """
    shown = mended(text)
    if not shown or len(shown) > 60:
        return False
    if UNIT.fullmatch(shown.strip("()[] ")) and shown.casefold() not in ("t", "c", "f"):
        return False
    return same(text) in ROLE_OF or heading_of(part_in(shown)[1]) is not None

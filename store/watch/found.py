"""What examinations found at a pond and nothing has answered yet, as the rules see it.

It is gathered where the examinations are kept and comes in as plain values.
"""

from __future__ import annotations

from datetime import date
from typing import NamedTuple


class OpenFinding(NamedTuple):
    """One hazard found at a pond, unanswered by a course or by a later look of the same kind."""

    hazard: str
    on_day: date
    """Day of the newest examination in which it was there."""
    first: date
    """First day of the run that nothing has answered."""
    suspected: bool
    """Whether nobody was sure of it."""
    heavy: str = ""
    """Why the burden is heavy; empty where it is not known to be."""
    per_field: float | None = None
    """The most counted per field of view on one fish; None where it was not counted so."""
    score: int | None = None
    """The highest score on one fish, 0 to 3; None where it was not scored."""
    fish: int = 0
    """On how many fish it was there."""
    of: int = 0
    """How many fish were looked at in the same way."""
    places: tuple[str, ...] = ()
    """Where and how much, in words, one line for each preparation."""
    after_course: str = ""
    """The course after which it was there still or again, in words; empty where there was none."""
    by: str = ""
    """Who looked, or which laboratory reported."""
    entered_ms: int = 0
    """When the newest of it was entered, in epoch milliseconds."""

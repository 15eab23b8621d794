"""How much of a hazard each fish had, and which of two such burdens can be set against one another.

A burden is told per fish and only for one kind of preparation at one magnification: counts of
different slides are not of one scale, and a score is never made into a count.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from store.exams.values import Exam, Found, Prep
from store.facts.hazards import hazards
from store.water.given import figures


@dataclass(frozen=True, slots=True)
class Burden:
    """How much of one hazard there was in one kind of preparation at one magnification.

    `per_field` holds one number a fish [count per field of view], zero for a fish whose slide was
    clean; `scores` one a fish [0 to 3] where it was scored instead. The two are never put together.
    `unmeasured` fish had it, or had a slide, without a number that can be used.
    """

    hazard: str
    kind: str
    magnification: int | None
    per_field: tuple[float, ...]
    scores: tuple[int, ...]
    unmeasured: int
    remarks: tuple[str, ...]

    @property
    def fish(self) -> int:
        """How many fish had such a preparation."""
        return len(self.per_field) + len(self.scores) + self.unmeasured

    @property
    def said(self) -> str:
        """In words, each fish for itself."""
        parts = []
        if self.per_field:
            listed = ", ".join(figures(one) for one in self.per_field)
            parts.append(f"{listed} a field")
        if self.scores:
            parts.append(f"scores {', '.join(map(str, self.scores))} of 3")
        if self.unmeasured:
            parts.append(f"{self.unmeasured} without a number")
        at = "" if self.magnification is None else f" at {self.magnification}x"
        return f"{hazards()[self.hazard].plain_name}, {self.kind}{at}: {'; '.join(parts)}"


def burdens(exam: Exam) -> tuple[Burden, ...]:
    """How much of each hazard that was there, by kind of preparation and magnification.

    Parameters
    ----------
    exam
        What was looked at and found.

    Returns
    -------
    tuple of Burden
        In the order found. Compare two of them only where `comparable` says nothing against it.
    """
    wanted: dict[tuple[str, str, int | None], None] = {}
    for fish in exam.fish:
        for prep in fish.preparations:
            for one in prep.found:
                wanted[one.hazard, prep.kind, prep.magnification] = None
    return tuple(burden(exam, *key) for key in wanted)


def burden(exam: Exam, hazard: str, kind: str, magnification: int | None) -> Burden:
    """How much of one hazard each fish had in one kind of preparation at one magnification.

    Parameters
    ----------
    exam
        What was looked at and found.
    hazard
        Its code; it need not have been found.
    kind
        Kind of preparation.
    magnification
        As entered; None for those without one.

    Returns
    -------
    Burden
        A fish with several such slides counts with all their fields together.
    """
    per_field: list[float] = []
    scores: list[int] = []
    unmeasured = clean = 0
    for fish in exam.fish:
        slides = [
            prep
            for prep in fish.preparations
            if prep.kind == kind and prep.magnification == magnification
        ]
        if not slides:
            continue
        if not any(_there(prep, hazard) for prep in slides):
            clean += 1
            continue
        each = _of_one_fish(slides, hazard)
        if isinstance(each, float):
            per_field.append(each)
        elif isinstance(each, int):
            scores.append(each)
        else:
            unmeasured += 1
    if scores and not per_field:  # none is none on either scale
        scores += [0] * clean
    else:
        per_field += [0.0] * clean
    remarks = []
    if per_field and scores:
        remarks.append("Some fish were counted and others scored: the two are not one scale.")
    if unmeasured:
        remarks.append("Where fields were not entered, a count cannot be compared with another.")
    if magnification is None:
        remarks.append("The magnification was not entered: nothing can be compared with it.")
    return Burden(
        hazard, kind, magnification, tuple(per_field), tuple(scores), unmeasured, tuple(remarks)
    )


def comparable(before: Burden, after: Burden) -> str:
    """Why two burdens cannot be set against one another; empty where they can.

    Parameters
    ----------
    before, after
        Of two examinations.

    Examples
    --------
    >>> one = Burden("costia", "skin scrape", 100, (4.0,), (), 0, ())
    >>> comparable(one, Burden("costia", "skin scrape", 200, (1.0,), (), 0, ()))
    'One was read at 100x and the other at 200x: a field is not the same field.'
    >>> comparable(one, Burden("costia", "skin scrape", 100, (1.0,), (), 0, ()))
    ''
    """
    if before.hazard != after.hazard:
        return "They are of two hazards."
    if before.kind != after.kind:
        return f"One was a {before.kind} and the other a {after.kind}: they are not one scale."
    if before.magnification is None or after.magnification is None:
        return "The magnification of one of them was not entered."
    if before.magnification != after.magnification:
        return (
            f"One was read at {before.magnification}x and the other at {after.magnification}x: a "
            "field is not the same field."
        )
    if before.per_field and after.per_field:
        return ""
    if before.scores and after.scores:
        return ""
    return "One was counted and the other scored, or neither has a number: no scale is shared."


def _there(prep: Prep, hazard: str) -> Found | None:
    return next((one for one in prep.found if one.hazard == hazard and one.present), None)


def _of_one_fish(slides: Iterable[Prep], hazard: str) -> float | int | None:
    """Count per field as a float, score as an int; None where there is no number, or two scales."""
    counted, fields = 0, 0
    scores: list[int] = []
    for prep in slides:
        found = _there(prep, hazard)
        if found is not None and found.score is not None:
            scores.append(found.score)
            continue
        if not prep.fields or (found is not None and found.counted is None):
            return None
        counted += 0 if found is None or found.counted is None else found.counted
        fields += prep.fields
    if scores:
        return None if counted else max(scores)
    return counted / fields

"""The share of fish that carry a parasite, before and after: what scores can be compared by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exams.prevalence import SOURCE, Prevalence, prevalence
from store.exams.reduction import AFTER_HATCH, FALLING_OFF, SAME_WAY
from store.exams.shares import percent
from store.water.given import figures, given


@dataclass(frozen=True, slots=True)
class Carrying:
    """Fish that carry any, before and after, each with its intervals.

    `apart` says that the exact intervals do not meet; where they do, a difference may still be
    there, but these fish do not show it.
    """

    before: Prevalence
    after: Prevalence
    apart: bool
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def carrying(before: Sequence[float], after: Sequence[float], confidence: float = 0.95) -> Carrying:
    """The share of fish with any at all, before and after a course.

    Parameters
    ----------
    before, after
        A count or a score for each fish, none below zero [count or score]: only whether it is above
        zero is used.
    confidence
        Confidence of the intervals, above 0, below 1 [-].

    Returns
    -------
    Carrying
        Both shares [-] with their intervals.

    Raises
    ------
    BadInput
        No fish on a side, or a number that cannot be.

    Examples
    --------
    >>> carrying([3, 2, 2, 1, 3, 2], [0, 0, 1, 0, 0, 0]).said
    '6 of 6 fish carried any before, 1 of 6 after (95 % intervals 54.1 to 100 % and 0.421 to \
64.1 %, which meet).'
    """
    sides = []
    for name, values in (("findings before", before), ("findings after", after)):
        if not values:
            raise BadInput(f"There are no {name}. Please give one for each fish.", field=name)
        positive = sum(given(one, name, low=0.0, high=1e9) > 0.0 for one in values)
        sides.append(prevalence(positive, len(values), confidence))
    one, other = sides
    apart = other.exact.high < one.exact.low or one.exact.high < other.exact.low
    spans = " and ".join(
        f"{figures(100.0 * side.exact.low, 3)} to {figures(100.0 * side.exact.high, 3)} %"
        for side in sides
    )
    return Carrying(
        one, other, apart,
        f"{one.positive} of {one.examined} fish carried any before, {other.positive} of "
        f"{other.examined} after ({percent(confidence)} intervals {spans}, which "
        f"{'do not meet' if apart else 'meet'}).",
        f"before: {one.arithmetic}; after: {other.arithmetic}", SOURCE,
        (
            "Whether a fish carries any says nothing of how many: a heavy burden made light is not "
            "seen here.",
            SAME_WAY, FALLING_OFF, AFTER_HATCH,
        ),
    )  # fmt: skip

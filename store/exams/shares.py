"""Shares, counts and confidences, checked at the door and written as people read them."""

from __future__ import annotations

import math

from store.errors import BadInput
from store.water.given import figures, given


def percent(share: float) -> str:
    """A share as a percentage with so many figures that 95.06 does not look like 95.

    Parameters
    ----------
    share
        The share [-].

    Examples
    --------
    >>> percent(0.9515), percent(0.95), percent(1.0)
    ('95.15 %', '95 %', '100 %')
    """
    text = figures(100.0 * share)
    if text == "100" and share < 1.0:
        return "almost 100 %"
    return f"{text} %"


def whole(value: float, name: str, *, low: int, high: int | None = None) -> int:
    """The value itself, if it is a whole number of fish that can be.

    Parameters
    ----------
    value
        What was given [count].
    name
        The word for it in the sentence, also the `field` of the error.
    low, high
        The least and the greatest that can be [count].

    Raises
    ------
    BadInput
        It is not whole, or cannot be.
    """
    number = given(value, name, low=low, high=math.inf if high is None else high)
    if number != int(number):
        raise BadInput(f"The {name} must be a whole number.", field=name)
    return int(number)


def given_confidence(confidence: float) -> float:
    """A confidence above 0 and below 1, which is no certainty.

    Parameters
    ----------
    confidence
        What was given [-].

    Raises
    ------
    BadInput
        It lies elsewhere.
    """
    if confidence >= 1.0:
        raise BadInput(
            "The confidence must be below 100 %: no sample short of every fish makes certain.",
            field="confidence",
        )
    return given(confidence, "confidence", above=0.0)

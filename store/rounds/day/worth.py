"""What a visit that nobody has booked is worth in minutes of driving, by its weight on the desk."""

from __future__ import annotations

from store.water.given import figures

WORTH_MIN = 10.0
"""Common practice: each point of weight on the desk is worth so much driving [min]."""
WORTH_MOST_MIN = 240
"""Common practice: no visit that nobody has booked is worth more driving than this [min]."""


def worth_min(weight: float) -> int:
    """What a visit is worth [min of driving].

    Parameters
    ----------
    weight
        Of all that it keeps, as the desk weighs it [-].

    Examples
    --------
    A dose in its window weighs 8, a routine test 1:

    >>> worth_min(8.0), worth_min(1.0), worth_min(90.0)
    (80, 10, 240)
    """
    return min(WORTH_MOST_MIN, round(weight * WORTH_MIN))


def worth_said(weight: float) -> str:
    """The same with its arithmetic in words.

    Parameters
    ----------
    weight
        As for `worth_min` [-].

    Examples
    --------
    >>> worth_said(8.0)
    'weight 8 × 10 min = worth 80 min of driving'
    """
    most = "at most " if weight * WORTH_MIN > WORTH_MOST_MIN else ""
    return (
        f"weight {figures(weight)} × {WORTH_MIN:g} min = {most}worth {worth_min(weight)} min of "
        "driving"
    ).replace("= at most worth", "= worth at most")

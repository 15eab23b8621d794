"""Bands of the day, so that readings taken at the same time of day are compared with each other."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

BANDS = ("morning", "midday", "afternoon", "night")
"""In the order of a day; each lasts until the next begins."""


class Moment(NamedTuple):
    """When a reading was taken, in the practice's time."""

    at_ms: int
    day: date
    band: str


def band_of(hour: float, begins: Mapping[str, float]) -> str:
    """The band of the day in which an hour lies.

    Parameters
    ----------
    hour
        Local hour with its fraction [h, 0 up to 24].
    begins
        When each band begins [h], in the order of `BANDS`.

    Returns
    -------
    str
        One of `BANDS`; the night reaches over midnight.

    Examples
    --------
    >>> begins = {"morning": 4.0, "midday": 10.0, "afternoon": 15.0, "night": 20.0}
    >>> [band_of(hour, begins) for hour in (3.9, 7.5, 10.0, 17.0, 23.0)]
    ['night', 'morning', 'midday', 'afternoon', 'night']
    """
    found = "night"
    for band in BANDS:
        if hour >= begins[band]:
            found = band
    return found


def alike(earlier: Moment, later: Moment) -> bool:
    """Whether two readings were taken at like hours of one day or of two that follow each other.

    Parameters
    ----------
    earlier, later
        When they were taken.
    """
    return earlier.band == later.band and (later.day - earlier.day).days <= 1


def later_in_the_light(earlier: Moment, later: Moment) -> bool:
    """Whether the second reading was taken in a later band of the same day, before the night.

    Parameters
    ----------
    earlier, later
        When they were taken.
    """
    return (
        earlier.day == later.day
        and later.band != "night"
        and BANDS.index(earlier.band) < BANDS.index(later.band)
    )

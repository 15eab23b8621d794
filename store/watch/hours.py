"""Bands of the day, so that readings taken at the same time of day are compared with each other."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

DAWN_ENDS_HOUR = 9.0
"""Oxygen taken later in the day does not show how little there was at dawn; common practice."""
WARM_C = 22.0
"""From here on warm water holds little oxygen and its night uses much of it; common practice."""
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


def by_day(hour: float, temperature_c: float | None = None) -> str:
    """What to say of oxygen that was taken at an hour of the day; empty for one of the early hours.

    Parameters
    ----------
    hour
        Local hour with its fraction [h, 0 up to 24].
    temperature_c
        Of the water, where it is known [°C].

    Examples
    --------
    >>> by_day(13.25, 24.0)
    'Taken at 13:15. Oxygen is lowest at dawn: the water is warm, so read it then as well.'
    >>> by_day(6.0, 24.0)
    ''
    """
    if hour < DAWN_ENDS_HOUR:
        return ""
    minutes = round(hour * 60.0)
    said = f"Taken at {minutes // 60 % 24:02d}:{minutes % 60:02d}. Oxygen is lowest at dawn"
    if temperature_c is not None and temperature_c >= WARM_C:
        return f"{said}: the water is warm, so read it then as well."
    return f"{said}; a reading by day does not show the night."

"""Sunrise and sunset of a day at a place, by the clock on the wall."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from zoneinfo import ZoneInfo

from store.rounds.solving.problem import DAY_MIN
from store.travel.place import Place

Polar = Literal["", "all day", "all night"]
_HORIZON_DEG = -0.833


@dataclass(frozen=True, slots=True)
class Light:
    """When the sun rises and sets [min of the local day]; `polar` where it does not.

    Of a day on which the sun stays up or down `rises` is 0 and `sets` 1440, or both are 720.
    """

    rises: int
    sets: int
    polar: Polar = ""


def light_on(place: Place, day: date, zone: ZoneInfo) -> Light:
    """Sunrise and sunset: the upper edge of the sun on a level horizon, air bending its light.

    Parameters
    ----------
    place
        Where.
    day
        The local day.
    zone
        Whose wall clock is read.

    Returns
    -------
    Light
        To the minute; at high latitudes some minutes may be off.

    Notes
    -----
    By the package `astral`, after the formulas of J. Meeus, Astronomical Algorithms (1991), as the
    solar calculator of the NOAA uses them; the sun's centre stands 0.833° below the horizon.

    Examples
    --------
    >>> london = Place(51.4769, -0.0005)
    >>> light_on(london, date(2026, 6, 21), ZoneInfo("Europe/London"))
    Light(rises=283, sets=1281, polar='')
    """
    from astral import Observer
    from astral.sun import elevation, noon, sunrise, sunset

    observer = Observer(place.latitude, place.longitude)
    try:
        rises, sets = sunrise(observer, day, zone), sunset(observer, day, zone)
    except ValueError:  # the sun does not cross the horizon
        if elevation(observer, noon(observer, day, zone)) > _HORIZON_DEG:
            return Light(0, DAY_MIN, "all day")
        return Light(DAY_MIN // 2, DAY_MIN // 2, "all night")
    first, last = _minute(rises, day), _minute(sets, day)
    # Where the sun sets behind midnight it is the setting of the evening before that is given.
    return Light(first, last if last > first else DAY_MIN)


def _minute(at: datetime, day: date) -> int:
    """The minute of a day that the wall clock shows, within that day [min]."""
    if at.date() != day:
        return 0 if at.date() < day else DAY_MIN
    return round((at.hour * 3600 + at.minute * 60 + at.second) / 60)


def middle_of(places: Iterable[Place]) -> Place | None:
    """The mean of some places, None without any; they lie within a day's drive.

    Parameters
    ----------
    places
        The places.
    """
    known = tuple(places)
    if not known:
        return None
    return Place(
        sum(one.latitude for one in known) / len(known),
        sum(one.longitude for one in known) / len(known),
    )

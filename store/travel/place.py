"""Points on the ground and how far they lie apart, as straight lines over the ground."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, radians, sin, sqrt

EARTH_RADIUS_KM = 6371.0088
"""Mean radius R1 of the reference ellipsoid: Moritz, H. 2000, Geodetic Reference System 1980,
Journal of Geodesy 74, 128–133."""


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the ground, WGS 84 [degrees]."""

    latitude: float
    longitude: float


def place_of(latitude: float | None, longitude: float | None) -> Place | None:
    """The place, None where one of the two is not known.

    Parameters
    ----------
    latitude, longitude
        North and east of Greenwich positive [degrees].
    """
    return None if latitude is None or longitude is None else Place(latitude, longitude)


def distance_km(one: Place, other: Place) -> float:
    """The straight distance over the ground by the haversine formula [km].

    hav(d / R) = hav(Δlat) + cos(lat1) cos(lat2) hav(Δlon), with hav(x) = sin²(x / 2), on a sphere.

    Parameters
    ----------
    one, other
        Two places; the order does not matter.

    Returns
    -------
    float
        From 0 to half of the way round the earth [km].

    Notes
    -----
    The earth is no sphere: against the ellipsoid the result errs by up to 0.6 %.

    Examples
    --------
    A degree along the equator is 2π × 6371.0088 / 360 km:

    >>> round(distance_km(Place(0.0, 0.0), Place(0.0, 1.0)), 3)
    111.195

    References
    ----------
    Sinnott, R. W. 1984, Virtues of the haversine, Sky and Telescope 68 (2), 159.
    """
    lat1, lat2 = radians(one.latitude), radians(other.latitude)
    up, along = lat2 - lat1, radians(other.longitude - one.longitude)
    hav = sin(up / 2) ** 2 + cos(lat1) * cos(lat2) * sin(along / 2) ** 2
    return 2 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(hav)))

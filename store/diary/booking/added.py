"""How long a drive takes, and what a visit adds to a day's way, by straight lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from store.travel.place import Place, distance_km

SPEED_KM_H = 40.0
"""Common practice: what a van keeps between gardens, town and country together."""
DETOUR = 1.3
"""Common practice: roads are about that many times as long as the straight line."""
UNKNOWN_DRIVE_MIN = 20
"""Common practice: what is left between two visits where a place is not known [min]."""


def drive_min(straight_km: float | None) -> int:
    """Whole minutes that a drive is reckoned to take [min].

    Parameters
    ----------
    straight_km
        Straight distance [km]; None where a place is not known gives `UNKNOWN_DRIVE_MIN`.

    Returns
    -------
    int
        Distance × `DETOUR` ÷ `SPEED_KM_H`, rounded up [min].

    Examples
    --------
    4 km × 1.3 ÷ 40 km/h = 7.8 min

    >>> drive_min(4.0), drive_min(0.0), drive_min(None)
    (8, 0, 20)
    """
    if straight_km is None:
        return UNKNOWN_DRIVE_MIN
    return ceil(round(straight_km * DETOUR / SPEED_KM_H * 60, 6))


def said_drive() -> str:
    """On what the minutes of a drive rest, in one sentence."""
    return (
        f"Drives: {SPEED_KM_H:g} km/h over {DETOUR:g} times the straight distance, common practice."
    )


@dataclass(frozen=True, slots=True)
class Call:
    """A visit as a point on the way of a day; `minute` is None while no hour was agreed [min]."""

    place: Place
    minute: int | None


def added_way(
    calls: Sequence[Call], here: Place, minute: int | None, start: Place | None
) -> float | None:
    """What one more visit adds to the way of a day, as straight distance [km].

    Visits with an hour keep their order, and one without is put where it adds least; the new one
    stands between its neighbours by the hour, at the cheapest place where its hour leaves a choice.

    Parameters
    ----------
    calls
        The visits of the day whose place is known, in any order.
    here
        Where the new visit is.
    minute
        Its hour as minutes since the beginning of the day [min]; None leaves the place free.
    start
        Where the day begins and ends; None where it is not known, and the way then goes from the
        first visit to the last.

    Returns
    -------
    float or None
        Never below zero [km]; None where nothing else is known of the day, neither a visit nor its
        start.

    Examples
    --------
    >>> north, south = Place(1.0, 0.0), Place(-1.0, 0.0)
    >>> on_the_way = added_way([Call(north, 540), Call(south, 660)], Place(0.0, 0.0), 600, None)
    >>> round(on_the_way, 6)
    0.0
    >>> added_way([], north, 600, None) is None
    True
    """
    if not calls and start is None:
        return None
    way = _in_order(calls, start)
    places = range(len(way) + 1)
    if minute is not None:
        hours = [(at, one.minute) for at, one in enumerate(way) if one.minute is not None]
        first = max((at + 1 for at, hour in hours if hour < minute), default=0)
        last = min((at for at, hour in hours if hour >= minute), default=len(way))
        places = range(first, last + 1)
    _where, km = _cheapest(way, here, places, start)
    return km


def way_km(calls: Sequence[Call], start: Place | None = None) -> float:
    """The way of a day from visit to visit, as straight distance [km].

    Parameters
    ----------
    calls
        The visits of the day whose place is known, in any order; those with an hour keep it, each
        without is put where it adds least.
    start
        Where the day begins and ends; None leaves both ways out.

    Examples
    --------
    >>> calls = [Call(Place(0.0, 1.0), 660), Call(Place(0.0, 0.0), 540)]
    >>> round(way_km(calls), 1), round(way_km(calls, Place(0.0, 0.0)), 1)
    (111.2, 222.4)
    """
    way = [one.place for one in _in_order(calls, start)]
    if start is not None and way:
        way = [start, *way, start]
    return sum(distance_km(one, other) for one, other in pairwise(way))


def _in_order(calls: Sequence[Call], start: Place | None) -> list[Call]:
    """Visits by their hour, each without one put where it adds least."""
    way = sorted((one for one in calls if one.minute is not None), key=lambda one: one.minute or 0)
    for loose in (one for one in calls if one.minute is None):
        where, _km = _cheapest(way, loose.place, range(len(way) + 1), start)
        way.insert(where, loose)
    return way


def _cheapest(
    way: Sequence[Call], here: Place, places: range, start: Place | None
) -> tuple[int, float]:
    found = [(_detour_km(way, here, at, start), at) for at in places]
    km, at = min(found)
    return at, km


def _detour_km(way: Sequence[Call], here: Place, at: int, start: Place | None) -> float:
    before = way[at - 1].place if at > 0 else start
    after = way[at].place if at < len(way) else start
    if before is None and after is None:
        return 0.0
    if before is None or after is None:
        return distance_km(here, before or after or here)
    straight = distance_km(before, after)
    return max(0.0, distance_km(before, here) + distance_km(here, after) - straight)

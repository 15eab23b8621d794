"""What one more visit adds to the way of a day, and how long that way is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from store.diary.booking.values import DrivesOn
from store.diary.booking.ways import Ways, together
from store.travel.ways import Basis, Stop


@dataclass(frozen=True, slots=True)
class Call:
    """A visit on the way of a day; `minute` is None while no hour was agreed [min]."""

    stop: Stop
    minute: int | None


@dataclass(frozen=True, slots=True)
class Added:
    """What a visit adds to a day's way [min].

    `km` is by road, None where the practice's table has no distance [km]; `rests_on` tells what
    the drives rest on.
    """

    minutes: int
    km: float | None
    rests_on: DrivesOn


def added_way(
    calls: Sequence[Call],
    here: Stop,
    minute: int | None,
    ways: Ways,
    start: Stop | None = None,
    home: Stop | None = None,
) -> Added | None:
    """What one more visit adds to the drives of a day, where it is put in at the least cost.

    Visits with an hour keep their order, and one without is put where it adds least; the new one
    stands between its neighbours by the hour, at the cheapest place where its hour leaves a choice.

    Parameters
    ----------
    calls
        The visits of the day, in any order. Those whose way to or from here is not known are left
        out of it.
    here
        Where the new visit is.
    minute
        Its hour as minutes since the beginning of the day [min]; None leaves the place free.
    ways
        The ways between all of them.
    start, home
        Where the day begins and where it ends; None where it is not known, and the way then goes
        from the first visit, or to the last.

    Returns
    -------
    Added or None
        Never below zero; None where nothing else is known of the day, neither a visit nor its
        start nor its end.

    Examples
    --------
    >>> from uuid import UUID
    >>> from store.travel.place import Place
    >>> ways = Ways()
    >>> north, here, south = (
    ...     ways.site(UUID(int=at), "", Place(51.0 - at / 10, 0.0)) for at in range(3)
    ... )
    >>> added_way([Call(north, 540), Call(south, 660)], here, 600, ways).minutes
    5
    >>> added_way([], north, 600, ways) is None
    True
    """
    calls = [one for one in calls if ways.way(here, one.stop).known]
    start = start if start is not None and ways.way(start, here).known else None
    home = home if home is not None and ways.way(here, home).known else None
    if not calls and start is None and home is None:
        return None
    day = _Day(ways, start, home)
    way = day.in_order(calls)
    places = range(len(way) + 1)
    if minute is not None:
        hours = [(at, one.minute) for at, one in enumerate(way) if one.minute is not None]
        first = max((at + 1 for at, hour in hours if hour < minute), default=0)
        last = min((at for at, hour in hours if hour >= minute), default=len(way))
        places = range(first, last + 1)
    return day.detour(way, here, day.cheapest(way, here, places))


def way_min(
    calls: Sequence[Call], ways: Ways, start: Stop | None = None, home: Stop | None = None
) -> int:
    """The drives of a day from visit to visit, from its start and home where these are known [min].

    Parameters
    ----------
    calls
        The visits of the day, in any order; those with an hour keep it, each without is put where
        it adds least. A way that is not known has its stand-in.
    ways
        The ways between all of them.
    start, home
        Where the day begins and where it ends; None leaves that way out.

    Returns
    -------
    int
        Zero for a day without visits.
    """
    way: list[Stop] = [one.stop for one in _Day(ways, start, home).in_order(calls)]
    if not way:
        return 0
    if start is not None:
        way.insert(0, start)
    if home is not None:
        way.append(home)
    return sum(ways.way(one, other).planned_min for one, other in pairwise(way))


@dataclass(frozen=True, slots=True)
class _Day:
    """The ends of a day, and the ways between all that lies in it."""

    ways: Ways
    start: Stop | None
    home: Stop | None

    def in_order(self, calls: Sequence[Call]) -> list[Call]:
        """Visits by their hour, each without one put where it adds least."""
        way = sorted(
            (one for one in calls if one.minute is not None), key=lambda one: one.minute or 0
        )
        for loose in (one for one in calls if one.minute is None):
            way.insert(self.cheapest(way, loose.stop, range(len(way) + 1)), loose)
        return way

    def cheapest(self, way: Sequence[Call], here: Stop, places: range) -> int:
        """Where one more stop adds least: in minutes, then in kilometres, then the first place."""
        if len(places) == 1:
            return places[0]
        found = [(self.detour(way, here, at), at) for at in places]
        return min((one.minutes, one.km if one.km is not None else 0.0, at) for one, at in found)[2]

    def detour(self, way: Sequence[Call], here: Stop, at: int) -> Added:
        """What a stop adds at one place."""
        before = way[at - 1].stop if at > 0 else self.start
        after = way[at].stop if at < len(way) else self.home
        driven = [self.ways.way(before, here)] if before is not None else []
        if after is not None:
            driven.append(self.ways.way(here, after))
        bases: list[Basis] = [one.basis for one in driven]
        minutes = sum(one.planned_min for one in driven)
        km = None if any(one.km is None for one in driven) else sum(one.km or 0.0 for one in driven)
        if before is not None and after is not None and way:  # an empty day is no drive
            spared = self.ways.way(before, after)
            bases.append(spared.basis)
            minutes -= spared.planned_min
            km = None if km is None or spared.km is None else km - spared.km
        return Added(max(0, minutes), None if km is None else max(0.0, km), together(bases))

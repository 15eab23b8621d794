"""How long a drive takes that nobody has timed: the straight line, made longer, at some speed."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from store.facts.driving import driving


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A drive as it is reckoned: by road [km], at so much on average [km/h], whole minutes [min].

    `least` tells that it is the least that any drive is put at.
    """

    straight_km: float
    road_km: float
    km_h: float
    minutes: int
    least: bool

    @property
    def said(self) -> str:
        """What it rests on, such as `reckoned: 14.2 km straight × 1.3 at 44 km/h`."""
        if self.least:
            return f"reckoned: {self.straight_km:.1f} km straight, {self.minutes} min at the least"
        return (
            f"reckoned: {self.straight_km:.1f} km straight × {driving().detour:g} at "
            f"{self.km_h:.0f} km/h"
        )


def reckoned(straight_km: float) -> Reckoned:
    """How long a drive over a straight distance is reckoned to take.

    The way by road is the straight distance times the detour factor of `store.facts.driving`; each
    stretch of it is driven at its own speed: streets and lanes first, then country roads, then main
    roads. All of it is common practice.

    Parameters
    ----------
    straight_km
        Straight distance over the ground, not below zero [km].

    Returns
    -------
    Reckoned
        Minutes rounded up, never fewer than the least [min].

    Notes
    -----
    The speed rises with the way, so a longer way never takes less time, and going by a third place
    never is quicker than going straight. Ferries, mountains and queues are not in it: those are for
    the practice's own table.

    Examples
    --------
    14.2 km × 1.3 = 18.46 km: 5 km ÷ 30 km/h and 13.46 km ÷ 55 km/h are 10 + 14.7 min.

    >>> one = reckoned(14.2)
    >>> one.minutes, round(one.km_h), one.said
    (25, 45, 'reckoned: 14.2 km straight × 1.3 at 45 km/h')
    >>> reckoned(0.4).said
    'reckoned: 0.4 km straight, 5 min at the least'
    """
    facts = driving()
    road_km = straight_km * facts.detour
    short_km = min(road_km, facts.short_km)
    middle_km = min(road_km, facts.middle_km) - short_km
    long_km = road_km - short_km - middle_km
    hours = short_km / facts.short_km_h + middle_km / facts.middle_km_h + long_km / facts.long_km_h
    # Rounded first: a whole number of minutes must not become one more by its last binary digit.
    minutes = ceil(round(hours * 60, 6))
    km_h = road_km / hours if hours else facts.short_km_h
    least = minutes <= facts.least_min
    return Reckoned(straight_km, road_km, km_h, max(minutes, facts.least_min), least)


def said_reckoned() -> str:
    """How every drive is reckoned that the practice's table does not hold, in two sentences."""
    facts = driving()
    return (
        f"Drives that the practice's table does not hold are reckoned: the straight distance × "
        f"{facts.detour:g}, the first {facts.short_km:g} km at {facts.short_km_h:g} km/h, up to "
        f"{facts.middle_km:g} km at {facts.middle_km_h:g}, the rest at {facts.long_km_h:g}, never "
        f"below {facts.least_min} min. That is common practice, and knows no ferry and no queue."
    )

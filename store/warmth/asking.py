"""Whom to ask for a thermometer reading: what one reading of a pond would decide.

An estimate says of each window how likely the water lies inside. A reading settles it; what it
settles is most where the chance is a half, and nothing where it is known already.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from statistics import NormalDist
from typing import NamedTuple
from uuid import UUID

from store.warmth.estimate import EIGHTY, Ahead


class Stake(NamedTuple):
    """A window in force at a pond, and what it weighs."""

    code: str
    """By which it is told from others; given back as it came."""
    low_c: float
    high_c: float
    """The ends of the band [°C]; may be infinite."""
    within_days: int
    """On how many days after today the water may be expected inside [d]."""
    weight: float


class Decides(NamedTuple):
    """What a reading decides of one window."""

    code: str
    chance: float
    """The greatest of the days looked at that the water lies inside, 0 to 1."""
    day: int
    """Ordinal of the day of that chance, the first of several."""
    weight: float
    worth: float
    """`min(chance, 1 - chance)` times the weight."""


class WorthAsking(NamedTuple):
    """A pond of which one reading today would decide something."""

    pond: UUID
    worth: float
    """The sum over the windows, and over what else waits for the temperature."""
    decides: tuple[Decides, ...]
    """What is worth most first."""
    waiting: float
    """Its part for what waits for the water's temperature whatever it is."""


def greatest_chance(
    ahead: Ahead, low_c: float, high_c: float, within_days: int
) -> tuple[float, int]:
    """The greatest chance of lying in a band today or on a day to come.

    Parameters
    ----------
    ahead
        The estimate.
    low_c, high_c
        The ends of the band [°C]; may be infinite.
    within_days
        Days after today that are looked at, as far as the estimate reaches [d].

    Returns
    -------
    tuple of float and int
        0 to 1, and the ordinal of its day.
    """
    last = min(ahead.today + within_days, ahead.first + len(ahead.means_c) - 1)
    best, on = -1.0, ahead.today
    for day in range(ahead.today, last + 1):
        chance = ahead.inside(day, low_c, high_c)
        if chance > best:
            best, on = chance, day
    return min(max(best, 0.0), 1.0), on


def worth_asking(
    pond: UUID,
    ahead: Ahead,
    stakes: Sequence[Stake],
    *,
    least_chance: float,
    thermometer_c: float,
    waiting: float = 0.0,
) -> WorthAsking | None:
    """What one reading today would decide at a pond that nobody has read today.

    Parameters
    ----------
    pond
        Key of the pond.
    ahead
        The estimate, seen from today.
    stakes
        Windows in force there: not silenced, not at rest, no course against their hazard.
    least_chance
        A window with a chance below this, or above 1 less this, counts as decided, 0 to 0.5 [of 1].
    thermometer_c
        How far a thermometer may be off: where half of today's interval is no wider, a reading
        says nothing new [°C].
    waiting
        The weight of what waits for the water's temperature whatever it is; it counts as a window
        at whose edge the water lies, 0 for nothing [times].

    Returns
    -------
    WorthAsking or None
        None where a reading would decide nothing. Windows of one band count each.
    """
    if EIGHTY * ahead.at(ahead.today)[1] <= thermometer_c:
        return None
    found = []
    known: dict[tuple[float, float, int], tuple[float, int]] = {}  # many hazards share a band
    for stake in stakes:
        band = stake.low_c, stake.high_c, stake.within_days
        if band not in known:
            near = _near(ahead, stake, least_chance)
            known[band] = greatest_chance(ahead, *band) if near else (0.0, ahead.today)
        chance, day = known[band]
        share = min(chance, 1.0 - chance)
        if share >= least_chance and share > 0.0:
            found.append(Decides(stake.code, chance, day, stake.weight, share * stake.weight))
    if not found and waiting <= 0.0:
        return None
    found.sort(key=lambda one: (-one.worth, one.code))
    waits = 0.5 * waiting
    return WorthAsking(pond, sum(one.worth for one in found) + waits, tuple(found), waits)


def most_worth(found: Iterable[WorthAsking], most: int) -> tuple[WorthAsking, ...]:
    """Those of which a reading would decide most, in an order that rests on nothing else.

    Parameters
    ----------
    found
        Ponds in any order.
    most
        How many at the most [ponds].
    """
    return tuple(sorted(found, key=order_of))[:most]


def order_of(one: WorthAsking) -> tuple[float, UUID]:
    """By what ponds are sorted: worth most first; worth the same to nine digits, by their keys.

    Parameters
    ----------
    one
        A pond.
    """
    return -round(one.worth, 9), one.pond


def _near(ahead: Ahead, stake: Stake, least_chance: float) -> bool:
    """Whether a window may be undecided; the others are passed over without a chance reckoned.

    It is decided where no day's mean comes near enough for the least chance, and where one lies so
    deep inside that no end takes half of it.
    """
    at = ahead.today - ahead.first
    means = ahead.means_c[at : at + stake.within_days + 1]
    spreads = ahead.spreads_c[at : at + stake.within_days + 1]
    far_c = _deviations(least_chance) * max(spreads)
    if max(means) < stake.low_c - far_c or min(means) > stake.high_c + far_c:
        return False
    deep = _deviations(least_chance / 2.0)
    return not any(
        stake.low_c + deep * spread <= mean <= stake.high_c - deep * spread
        for mean, spread in zip(means, spreads, strict=True)
    )


@cache
def _deviations(chance: float) -> float:
    """So many standard deviations beyond its mean lies what a normal value exceeds by a chance."""
    return -NormalDist().inv_cdf(chance) if chance > 0.0 else math.inf

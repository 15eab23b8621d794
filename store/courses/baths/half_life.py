"""How fast trichlorfon breaks down: the published half-lives, and what may be said between them.

They explain why the same dose lasts weeks in one pond and an hour in another. They are never used
to say that it is gone: what it turns into, dichlorvos, is the stronger poison and lasts longer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.half_lives import HalfLifePoint, half_lives
from store.facts.sources import cite_with_standing
from store.water.given import (
    ZERO_CELSIUS_K,
    figures,
    given_ph,
    given_temperature,
    said_minutes,
)

LOW_PH = 7.0
"""Nothing is reckoned below: the acid points lie too far from each other [pH]."""
RANGE = "pH 7-9 at 22-25 °C, and pH 7-8 up to 37.5 °C"
"""Where a half-life is reckoned between published points."""


@dataclass(frozen=True, slots=True)
class HalfLifeBounds:
    """What the published points say by order alone: colder and more acid water keeps it longer.

    `low_h` is None where nothing published lies on the faster side, `high_h` where nothing lies on
    the slower. `points` are those that set them.
    """

    low_h: float | None
    high_h: float | None
    points: tuple[HalfLifePoint, ...]
    says: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HalfLife:
    """A half-life reckoned between published points, with the bounds that they set by order."""

    half_life_h: float
    low_h: float | None
    high_h: float | None
    points: tuple[HalfLifePoint, ...]
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def trichlorfon_bounds(ph: float, temperature_c: float) -> HalfLifeBounds:
    """Between which published half-lives that of this water must lie; never a guess beyond them.

    Every published point in water that is neither more alkaline nor warmer is at least as long,
    every point in water that is neither more acid nor colder at most as long.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    HalfLifeBounds
        The bounds [h]; an end is None where nothing is published on that side.

    Raises
    ------
    BadInput
        A number that cannot exist.

    Notes
    -----
    That half-lives fall with pH and with temperature is how all the published points lie, but for
    pH 9, where two publications differ by a minute.

    Examples
    --------
    >>> bounds = trichlorfon_bounds(6.8, 19.0)
    >>> bounds.low_h, bounds.high_h
    (46.0, None)
    """
    given_ph(ph)
    given_temperature(temperature_c)
    published = half_lives()["trichlorfon"].points
    slower = [one for one in published if one.ph <= ph and one.temp_c <= temperature_c]
    faster = [
        one for one in published if one.ph >= ph and one.temp_c >= temperature_c and not one.at_most
    ]
    upper = min(slower, key=lambda one: one.half_life_h, default=None)
    lower = max(faster, key=lambda one: one.half_life_h, default=None)
    low_h = None if lower is None else lower.half_life_h
    high_h = None if upper is None else upper.half_life_h
    remarks: tuple[str, ...] = ()
    if low_h is not None and high_h is not None and low_h > high_h:
        low_h, high_h = high_h, low_h
        remarks = ("Here the publications disagree; both figures are shown.",)
    points = tuple(dict.fromkeys(one for one in (lower, upper) if one is not None))
    return HalfLifeBounds(
        low_h, high_h, points, _says(low_h, high_h), _sources(points), "from memory", remarks
    )


def trichlorfon_half_life(ph: float, temperature_c: float) -> HalfLife:
    """The half-life of trichlorfon in water, reckoned only between published points.

    Along each published temperature the logarithm is linear in pH, between two temperatures in
    1 / absolute temperature.

    Parameters
    ----------
    ph
        pH of the water at the hour of the dose [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    HalfLife
        Half-life, and the bounds that the points set by order [h].

    Raises
    ------
    BadInput
        Outside pH 7-9 at 22-25 °C and pH 7-8 up to 37.5 °C; the sentence says what is known there.

    Notes
    -----
    All points are recalled. In a green pond pH may rise by one within the day, and the half-life
    falls sevenfold.

    Examples
    --------
    >>> round(trichlorfon_half_life(8.8, 25.0).half_life_h * 60.0)
    47
    >>> round(trichlorfon_half_life(7.9, 25.0).half_life_h, 1)
    5.2

    References
    ----------
    US EPA 1997, EPA 738-R-96-017; The Pesticide Manual; IPCS 1992, EHC 132 (all from memory).
    """
    bounds = trichlorfon_bounds(ph, temperature_c)
    found = _between(ph, temperature_c)
    if found is None:
        in_ph = LOW_PH <= ph <= 9.0 and not (ph > 8.0 and temperature_c > 25.0)
        raise BadInput(
            f"No half-life of trichlorfon can be given for pH {figures(ph)} at "
            f"{figures(temperature_c)} °C: it is reckoned between published points only, {RANGE}. "
            f"{bounds.says}{_colder(ph, temperature_c)} Reckon a course without any loss.",
            field="temperature" if in_ph else "pH",
            title="Outside the published range",
        )
    half_life_h, points, arithmetic = found
    remarks = [*bounds.remarks]
    if any(one.at_most for one in points):
        remarks.append("One of the points is printed as 'less than': it may be shorter still.")
    remarks += [
        "It shows why effects vary, and is never a promise of what is left: the figures are "
        "recalled, and mud, light and algae count too.",
        _dichlorvos(),
        "Give it early in the morning, when pH and temperature are lowest, with the pH measured "
        "within two hours before; never a larger dose to make up for it (common practice).",
    ]
    return HalfLife(
        half_life_h,
        bounds.low_h,
        bounds.high_h,
        points,
        arithmetic,
        _sources(points),
        "from memory",
        tuple(remarks),
    )


def _colder(ph: float, temperature_c: float) -> str:
    """What 25 °C says of colder water at the same pH: that it is longer there."""
    along = _along(25.0, ph) if temperature_c < 22.0 else None
    if along is None:
        return ""
    return (
        f" In colder water it is longer than the {said_minutes(math.exp(along[0]) * 60.0)} of "
        "25 °C."
    )


def _along(temp_c: float, ph: float) -> tuple[float, tuple[HalfLifePoint, ...]] | None:
    """The logarithm of the half-life on one published temperature, and its two points."""
    line = sorted(
        (
            one
            for one in half_lives()["trichlorfon"].points
            if one.temp_c == temp_c and one.ph >= LOW_PH
        ),
        key=lambda one: one.ph,
    )
    for left, right in pairwise(line):
        if left.ph <= ph <= right.ph:
            share = (ph - left.ph) / (right.ph - left.ph)
            log_h = (1.0 - share) * math.log(left.half_life_h) + share * math.log(right.half_life_h)
            used = tuple(
                one for one, weight in ((left, 1.0 - share), (right, share)) if weight > 0.0
            )
            return log_h, used
    return None


def _between(
    ph: float, temperature_c: float
) -> tuple[float, tuple[HalfLifePoint, ...], str] | None:
    temps = sorted({one.temp_c for one in half_lives()["trichlorfon"].points})
    for cold, warm in pairwise(temps):
        if not cold <= temperature_c <= warm:
            continue
        share = (1.0 / (cold + ZERO_CELSIUS_K) - 1.0 / (temperature_c + ZERO_CELSIUS_K)) / (
            1.0 / (cold + ZERO_CELSIUS_K) - 1.0 / (warm + ZERO_CELSIUS_K)
        )
        parts = [
            (temp, weight, _along(temp, ph))
            for temp, weight in ((cold, 1.0 - share), (warm, share))
            if weight > 0.0
        ]
        known = [(temp, weight, part) for temp, weight, part in parts if part is not None]
        if len(known) < len(parts):
            continue
        half_life_h = math.exp(sum(weight * part[0] for _, weight, part in known))
        points = tuple(one for _, _, part in known for one in part[1])
        steps = [
            f"{figures(temp)} °C: "
            + " and ".join(f"{one.printed} at pH {figures(one.ph)}" for one in part[1])
            + (
                f" give {said_minutes(math.exp(part[0]) * 60.0)} at pH {figures(ph)}"
                if len(part[1]) > 1
                else ""
            )
            for temp, _, part in known
        ]
        if len(known) > 1:
            steps.append(
                f"between them {said_minutes(half_life_h * 60.0)} at {figures(temperature_c)} °C"
            )
        return half_life_h, points, "; ".join(steps)
    return None


def _says(low_h: float | None, high_h: float | None) -> str:
    if low_h is not None and high_h is not None:
        return (
            f"By the published points it lies between {said_minutes(low_h * 60.0)} and "
            f"{said_minutes(high_h * 60.0)}."
        )
    if low_h is not None:
        return f"By the published points it is at least {said_minutes(low_h * 60.0)}."
    if high_h is not None:
        return f"By the published points it is at most {said_minutes(high_h * 60.0)}."
    return "Nothing published bounds it there."


def _sources(points: tuple[HalfLifePoint, ...]) -> str:
    named = dict.fromkeys(cite_with_standing(one.source, one.standing) for one in points)
    return "; ".join(named)


def _dichlorvos() -> str:
    first = {one.ph: one for one in half_lives()["trichlorfon"].points if one.temp_c == 37.5}
    after = {one.ph: one for one in half_lives()["dichlorvos"].points}
    return (
        "It turns into dichlorvos, the stronger poison, which lasts longer in alkaline water: "
        f"{after[8.0].printed} against {first[8.0].printed} at pH 8 and 37.5 °C."
    )

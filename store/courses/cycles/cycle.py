"""The days between doses, and how many, from the life cycle of the parasite at the pond's water.

A dose reaches some stages and not others. Repeats are timed so that whatever outlives one dose has
become a stage that the next one reaches, before it can breed. `covers` says whether a given course
does that over the temperatures that a pond really had.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from store.courses.cycles.coverage import WHOLE_KILL, Coverage, covers, days_until
from store.courses.cycles.points import (
    Estimate,
    cited,
    estimates,
    said_days,
    said_near,
    said_point,
    weakest,
)
from store.courses.cycles.stages import (
    Bound,
    Cycle,
    life_cycle,
    longest,
    outside_points,
    shortest,
    timed,
)
from store.facts.entry import Standing
from store.facts.life_cycles import LifeCycle, Series
from store.facts.sources import cite_with_standing
from store.water.given import figures, given_temperature

__all__ = [
    "Coverage",
    "Cycle",
    "Interval",
    "covers",
    "interval_over",
    "life_cycle",
    "proposed_interval",
]

_STAYS = "Reckoned for water that stays at this temperature: reckon again when it moves."
MANY_DOSES = 4
"""Beyond this a remark says what drives the number."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A proposal for the vet: `days` between two doses, whole and never rounded up, and how many
    `doses`; `days` is None where the life cycle asks for no repeat. `course_days` is the day of
    the last dose, the first being day 0. `alternates` are other published intervals. `over` tells
    in words of the days that it was reckoned over, and is empty where it was at `temp_c` alone."""

    hazard: str
    temp_c: float
    days: int | None
    doses: int
    course_days: int
    points: tuple[str, ...]
    arithmetic: str
    source: str
    standing: Standing
    alternates: tuple[str, ...]
    remarks: tuple[str, ...]
    over: str = ""


@dataclass(frozen=True, slots=True)
class _Gap:
    """The days between two doses before rounding, and what they rest on."""

    days: float
    said: str
    series: tuple[Series, ...]
    assumed: bool
    remarks: tuple[str, ...]


def proposed_interval(hazard: str, temp_c: float) -> Interval:
    """The interval and number of doses that the life cycle asks for at a water temperature.

    Parameters
    ----------
    hazard
        Code of the hazard, such as `gill_flukes`.
    temp_c
        Water temperature [°C].

    Returns
    -------
    Interval
        Whole days between two doses [days] and number of doses.

    Raises
    ------
    BadInput
        No timing is published for the hazard, or none that bears an interval at this temperature.

    Notes
    -----
    Egg layers: no gap is longer than the time in which the fastest young can lay, and the last dose
    falls on or after the last hatching of an egg laid before the first dose. Others: the advised
    interval, kept up for one whole cycle. The shorter estimate decides when a dose is due, the
    longer one when the course may end. An interval between published points is rounded down.

    Examples
    --------
    >>> found = proposed_interval("gill_flukes", 20.0)
    >>> found.days, found.doses, found.course_days
    (5, 3, 10)

    References
    ----------
    Gill flukes: Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6).
    """
    cycle = timed(hazard)
    given_temperature(temp_c)
    if cycle.timing == "none":
        return _no_repeat(cycle, temp_c)
    if cycle.timing == "eggs" and not estimates(cycle.stages["first_hatch"].series, temp_c):
        raise outside_points(cycle, "first_hatch", temp_c)
    gap = _gap(cycle, temp_c)
    days = max(1, math.floor(gap.days + 1e-9))
    end_days, end_said, end_series, end_remarks = _end(cycle, temp_c)
    doses = 1 + math.ceil(end_days / days - 1e-9)
    if cycle.timing == "eggs" and "last_hatch" not in cycle.stages:
        doses += 1
    doses = max(cycle.least_doses, doses)
    series = (*gap.series, *end_series)
    standing = weakest(one.standing for one in series)
    return Interval(
        hazard=cycle.hazard,
        temp_c=temp_c,
        days=days,
        doses=doses,
        course_days=(doses - 1) * days,
        points=tuple(dict.fromkeys(said_near(one, temp_c) for one in series)),
        arithmetic=f"{gap.said}, so every {days} d; {end_said}, so {doses} doses "
        f"on day {_said_list([number * days for number in range(doses)])}",
        source=cited(series),
        standing="common practice" if gap.assumed else standing,
        alternates=_alternates(cycle, temp_c),
        remarks=(
            *gap.remarks,
            *end_remarks,
            *_many(doses, days, end_days),
            *_why(cycle),
            WHOLE_KILL,
            _STAYS,
        ),
    )


def interval_over(
    hazard: str,
    colder_c: Sequence[float],
    expected_c: Sequence[float],
    warmer_c: Sequence[float],
    *,
    most_days: int | None = None,
) -> Interval:
    """The interval and number of doses over days whose water is expected, not at one temperature.

    Parameters
    ----------
    hazard
        Code of the hazard.
    colder_c, expected_c, warmer_c
        Daily water temperatures from the first dose on, not empty: as expected, and colder and
        warmer than that by what it may be out [°C].
    most_days
        The interval is not longer than this; None for no such limit [days].

    Returns
    -------
    Interval
        Whole days between two doses [days] and number of doses; `temp_c` is the mean of the days
        expected until the last dose [°C].

    Raises
    ------
    BadInput
        No timing is published for the hazard, or none that bears these temperatures.

    Notes
    -----
    Each day brings the limit of a gap nearer by the share that `proposed_interval` gives it: in the
    warmer water for the gap after every dose, in the colder water for the end of the course.

    Examples
    --------
    >>> found = interval_over("gill_flukes", [20.0], [20.0], [20.0])
    >>> found.days, found.doses
    (5, 3)
    """
    cycle = timed(hazard)
    for temp_c in (*colder_c, *expected_c, *warmer_c):
        given_temperature(temp_c)
    if cycle.timing == "none":
        return _no_repeat(cycle, expected_c[0])
    code = "whole_cycle" if cycle.timing == "cycle" else "last_hatch"
    code = code if code in cycle.stages else "first_hatch"
    end_days = days_until(colder_c, 0.0, lambda temp_c: longest(cycle, code, temp_c))
    if end_days is None:
        raise outside_points(cycle, code, colder_c[-1])
    days, after = most_days or math.floor(end_days) + 1, 0
    while after < end_days:
        allowed = days_until(warmer_c, after, lambda temp_c: _gap(cycle, temp_c).days)
        whole = days if allowed is None else max(1, math.floor(allowed + 1e-9))
        # A gap that must be shorter moves every dose: all are looked at again.
        days, after = (whole, 0) if whole < days else (days, after + days)
    doses = 1 + math.ceil(end_days / days - 1e-9)
    if cycle.timing == "eggs" and "last_hatch" not in cycle.stages:
        doses += 1
    doses = max(cycle.least_doses, doses)
    span = [expected_c[min(day, len(expected_c) - 1)] for day in range((doses - 1) * days + 1)]
    mean_c = math.fsum(span) / len(span)
    at_mean = proposed_interval(hazard, round(mean_c, 2))
    why = "in the warmer water that may come"
    if days == most_days:
        why = "as the water measured asks"
    steady = (_STAYS, *_many(at_mean.doses, at_mean.days or 1, _end(cycle, at_mean.temp_c)[0]))
    return replace(
        at_mean,
        days=days,
        doses=doses,
        course_days=(doses - 1) * days,
        arithmetic=f"every {days} d {why}, the end by day "
        f"{math.ceil(end_days - 1e-9)} in the colder, so {doses} doses on day "
        f"{_said_list([number * days for number in range(doses)])}; at their mean of "
        f"{figures(mean_c)} °C throughout: {at_mean.arithmetic}",
        remarks=(
            *(one for one in at_mean.remarks if one not in steady),
            *_many(doses, days, end_days),
            "Reckoned over the water that is expected: reckon again as it is read.",
        ),
        over=f"by the days it spans, {figures(min(span))} to {figures(max(span))} °C",
    )


def _no_repeat(cycle: LifeCycle, temp_c: float) -> Interval:
    return Interval(
        hazard=cycle.hazard,
        temp_c=temp_c,
        days=None,
        doses=cycle.least_doses,
        course_days=0,
        points=(),
        arithmetic=f"{cycle.organism}, breeding: {cycle.breeding}; nothing outlives a dose that "
        "works, so there is no interval to reckon"
        if cycle.least_doses
        else f"{cycle.organism} is a {cycle.breeding}: there is no dose to repeat",
        source=cite_with_standing(cycle.source, cycle.standing),
        standing=cycle.standing,
        alternates=(),
        remarks=_why(cycle),
    )


def _gap(cycle: LifeCycle, temp_c: float) -> _Gap:
    """The longest gap between two doses that is still short enough."""
    advice = estimates(cycle.interval, temp_c)
    young = shortest(cycle, "maturity", temp_c)
    if not advice and (young is None or cycle.timing == "cycle"):
        raise outside_points(cycle, "interval", temp_c)
    if young is None:
        least = min(advice, key=lambda one: one.low_days)
        return _Gap(least.low_days, f"advised {_said_advice(least)}", (least.series,), False,
                    _noted(least.series))  # fmt: skip
    most = min(advice, key=lambda one: one.high_days, default=None)
    if most is not None and most.high_days < young.days:
        return _Gap(
            most.high_days,
            f"advised {_said_advice(most)}, shorter than the {said_days(young.days)} in which "
            "the fastest young grow up",
            (most.series, *young.series),
            False,
            (*_noted(most.series), *_bounded(cycle, young)),
        )
    sooner = "no sooner than " if young.why else ""
    return _Gap(
        young.days,
        f"the fastest young can lay {sooner}{said_days(young.days)} after hatching",
        young.series,
        young.assumed,
        _bounded(cycle, young),
    )


def _end(cycle: LifeCycle, temp_c: float) -> tuple[float, str, tuple[Series, ...], tuple[str, ...]]:
    """The day on or after which the last dose must fall, how it is said, and what it rests on."""
    if cycle.timing == "cycle":
        code, said = "whole_cycle", "one whole cycle takes at most {}"
    elif "last_hatch" in cycle.stages:
        code, said = "last_hatch", "the last egg hatches by day {}"
    else:
        code, said = "first_hatch", "the first egg hatches by day {}, and one dose more"
    days = longest(cycle, code, temp_c)
    if days is None:
        raise outside_points(cycle, code, temp_c)
    remarks: tuple[str, ...] = ()
    if code == "first_hatch":
        remarks = (
            "How long hatching goes on is not published: one dose more than the first hatch asks "
            "for is proposed, and a look at the fish decides whether it was the last.",
        )
    series = tuple(one.series for one in estimates(cycle.stages[code].series, temp_c))
    shown = figures(math.ceil(days - 1e-9)) if "day {}" in said else f"{math.ceil(days - 1e-9)} d"
    return days, said.format(shown), series, remarks


def _many(doses: int, days: int, end_days: float) -> tuple[str, ...]:
    if doses <= MANY_DOSES:
        return ()
    return (
        f"{doses} doses are many for the fish. The number comes from an end at {end_days:.0f} d "
        f"with {days} d between doses: weigh it against warmer water or a later course, and count "
        "before each dose.",
    )


def _why(cycle: LifeCycle) -> tuple[str, ...]:
    return (cycle.reached, f"{cycle.why} ({cite_with_standing(cycle.source, cycle.standing)})")


def _alternates(cycle: LifeCycle, temp_c: float) -> tuple[str, ...]:
    return tuple(
        f"every {_said_advice(one)}"
        + (f": {one.series.note}" if one.series.note else "")
        + f" ({cite_with_standing(one.series.source, one.series.standing)})"
        for one in estimates(cycle.interval, temp_c)
    )


def _said_advice(one: Estimate) -> str:
    if len(one.points) == 1 or one.points[0].low_days == one.points[1].low_days:
        return said_point(one.points[0]).partition(" at ")[0]
    cold, warm = one.points
    return f"{said_days(one.low_days)}, between {said_point(cold)} and {said_point(warm)}"


def _said_list(days: list[int]) -> str:
    return ", ".join(str(day) for day in days)


def _noted(series: Series) -> tuple[str, ...]:
    return (series.note,) if series.note else ()


def _bounded(cycle: LifeCycle, young: Bound) -> tuple[str, ...]:
    name = cycle.stages["maturity"].name
    notes = (f"{name}: {one.note}" for one in young.series if one.note)
    return (*((young.why,) if young.why else ()), *notes)

"""How long the stages of a parasite take at a water temperature, between published points only.

The shorter estimate decides how soon a dose is due, the longer one when a course may end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.courses.cycles.points import (
    Estimate,
    at,
    band,
    cited,
    estimates,
    said_days,
    said_near,
    said_point,
    weakest,
)
from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.hazards import hazards
from store.facts.life_cycles import LifeCycle, Series, Stage, life_cycles
from store.facts.sources import cite_with_standing
from store.water.given import figures, given_temperature


@dataclass(frozen=True, slots=True)
class StageTime:
    """One stage at one temperature: the days of the first series that has the temperature, the
    least and the most of all that have it, and the points they stand between, in words."""

    code: str
    name: str
    days: float
    low_days: float
    high_days: float
    points: tuple[str, ...]
    arithmetic: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Cycle:
    """The stages of one hazard at one temperature [days]; `stage` is the one told first, to which
    `days`, `days_low`, `days_high`, points, arithmetic, source and standing belong."""

    hazard: str
    organism: str
    temp_c: float
    stage: str
    days: float
    days_low: float
    days_high: float
    stages: tuple[StageTime, ...]
    points: tuple[str, ...]
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bound:
    """The fewest days a stage can take; `why` says what was assumed, "" where nothing was, and
    `assumed` is True where no publication bears it."""

    days: float
    why: str
    assumed: bool
    series: tuple[Series, ...]


def shortest(cycle: LifeCycle, code: str, temp_c: float) -> Bound | None:
    """The fewest days a stage can take at a temperature, for deciding how soon a dose is due.

    Colder than every point, the days of the coldest stand in: colder water is not faster. Warmer
    than every point nothing is known, unless the facts name a stage in step with which it shortens.
    A series that ends in cooler water counts with its warmest point beside one that goes on.

    Parameters
    ----------
    cycle
        The life cycle.
    code
        The stage, or `interval` for the advised time between two doses.
    temp_c
        Water temperature [°C].

    Returns
    -------
    Bound or None
        Days; None where nothing is published that bounds them.
    """
    stage = _stage(cycle, code)
    if stage is None:
        return None
    found = estimates(stage.series, temp_c)
    if found:
        cooler = ((one.points[-1].low_days, one) for one in stage.series
                  if one.points[-1].temp_c < temp_c)  # fmt: skip
        days, series = min((*((one.low_days, one.series) for one in found), *cooler),
                           key=lambda one: one[0])  # fmt: skip
        return Bound(days, "", False, (series,))
    coldest = min(stage.series, key=lambda one: one.points[0].temp_c)
    if temp_c < coldest.points[0].temp_c:
        point = coldest.points[0]
        return Bound(
            point.low_days,
            f"The time from {stage.name} is not published below {figures(point.temp_c)} °C; the "
            f"{figures(point.low_days)} d there are taken, since colder water is not faster.",
            False,
            (coldest,),
        )
    return _in_step(cycle, stage, temp_c)


def _stage(cycle: LifeCycle, code: str) -> Stage | None:
    if code == "interval" and cycle.interval:
        return Stage("interval", "one dose to the next", cycle.interval, "")
    return cycle.stages.get(code)


def _in_step(cycle: LifeCycle, stage: Stage, temp_c: float) -> Bound | None:
    """A stage shortened in step with another above its own warmest point."""
    warmest = max(stage.series, key=lambda one: one.points[-1].temp_c)
    point = warmest.points[-1]
    leader = cycle.stages.get(stage.warmer_as)
    if leader is None or temp_c <= point.temp_c:
        return None
    here, there = estimates(leader.series, temp_c), estimates(leader.series, point.temp_c)
    if not here or not there:
        return None
    ratio = min(one.low_days for one in here) / min(one.high_days for one in there)
    days = point.low_days * min(1.0, ratio)
    return Bound(
        days,
        f"The time from {stage.name} is not published above {figures(point.temp_c)} °C; the "
        f"{figures(point.low_days)} d there are shortened as that from {leader.name} is, to "
        f"{figures(days, 2)} d. That is an assumption: count again after the course.",
        True,
        (warmest, here[0].series),
    )


def longest(cycle: LifeCycle, code: str, temp_c: float) -> float | None:
    """The most days a stage takes at a temperature, for deciding when a course may end.

    Parameters
    ----------
    cycle
        The life cycle.
    code
        The stage.
    temp_c
        Water temperature [°C].

    Returns
    -------
    float or None
        Days; None where no series has the temperature. A series that begins in warmer water
        counts with its coldest point, which colder water cannot undercut.
    """
    stage = cycle.stages.get(code)
    found = () if stage is None else estimates(stage.series, temp_c)
    if stage is None or not found:
        return None
    warmer = (one.points[0] for one in stage.series if one.points[0].temp_c > temp_c)
    return max(*(one.high_days for one in found), *(one.high_days for one in warmer), 0.0)


def life_cycle(hazard: str, temp_c: float) -> Cycle:
    """The published stages of a parasite at a water temperature.

    Parameters
    ----------
    hazard
        Code of the hazard, such as `gill_flukes`.
    temp_c
        Water temperature, held constant [°C].

    Returns
    -------
    Cycle
        Stage by stage the days, with the least and the most that the published points allow [days].

    Raises
    ------
    BadInput
        No timing is published for the hazard, or its first stage not at this temperature.

    Notes
    -----
    Between two points the middle is straight in the logarithm of days, the least straight in the
    rate of development and the most straight in days. Points come from water of constant
    temperature; in a pond each figure is a centre, not a limit.

    Examples
    --------
    >>> found = life_cycle("gill_flukes", 15.0)
    >>> [round(days, 1) for days in (found.days_low, found.days, found.days_high)]
    [5.2, 7.5, 11.0]

    References
    ----------
    Gill flukes: Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6).
    """
    cycle = timed(hazard)
    given_temperature(temp_c)
    times = tuple(
        _stage_time(stage, found, temp_c)
        for stage in cycle.stages.values()
        if (found := estimates(stage.series, temp_c))
    )
    first = next((one for one in times if one.code == cycle.headline), None)
    if first is None:
        raise outside_points(cycle, cycle.headline, temp_c)
    return Cycle(
        hazard=cycle.hazard,
        organism=cycle.organism,
        temp_c=temp_c,
        stage=first.code,
        days=first.days,
        days_low=first.low_days,
        days_high=first.high_days,
        stages=times,
        points=first.points,
        arithmetic=first.arithmetic,
        source=first.source,
        standing=first.standing,
        remarks=_remarks(cycle, temp_c),
    )


def timed(hazard: str) -> LifeCycle:
    """The life cycle of a hazard, by its code or the words for it.

    Parameters
    ----------
    hazard
        Code such as `gill_flukes`, or the name in plain words.

    Raises
    ------
    BadInput
        There is no such hazard, or no timing is published for it.
    """
    wanted = hazard.strip().casefold()
    code = next(
        (
            one.code
            for one in hazards().values()
            if wanted in {one.code, one.plain_name.casefold(), one.code.replace("_", " ")}
        ),
        None,
    )
    if code is not None and code in life_cycles():
        return life_cycles()[code]
    there = ", ".join(life_cycles())
    if code is None:
        raise BadInput(
            f"There is no hazard {hazard!r}. Timing by temperature is known for: {there}.",
            field="hazard",
        )
    raise BadInput(
        f"No timing by temperature is published for {hazards()[code].plain_name}, so nothing is "
        f"reckoned. It is known for: {there}.",
        field="hazard",
    )


def outside_points(cycle: LifeCycle, code: str, temp_c: float) -> BadInput:
    """The sentence for a temperature outside the published points of a stage.

    Parameters
    ----------
    cycle
        The life cycle.
    code
        The stage, or `interval` for the advised time between two doses.
    temp_c
        Water temperature that was asked for [°C].
    """
    stage = _stage(cycle, code)
    name, series = (code, ()) if stage is None else (stage.name, stage.series)
    return BadInput(
        f"{hazards()[cycle.hazard].plain_name.capitalize()}, {name}: published for "
        f"{band(series) or 'no temperature'}. {figures(temp_c)} °C lies outside, and "
        "nothing is carried beyond the published points.",
        field="temperature",
    )


def _stage_time(stage: Stage, found: Sequence[Estimate], temp_c: float) -> StageTime:
    return StageTime(
        code=stage.code,
        name=stage.name,
        days=found[0].days,
        low_days=min(one.low_days for one in found),
        high_days=max(one.high_days for one in found),
        points=tuple(said_near(one.series, temp_c) for one in found),
        arithmetic="; ".join(_arithmetic(one) for one in found),
        source=cited(one.series for one in found),
        standing=weakest(one.series.standing for one in found),
    )


def _arithmetic(one: Estimate) -> str:
    if len(one.points) == 1:
        return f"as published, {said_point(one.points[0])}"
    cold, warm = one.points
    return (
        f"between {said_point(cold)} and {said_point(warm)}: straight in the rate "
        f"{said_days(one.low_days)}, in the logarithm {said_days(one.days)}, in days "
        f"{said_days(one.high_days)}"
    )


def _remarks(cycle: LifeCycle, temp_c: float) -> tuple[str, ...]:
    missing = [
        f"{stage.name} ({band(stage.series)})"
        for stage in cycle.stages.values()
        if not estimates(stage.series, temp_c)
    ]
    remarks = (f"Not published at this temperature: {'; '.join(missing)}.",) if missing else ()
    notes = dict.fromkeys(
        f"{stage.name}: {one.note}"
        for stage in cycle.stages.values()
        for one in stage.series
        if one.note and at(one, temp_c)
    )
    said = (f"{one.says} ({cite_with_standing(one.source, one.standing)})"
            for one in cycle.statements)  # fmt: skip
    return (
        *remarks,
        *notes,
        *said,
        "Found at constant temperatures: in a pond each figure is a centre, not a limit.",
    )

"""The days of a course: the interval between doses, what the doses meet, and when to count again.

Water temperature is carried on by its trend for a week and no further.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.courses.cycles.coverage import Coverage, Verdict
from store.courses.cycles.cycle import Interval, covers, interval_over, proposed_interval
from store.courses.planning.course import PlanStep, PondWater, StepWish
from store.courses.planning.fed import feed_ends_on, is_fed
from store.courses.planning.route import word_for
from store.errors import BadInput
from store.facts.agent import Agent, Route
from store.facts.agents import agent_by_code
from store.facts.hazards import hazards as known_hazards
from store.facts.life_cycles import life_cycles
from store.facts.sources import cite_with_standing
from store.text import day_said
from store.warmth.dates import onwards
from store.warmth.estimate import Ahead
from store.water.given import figures

TREND_DAYS = 7
"""A trend of the water is carried on so long; common practice, without a source [d]."""
CONTROL_DAYS = 7
"""From the end of the last bath to the control examination; common practice [d]."""
_BEST_FIRST: tuple[Verdict, ...] = (
    "covered", "not known", "gap too long", "ends too early", "ends before the first hatch"
)  # fmt: skip


LONGEST_SPAN_DAYS = 120
"""Days of a forecast that are looked at from the first dose on; then the last of them stays [d]."""
_ESTIMATED = " by estimate"
_BY_ESTIMATE = (
    "The interval rests on an estimate of the water to come: read the temperature before the first "
    "dose, and again during the course."
)


@dataclass(frozen=True, slots=True)
class Forecast:
    """The water to come by estimate, and the first day of the plan."""

    ahead: Ahead
    first_day: date


@dataclass(frozen=True, slots=True)
class Timing:
    """The days between the doses of a step [d], None for a single one, why, and what to say."""

    interval_days: int | None
    why: str
    remarks: tuple[str, ...]


def temperatures(water: PondWater, days: int) -> tuple[float, ...]:
    """Daily water temperatures from the first day of a plan on, none where none was measured.

    Parameters
    ----------
    water
        The pond's water.
    days
        How many days.

    Returns
    -------
    tuple of float
        One for each day: as measured, moved by the trend for a week, then as it is [°C].

    Examples
    --------
    >>> water = PondWater(1e4, 1e4, 1e4, temperature_c=10.0, trend_c_per_day=0.2)
    >>> [round(one, 1) for one in temperatures(water, 10)][-4:]
    [11.2, 11.4, 11.4, 11.4]
    """
    now_c = water.temperature_c
    if now_c is None:
        return ()
    moved = water.trend_c_per_day or 0.0
    least, most = min(0.0, now_c), max(40.0, now_c)
    return tuple(
        min(most, max(least, now_c + moved * min(day, TREND_DAYS))) for day in range(max(1, days))
    )


def aimed_at(agent: Agent, hazards: Sequence[str]) -> tuple[str, ...]:
    """The hazards of a course that a publication in the formulary names for an agent.

    Parameters
    ----------
    agent
        The agent.
    hazards
        Codes of the hazards of the course.

    Returns
    -------
    tuple of str
        Their codes, in the order of the course.
    """
    named = {code for route in agent.routes for code in route.hazards}
    return tuple(code for code in hazards if code in named)


def step_timing(
    wish: StepWish,
    agent: Agent,
    route: Route,
    hazards: Sequence[str],
    water: PondWater,
    starts_day: int,
    forecast: Forecast | None = None,
) -> Timing:
    """The interval of a step: as typed, or as the life cycle asks at the pond's temperature.

    Where the trend moves the water, the shorter interval of the two temperatures is taken. Where
    the days to come can be estimated, the interval is reckoned over the days that it spans; one
    that follows from measured water is never made longer by it. An interval that was typed stands,
    and what the life cycle asks is said beside it.

    Parameters
    ----------
    wish
        The step as wished.
    agent, route
        What it gives, and the published statement that it follows.
    hazards
        Codes of the hazards of the course.
    water
        The pond's water.
    starts_day
        Day of the first dose, the plan's first day being 0 [d].
    forecast
        The water to come by estimate; None where there is none.

    Returns
    -------
    Timing
        Days between doses, with arithmetic and source [d].

    Raises
    ------
    BadInput
        Several doses without an interval, where nothing published gives one.
    """
    timed = [
        code
        for code in aimed_at(agent, hazards) or hazards
        if code in life_cycles() and life_cycles()[code].timing != "none"
    ]
    proposal, refusal = _first_proposal(timed, water, starts_day)
    if forecast is not None:
        proposal = _over(timed, proposal, forecast, starts_day) or proposal
    published = _published(route)
    remarks: list[str] = []
    if proposal is not None:
        single = wish.doses == 1 and len(timed) < len(aimed_at(agent, hazards))
        remarks += [] if single else _asked_more(wish, proposal)
        remarks += _moved(water, starts_day)
        if proposal.over and wish.interval_days is None and wish.doses > 1:
            remarks.append(_BY_ESTIMATE)
    elif refusal:
        remarks.append(refusal)
    if wish.interval_days is None and wish.doses > 1:
        if proposal is None:
            why = refusal or "No life cycle with published times tells the interval."
            raise BadInput(
                f"{why} Type the days between two doses.{f' {published}' if published else ''}",
                field="interval",
            )
        return Timing(proposal.days, _told(proposal), (*remarks, *proposal.remarks))
    if wish.doses == 1:
        return Timing(None, published, tuple(remarks))
    why = f"Every {wish.interval_days} d as typed."
    if proposal is not None:
        why += (
            " So does the life cycle: " if wish.interval_days == proposal.days
            else f" The life cycle asks for every {proposal.days} d: "
        ) + _told(proposal)  # fmt: skip
    return Timing(wish.interval_days, f"{why} {published}".rstrip(), tuple(remarks))


def _first_proposal(
    timed: Sequence[str], water: PondWater, starts_day: int
) -> tuple[Interval | None, str]:
    """The proposal for the first hazard that has one, and else why there is none."""
    if not timed:
        return None, ""
    series = temperatures(water, starts_day + TREND_DAYS + 1)
    if not series:
        return None, "The water has no temperature, so no interval can be proposed."
    refusal = ""
    for code in timed:
        try:
            now = proposed_interval(code, round(series[min(starts_day, TREND_DAYS)], 2))
        except BadInput as trouble:
            refusal = refusal or trouble.message
            continue
        try:
            later = proposed_interval(code, round(series[-1], 2))
        except BadInput:
            later = now
        return min(now, later, key=lambda one: one.days or math.inf), ""
    return None, refusal


def _over(
    timed: Sequence[str], measured: Interval | None, forecast: Forecast, starts_day: int
) -> Interval | None:
    """The proposal over the days that are expected; None where nothing published bears them."""
    begins = forecast.first_day.toordinal() + starts_day
    path = onwards((), begins, forecast.ahead)
    rows = [
        [one for one in row[:LONGEST_SPAN_DAYS] if one is not None]
        for row in (path.low_c, path.mean_c, path.high_c)
    ]
    if not all(rows) or begins < forecast.ahead.first:
        return None
    for code in timed if measured is None else (measured.hazard,):
        try:
            return interval_over(code, *rows, most_days=measured.days if measured else None)
        except BadInput:
            continue
    return None


def _told(found: Interval) -> str:
    name = known_hazards()[found.hazard].plain_name
    also = f" Also published: {'; '.join(found.alternates)}." if found.alternates else ""
    return f"{name} {_water_of(found)}: {found.arithmetic} ({found.source}).{also}"


def is_by_estimate(step: PlanStep) -> bool:
    """Whether the interval of a step rests on an estimate of the water to come.

    Parameters
    ----------
    step
        A step whose interval was proposed, not typed.
    """
    return _ESTIMATED in step.interval_why


def _water_of(found: Interval) -> str:
    return f"{found.over}{_ESTIMATED}" if found.over else f"at {figures(found.temp_c)} °C"


def _asked_more(wish: StepWish, found: Interval) -> list[str]:
    if wish.doses >= found.doses:
        return []
    name = known_hazards()[found.hazard].plain_name
    return [
        f"The life cycle of {name} asks for {found.doses} doses every {found.days} d "
        f"{_water_of(found)}; {wish.doses} {'is' if wish.doses == 1 else 'are'} planned."
    ]


def _moved(water: PondWater, starts_day: int) -> list[str]:
    if not water.trend_c_per_day or water.temperature_c is None:
        return []
    end_c = temperatures(water, starts_day + TREND_DAYS + 1)[-1]
    return [
        f"The water moves by {water.trend_c_per_day:+.2g} °C a day: from "
        f"{figures(water.temperature_c)} to {figures(end_c, 3)} °C in {TREND_DAYS} d, and is "
        "carried no further; the shorter interval counts."
    ]


def _published(route: Route) -> str:
    if route.repeat_days is None:
        return ""
    low, high = route.repeat_days
    days = figures(low) if low == high else f"{figures(low)} to {figures(high)}"
    cited = cite_with_standing(route.source, route.standing)
    return f"{word_for(route).capitalize()} for this route: every {days} d ({cited})."


def coverage_said(
    steps: Sequence[PlanStep],
    hazards: Sequence[str],
    water: PondWater,
    first_day: date,
    formulary: Mapping[str, Agent] | None = None,
    temps: Sequence[float | None] | None = None,
) -> tuple[tuple[str, ...], date | None]:
    """Whether the doses meet what hatches after them, hazard by hazard, in words.

    Parameters
    ----------
    steps
        The steps of a plan.
    hazards
        Codes of the hazards of the course.
    water
        The pond's water.
    first_day
        The plan's first day.
    formulary
        Agents by code; None for the published ones.
    temps
        Daily water temperatures from the first day on, as measured [°C]; None for the plan's water.

    Returns
    -------
    tuple of str, and date or None
        The remarks, and the day after which nothing laid before the course hatches any more.

    Notes
    -----
    Each step is judged by itself: doses of two agents are not counted together. Where the water
    moves it is judged as it stays and as the trend moves it, and the worse verdict is told.
    """
    remarks: list[str] = []
    ends: list[date] = []
    # What is fed for days on end is no row of baths: nothing published times its batches.
    steps = [step for step in steps if not is_fed(step)]
    for code in hazards if steps else ():
        name = known_hazards()[code].plain_name.capitalize()
        cycle = life_cycles().get(code)
        if cycle is None:
            remarks.append(
                f"{name}: no timing by temperature is published, so whether the doses meet what "
                "outlives them is not known."
            )
            continue
        if cycle.timing == "none":
            cited = cite_with_standing(cycle.source, cycle.standing)
            remarks.append(f"{name}: {cycle.why} ({cited})")
            continue
        against = [
            step for step in steps if aimed_at(agent_by_code(step.agent, formulary), (code,))
        ]
        if not against:
            remarks.append(
                f"{name}: no publication in the formulary names an agent of this course for it."
            )
        said, end = _best(against or steps, code, water, first_day, formulary, temps)
        remarks += [f"{name}, {said[0]}", *said[1:]]
        ends += [] if end is None else [end]
    return tuple(dict.fromkeys(remarks)), max(ends, default=None)


def _best(
    steps: Sequence[PlanStep],
    code: str,
    water: PondWater,
    first_day: date,
    formulary: Mapping[str, Agent] | None,
    temps: Sequence[float | None] | None,
) -> tuple[tuple[str, ...], date | None]:
    """What the step that covers best leaves, and the day of the last hatch at the latest."""
    found: list[tuple[PlanStep, Coverage, float]] = []
    refusal = ""
    for step in steps:
        if all(one.state == "dropped" for one in step.doses):
            continue
        days = [(one.due_on - first_day).days for one in step.doses if one.state != "dropped"]
        looked: list[Coverage] = []
        for series in _either_way(water, max(days)) if temps is None else (temps,):
            try:
                looked.append(covers(days, code, series))
            except BadInput as trouble:
                refusal = refusal or trouble.message
        if looked:
            worst = max(looked, key=lambda one: _BEST_FIRST.index(one.verdict))
            found.append((step, worst, max((one.end_day or 0.0) for one in looked)))
    if not found:
        return (f"whether the doses meet what hatches: {refusal or 'no dose is left.'}",), None
    step, best, end_day = min(
        found, key=lambda one: (_BEST_FIRST.index(one[1].verdict), -one[1].last_dose_day)
    )
    start = min(one.due_on for one in step.doses if one.state != "dropped")
    end = start + timedelta(math.ceil(end_day - 1e-9)) if end_day else None
    said = (
        f"{agent_by_code(step.agent, formulary).plain_name}: {best.said} "
        f"Days count from {day_said(start)}; "
        f"{best.arithmetic} ({best.source})."
    )
    moved = (f"If the water moves on as it does: {refusal}",) if refusal else ()
    return (said, *moved, *best.remarks), end


def _either_way(water: PondWater, last_day: int) -> tuple[tuple[float, ...], ...]:
    """The water as it stays and as its trend moves it: the worse of the two counts."""
    if water.temperature_c is None:
        return ((),)
    still = (water.temperature_c,)
    if not water.trend_c_per_day:
        return (still,)
    return still, temperatures(water, last_day + TREND_DAYS + 1)


def bath_ends_on(step: PlanStep) -> date:
    """The day on which the last bath of a step ends, as far as its time is published.

    Of a step that is given with the feed it is the last day of feeding.

    Parameters
    ----------
    step
        A step with its doses.
    """
    kept = [one.due_on for one in step.doses if one.state != "dropped"]
    last = max(kept or [one.due_on for one in step.doses])
    if is_fed(step):
        return feed_ends_on(step)
    hours = step.exposure_h or 0.0
    return last + timedelta(math.ceil(hours / 24.0 - 1e-9) if hours >= 24.0 else 0)


def control_day(steps: Sequence[PlanStep], hatched_on: date | None) -> date:
    """The day of the control examination: a week after the last bath, and after the last hatch.

    A count before the last egg has hatched shows grown parasites killed, and no more.

    Parameters
    ----------
    steps
        The steps of a plan.
    hatched_on
        Day by which everything laid before the course has hatched; None where it is not known.
    """
    week = max(bath_ends_on(step) for step in steps) + timedelta(CONTROL_DAYS)
    return week if hatched_on is None else max(week, hatched_on + timedelta(1))

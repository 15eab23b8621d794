"""Whether a running course, in the water as it was measured since, still holds.

A plan is made with the water of its first day. A cold snap puts off the last hatch, so that the
last dose falls before it; a warm spell shortens the time in which the young can breed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from math import fsum

from store.courses.cycles.coverage import Coverage
from store.courses.cycles.cycle import Interval, covers, proposed_interval
from store.courses.cycles.points import said_days
from store.courses.planning.course import Given, Plan, PlanStep
from store.courses.planning.fed import is_fed
from store.courses.planning.route import wished_agent
from store.courses.planning.timing import TREND_DAYS, aimed_at, temperatures
from store.courses.turning.still_covered import Aim, aim_of, interval_of, lost
from store.courses.turning.tally import Tally, tallies
from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.hazards import hazards as known_hazards
from store.facts.life_cycles import life_cycles
from store.text import day_said
from store.water.given import figures

Temps = Sequence[float | None]
"""Daily water temperatures from the plan's first day on, None for a missing day [°C]."""

NOTABLE_C = 0.5
"""Water that is off by less than this is not called moved; the practice's own choice [°C]."""
_SHORTENED = re.compile(r"shortened from (\d+) d with the water")
_BEFORE = " Before: "


@dataclass(frozen=True, slots=True)
class Moved:
    """What of a course no longer holds in the water as it was measured.

    `said` is one sentence with the numbers old and new, `points` and `source` what they rest on.
    `known` is False where the measured water lies outside what is published: then nothing can be
    said. `every_days` is the interval that the present water asks for where that is shorter than
    the one that stands [d], else None, and `why` its arithmetic with its source.
    """

    place: int
    hazard: str
    said: str
    known: bool
    points: tuple[str, ...]
    source: str
    standing: Standing | None
    every_days: int | None = None
    why: str = ""

    @property
    def in_all(self) -> str:
        """The sentence with the published points and their source."""
        rests = "; ".join(part for part in (*self.points, self.source) if part)
        return f"{self.said} ({rests}.)" if rests else self.said


def first_day(plan: Plan) -> date:
    """The day from which daily temperatures of a plan count.

    Parameters
    ----------
    plan
        The plan as it stands.
    """
    return min(one.due_on for step in plan.steps for one in step.doses)


def water_moved(plan: Plan, given: Sequence[Given], temps: Temps, today: date) -> Moved | None:
    """What of a running course no longer holds in the water that was measured.

    Parameters
    ----------
    plan
        The plan as it stands.
    given
        Every dose as it was given.
    temps
        Daily water temperatures from `first_day(plan)` on, measured and as expected; None for a
        missing day [°C].
    today
        The practice's calendar day.

    Returns
    -------
    Moved or None
        Of the first step of which something no longer holds: that what hatches is not met, else
        that the doses should stand closer together, else that nothing can be said. None where all
        holds, nothing is timed, or no temperature is known.

    Notes
    -----
    Told is only what the water brought about: what its doses would not have met in the water of the
    plan either is told elsewhere.
    """
    temps = as_far_as_told(plan, temps, today)
    found = [
        one
        for step in plan.steps
        if (one := step_moved(plan, step, tallies(plan, step, given, today), temps, today))
    ]
    return worst(found)


def as_far_as_told(plan: Plan, temps: Temps, today: date) -> Temps:
    """The water without what is expected of it, where that would lead out of all that is published.

    Parameters
    ----------
    plan
        The plan, for its hazards.
    temps, today
        As for `water_moved`.

    Returns
    -------
    sequence
        The temperatures as they are, or until today, the last of which then stays [°C].
    """
    until = tuple(temps[: max(1, (today - first_day(plan)).days + 1)])
    for code in plan.hazards:
        if code not in life_cycles() or life_cycles()[code].timing == "none":
            continue
        if not _told(code, temps) and _told(code, until):
            return until
    return temps


def _told(code: str, temps: Temps) -> bool:
    try:
        covers([0.0], code, temps)
    except BadInput:
        return False
    return True


def worst(found: Sequence[Moved]) -> Moved | None:
    """The first to be told of several: what hatches unmet, then intervals, then what is unknown.

    Parameters
    ----------
    found
        What was found of each step.
    """
    return min(
        found, key=lambda one: (not one.known, one.every_days is not None, one.place), default=None
    )


def step_moved(
    plan: Plan, step: PlanStep, counted: Sequence[Tally], temps: Temps, today: date
) -> Moved | None:
    """As `water_moved`, for one step.

    Parameters
    ----------
    plan
        The plan that the step belongs to.
    step
        The step.
    counted
        Its doses with what was given, from `tallies`.
    temps, today
        As for `water_moved`.
    """
    if is_fed(step) or all(one is None for one in temps):
        return None
    days = _days(counted)
    if not days:
        return None
    asked = _interval(plan, step, counted, temps, today)
    met = _met(plan, step, counted, days, temps, today)
    if met is None or (not met.known and asked is not None):
        return asked
    return met if asked is None else replace(met, every_days=asked.every_days, why=asked.why)


def _days(counted: Sequence[Tally]) -> list[date]:
    """The days of the doses, as given and as still due."""
    done = [one.counts_on or one.last_on for one in counted if one.counts_on or one.open_today]
    waits = [
        one.planned.due_on for one in counted if not one.was_given and one.planned.state == "due"
    ]
    return sorted((*done, *waits))


def _met(
    plan: Plan,
    step: PlanStep,
    counted: Sequence[Tally],
    days: Sequence[date],
    temps: Temps,
    today: date,
) -> Moved | None:
    own = [one.planned for one in counted if not one.planned.added]
    wished = sum(one.state != "dropped" for one in own)
    begins = min((*days, *(one.due_on for one in own)))
    aim = aim_of(plan, step, wished, wished_interval(step), begins)
    now = measured_aim(aim, temps, first_day(plan))
    for code in aim.hazards:
        one, other = replace(aim, hazards=(code,)), replace(now, hazards=(code,))
        if lost(one, days):
            continue
        counts = [(day - aim.first_on).days for day in days]
        name = known_hazards()[code].plain_name
        water = _water(plan, temps, today)
        try:
            new = covers(counts, code, now.temps)
        except BadInput as trouble:
            said = f"{water}: for {name} nothing can be said of this course. {trouble.message}"
            return Moved(step.place, code, said, False, (), "", None)
        if not lost(other, days):
            continue
        old = covers(counts, code, aim.temps)
        said = f"{water}: for {name} {_changed(code, old, new)} (days from {day_said(days[0])})."
        points = tuple(dict.fromkeys((*old.points, *new.points)))
        return Moved(step.place, code, said, True, points, new.source, new.standing)
    return None


def measured_aim(aim: Aim, temps: Temps, since: date) -> Aim:
    """The same aim in the water as it was measured.

    Parameters
    ----------
    aim
        What the step was meant to cover.
    temps
        Daily water temperatures [°C].
    since
        The day of the first of them.
    """
    return replace(aim, temps=counted_from(temps, since, aim.first_on))


def counted_from(temps: Temps, since: date, day: date) -> tuple[float | None, ...]:
    """Daily temperatures counted from another day: the first stands for the days before it.

    Parameters
    ----------
    temps
        Daily water temperatures from `since` on [°C].
    since, day
        The day of the first of them, and the day from which they are to count.
    """
    apart = (day - since).days
    if apart <= 0:
        return (temps[0],) * -apart + tuple(temps)
    return tuple(temps[min(apart, len(temps) - 1) :])


def _changed(code: str, old: Coverage, new: Coverage) -> str:
    """What moved with the water, old and new, and what of the course no longer fits it."""
    stages = life_cycles()[code].stages
    if new.verdict == "gap too long" and new.allowed_gap_days is not None:
        was = "" if old.allowed_gap_days is None else f"{said_days(old.allowed_gap_days)} → "
        what = "the fastest young breed" if "maturity" in stages else "the next dose is advised"
        return (
            f"{what} {was}{said_days(new.allowed_gap_days)} after a dose; a gap of "
            f"{figures(new.longest_gap_days)} d is longer"
        )
    end = "a whole cycle takes until" if "whole_cycle" in stages else "last hatch"
    was = "" if old.end_day is None else f"day {math.ceil(old.end_day - 1e-9)} → "
    until = "" if new.end_day is None else f"day {math.ceil(new.end_day - 1e-9)}"
    return (
        f"{end} {was}{until}; the last dose, on day {figures(new.last_dose_day)}, falls before it"
    )


def _water(plan: Plan, temps: Temps, today: date) -> str:
    """The water as it was planned with, and as it was measured since it left that."""
    since = first_day(plan)
    upto = (today - since).days + 1
    planned = temperatures(plan.water, max(upto, 1))
    known = [(place, one) for place, one in enumerate(temps[:upto]) if one is not None] or [
        (place, one) for place, one in enumerate(temps) if one is not None
    ][:1]
    run = known
    if planned:
        off = [(place, one - planned[min(place, len(planned) - 1)]) for place, one in known]
        sign = math.copysign(1.0, off[-1][1])
        away = [place for place, one in off if one * sign < NOTABLE_C]
        run = [pair for pair in known if pair[0] > max(away, default=-1)] or known
    mean = fsum(one for _, one in run) / len(run)
    was = (
        "Planned without a temperature"
        if plan.water.temperature_c is None
        else f"Planned at {figures(plan.water.temperature_c, 3)} °C"
    )
    begun = day_said(since + timedelta(run[0][0]))
    return f"{was}, measured {figures(mean, 3)} °C since {begun}"


def wished_interval(step: PlanStep) -> int:
    """The days between two doses as the vet wished them, before any warm spell shortened them.

    Parameters
    ----------
    step
        The step.
    """
    found = _SHORTENED.search(step.interval_why)
    return int(found[1]) if found else interval_of(step)


def shortened(step: PlanStep, moved: Moved) -> PlanStep:
    """A step with the interval that the present water asks for, and what it was before.

    Parameters
    ----------
    step
        The step.
    moved
        What was found of it; a step without a shorter interval stays as it is.
    """
    if moved.every_days is None or moved.every_days >= interval_of(step):
        return step
    _, _, before = step.interval_why.rpartition(_BEFORE)
    why = (
        f"Every {moved.every_days} d, shortened from {wished_interval(step)} d with the water: "
        f"{moved.why}{_BEFORE}{before}"
    )
    return replace(step, interval_days=moved.every_days, interval_why=why[:4000])


def _interval(
    plan: Plan, step: PlanStep, counted: Sequence[Tally], temps: Temps, today: date
) -> Moved | None:
    """The interval of the present water, where it is shorter and a dose could come earlier."""
    waits = sorted(
        one.planned.due_on for one in counted if not one.was_given and one.planned.state == "due"
    )
    given_on = [one.last_on for one in counted if one.was_given]
    row = [*([max(given_on)] if given_on else []), *waits]
    if len(row) < 2 or not waits:
        return None
    try:
        against = aimed_at(wished_agent(step.agent, plan.formulary), plan.hazards) or plan.hazards
    except BadInput:
        against = plan.hazards
    since = first_day(plan)
    begins = min(one.planned.due_on for one in counted)
    at = (max(today, waits[0]) - since).days
    planned = temperatures(plan.water, max(at, (begins - since).days) + TREND_DAYS + 1)
    for code in against:
        if code not in life_cycles() or life_cycles()[code].timing == "none":
            continue
        now = _proposed(code, temps, (at, at + TREND_DAYS))
        if now is None or now.days is None:
            continue
        first = (begins - since).days
        old = _proposed(code, planned, (first, first + TREND_DAYS, at, at + TREND_DAYS))
        if old is not None and old.days is not None and now.days >= old.days:
            return None
        late = max((later - day).days for day, later in pairwise(row))
        if not any(max(day + timedelta(now.days), today) < later for day, later in pairwise(row)):
            return None
        name = known_hazards()[code].plain_name
        was = "" if old is None or old.days is None else f"{old.days} d → "
        said = (
            f"{_water(plan, temps, today)}: for {name} the interval proposed is {was}{now.days} d; "
            f"doses stand up to {late} d apart."
        )
        why = f"{name} at {figures(now.temp_c)} °C: {now.arithmetic} ({now.source})."
        points = tuple(dict.fromkeys((*(old.points if old is not None else ()), *now.points)))
        return Moved(step.place, code, said, True, points, now.source, now.standing, now.days, why)
    return None


def _proposed(code: str, temps: Temps, places: Sequence[int]) -> Interval | None:
    """The shortest interval that is proposed at one of some days; None where none is."""
    found = []
    for place in places:
        upto = [one for one in temps[: place + 1] if one is not None]
        after = [one for one in temps[place:] if one is not None]
        if not upto and not after:
            continue
        temp_c = upto[-1] if upto else after[0]
        try:
            found.append(proposed_interval(code, round(temp_c, 2)))
        except BadInput:
            continue
    timed = [one for one in found if one.days is not None]
    return min(timed, key=lambda one: one.days or math.inf, default=None)

"""Whether the doses of a step, as given and as still due, meet what they were meant to meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from store.courses.cycles.coverage import LONGEST_COURSE_DAYS, Coverage, Verdict, covers
from store.courses.cycles.points import said_days
from store.courses.planning.course import Plan, PlanStep
from store.courses.planning.fed import is_fed
from store.courses.planning.route import wished_agent
from store.courses.planning.timing import TREND_DAYS, aimed_at, temperatures
from store.errors import BadInput
from store.facts.hazards import hazards as known_hazards
from store.facts.life_cycles import life_cycles
from store.water.given import figures

GOOD: tuple[Verdict, ...] = ("covered", "not known")
"""What a course may be called and still do what it was meant to; `not known` is the best there is
where the end of hatching is not published."""


NO_INTERVAL_DAYS = 7
"""From a single dose that did not count to its repeat; common practice, without a source [d]."""


@dataclass(frozen=True, slots=True)
class Aim:
    """The hazards that a step would cover if all went as planned, and the water it does it in.

    `temps` are daily water temperatures from `first_on` on [°C].
    """

    hazards: tuple[str, ...]
    temps: tuple[float | None, ...]
    first_on: date


def interval_of(step: PlanStep) -> int:
    """The days between two doses of a step: as planned, else as the planned days tell.

    Parameters
    ----------
    step
        The step.
    """
    if step.interval_days:
        return step.interval_days
    days = sorted(one.due_on for one in step.doses if not one.added)
    return min(
        ((later - day).days for day, later in pairwise(days) if later > day),
        default=NO_INTERVAL_DAYS,
    )


def aim_of(
    plan: Plan,
    step: PlanStep,
    doses: int,
    every_days: int,
    begins_on: date,
) -> Aim:
    """What a step covers when its doses fall as often and as many as the vet wished.

    Parameters
    ----------
    plan
        The plan, for its hazards and its water.
    step
        The step.
    doses
        How many doses were wished.
    every_days
        Days between two of them [d].
    begins_on
        Day of the first.
    Returns
    -------
    Aim
        Without hazards where the plan covered none, or the agent goes with the feed: then nothing
        is added for their sake. The water is that of the plan, with its trend.
    """
    first_on = min(one.due_on for each in plan.steps for one in each.doses)
    days = max(0, (begins_on - first_on).days) + TREND_DAYS + 1
    series = temperatures(plan.water, days)
    if begins_on < first_on and series:
        series = (series[0],) * (first_on - begins_on).days + series
        first_on = begins_on
    aim = Aim((), series, first_on)
    if is_fed(step) or not series or doses < 1 or (doses - 1) * every_days > LONGEST_COURSE_DAYS:
        return aim
    try:
        against = aimed_at(wished_agent(step.agent, plan.formulary), plan.hazards) or plan.hazards
    except BadInput:
        against = plan.hazards
    wished = [begins_on + timedelta(number * every_days) for number in range(doses)]
    return Aim(
        tuple(
            code
            for code in against
            if code in life_cycles()
            and life_cycles()[code].timing != "none"
            and _lost_of(code, wished, aim, unknown_is_lost=True) is None
        ),
        series,
        first_on,
    )


def lost(aim: Aim, days: Sequence[date]) -> str:
    """What doses on some days no longer cover of what they were meant to.

    Parameters
    ----------
    aim
        What the step was meant to cover.
    days
        Days of the doses, those given and those still due.

    Returns
    -------
    str
        Why not, for the first hazard that is not covered; empty where all are.

    Notes
    -----
    After too long a gap the doses from the next one on can still cover: whatever was laid in the
    gap is counted from that dose.
    """
    for code in aim.hazards:
        said = _lost_of(code, days, aim)
        if said:
            return said
    return ""


def _lost_of(
    code: str, days: Sequence[date], aim: Aim, *, unknown_is_lost: bool = False
) -> str | None:
    counted = sorted((day - aim.first_on).days for day in days)
    if not counted:
        return "no dose is left"
    said = None
    for place in range(len(counted)):
        try:
            found = covers(counted[place:], code, aim.temps)
        except BadInput:
            return "nothing is published" if unknown_is_lost else None
        if found.verdict in GOOD:
            return None
        said = said or _why(code, found)
    return said


def _why(code: str, found: Coverage) -> str:
    name = known_hazards()[code].plain_name
    if found.verdict == "gap too long" and found.allowed_gap_days is not None:
        allowed = said_days(found.allowed_gap_days)
        gap = f"for {name} a gap of {figures(found.longest_gap_days)} d is longer than the "
        if "maturity" in life_cycles()[code].stages:
            return f"{gap}{allowed} in which the fastest young can breed"
        return f"{gap}{allowed} advised"
    until = (
        "" if found.end_day is None else f", and not until day {math.ceil(found.end_day - 1e-9)}"
    )
    return (
        f"for {name} the doses go on until day {figures(found.last_dose_day)} from the first that "
        f"counts{until}"
    )

"""What stands against a course before it starts, and against each dose before it is given.

A `stop` needs a vet's written reason, a `mind` is shown and logged. Nothing here decides: it says
what is wrong with its numbers and its source. What the formulary does not know, it cannot warn of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from store.courses.cautions.clash import CLASH_DAYS, clash_cautions
from store.courses.cautions.dose import range_cautions, repeat_cautions
from store.courses.cautions.feed import feed_cautions, meeting_cautions
from store.courses.cautions.fish import food_cautions, people_cautions, species_cautions
from store.courses.cautions.fitting import UNIT_SAID, Look, look
from store.courses.cautions.peak import EarlierDose, peak_cautions
from store.courses.cautions.said import caution, in_order
from store.courses.cautions.suspected import suspicion_cautions
from store.courses.cautions.volume import volume_cautions
from store.courses.cautions.water import water_cautions
from store.courses.planning.course import Caution, Given, Plan, PlannedDose, PlanStep, PondWater
from store.courses.planning.fed import dose_word, is_fed
from store.text import day_said
from store.water.given import figures, given, given_ph, given_temperature

__all__ = ["EarlierDose", "cautions", "cautions_before"]

SAYS_AS_MUCH = {"no_dose_here": ("alkalinity", "soft_water"), "alkalinity": ("soft_water",)}
"""A stop of the first makes the others needless: one reason is written, not three."""


def cautions(
    plan: Plan, *, running: Sequence[Plan] = (), last: Sequence[EarlierDose] = ()
) -> tuple[Caution, ...]:
    """What stands against a course before it starts, `stop` first.

    Parameters
    ----------
    plan
        The plan.
    running
        Other courses of the same pond that are under way.
    last
        Doses that the pond had lately outside any of these.

    Returns
    -------
    tuple of Caution
        With several steps the code of a caution ends in the place of its step: `peak.2`.

    Raises
    ------
    BadInput
        Water that cannot exist, or an earlier dose that cannot.
    NotFound
        An agent that is not in the formulary.

    Notes
    -----
    Peaks are judged without any loss, the agent of all steps and courses together.
    """
    _checked(plan.water, last)
    found = suspicion_cautions(plan.water)
    for step in plan.steps:
        seen = look(plan, step)
        lately = _lately(last, step)
        of_dose = range_cautions(seen)
        found += _placed(
            plan,
            step,
            [
                *of_dose,
                *peak_cautions(
                    seen, plan, running=running, last=lately, said_of_dose=_stopped(of_dose)
                ),
                *volume_cautions(seen),
                *water_cautions(seen),
                *species_cautions(seen),
                *clash_cautions(seen, plan, running=running, last=lately),
                *meeting_cautions(seen, plan, running=running),
                *(feed_cautions(seen, plan) if is_fed(step) else repeat_cautions(seen)),
            ],
        )
    whole = food_cautions(plan, plan.water.use, [one.agent for one in last])
    whole += people_cautions(plan, [one.agent for one in plan.steps])
    found += _placed(plan, None, whole)
    return in_order(found)


def cautions_before(
    plan: Plan,
    step: PlanStep,
    dose: PlannedDose,
    water_now: PondWater,
    *,
    given: Sequence[Given] = (),
    running: Sequence[Plan] = (),
    last: Sequence[EarlierDose] = (),
    on_day: date | None = None,
) -> tuple[Caution, ...]:
    """What stands against a dose before it is given, in the water as it is now, `stop` first.

    Parameters
    ----------
    plan
        The plan.
    step
        The step of the dose.
    dose
        The dose that is about to be given.
    water_now
        The pond as it is now.
    given
        Doses of the plan that were given, with the water changes really done.
    running
        Other courses of the same pond that are under way.
    last
        Doses that the pond had lately outside any of these.
    on_day
        The day on which it is given; None for the day on which it is due.

    Returns
    -------
    tuple of Caution
        Codes as in `cautions`.

    Raises
    ------
    BadInput
        Water that cannot exist, or an earlier dose that cannot.
    NotFound
        An agent that is not in the formulary.
    """
    _checked(water_now, last)
    day = dose.due_on if on_day is None else on_day
    lately = _lately(last, step, day)
    seen = look(plan, replace(step, dose=dose.dose, doses=(dose,)), water_now)
    of_dose = range_cautions(seen)
    found = _placed(
        plan,
        step,
        [
            *_twice(seen, dose, day, given),
            *of_dose,
            *peak_cautions(
                seen,
                plan,
                given=given,
                running=running,
                last=lately,
                now=(dose, day),
                said_of_dose=_stopped(of_dose),
            ),
            *volume_cautions(seen, dose),
            *water_cautions(seen, at_dose=True),
            *species_cautions(seen),
            *clash_cautions(seen, plan, given=given, running=running, last=lately, on_day=day),
            *meeting_cautions(seen, plan, running=running, on_day=day),
            *feed_cautions(seen, plan, at_dose=True),
        ],
    )
    whole = food_cautions(
        replace(plan, steps=(step,)), water_now.use, [one.agent for one in last], at_dose=True
    )
    whole += people_cautions(plan, [step.agent], law=False)
    found += _placed(plan, None, whole)
    return in_order([*suspicion_cautions(water_now), *found])


def _lately(
    last: Sequence[EarlierDose], step: PlanStep, day: date | None = None
) -> list[EarlierDose]:
    first = day or min((one.due_on for one in step.doses), default=None)
    if first is None:
        return list(last)
    return [one for one in last if one.on_day >= first - timedelta(days=CLASH_DAYS)]


def _stopped(found: Sequence[Caution]) -> bool:
    return any(one.code in ("dose_high", "dose_for_water", "no_dose_here") for one in found)


def _placed(plan: Plan, step: PlanStep | None, found: list[Caution]) -> list[Caution]:
    """Codes that tell the cautions of two steps apart, and two of one kind within a step."""
    place = f".{step.place}" if step is not None and len(plan.steps) > 1 else ""
    count: dict[str, int] = {}
    placed = []
    told = {one.code for one in found if one.level == "stop"}
    less = {code for one, others in SAYS_AS_MUCH.items() if one in told for code in others}
    for one in dict.fromkeys(found):
        if one.code in less:
            continue
        count[one.code] = count.get(one.code, 0) + 1
        again = "" if count[one.code] == 1 else f"-{count[one.code]}"
        placed.append(replace(one, code=f"{one.code}{again}{place}"))
    return placed


def _twice(seen: Look, dose: PlannedDose, day: date, given_doses: Sequence[Given]) -> list[Caution]:
    """The same dose again, another on the same day, or sooner than is published."""
    own = [one for one in given_doses if one.place == seen.step.place]
    for one in own:
        if one.number == dose.number or one.on_day == day:
            return [
                caution(
                    "twice",
                    "stop",
                    f"{seen.name}: {dose_word(seen.step)} {one.number} was given on "
                    f"{day_said(one.on_day)} already, {figures(one.dose)} {seen.unit}. Two people "
                    "may each have thought that the other did not.",
                    f"{figures(one.amount)} {one.amount_unit} given, {figures(dose.amount)} "
                    f"{dose.amount_unit} about to be given",
                )
            ]
    before = [one for one in own if one.on_day < day]
    if is_fed(seen.step) or not before or not seen.routes or seen.routes[0].repeat_days is None:
        return []
    latest = max(before, key=lambda one: one.on_day)
    days = (day - latest.on_day).days
    route, least = seen.routes[0], seen.routes[0].repeat_days[0]
    if days >= least:
        return []
    return [
        caution(
            "too_soon",
            "mind",
            f"{seen.name}: dose {latest.number} was given {days} d ago; published is one every "
            f"{figures(least)} d at the soonest.",
            f"{day_said(day)} - {day_said(latest.on_day)} = {days} d",
            route.source,
            route.standing,
        )
    ]


def _checked(water: PondWater, last: Sequence[EarlierDose]) -> None:
    """Refuse water and doses that cannot exist, at the field."""
    for had in last:
        given(had.dose, "earlier dose", UNIT_SAID.get(had.unit, had.unit), low=0.0, high=1e6)
        given(had.water_changed_percent, "water change", "%", low=0.0, high=100.0)
    given(water.volume_l, "volume", "L", above=0.0, high=1e12)
    given(water.volume_low_l, "least volume", "L", above=0.0, high=water.volume_l)
    given(water.volume_high_l, "greatest volume", "L", low=water.volume_l, high=1e12)
    if water.temperature_c is not None:
        given_temperature(water.temperature_c)
    if water.ph is not None:
        given_ph(water.ph)
    for value, name, unit, high in (
        (water.trend_c_per_day, "trend", "°C/d", 20.0),
        (water.alkalinity_mg_l, "alkalinity", "mg/L", 2000.0),
        (water.hardness_mg_l, "hardness", "mg/L", 5000.0),
        (water.oxygen_mg_l, "oxygen", "mg/L", 60.0),
        (water.salinity_g_l, "salinity", "g/L", 300.0),
        (water.age_days, "age of the readings", "d", 1e5),
    ):
        if value is not None:
            given(value, name, unit, low=-20.0 if name == "trend" else 0.0, high=high)

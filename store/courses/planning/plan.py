"""A whole course from what the vet wishes: days, amounts, water changes, tasks, control.

A plan is arithmetic and facts, no prescription: it reckons what was wished and says what stands
against it in remarks; `cautions` says what must stop it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from store.courses.baths.amount import Amount, bath_amount, bath_by_volume
from store.courses.baths.half_life import trichlorfon_half_life
from store.courses.planning.backing import (
    beside_published,
    dose_said,
    is_published,
    source_of,
)
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product, StepWish
from store.courses.planning.route import (
    FRESH,
    chosen_route,
    most_published,
    own_dose_for,
    wished_agent,
    word_for,
)
from store.courses.planning.salt_doses import said_beside, salt_wish
from store.courses.planning.tasks import tasks_of
from store.courses.planning.timing import (
    Forecast,
    bath_ends_on,
    control_day,
    coverage_said,
    step_timing,
)
from store.errors import BadInput
from store.facts.agent import Agent, Route
from store.facts.agents import agents
from store.facts.entry import OWN
from store.facts.half_lives import half_lives
from store.facts.hazards import hazards as known_hazards
from store.text import day_said
from store.warmth.estimate import Ahead
from store.water.given import figures, given, given_ph, given_temperature

MOST_DOSES = 30
"""More doses than any published course has [count]."""
LONGEST_INTERVAL_DAYS = 60
"""The longest interval that any published course has [d]."""
LONGEST_GAP_DAYS = 365
"""Steps further apart are two courses [d]."""
OF_STEPS = "Step "
"""How a remark begins that is about two steps, and not about what their days meet."""
UNITS = ("mg/L", "uL/L")
SHARES = ("practice", "owner")


class BadStep(BadInput):
    """What was wished for one step cannot be planned; `place` is that of the step, from 1."""

    def __init__(self, trouble: BadInput, place: int, *, named: bool) -> None:
        message = f"Step {place}: {trouble.message}" if named else trouble.message
        super().__init__(message, field=trouble.field, title=trouble.title)
        self.place = place


def plan_course(
    wishes: Sequence[StepWish],
    *,
    hazards: Sequence[str],
    reason: str,
    water: PondWater,
    first_day: date,
    formulary: Mapping[str, Agent] | None = None,
    ahead: Ahead | None = None,
) -> Plan:
    """The plan of a course: one agent after another, each with its doses and what goes with them.

    Parameters
    ----------
    wishes
        The steps in their order.
    hazards
        Codes of the hazards that were found.
    reason
        Why the course is given, in the vet's words; may be empty where a hazard is named.
    water
        The pond as it is.
    first_day
        Day of the first dose.
    formulary
        Agents by code; None for the published ones.
    ahead
        The pond's water to come by estimate, for the interval that is proposed and for nothing
        else; None where there is none.

    Returns
    -------
    Plan
        Days, amounts, tasks, the day of the control examination, and remarks.

    Raises
    ------
    BadStep
        A wish that cannot be planned: the field and the place of the step are named.
    BadInput
        No step, no reason, an unknown hazard, or water that cannot exist.

    Notes
    -----
    An amount is rounded down once, to a step of the scale or jug. Nothing is planned larger because
    an agent breaks down fast.

    Examples
    --------
    >>> water = PondWater(10_000.0, 9_000.0, 11_000.0, temperature_c=19.0)
    >>> wish = StepWish("trichlorfon", "pond_bath", 0.25, doses=2, interval_days=7)
    >>> plan = plan_course([wish], hazards=["gill_flukes"], reason="", water=water,
    ...                    first_day=date(2026, 5, 4))
    >>> [(dose.due_on.isoformat(), dose.amount, dose.amount_unit) for dose in plan.steps[0].doses]
    [('2026-05-04', 2.5, 'g'), ('2026-05-11', 2.5, 'g')]
    """
    if not wishes:
        raise BadInput("There is no agent in this course yet. Choose one.", field="agent")
    found_hazards = tuple(dict.fromkeys(hazards))
    for code in found_hazards:
        if code not in known_hazards():
            raise BadInput(f"There is no hazard {code!r}.", field="hazards")
    if not found_hazards and not reason.strip():
        raise BadInput(
            "Say why the course is given: a hazard that was found, or a reason in words.",
            field="reason",
        )
    _check_water(water)
    known = agents() if formulary is None else formulary
    forecast = None if ahead is None else Forecast(ahead, first_day)
    steps: list[PlanStep] = []
    begins = first_day
    for place, wish in enumerate(wishes, start=1):
        try:
            if steps:
                _whole(wish.gap_days, "gap", "days", 0, LONGEST_GAP_DAYS)
                begins = steps[-1].doses[-1].due_on + timedelta(wish.gap_days)
            steps.append(
                _step(wish, place, known, found_hazards, water, begins, first_day, forecast)
            )
        except BadInput as trouble:
            raise BadStep(trouble, place, named=len(wishes) > 1) from trouble
        except OverflowError as trouble:
            raise BadStep(
                BadInput("The course ends after the last day there is.", field="first day"),
                place, named=len(wishes) > 1,
            ) from trouble  # fmt: skip
    said, hatched_on = coverage_said(steps, found_hazards, water, first_day, known)
    control_on = control_day(steps, hatched_on)
    return Plan(
        hazards=found_hazards,
        reason=reason,
        water=water,
        steps=tuple(steps),
        tasks=tasks_of(steps, control_on, known),
        control_on=control_on,
        remarks=(*_still_on(steps), *said),
        formulary=known,
    )


def _still_on(steps: Sequence[PlanStep]) -> tuple[str, ...]:
    """Where a step begins before the published time of the bath before it is over."""
    return tuple(
        f"{OF_STEPS}{step.place} begins on {day_said(step.doses[0].due_on)}, while the bath of "
        f"{figures(before.exposure_h or 0.0)} h of step {before.place} lasts until "
        f"{day_said(bath_ends_on(before))}."
        for before, step in pairwise(steps)
        if step.doses[0].due_on < bath_ends_on(before)
    )


def measured_out(
    dose: float,
    unit: str,
    product: Product,
    volume_l: float,
    *,
    low_l: float | None = None,
    high_l: float | None = None,
) -> Amount:
    """The amount of a product for a dose, by weight or by volume.

    Parameters
    ----------
    dose
        The dose [mg/L or µL/L, as `unit` says].
    unit
        `mg/L` or `uL/L`.
    product
        What is weighed or poured.
    volume_l
        Water to be treated [L].
    low_l, high_l
        The least and the greatest that the volume may be [L]; None where it is taken as sure.

    Returns
    -------
    Amount
        Grams or millilitres, exact and rounded down once.

    Raises
    ------
    BadInput
        An unknown unit, or a number that cannot exist.
    """
    if unit not in UNITS:
        raise BadInput(f"A bath is dosed in mg/L or µL/L, not in {unit!r}.", field="unit")
    if unit == "uL/L":
        return bath_by_volume(
            dose, volume_l,
            strength_percent=product.strength_percent, density_g_ml=product.density_g_ml,
            low_l=low_l, high_l=high_l,
        )  # fmt: skip
    return bath_amount(
        dose, volume_l,
        strength_percent=product.strength_percent, basis=product.basis,
        density_g_ml=product.density_g_ml, low_l=low_l, high_l=high_l,
    )  # fmt: skip


def _step(
    wish: StepWish,
    place: int,
    known: Mapping[str, Agent],
    hazards: Sequence[str],
    water: PondWater,
    begins: date,
    first_day: date,
    forecast: Forecast | None,
) -> PlanStep:
    agent = wished_agent(wish.agent, known)
    if wish.exposure_h is not None:
        given(wish.exposure_h, "exposure", "h", above=0.0, high=10_000.0)
    route = chosen_route(
        agent, wish.route,
        hazards=hazards, temperature_c=water.temperature_c, exposure_h=wish.exposure_h,
    )  # fmt: skip
    own = own_dose_for(agent, wish, hazards=hazards, temperature_c=water.temperature_c)
    if route.standing == OWN and own is not None:
        route = own
    _check_wish(wish, route)
    salt = salt_wish(wish, route, water)
    wish = salt.wish
    own_water = wish.volume_l is not None
    out = measured_out(
        wish.dose, wish.unit, wish.product,
        water.volume_l if wish.volume_l is None else wish.volume_l,
        low_l=None if own_water else water.volume_low_l,
        high_l=None if own_water else water.volume_high_l,
    )  # fmt: skip
    most = most_published(route, agent, wish, water)
    rests = own if own is not None and not is_published(wish, agent, route, most.dose) else None
    follows = route if rests is None else rests
    later = out if salt.later == wish.dose else measured_out(
        salt.later, wish.unit, wish.product, water.volume_l
    )  # fmt: skip
    starts_day = (begins - first_day).days
    timing = step_timing(wish, agent, follows, hazards, water, starts_day, forecast)
    half_life_h, half_life_said = _half_life(wish, water)
    exposure_h = wish.exposure_h if wish.exposure_h is not None else follows.exposure_h
    return PlanStep(
        place=place,
        agent=agent.code,
        route=route.code,
        dose=wish.dose,
        unit=wish.unit,
        product=wish.product,
        volume_l=water.volume_l if wish.volume_l is None else wish.volume_l,
        doses=_doses(wish, out, (salt.later, later), begins, timing.interval_days),
        interval_days=timing.interval_days,
        interval_why=timing.why,
        exposure_h=exposure_h,
        half_life_h=half_life_h,
        safe_most=most.dose,
        source=source_of(route, follows),
        standing=follows.standing,
        remarks=tuple(
            dict.fromkeys(
                (
                    f"{agent.plain_name.capitalize()}: {out.arithmetic}.",
                    *salt.said,
                    *out.remarks,
                    *beside_published(wish, agent, route, most.dose),
                    *(() if own is None or own is route else (dose_said(agent, own),)),
                    *most.remarks,
                    *timing.remarks,
                    *half_life_said,
                    *_bath_said(wish, route),
                    *said_beside(agent, out),
                )
            )
        ),
        gap_days=wish.gap_days if place > 1 else None,
        own_dose=None if rests is None else rests.own_dose,
        called=agent.plain_name,
    )


def _doses(
    wish: StepWish,
    out: Amount,
    later: tuple[float, Amount],
    begins: date,
    interval_days: int | None,
) -> tuple[PlannedDose, ...]:
    return tuple(
        PlannedDose(
            number=number,
            due_on=begins + timedelta((number - 1) * (interval_days or 0)),
            dose=wish.dose if number == 1 else later[0],
            # Less than a step of the finest scale: the exact amount stands, a remark says how.
            amount=one.out.measured or one.out.exact,
            amount_unit=one.out.unit,
            water_change_percent=wish.water_change_percent
            if number > 1 or wish.change_before_first
            else 0.0,
            share=wish.share,
        )
        for number in range(1, wish.doses + 1)
        for one in (out if number == 1 else later[1],)
    )


def _half_life(wish: StepWish, water: PondWater) -> tuple[float | None, tuple[str, ...]]:
    """The half-life of a step as typed, or as published for this pH and temperature."""
    if wish.half_life_h is not None:
        hours = given(wish.half_life_h, "half-life", "h", low=0.01, high=1e6)
        why = wish.half_life_why or "as typed"
        return hours, (f"The half-life of {figures(hours)} h is {why}; it is not published.",)
    if wish.agent not in half_lives():
        return None, (
            "No half-life is published: reckoned without any loss but by water changes, the safe "
            "bound.",
        )
    if water.ph is None or water.temperature_c is None:
        return None, (
            "The half-life goes by pH and temperature, and one of them is not known: reckoned "
            "without any loss but by water changes, the safe bound.",
        )
    try:
        found = trichlorfon_half_life(water.ph, water.temperature_c)
    except BadInput as refusal:
        return None, (refusal.message,)
    return found.half_life_h, (
        f"Half-life {figures(found.half_life_h, 2)} h at pH {figures(water.ph)} and "
        f"{figures(water.temperature_c)} °C: {found.arithmetic} ({found.source}).",
        *found.remarks,
    )


def _bath_said(wish: StepWish, route: Route) -> tuple[str, ...]:
    said: tuple[str, ...] = ()
    hours = route.exposure_h
    if wish.exposure_h is not None and hours is not None and wish.exposure_h > hours:
        said += (
            f"The bath of {figures(wish.exposure_h)} h is longer than the {figures(hours)} h that "
            f"are {word_for(route)} for this dose.",
        )
    if route.code in FRESH and (hours is not None or wish.exposure_h is not None):
        said += ("Each bath is mixed in fresh water, and the water goes after it.",)
    return said


def _check_wish(wish: StepWish, route: Route) -> None:
    _whole(wish.doses, "doses", "", 1, MOST_DOSES)
    if wish.interval_days is not None:
        _whole(wish.interval_days, "interval", "days", 1, LONGEST_INTERVAL_DAYS)
    given(wish.water_change_percent, "water change", "%", low=0.0, high=100.0)
    if wish.share not in SHARES:
        raise BadInput("A dose is given by the practice or by the owner.", field="share")
    if wish.volume_l is None and route.code in FRESH:
        raise BadInput(
            "Give the volume of the tank: it is not the volume of the pond.", field="volume"
        )


def _check_water(water: PondWater) -> None:
    given(water.volume_l, "volume", "L", above=0.0, high=1e12)
    given(water.volume_low_l, "least volume", "L", above=0.0, high=water.volume_l)
    given(water.volume_high_l, "greatest volume", "L", low=water.volume_l, high=1e12)
    if water.temperature_c is not None:
        given_temperature(water.temperature_c)
    if water.ph is not None:
        given_ph(water.ph)
    if water.trend_c_per_day is not None:
        given(water.trend_c_per_day, "trend", "°C a day", low=-10.0, high=10.0)
    for value, name, unit, high in (
        (water.alkalinity_mg_l, "alkalinity", "mg/L", 2000.0),
        (water.hardness_mg_l, "hardness", "mg/L", 5000.0),
        (water.oxygen_mg_l, "oxygen", "mg/L", 60.0),
        (water.salinity_g_l, "salinity", "g/L", 300.0),
        (water.age_days, "age of the readings", "d", math.inf),
    ):
        if value is not None:
            given(value, name, unit, low=0.0, high=high)


def _whole(value: int, name: str, unit: str, low: int, high: int) -> None:
    if value == 0 and name == "doses":
        raise BadInput("A course of no doses treats nothing: give how many.", field=name)
    given(value, name, unit, low=float(low), high=float(high))
    if isinstance(value, bool) or value != int(value):
        raise BadInput(f"The {name} must be a whole number.", field=name)

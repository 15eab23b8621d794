"""Which published statements speak of a step of a course, in the unit in which the step is dosed.

The routes of an agent that go with the step's hazards, exposure and water; what they allow; and the
rules by which the water itself sets a dose.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from store.courses.baths.conditional import WaterDose, chloramine_t_by_ph, copper_by_alkalinity
from store.courses.cautions.sensitive import named_in
from store.courses.planning.course import Plan, PlanStep, PondWater
from store.courses.planning.route import BATHS, FRESH, OWN_STRENGTH, published_first
from store.facts.agent import Agent, OtherDose, Route
from store.facts.agents import agent_by_code
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing, sources

UNIT_SAID = {"uL/L": "µL/L"}
POND_WITHIN = 2.0
"""A bath of a pond in less or more than this share of its water is that of a tank [-]."""
SALT = "salt"
_G_TO_MG = 1000.0


@dataclass(frozen=True, slots=True)
class Look:
    """A step with what the formulary says of it, and the water that it is judged in.

    `planned_in` is the water that the plan was made in.
    `routes` are those that fit; `every_route` all of the step's code: what is published, or the
    practice's own doses where nothing is. `own` are those beside what is published. `in_pond` is
    False for a holding tank, which has a volume of its own.
    """

    step: PlanStep
    agent: Agent
    water: PondWater
    planned_in: PondWater
    hazards: tuple[str, ...]
    every_route: tuple[Route, ...]
    routes: tuple[Route, ...]
    in_pond: bool
    own: tuple[Route, ...] = ()

    @property
    def name(self) -> str:
        """The agent as it is called in a sentence, with a capital."""
        return self.agent.plain_name[:1].upper() + self.agent.plain_name[1:]

    @property
    def unit(self) -> str:
        """The unit of the step as it is written for people."""
        return UNIT_SAID.get(self.step.unit, self.step.unit)

    @property
    def is_bath(self) -> bool:
        """True where the agent is given to the water."""
        return self.step.route in BATHS

    @property
    def bath_is_thrown_away(self) -> bool:
        """True where every bath is made up fresh, so that nothing adds up."""
        return self.step.route in FRESH and self.step.exposure_h is not None

    @property
    def salt_present_mg_l(self) -> float | None:
        """The salt that the pond holds before the dose [mg/L]; None for other agents, or where it
        is not known."""
        salinity = self.water.salinity_g_l
        if self.agent.code != SALT or not self.in_pond or salinity is None:
            return None
        return salinity * _G_TO_MG

    @property
    def doses(self) -> tuple[float, ...]:
        """The doses that are given or still due [unit of the step]."""
        planned = [one.dose for one in self.step.doses if one.state not in ("missed", "dropped")]
        return tuple(planned) or (self.step.dose,)


@dataclass(frozen=True, slots=True)
class Bound:
    """A figure with what says it, in the unit of the step."""

    value: float
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class PublishedRange:
    """What is published for a step: `cautious` is the least that a route itself gives as its most,
    `most` the most of any publication, `least` the least of any; None for "up to". `custom` is
    what common practice gives beside it, which raises nothing; None where it gives none."""

    least: Bound | None
    cautious: Bound
    most: Bound
    custom: Bound | None = None


def look(plan: Plan, step: PlanStep, water: PondWater | None = None) -> Look:
    """A step beside the formulary.

    Parameters
    ----------
    plan
        The plan that the step belongs to.
    step
        The step.
    water
        The water it is judged in; None for that of the plan.

    Raises
    ------
    NotFound
        The formulary does not have the agent.
    """
    agent = agent_by_code(step.agent, plan.formulary)
    now = plan.water if water is None else water
    of_code = tuple(one for one in agent.routes if one.code == step.route)
    every = published_first(of_code)
    return Look(
        step=step,
        agent=agent,
        water=now,
        planned_in=plan.water,
        hazards=plan.hazards,
        every_route=every,
        routes=_fitting(every, step, plan.hazards, now),
        in_pond=_in_pond(step, plan.water.volume_l),
        own=tuple(one for one in of_code if one not in every),
    )


def _in_pond(step: PlanStep, pond_l: float) -> bool:
    if step.route in FRESH:
        return math.isclose(step.volume_l, pond_l, rel_tol=1e-6)
    return pond_l / POND_WITHIN <= step.volume_l <= pond_l * POND_WITHIN


def _kept(routes: tuple[Route, ...], keep: Callable[[Route], bool]) -> tuple[Route, ...]:
    return tuple(one for one in routes if keep(one)) or routes


def _fitting(
    routes: tuple[Route, ...], step: PlanStep, hazards: Sequence[str], water: PondWater
) -> tuple[Route, ...]:
    """The routes left when hazard, exposure, fish and temperature have spoken, in that order."""
    wanted = set(hazards)
    if any(wanted.intersection(one.hazards) for one in routes):
        routes = _kept(routes, lambda one: bool(wanted.intersection(one.hazards)))
    elif any(not one.hazards for one in routes) and wanted:
        routes = _kept(routes, lambda one: not one.hazards)
    hours = step.exposure_h
    if hours is None:
        routes = _kept(routes, lambda one: one.exposure != "timed")
    else:
        routes = _kept(routes, lambda one: one.exposure == "timed")
        routes = _kept(routes, lambda one: one.exposure_h is None or hours <= one.exposure_h)
    trout = named_in("salmonids", water.species)
    routes = _kept(
        routes,
        lambda one: (
            "salmonids" not in one.for_what or ("not for salmonids" in one.for_what) != bool(trout)
        ),
    )
    temp_c = water.temperature_c
    if temp_c is None:
        return routes
    return _kept(
        routes,
        lambda one: (
            (one.temp_low_c is None or one.temp_low_c <= temp_c)
            and (one.temp_high_c is None or temp_c <= one.temp_high_c)
        ),
    )


def in_step_unit(value: float, unit: str, basis: str, seen: Look) -> float | None:
    """A published concentration in the unit and of the substance that the step is dosed in.

    Parameters
    ----------
    value
        The concentration as published [in `unit`].
    unit
        Its unit: mg/L, uL/L or g/L.
    basis
        Of what it is an amount: "product", "active" or "not stated".
    seen
        The step.

    Returns
    -------
    float or None
        The same in the unit of the step; None where it cannot be turned into it, for want of a
        density or because it is no concentration.

    Notes
    -----
    A dose typed as active substance of a product that the formulary knows as a form (formalin of
    37 %) is put beside a dose of the product by that strength; a powder that is nearly pure is not.
    """
    step, product = seen.step, seen.step.product
    strength = product.strength_percent / 100.0
    density = product.density_g_ml or next(
        (one.density_g_ml for one in seen.agent.forms if one.density_g_ml is not None), None
    )
    step_of_product = step.unit == "uL/L" or product.basis == "product"
    if unit == step.unit == "uL/L":
        return value
    if unit == "g/L":
        value *= _G_TO_MG
    elif unit == "uL/L":
        if density is None:
            return None
        value *= density
    elif unit != "mg/L":
        return None
    form_percent = _form_percent(seen)
    if basis == "product" and not step_of_product and form_percent is not None:
        value *= form_percent / 100.0
    if basis == "active" and step_of_product:
        value /= strength
    if step.unit == "uL/L":
        return None if density is None else value / density
    return value


def _form_percent(seen: Look) -> float | None:
    """The strength of the form that a published dose of product means [%]; None where the product
    is stronger than that form, for then its strength is a purity."""
    form = next((one.active_percent for one in seen.agent.forms if one.active_percent), None)
    if form is None or seen.step.product.strength_percent > OWN_STRENGTH * form:
        return None
    return form


def said_otherwise(seen: Look) -> bool:
    """True where the step is dosed as active substance and published as product, or the reverse.

    Parameters
    ----------
    seen
        The step.
    """
    of_product = seen.step.unit == "uL/L" or seen.step.product.basis == "product"
    bases = {one.basis for one in seen.routes}
    return ("product" in bases and not of_product and _form_percent(seen) is not None) or (
        "active" in bases and of_product and seen.step.product.strength_percent < 99.0
    )


def _bound(seen: Look, route: Route, one: Route | OtherDose, *, low: bool) -> Bound | None:
    printed = one.dose_low if low else one.dose_high
    if printed is None:
        return None
    value = in_step_unit(printed, one.unit, route.basis, seen)
    says = one.for_what if isinstance(one, Route) else one.says
    return None if value is None else Bound(value, says, one.source, one.standing)


def published_range(seen: Look) -> PublishedRange | None:
    """What is published for the step, in its unit; None where nothing can be put beside it.

    Parameters
    ----------
    seen
        The step.
    """
    told: list[tuple[Route, Route | OtherDose]] = []
    for route in seen.routes:
        told += [(route, route), *((route, one) for one in route.alternates)]
    own = [bound for route in seen.routes if (bound := _bound(seen, route, route, low=False))]
    if not own:
        return None
    every = [
        (bound, isinstance(one, OtherDose) and bound.standing == "common practice")
        for route, one in told
        if (bound := _bound(seen, route, one, low=False))
    ]
    highs = [bound for bound, custom in every if not custom]
    customs = [bound for bound, custom in every if custom]
    by_demand = any(one.rule == "permanganate_by_demand" for one in seen.routes)
    tested = seen.step.safe_most if by_demand else None
    if tested is not None and tested > max(one.value for one in highs):
        highs = own = [Bound(tested, "by the demand test", "tucker_boyd_1977", "from memory")]
    lows = [bound for pair in told if (bound := _bound(seen, *pair, low=True))]
    open_below = any(one.dose_low is None for _, one in told)
    return PublishedRange(
        least=None if open_below or not lows else min(lows, key=lambda one: one.value),
        cautious=min(own, key=lambda one: one.value),
        most=max(highs, key=lambda one: one.value),
        custom=max(customs, key=lambda one: one.value, default=None),
    )


def own_said(seen: Look, dose: float) -> str:
    """That a dose of the practice's own goes so far, in a sentence of its own; empty without one.

    Parameters
    ----------
    seen
        The step.
    dose
        The dose [unit of the step].
    """
    for route in seen.own:
        high = in_step_unit(route.dose_high, route.unit, route.basis, seen)
        low = None if route.dose_low is None else (
            in_step_unit(route.dose_low, route.unit, route.basis, seen)
        )  # fmt: skip
        if high is not None and (low or 0.0) / 1.0000001 <= dose <= high * 1.0000001:
            return f" It is {route.source.rstrip('.')}."
    return ""


def by_water(seen: Look) -> WaterDose | None:
    """The dose that the water sets by a published rule; None where there is none, or no reading.

    Parameters
    ----------
    seen
        The step.

    Raises
    ------
    BadInput
        The rule gives no dose for this water: no copper below an alkalinity of 50 mg/L.
    """
    rules = {one.rule for one in seen.routes}
    water = seen.water
    if "copper_by_alkalinity" in rules and water.alkalinity_mg_l is not None:
        return copper_by_alkalinity(water.alkalinity_mg_l, water.hardness_mg_l)
    if "chloramine_t_by_ph" in rules and water.ph is not None:
        return chloramine_t_by_ph(water.ph, water.hardness_mg_l)
    return None


def backed(source: str, standing: Standing) -> str:
    """A source on one line, whether it came as the key of a publication or as words already.

    Parameters
    ----------
    source
        Key of a publication, or a source in words.
    standing
        Standing of what rests on it.
    """
    return cite_with_standing(source, standing) if source in sources() else source

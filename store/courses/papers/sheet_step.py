"""One step of a course as an owner's sheet tells it, with what the formulary says of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from store.courses.planning.course import Plan, PlannedDose, PlanStep
from store.courses.planning.route import chosen_route
from store.errors import BadInput, NotFound
from store.facts.agent import ROUTES, Agent, Route
from store.paper.paper import one_line
from store.water.given import figures, said_minutes


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One step with what the formulary tells of it."""

    step: PlanStep
    agent: Agent
    route: Route | None
    form: str

    @property
    def by_owner(self) -> bool:
        """True while the owner has a dose of it to give."""
        return any(dose.share == "owner" and dose.state == "due" for dose in self.step.doses)


def sheet_steps(plan: Plan, formulary: Mapping[str, Agent]) -> tuple[SheetStep, ...]:
    """The steps of a plan with their agents, once nothing is missing that a sheet must say.

    Parameters
    ----------
    plan
        The course.
    formulary
        Agents by code.

    Raises
    ------
    BadInput
        The course has no dose, its water no volume, or a dose that is due no amount.
    NotFound
        An agent is not in the formulary.
    """
    if not any(step.doses for step in plan.steps):
        raise BadInput("The course has no dose. Nothing was written.", field="doses")
    return tuple(_sheet_step(step, plan, formulary) for step in plan.steps if step.doses)


def _sheet_step(step: PlanStep, plan: Plan, known: Mapping[str, Agent]) -> SheetStep:
    agent = known.get(step.agent)
    if agent is None:
        raise NotFound(
            f"There is no agent {one_line(step.agent)[:40]!r} in the formulary. Nothing was "
            "written."
        )
    if not (math.isfinite(step.volume_l) and step.volume_l > 0.0):
        raise BadInput("The water to be treated has no volume.", field="volume")
    for dose in step.doses:
        _check(dose, agent)
    form = "powder" if step.doses[0].amount_unit == "g" else "liquid"
    return SheetStep(step, agent, _route(step, plan, agent), form)


def _check(dose: PlannedDose, agent: Agent) -> None:
    share = dose.water_change_percent
    if dose.state == "due" and not (math.isfinite(dose.amount) and dose.amount > 0.0):
        raise BadInput(
            f"Dose {dose.number} of {agent.plain_name} has no amount that can be measured out. "
            "Nothing was written.",
            field="amount",
        )
    if not 0.0 <= share <= 100.0:
        raise BadInput(f"A water change of {share:g} % cannot be.", field="water change")


def _route(step: PlanStep, plan: Plan, agent: Agent) -> Route | None:
    """The published statement that the plan followed for this step; None where there is none."""
    try:
        return chosen_route(
            agent, step.route, hazards=plan.hazards,
            temperature_c=plan.water.temperature_c, exposure_h=step.exposure_h,
        )  # fmt: skip
    except BadInput:
        return None  # the practice's own way: it has no published limits


def what_is_given(one: SheetStep) -> str:
    """Agent, way, dose with its unit, water [L] or feed, number of doses, what is on the label.

    Parameters
    ----------
    one
        The step.
    """
    step = one.step
    count = len([dose for dose in step.doses if dose.state != "dropped"])
    if step.ration is not None:
        return (
            f"{one.agent.name}: with the feed, {figures(step.dose)} mg for each kilogram of fish a "
            f"day, {figures(step.ration.mg_per_kg_feed)} mg in each kilogram of feed, on "
            f"{step.ration.feed_days} days, in {count} {'batch' if count == 1 else 'batches'}. "
            f"On the label: {_product_said(one)}."
        )
    said = (
        f"{one.agent.name}: {ROUTES.get(step.route, one_line(step.route))}, "
        f"{concentration_said(step.dose, step.unit)} in {figures(step.volume_l)} L of water, "
        f"{count} {'dose' if count == 1 else 'doses'}. "
        f"On the label: {_product_said(one)}."
    )
    if step.exposure_h is not None:
        said += f" The bath lasts {said_minutes(step.exposure_h * 60.0)}."
    return said


def concentration_said(dose: float, unit: str) -> str:
    """A concentration as it is written for people, in g/L where mg/L would have four digits.

    Parameters
    ----------
    dose
        The concentration [mg/L or µL/L, as `unit` says].
    unit
        `mg/L` or `uL/L`.

    Examples
    --------
    >>> concentration_said(20.0, "uL/L"), concentration_said(3000.0, "mg/L")
    ('20 µL/L', '3 g/L')
    """
    if unit == "mg/L" and dose >= 1000.0:
        return f"{figures(dose / 1000.0)} g/L"
    return f"{figures(dose)} {one_line(unit).replace('uL', 'µL')}"


def _product_said(one: SheetStep) -> str:
    product = one.step.product
    name = one_line(product.name) or one.agent.name
    if product.basis == "product":
        strength = f"{figures(product.strength_percent)} %"
        told = product.strength_percent >= 100.0 or not product.name or strength in name
        return f"{name}, used as it comes" + ("" if told else f" ({strength})")
    if product.basis == "w/v":
        return f"{name}, {figures(product.strength_percent)} g in 100 mL"
    return f"{name}, {figures(product.strength_percent)} % by weight"


def listed(names: Sequence[str]) -> str:
    """Names as they are said one after another.

    Parameters
    ----------
    names
        The names.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))

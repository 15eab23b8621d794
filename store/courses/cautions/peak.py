"""Cautions about what adds up in the water: the peak over a course against the safe maximum.

Judged is the bound without loss: a half-life from elsewhere makes no pond safe. Doses of the same
agent count together, whichever step or course they belong to.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time

from store.courses.baths.residue import HOURS_A_DAY, SOURCE, Residue, Step, residue
from store.courses.cautions.dose import SLACK, highest_allowed
from store.courses.cautions.fitting import SALT, Look, backed, in_step_unit
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution, Given, Plan, PlannedDose, PlanStep
from store.courses.planning.predicted import Moment, moments, predicted
from store.courses.planning.route import BATHS, FRESH
from store.facts.sources import cite_with_standing
from store.text import day_said
from store.water.given import figures

_COURSE = " of another course"


@dataclass(frozen=True, slots=True)
class EarlierDose:
    """A dose that the pond had outside this plan: of which agent, when, and how much.

    `water_changed_percent` is the water replaced since, 0 where nobody knows.
    """

    agent: str
    on_day: date
    dose: float
    unit: str = "mg/L"
    water_changed_percent: float = 0.0


@dataclass(frozen=True, slots=True)
class _Named:
    """One dose in a row of doses, and what it is called."""

    on_day: date
    change_percent: float
    dose: float
    name: str
    counts: bool = True
    """False for a dose of another step of the plan that is not known to have been given."""
    was_given: bool = False


def peak_cautions(
    seen: Look,
    plan: Plan,
    *,
    given: Sequence[Given] = (),
    running: Sequence[Plan] = (),
    last: Sequence[EarlierDose] = (),
    now: tuple[PlannedDose, date] | None = None,
    said_of_dose: bool = False,
) -> list[Caution]:
    """A `stop` where the doses bring more into the water than the safe maximum.

    Parameters
    ----------
    seen
        The step.
    plan
        Its plan.
    given
        Doses of the plan that were given.
    running, last
        Other courses of the pond, and doses outside any.
    now
        The dose that is about to be given, with its day; None for the whole course.
    said_of_dose
        True where the dose by itself is stopped already: then only what adds up is told.
    """
    highest = highest_allowed(seen, at_dose=now is not None)
    if not seen.is_bath or highest is None:
        return []
    step, counted = seen.step, tuple(given)
    alone = seen.bath_is_thrown_away
    if now is not None:
        step, counted = _until_now(seen.step, counted, *now)
        if seen.salt_present_mg_l is not None:
            counted, alone = counted[-1:], True  # the reading holds the salt that was given before
    own = moments(step, counted)
    if not own:
        return []
    named = [_named(one, "") for one in own]
    lossless = replace(step, half_life_h=None)
    rows: list[tuple[Sequence[_Named], Residue]] = [(named, predicted(lossless, counted))]
    free = _free(named, now)
    more = [] if alone else _elsewhere(seen, plan, given, running, last)
    if now is not None:
        more = [one for one in more if one.on_day <= now[1] and one.counts]
    if more:
        together = sorted([*named, *more], key=lambda one: one.on_day)
        rows.append((together, _walked(together)))
    eased = "" if alone else _eased(seen, rows[-1][0], free, highest.value, at_dose=now is not None)
    peaks = [
        (peak, one, answer)
        for doses, answer in rows
        for peak, one in zip(
            answer.bound_mg_l, [one for one in doses if one.dose > 0.0], strict=True
        )
    ]
    over = [one for one in peaks if one[0] > highest.value * SLACK]
    if not over:
        return []
    peak, one, answer = max(over, key=lambda worst: worst[0])
    if said_of_dose and peak <= max(each.dose for each in own) * SLACK:
        return []
    return [
        caution(
            "peak",
            "stop",
            f"{seen.name}: {one.name} on {day_said(one.on_day)} can bring the water to "
            f"{figures(peak)} {seen.unit}; the most is {figures(highest.value)} {seen.unit} "
            f"({highest.says}).{_as_published(seen)}{eased}",
            answer.arithmetic.replace("mg/L", seen.unit)
            + f"; without any loss, {figures(peak)} {seen.unit} against {figures(highest.value)}"
            + _with_loss(step, counted, seen.unit),
            f"{backed(highest.source, highest.standing)}; {SOURCE}",
            highest.standing,
        )
    ]


def _free(named: Sequence[_Named], now: tuple[PlannedDose, date] | None) -> list[_Named]:
    """The doses before which the water can still be changed: the later ones, or the one of now."""
    if now is None:
        return [one for one in named[1:] if not one.was_given]
    return [one for one in named if (one.name, one.on_day) == (f"dose {now[0].number}", now[1])][
        -1:
    ]


def _eased(
    seen: Look, doses: Sequence[_Named], free: Sequence[_Named], most: float, *, at_dose: bool
) -> str:
    """The smallest water change that keeps the water under the most, where one does."""
    if not free or seen.agent.code == SALT:
        return ""
    bound = " That is the bound without any loss: what breaks down in the water is not counted."
    before = "it" if at_dose else "each later dose" if len(free) > 1 else "the later dose"
    spare = [id(one) for one in free]
    least = max(one.change_percent for one in free)
    for percent in range(math.floor(least) + 1, 101):
        changed = [
            replace(one, change_percent=float(percent)) if id(one) in spare else one
            for one in doses
        ]
        reached = max(_walked(changed).bound_mg_l)
        if reached <= most * SLACK:
            planned = f", not {figures(least)} %," if least else ""
            return (
                f"{bound} With {percent} % of the water changed before {before}{planned} it would "
                f"be {figures(reached)} {seen.unit}."
            )
    if max(one.dose for one in free) > most * SLACK:
        return ""
    return f"{bound} No water change before {before} alone brings it under that."


def _with_loss(step: PlanStep, given: tuple[Given, ...], unit: str) -> str:
    if step.half_life_h is None:
        return ""
    highest = predicted(step, given).highest_mg_l
    return (
        f"; with a half-life of {figures(step.half_life_h, 2)} h this step would reach "
        f"{figures(highest)} {unit}, which it is not judged by"
    )


def _as_published(seen: Look) -> str:
    """Said where the course itself stands so in print: its doses add up there too."""
    every, count = seen.step.interval_days, len(seen.doses)
    for route in seen.routes:
        most = in_step_unit(route.dose_high, route.unit, route.basis, seen)
        fits = (
            route.doses is not None
            and route.repeat_days is not None
            and every is not None
            and most is not None
            and 1 < count <= route.doses
            and every >= route.repeat_days[0]
            and max(seen.doses) <= most * SLACK
        )
        if fits:
            return (
                f" {route.doses} doses of this size are published as a course "
                f"({cite_with_standing(route.source, route.standing)})."
            )
    return ""


def _named(one: Moment, whose: str) -> _Named:
    return _Named(
        one.on_day, one.water_change_percent, one.dose, f"dose {one.number}{whose}",
        was_given=one.was_given,
    )  # fmt: skip


def _until_now(
    step: PlanStep, given: tuple[Given, ...], dose: PlannedDose, on_day: date
) -> tuple[PlanStep, tuple[Given, ...]]:
    """The step with nothing still due, and the doses given with this one as if it were given."""
    this = Given(
        step.place, dose.number, datetime.combine(on_day, time(), UTC), on_day, dose.dose,
        dose.amount, dose.amount_unit, dose.water_change_percent,
    )  # fmt: skip
    return replace(step, doses=()), (*given, this)


def _walked(doses: Sequence[_Named]) -> Residue:
    dosed = [one for one in doses if one.dose > 0.0]
    first = dosed[0].on_day
    return residue(
        [
            Step((one.on_day - first).days * HOURS_A_DAY, one.change_percent, one.dose)
            for one in dosed
        ]
    )


def _elsewhere(
    seen: Look,
    plan: Plan,
    given: Sequence[Given],
    running: Sequence[Plan],
    last: Sequence[EarlierDose],
) -> list[_Named]:
    """Doses of the same agent from other steps, other courses and before, in the step's unit."""
    found: list[_Named] = []
    for had in last:
        dose = None
        if had.agent == seen.step.agent:
            dose = in_step_unit(had.dose, had.unit, "not stated", seen)
        if dose is not None and dose > 0.0:
            left = dose * (1.0 - had.water_changed_percent / 100.0)
            found.append(_Named(had.on_day, 0.0, left, f"that of {day_said(had.on_day)}"))
    steps: list[tuple[PlanStep, Sequence[Given], str]] = [
        (one, given, " of another step") for one in plan.steps if one.place != seen.step.place
    ]
    steps += [(one, (), _COURSE) for other in running for one in other.steps]
    for step, had_given, whose in steps:
        if step.agent != seen.step.agent or step.route not in BATHS or step.route in FRESH:
            continue
        basis = "product" if step.unit == "uL/L" or step.product.basis == "product" else "active"
        same = step.unit == seen.step.unit and step.product.basis == seen.step.product.basis
        for one in moments(step, had_given):
            dose = one.dose if same else in_step_unit(one.dose, step.unit, basis, seen)
            if dose is not None and dose > 0.0:
                counts = one.was_given or whose == _COURSE
                found.append(replace(_named(replace(one, dose=dose), whose), counts=counts))
    return found

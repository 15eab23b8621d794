"""What comes next after too much was given, or too little water changed: more water, else less.

Only doses that the plan itself kept under the highest published dose are touched, and only as far
as brings them back under it. Reckoned without any loss, as the safe maximum is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from store.courses.planning.course import Given, PlannedDose, PlanStep
from store.courses.planning.plan import measured_out
from store.courses.planning.predicted import moments, over_most
from store.courses.planning.route import FRESH
from store.water.given import figures

MOST_CHANGE_PERCENT = 50.0
"""No larger water change is asked for; common practice, without a source [% of the volume]."""
CHANGE_STEP_PERCENT = 5.0
"""A larger water change is rounded up to this [% of the volume]."""


@dataclass(frozen=True, slots=True)
class Eased:
    """A step whose next doses are brought back under the maximum, and what changed."""

    step: PlanStep
    said: tuple[str, ...]


def eased(
    step: PlanStep,
    as_planned: PlanStep,
    log: Sequence[Given],
    name: str,
    published: float | None,
    word: str = "published",
) -> Eased:
    """A step with more water changed, or less given, where what was given asks for it.

    Parameters
    ----------
    step
        The step with the days that remain.
    as_planned
        The same step as it stood before, to see what the plan itself was over.
    log
        Doses as they were given.
    name
        What a dose of it is called in a sentence.
    published
        The least published dose [unit of the step]; nothing is lowered below it, nor at all where
        it is None.
    word
        Whose word the most is, as `Plan.most_word` says it.

    Returns
    -------
    Eased
        The step; as it was where nothing helps, then a caution stops it.
    """
    most = step.safe_most
    if most is None or step.route in FRESH or not any(one.state == "due" for one in step.doses):
        return Eased(step, ())
    doses = {one.number: one for one in step.doses}
    was = _without_missed(as_planned, doses)
    planned_over = set(over_most(was)) if moments(was) else set()
    unit = step.unit.replace("uL", "µL")
    said: list[str] = []
    present = 0.0
    for one in moments(step, log):
        change, dose = one.water_change_percent, one.dose
        peak = present * (1.0 - change / 100.0) + dose
        over = peak > most * (1.0 + 1e-9)
        if over and not one.was_given and present > 0.0 and one.number not in planned_over:
            more, less = _enough(present, dose, most, max(change, MOST_CHANGE_PERCENT), published)
            number = doses[one.number]
            if less < dose:
                out = measured_out(less, step.unit, step.product, step.volume_l).out
                number = replace(number, dose=less, amount=out.measured or out.exact)
                said.append(
                    f"{name} {one.number} is lowered from {figures(dose)} to {figures(less)} "
                    f"{unit}, {figures(number.amount)} {number.amount_unit}, and the water change "
                    f"before it is {figures(more)} %, for otherwise up to {figures(peak)} {unit} "
                    f"would be in the water, and {figures(most)} {unit} is the most that is "
                    f"{word}."
                )
            elif more > change:
                said.append(
                    f"{name} {one.number}: the water change before it rises from "
                    f"{figures(change)} to {figures(more)} %, for otherwise up to {figures(peak)} "
                    f"{unit} would be in the water, and {figures(most)} {unit} is the most that is "
                    f"{word}."
                )
            if more > change or less < dose:
                doses[one.number] = replace(number, water_change_percent=more)
                change, dose = more, less
        present = present * (1.0 - change / 100.0) + dose
    if not said:
        return Eased(step, ())
    return Eased(replace(step, doses=tuple(doses.values())), tuple(said))


def _without_missed(as_planned: PlanStep, doses: Mapping[int, PlannedDose]) -> PlanStep:
    """What was planned, but for doses that have been missed since: they bring nothing."""
    return replace(
        as_planned,
        doses=tuple(
            replace(one, state=doses[one.number].state)
            if one.number in doses and doses[one.number].state in {"missed", "dropped"}
            else one
            for one in as_planned.doses
        ),
    )


def _enough(
    present: float, dose: float, most: float, largest_percent: float, published: float | None
) -> tuple[float, float]:
    """The water change [%] and the dose that stay under the maximum; both as they were, or less
    than nothing changed, where neither helps."""
    room = most - dose
    if room >= 0.0:
        asked = 100.0 * (1.0 - room / present)
        asked = CHANGE_STEP_PERCENT * math.ceil(asked / CHANGE_STEP_PERCENT - 1e-9)
        if asked <= largest_percent:
            return asked, dose
    left = most - present * (1.0 - largest_percent / 100.0)
    if published is not None and left >= published:
        digits = 1 - math.floor(math.log10(left))
        lowered = math.floor(left * 10.0**digits + 1e-9) / 10.0**digits
        if published <= lowered < dose:
            return largest_percent, lowered
    return 0.0, dose

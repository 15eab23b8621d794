"""What a step brings into the water: doses as given where they were, as planned where they are due.

One agent at a time: what two agents do together no arithmetic tells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from store.courses.baths.residue import HOURS_A_DAY, Residue, Step, doses_over, residue
from store.courses.planning.course import Given, PlanStep
from store.courses.planning.route import FRESH
from store.errors import BadInput

LAST_DAYS = 7
"""The water is looked at so long after a single dose; common practice, without a source [d]."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One dose of a step, as given or as due: in the unit of the step, with its water change."""

    on_day: date
    number: int
    dose: float
    water_change_percent: float
    was_given: bool


def moments(step: PlanStep, given: Sequence[Given] = ()) -> tuple[Moment, ...]:
    """The doses of a step in the order of time: those given, then those still due.

    Parameters
    ----------
    step
        The step with its planned doses.
    given
        Doses as they were given, of any step; those of others are passed over.

    Returns
    -------
    tuple of Moment
        A planned dose for which one was given does not count twice; two given for one count both.
        Missed and dropped doses do not count.
    """
    own = sorted((one for one in given if one.place == step.place), key=lambda one: one.on_day)
    numbers = {one.number for one in own}
    found = [
        Moment(one.on_day, one.number, one.dose, one.water_change_percent, True) for one in own
    ]
    found += [
        Moment(one.due_on, one.number, one.dose, one.water_change_percent, one.state == "given")
        for one in step.doses
        if one.number not in numbers and one.state not in {"missed", "dropped"}
    ]
    return tuple(sorted(found, key=lambda one: one.on_day))


def predicted(step: PlanStep, given: Sequence[Given] = ()) -> Residue:
    """The concentration over a step, from its first dose until an interval after its last.

    Doses count by whole days, so that two on one day stand together without loss between them. In
    a tank, a dip or a bath for eggs that ends after some hours each dose goes into fresh water.

    Parameters
    ----------
    step
        The step with its planned doses; its half-life is taken, where it has one.
    given
        Doses as they were really given, with the water change really done.

    Returns
    -------
    Residue
        Peaks, troughs, bound and exposure, in the unit of the step's dose: mg/L, or µL/L where the
        dose is by volume. `bound_mg_l`, without any loss, is what a safe maximum is held against.

    Raises
    ------
    BadInput
        No dose is left in the step.
    """
    doses = moments(step, given)
    if not doses:
        raise BadInput("There is no dose, so there is nothing to reckon.", field="doses")
    first = doses[0].on_day
    fresh = step.route in FRESH and step.exposure_h is not None
    steps: list[Step] = []
    for place, one in enumerate(doses):
        at_h = (one.on_day - first).days * HOURS_A_DAY
        steps.append(Step(at_h, one.water_change_percent, one.dose))
        next_h = (
            (doses[place + 1].on_day - first).days * HOURS_A_DAY if place + 1 < len(doses) else None
        )
        if fresh and step.exposure_h is not None and (next_h is None or next_h > at_h):
            ends_h = at_h + step.exposure_h
            steps.append(Step(ends_h if next_h is None else min(ends_h, next_h), 100.0, 0.0))
    until_h = steps[-1].at_h
    if not fresh:
        until_h += HOURS_A_DAY * (step.interval_days or LAST_DAYS)
    answer = residue(steps, half_life_h=step.half_life_h, until_h=until_h)
    if step.unit == "uL/L":
        answer = replace(answer, arithmetic=answer.arithmetic.replace("mg/L", "µL/L"))
    return answer


def over_most(step: PlanStep, given: Sequence[Given] = ()) -> tuple[int, ...]:
    """Which doses of a step bring more into the water than was ever published for it.

    Parameters
    ----------
    step
        The step with its planned doses.
    given
        Doses as they were really given.

    Returns
    -------
    tuple of int
        Numbers of the doses; empty where none does, or no highest dose is known.

    Notes
    -----
    Judged without any loss: a half-life measured elsewhere does not make a pond safe.
    """
    if step.safe_most is None:
        return ()
    doses = moments(step, given)
    dosed = [one for one in doses if one.dose > 0.0]
    places = doses_over(predicted(step, given), step.safe_most)
    return tuple(dosed[place - 1].number for place in places)

"""What was given beside what was planned, dose by dose: what counts as a dose and what does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from store.courses.planning.course import Given, Plan, PlannedDose, PlanStep
from store.courses.planning.route import chosen_route, wished_agent
from store.errors import BadInput
from store.text import day_said
from store.water.given import figures, given

NOTABLE_SHARE = 0.1
"""A dose that is off by more is told; common practice, without a source [-]."""
NOTABLE_CHANGE_PERCENT = 5.0
"""A water change that is off by more is told; common practice [% of the volume]."""
TOGETHER_DAYS = 1
"""Parts of a dose given so close count as one; common practice, without a source [d]."""


@dataclass(frozen=True, slots=True)
class Tally:
    """All that was given under the number of one planned dose.

    `counts_on` is the day on which it was enough to count as a dose, None where it never was;
    `open_today` is True where it is short and can still be made up on the day itself. A dose that
    the plan calls given without an entry in the log counts as planned.
    """

    planned: PlannedDose
    parts: tuple[Given, ...]
    counts_on: date | None
    open_today: bool

    @property
    def was_given(self) -> bool:
        """True where anything was given under this number."""
        return bool(self.parts) or self.planned.state == "given"

    @property
    def dose(self) -> float:
        """What was given in all [unit of the step]."""
        if not self.parts and self.planned.state == "given":
            return self.planned.dose
        return sum(part.dose for part in self.parts)

    @property
    def first_on(self) -> date:
        """The day of the first part, or the day it is due."""
        return self.parts[0].on_day if self.parts else self.planned.due_on

    @property
    def last_on(self) -> date:
        """The day of the last part, or the day it is due."""
        return self.parts[-1].on_day if self.parts else self.planned.due_on

    @property
    def short(self) -> bool:
        """True where notably less than planned was given."""
        return self.dose < self.planned.dose * (1.0 - NOTABLE_SHARE) * (1.0 - 1e-9)

    @property
    def over(self) -> bool:
        """True where notably more than planned was given."""
        return self.dose > self.planned.dose * (1.0 + NOTABLE_SHARE) * (1.0 + 1e-9)


def least_published(plan: Plan, step: PlanStep) -> float | None:
    """The least dose published for what a step does, in its own unit.

    Parameters
    ----------
    plan
        The plan, for its hazards and its water.
    step
        The step.

    Returns
    -------
    float or None
        [unit of the step]; None where the formulary has none in that unit and sense.
    """
    try:
        route = chosen_route(
            wished_agent(step.agent, plan.formulary),
            step.route,
            hazards=plan.hazards,
            temperature_c=plan.water.temperature_c,
            exposure_h=step.exposure_h,
        )
    except BadInput:
        return None
    of_product = step.product.basis == "product" or step.unit == "uL/L"
    if route.unit != step.unit or (route.basis == "product") != of_product:
        return None
    return route.dose_high if route.dose_low is None else route.dose_low


def tallies(plan: Plan, step: PlanStep, log: Sequence[Given], today: date) -> tuple[Tally, ...]:
    """Every planned dose of a step with what was given under its number.

    Parameters
    ----------
    plan
        The plan that the step belongs to.
    step
        The step.
    log
        Doses as they were given, of any step.
    today
        The day from which it is looked at.

    Returns
    -------
    tuple of Tally
        In the order of the plan; then, by number, what was given without a plan.

    Notes
    -----
    A dose counts when nine tenths of it were given, or the least that is published: common
    practice. Parts count together when a day at most lies between them.
    """
    own = sorted(
        (one for one in log if one.place == step.place), key=lambda one: (one.on_day, one.at)
    )
    published = least_published(plan, step)
    found = []
    for planned in (*step.doses, *_unplanned(step, own)):
        parts = tuple(one for one in own if one.number == planned.number)
        least = planned.dose * (1.0 - NOTABLE_SHARE)
        if published is not None:
            least = min(least, published)
        counts = _counts_on(parts, least)
        if not parts and planned.state == "given":
            counts = planned.due_on
        total = sum(part.dose for part in parts)
        short = total < planned.dose * (1.0 - NOTABLE_SHARE) * (1.0 - 1e-9)
        found.append(Tally(planned, parts, counts, short and parts[-1:] != ()
                           and parts[-1].on_day == today))  # fmt: skip
    return tuple(found)


def check_log(plan: Plan, log: Sequence[Given], today: date) -> None:
    """Refuse entries that cannot have been.

    Parameters
    ----------
    plan
        The plan they belong to.
    log
        Doses as they were given.
    today
        The day from which it is looked at.

    Raises
    ------
    BadInput
        A step that the plan does not have, a day ahead, or a number that cannot exist.
    """
    places = {step.place: step for step in plan.steps}
    for one in log:
        step = places.get(one.place)
        if step is None:
            raise BadInput(f"The course has no step {one.place}.", field="step")
        if one.number < 1:
            raise BadInput("Doses are numbered from 1.", field="number")
        if one.on_day > today:
            raise BadInput(
                f"{day_said(one.on_day)} lies ahead: what was given is logged when it was given.",
                field="day",
            )
        given(one.dose, "dose", step.unit.replace("uL", "µL"), low=0.0, high=1e6)
        given(one.amount, "amount", one.amount_unit, low=0.0, high=1e12)
        given(one.water_change_percent, "water change", "%", low=0.0, high=100.0)


def slips_said(tally: Tally, name: str, unit: str, published: float | None) -> tuple[str, ...]:
    """What was not as planned with a dose, a sentence each.

    Parameters
    ----------
    tally
        The dose.
    name
        What it is called, such as `Dose 2`.
    unit
        Unit of the step, for people.
    published
        The least that is published [unit of the step]; None where it is not known.

    Returns
    -------
    tuple of str
        Nothing where all was as planned.
    """
    if not tally.parts:
        return ()
    planned, day = tally.planned, tally.first_on
    if planned.added == "not planned":
        return (
            (
                f"{name} was given on {day_said(day)} without being planned: it stays in the "
                "log and counts."
            ),
        )
    said = []
    late = (day - planned.due_on).days
    if planned.state in {"missed", "dropped"}:
        was = "counted as missed" if planned.state == "missed" else "had been dropped"
        said.append(f"{name} {was} and was given on {day_said(day)} after all.")
    elif late:
        when = f"{abs(late)} d {'late' if late > 0 else 'early'}"
        said.append(f"{name} was given on {day_said(day)}, {when}.")
    gave = f"{figures(tally.dose)} {unit}"
    share = f"{figures(100.0 * abs(tally.dose / planned.dose - 1.0), 2)} %"
    if len(tally.parts) > 1 and tally.over:
        said.append(
            f"{name} was given {len(tally.parts)} times, {gave} in all in place of "
            f"{figures(planned.dose)}: no later dose is brought forward or made good for it."
        )
    elif tally.over:
        said.append(f"{name} was {gave}, {share} more than the {figures(planned.dose)} planned.")
    elif tally.short:
        said.append(f"{name} was {gave}, {share} less than the {figures(planned.dose)} planned: "
                    f"{_short_said(tally, unit, published)}")  # fmt: skip
    change = max(part.water_change_percent for part in tally.parts)
    if planned.water_change_percent - change > NOTABLE_CHANGE_PERCENT:
        said.append(
            f"The water change before it was {figures(change)} %, not "
            f"{figures(planned.water_change_percent)} %: more was left in the water."
        )
    return tuple(said)


def _short_said(tally: Tally, unit: str, published: float | None) -> str:
    missing = tally.planned.dose - tally.dose
    amount = max(0.0, tally.planned.amount - sum(part.amount for part in tally.parts))
    rest = f"{figures(missing)} {unit} ({figures(amount, 3)} {tally.planned.amount_unit})"
    if tally.open_today:
        return f"the {rest} that are missing can still be given today, under the same number."
    if tally.counts_on is None:
        return "it does not count as a dose."
    least = "" if published is None else f", for {figures(published)} {unit} are published"
    return f"it counts as a dose{least}."


def _unplanned(step: PlanStep, own: Sequence[Given]) -> list[PlannedDose]:
    """What was given under a number that the plan does not have, as doses that were not planned."""
    known = {one.number for one in step.doses}
    model = step.doses[-1]
    return [
        PlannedDose(
            number=number,
            due_on=min(one.on_day for one in own if one.number == number),
            dose=step.dose,
            amount=sum(one.amount for one in own if one.number == number),
            amount_unit=model.amount_unit,
            water_change_percent=model.water_change_percent,
            share=model.share,
            state="given",
            added="not planned",
        )
        for number in sorted({one.number for one in own} - known)
    ]


def _counts_on(parts: Sequence[Given], least: float) -> date | None:
    for place, part in enumerate(parts):
        together = sum(
            one.dose
            for one in parts[: place + 1]
            if (part.on_day - one.on_day).days <= TOGETHER_DAYS
        )
        if together >= least * (1.0 - 1e-9) and together > 0.0:
            return part.on_day
    return None

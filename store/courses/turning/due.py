"""What of a course is due today, what is overdue, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from store.courses.planning.course import Given, Plan, PlannedDose, PlanStep, Task
from store.courses.planning.fed import dose_word
from store.courses.turning.tally import check_log, tallies
from store.text import day_said
from store.water.given import figures


@dataclass(frozen=True, slots=True)
class Due:
    """A dose that is due: `overdue_days` is 0 on its day and below before it; `left` and
    `left_amount` are what of it is not yet given [unit of the step; g or mL]."""

    step: PlanStep
    dose: PlannedDose
    overdue_days: int
    left: float
    left_amount: float
    said: str


@dataclass(frozen=True, slots=True)
class DueNow:
    """A course as of a day.

    `now` are the doses due today or overdue, oldest first; `coming` the next one after today;
    `tasks` those of today. `control_on` is the day of the control examination, and `control_due`
    True once it has come. `said` is all of it on one line.
    """

    now: tuple[Due, ...]
    coming: Due | None
    tasks: tuple[Task, ...]
    control_on: date | None
    control_due: bool
    said: str

    @property
    def overdue_days(self) -> int:
        """Days by which the oldest dose is overdue [d]; 0 where none is."""
        return max((one.overdue_days for one in self.now), default=0)


def due(
    plan: Plan, given: Sequence[Given], today: date, *, examined_on: date | None = None
) -> DueNow:
    """What of a course is due on a day.

    Parameters
    ----------
    plan
        The plan as it stands.
    given
        Every dose as it was given.
    today
        The day.
    examined_on
        The day of the control examination, where it has been made.

    Returns
    -------
    DueNow
        Doses, tasks and control; nothing of it is planned anew, see `turned`.

    Raises
    ------
    BadInput
        An entry of the log that cannot have been.
    """
    check_log(plan, given, today)
    open_doses = []
    for step in plan.steps:
        for one in tallies(plan, step, given, today):
            planned = one.planned
            if one.open_today and planned.added != "not planned":
                gone = sum(part.amount for part in one.parts)
                left = max(0.0, planned.dose - one.dose)
                open_doses.append(
                    _due(plan, step, planned, 0, left, max(0.0, planned.amount - gone))
                )
            elif planned.state == "due" and not one.was_given:
                days = (today - planned.due_on).days
                open_doses.append(_due(plan, step, planned, days, planned.dose, planned.amount))
    open_doses.sort(key=lambda one: (-one.overdue_days, one.step.place, one.dose.number))
    now = tuple(one for one in open_doses if one.overdue_days >= 0)
    later = [one for one in open_doses if one.overdue_days < 0]
    coming = later[0] if later else None
    asked = plan.control_on is not None and examined_on is None
    control_due = asked and plan.control_on is not None and plan.control_on <= today
    parts = [one.said for one in now]
    if not now and coming is not None:
        parts.append(coming.said)
    if asked and plan.control_on is not None and (control_due or not open_doses):
        parts.append(
            f"control examination {_when((today - plan.control_on).days, plan.control_on)}"
        )
    said = "; ".join(parts)
    return DueNow(
        now=now,
        coming=coming,
        tasks=tuple(one for one in plan.tasks if one.on_day == today),
        control_on=plan.control_on,
        control_due=control_due,
        said=said[:1].upper() + said[1:],
    )


def _due(
    plan: Plan, step: PlanStep, dose: PlannedDose, days: int, left: float, amount: float
) -> Due:
    numbers = [one.number for one in step.doses if one.state != "dropped"]
    name = ""
    if len(plan.steps) > 1:
        name = f"{plan.plain_name(step.agent)}, "
    said = f"{name}{dose_word(step)} {dose.number} of {max(numbers, default=dose.number)} "
    if left < dose.dose:
        unit = step.unit.replace("uL", "µL")
        said += (
            f"given in part, {figures(left)} {unit} ({figures(amount, 3)} {dose.amount_unit}) "
            "left today"
        )
    else:
        said += _when(days, dose.due_on)
    return Due(step, dose, days, left, amount, said)


def _when(days: int, day: date) -> str:
    if days == 0:
        return "due today"
    if days > 0:
        return f"overdue by {days} day{'' if days == 1 else 's'}"
    return f"due on {day_said(day)}"

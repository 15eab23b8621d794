"""A course day by day: what an owner ticks off, in the order in which it is done."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date

from store.courses.baths.weighing import SCALE_STEPS_G, Measured
from store.courses.papers.sheet_step import SheetStep
from store.courses.planning.course import Plan, PlannedDose, Share, Task
from store.courses.planning.fed import batch_days, dose_word
from store.paper.paper import Part, date_in_words, one_line
from store.text import with_days
from store.water.given import figures

_AFTER_DOSE = ("watch", "ammonia", "on_", "air_off", "control")
"""Codes of tasks that come after the dose of their day; all others come before it."""
_WHO: dict[Share, str] = {"owner": "You", "practice": "We"}
RING_FIRST = "You: Ring us before this dose: one before it is late."
_TOO_FINE = ", less than a scale or syringe shows: ring us for a stock that can be measured"


def day_parts(plan: Plan, given: Sequence[SheetStep], written_on: date) -> tuple[Part, ...]:
    """One part a day: what comes before the dose, water change, dose, what comes after it.

    A dose that is due no more is named without an amount, so that nobody gives it. Of days that
    have passed only the doses are told, since nobody can do yesterday what was to be done then.

    Parameters
    ----------
    plan
        The course.
    given
        Its steps.
    written_on
        The day on which the sheet is handed out; a dose that was due before is overdue.
    """
    lines: dict[date, list[str]] = {}
    every_time = _each_time(plan, written_on)
    late = is_late(given, written_on)

    def tell(*, after: bool) -> None:
        for task in plan.tasks:
            says = (task.share, _task_said(task))
            if task.on_day < written_on:
                continue
            if task.code.startswith(_AFTER_DOSE) == after and says not in every_time:
                lines.setdefault(task.on_day, []).append(_who(*says))

    tell(after=False)
    for one in given:
        for dose in one.step.doses:
            told = list(_dose_lines(one, dose, written_on))
            if late and dose.share == "owner" and dose.state == "due" and dose.due_on >= written_on:
                told.insert(0, RING_FIRST)
            lines.setdefault(dose.due_on, []).extend(told)
    tell(after=True)
    control = plan.control_on
    if control is not None and control >= written_on and not _is_told(plan.tasks, control):
        lines.setdefault(control, []).append(
            _who("practice", "Look at the fish again under the microscope, well or not.")
        )
    return tuple(
        Part(
            date_in_words(day), tuple(lines[day]), "points" if day < written_on else "checks",
            level=2,
        )
        for day in sorted(lines)
    )  # fmt: skip


def is_late(given: Sequence[SheetStep], written_on: date) -> bool:
    """Whether a dose was due before that day and neither given nor dropped.

    Parameters
    ----------
    given
        The steps of a course.
    written_on
        The day on which the sheet is handed out.
    """
    return any(
        dose.state == "due" and dose.due_on < written_on for one in given for dose in one.step.doses
    )


def each_time_part(plan: Plan, written_on: date) -> Part:
    """What is to be done on every day of a dose, said once; empty where there is nothing.

    Parameters
    ----------
    plan
        The course.
    written_on
        The day on which the sheet is handed out; what was before is not asked for any more.
    """
    lines = tuple(_who(*one) for one in _each_time(plan, written_on))
    return Part("Each time a dose is given", lines, "points")


def _each_time(plan: Plan, written_on: date) -> tuple[tuple[Share, str], ...]:
    found: list[tuple[Share, str]] = []
    for share in _WHO:
        doses = {
            dose.due_on
            for step in plan.steps for dose in step.doses
            if dose.share == share and dose.state != "dropped" and dose.due_on >= written_on
        }  # fmt: skip
        days: dict[str, set[date]] = {}
        for task in plan.tasks:
            if task.share == share and task.on_day >= written_on:
                days.setdefault(_task_said(task), set()).add(task.on_day)
        if len(doses) > 1:
            found += [(share, says) for says, told_on in days.items() if told_on == doses]
    return tuple(found)


def _task_said(task: Task) -> str:
    return with_days(one_line(task.says), date_in_words)


def _is_told(tasks: Sequence[Task], control: date) -> bool:
    return any(one.on_day == control and one.code.startswith("control") for one in tasks)


def _dose_lines(one: SheetStep, dose: PlannedDose, written_on: date) -> Iterator[str]:
    most = max(each.number for each in one.step.doses)
    fed = one.step.ration
    word = dose_word(one.step).capitalize()
    named = f"{word} {dose.number} of {most} of {one.agent.plain_name}"
    if dose.state != "due":
        happened = {"given": "has been given", "missed": "was missed", "dropped": "is not given"}
        yield f"{named} {happened[dose.state]}."
        return
    if dose.due_on < written_on:
        yield f"{named} was due and is not logged: nobody gives it before ringing us."
        return
    if dose.water_change_percent > 0.0:
        litres = dose.water_change_percent / 100.0 * one.step.volume_l
        yield _who(
            dose.share,
            f"Change {figures(dose.water_change_percent)} % of the water first, about "
            f"{_about(litres)} L.",
        )
    fine = "" if dose.amount >= SCALE_STEPS_G[-1] else _TOO_FINE
    amount = f"{amount_said(dose.amount, dose.amount_unit)}{fine}"
    if fed is None:
        yield _who(dose.share, f"{named}: {amount}.")
        return
    days = batch_days(one.step, dose)
    daily_g = fed.feed_kg / fed.feed_days * 1000.0
    yield _who(
        dose.share,
        f"{named}: {amount} in {amount_said(daily_g * days, 'g')} of dry feed, as the mix sheet "
        f"says. Feed it for {days} {'day' if days == 1 else 'days'}, {amount_said(daily_g, 'g')} "
        "of dry feed a day.",
    )


def amount_said(amount: float, unit: str) -> str:
    """An amount in the units of scale and jug, the large ones twice, against a slipped point.

    Parameters
    ----------
    amount
        What is measured out [g or mL].
    unit
        `g` or `mL`.

    Examples
    --------
    >>> amount_said(15.3, "g"), amount_said(17_600.0, "mL")
    ('15.3 g', '17.6 L (17600 mL)')
    """
    out = Measured(amount, amount, "g" if unit == "g" else "mL", 0.0)
    return out.said if amount < 1000.0 else f"{out.said} ({figures(amount, 8)} {out.unit})"


def _about(litres: float) -> str:
    digits = 1 - math.floor(math.log10(litres))
    return figures(round(litres, digits), 2)


def _who(share: Share, says: str) -> str:
    return f"{_WHO[share]}: {says}"

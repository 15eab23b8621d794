"""A course whose doses slip: what remains planned anew, and a sentence for each thing that changed.

What was given stays as it was given. A turned plan is a proposal: a vet decides, and the book keeps
both. The same log on the same day turns a plan once; turned again it stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from store.courses.planning.course import Caution, Given, Plan, PlanStep, Task
from store.courses.planning.fed import dose_word
from store.courses.planning.plan import OF_STEPS
from store.courses.planning.predicted import moments, over_most, predicted
from store.courses.planning.tasks import tasks_of
from store.courses.planning.timing import control_day, coverage_said
from store.courses.turning.due import DueNow, due
from store.courses.turning.eased import eased
from store.courses.turning.remaining import remaining
from store.courses.turning.tally import check_log, least_published, slips_said, tallies
from store.courses.turning.water_moved import (
    Moved,
    Temps,
    as_far_as_told,
    counted_from,
    first_day,
    step_moved,
    worst,
)
from store.errors import PondroundError
from store.text import day_said
from store.water.given import figures
from store.water.given import given as checked

__all__ = ["DueNow", "Turn", "due", "turned"]


@dataclass(frozen=True, slots=True)
class Turn:
    """A plan with what remains of it planned anew.

    `said` tells what slipped and what changed for it, a sentence each. `cautions` are stops for
    what was given, or would be, above the highest published dose. `changed` is True where the plan
    is not the one that was turned.
    """

    plan: Plan
    said: tuple[str, ...]
    cautions: tuple[Caution, ...]
    changed: bool
    moved: Moved | None = None
    """What of the plan no longer held in the water as it was measured."""


def turned(
    plan: Plan,
    given: Sequence[Given],
    today: date,
    *,
    missed_after_days: int | None = None,
    temps: Temps | None = None,
) -> Turn:
    """The plan as it goes on after what was given, late, early, short, double or not at all.

    Parameters
    ----------
    plan
        The plan as it stands.
    given
        Every dose as it was given, of all steps.
    today
        The day from which it goes on; nothing is moved to a day before it.
    missed_after_days
        Overdue by more than this a dose is missed [d]; None for three days, or less where the next
        dose is due sooner.
    temps
        Daily water temperatures from the plan's first day on, measured and as expected, None for a
        missing day [°C]; None for the plan's own.

    Returns
    -------
    Turn
        The plan as it goes on.

    Raises
    ------
    BadInput
        An entry of the log that cannot have been.

    Notes
    -----
    Told are slips of doses that the plan does not yet call given, and of the last entries of the
    log. A dose that was too small counts where the least published dose was reached. Where a plan
    would have covered the life cycle and no longer does, doses are added, four at most; where it
    never did, none are. A dose is never made larger. With `temps` the water as it was measured
    counts: where a cold snap puts off the last hatch doses are added, eight at most, and where a
    warm spell shortens the interval they come closer together.
    """
    if missed_after_days is not None:
        checked(missed_after_days, "days until a dose is missed", "d", low=0.0, high=3660.0)
    check_log(plan, given, today)
    if temps is not None:
        temps = as_far_as_told(plan, temps, today)
    newest = max((one.on_day for one in given), default=None)
    steps: list[PlanStep] = []
    said: list[str] = []
    ended_before: date | None = None
    slipped = False
    water: list[Moved] = []
    for step in plan.steps:
        name = _name(plan, step)
        counted = tallies(plan, step, given, today)
        published = least_published(plan, step)
        for one in counted:
            tells = slips_said(one, f"{name} {one.planned.number}", _unit(step), published)
            slipped = slipped or bool(tells)
            if one.planned.state != "given" or (one.parts and one.last_on == newest):
                said += tells
        found = None if temps is None else step_moved(plan, step, counted, temps, today)
        water += [] if found is None else [found]
        on_gap = _not_before(plan, step, ended_before)
        went_on = remaining(
            plan, step, counted, today, name, not_before=on_gap,
            left=any(one.place > step.place for one in given),
            missed_after_days=missed_after_days, temps=temps, moved=found,
        )  # fmt: skip
        lighter = eased(went_on.step, step, given, name, published, plan.most_word(step))
        said += (*went_on.said, *lighter.said)
        steps.append(_with_gap(plan, step, lighter.step))
        ended_before = went_on.last_on
    moved = slipped or any(
        _days(new) != _days(old) for new, old in zip(steps, plan.steps, strict=True)
    )
    after = replace(plan, steps=tuple(steps))
    over = all(one.state != "due" for step in steps for one in step.doses) and any(
        one.state == "given" for step in steps for one in step.doses
    )
    if moved or over:
        after = _around(plan, after, given, today, moved=moved, over=over, temps=temps)
        said += _around_said(plan, after, over=over, told=bool(given))
    return Turn(
        plan=after,
        said=tuple(dict.fromkeys((*(one.in_all for one in water), *said))),
        cautions=_peaks(after, given),
        # What its days meet is said anew with them, and changes nothing by itself.
        changed=replace(after, remarks=plan.remarks) != plan,
        moved=worst(water),
    )


_AFTER = ("on_", "air_off", "control")
"""Beginnings of the codes of what follows the last dose."""


def _name(plan: Plan, step: PlanStep) -> str:
    if len(plan.steps) == 1:
        return dose_word(step).capitalize()
    named = plan.plain_name(step.agent)
    return f"{named[:1].upper()}{named[1:]}, {dose_word(step)}"


def _unit(step: PlanStep) -> str:
    return step.unit.replace("uL", "µL")


def _days(step: PlanStep) -> tuple[tuple[int, date, str], ...]:
    return tuple((one.number, one.due_on, one.state) for one in step.doses)


def _stand(step: PlanStep) -> list[date]:
    return [one.due_on for one in step.doses if one.state not in {"missed", "dropped"}]


def _gap(plan: Plan, step: PlanStep) -> int | None:
    """The days between the step before and this one; None for the first, or where they overlap."""
    place = plan.steps.index(step)
    if place == 0:
        return None
    if step.gap_days is not None:
        return step.gap_days
    before = [one.due_on for one in plan.steps[place - 1].doses if not one.added]
    own = [one.due_on for one in step.doses if not one.added]
    days = (min(own) - max(before)).days if before and own else -1
    return days if days >= 0 else None


def _not_before(plan: Plan, step: PlanStep, ended_before: date | None) -> date | None:
    gap = _gap(plan, step)
    if gap is None or ended_before is None:
        return None
    return ended_before + timedelta(gap)


def _with_gap(plan: Plan, old: PlanStep, new: PlanStep) -> PlanStep:
    gap = _gap(plan, old)
    return new if gap is None else replace(new, gap_days=gap)


def _as_it_was(plan: Plan, log: Sequence[Given]) -> list[PlanStep]:
    """The steps with each dose on the day it was given, or is due; without those missed."""
    steps = []
    for step in plan.steps:
        days = {
            number: max(one.on_day for one in log
                        if one.place == step.place and one.number == number)
            for number in {one.number for one in log if one.place == step.place}
        }  # fmt: skip
        doses = tuple(
            replace(one, due_on=days.get(one.number, one.due_on))
            for one in step.doses
            if one.state not in {"missed", "dropped"}
        )
        if doses:
            steps.append(replace(step, doses=doses))
    return steps


def _around(
    before: Plan,
    after: Plan,
    log: Sequence[Given],
    today: date,
    *,
    moved: bool,
    over: bool,
    temps: Temps | None,
) -> Plan:
    """The plan with its tasks and its control examination moved along with the doses."""
    steps = _as_it_was(after, log)
    if not steps:
        return after
    try:
        begins = min(one.due_on for step in steps for one in step.doses)
        said, hatched = coverage_said(
            steps, after.hazards, after.water, begins, after.formulary,
            None if temps is None else counted_from(temps, first_day(before), begins),
        )  # fmt: skip
        if moved and all(step.ration is None for step in after.steps):
            stays = [one for one in before.remarks if one.startswith(OF_STEPS)]
            after = replace(after, remarks=(*stays, *said))
        asked_on = control_day(steps, hatched)
        control = after.control_on
        if control is None:
            control = max(asked_on, today) if over else None
        elif moved and asked_on > control and _later(before, steps):
            control = max(asked_on, today)
        if not moved or not before.tasks:
            return replace(after, control_on=control)
        laid = tasks_of(steps, control, after.formulary)
        known = {
            one.code for one in (*tasks_of(before.steps, before.control_on, after.formulary), *laid)
        }
    except PondroundError:
        return after  # an agent that the formulary does not have: its tasks stay as they are
    # What follows the last dose waits for the new last one: its old day no longer holds.
    after_last = {one.code for one in laid if one.on_day >= today and one.code.startswith(_AFTER)}
    tasks = (
        *(
            one
            for one in before.tasks
            if one.code not in known or (one.on_day < today and one.code not in after_last)
        ),
        *(one for one in laid if one.on_day >= today),
    )
    kept = sorted(dict.fromkeys(tasks), key=lambda one: one.on_day)
    return replace(after, control_on=control, tasks=tuple(kept))


def _later(before: Plan, steps: Sequence[PlanStep]) -> bool:
    ended = [one for step in before.steps for one in _stand(step)]
    ends = max(one.due_on for step in steps for one in step.doses)
    return not ended or ends > max(ended)


def _around_said(before: Plan, after: Plan, *, over: bool, told: bool) -> list[str]:
    was, now = _back(before.tasks), _back(after.tasks)
    said = [
        f"What was switched off or taken out for the course goes back on {day_said(day)}"
        + (f", not on {day_said(max(was))}." if was else ".")
        for day in sorted(set(now) - set(was))
    ]
    if before.control_on not in (None, after.control_on) and after.control_on is not None:
        said.append(
            f"The control examination moves from {day_said(before.control_on)} to "
            f"{day_said(after.control_on)}: it follows the last dose."
        )
    if over and told and after.control_on is not None:
        said.append(
            "All doses of the course are given: the control examination is due on "
            f"{day_said(after.control_on)}."
        )
    return said


def _back(tasks: Sequence[Task]) -> list[date]:
    """The days on which what was switched off or taken out goes back."""
    return sorted({one.on_day for one in tasks if one.code.startswith("on_")})


def _peaks(plan: Plan, log: Sequence[Given]) -> tuple[Caution, ...]:
    """A stop for every step that brings, or brought, more into the water than is published."""
    found = []
    for step in plan.steps:
        if step.safe_most is None or not moments(step, log):
            continue
        numbers = dict.fromkeys(over_most(step, log))
        if not numbers:
            continue
        answer = predicted(step, log)
        doses = [one for one in moments(step, log) if one.dose > 0.0]
        tops: dict[int, float] = {}
        was: set[int] = set()
        for one, bound in zip(doses, answer.bound_mg_l, strict=True):
            tops[one.number] = max(bound, tops.get(one.number, 0.0))
            if one.was_given:
                was.add(one.number)
        unit, name = _unit(step), _name(plan, step)
        each = ", ".join(
            f"{number} {'brought' if number in was else 'would bring'} up to "
            f"{figures(tops[number])} {unit}"
            for number in numbers
        )
        loss = (
            ""
            if step.half_life_h is None
            else f" With the half-life of {figures(step.half_life_h)} h at most "
            f"{figures(answer.highest_mg_l)} {unit}; the bound without loss decides."
        )
        found.append(
            Caution(
                # As before a course: the place of the step tells the stops of two of them apart.
                f"peak.{step.place}" if len(plan.steps) > 1 else "peak",
                "stop",
                f"{name} {each} into the water, and {figures(step.safe_most)} {unit} is the most "
                f"that is {plan.most_word(step)}.{loss}",
                answer.arithmetic,
                step.source,
                step.standing,
            )
        )
    return tuple(found)

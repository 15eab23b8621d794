"""The doses of a step that remain: on which days, in place of which, and which are added.

No dose comes closer to the one before it than the interval, and none is moved to a day gone by. A
dose that was missed, or was too small to count, is made up for by one more at the end, never by a
larger one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from store.courses.planning.course import Added, Plan, PlannedDose, PlanStep
from store.courses.planning.fed import is_fed
from store.courses.planning.plan import measured_out
from store.courses.turning.still_covered import aim_of, interval_of, lost
from store.courses.turning.tally import Tally
from store.courses.turning.water_moved import (
    Moved,
    Temps,
    first_day,
    measured_aim,
    shortened,
    wished_interval,
)
from store.text import day_said

MISSED_AFTER_DAYS = 3
"""A dose is missed when it is overdue by more, or the next is due; common practice [d]."""
MANY_MISSED = 2
"""So many doses missed one after another are told as a pause; common practice [count]."""
MOST_FOR_COVER = 4
"""No more doses than this are added so that what hatches is met [count]."""
MOST_IN_THE_COLD = 8
"""The same where the water became colder than planned: at 10 °C the life cycle of gill flukes asks
for seven more than at 20 °C, and one is for a dose that slipped [count]."""
PAUSE = (
    "Several doses in a row were missed: look at the fish and count again before the next, for the "
    "course may no longer be the right one."
)


@dataclass(frozen=True, slots=True)
class Remaining:
    """A step as it goes on, and what changed, a sentence each.

    `last_on` is the day of its last dose, given or due; None where none is left.
    """

    step: PlanStep
    said: tuple[str, ...]
    last_on: date | None


@dataclass(frozen=True, slots=True)
class _Days:
    """The queue of doses still due with their days; `why` is why they were brought forward."""

    queue: tuple[PlannedDose, ...]
    days: tuple[date, ...]
    why: str = ""


def remaining(
    plan: Plan,
    step: PlanStep,
    counted: Sequence[Tally],
    today: date,
    name: str,
    *,
    not_before: date | None = None,
    left: bool = False,
    missed_after_days: int | None = None,
    temps: Temps | None = None,
    moved: Moved | None = None,
) -> Remaining:
    """A step with what remains of it planned anew.

    Parameters
    ----------
    plan
        The plan that the step belongs to.
    step
        The step.
    counted
        Its doses with what was given, from `tallies`.
    today
        The day from which it goes on.
    name
        What a dose of it is called in a sentence, such as `Dose`.
    not_before
        No first dose before this day, for the step before has moved.
    left
        True where the next step has begun: then no dose is added to this one.
    missed_after_days
        Overdue by more than this a dose is missed [d]; None for three, or less where the next dose
        is due sooner.
    temps
        Daily water temperatures from the plan's first day on [°C]; None for the plan's own.
    moved
        What no longer holds of the step in that water; where it asks for a shorter interval, the
        doses still due come closer together.

    Returns
    -------
    Remaining
        The step as it goes on.
    """
    asked = wished_interval(step)
    closer = moved is not None and moved.every_days is not None
    if moved is not None:
        step = shortened(step, moved)
    every = interval_of(step)
    if missed_after_days is None:
        missed_after_days = min(MISSED_AFTER_DAYS, every - 1) if len(step.doses) > 1 else (
            MISSED_AFTER_DAYS
        )  # fmt: skip
    given_days = [one.last_on for one in counted if one.was_given]
    floor = max(given_days) + timedelta(every) if given_days else not_before
    waiting, missed = _waiting(counted, floor, every, today, missed_after_days)

    planned = [one.planned for one in counted if not one.planned.added]
    wished = sum(1 for one in planned if one.state != "dropped" or _given(counted, one.number))
    done = [one.counts_on or one.last_on for one in counted if one.counts_on or one.open_today]
    own = [one for one in waiting if not one.added]
    pool = [one for one in waiting if one.added]
    needed = 0 if left else max(0, wished - len(done) - len(own))
    used, spare = pool[:needed], pool[needed:]
    number = max(one.planned.number for one in counted) + 1
    # A batch of feed that was missed may have been for fewer days than the others.
    models = missed if is_fed(step) else []
    fresh = [
        _new(step, number + place, "in place", *models[place : place + 1])
        for place in range(needed - len(used))
    ]
    queue = (*sorted((*own, *used), key=_by_day), *fresh)

    def laid(queue: Sequence[PlannedDose], forward: bool = False) -> tuple[date, ...]:
        return _laid(
            queue, floor, every, today, at_once=bool(missed and needed), forward=forward or closer
        )

    def added(place: int) -> PlannedDose:
        return _new(step, number + len(fresh) + place, "for cover")

    warmer = f"the water asks for a dose every {every} d" if closer else ""
    held = _Days(queue, laid(queue), warmer)
    first = min((*done, *held.days, *(one.due_on for one in planned)))
    aim = aim_of(plan, step, wished, asked, first)
    if temps is not None:
        aim = measured_aim(aim, temps, first_day(plan))
    chosen, uncovered = held, ""
    if aim.hazards and not left and (done or held.days):
        chosen, uncovered = _covering(
            held, spare, added, laid,
            lambda days: lost(aim, [*done, *days]),
            max(len(spare), MOST_FOR_COVER if moved is None else MOST_IN_THE_COLD),
        )  # fmt: skip
    left_said = ", and none is added, for the next agent has begun" if left else ""
    kept = {one.number for one in chosen.queue}
    dropped = [one for one in spare if one.number not in kept]
    said = (
        *(f"{name} {one.number}, due on {day_said(one.due_on)}, was not given and counts as "
          f"missed{left_said}." for one in missed),
        *((PAUSE,) if missed and _pause(counted, missed) >= MANY_MISSED else ()),
        *_moves_said(chosen, counted, name, every, bool(missed and needed)),
        *_added_said(chosen, counted, missed, name),
        *(f"{name} {one.number}, which had been added, is no longer needed and dropped."
          for one in dropped),
        *((f"As given the course no longer meets what it was meant to, {uncovered}. No dose was "
           "added for it.",) if uncovered else ()),
    )  # fmt: skip
    doses = _doses(counted, chosen, missed, dropped)
    more = len(planned) > 1
    return Remaining(
        replace(step, doses=doses, interval_days=every if more else step.interval_days),
        said,
        max((*given_days, *chosen.days), default=None),
    )


def _given(counted: Sequence[Tally], number: int) -> bool:
    return any(one.planned.number == number and one.was_given for one in counted)


def _pause(counted: Sequence[Tally], missed: Sequence[PlannedDose]) -> int:
    """How many doses were missed since one was last given [count]."""
    last = max((one.last_on for one in counted if one.was_given), default=date.min)
    before = (one.planned for one in counted if one.planned.state == "missed" and not one.was_given)
    return sum(1 for one in (*before, *missed) if one.due_on > last)


def _by_day(dose: PlannedDose) -> tuple[date, int]:
    return dose.due_on, dose.number


def _waiting(
    counted: Sequence[Tally], floor: date | None, every: int, today: date, missed_after_days: int
) -> tuple[list[PlannedDose], list[PlannedDose]]:
    """The doses still due, and those that are missed as of today."""
    waiting: list[PlannedDose] = []
    missed: list[PlannedDose] = []
    due = (one.planned for one in counted if not one.was_given and one.planned.state == "due")
    for dose in sorted(due, key=_by_day):
        expected = dose.due_on if floor is None else max(dose.due_on, floor)
        if (today - expected).days > missed_after_days:
            missed.append(dose)
        else:
            waiting.append(dose)
            floor = expected + timedelta(every)
    return waiting, missed


def _new(
    step: PlanStep, number: int, added: Added, model: PlannedDose | None = None
) -> PlannedDose:
    """One more dose like those of the step, or like `model`; its day is set when days are laid."""
    own = [one for one in step.doses if not one.added] or list(step.doses)
    model = model or next((one for one in own if one.dose == step.dose), None)
    amount, unit = (own[0].amount, own[0].amount_unit) if model is None else (
        model.amount, model.amount_unit
    )  # fmt: skip
    if model is None:
        out = measured_out(step.dose, step.unit, step.product, step.volume_l).out
        amount, unit = out.measured or out.exact, out.unit
    dose = step.dose if model is None else model.dose
    return PlannedDose(
        number, date.min, dose, amount, unit, own[-1].water_change_percent, own[-1].share,
        added=added,
    )  # fmt: skip


def _laid(
    queue: Sequence[PlannedDose],
    floor: date | None,
    every: int,
    today: date,
    *,
    at_once: bool,
    forward: bool,
) -> tuple[date, ...]:
    """The days of the doses still due.

    As they stand where they may; `at_once` brings the first to today, for a dose was missed;
    `forward` brings all as close together as the interval allows.
    """
    days: list[date] = []
    for dose in queue:
        least = days[-1] + timedelta(every) if days else floor
        if not days and at_once:
            day = max(today, least or today)
        elif (at_once and days) or (forward and dose.due_on > today):
            day = least or dose.due_on
        else:
            day = max(dose.due_on, least or dose.due_on)
        days.append(day if day == dose.due_on else max(day, today))
    return tuple(days)


def _covering(
    held: _Days,
    spare: Sequence[PlannedDose],
    added: Callable[[int], PlannedDose],
    laid: Callable[[Sequence[PlannedDose], bool], tuple[date, ...]],
    uncovered: Callable[[Sequence[date]], str],
    most: int,
) -> tuple[_Days, str]:
    """The days as they stand if they cover, else closer together, else with doses added.

    With them why nothing covers; empty where something does.
    """
    why = uncovered(held.days)
    if not why:
        return held, ""
    ahead = laid(held.queue, True)
    if not uncovered(ahead):
        return _Days(held.queue, ahead, why), ""
    for extra in range(1, most + 1):
        again = spare[:extra]
        fresh = (added(place) for place in range(extra - len(again)))
        queue = (*held.queue, *again, *fresh)
        for forward in (False, True):
            days = laid(queue, forward)
            if not uncovered(days):
                return _Days(queue, days, why), ""
    return held, why


def _moves_said(
    chosen: _Days, counted: Sequence[Tally], name: str, every: int, at_once: bool
) -> list[str]:
    said = []
    before = max(
        (one for one in counted if one.was_given),
        key=lambda one: (one.last_on, one.planned.number), default=None,
    )  # fmt: skip
    after = None if before is None else before.planned.number
    for dose, day in zip(chosen.queue, chosen.days, strict=True):
        if dose.due_on not in (day, date.min):
            if at_once and dose is chosen.queue[0]:
                why = "a dose was missed, and what it should have met goes on"
            elif day < dose.due_on and chosen.why:
                why = f"where it stood, {chosen.why}"
            elif after is None:
                why = "the step before it ends later"
            else:
                why = f"{every} d after dose {after}"
            said.append(
                f"{name} {dose.number} moves from {day_said(dose.due_on)} to "
                f"{day_said(day)}: {why}."
            )
        after = dose.number
    return said


def _added_said(
    chosen: _Days,
    counted: Sequence[Tally],
    missed: Sequence[PlannedDose],
    name: str,
) -> list[str]:
    fresh = [
        (dose, day)
        for dose, day in zip(chosen.queue, chosen.days, strict=True)
        if dose.due_on == date.min
    ]
    gone = {one.number for one in missed}
    failed = [
        (one.planned.number, "missed" if not one.was_given else "too small to count")
        for one in counted
        if one.planned.added in {"", "in place"}
        and (one.planned.state == "missed" or one.planned.number in gone or one.was_given)
        and one.counts_on is None
        and not one.open_today
    ]
    in_place = [pair for pair in fresh if pair[0].added == "in place"]
    said = [
        f"{name} {dose.number} is added on {day_said(day)}, in place of dose {of}, which was {why}."
        for (dose, day), (of, why) in zip(in_place, failed[-len(in_place) :], strict=False)
    ]
    said += [
        f"{name} {dose.number} is added on {day_said(day)}, so that what hatches is still met: "
        f"without it, {chosen.why}."
        for dose, day in fresh
        if dose.added == "for cover"
    ]
    return said


def _doses(
    counted: Sequence[Tally],
    chosen: _Days,
    missed: Sequence[PlannedDose],
    dropped: Sequence[PlannedDose],
) -> tuple[PlannedDose, ...]:
    """All doses of the step by number, each as it now stands."""
    days = {dose.number: day for dose, day in zip(chosen.queue, chosen.days, strict=True)}
    gone, out = ({one.number for one in some} for some in (missed, dropped))
    doses = []
    for one in counted:
        dose = one.planned
        if one.was_given:
            dose = replace(dose, state="given")
        elif dose.number in gone:
            dose = replace(dose, state="missed")
        elif dose.number in out:
            dose = replace(dose, state="dropped")
        elif dose.number in days:
            dose = replace(dose, due_on=days[dose.number])
        doses.append(dose)
    doses += [
        replace(dose, due_on=day)
        for dose, day in zip(chosen.queue, chosen.days, strict=True)
        if dose.due_on == date.min
    ]
    return tuple(sorted(doses, key=lambda one: one.number))

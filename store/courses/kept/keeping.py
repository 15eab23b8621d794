"""Planning, starting and ending a course in the book: by vets alone, whatever the screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.courses.kept.allowed import (
    answer,
    course_within,
    only_vets,
    open_doses,
)
from store.courses.kept.course_water import temps_within
from store.courses.kept.formulary import ShelfProduct, entries
from store.courses.kept.records import Course, water_kept
from store.courses.kept.same_stop import answered_before
from store.courses.planning.course import Caution, Plan, PlannedDose, PlanStep, Task
from store.courses.turning.turned import Turn, turned
from store.errors import BadInput, NotAllowed, NotFound
from store.facts.entry import OWN
from store.text import day_said

ENDS: Mapping[str, str] = {
    "completed": "completed",
    "stopped": "stopped early",
    "changed": "changed to another course",
}


def keep_plan(
    writing: Writing, pond_id: UUID, plan: Plan, *, follows: UUID | None = None, note: str = ""
) -> UUID:
    """Keep a plan as a course that has not begun.

    Parameters
    ----------
    writing
        The action of a vet.
    pond_id
        Key of the pond.
    plan
        From `store.courses.planning.plan.plan_course`.
    follows
        The course that this one takes the place of.
    note
        In words.

    Returns
    -------
    UUID
        Key of the course.

    Raises
    ------
    NotAllowed
        The person is no vet.
    NotFound
        No such pond, or it was struck through.
    BadInput
        A plan without a dose, or with a value that cannot be kept.
    """
    only_vets(writing, "plan a course")
    ponds = table("pond").c
    query = select(ponds.id).where(ponds.id == pond_id, ponds.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")
    if not plan.steps or not all(step.doses for step in plan.steps):
        raise BadInput("A course needs at least one dose in every step; nothing was saved.")
    water = plan.water
    key = writing.add(
        "course",
        pond_id=pond_id,
        reason=plan.reason,
        hazards=list(plan.hazards),
        volume_l=water.volume_l,
        volume_low_l=water.volume_low_l,
        volume_high_l=water.volume_high_l,
        use=water.use,
        water=water_kept(water),
        control_on=plan.control_on,
        follows_id=follows,
        remarks=list(plan.remarks),
        note=note,
    )
    shelf = entries(writing.connection, writing.book.zone, ShelfProduct)
    for step in plan.steps:
        step_id = writing.add(
            "course_step",
            course_id=key,
            place=step.place,
            agent=step.agent,
            route=step.route,
            dose=step.dose,
            unit=step.unit,
            product=step.product.name,
            strength_percent=step.product.strength_percent,
            strength_basis=step.product.basis,
            density_g_ml=step.product.density_g_ml,
            volume_l=step.volume_l,
            interval_days=step.interval_days,
            interval_why=step.interval_why,
            gap_days=step.gap_days,
            exposure_h=step.exposure_h,
            half_life_h=step.half_life_h,
            safe_most=step.safe_most,
            source=step.source,
            # Rows know three standings; that it is the practice's own, `step_rests_on` tells.
            standing="common practice" if step.standing == OWN else step.standing,
            remarks=list(step.remarks),
        )
        product = _on_shelf(shelf, step)
        if step.own_dose is not None or product is not None:
            writing.add(
                "step_rests_on", step_id=step_id, own_dose_id=step.own_dose, product_id=product
            )
        if step.ration is not None:
            writing.add("feed_ration", step_id=step_id, **asdict(step.ration))
        for dose in step.doses:
            writing.add("course_dose", step_id=step_id, nth=dose.number, **_dose_values(dose))
    for task in plan.tasks:
        _add_task(writing, key, task)
    return key


def _on_shelf(shelf: Iterable[ShelfProduct], step: PlanStep) -> UUID | None:
    """The product of the shelf that a step names, if it is one."""
    called = step.product.name.strip().casefold()
    return next(
        (
            one.id
            for one in shelf
            if one.agent == step.agent
            and one.name.casefold() == called
            and one.strength_percent == step.product.strength_percent
        ),
        None,
    )


def start_course(
    writing: Writing,
    key: UUID,
    rev: int,
    cautions: Sequence[Caution],
    reasons: Mapping[str, str],
) -> int:
    """Start a planned course.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The course, as the person saw it.
    cautions
        What was shown before the start, from `store.courses.cautions.before`; all of it is logged.
    reasons
        Code of a caution to the reason in writing; every `stop` needs one.

    Returns
    -------
    int
        The course's revision afterwards.

    Raises
    ------
    NotAllowed
        The person is no vet, or the course has begun already.
    BadInput
        A `stop` is not answered.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    only_vets(writing, "start a course")
    found = course_within(writing, key)
    if found.state != "planned":
        raise NotAllowed(f"This course is {found.state} already; it was left as it is.")
    answer(writing, key, None, cautions, reasons)
    today = writing.book.today(writing.act.at)
    return writing.change("course", key, rev, state="running", started_on=today)


def turn_course(
    writing: Writing, key: UUID, rev: int, reasons: Mapping[str, str] | None = None
) -> Turn:
    """Plan what remains of a running course anew, after doses that slipped or water that moved.

    The water is that which was measured since the first day, and from today on its present trend.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The course, as the person saw it.
    reasons
        Code of a caution to the reason in writing; every `stop` of the turn needs one, but for
        those that were answered before.

    Returns
    -------
    Turn
        From `store.courses.turning.turned.turned`, as it was kept.

    Raises
    ------
    NotAllowed
        The person is no vet, or the course does not run.
    BadInput
        A `stop` is not answered.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    only_vets(writing, "plan a course anew")
    found = course_within(writing, key)
    if found.state != "running":
        raise NotAllowed(f"This course is {found.state}; only a running one is planned anew.")
    today = writing.book.today(writing.act.at)
    temps = temps_within(writing.connection, writing.book.zone, [found], today).get(key)
    turn = turned(found.plan, found.given, today, temps=temps)
    new = [one for one in turn.cautions if answered_before(found, one) is None]
    answer(writing, key, None, new, reasons or {})
    writing.change(
        "course", key, rev, control_on=turn.plan.control_on, remarks=list(turn.plan.remarks)
    )
    _keep_turn(writing, found, turn.plan, turn.said)
    return turn


def _keep_turn(writing: Writing, found: Course, plan: Plan, said: Iterable[str]) -> None:
    """Keep the doses and tasks of a plan that was turned, with the sentences that say why.

    A dose that was given is never touched; what is new is added, and a task that moved is struck
    through with the reason.

    """
    steps = table("course_step").c
    places = dict(
        writing.connection.execute(
            select(steps.place, steps.id).where(steps.course_id == found.id)
        ).all()
    )
    doses = table("course_dose")
    for step, was in zip(plan.steps, found.plan.steps, strict=True):
        if step.interval_why != was.interval_why:
            _keep_interval(writing, places[step.place], step)
        for dose in step.doses:
            key = found.dose_ids.get((step.place, dose.number))
            values = _dose_values(dose)
            if key is None:
                writing.add("course_dose", step_id=places[step.place], nth=dose.number, **values)
                continue
            row = writing.connection.execute(
                select(doses.c.rev, doses.c.state).where(doses.c.id == key)
            ).one()
            if row.state != "given":
                writing.change("course_dose", key, row.rev, **values)
    _keep_tasks(writing, found, plan)
    for sentence in said:
        writing.add("course_turn", course_id=found.id, said=sentence)


def _keep_interval(writing: Writing, key: UUID, step: PlanStep) -> None:
    """Keep an interval that the water has shortened; the log has the one before."""
    steps = table("course_step").c
    rev = writing.connection.execute(select(steps.rev).where(steps.id == key)).scalar_one()
    writing.change(
        "course_step", key, rev, interval_days=step.interval_days, interval_why=step.interval_why
    )


def _keep_tasks(writing: Writing, found: Course, plan: Plan) -> None:
    wanted = list(plan.tasks)
    tasks = table("course_task")
    rows = writing.connection.execute(
        select(tasks).where(tasks.c.course_id == found.id, tasks.c.struck_at.is_(None))
    ).all()
    for row in rows:
        task = Task(row.code, row.on_day, row.says, row.share, row.source)
        if task in wanted:
            wanted.remove(task)
        elif row.done_at is None:
            writing.strike("course_task", row.id, "The course was planned anew.", row.rev)
    for task in wanted:
        _add_task(writing, found.id, task)


def _add_task(writing: Writing, course_id: UUID, task: Task) -> None:
    writing.add(
        "course_task",
        course_id=course_id,
        code=task.code,
        on_day=task.on_day,
        says=task.says,
        share=task.share,
        source=task.source,
    )


def end_course(
    writing: Writing,
    key: UUID,
    rev: int,
    state: Literal["completed", "stopped", "changed"],
    why: str = "",
    *,
    on_day: date | None = None,
) -> int:
    """End a course.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The course, as the person saw it.
    state
        How it ended.
    why
        The reason; needed unless it was completed and every dose was given, or dropped when the
        course was planned anew.
    on_day
        The last day, today where it is left out; never ahead.

    Returns
    -------
    int
        The course's revision afterwards.

    Raises
    ------
    NotAllowed
        The person is no vet, or the course has ended already.
    BadInput
        No reason, a day ahead, or one before the start.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    only_vets(writing, "end a course")
    found = course_within(writing, key)
    if found.state in ENDS:
        raise NotAllowed(f"This course is {ENDS[found.state]} already; it was left as it is.")
    if state != "completed" and not why.strip():
        raise BadInput("Please say why the course ends. Nothing was changed.", field="why")
    today = writing.book.today(writing.act.at)
    left = open_doses(found, today)
    if state == "completed" and left and not why.strip():
        raise BadInput(
            f"{left} {'dose is' if left == 1 else 'doses are'} still to be given: what hides from "
            "a dose comes back when the rest is left out. Please say why the course is completed "
            "all the same, or plan the rest anew. Nothing was changed.",
            field="why",
        )
    day = on_day or today
    if day > today or (found.started_on is not None and day < found.started_on):
        raise BadInput(
            f"The course cannot have ended on {day_said(day)}. Nothing was changed.", field="on_day"
        )
    return writing.change("course", key, rev, why, state=state, ended_on=day, end_why=why)


def _dose_values(dose: PlannedDose) -> dict[str, Any]:
    return {
        "due_on": dose.due_on,
        "dose": dose.dose,
        "amount": dose.amount,
        "amount_unit": dose.amount_unit,
        "water_change_percent": dose.water_change_percent,
        "share": dose.share,
        "state": dose.state,
        "added": dose.added,
    }

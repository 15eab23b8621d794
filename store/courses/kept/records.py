"""The courses of a book, read back as they were planned, with the log of their doses."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, Connection, Row, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.courses.kept.against_stop import unanswered_stop
from store.courses.kept.formulary import formulary_within
from store.courses.planning.course import (
    CourseState,
    Given,
    Plan,
    PlannedDose,
    PlanStep,
    PondWater,
    Product,
    Ration,
    Task,
)
from store.errors import NotFound
from store.facts.agent import Agent
from store.facts.entry import OWN


@dataclass(frozen=True, slots=True)
class LoggedDose:
    """A dose as somebody logged it; one that was struck through by mistake stays to be read."""

    id: UUID
    rev: int
    given: Given
    given_by: str
    batch: str
    observed: str
    logged_by: UUID
    struck_why: str


@dataclass(frozen=True, slots=True)
class KeptTask:
    """A task of a course; `done_at` is None until somebody ticks it, `note` is what they wrote."""

    id: UUID
    rev: int
    task: Task
    done_at: datetime | None
    done_by: UUID | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """A caution as it was shown, and the reason for which a vet went on.

    `dose` is the place of the step and the number of the dose before which it was shown; None
    before the course. A stop without a reason was passed over by somebody who is no vet, when a
    dose was logged that had been given.
    """

    code: str
    level: str
    said: str
    reason: str
    at: datetime
    by: UUID
    dose: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Course:
    """A course of one pond: the plan as it stands now, and everything that happened to it."""

    id: UUID
    rev: int
    pond_id: UUID
    state: CourseState
    plan: Plan
    started_on: date | None
    ended_on: date | None
    end_why: str
    prescribed_by: UUID
    note: str
    log: tuple[LoggedDose, ...]
    turns: tuple[tuple[datetime, str], ...]
    answered: tuple[Answered, ...]
    dose_ids: Mapping[tuple[int, int], UUID]
    """Place of the step and number of the dose to its key."""
    tasks: tuple[KeptTask, ...] = ()
    """Those of the plan, and those that were done before it was planned anew."""
    follows: UUID | None = None
    """The course that this one takes the place of."""

    @property
    def given(self) -> tuple[Given, ...]:
        """What counts of the log: the doses that are not struck through, old to new."""
        return tuple(one.given for one in self.log if not one.struck_why)

    @property
    def control_done(self) -> KeptTask | None:
        """The control examination, once it was made; None while one is still to be made."""
        controls = [one for one in self.tasks if one.task.code == CONTROL]
        if not controls or any(one.done_at is None for one in controls):
            return None
        return controls[-1]


CONTROL = "control"
"""Code of the task that is the control examination."""

_WATER = tuple(
    field.name
    for field in fields(PondWater)
    if field.name not in ("volume_l", "volume_low_l", "volume_high_l", "use")
)


def water_kept(water: PondWater) -> dict[str, Any]:
    """What of the pond's water is kept beside the volume, as the book holds it.

    Parameters
    ----------
    water
        As it was found when the course was planned.
    """
    kept = {name: getattr(water, name) for name in _WATER}
    kept["things"] = sorted(water.things)
    return {name: value for name, value in kept.items() if value not in (None, "", [])}


def course(book: Book, key: UUID) -> Course:
    """One course.

    Parameters
    ----------
    book
        The book.
    key
        Of the course.

    Raises
    ------
    NotFound
        There is no such course.
    """
    with book.reading() as connection:
        found = read_courses(connection, book.zone, table("course").c.id == key)
    if not found:
        raise NotFound("There is no such course in the book.")
    return found[0]


def courses_of(book: Book, pond: UUID) -> tuple[Course, ...]:
    """All courses of a pond, newest first.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    """
    with book.reading() as connection:
        return read_courses(connection, book.zone, table("course").c.pond_id == pond)


def active_courses(book: Book) -> tuple[Course, ...]:
    """The courses that run now, over all ponds that stand in the book, newest first.

    Parameters
    ----------
    book
        The book.
    """
    courses, ponds = table("course").c, table("pond").c
    standing = select(ponds.id).where(ponds.struck_at.is_(None))
    with book.reading() as connection:
        return read_courses(
            connection, book.zone, courses.state == "running", courses.pond_id.in_(standing)
        )


def control_open() -> ColumnElement[bool]:
    """The condition on `course` that its control examination was planned and is not made yet."""
    courses, tasks = table("course").c, table("course_task").c
    controls = select(tasks.id).where(
        tasks.course_id == courses.id, tasks.code == CONTROL, tasks.struck_at.is_(None)
    )
    to_be_made = controls.where(tasks.done_at.is_(None)).exists()
    return courses.control_on.is_not(None) & (to_be_made | ~controls.exists())


def followed_courses(book: Book) -> tuple[Course, ...]:
    """The courses that run now, and ended ones that wait: for a control, or for a vet's answer.

    Parameters
    ----------
    book
        The book; of ponds that stand in it.

    Returns
    -------
    tuple of Course
        Newest first. The control is that of a completed course, the answer one to a stop against
        which a dose was logged.
    """
    courses, ponds = table("course").c, table("pond").c
    standing = select(ponds.id).where(ponds.struck_at.is_(None))
    followed = (
        (courses.state == "running")
        | ((courses.state == "completed") & control_open())
        | unanswered_stop()
    )
    with book.reading() as connection:
        return read_courses(connection, book.zone, followed, courses.pond_id.in_(standing))


def read_courses(
    connection: Connection, zone: ZoneInfo, *conditions: ColumnElement[bool]
) -> tuple[Course, ...]:
    """The courses that meet the conditions, newest first, with all that belongs to them.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice, in which a dose belongs to its calendar day.
    *conditions
        On the columns of `course`.
    """
    courses = table("course")
    query = (
        select(courses)
        .where(courses.c.struck_at.is_(None), *conditions)
        .order_by(courses.c.created_at.desc(), courses.c.id.desc())
    )
    rows = connection.execute(query).all()
    keys = [row.id for row in rows]
    if not keys:
        return ()
    steps = _rows(connection, "course_step", "course_id", keys, "place")
    doses = _rows(connection, "course_dose", "step_id", [step.id for step in steps], "nth")
    rations = _rations(connection, [step.id for step in steps])
    own_doses = {
        row.step_id: row.own_dose_id
        for row in _rows(
            connection, "step_rests_on", "step_id", [step.id for step in steps], "created_at"
        )
    }
    known = formulary_within(connection, zone, struck=True)
    log = _rows(
        connection, "dose_given", "dose_id", [dose.id for dose in doses], "given_at", struck=True
    )
    tasks = _rows(connection, "course_task", "course_id", keys, "on_day")
    notes = _notes(connection, [one for one in tasks if one.done_at is not None])
    turns = _rows(connection, "course_turn", "course_id", keys, "created_at")
    answers = _rows(connection, "caution_answer", "course_id", keys, "created_at")
    return tuple(
        _course(
            row,
            [one for one in steps if one.course_id == row.id],
            doses,
            log,
            [_task(one, notes) for one in tasks if one.course_id == row.id],
            [one for one in turns if one.course_id == row.id],
            [one for one in answers if one.course_id == row.id],
            zone,
            rations,
            own_doses,
            known,
        )
        for row in rows
    )


def _rows(
    connection: Connection,
    name: TableName,
    of: str,
    keys: Iterable[UUID],
    order: str,
    *,
    struck: bool = False,
) -> Sequence[Row[Any]]:
    target = table(name)
    query = select(target).where(target.c[of].in_(list(keys)))
    if not struck:
        query = query.where(target.c.struck_at.is_(None))
    return connection.execute(query.order_by(target.c[order], target.c.id)).all()


def _notes(connection: Connection, done: Sequence[Row[Any]]) -> dict[tuple[UUID, int], str]:
    """What was written beside each tick: the log keeps it, with the revision that it made."""
    if not done:
        return {}
    change = table("change").c
    query = select(change.row_id, change.rev, change.why).where(
        change.table_name == "course_task", change.row_id.in_([one.id for one in done])
    )
    return {(key, rev): why for key, rev, why in connection.execute(query)}


def _task(row: Row[Any], notes: Mapping[tuple[UUID, int], str]) -> KeptTask:
    done = row.done_at is not None
    return KeptTask(
        row.id,
        row.rev,
        Task(row.code, row.on_day, row.says, row.share, row.source),
        row.done_at,
        row.changed_by if done else None,
        notes.get((row.id, row.rev), "") if done else "",
    )


def _course(
    row: Row[Any],
    steps: Sequence[Row[Any]],
    doses: Sequence[Row[Any]],
    log: Sequence[Row[Any]],
    tasks: Sequence[KeptTask],
    turns: Sequence[Row[Any]],
    answers: Sequence[Row[Any]],
    zone: ZoneInfo,
    rations: Mapping[UUID, Ration],
    own_doses: Mapping[UUID, UUID | None],
    known: Mapping[str, Agent],
) -> Course:
    places = {step.id: step.place for step in steps}
    own = {dose.id: dose for dose in doses if dose.step_id in places}
    dose_ids = {(places[dose.step_id], dose.nth): dose.id for dose in own.values()}
    water = PondWater(
        row.volume_l,
        row.volume_low_l,
        row.volume_high_l,
        use=row.use,
        **{**row.water, "things": frozenset(row.water.get("things", ()))},
    )
    of_dose = {key: where for where, key in dose_ids.items()}
    return Course(
        id=row.id,
        rev=row.rev,
        pond_id=row.pond_id,
        state=row.state,
        plan=Plan(
            hazards=tuple(row.hazards),
            reason=row.reason,
            water=water,
            steps=tuple(
                _step(
                    step,
                    [one for one in doses if one.step_id == step.id],
                    rations.get(step.id),
                    own_doses.get(step.id),
                    known.get(step.agent),
                )
                for step in steps
            ),
            tasks=tuple(one.task for one in tasks),
            control_on=row.control_on,
            remarks=tuple(row.remarks),
            formulary=known,
        ),
        started_on=row.started_on,
        ended_on=row.ended_on,
        end_why=row.end_why,
        prescribed_by=row.created_by,
        note=row.note,
        log=tuple(
            _logged(one, places[own[one.dose_id].step_id], own[one.dose_id].nth, zone)
            for one in log
            if one.dose_id in own
        ),
        turns=tuple((one.created_at, one.said) for one in turns),
        answered=tuple(
            Answered(
                one.code, one.level, one.said, one.reason, one.created_at, one.created_by,
                of_dose.get(one.dose_id),
            )
            for one in answers
        ),
        dose_ids=dose_ids,
        tasks=tuple(tasks),
        follows=row.follows_id,
    )  # fmt: skip


def _rations(connection: Connection, steps: Sequence[UUID]) -> dict[UUID, Ration]:
    """What each step that is given with the feed was reckoned for."""
    return {
        row.step_id: Ration(**{field.name: getattr(row, field.name) for field in fields(Ration)})
        for row in _rows(connection, "feed_ration", "step_id", steps, "created_at")
    }


def _step(
    row: Row[Any],
    doses: Sequence[Row[Any]],
    ration: Ration | None,
    own_dose: UUID | None,
    agent: Agent | None,
) -> PlanStep:
    own = own_dose is not None or (agent is not None and agent.standing == OWN)
    return PlanStep(
        place=row.place,
        agent=row.agent,
        route=row.route,
        dose=row.dose,
        unit=row.unit,
        product=Product(row.product, row.strength_percent, row.strength_basis, row.density_g_ml),
        volume_l=row.volume_l,
        doses=tuple(
            PlannedDose(
                one.nth,
                one.due_on,
                one.dose,
                one.amount,
                one.amount_unit,
                one.water_change_percent,
                one.share,
                one.state,
                one.added,
            )
            for one in doses
        ),
        interval_days=row.interval_days,
        interval_why=row.interval_why,
        exposure_h=row.exposure_h,
        half_life_h=row.half_life_h,
        safe_most=row.safe_most,
        source=row.source,
        standing=OWN if own else row.standing,
        remarks=tuple(row.remarks),
        gap_days=row.gap_days,
        ration=ration,
        own_dose=own_dose,
        called=row.agent if agent is None else agent.plain_name,
    )


def _logged(row: Row[Any], place: int, number: int, zone: ZoneInfo) -> LoggedDose:
    given = Given(
        place=place,
        number=number,
        at=row.given_at,
        on_day=row.given_at.astimezone(zone).date(),
        dose=row.dose,
        amount=row.amount,
        amount_unit=row.amount_unit,
        water_change_percent=row.water_change_percent,
    )
    return LoggedDose(
        row.id, row.rev, given, row.given_by, row.batch, row.observed, row.created_by,
        row.struck_why,
    )  # fmt: skip

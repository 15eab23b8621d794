"""The courses of a book, read back as they were planned, with the log of their doses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, Connection, Row, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.courses.kept.against_stop import unanswered_stop
from store.courses.kept.course_rows import made_course, made_task, ration_of, water_kept
from store.courses.kept.course_values import CONTROL, Answered, Course, KeptTask, LoggedDose
from store.courses.kept.formulary import formulary_within
from store.courses.planning.course import Ration
from store.errors import NotFound

__all__ = [
    "CONTROL",
    "Answered",
    "Course",
    "KeptTask",
    "LoggedDose",
    "active_courses",
    "control_open",
    "course",
    "courses_of",
    "followed_courses",
    "read_courses",
    "water_kept",
]


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
        made_course(
            row,
            [one for one in steps if one.course_id == row.id],
            doses,
            log,
            [made_task(one, notes) for one in tasks if one.course_id == row.id],
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


def _rations(connection: Connection, steps: Sequence[UUID]) -> dict[UUID, Ration]:
    """What each step that is given with the feed was reckoned for."""
    return {
        row.step_id: ration_of(row)
        for row in _rows(connection, "feed_ration", "step_id", steps, "created_at")
    }

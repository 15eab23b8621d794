"""Examinations beside courses: one made after the last dose is the course's control."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import tzinfo
from uuid import UUID

from store.book.tables import table
from store.book.writing import Writing
from store.courses.kept.allowed import course_within, open_doses
from store.courses.kept.records import CONTROL, Course
from store.courses.kept.tasks import record_control, tick_task
from store.errors import BadInput, NotFound
from store.exams.examinations import KeptExam, read_examinations
from store.exams.examining import record_examination, strike_examination
from store.exams.line_said import said_found
from store.exams.values import Exam
from store.text import day_said


@dataclass(frozen=True, slots=True)
class Entered:
    """An examination that was kept: whether it is the control of its course, and in words."""

    id: UUID
    answered: bool
    said: str


def enter_examination(writing: Writing, pond_id: UUID, exam: Exam) -> Entered:
    """Keep an examination; where it is the control of a course, the course's control is made.

    Parameters
    ----------
    writing
        The action of the person; all of it is kept, or nothing.
    pond_id
        Key of the pond.
    exam
        What was looked at and found; `course_id` is the course that it controls.

    Returns
    -------
    Entered
        An examination before the last dose is kept beside its course and does not control it.

    Raises
    ------
    NotFound, BadInput
        As for `record_examination`.
    """
    key = record_examination(writing, pond_id, exam)
    if exam.course_id is None:
        return Entered(key, False, "")
    return _control(writing, key, exam, exam.course_id)


def say_controls(writing: Writing, examination_id: UUID, rev: int, course_id: UUID) -> Entered:
    """Say of an examination that is kept already which course it controls.

    Parameters
    ----------
    writing
        The action of the person.
    examination_id, rev
        The examination, as the person saw it.
    course_id
        Of the course.

    Returns
    -------
    Entered
        As for `enter_examination`.

    Raises
    ------
    NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.change`.
    BadInput
        The course is of another pond, or the examination has one already.
    """
    kept = _kept(writing, examination_id)
    course = course_within(writing, course_id)
    if course.pond_id != kept.pond_id:
        raise BadInput("That course is not of this pond. Nothing was changed.", field="course")
    if kept.exam.course_id is not None:
        raise BadInput(
            "It stands beside a course already. Nothing was changed.", field="course"
        )  # fmt: skip
    writing.change(
        "examination", examination_id, rev, f"controls the course against {course.plan.reason}",
        course_id=course_id, purpose="control",
    )  # fmt: skip
    return _control(writing, examination_id, kept.exam, course_id)


def strike_control(writing: Writing, examination_id: UUID, rev: int, why: str) -> bool:
    """Strike an examination through; a control that rested on it is to be made again.

    Parameters
    ----------
    writing
        The action of the person.
    examination_id, rev
        The examination, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    bool
        Whether the control of a course is open again.

    Raises
    ------
    NotFound, NotAllowed, ChangedMeanwhile, BadInput
        As for `Writing.strike`.
    """
    kept = _kept(writing, examination_id)
    strike_examination(writing, examination_id, rev, why)
    if kept.exam.course_id is None:
        return False
    course = course_within(writing, kept.exam.course_id)
    begins = _begins(writing, kept.exam)
    resting = [
        one
        for one in course.tasks
        if one.task.code == CONTROL and one.done_at is not None and one.note.startswith(begins)
    ]
    for one in resting:
        tick_task(writing, one.id, False, note=f"The examination was struck through: {why}")
    return bool(resting)


def said_in_short(exam: Exam) -> str:
    """What was found, hazard by hazard with every measure, such as `gill flukes 23 in 5 fields`.

    Parameters
    ----------
    exam
        What was looked at and found.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.exams.values import ExamFish, Found, Prep
    >>> said_in_short(Exam(datetime(2026, 3, 14, tzinfo=UTC), "routine", "Ada", tuple(
    ...     ExamFish(n, preparations=(Prep("gill clip", fields=5, found=(
    ...         Found("gill_flukes", counted=c),)),)) for n, c in ((1, 23), (2, 4)))))
    '2 fish: gill flukes 23 in 5 fields (4.6 a field), 4 in 5 fields (0.8 a field)'
    """
    said: dict[str, list[str]] = {}
    for fish in exam.fish:
        for prep, one in fish.found:
            fields = None if prep is None else prep.fields
            if one.hazard not in said:
                said[one.hazard] = [said_found(one, fields)]
                continue
            sure = ", suspected" if one.confidence == "suspected" else ""
            said[one.hazard].append((one.measure(fields) if one.present else "none") + sure)
    many = f"{len(exam.fish)} fish"
    return f"{many}: {'; '.join(', '.join(of) for of in said.values()) or 'nothing found'}"


def answering(courses: Iterable[Course], kept: KeptExam, zone: tzinfo) -> tuple[Course, ...]:
    """The courses that answer an examination: begun since, against something that was found.

    Parameters
    ----------
    courses
        Of the pond.
    kept
        The examination.
    zone
        Of the practice.

    Returns
    -------
    tuple of Course
        The oldest first; without the one that it controls.
    """
    day = kept.exam.at.astimezone(zone).date()
    named = set(kept.exam.hazards)
    found = [
        one
        for one in courses
        if one.started_on is not None
        and one.started_on >= day
        and one.id != kept.exam.course_id
        and named & set(one.plan.hazards)
    ]
    return tuple(sorted(found, key=lambda one: (one.started_on, one.id)))


def _control(writing: Writing, key: UUID, exam: Exam, course_id: UUID) -> Entered:
    course = course_within(writing, course_id)
    today = writing.book.today(writing.act.at)
    day = min(writing.book.today(exam.at), today)
    why_not = ""
    last = max((one.on_day for one in course.given), default=None)
    if course.state == "planned":
        why_not = "The course has not begun; the examination stands beside it."
    elif course.state == "running" and open_doses(course, today):
        why_not = "Doses are still to be given; the control follows the last one."
    elif last is not None and day < last:
        why_not = f"The last dose was given on {day_said(last)}; the control follows it."
    elif course.control_done is not None:
        why_not = "The control of the course was made before; this one stands beside it."
    if why_not:
        return Entered(key, False, why_not)
    note = f"{_begins(writing, exam)} {said_in_short(exam)}"
    record_control(writing, course_id, note[:_LONGEST], on=day)
    return Entered(key, True, "The control of the course is made.")


_LONGEST = 2000
"""Letters of the note beside a task; everything stands on the page of the examination."""


def _begins(writing: Writing, exam: Exam) -> str:
    at = exam.at.astimezone(writing.book.zone)
    return f"Examination of {day_said(at.date())}, {at:%H:%M}:"


def _kept(writing: Writing, key: UUID) -> KeptExam:
    found = read_examinations(
        writing.connection, table("examination").c.id == key, struck=True
    )  # fmt: skip
    if not found:
        raise NotFound("There is no such examination in the book; nothing was changed.")
    return found[0]

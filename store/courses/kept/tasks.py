"""The tasks of a course, ticked by whoever did them; what is not ticked speaks before a dose.

A tick and its taking back are changes of the task's row: the log of the book says who and when, and
keeps the sentence that was written beside it.
"""

from __future__ import annotations

from datetime import date, datetime, time
from uuid import UUID

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.courses.kept.allowed import course_within, open_doses
from store.courses.kept.records import CONTROL, Course, KeptTask
from store.courses.planning.course import Caution, Task
from store.errors import BadInput, NotAllowed, NotFound
from store.text import day_said

SHORT = {
    "volume": "volume measured", "off_uv": "UV off", "off_ozone": "ozone off",
    "off_carbon": "carbon out", "off_zeolite": "zeolite out", "off_skimmer": "skimmer off",
    "air_on": "air on", "feed": "no feed", "watch": "fish watched", "discharge": "discharge",
    "filter": "filter bypassed", "ammonia": "ammonia and nitrite tested", "on_uv": "UV on again",
    "on_ozone": "ozone on again", "on_carbon": "carbon back", "on_zeolite": "zeolite back",
    "on_skimmer": "skimmer on again", "air_off": "air as usual", CONTROL: "control examination",
    "feed_only": "no other feed", "feed_again": "usual feed again", "watch_eaten": "all eaten",
    "watch_binder": "what its binder asks",
}  # fmt: skip
"""What a task is called where there is no room for its sentence."""
BEFORE = ("off_", "air_on", "volume", "filter", "feed")
"""Beginnings of the codes of what is done before a dose is."""
LASTS = ("off_", "on_", "air_", "ammonia")
"""Beginnings of the codes of what stays to be done when its day is over; the rest passes with it.
"""
_NOON = time(12)
_TANK = " of the tank"


def tick_task(
    writing: Writing, key: UUID, done: bool, *, on: date | None = None, note: str = ""
) -> int:
    """Tick a task as done, or take a wrong tick back; anybody on the staff may.

    Parameters
    ----------
    writing
        The action of the person.
    key
        Of the task.
    done
        False takes the tick back.
    on
        The day on which it was done, today where it is left out; never ahead.
    note
        What was seen or found, in words; the control examination needs it.

    Returns
    -------
    int
        The task's revision afterwards; the same where it was ticked, or open, already.

    Raises
    ------
    NotFound
        No such task, or it was struck through when the course was planned anew.
    BadInput
        A day ahead, or a control examination without what was found.
    NotAllowed
        A control examination while doses are still to be given, or of a course not begun.
    """
    tasks = table("course_task").c
    query = select(tasks.id, tasks.rev, tasks.code, tasks.course_id, tasks.done_at).where(
        tasks.id == key, tasks.struck_at.is_(None)
    )
    row = writing.connection.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such task in the book any more; nothing was changed.")
    if (row.done_at is not None) == done:
        return int(row.rev)
    if not done:
        return writing.change("course_task", key, row.rev, note, done_at=None)
    if row.code == CONTROL:
        _check_control(writing, course_within(writing, row.course_id), note)
    at = _done_at(writing, on)
    return writing.change("course_task", key, row.rev, note.strip(), done_at=at)


def record_control(writing: Writing, course_id: UUID, found: str, *, on: date | None = None) -> int:
    """Mark the control examination of a course as made; anybody on the staff may.

    Parameters
    ----------
    writing
        The action of the person.
    course_id
        Of the course.
    found
        What was found, in words.
    on
        The day on which it was made, today where it is left out; never ahead.

    Returns
    -------
    int
        How many tasks were ticked for it.

    Raises
    ------
    NotFound, BadInput, NotAllowed
        As for `tick_task`.
    """
    course = course_within(writing, course_id)
    _check_control(writing, course, found)
    open_controls = [
        one.id for one in course.tasks if one.task.code == CONTROL and one.done_at is None
    ]
    if not open_controls:
        if course.control_done is not None:
            raise NotAllowed("The control examination is marked as made already.")
        # A plan may lay its control on a day without a task that says so.
        day = course.plan.control_on or writing.book.today(writing.act.at)
        says, source = "Control examination.", "common practice, without a published source"
        open_controls = [
            writing.add(
                "course_task", course_id=course_id, code=CONTROL, on_day=day, says=says,
                share="practice", source=source,
            )
        ]  # fmt: skip
    for key in open_controls:
        tick_task(writing, key, True, on=on, note=found)
    return len(open_controls)


def open_tasks(course: Course, on_day: date) -> tuple[KeptTask, ...]:
    """What has to be done before a dose on a day and is not ticked, or was undone since.

    Parameters
    ----------
    course
        The course.
    on_day
        The day of the dose.

    Returns
    -------
    tuple of KeptTask
        Of each kind the last one that is due by then.
    """
    latest: dict[tuple[str, bool], KeptTask] = {}
    for one in sorted(course.tasks, key=lambda one: one.task.on_day):
        if one.task.code.startswith(BEFORE) and one.task.on_day <= on_day:
            latest[_kind(one)] = one
    undone = {
        _kind(one): one.done_at
        for one in sorted(course.tasks, key=lambda one: one.task.on_day)
        if one.done_at is not None
    }
    return tuple(
        one
        for (code, tank), one in latest.items()
        if one.done_at is None or _since(undone.get((_back(code), tank)), one.done_at)
    )


def overdue_tasks(course: Course, today: date) -> tuple[KeptTask, ...]:
    """What should have been done by yesterday and still matters, oldest first.

    Parameters
    ----------
    course
        The course.
    today
        The practice's calendar day.

    Returns
    -------
    tuple of KeptTask
        Without the control examination, which is promised by itself, and without what passed with
        the day of its dose; what was to be off no longer matters once it is to be on again.
    """
    if course.state == "planned":
        return ()
    due = [one for one in course.tasks if one.task.on_day < today]
    last = {_kind(one): one.task.on_day for one in sorted(due, key=lambda one: one.task.on_day)}
    found = []
    for one in sorted(due, key=lambda one: one.task.on_day):
        code, tank = _kind(one)
        if one.done_at is not None or not code.startswith(LASTS):
            continue
        later = last.get((_back(code), tank))
        if one.task.on_day == last[code, tank] and (later is None or later < one.task.on_day):
            found.append(one)
    return tuple(found)


def task_cautions(course: Course, on_day: date) -> tuple[Caution, ...]:
    """A `mind` that names what is not ticked before a dose; nothing where all is.

    Parameters
    ----------
    course
        The course.
    on_day
        The day of the dose.
    """
    waiting = open_tasks(course, on_day)
    if not waiting:
        return ()
    named = ", ".join(dict.fromkeys(short(one.task) for one in waiting))
    planned = ", ".join(dict.fromkeys(day_said(one.task.on_day) for one in waiting))
    return (
        Caution(
            "tasks_open",
            "mind",
            f"Not ticked of what is done before the dose: {named}.",
            f"Planned for {planned}; the tasks of the course tick it.",
        ),
    )


def short(task: Task) -> str:
    """What a task is called in two words.

    Parameters
    ----------
    task
        The task.
    """
    said = SHORT.get(task.code, task.says)
    return said + (_TANK if _TANK in task.says and task.code in SHORT else "")


def _check_control(writing: Writing, course: Course, found: str) -> None:
    if not found.strip():
        raise BadInput(
            "Please write what was found: a count before and after, in the same unit. Nothing was "
            "changed.",
            field="note",
        )
    if course.state == "planned":
        raise NotAllowed("This course has not begun; there is nothing to control yet.")
    if course.state == "running" and open_doses(course, writing.book.today(writing.act.at)):
        raise NotAllowed(
            "Doses of this course are still to be given. What is seen meanwhile is written beside "
            "a dose; the control follows the last one. Nothing was changed."
        )


def _done_at(writing: Writing, on: date | None) -> datetime:
    today = writing.book.today(writing.act.at)
    if on is None or on == today:
        return writing.act.at
    if on > today:
        raise BadInput("This day lies ahead. Nothing was changed.", field="on_day")
    return datetime.combine(on, _NOON, writing.book.zone)


def _kind(one: KeptTask) -> tuple[str, bool]:
    return one.task.code, _TANK in one.task.says


def _back(code: str) -> str:
    """The code of the task by which what this one did is undone again."""
    if code == "air_on":
        return "air_off"
    return f"on_{code.removeprefix('off_')}" if code.startswith("off_") else ""


def _since(undone: datetime | None, done: datetime) -> bool:
    return undone is not None and undone > done

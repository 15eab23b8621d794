"""Who may do what with a course, and what must be answered first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from sqlalchemy import Connection

from store.book.allowed import refuse_but_vets, worker
from store.book.tables import table
from store.book.writing import Writing
from store.courses.kept.records import Course, read_courses
from store.courses.kept.same_stop import said_in_all
from store.courses.planning.course import Caution
from store.courses.turning.tally import tallies
from store.errors import BadInput, NotFound


def only_vets(writing: Writing, what: str) -> None:
    """Refuse anybody who is not entered as a vet, before anything else is asked of the person.

    What is written is refused by `store.book.allowed` all the same; this says what it was about.

    Parameters
    ----------
    writing
        The action of the person.
    what
        What it is about, for the sentence, such as `start a course`.

    Raises
    ------
    NotAllowed
        The person is no vet.
    """
    refuse_but_vets(writing.connection, writing.act.by, what)


def is_vet(connection: Connection, person: UUID) -> bool:
    """Whether a person is entered as a vet.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    person
        Key of the person.
    """
    found = worker(connection, person)
    return found is not None and found.is_vet


def course_within(writing: Writing, key: UUID) -> Course:
    """A course as this transaction sees it.

    Parameters
    ----------
    writing
        The action.
    key
        Of the course.

    Raises
    ------
    NotFound
        There is no such course.
    """
    found = read_courses(writing.connection, writing.book.zone, table("course").c.id == key)
    if not found:
        raise NotFound("There is no such course in the book; nothing was changed.")
    return found[0]


def open_doses(found: Course, today: date) -> int:
    """How many doses of a course are still to be given: neither given nor dropped by a turn.

    Parameters
    ----------
    found
        The course.
    today
        The practice's calendar day.
    """
    return sum(
        one.planned.state == "due" and one.counts_on is None
        for step in found.plan.steps
        for one in tallies(found.plan, step, found.given, today)
    )


def answer(
    writing: Writing,
    course_id: UUID,
    dose_id: UUID | None,
    cautions: Sequence[Caution],
    reasons: Mapping[str, str],
    *,
    was_given: bool = False,
) -> None:
    """Log every caution that was shown; a `stop` needs the reason of a vet.

    Parameters
    ----------
    writing
        The action.
    course_id, dose_id
        What they were shown before; None for the start of the course.
    cautions
        As they were shown.
    reasons
        Code of a caution to the reason in writing.
    was_given
        True where it has happened already: then somebody who is no vet leaves a `stop` without a
        reason, and it stands open until a vet answers it.

    Raises
    ------
    NotAllowed
        There is a `stop`, and the person is no vet and gives a reason, or nothing was given yet.
    BadInput
        A `stop` without its reason.
    """
    stops = [caution.code for caution in cautions if caution.level == "stop"]
    answered = any(reasons.get(code, "").strip() for code in stops)
    waits = was_given and not answered and not is_vet(writing.connection, writing.act.by)
    if stops and not waits:
        only_vets(writing, "go on against a stop")
    for caution in cautions:
        reason = reasons.get(caution.code, "").strip()
        if caution.level == "stop" and not reason and not waits:
            raise BadInput(
                f"{caution.said} To go on, please write why. Nothing was saved.",
                field=f"reason:{caution.code}",
            )
        writing.add(
            "caution_answer",
            course_id=course_id,
            dose_id=dose_id,
            code=caution.code,
            level=caution.level,
            said=said_in_all(caution),
            reason=reason,
        )

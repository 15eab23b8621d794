"""Doses that were logged against a stop: until a vet answers in writing, they stand open.

What was given cannot be undone by a stop, and a record that is refused is lost. So anybody logs it,
and the answer of a vet comes afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from sqlalchemy import ColumnElement, select

from store.book.tables import table
from store.courses.planning.fed import dose_word
from store.errors import BadInput, NotFound

if TYPE_CHECKING:
    from store.book.writing import Writing
    from store.courses.kept.records import Answered, Course


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A dose that was logged against a stop which no vet has answered yet.

    `name` is what the dose is called, such as `dose 2`; `on_day` the day it was last given;
    `stop` the caution as it was shown.
    """

    name: str
    place: int
    number: int
    on_day: date
    stop: Answered


def unanswered_stop() -> ColumnElement[bool]:
    """The condition on `course` that a stop of it was passed over and never answered.

    A dose that was struck through since is not looked for here; `open_stops` leaves it out.
    """
    courses, asked = table("course").c, table("caution_answer").alias("asked")
    later = table("caution_answer").alias("later")
    answered = select(later.c.id).where(
        later.c.course_id == asked.c.course_id,
        later.c.dose_id == asked.c.dose_id,
        later.c.code == asked.c.code,
        later.c.said == asked.c.said,
        later.c.reason != "",
    )
    return (
        select(asked.c.id)
        .where(
            asked.c.course_id == courses.id,
            asked.c.dose_id.is_not(None),
            asked.c.level == "stop",
            asked.c.reason == "",
            ~answered.exists(),
        )
        .exists()
    )


def open_stops(found: Course) -> tuple[Unanswered, ...]:
    """The stops against which a dose was logged and that no vet has answered, old to new.

    Parameters
    ----------
    found
        The course.

    Returns
    -------
    tuple of Unanswered
        Each stop of each dose once; none of a dose all of whose entries were struck through.
    """
    stand = {(one.place, one.number): one.on_day for one in found.given}
    many = len(found.plan.steps) > 1
    open_: dict[tuple[tuple[int, int] | None, str, str], Answered] = {}
    for one in found.answered:
        if one.level != "stop" or one.dose not in stand:
            continue
        which = (one.dose, one.code, one.said)
        if one.reason:
            open_.pop(which, None)
        else:
            open_.setdefault(which, one)
    steps = {step.place: step for step in found.plan.steps}
    told = []
    for one in open_.values():
        assert one.dose is not None
        place, number = one.dose
        word = dose_word(steps[place])
        if many:
            word = f"{found.plan.plain_name(steps[place].agent)} {word}"
        told.append(Unanswered(f"{word} {number}", place, number, stand[one.dose], one))
    return tuple(told)


def said_open(waits: Sequence[Unanswered]) -> tuple[tuple[date, str, str], ...]:
    """What stands open, dose by dose.

    Parameters
    ----------
    waits
        From `open_stops`.

    Returns
    -------
    tuple of (date, str, str)
        For each dose the day on which it was given, a clause that says so, and its stops.
    """
    by_dose: dict[tuple[int, int], list[Unanswered]] = {}
    for one in waits:
        by_dose.setdefault((one.place, one.number), []).append(one)
    return tuple(
        (
            own[0].on_day,
            f"{own[0].name} was logged against "
            f"{'a stop' if len(own) == 1 else f'{len(own)} stops'}: a vet has not answered",
            " ".join(one.stop.said for one in own),
        )
        for own in by_dose.values()
    )


def answer_open(writing: Writing, key: UUID, code: str, reason: str) -> int:
    """Answer a stop against which a dose was logged already.

    Parameters
    ----------
    writing
        The action of a vet.
    key
        Of the course.
    code
        Of the stop; where several doses were logged against it, all of them are answered.
    reason
        In writing: why it stands, and what is done about it.

    Returns
    -------
    int
        How many were answered [count].

    Raises
    ------
    NotAllowed
        The person is no vet.
    NotFound
        No such course, or no such stop stands open.
    BadInput
        No reason.
    """
    from store.courses.kept.allowed import course_within, only_vets

    only_vets(writing, "answer a stop")
    found = course_within(writing, key)
    waits = [one for one in open_stops(found) if one.stop.code == code]
    if not waits:
        raise NotFound("This stop is answered already, or its dose was struck through.")
    if not reason.strip():
        raise BadInput("Please write the answer to the stop. Nothing was saved.", field="reason")
    for one in waits:
        writing.add(
            "caution_answer",
            course_id=key,
            dose_id=found.dose_ids[one.place, one.number],
            code=code,
            level="stop",
            said=one.stop.said,
            reason=reason.strip(),
        )
    return len(waits)

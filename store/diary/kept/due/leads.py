"""Where a promise is kept: the record in which it is entered that it was done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from uuid import UUID

from sqlalchemy import and_, or_, select

from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About, about_of
from store.diary.desk.due import Promised

LeadsTo = Literal[
    "course", "examination", "pond", "samples", "water test", "concern", "by hand", "call", "ring"
]


@dataclass(frozen=True, slots=True)
class Lead:
    """A record to open.

    `key` is that of the course, the examination, the pond (`pond`, `samples`, `water test`,
    `concern`), the follow-up, the call or the client (`ring`).
    """

    to: LeadsTo
    key: UUID


def lead_of(book: Book, promised: Promised) -> Lead | None:
    """The record that keeps a promise.

    Parameters
    ----------
    book
        The practice's book.
    promised
        What was promised.

    Returns
    -------
    Lead or None
        None where its record is not in the book any more. A finding leads to the newest examination
        in which it stands, or to the samples of the pond where only a laboratory reported it.

    Raises
    ------
    BadInput
        The promise names nothing that can be kept.
    """
    about = about_of(promised.about)
    match about.thing:
        case "dose" | "answer":
            course = _course_of_dose(book, about.key)
            return None if course is None else Lead("course", course)
        case "control" | "turn":
            return Lead("course", about.key)
        case "finding":
            found = _newest_with(book, about)
            return Lead("samples", about.key) if found is None else Lead("examination", found)
        case "concern":
            return Lead("concern", about.key)
        case "test" | "ask":
            return Lead("water test", about.key)
        case "sample":
            return None if promised.pond_id is None else Lead("samples", promised.pond_id)
        case "hand":
            return Lead("by hand", about.key)
        case "call":
            return Lead("call", about.key)
        case "ring":
            return Lead("ring", about.key)


def _course_of_dose(book: Book, dose_id: UUID) -> UUID | None:
    step, dose = table("course_step"), table("course_dose")
    query = (
        select(step.c.course_id)
        .join(dose, dose.c.step_id == step.c.id)
        .where(dose.c.id == dose_id)
    )  # fmt: skip
    with book.reading() as connection:
        found: UUID | None = connection.execute(query).scalar()
    return found


def _newest_with(book: Book, about: About) -> UUID | None:
    """The newest standing examination of a pond in which the hazard was there: none is no find."""
    exam, fish, found = table("examination"), table("examined_fish"), table("exam_finding")
    query = (
        select(exam.c.id)
        .join(fish, and_(fish.c.examination_id == exam.c.id, fish.c.struck_at.is_(None)))
        .join(found, and_(found.c.fish_id == fish.c.id, found.c.struck_at.is_(None)))
        .where(
            exam.c.pond_id == about.key,
            exam.c.struck_at.is_(None),
            found.c.hazard == about.code,
            or_(found.c.counted.is_(None), found.c.counted > 0),
            or_(found.c.score.is_(None), found.c.score > 0),
        )
        .order_by(exam.c.at.desc(), exam.c.id.desc())
        .limit(1)
    )
    with book.reading() as connection:
        key: UUID | None = connection.execute(query).scalar()
    return key

"""All courses of all ponds: those that need somebody, and those that have ended, found by words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar
from uuid import UUID

from sqlalchemy import func, select

from store.book.book import Book
from store.book.find import folded
from store.book.tables import table
from store.courses.kept.formulary import formulary_within
from store.courses.kept.under_way import UnderWay, under_way
from store.courses.planning.course import CourseState

_WORD = re.compile(r"[^\W_]+")
_STATES = {
    "planned": "planned", "running": "running", "completed": "completed",
    "stopped": "stopped early", "changed": "changed to another course",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class EndedCourse:
    """A course that is over, as a line of the list.

    `given` counts the doses of which anything was logged, `doses` those that were not dropped.
    """

    id: UUID
    pond_id: UUID
    client: str
    pond: str
    name: str
    reason: str
    state: CourseState
    started_on: date | None
    ended_on: date
    end_why: str
    given: int
    doses: int

    @property
    def said(self) -> str:
        """How it ended, in words."""
        return _STATES[self.state]


@dataclass(frozen=True, slots=True)
class CourseList:
    """The courses that fit what was typed, and how many there are in all.

    `waiting` are planned, run or wait for their control, worst first; `ended` newest first.
    """

    waiting: tuple[UnderWay, ...]
    ended: tuple[EndedCourse, ...]
    all_waiting: int
    all_ended: int


def course_list(book: Book, now: datetime) -> CourseList:
    """Every course of the ponds that stand in the book.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    CourseList
        A completed course that waits for its control stands among those that wait.
    """
    waiting = under_way(book, now)
    over = _ended(book, {one.course.id for one in waiting})
    return CourseList(waiting, tuple(over), len(waiting), len(over))


def fitting(found: CourseList, text: str, *, ended: bool = False) -> CourseList:
    """Those of a list that fit what was typed.

    Parameters
    ----------
    found
        All of them.
    text
        Words, each of which is found in the client, the pond, an agent, the reason, the state or
        the year; with any of them courses that have ended are looked through as well.
    ended
        Leave the courses that have ended in the list also without a word typed.
    """
    words = _WORD.findall(folded(text))
    over = found.ended if ended or words else ()
    return replace(
        found,
        waiting=_fitting(found.waiting, [_words_of(one) for one in found.waiting], words),
        ended=_fitting(over, [_words_ended(one) for one in over], words),
    )


T = TypeVar("T")


def _fitting(lines: Sequence[T], texts: Sequence[str], words: Sequence[str]) -> tuple[T, ...]:
    return tuple(
        line for line, text in zip(lines, texts, strict=True) if all(word in text for word in words)
    )


def _words_of(line: UnderWay) -> str:
    course, card = line.course, line.card
    begun = "" if course.started_on is None else str(course.started_on.year)
    parts = (
        card.client.name, card.pond.name, card.pond.code, line.name, course.plan.reason,
        _STATES[course.state], begun,
    )  # fmt: skip
    return folded(" ".join(parts))


def _words_ended(line: EndedCourse) -> str:
    parts = (line.client, line.pond, line.name, line.reason, line.said, str(line.ended_on.year))
    return folded(" ".join(parts))


def _ended(book: Book, but: set[UUID]) -> list[EndedCourse]:
    """In three queries, whatever the number: the history of a practice is long."""
    course, pond = table("course"), table("pond")
    site, client = table("site"), table("client")
    query = (
        select(
            course.c.id, course.c.pond_id, client.c.name.label("client"), pond.c.name.label("pond"),
            course.c.reason, course.c.state, course.c.started_on, course.c.ended_on,
            course.c.end_why,
        )
        .join(pond, pond.c.id == course.c.pond_id)
        .join(site, site.c.id == pond.c.site_id)
        .join(client, client.c.id == site.c.client_id)
        .where(
            course.c.struck_at.is_(None), pond.c.struck_at.is_(None), course.c.ended_on.is_not(None)
        )
        .order_by(course.c.ended_on.desc(), course.c.created_at.desc(), course.c.id.desc())
    )  # fmt: skip
    step, dose, log = table("course_step"), table("course_dose"), table("dose_given")
    agents_of = (
        select(step.c.course_id, step.c.agent)
        .where(step.c.struck_at.is_(None))
        .order_by(step.c.course_id, step.c.place)
    )
    counted = (
        select(
            step.c.course_id,
            func.count(func.distinct(dose.c.id)),
            func.count(func.distinct(log.c.dose_id)),
        )
        .join(dose, (dose.c.step_id == step.c.id) & dose.c.struck_at.is_(None))
        .join(
            log, (log.c.dose_id == dose.c.id) & log.c.struck_at.is_(None), isouter=True
        )
        .where(step.c.struck_at.is_(None), dose.c.state.not_in(("missed", "dropped")))
        .group_by(step.c.course_id)
    )  # fmt: skip
    with book.reading() as connection:
        rows = [row for row in connection.execute(query) if row.id not in but]
        if not rows:
            return []
        names: dict[UUID, list[str]] = {}
        known = formulary_within(connection, book.zone, struck=True)
        for key, agent in connection.execute(agents_of):
            named = known[agent].plain_name if agent in known else agent
            names.setdefault(key, []).append(named)
        counts = {key: (of, given) for key, of, given in connection.execute(counted)}
    return [
        EndedCourse(
            row.id, row.pond_id, row.client, row.pond, ", then ".join(names.get(row.id, ())),
            row.reason, row.state, row.started_on, row.ended_on, row.end_why,
            counts.get(row.id, (0, 0))[1], counts.get(row.id, (0, 0))[0],
        )
        for row in rows
    ]  # fmt: skip

"""What came back beside what was entered at home meanwhile: perhaps the same, entered twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.copies.joining import Joined
from store.book.some_rows import rows_of
from store.book.tables import TableName, table

NEAR = timedelta(hours=1)
What = Literal["dose", "test", "booked", "courses"]


@dataclass(frozen=True, slots=True)
class Beside:
    """Two rows of one table, one that came back and one that was there.

    `what` is `dose` for one planned dose that was logged twice, `test` for water tests of one pond
    within an hour, `booked` for two visits of one person at one hour, `courses` for two courses of
    one pond that are planned or run.
    """

    what: What
    table: TableName
    came: UUID
    there: UUID


def beside_each_other(connection: Connection, joined: Joined) -> tuple[Beside, ...]:
    """What to look at, of what came in.

    Parameters
    ----------
    connection
        On the book, the rows being in it.
    joined
        What came in.
    """
    return (
        *_doses(connection, joined), *_tests(connection, joined), *_booked(connection, joined),
        *_courses(connection, joined),
    )  # fmt: skip


def _doses(connection: Connection, joined: Joined) -> Iterator[Beside]:
    given = table("dose_given").c
    query = select(given.id, given.dose_id).where(given.struck_at.is_(None))
    came = dict(_pairs(connection, query, given.id, joined.added.get("dose_given", [])))
    for key, dose in sorted(_pairs(connection, query, given.dose_id, came.values())):
        if key not in came:
            for one in sorted(one for one, of in came.items() if of == dose):
                yield Beside("dose", "dose_given", one, key)


def _courses(connection: Connection, joined: Joined) -> Iterator[Beside]:
    courses = table("course").c
    query = select(courses.id, courses.pond_id).where(
        courses.state.in_(("planned", "running")), courses.struck_at.is_(None)
    )
    came = dict(_pairs(connection, query, courses.id, joined.added.get("course", [])))
    for key, pond in sorted(_pairs(connection, query, courses.pond_id, came.values())):
        if key not in came:
            for one in sorted(one for one, of in came.items() if of == pond):
                yield Beside("courses", "course", one, key)


def _pairs(
    connection: Connection, query: Any, column: Any, keys: Iterable[UUID]
) -> Iterator[tuple[UUID, UUID]]:
    yield from rows_of(connection, query, column, set(keys))


def _tests(connection: Connection, joined: Joined) -> Iterator[Beside]:
    tests = table("water_test").c
    added = set(joined.added.get("water_test", []))
    query = select(tests.id, tests.pond_id, tests.taken_at).where(tests.struck_at.is_(None))
    came: dict[UUID, list[tuple[datetime, UUID]]] = {}
    for key, pond, at in rows_of(connection, query, tests.id, added):
        came.setdefault(pond, []).append((at, key))
    for pond, listed in sorted(came.items()):
        within = query.where(
            tests.taken_at >= min(listed)[0] - NEAR, tests.taken_at <= max(listed)[0] + NEAR
        )
        there = [
            (at, key)
            for key, _pond, at in rows_of(connection, within, tests.pond_id, [pond])
            if key not in added
        ]
        for at, key in sorted(listed):
            for when, other in sorted(there):
                if abs(when - at) <= NEAR:
                    yield Beside("test", "water_test", key, other)


def _booked(connection: Connection, joined: Joined) -> Iterator[Beside]:
    """Visits that came back on an hour which the same person has another one at."""
    visits = table("visit").c
    added = {*joined.added.get("visit", []), *joined.changed.get("visit", [])}
    query = select(visits.id, visits.staff_id, visits.on_day, visits.at_time).where(
        visits.struck_at.is_(None), visits.state == "planned", visits.at_time.is_not(None),
        visits.staff_id.is_not(None),
    )  # fmt: skip
    came = {tuple(rest): key for key, *rest in rows_of(connection, query, visits.id, added)}
    days = {day for _who, day, _at in came}
    for key, *rest in connection.execute(query.where(visits.on_day.in_(sorted(days)))):
        if key not in added and tuple(rest) in came:
            yield Beside("booked", "visit", came[tuple(rest)], key)

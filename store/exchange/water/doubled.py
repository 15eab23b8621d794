"""Tests that a book has already: a file brought in twice adds nothing twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.exchange.plain.planned import Gathering, Refused
from store.exchange.water.rows import PlannedTest
from store.water.water_tests import NewTest


@dataclass(frozen=True, slots=True)
class There:
    """A test at one pond and instant that is in the book, or stands earlier in the file."""

    values: dict[str, float]
    note: str
    struck: bool = False
    line: int | None = None
    """Of the file, where it stands there and not in the book."""

    @property
    def said(self) -> str:
        """Where the same test is already."""
        if self.line is not None:
            return f"the same as line {self.line} of this file"
        if self.struck:
            return "in the book already, struck through there"
        return "in the book already"


@dataclass(frozen=True, slots=True)
class Doubled:
    """A test of the file that is passed over, and where the same one is already."""

    test: PlannedTest
    why: str


def tests_there(
    connection: Connection, planned: Sequence[PlannedTest]
) -> dict[tuple[UUID, datetime], list[There]]:
    """The tests in the book at the ponds and instants of these, those struck through as well.

    Parameters
    ----------
    connection
        A connection of the book, reading or writing.
    planned
        The tests that a file would bring.

    Returns
    -------
    dict
        By pond and instant; those without a test are left out.
    """
    wanted: dict[UUID, set[datetime]] = {}
    for one in planned:
        wanted.setdefault(one.pond, set()).add(_kept(one.test.taken_at))
    tests, reading = table("water_test").c, table("reading").c
    found: dict[tuple[UUID, datetime], list[There]] = {}
    for pond, instants in wanted.items():
        query = (
            select(tests.id, tests.taken_at, tests.note, tests.struck_at)
            .where(tests.pond_id == pond)
            .where(tests.taken_at >= min(instants), tests.taken_at <= max(instants))
        )
        rows = [row for row in connection.execute(query) if row.taken_at in instants]
        for row in rows:
            values = select(reading.parameter, reading.value).where(reading.test_id == row.id)
            found.setdefault((pond, row.taken_at), []).append(
                There(
                    {each.parameter: each.value for each in connection.execute(values)},
                    row.note,
                    row.struck_at is not None,
                )
            )
    return found


def _kept(at: datetime) -> datetime:
    """The instant as the book keeps it, in whole milliseconds."""
    return at.replace(microsecond=at.microsecond // 1000 * 1000)


def is_there(one: PlannedTest, there: dict[tuple[UUID, datetime], list[There]]) -> bool:
    """Whether the same test is in the book, standing or struck through on purpose.

    Parameters
    ----------
    one
        The test that a file would bring.
    there
        From `tests_there`.
    """
    return _same_one(one, there) is not None


def _same_one(one: PlannedTest, there: dict[tuple[UUID, datetime], list[There]]) -> There | None:
    known = there.get((one.pond, _kept(one.test.taken_at)), ())
    return next((each for each in known if _equal(one.test, each)), None)


def _equal(test: NewTest, known: There) -> bool:
    values = {reading.parameter: reading.value for reading in test.readings}
    if set(values) != set(known.values):
        return False
    if not values:
        return known.note.startswith(test.note.strip())
    return all(
        abs(value - known.values[name]) <= 1e-9 * max(1.0, abs(value))
        for name, value in values.items()
    )


def new_ones(
    book: Book, tests: Sequence[PlannedTest], gathering: Gathering
) -> tuple[list[PlannedTest], list[Doubled]]:
    """Tests that are new, and those that are not; another test of the same instant is refused.

    Parameters
    ----------
    book
        The practice's book.
    tests
        The tests that a file would bring.
    gathering
        Takes the refused ones.
    """
    with book.reading() as connection:
        there = tests_there(connection, tests)
    kept: list[PlannedTest] = []
    doubled: list[Doubled] = []
    for one in tests:
        same = _same_one(one, there)
        if same is not None:
            doubled.append(Doubled(one, same.said))
            continue
        place = (one.pond, _kept(one.test.taken_at))
        standing = [known for known in there.get(place, ()) if not known.struck]
        if standing:
            line = standing[0].line
            where = "This pond has" if line is None else f"Line {line} of this file gives this pond"
            reason = (
                f"{where} a test of the same time with other values. Correct that one, or the "
                "time here."
            )
            gathering.refused.append(Refused(one.line, reason, one.cells))
            continue
        there.setdefault(place, []).append(
            There(
                {each.parameter: each.value for each in one.test.readings},
                one.test.note,
                line=one.line,
            )
        )
        kept.append(one)
    return kept, doubled

"""One water test with everything that is asked about it."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.kits import Kit, kit
from store.book.tables import table
from store.book.told.history import Change, history
from store.errors import NotFound
from store.water.derived import Derived, derive
from store.water.doubtful import doubts_of
from store.water.water_tests import WaterTest, read_tests


@dataclass(frozen=True, slots=True)
class OpenedTest:
    """A test, what follows from it, what makes it doubtful, and what it was before."""

    test: WaterTest
    derived: tuple[Derived, ...]
    doubts: tuple[str, ...]
    kit: Kit | None
    earlier: tuple[WaterTest, ...]
    """The tests that this one corrected, the newest first; all struck through."""
    changes: tuple[Change, ...]
    """The log of this test, newest first."""
    corrected_by: UUID | None
    """Key of the test that took its place."""


def open_test(book: Book, key: UUID) -> OpenedTest:
    """One water test, struck through or not.

    Parameters
    ----------
    book
        The practice's book.
    key
        Of the test.

    Returns
    -------
    OpenedTest
        Derived values are reckoned from this test's readings alone.

    Raises
    ------
    NotFound
        No such test.
    """
    tests, ponds, sites = table("water_test"), table("pond"), table("site")
    query = (
        select(tests.c.pond_id, sites.c.elevation_m)
        .join(ponds, ponds.c.id == tests.c.pond_id)
        .join(sites, sites.c.id == ponds.c.site_id)
        .where(tests.c.id == key)
    )
    with book.reading() as connection:
        place = connection.execute(query).one_or_none()
        if place is None:
            raise NotFound("There is no such water test in the book.")
        all_tests = read_tests(connection, place.pond_id, 100_000, struck=True)
    by_key = {test.key: test for test in all_tests}
    test = by_key[key]
    earlier = []
    before = test.replaces
    while before is not None and before in by_key:
        earlier.append(by_key[before])
        before = by_key[before].replaces
    values = {code: reading.value for code, reading in test.readings.items()}
    return OpenedTest(
        test=test,
        derived=tuple(derive(values, place.elevation_m or 0.0).values()),
        doubts=doubts_of(test),
        kit=None if test.kit_id is None else kit(book, test.kit_id),
        earlier=tuple(earlier),
        changes=history(book, "water_test", key),
        corrected_by=next((one.key for one in all_tests if one.replaces == key), None),
    )

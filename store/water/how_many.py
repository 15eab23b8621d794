"""How many water tests a pond has, where not all of them are shown."""

from __future__ import annotations

from uuid import UUID

from sqlalchemy import func, select

from store.book.book import Book
from store.book.tables import table


def count_tests(book: Book, pond: UUID, *, struck: bool = False) -> int:
    """The number of water tests of a pond.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    struck
        Count those that were struck through as well.

    Returns
    -------
    int
        Tests; 0 where there is none, or no such pond.

    Raises
    ------
    PondroundError
        The book cannot be read.
    """
    tests = table("water_test")
    query = select(func.count()).select_from(tests).where(tests.c.pond_id == pond)
    if not struck:
        query = query.where(tests.c.struck_at.is_(None))
    with book.reading() as connection:
        return int(connection.execute(query).scalar_one())

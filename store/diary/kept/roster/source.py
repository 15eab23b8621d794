"""Reading from a book, or within a writing from what its transaction sees."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from store.book.book import Book

Source = Book | Connection
"""A book, or a connection within a reading or writing of it."""


@contextmanager
def reading(source: Source) -> Iterator[Connection]:
    """A connection to read with.

    Parameters
    ----------
    source
        A book begins a reading of its own; a connection is used as it is.

    Yields
    ------
    Connection
        Not to be kept after the `with` block.
    """
    if isinstance(source, Book):
        with source.reading() as connection:
            yield connection
    else:
        yield source

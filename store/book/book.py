"""A book that is open: read it, or write into it in one transaction that says who and when.

A `Book` may be shared between threads; a reading or a writing belongs to the thread that began it.
What is handed out are frozen dataclasses that never change afterwards. Every error that leaves is a
`PondroundError`. Never keep a writing open while a person types: on SQLite it keeps others out.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from types import TracebackType
from typing import Self
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Engine, select

from store.book.act import Act
from store.book.tables import BookMetaRow, PracticeRow
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.book.writing import Writing
from store.errors import BadInput, BookTrouble


class Book:
    """The records of one practice.

    Parameters
    ----------
    engine
        On the database; `store.book.opening.open_book` prepares it.
    name
        How the book is called before a person: a path, or an address without its password.
    only_read
        Why nothing can be written, or the empty text.
    first_zone
        The time zone until the practice has stated its own.
    """

    def __init__(
        self, engine: Engine, name: str, *, only_read: str = "", first_zone: ZoneInfo | None = None
    ) -> None:
        self.engine = engine
        self.name = name
        self.only_read = only_read
        self._first_zone = first_zone or ZoneInfo("UTC")

    def __repr__(self) -> str:
        return f"Book({self.name!r})"

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database; the book cannot be used afterwards."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one unchanging state of the book and cannot write.

        Yields
        ------
        Connection
            For SQLAlchemy Core statements; not to be kept after the `with` block.

        Raises
        ------
        BookTrouble
            When the database cannot be read.
        """
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        if self.engine.dialect.name == "sqlite":
            options = {}
        try:
            with self.engine.connect().execution_options(**options) as connection:
                yield connection
        except LIBRARY_ERRORS as error:
            raise sentence(error, self.name) from error

    @contextmanager
    def writing(self, act: Act) -> Iterator[Writing]:
        """One action of one person: all of it is saved when the block ends, or nothing.

        Parameters
        ----------
        act
            Who, and when.

        Yields
        ------
        Writing
            To add, change and strike rows.

        Raises
        ------
        BookTrouble
            When the book is locked, only for reading, or damaged.
        BadInput
            When the database refuses a value.
        """
        if self.only_read:
            raise BookTrouble(self.only_read, title="Only for reading")
        try:
            with (
                self.engine.connect().execution_options(pondround_writes=True) as connection,
                connection.begin(),
            ):
                writing = Writing(connection, act, self)
                yield writing
                writing.stamp()
        except LIBRARY_ERRORS as error:
            raise sentence(error, self.name) from error

    def stamp(self, *tables: str) -> str:
        """A text that is another one after anything was written, for caches.

        Parameters
        ----------
        *tables
            Names of tables whose single-row changes matter; none means any writing at all.

        Returns
        -------
        str
            To be compared for being equal, nothing else.
        """
        keys = [f"stamp.{name}" for name in tables] or ["stamp"]
        query = select(BookMetaRow.key, BookMetaRow.value).where(BookMetaRow.key.in_(keys))
        with self.reading() as connection:
            found = connection.execute(query).all()
        return " ".join(sorted(f"{key}={value}" for key, value in found))

    @property
    def zone(self) -> ZoneInfo:
        """The practice's time zone, in which its calendar days are reckoned."""
        query = select(PracticeRow.time_zone).where(PracticeRow.struck_at.is_(None)).limit(1)
        with self.reading() as connection:
            name = connection.execute(query).scalar()
        return self._first_zone if name is None else ZoneInfo(name)

    def today(self, now: datetime) -> date:
        """The practice's calendar day at an instant.

        Parameters
        ----------
        now
            An instant with a time zone.

        Returns
        -------
        date
            In the practice's zone.

        Raises
        ------
        BadInput
            If `now` has no time zone.
        """
        if now.tzinfo is None:
            raise BadInput("The present time needs a time zone.")
        return now.astimezone(self.zone).date()

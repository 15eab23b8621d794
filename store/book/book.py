"""A book that is open: read it, or write into it in one transaction that says who and when.

A `Book` may be shared between threads; a reading or a writing belongs to the thread that began it.
What is handed out are frozen dataclasses that never change afterwards. Every error that leaves is a
`PondroundError`. Never keep a writing open while a person types: on SQLite it keeps others out.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from threading import Lock
from time import sleep
from types import TracebackType
from typing import Any, Self
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Engine, select

from store.book.act import Act
from store.book.keys import made_at
from store.book.server import asker
from store.book.server.unsure import Mark, mark_of, was_kept
from store.book.tables import BookMetaRow, PracticeRow
from store.book.trouble import LIBRARY_ERRORS, said_no_answer, said_unsure, sentence
from store.book.writing import Writing
from store.errors import BadInput, BookTrouble, NoAnswer, SavedAlready
from store.text import plain

CLOCK_BACK = timedelta(hours=3)
"""So far a clock may be set back, by a person or a server of time, and entries keep their order."""
_NEXT = timedelta(milliseconds=1)

PAUSES_S = (0.0, 0.1, 0.3, 0.6, 1.0, 2.0)
"""How long it is waited before each look whether an action was kept whose answer got lost [s]."""


@dataclass(frozen=True, slots=True)
class Settled:
    """What became of an action whose answer had got lost.

    Parameters
    ----------
    act
        Who, and when.
    kept
        Whether it stands in the book.
    """

    act: Act
    kept: bool


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
        self.throwaway: Path | None = None
        """Where what was reckoned from the book may be kept, and deleted at any time; None keeps
        it in memory alone."""
        self._first_zone = first_zone or ZoneInfo("UTC")
        self._zone: ZoneInfo | None = None
        self._stamp = ""
        self._own_stamp = ""
        self._lock = Lock()
        self._unsure: list[Mark] = []
        self._kept_after_all: set[Act] = set()

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
            with self._connected(options) as connection:
                yield connection
        except LIBRARY_ERRORS as error:
            raise sentence(error, self.name) from error

    @contextmanager
    def writing(self, act: Act) -> Iterator[Writing]:
        """One action of one person: all of it is saved when the block ends, or nothing.

        Where the line breaks while the action is kept, it is looked up whether it was: within
        some seconds, and on as long as whoever asks waits.

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
        NoAnswer
            When the database cannot be reached: nothing was saved, or where it is `unsure` that
            could not be found out.
        SavedAlready
            An action of before, whose answer had got lost, was kept after all; of the present one
            nothing was saved. It is told once, and always for the same `act`.
        BookTrouble
            When the book is locked, only for reading, or damaged.
        BadInput
            When the database refuses a value.
        """
        if self.only_read:
            raise BookTrouble(self.only_read, title="Only for reading")
        self._refuse_what_is_kept(act)
        mark: Mark | None = None
        try:
            with self._connected({"pondround_writes": True}) as connection, connection.begin():
                writing = Writing(connection, act, self)
                yield writing
                writing.stamp()
                mark = mark_of(connection, act)
        except LIBRARY_ERRORS as error:
            trouble = sentence(error, self.name)
            if not isinstance(trouble, NoAnswer):
                raise trouble from error
            if mark is None:  # the order to keep it was never given
                raise said_no_answer(self.name) from error
            self._find_out(mark, error)
        assert mark is not None
        self._own_stamp = f"stamp={mark.stamp}"
        if mark.practice:
            self._zone = None
        asker.was_kept()

    @contextmanager
    def _connected(self, options: dict[str, Any]) -> Iterator[Connection]:
        """A connection; what comes after a saving waits for it, it cannot be asked again."""
        while True:
            try:
                connection = self.engine.connect()
                break
            except LIBRARY_ERRORS as error:
                trouble = sentence(error, self.name)
                if not (
                    isinstance(trouble, NoAnswer) and asker.has_kept() and asker.waits(trouble)
                ):
                    raise
        asker.was_reached()
        with connection:
            yield connection.execution_options(**options)

    def _find_out(self, mark: Mark, error: BaseException) -> None:
        """Come back when an action was kept; else say that it was not, or that nobody knows."""
        pauses = iter(PAUSES_S)
        while True:
            pause = next(pauses, None)
            trouble = said_unsure(self.name)
            if pause is None and not asker.waits(trouble):
                with self._lock:
                    self._unsure.append(mark)
                raise trouble from error
            sleep(pause or 0.0)
            kept = self._looked_up(mark)
            if kept:
                return
            if kept is not None:
                raise said_no_answer(self.name) from error

    def _looked_up(self, mark: Mark) -> bool | None:
        try:
            return was_kept(self.engine, mark)
        except LIBRARY_ERRORS as error:
            if isinstance(sentence(error, self.name), NoAnswer):
                return None
            raise sentence(error, self.name) from error

    def settle(self) -> tuple[Settled, ...]:
        """Look up what became of actions whose answer had got lost.

        Returns
        -------
        tuple of Settled
            Those of which it is known by now; each is given once.

        Raises
        ------
        BookTrouble
            When the database cannot be asked for another reason than that it does not answer.
        """
        found = []
        for mark in tuple(self._unsure):
            kept = self._looked_up(mark)
            if kept is None:
                continue
            with self._lock:
                if mark not in self._unsure:
                    continue
                self._unsure.remove(mark)
                if kept:
                    self._kept_after_all.add(mark.act)
            found.append(Settled(mark.act, kept))
        return tuple(found)

    def _refuse_what_is_kept(self, act: Act) -> None:
        """Before anything is saved: an action whose answer got lost must not be saved twice."""
        if self._unsure:
            settled: list[Settled] = []
            for pause in PAUSES_S:
                sleep(pause)
                settled += self.settle()
                if not self._unsure:
                    break
            else:
                this = any(mark.act == act for mark in self._unsure)
                raise said_unsure(self.name) if this else said_no_answer(self.name)
            if any(one.kept and one.act != act for one in settled):
                raise SavedAlready(
                    "What was being saved when the line broke stands in the book after all. What "
                    "you are saving now was not saved: look in the book, and save it once more "
                    "if it is something else."
                )
        if act in self._kept_after_all:
            raise SavedAlready(
                "This stands in the book already: it was kept when the line broke. Nothing was "
                "saved twice."
            )

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
        said = " ".join(sorted(f"{key}={value}" for key, value in found))
        if not tables and said != self._stamp:
            self._stamp, self._zone = said, None
        return said

    def is_own(self, stamp: str) -> bool:
        """Whether a stamp is the one that the newest action of this very `Book` left.

        Parameters
        ----------
        stamp
            As `stamp()` gave it.

        Returns
        -------
        bool
            False for what another program wrote.
        """
        return stamp == self._own_stamp

    @property
    def zone(self) -> ZoneInfo:
        """The practice's time zone, in which its calendar days are reckoned.

        It is read once, and anew when the practice was changed here or `stamp` saw another writer.

        Raises
        ------
        BookTrouble
            The book cannot be read, or names a zone that is not known here.
        """
        known = self._zone
        if known is not None:
            return known
        query = select(PracticeRow.time_zone).where(PracticeRow.struck_at.is_(None)).limit(1)
        with self.reading() as connection:
            name = connection.execute(query).scalar()
        if name is None:
            return self._first_zone
        try:
            self._zone = zone = ZoneInfo(name)
        except (ValueError, KeyError, OSError) as error:
            raise BookTrouble(
                f"The practice's time zone “{plain(name):.60}” is not known on this machine, so "
                "that no day can be reckoned; nothing was changed. Install the time zones (package "
                "tzdata), or bring the newest clean backup back.",
                title="No such time zone",
            ) from error
        return zone

    @property
    def known_zone(self) -> ZoneInfo | None:
        """The practice's time zone as it was read last, without asking; None before that."""
        return self._zone

    def moment(self, now: datetime) -> datetime:
        """The instant that an entry made now carries.

        What was entered last is in force, so it must not look older than what it follows. Where the
        clock stands up to `CLOCK_BACK` behind the newest entry, the entry is put right behind that
        one; a clock that once ran further ahead than that drags nothing along.

        Parameters
        ----------
        now
            What the clock says, with a time zone.

        Returns
        -------
        datetime
            Never before `now`.
        """
        with self.reading() as connection:
            query = select(BookMetaRow.value).where(BookMetaRow.key == "stamp")
            stamp = connection.execute(query).scalar()
        if stamp is None:
            return now
        newest = made_at(UUID(stamp))
        behind = newest - now
        return newest + _NEXT if timedelta(0) < behind <= CLOCK_BACK else now

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

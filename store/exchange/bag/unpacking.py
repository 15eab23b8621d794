"""Bringing a bag back into the practice's book: in one action, all of it or nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.joining import Joined, join, same_book
from store.book.some_rows import rows_of
from store.book.tables import table
from store.book.writing import Writing
from store.errors import NotAllowed
from store.exchange.bag.altered import refuse_altered
from store.exchange.bag.beside import Beside, beside_each_other
from store.exchange.bag.marks import Bag, copy_of, read_bag, remember_copy
from store.exchange.bag.moved_on import MovedOn, OnStruck, on_struck
from store.exchange.bag.opened import damaged, opened_copy
from store.exchange.logger.days import renew_days


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What came back. `bag` is None where the file is a copy of the whole book."""

    path: Path
    bag: Bag | None
    joined: Joined
    moved: tuple[MovedOn, ...] = ()
    on_struck: tuple[OnStruck, ...] = ()
    beside: tuple[Beside, ...] = ()

    @property
    def nothing_new(self) -> bool:
        """Whether all of it was in the book already."""
        return self.joined.lines == 0


@dataclass(frozen=True, slots=True)
class Looked:
    """What a file would bring: the bag it is, lines of the log by table that are not here yet."""

    path: Path
    bag: Bag | None
    practice: str
    new: Mapping[str, int]


class _NothingNew(Exception):
    """Ends the action without writing anything, not even that something was written."""


def look_into(book: Book, path: Path, now: datetime) -> Looked:
    """What a bag would bring in; nothing is written.

    Parameters
    ----------
    book
        The practice's book.
    path
        The file.
    now
        The present instant.

    Raises
    ------
    BadInput, NotAllowed, BookTrouble
        As for `unpack`.
    """
    change, practice = table("change").c, table("practice").c
    with (
        opened_copy(path, now) as other, other.reading() as there, book.reading() as here,
        _understood(path),
    ):  # fmt: skip
        _refuse_bag(here)
        same_book(here, there)
        new: Counter[str] = Counter()
        keys = {
            row.id: row.table_name for row in there.execute(select(change.id, change.table_name))
        }
        known = {key for (key,) in rows_of(here, select(change.id), change.id, keys)}
        new.update(name for key, name in keys.items() if key not in known)
        name = here.execute(select(practice.name).limit(1)).scalar() or ""
        return Looked(path, read_bag(there), name, new)


def unpack(book: Book, act: Act, path: Path) -> Unpacked:
    """Bring in what a bag, or another copy of the book, holds beyond the book.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings it back, and when. What comes in names who wrote it and when, there.
    path
        The file; it is only read and stays.

    Returns
    -------
    Unpacked
        Brought in once more, nothing is written.

    Raises
    ------
    BadInput
        The file is no bag, cut off, altered, of another practice or of a newer version: nothing
        was brought in.
    NotAllowed
        The book is a bag itself.
    BookTrouble
        The book cannot be written.
    """
    with book.reading() as here:
        _refuse_bag(here)
    with opened_copy(path, act.at) as other, other.reading() as there, _understood(path):
        bag = read_bag(there)
        joined = Joined()
        try:
            with book.writing(act) as writing:
                joined = join(writing, there)
                refuse_altered(writing.connection, there, joined, path, every_row=bag is not None)
                if not joined.lines:
                    raise _NothingNew
                found = _finished(writing, joined, path, bag, copy_of(there))
        except _NothingNew:
            return Unpacked(path, bag, joined)
    return found


@contextmanager
def _understood(path: Path) -> Iterator[None]:
    """A file whose pages are whole may still hold what no book writes."""
    try:
        yield
    except (ValueError, LookupError, TypeError) as error:
        raise damaged(path, str(error) or type(error).__name__) from error


def _finished(
    writing: Writing, joined: Joined, path: Path, bag: Bag | None, copy: UUID | None
) -> Unpacked:
    beside = beside_each_other(writing.connection, joined)
    moved, stays = on_struck(writing, joined)
    zone = writing.book.zone
    onto = {one.emptied: one.kept for one in moved if one.place == "pond"}
    for (pond, parameter), (first, last) in sorted(joined.series.items()):
        for whose in dict.fromkeys((pond, onto.get(pond, pond))):
            renew_days(writing, whose, parameter, first, last, zone)
    if copy is not None:
        called = "another copy" if bag is None else bag.said
        remember_copy(writing.connection, copy, called)
    return Unpacked(path, bag, joined, moved, stays, beside)


def _refuse_bag(here: Connection) -> None:
    if read_bag(here) is not None:
        raise NotAllowed(
            "This book is a bag itself, which lacks most of the practice: nothing was brought in. "
            "Bring both bags into the practice's own book.",
            title="A bag is open",
        )

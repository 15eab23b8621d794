"""Bringing a bag back into the practice's book: in one action, all of it or nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select, text

from store.book.act import Act
from store.book.book import Book
from store.book.copies.joining import Joined, join, same_book
from store.book.some_rows import rows_of
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed
from store.exchange.bag.altered import refuse_altered
from store.exchange.bag.beside import Beside, beside_each_other
from store.exchange.bag.marks import Bag, copy_of, lines_of_copies, read_bag, remember_copy
from store.exchange.bag.moved_on import MovedOn, OnStruck, on_struck
from store.exchange.bag.opened import damaged, opened_copy
from store.exchange.logger.days import renew_days


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What came back. `bag` is None where the file is a copy of the whole book.

    `unwritten` is a bag in whose file nothing was written since it was packed.
    """

    path: Path
    bag: Bag | None
    joined: Joined
    moved: tuple[MovedOn, ...] = ()
    on_struck: tuple[OnStruck, ...] = ()
    beside: tuple[Beside, ...] = ()
    unwritten: bool = False

    @property
    def nothing_new(self) -> bool:
        """Whether all of it was in the book already."""
        return self.joined.lines == 0


@dataclass(frozen=True, slots=True)
class Looked:
    """What a file would bring: the bag it is, and counts of rows by table.

    `entered` are rows that are not here yet, `changed` others of which there is news. `unwritten`
    is a bag in whose file nothing was written since it was packed. `not_yours` says why whoever
    opened the book cannot bring it in; empty where they can.
    """

    path: Path
    bag: Bag | None
    practice: str
    entered: Mapping[str, int]
    changed: Mapping[str, int]
    unwritten: bool = False
    not_yours: str = ""

    @property
    def nothing_new(self) -> bool:
        """Whether all of it is in the book already."""
        return not self.entered and not self.changed


OWNERS = "For the owner of the book"


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
    _refuse_itself(book, path)
    with (
        opened_copy(path, now) as other, other.reading() as there, book.reading() as here,
        _understood(path),
    ):  # fmt: skip
        _refuse_bag(here)
        same_book(here, there)
        lines = {
            one.id: one
            for one in there.execute(
                select(change.id, change.table_name, change.row_id, change.what)
            )
        }
        known = {key for (key,) in rows_of(here, select(change.id), change.id, lines)}
        new = [one for key, one in lines.items() if key not in known]
        entered = {one.row_id: one.table_name for one in new if one.what == "add"}
        changed = {one.row_id: one.table_name for one in new if one.row_id not in entered}
        name = here.execute(select(practice.name).limit(1)).scalar() or ""
        bag = read_bag(there)
        return Looked(
            path, bag, name, _counted(entered.values()), _counted(changed.values()),
            unwritten=_unwritten(there, bag), not_yours=_not_yours(here),
        )  # fmt: skip


def _unwritten(there: Connection, bag: Bag | None) -> bool:
    return bag is not None and bag.copy not in lines_of_copies(there)


def _not_yours(here: Connection) -> str:
    """Why a login at a server with roles brings nothing in; empty where it may."""
    if here.dialect.name != "postgresql":
        return ""
    owner = here.execute(_OWNER).scalar()
    if owner is None:
        return ""
    return (
        "What came back was entered by several people, each in their own name, and the roles of "
        f"this server let only the owner of the book write that: the login “{owner}”. Nothing was "
        "brought in, and the file stays as it is; ask them to bring it in."
    )


_OWNER = text(
    "SELECT pg_get_userbyid(relowner) FROM pg_class WHERE oid = to_regclass('practice') "
    "AND NOT has_table_privilege('sign_in', 'INSERT')"
)
"""The owner of the book, where somebody else asks."""


def _counted(names: Iterable[str]) -> Mapping[str, int]:
    return dict(sorted(Counter(names).items()))


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
        The book is a bag itself; or its server leaves this to its owner; or something moves on
        that only a vet may move.
    BookTrouble
        The book cannot be written.
    """
    _refuse_itself(book, path)
    with book.reading() as here:
        _refuse_bag(here)
        if not_yours := _not_yours(here):
            raise NotAllowed(not_yours, title=OWNERS)
    with opened_copy(path, act.at) as other, other.reading() as there, _understood(path):
        bag = read_bag(there)
        joined = Joined()
        try:
            with book.writing(act) as writing:
                lines = lines_of_copies(writing.connection)
                joined = join(writing, there)
                refuse_altered(writing.connection, there, joined, path, every_row=bag is not None)
                if not joined.lines:
                    raise _NothingNew
                found = _finished(writing, joined, path, bag)
                _remember(writing.connection, lines, bag)
        except _NothingNew:
            return Unpacked(path, bag, joined, unwritten=_unwritten(there, bag))
    return found


@contextmanager
def _understood(path: Path) -> Iterator[None]:
    """A file whose pages are whole may still hold what no book writes."""
    try:
        yield
    except (ValueError, LookupError, TypeError) as error:
        raise damaged(path, str(error) or type(error).__name__) from error


def _remember(here: Connection, before: Mapping[UUID, int], bag: Bag | None) -> None:
    """Which copies brought lines, for the names of their sides and for who asks what differs."""
    own = copy_of(here)
    for copy, count in lines_of_copies(here).items():
        if copy != own and count > before.get(copy, 0):
            its_own = bag is not None and copy == bag.copy
            remember_copy(here, copy, bag.said if bag is not None and its_own else "")


def _finished(writing: Writing, joined: Joined, path: Path, bag: Bag | None) -> Unpacked:
    beside = beside_each_other(writing.connection, joined)
    moved, stays = _moved_on(writing, joined)
    zone = writing.book.zone
    onto = {one.emptied: one.kept for one in moved if one.place == "pond"}
    for (pond, parameter), (first, last) in sorted(joined.series.items()):
        for whose in dict.fromkeys((pond, onto.get(pond, pond))):
            # Days belong to values that are in the book, also where their pond is struck through.
            writing.may_point_at(whose)
            renew_days(writing, whose, parameter, first, last, zone)
    return Unpacked(path, bag, joined, moved, stays, beside)


def _moved_on(writing: Writing, joined: Joined) -> tuple[tuple[MovedOn, ...], tuple[OnStruck, ...]]:
    try:
        return on_struck(writing, joined)
    except NotAllowed as refused:
        raise NotAllowed(
            "What came back belongs to a client, site or pond that was merged into another one "
            "meanwhile, and moves on to that; among it is what only a vet may change, such as a "
            "course. Nothing was brought in, and the file stays as it is: let a vet bring it in "
            "(F6 says who works, --as NAME on the command line).",
            title=refused.title,
        ) from refused


def _refuse_itself(book: Book, path: Path) -> None:
    if book.engine.dialect.name != "sqlite" or not path.exists():
        return
    if Path(book.name).exists() and Path(book.name).samefile(path):
        raise BadInput(
            f"{path} is the book that is open. Nothing was brought in, and it must not be deleted.",
            field="file",
            title="The book itself",
        )


def _refuse_bag(here: Connection) -> None:
    if read_bag(here) is not None:
        raise NotAllowed(
            "This book is a bag itself, which lacks most of the practice: nothing was brought in. "
            "Bring both bags into the practice's own book.",
            title="A bag is open",
        )

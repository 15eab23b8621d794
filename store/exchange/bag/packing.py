"""Packing a bag: what a round needs, as a book of its own in one file.

The file is not encrypted, and a laptop gets lost: it holds what the round needs and the practice's
own records, and nothing of other clients.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Engine, Table, insert, select, text

from store.book import schema
from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.copies.log import CHAIN, COPY, new_copy, put_meta
from store.book.engines import sqlite_engine
from store.book.files.beside import move_into_place, neighbour, remove
from store.book.people import person
from store.book.tables import table
from store.book.told.hanging import tables_in_order
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BadInput, BookTrouble, NotAllowed
from store.exchange.bag.kept_rows import BESIDE, KeptRows, anchors, kept_rows, parts_of
from store.exchange.bag.marks import BAG, Bag, copy_of, mark_bag, read_bag
from store.exchange.bag.round_ponds import round_ponds
from store.text import day_said

CARE = (
    "It holds names, addresses, telephone numbers and records of these clients, and is not "
    "encrypted: keep the laptop's disk encrypted, and delete the file once it came back."
)
_ROWS_AT_ONCE = 5000
_LEFT = ("stamp", COPY, CHAIN, BAG, "backup")
"""What a book says of itself alone: keys of `book_meta` that begin so stay at home."""


@dataclass(frozen=True, slots=True)
class Packed:
    """What was packed: the file, the bag, counts of visits, sites and rows, its size [bytes].

    `others` are clients of whom only what records of the round point at came along.
    """

    path: Path
    bag: Bag
    visits: int
    sites: int
    rows: int
    size: int
    others: tuple[str, ...]


def pack(
    book: Book,
    act: Act,
    day: date,
    vet: UUID,
    path: Path,
    *,
    also_ponds: Collection[UUID] = (),
    also_clients: Collection[UUID] = (),
) -> Packed:
    """Pack what the round of a person on a day needs into a new file.

    Parameters
    ----------
    book
        The practice's book; it is only read.
    act
        Who packs, and when.
    day
        The calendar day.
    vet
        Who drives.
    path
        The file; one that is there is never written over.
    also_ponds, also_clients
        What comes besides, by key.

    Returns
    -------
    Packed
        The file is there, whole, and for its owner alone.

    Raises
    ------
    BadInput
        Nothing is booked and nothing else was named, or there is something of that name.
    NotAllowed
        The book is a bag itself.
    NotFound
        No such person.
    BookTrouble
        The book cannot be read, or the file not be written.
    """
    who, by = person(book, vet), person(book, act.by)
    if path.exists() or path.is_symlink():
        raise _taken(path)
    with book.reading() as source:
        if read_bag(source) is not None:
            raise NotAllowed("This is a bag itself; pack from the practice's own book.",
                             title="A bag already")  # fmt: skip
        wanted = round_ponds(source, day, vet, also_ponds=also_ponds, also_clients=also_clients)
        if not wanted.sites:
            raise BadInput(
                f"No visit of {who.name} is booked on {day_said(day)}, so there is nothing to "
                "pack. Book the visits first (a planned round is entered in the diary with y), "
                "or name ponds or clients that are to come.",
                field="vet",
                title="Nothing booked",
            )
        kept = kept_rows(source, wanted)
        from_copy = copy_of(source) or UUID(int=0)
        bag = Bag(
            from_copy, from_copy, act.at, by.name, day, who.name, vet, wanted.ponds
        )  # its own copy is not made yet
        rows = _made(path, source, kept, bag)
        others = tuple(sorted(_others(source, kept)))
    return Packed(path, bag, wanted.visits, len(wanted.sites), rows, path.stat().st_size, others)


def _taken(path: Path) -> BadInput:
    return BadInput(
        f"There is something at {path} already; it was left as it was. Name another file.",
        field="file",
    )


def _others(source: Connection, kept: KeptRows) -> Iterator[str]:
    clients = table("client").c
    for part in parts_of(kept.pulled.get("client", ())):
        yield from source.execute(select(clients.name).where(clients.id.in_(part))).scalars()


def _made(path: Path, source: Connection, kept: KeptRows, bag: Bag) -> int:
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = neighbour(path, "being-packed")
    except OSError as error:
        raise sentence(error, str(path)) from error
    try:
        # With the usual journal all of it is in the file at once, nothing in a file beside it.
        engine = sqlite_engine(beside, keep_journal=True)
        try:
            schema.upgrade(engine)
            rows = _filled(engine, source, kept, bag)
        finally:
            engine.dispose()
        move_into_place(beside, path)
    except FileExistsError:
        raise _taken(path) from None
    except (*LIBRARY_ERRORS, OSError) as error:
        told = sentence(error, str(path))
        raise BookTrouble(told.message, title=told.title) from error
    finally:
        remove(beside)
    return rows


def _filled(engine: Engine, source: Connection, kept: KeptRows, bag: Bag) -> int:
    with (
        engine.connect().execution_options(pondround_writes=True) as target,
        target.begin(),
    ):
        target.exec_driver_sql("PRAGMA defer_foreign_keys = ON")  # a pond and its volume
        count = 0
        for one in tables_in_order():
            if one.name not in BESIDE:
                count += sum(_copied(source, target, one, kept))
        for name in sorted(kept.grown.keys() | kept.pulled.keys()):
            for part in parts_of(kept.keys(name)):
                _lines(source, target, part)
        _sign_in(source, target, bag)
        _meta(source, target)
        new_copy(target)
        mark_bag(target, bag)
    return count


def _copied(source: Connection, target: Connection, one: Table, kept: KeptRows) -> Iterator[int]:
    if "id" in one.c:
        column, keys = one.c.id, kept.keys(one.name)
    else:
        column, name = next(iter(anchors(one)))
        # Readings belong to whichever test comes, values of loggers to ponds that come whole.
        keys = kept.keys(name) if name != "pond" else kept.grown["pond"]
    for part in parts_of(keys):
        yield _put(source, target, one, select(one).where(column.in_(part)))


def _put(source: Connection, target: Connection, one: Table, query: Any) -> int:
    count = 0
    rows = source.execute(query.execution_options(yield_per=_ROWS_AT_ONCE)).mappings()
    for some in rows.partitions():
        target.execute(insert(one), [dict(row) for row in some])
        count += len(some)
    return count


def _lines(source: Connection, target: Connection, rows: Sequence[UUID]) -> None:
    change, link = table("change"), table("change_link")
    of_rows = select(change).where(change.c.row_id.in_(rows))
    _put(source, target, change, of_rows)
    links = select(link).join(change, change.c.id == link.c.change_id)
    _put(source, target, link, links.where(change.c.row_id.in_(rows)))


def _sign_in(source: Connection, target: Connection, bag: Bag) -> None:
    """The passphrase of whoever drives; for the others one that nothing opens.

    A hash that stays at home cannot be tried out on a laptop that was lost, and nobody signs in
    there as somebody else.
    """
    one = Base.metadata.tables["sign_in"]
    if not _passphrases_are_seen(source):
        return  # the server knows people by their logins, and nobody has a passphrase
    for row in source.execute(select(one)).mappings():
        values = dict(row)
        if values["staff_id"] != bag.vet_id and values["passphrase"]:
            values["passphrase"] = CLOSED
        target.execute(insert(one), [values])


def _passphrases_are_seen(source: Connection) -> bool:
    if source.dialect.name != "postgresql":
        return True
    asked = text("SELECT has_column_privilege('sign_in', 'passphrase', 'SELECT')")
    return bool(source.execute(asked).scalar())


CLOSED = "!"
"""In the place of a passphrase's hash: one that no passphrase fits."""


def _meta(source: Connection, target: Connection) -> None:
    meta = table("book_meta").c
    for key, value in source.execute(select(meta.key, meta.value)):
        if not key.startswith(_LEFT):
            put_meta(target, key, value)


def file_name(day: date, vet: str) -> str:
    """The name that is proposed for a bag, such as `bag-2026-03-16-ada-vet.pondround`.

    Parameters
    ----------
    day
        The day it is for.
    vet
        The name of whoever drives.

    Examples
    --------
    >>> file_name(date(2026, 3, 16), "Ada O'Vet/..")
    'bag-2026-03-16-ada-o-vet.pondround'
    """
    letters = "".join(one if one.isalnum() else " " for one in vet.casefold())[:40]
    return f"bag-{day.isoformat()}-{'-'.join(letters.split()) or 'round'}.pondround"

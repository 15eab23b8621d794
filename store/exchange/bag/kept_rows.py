"""Which rows a bag holds, found by the keys with which rows point at each other.

A row comes where everything it belongs to comes: the client, site and pond that it names, and what
it cannot be without. What belongs to no client belongs to the practice and comes whole. And
whatever a row that comes points at comes too, without what hangs on that.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any
from uuid import UUID

from sqlalchemy import Column, Connection, Table, and_, select

from store.book.some_rows import in_parts, rows_of
from store.book.told.hanging import PLACES, pointing, tables_in_order
from store.exchange.bag.round_ponds import RoundPonds

BESIDE = frozenset({"change", "change_link", "book_meta", "sign_in"})
"""Tables that are no records: what of them comes is said where a bag is packed."""
ONLY_POINTED_AT = frozenset({"import_file", "sheet_shape", "call_note"})
"""Rows of these that name no client are somebody's all the same: files, and ways to read them, by
the names of owners; calls of people nobody knew. They come only where a row that comes points at
them."""


@dataclass(slots=True)
class KeptRows:
    """Keys by table: `grown` belong to what is packed or to the practice, `pulled` are pointed at.

    Rows without a key (readings, values of loggers) come with the test or pond they belong to.
    """

    grown: dict[str, set[UUID]] = field(default_factory=dict)
    pulled: dict[str, set[UUID]] = field(default_factory=dict)

    def keys(self, name: str) -> set[UUID]:
        """All keys of a table that come."""
        return self.grown.get(name, set()) | self.pulled.get(name, set())


def kept_rows(connection: Connection, wanted: RoundPonds) -> KeptRows:
    """The rows that a bag holds.

    Parameters
    ----------
    connection
        On the book.
    wanted
        Sites and ponds it is packed for.
    """
    kept = KeptRows()
    sites = _keyed("site")
    owners = rows_of(connection, select(sites.c.client_id), sites.c.id, wanted.sites)
    kept.grown |= {
        "pond": set(wanted.ponds), "site": set(wanted.sites),
        "client": {key for (key,) in owners},
    }  # fmt: skip
    for one in tables_in_order():
        if "id" in one.c and one.name not in BESIDE | PLACES:
            kept.grown[one.name] = set(_grown(connection, one, kept.grown))
    _pull(connection, kept)
    return kept


def _keyed(name: str) -> Table:
    return next(one for one in tables_in_order() if one.name == name)


@cache
def anchors(target: Table) -> tuple[tuple[Column[Any], str], ...]:
    """The columns that say what a row belongs to, each with the table it points at.

    Parameters
    ----------
    target
        The table.
    """
    return tuple(
        (column, name)
        for column, name in pointing(target)
        if name != "staff" and (name in PLACES or not column.nullable)
    )


def _grown(connection: Connection, one: Table, grown: Mapping[str, set[UUID]]) -> Iterator[UUID]:
    held = anchors(one)
    if not held or (one.name not in ONLY_POINTED_AT and all(c.nullable for c, _ in held)):
        if one.name in ONLY_POINTED_AT:
            return
        free = select(one.c.id).where(and_(True, *(column.is_(None) for column, _ in held)))
        yield from connection.execute(free).scalars()
    columns = [column for column, _name in held]
    for column, name in held:
        query = select(one.c.id, *columns)
        for key, *points in rows_of(connection, query, column, grown.get(name, set())):
            if all(
                at is None or at in grown.get(named, ())
                for at, (_column, named) in zip(points, held, strict=True)
            ):
                yield key


def _pull(connection: Connection, kept: KeptRows) -> None:
    """What rows point at, and what that points at, until nothing is missing."""
    waiting = {name: set(keys) for name, keys in kept.grown.items()}
    for one in tables_in_order():
        if "id" not in one.c and one.name not in BESIDE:
            _add(kept, waiting, _beyond(connection, one, kept.grown))
    while waiting:
        now, waiting = waiting, {}
        for one in tables_in_order():
            for part in in_parts(sorted(now.get(one.name, ()))):
                found = _pointed_at(connection, one, one.c.id, part or [])
                _add(kept, waiting, found)


def _beyond(
    connection: Connection, one: Table, grown: Mapping[str, set[UUID]]
) -> Iterator[tuple[str, UUID]]:
    for column, name in anchors(one):
        for part in in_parts(sorted(grown.get(name, ()))):
            yield from _pointed_at(connection, one, column, part or [])


def _pointed_at(
    connection: Connection, one: Table, column: Column[Any], keys: Sequence[UUID]
) -> Iterator[tuple[str, UUID]]:
    for pointer in one.columns:
        for key in pointer.foreign_keys:
            query = select(pointer).where(column.in_(keys), pointer.is_not(None)).distinct()
            for (at,) in connection.execute(query):
                yield key.column.table.name, at


def _add(kept: KeptRows, waiting: dict[str, set[UUID]], found: Iterator[tuple[str, UUID]]) -> None:
    for name, key in found:
        if key not in kept.grown.get(name, ()) and key not in kept.pulled.get(name, ()):
            kept.pulled.setdefault(name, set()).add(key)
            waiting.setdefault(name, set()).add(key)


def parts_of(keys: Collection[UUID]) -> Iterator[list[UUID]]:
    """Keys in parts that fit into a statement, in order.

    Parameters
    ----------
    keys
        Each once.
    """
    for part in in_parts(sorted(keys)):
        yield part or []

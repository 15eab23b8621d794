"""The log of one action: lines gathered and written at the end, each as a link of the chain.

They are written last because the chain has one end: on PostgreSQL whoever takes it keeps others
waiting until the transaction is over.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from sqlalchemy import Connection, insert, select, text

from store.book.act import Act
from store.book.checked import checked
from store.book.columns import to_the_millisecond
from store.book.copies.chain import BEGINNING, READING, Line, Link, link_hash, readings_hash
from store.book.keys import new_key
from store.book.row_values import as_json
from store.book.tables import table
from store.errors import BookTrouble

COPY, CHAIN = "copy", "chain"
"""What the book says of itself: which copy it is, and the place and hash of its newest link."""
_PUT = text(
    "INSERT INTO book_meta (key, value) VALUES (:key, :value) "
    "ON CONFLICT (key) DO UPDATE SET value = excluded.value"
)
_AT_ONCE = 400

Logged = tuple[UUID, int, dict[str, Any] | None, dict[str, Any]]
"""Key of the row, its revision afterwards, the fields before and after."""


@dataclass(slots=True)
class Log:
    """The lines of one action, kept until its end."""

    act: Act
    lines: list[Line] = field(default_factory=list)
    readings: dict[UUID, list[Sequence[Any]]] = field(default_factory=dict)

    def put(self, name: str, what: str, rows: Iterable[Logged], why: str) -> None:
        """Keep lines until the end.

        Parameters
        ----------
        name
            The table.
        what
            `add`, `change`, `strike` or `restore`.
        rows
            What became of each row.
        why
            The reason.

        Raises
        ------
        BadInput
            The reason cannot be kept.
        """
        reason = checked(table("change").c.why, why)
        at = to_the_millisecond(self.act.at)
        self.lines += [
            Line(
                new_key(self.act.at), at, self.act.by, name, key, rev, what,
                None if before is None else as_json(before), as_json(after), reason,
            )
            for key, rev, before, after in rows
        ]  # fmt: skip

    def read(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Keep readings that were added, for the hash of their test.

        Parameters
        ----------
        rows
            As they went into the table.
        """
        for row in rows:
            values = [row[name] for name in READING]
            self.readings.setdefault(row["test_id"], []).append(values)

    def write(self, connection: Connection) -> None:
        """Write all lines with their links, and the new end of the chain.

        Parameters
        ----------
        connection
            Of the action.
        """
        if not self.lines:
            return
        seen = self._seen(connection)
        copy, nth, prior = chain_end(connection)
        links = []
        for line in self.lines:
            nth += 1
            heads = tuple(sorted(seen.get(line.row_id, ())))
            read = self.readings.get(line.row_id, ()) if line.table_name == "water_test" else ()
            link = Link(copy, nth, heads, readings_hash(read), prior)
            seen[line.row_id] = {line.id}
            prior = link_hash(line, link)
            links.append(link_values(line.id, link, prior))
        connection.execute(insert(table("change")), [line_values(line) for line in self.lines])
        connection.execute(insert(table("change_link")), links)
        put_meta(connection, CHAIN, f"{nth} {prior}")
        self.lines, self.readings = [], {}

    def _seen(self, connection: Connection) -> dict[UUID, set[UUID]]:
        old = sorted({line.row_id for line in self.lines if line.what != "add"})
        found: dict[UUID, set[UUID]] = {}
        for at in range(0, len(old), _AT_ONCE):
            found |= heads_of(connection, old[at : at + _AT_ONCE])
        return found


def heads_of(connection: Connection, rows: Sequence[UUID]) -> dict[UUID, set[UUID]]:
    """The newest lines of some rows: those that no other line of the row has seen.

    Parameters
    ----------
    connection
        On the book.
    rows
        Keys of rows, some hundred at the most.

    Returns
    -------
    dict
        By key of the row; more than one where it was changed on both sides.
    """
    change, link = table("change").c, table("change_link").c
    query = (
        select(change.row_id, change.id, link.seen)
        .join(table("change_link"), link.change_id == change.id)
        .where(change.row_id.in_(rows))
    )
    found: dict[UUID, set[UUID]] = {}
    passed: set[str] = set()
    for row, key, seen in connection.execute(query):
        found.setdefault(row, set()).add(key)
        passed.update(seen)
    return {row: {one for one in keys if str(one) not in passed} for row, keys in found.items()}


def chain_end(connection: Connection) -> tuple[UUID, int, str]:
    """Which copy of the book this is, and its newest link; held until the action ends.

    Parameters
    ----------
    connection
        Inside a transaction that writes.

    Returns
    -------
    tuple
        Copy, place of the newest link (0 where there is none), its hash.

    Raises
    ------
    BookTrouble
        The book says something else than a place and a hash.
    """
    meta = table("book_meta").c
    query = select(meta.key, meta.value).where(meta.key.in_([CHAIN, COPY])).order_by(meta.key)
    said = {row.key: row.value for row in connection.execute(query.with_for_update())}
    if COPY not in said:
        said[COPY] = new_copy(connection)
    nth, _, prior = said.get(CHAIN, f"0 {BEGINNING}").partition(" ")
    if not nth.isdecimal():
        raise BookTrouble(
            "What the book says of the end of its record was altered outside Pondround; nothing "
            "was saved. “pondround check” says what else was. Go on with the newest backup, and "
            "keep this book beside it.",
            title="Altered outside",
        )
    return UUID(said[COPY]), int(nth), prior


def new_copy(connection: Connection) -> str:
    """Make the book a copy of its own: what is written from now on is a chain of its own.

    Parameters
    ----------
    connection
        Inside a transaction that writes.

    Returns
    -------
    str
        The key of the copy.
    """
    key = str(uuid4())
    put_meta(connection, COPY, key)
    put_meta(connection, CHAIN, f"0 {BEGINNING}")
    return key


def put_meta(connection: Connection, key: str, value: str) -> None:
    """What the book says of itself.

    Parameters
    ----------
    connection
        Inside a transaction that writes.
    key, value
        Its name, and what it says.
    """
    connection.execute(_PUT, {"key": key, "value": value})


def line_values(line: Line) -> dict[str, Any]:
    """A line as a row of `change`.

    Parameters
    ----------
    line
        Of the log.
    """
    return {name: getattr(line, name) for name in Line.__slots__}


def link_values(change: UUID, link: Link, hashed: str) -> dict[str, Any]:
    """A link as a row of `change_link`.

    Parameters
    ----------
    change
        Key of its line.
    link
        Its place.
    hashed
        Its hash.
    """
    values: dict[str, Any] = {name: getattr(link, name) for name in Link.__slots__}
    values["seen"] = [str(one) for one in link.seen]
    return {"change_id": change, **values, "hash": hashed}

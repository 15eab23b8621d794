"""Rows as one action reads and writes them, each with its line in the log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import Connection, Row, Table, select, update

from store.book.act import Act
from store.book.allowed import Allowed, What
from store.book.copies.log import Log, Logged, put_meta
from store.book.keys import new_key
from store.book.row_values import spoken
from store.book.tables import TableName, table
from store.book.told.meanwhile import changed_meanwhile
from store.book.triggers import ONLY_ADDED_TO
from store.errors import NotAllowed, NotFound

if TYPE_CHECKING:
    from store.book.book import Book


class RowWriting:
    """What `Writing` rests on: for what a person asks for, `Writing` has the functions.

    Parameters
    ----------
    connection
        Inside a transaction that others cannot write beside.
    act
        Who, and when.
    book
        The book it belongs to.
    """

    def __init__(self, connection: Connection, act: Act, book: Book) -> None:
        self.connection = connection
        self.act = act
        self.book = book
        self.log = Log(act)
        self.allowed = Allowed(connection, act.by)
        self._touched: set[str] = set()
        self._pointed_at: set[UUID] = set()
        """What rows may point at without being asked for: made here, or allowed."""

    def rewrite(
        self,
        name: TableName,
        /,
        key: UUID,
        rev: int,
        before: Mapping[str, Any],
        after: Mapping[str, Any],
        why: str = "",
    ) -> int:
        """Write columns of a row that was looked at, also of one that is struck through.

        For what a person cannot mean by `change`: records that become one, a side that is chosen.
        Nothing is checked, and the log gets its line also where no column is named.

        Parameters
        ----------
        name, key, rev, why
            As for `change`; the row was read by `locked`.
        before, after
            The same columns before and after, as the book keeps them.

        Returns
        -------
        int
            The revision afterwards.

        Raises
        ------
        NotAllowed
            The person may not change this table.
        """
        self._update(table(name), key, rev, after)
        self._log(name, "change", [(key, rev + 1, dict(before), dict(after))], why)
        return rev + 1

    def locked(self, name: TableName, /, key: UUID, rev: int | None = None) -> Row[Any]:
        """The row as it stands, which nobody else writes before this action has ended.

        Parameters
        ----------
        name
            The table.
        key
            The row.
        rev
            The revision that the person saw; left out, any is taken.

        Returns
        -------
        Row
            With every column of the table.

        Raises
        ------
        NotFound, ChangedMeanwhile
            As for `change`.
        """
        target = table(name)
        query = select(target).where(target.c.id == key).with_for_update()
        row = self.connection.execute(query).one_or_none()
        if row is None:
            raise NotFound(
                f"There is no such {spoken(target.name)} in the book; nothing was saved."
            )
        if rev is not None and row.rev != rev:
            raise changed_meanwhile(self.connection, target, row, rev)
        return row

    def changeable(self, name: TableName, /) -> Table:
        """The table, where its rows may be written again.

        Parameters
        ----------
        name
            The table.

        Returns
        -------
        Table
            With its columns.

        Raises
        ------
        NotAllowed
            It is only added to.
        """
        target = table(name)
        if name in ONLY_ADDED_TO or "rev" not in target.c:
            raise NotAllowed(
                "This kind of record is added to and never rewritten; nothing was changed.",
                title="Never rewritten",
            )
        return target

    def may_point_at(self, key: UUID) -> None:
        """Keep rows that point at a client, site or pond also where that is struck through.

        Parameters
        ----------
        key
            The client, site or pond.
        """
        self._pointed_at.add(key)

    def touch(self, name: TableName, /) -> None:
        """Say that rows of a table were written past this, so that caches see it.

        Parameters
        ----------
        name
            The table.
        """
        self._touched.add(name)

    def stamp(self) -> None:
        """Write the log, and renew the stamps by which caches see that something was written.

        It is the last thing before the end, and in order of name, so that two writers on
        PostgreSQL never wait for each other in a ring.
        """
        self.log.write(self.connection)
        token = new_key(self.act.at).hex
        for key in ("stamp", *(f"stamp.{name}" for name in sorted(self._touched))):
            put_meta(self.connection, key, token)

    def _stamped(self, *events: str) -> dict[str, Any]:
        both: dict[str, Any] = {}
        for event in (*events, "changed"):
            both[f"{event}_at"], both[f"{event}_by"] = self.act.at, self.act.by
        return both

    def _update(self, target: Table, key: UUID, rev: int, values: Mapping[str, Any]) -> None:
        statement = update(target).where(target.c.id == key, target.c.rev == rev)
        self.connection.execute(statement.values(**values, rev=rev + 1, **self._stamped()))

    def _log(
        self,
        name: TableName,
        what: What,
        rows: list[Logged],
        why: str = "",
    ) -> None:
        # What is written past the functions above, as where two records become one, is asked here.
        self.allowed.refuse(name, what, [after for _key, _rev, _before, after in rows])
        self.log.put(name, what, rows, why)
        self._touched.add(name)

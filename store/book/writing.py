"""One action of one person, in one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from sqlalchemy import insert, select

from store.book.allowed import What
from store.book.checked import checked
from store.book.keys import new_key
from store.book.row_values import KEPT, filled, named
from store.book.row_writing import RowWriting
from store.book.standing import refuse_struck
from store.book.tables import TableName, table
from store.errors import BadInput, NotAllowed


class Writing(RowWriting):
    """What one person does to the book at one instant; each row leaves its line in the log.

    Parameters
    ----------
    connection
        Inside a transaction that others cannot write beside.
    act
        Who, and when.
    book
        The book it belongs to.
    """

    def has(self, name: TableName) -> bool:
        """Whether the table holds any row that is not struck through.

        Parameters
        ----------
        name
            A table whose rows can be struck through.

        Returns
        -------
        bool
            As this transaction sees it.
        """
        target = table(name)
        query = select(target.c.id).where(target.c.struck_at.is_(None)).limit(1)
        return self.connection.execute(query).first() is not None

    def add(
        self, name: TableName, /, *, key: UUID | None = None, log_why: str = "", **values: Any
    ) -> UUID:
        """Add a row and give its key.

        Parameters
        ----------
        name
            The table.
        key
            A key made beforehand with `new_key`; usually left out.
        log_why
            The reason, for the log; usually left out.
        **values
            By column; columns left out take their default or stay empty.

        Returns
        -------
        UUID
            The key of the new row.

        Raises
        ------
        BadInput
            Naming the column whose value cannot be kept.
        NotAllowed
            It would point at a client, site or pond that is struck through.
        TypeError
            For a column that does not exist.
        """
        return self._add_all(name, [values], [key], log_why)[0]

    def add_many(self, name: TableName, /, rows: Iterable[Mapping[str, Any]]) -> list[UUID]:
        """Add many rows of one table at once.

        Parameters
        ----------
        name
            The table. Readings and logger values have no key of their own and no line in the log:
            they belong to a test or an imported file that has.
        rows
            Values by column; every row names the same columns, as the first does.

        Returns
        -------
        list of UUID
            The new keys in the order of the rows; empty for tables without a key.

        Raises
        ------
        BadInput
            Naming the column whose value cannot be kept.
        NotAllowed
            One of them would point at a client, site or pond that is struck through.
        TypeError
            For a column that does not exist.
        """
        listed = list(rows)
        if not listed:
            return []
        if "id" in table(name).c:
            return self._add_all(name, listed, [None] * len(listed))
        target = table(name)
        self.allowed.refuse(name, "add", listed)
        whole = [filled(target, row) for row in listed]
        refuse_struck(self.connection, target, whole, self._pointed_at)
        self.connection.execute(insert(target), whole)
        if name == "reading":
            self.log.read(whole)
        self._touched.add(name)
        return []

    def _add_all(
        self, name: TableName, rows: list[Mapping[str, Any]], keys: list[UUID | None], why: str = ""
    ) -> list[UUID]:
        target = table(name)
        made = [key or new_key(self.act.at) for key in keys]
        asked = [{**row, "id": key} for key, row in zip(made, rows, strict=True)]
        self.allowed.refuse(name, "add", asked)
        whole = []
        for key, row in zip(made, rows, strict=True):
            values = filled(target, row, leave=KEPT)
            whole.append(
                values | {"id": key, "rev": 1, "struck_why": ""} | self._stamped("created")
            )
        refuse_struck(self.connection, target, whole, self._pointed_at)
        self._pointed_at.update(made)
        self.connection.execute(insert(target), whole)
        self._log(
            name,
            "add",
            [
                (values["id"], 1, None, {c: v for c, v in values.items() if c not in KEPT})
                for values in whole
            ],
            why,
        )
        return made

    def change(self, name: TableName, /, key: UUID, rev: int, why: str = "", **values: Any) -> int:
        """Change some columns of a row and give its new revision.

        Parameters
        ----------
        name
            The table.
        key
            The row.
        rev
            The revision that the person saw when deciding.
        why
            The reason, for the log.
        **values
            The columns to change; those that are equal already are passed over.

        Returns
        -------
        int
            The revision afterwards; the same as before when nothing differed.

        Raises
        ------
        ChangedMeanwhile
            When the row has another revision by now: says who changed it and when.
        NotFound
            When there is no such row.
        NotAllowed
            When the row is struck through, or the table is only added to.
        BadInput
            Naming the column whose value cannot be kept.
        TypeError
            For a column that does not exist.
        """
        return self.change_values(name, key, rev, values, why)

    def change_values(
        self, name: TableName, /, key: UUID, rev: int, values: Mapping[str, Any], why: str = ""
    ) -> int:
        """Change some columns of a row, one that is called `why` or `rev` here among them.

        Parameters
        ----------
        name, key, rev, why
            As for `change`.
        values
            The columns to change, by name.

        Returns
        -------
        int
            As for `change`.

        Raises
        ------
        ChangedMeanwhile, NotFound, NotAllowed, BadInput, TypeError
            As for `change`.
        """
        target = self.changeable(name)
        self.allowed.refuse(name, "change", None)
        before = self.locked(name, key, rev)
        if before.struck_at is not None:
            raise NotAllowed(
                "This record is struck through and was left as it is. Restore it first.",
                title="Struck through",
            )
        clean = {column.name: checked(column, value) for column, value in named(target, values)}
        differing = {c: v for c, v in clean.items() if getattr(before, c) != v}
        if not differing:
            return rev
        old = {c: getattr(before, c) for c in differing}
        return self.rewrite(name, key, rev, old, differing, why)

    def strike(self, name: TableName, /, key: UUID, why: str, rev: int | None = None) -> int:
        """Strike a row through; it stays in the book.

        Parameters
        ----------
        name
            The table.
        key
            The row.
        why
            The reason; never empty.
        rev
            The revision that the person saw; left out, the present one is taken.

        Returns
        -------
        int
            The revision afterwards.

        Raises
        ------
        BadInput
            When no reason is given.
        NotAllowed
            When the row is struck through already, or the table is only added to.
        NotFound, ChangedMeanwhile
            As for `change`.
        """
        return self._set_struck(name, key, why, rev, strike=True)

    def restore(self, name: TableName, /, key: UUID, why: str, rev: int | None = None) -> int:
        """Take back the striking of a row.

        Parameters
        ----------
        name
            The table.
        key
            The row.
        why
            The reason; never empty.
        rev
            The revision that the person saw; left out, the present one is taken.

        Returns
        -------
        int
            The revision afterwards.

        Raises
        ------
        BadInput
            When no reason is given.
        NotAllowed
            When the row is not struck through, or the table is only added to.
        NotFound, ChangedMeanwhile
            As for `change`.
        """
        return self._set_struck(name, key, why, rev, strike=False)

    def _set_struck(
        self, name: TableName, key: UUID, why: str, rev: int | None, *, strike: bool
    ) -> int:
        target = self.changeable(name)
        reason = checked(target.c.struck_why, why)
        if not reason:
            what = "Striking a record through" if strike else "Restoring a record"
            raise BadInput(f"{what} needs a reason; nothing was changed.", field="why")
        deed: What = "strike" if strike else "restore"
        self.allowed.refuse(name, deed, None)
        before = self.locked(name, key, rev)
        if (before.struck_at is not None) == strike:
            state = "struck through already" if strike else "not struck through"
            raise NotAllowed(f"This record is {state}; nothing was changed.")
        after: dict[str, Any] = {
            "struck_at": self.act.at if strike else None,
            "struck_by": self.act.by if strike else None,
            "struck_why": reason if strike else "",
        }
        old = {column: getattr(before, column) for column in after}
        self._update(target, key, before.rev, after)
        self._log(name, deed, [(key, before.rev + 1, old, after)], reason)
        return int(before.rev) + 1

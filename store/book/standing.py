"""Nothing new is hung onto a client, a site or a pond that is struck through.

A window that was opened before two became one still shows the emptied one: what is typed there
would stand where nobody looks any more.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cache
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Table, select

from store.book.row_values import spoken
from store.book.tables import TableName, table
from store.errors import NotAllowed

_WHOLES: tuple[TableName, ...] = ("client", "site", "pond")
_AT_ONCE = 500


def refuse_struck(
    connection: Connection,
    target: Table,
    rows: Sequence[Mapping[str, Any]],
    new: Collection[UUID],
) -> None:
    """Refuse rows that point at a client, site or pond which is struck through.

    Parameters
    ----------
    connection
        Of the action. On PostgreSQL the rows that are pointed at stay locked against being struck
        until its end.
    target
        The table to which the rows are added.
    rows
        Their values by column.
    new
        Keys that this action added itself.

    Raises
    ------
    NotAllowed
        The sentence says why it was struck through, which names the other where two became one.
    """
    for column, name in _pointing(target):
        keys: set[UUID] = {key for row in rows if (key := row.get(column)) is not None}
        wanted = sorted(keys.difference(new))
        whole = table(name)
        for at in range(0, len(wanted), _AT_ONCE):
            query = (
                select(whole.c.name, whole.c.struck_at, whole.c.struck_why)
                .where(whole.c.id.in_(wanted[at : at + _AT_ONCE]))
                .with_for_update(read=True, key_share=True)
            )
            for called, struck_at, why in connection.execute(query):
                if struck_at is not None:
                    raise NotAllowed(
                        f"The {spoken(name)} {called:.60} is struck through ({why:.200}); nothing "
                        "was saved there.",
                        title="Struck through",
                    )


@cache
def _pointing(target: Table) -> tuple[tuple[str, TableName], ...]:
    return tuple(
        (column.name, name)
        for column in target.columns
        for key in column.foreign_keys
        for name in _WHOLES
        if key.target_fullname == f"{name}.id"
    )

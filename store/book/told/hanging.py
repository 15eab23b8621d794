"""All rows that hang on a thing: those of a pond, of a client, of a course."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from uuid import UUID

from sqlalchemy import CTE, Column, Select, Table, select, union

import store.book.tables  # noqa: F401 - fills the metadata
from store.book.columns import Base
from store.book.row_values import KEPT
from store.book.tables import TableName

PLACES = frozenset({"client", "site", "pond"})


@cache
def tables_in_order() -> tuple[Table, ...]:
    """Every table, those that are pointed at before those that point at them."""
    return tuple(Base.metadata.sorted_tables)


def pointing(target: Table) -> Iterator[tuple[Column[object], str]]:
    """The columns of a table that point at rows of another one, and the name of that one.

    Who made, changed or struck the row is left out: a row hangs on nobody for that. So is a column
    that points at its own table.

    Parameters
    ----------
    target
        The table.
    """
    for column in target.columns:
        for key in column.foreign_keys:
            name = key.column.table.name
            if column.name not in KEPT and name != target.name:
                yield column, name


def hanging(starts: Mapping[TableName, Sequence[UUID]]) -> Select[tuple[UUID]]:
    """The keys of things and of every row that hangs on them.

    A row hangs on what it cannot be without, and on the client, site or pond that it names; on what
    is asked for it hangs however it names that. A pond's tests hang on the pond, the doses of its
    courses too; what was agreed for the whole site hangs on the site, not on one of its ponds.

    Parameters
    ----------
    starts
        Keys by table.

    Returns
    -------
    Select
        Of one column, `id`, for a condition.
    """
    members: dict[str, CTE] = {}
    for one in tables_in_order():
        if "id" not in one.c or one.name == "change":
            continue
        found = [select(one.c.id).where(one.c.id.in_(keys)) for keys in _of(starts, one.name)]
        for column, name in pointing(one):
            if name in members and (name in starts or name in PLACES or not column.nullable):
                found.append(select(one.c.id).where(column.in_(select(members[name].c.id))))
        if found:
            members[one.name] = union(*found).cte()
    everything = [select(one.c.id) for one in members.values()]
    return select(union(*everything).subquery().c.id)


def _of(starts: Mapping[TableName, Sequence[UUID]], name: str) -> Iterator[Sequence[UUID]]:
    for table_name, keys in starts.items():
        if table_name == name:
            yield keys

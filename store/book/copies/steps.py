"""Lines of the log with what their writers saw, as the database gives them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, func, select

from store.book.copies.chain import Line, Link
from store.book.copies.lineage import Step
from store.book.tables import table

AT_ONCE = 400


def line_columns() -> list[Any]:
    """The columns of a line, in the order of `Line`."""
    change = table("change").c
    return [change[name] for name in Line.__slots__]


def links_query() -> Select[Any]:
    """All lines with their links: the columns of `Line`, then `copy, nth, seen, readings, prior`
    and `hash`.
    """
    change, link = table("change"), table("change_link")
    return select(
        *line_columns(), link.c.copy, link.c.nth, link.c.seen, link.c.readings, link.c.prior,
        link.c.hash,
    ).join_from(change, link, link.c.change_id == change.c.id)  # fmt: skip


def linked(row: Row[Any]) -> tuple[Line, Link, str]:
    """A row of `links_query` as line, link and hash.

    Parameters
    ----------
    row
        As the database gives it.
    """
    values = tuple(row)
    line, (copy, nth, seen, readings, prior, hashed) = values[:-6], values[-6:]
    return Line(*line), Link(copy, nth, tuple(map(UUID, seen)), readings, prior), hashed


def steps_of(connection: Connection, rows: Sequence[UUID]) -> dict[UUID, tuple[Step, ...]]:
    """All lines of some rows.

    Parameters
    ----------
    connection
        On the book.
    rows
        Their keys.

    Returns
    -------
    dict
        By key of the row.
    """
    found: dict[UUID, tuple[Step, ...]] = {}
    for at in range(0, len(rows), AT_ONCE):
        change = table("change").c
        query = links_query().where(change.row_id.in_(rows[at : at + AT_ONCE]))
        found |= _grouped(connection.execute(query.order_by(change.row_id)))
    return found


def _grouped(rows: Any) -> dict[UUID, tuple[Step, ...]]:
    listed = (linked(row) for row in rows)
    return {
        key: tuple(Step(line, frozenset(link.seen)) for line, link, _hash in of_row)
        for key, of_row in groupby(listed, key=lambda one: one[0].row_id)
    }


def written_on_both_sides(connection: Connection) -> list[tuple[str, UUID]]:
    """The rows of which several copies of the book wrote lines, with the names of their tables.

    Parameters
    ----------
    connection
        On the book.
    """
    change, link = table("change").c, table("change_link").c
    if len(connection.execute(select(link.copy).distinct().limit(2)).all()) < 2:
        return []
    query = (
        select(change.table_name, change.row_id)
        .join_from(table("change"), table("change_link"), link.change_id == change.id)
        .group_by(change.table_name, change.row_id)
        .having(func.count(link.copy.distinct()) > 1)
        .order_by(change.table_name, change.row_id)
    )
    return [(name, key) for name, key in connection.execute(query)]

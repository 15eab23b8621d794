"""Who changed what: the log of one row, newest first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import TableName, table


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the log: the fields that differ, before and after."""

    at: datetime
    by: UUID
    by_name: str
    rev: int
    what: Literal["add", "change", "strike", "restore"]
    before: Mapping[str, Any]
    after: Mapping[str, Any]
    why: str


def history(book: Book, name: TableName, key: UUID) -> tuple[Change, ...]:
    """What was done to one row, newest first.

    Parameters
    ----------
    book
        The book.
    name
        Its table.
    key
        Of the row.

    Returns
    -------
    tuple of Change
        Keys stand as text, days and instants as ISO 8601; `before` is empty where a row was added.
    """
    change, staff = table("change"), table("staff")
    query = (
        select(
            change.c.at, change.c.by, staff.c.name, change.c.rev, change.c.what,
            change.c.before, change.c.after, change.c.why,
        )
        .join(staff, staff.c.id == change.c.by)
        .where(change.c.row_id == key, change.c.table_name == name)
        .order_by(change.c.rev.desc())
    )  # fmt: skip
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(
        Change(at, by, by_name, rev, what, before or {}, after or {}, why)
        for at, by, by_name, rev, what, before, after, why in rows
    )

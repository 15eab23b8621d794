"""Rows of the book as frozen dataclasses."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import Column, ColumnElement, Row, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.errors import NotFound

_Kept = TypeVar("_Kept", bound="Kept")


@dataclass(frozen=True, slots=True)
class Kept:
    """What every record carries: key, revision, who made, changed and struck it, and when."""

    id: UUID
    rev: int
    created_at: datetime
    created_by: UUID
    changed_at: datetime
    changed_by: UUID
    struck_at: datetime | None
    struck_by: UUID | None
    struck_why: str


def field_names(kind: type[Any]) -> tuple[str, ...]:
    """The names of the fields of a record.

    Parameters
    ----------
    kind
        A dataclass whose fields are named as the columns.

    Returns
    -------
    tuple of str
        In the order of its `__init__`.
    """
    return tuple(field.name for field in fields(kind) if field.init)


def columns_of(kind: type[Any], name: TableName) -> list[Column[Any]]:
    """The columns that a record is made of, in the order of its fields.

    Parameters
    ----------
    kind
        A dataclass whose fields are named as the columns.
    name
        The table.

    Returns
    -------
    list of Column
        For `select`.
    """
    target = table(name)
    return [target.c[field] for field in field_names(kind)]


def made_of(kind: type[_Kept], row: Row[Any] | tuple[Any, ...]) -> _Kept:
    """A record out of one row.

    Parameters
    ----------
    kind
        The dataclass.
    row
        The values in the order of `columns_of`.

    Returns
    -------
    _Kept
        Frozen.
    """
    return kind(*row)


def read_all(
    book: Book,
    kind: type[_Kept],
    name: TableName,
    *conditions: ColumnElement[bool],
    order_by: tuple[Any, ...] = (),
    struck: bool = False,
) -> tuple[_Kept, ...]:
    """The records of one table that meet the conditions.

    Parameters
    ----------
    book
        The book.
    kind
        The dataclass.
    name
        The table.
    *conditions
        SQLAlchemy conditions on its columns.
    order_by
        Columns to sort by; the key comes last in any case.
    struck
        Give rows that are struck through as well.

    Returns
    -------
    tuple
        In order.
    """
    target = table(name)
    query = select(*columns_of(kind, name)).where(*conditions).order_by(*order_by, target.c.id)
    if not struck:
        query = query.where(target.c.struck_at.is_(None))
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(made_of(kind, row) for row in rows)


def read_one(book: Book, kind: type[_Kept], name: TableName, key: UUID) -> _Kept:
    """One record by its key, struck through or not.

    Parameters
    ----------
    book
        The book.
    kind
        The dataclass.
    name
        The table.
    key
        Of the row.

    Returns
    -------
    _Kept
        Frozen.

    Raises
    ------
    NotFound
        When there is no such row.
    """
    found = read_all(book, kind, name, table(name).c.id == key, struck=True)
    if not found:
        raise NotFound(f"There is no such {name.replace('_', ' ')} in the book.")
    return found[0]

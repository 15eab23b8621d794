"""Rows of all, or of some keys: both databases bound how many keys one statement may name."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any
from uuid import UUID

from sqlalchemy import Connection

AT_ONCE = 500
"""So many keys are named in one statement."""


def in_parts(keys: Collection[UUID] | None) -> Iterator[list[UUID] | None]:
    """Keys in parts that fit into a statement; of all (None) one part that names none.

    Parameters
    ----------
    keys
        Each once or more often; without any there is no part.

    Examples
    --------
    >>> list(in_parts(None)), list(in_parts([]))
    ([None], [])
    """
    if keys is None:
        yield None
        return
    listed = list(dict.fromkeys(keys))
    for first in range(0, len(listed), AT_ONCE):
        yield listed[first : first + AT_ONCE]


def rows_of(
    connection: Connection, query: Any, column: Any, keys: Collection[UUID] | None
) -> Iterator[Any]:
    """The rows of a query for all, or for some keys.

    Parameters
    ----------
    connection
        A reading connection of the book.
    query
        Its order holds among the rows of one key.
    column
        Where the key stands.
    keys
        Which are wanted; None for all.
    """
    for part in in_parts(keys):
        yield from connection.execute(query if part is None else query.where(column.in_(part)))

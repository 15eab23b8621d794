"""Rows that were changed on both sides: what each side says, and a person's choice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast
from uuid import UUID

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.checked import checked
from store.book.copies.lineage import Difference, differences
from store.book.copies.steps import steps_of, written_on_both_sides
from store.book.copies.together import STRUCK, groups
from store.book.row_values import from_json, named
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class Unsettled:
    """A row that two sides changed to different things, with its present revision."""

    table: TableName
    key: UUID
    rev: int
    differences: tuple[Difference, ...]


def unsettled(book: Book) -> tuple[Unsettled, ...]:
    """The rows that wait for a person's choice; until then the later line of each stands.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    tuple of Unsettled
        By table and key.
    """
    found = []
    with book.reading() as connection:
        both = written_on_both_sides(connection)
        steps = steps_of(connection, sorted(key for _name, key in both))
        for name, key in both:
            target = table(cast("TableName", name))
            if "rev" not in target.c or not (differing := differences(steps[key], groups(target))):
                continue
            rev = connection.execute(select(target.c.rev).where(target.c.id == key)).scalar()
            if rev is not None:
                found.append(Unsettled(cast("TableName", name), key, rev, differing))
    return tuple(found)


def choose(
    book: Book, act: Act, name: TableName, key: UUID, rev: int, values: Mapping[str, Any], why: str
) -> int:
    """Say what columns hold, both sides having been looked at.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when.
    name, key, rev
        The row, and its revision as it was shown.
    values
        By column, as the log keeps them; usually those of one `Side`. All columns of a difference
        are to be among them.
    why
        The reason, for the log.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    BadInput
        A value cannot be kept, or columns that belong together were torn apart.
    """
    with book.writing(act) as writing:
        return settle(writing, name, key, rev, values, why)


def settle(
    writing: Writing, name: TableName, key: UUID, rev: int, values: Mapping[str, Any], why: str
) -> int:
    """As `choose`, within an action.

    Parameters
    ----------
    writing
        The action.
    name, key, rev, values, why
        As for `choose`.

    Returns
    -------
    int
        The revision afterwards.
    """
    target = writing.changeable(name)
    together = groups(target)
    if any(one not in values for column in values for one in together.get(column, (column,))):
        raise BadInput("What belongs together is taken from one side; nothing was changed.")
    before = writing.locked(name, key, rev)
    given = from_json(target, values)
    struck = {column: given.pop(column) for column in STRUCK if column in given}
    clean = {column.name: checked(column, value) for column, value in named(target, given)}
    after = clean | struck
    old = {column: getattr(before, column) for column in after}
    return writing.rewrite(name, key, rev, old, after, why)

"""Choices between two sides saved in one action."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.copies.choosing import settle
from store.book.tables import TableName
from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person chose for one row: its revision as shown, and values as the log keeps them."""

    table: TableName
    key: UUID
    rev: int
    values: Mapping[str, Any]


def settle_all(book: Book, act: Act, choices: Iterable[Choice], why: str) -> int:
    """Save choices between sides, all or none.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who chose, and when.
    choices
        One for a row, with the values of all that differs there.
    why
        The reason; never empty.

    Returns
    -------
    int
        How many rows were settled.

    Raises
    ------
    BadInput
        No reason, or what belongs together was torn apart.
    ChangedMeanwhile, NotFound
        As for `Writing.change`: a row is another by now.
    """
    if not why.strip():
        raise BadInput("Please say why. Nothing was changed.", field="why")
    count = 0
    with book.writing(act) as writing:
        for one in choices:
            settle(writing, one.table, one.key, one.rev, one.values, why.strip())
            count += 1
    return count

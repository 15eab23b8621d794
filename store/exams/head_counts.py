"""Head counts of a pond, and how many fish swim there on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args
from uuid import UUID

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput
from store.exams.deaths import stands_in_book, whole_fish
from store.watch.look_lost import read_counts, read_moves
from store.watch.stock import Stock, ledger

How = Literal["counted", "netted", "estimated", "told"]
HOW: tuple[How, ...] = get_args(How)
"""How a number of fish was found, the surest first."""


@dataclass(frozen=True, slots=True)
class HeadCount(Kept):
    """How many fish of a kind swim in a pond at the end of a day [count]; an empty kind is all."""

    pond_id: UUID
    on_day: date
    species: str
    fish: int
    how: How
    note: str


def record_head_count(
    writing: Writing,
    pond_id: UUID,
    on_day: date,
    fish: int,
    *,
    species: str = "",
    how: How = "counted",
    note: str = "",
) -> UUID:
    """Enter how many fish swim in a pond.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    on_day
        The calendar day; what died or came on it is in the count.
    fish
        How many [count].
    species
        One kind of fish; empty for all of them.
    how
        One of `HOW`.
    note
        In words.

    Returns
    -------
    UUID
        Key of the count. An earlier one stays: the ledger goes on from the newest.

    Raises
    ------
    NotFound
        No such pond, or it was struck through.
    BadInput
        A day ahead, or a number that cannot be.
    """
    stands_in_book(writing, pond_id)
    if on_day > writing.book.today(writing.act.at):
        raise BadInput("This day lies ahead. Nothing was saved.", field="on_day")
    whole_fish(fish, "fish")
    return writing.add(
        "head_count", pond_id=pond_id, on_day=on_day, species=species.strip(), fish=fish, how=how,
        note=note,
    )  # fmt: skip


def correct_head_count(
    writing: Writing,
    key: UUID,
    rev: int,
    why: str,
    pond_id: UUID,
    on_day: date,
    fish: int,
    *,
    species: str = "",
    how: How = "counted",
    note: str = "",
) -> UUID:
    """Put a head count right: the old one is struck through with the reason, the new one stands.

    Parameters
    ----------
    writing
        The action it belongs to.
    key, rev
        The count, and its revision as the person saw it.
    why
        The reason.
    pond_id
        Key of the pond.
    on_day, fish, species, how, note
        As for `record_head_count`; `fish` is a number [count].

    Returns
    -------
    UUID
        Key of the new count.

    Raises
    ------
    NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.strike`.
    BadInput
        As for `record_head_count`, or no reason.
    """
    writing.strike("head_count", key, why, rev)
    return record_head_count(writing, pond_id, on_day, fish, species=species, how=how, note=note)


def head_counts_of(book: Book, pond_id: UUID, *, struck: bool = False) -> tuple[HeadCount, ...]:
    """The head counts of a pond, newest day first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    struck
        Also those that were struck through.
    """
    columns = table("head_count").c
    return read_all(
        book, HeadCount, "head_count", columns.pond_id == pond_id,
        order_by=(columns.on_day.desc(), columns.created_at.desc()), struck=struck,
    )  # fmt: skip


def stock(book: Book, pond_id: UUID, day: date) -> Stock:
    """The fish of a pond at the end of a day, by kind, each with its count and that count's day.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    day
        The calendar day.

    Returns
    -------
    Stock
        The last count, less the dead and those that left, and those that came since.
    """
    with book.reading() as connection:
        counts = [count for _, count in read_counts(connection, [pond_id])]
        moves = [move for _, move in read_moves(connection, [pond_id])]
    return ledger(counts, moves, day)

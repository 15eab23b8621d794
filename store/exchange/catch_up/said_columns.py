"""What a person said of the columns of client lists, kept in the book for the next one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.exchange.catch_up.list_words import MEANINGS
from store.text import day_said, plain

KIND = "client list"


@dataclass(frozen=True, slots=True)
class SaidBefore:
    """Headings to meanings, as they were said of a list, and of which and when in words."""

    columns: Mapping[str, str]
    said: str


def said_before(book: Book) -> dict[str, SaidBefore]:
    """What is remembered, the newest of each source.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    dict
        By `source_of` the headings. Meanings that this version does not know are left out.
    """
    shapes = table("sheet_shape").c
    query = (
        select(shapes.source, shapes.shape, shapes.created_at, shapes.name)
        .where(shapes.kind == KIND, shapes.struck_at.is_(None))
        .order_by(shapes.created_at, shapes.id)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
    found = {}
    for row in rows:
        kept = row.shape.get("columns", {}) if isinstance(row.shape, Mapping) else {}
        columns = {
            str(heading): str(meaning)
            for heading, meaning in (kept.items() if isinstance(kept, Mapping) else ())
            if meaning in MEANINGS
        }
        day = day_said(row.created_at.astimezone(book.zone).date())
        found[row.source] = SaidBefore(columns, f"on {day} for {row.name}")
    return found


def keep_said(writing: Writing, source: str, name: str, columns: Mapping[str, str]) -> None:
    """Keep what was said of columns, within the action that saves the list.

    Parameters
    ----------
    writing
        The action it belongs to.
    source
        From `source_of`.
    name
        Of the file, for people.
    columns
        Heading to meaning; empty to forget what was said before.
    """
    writing.add(
        "sheet_shape", kind=KIND, source=source, name=plain(name)[:500],
        shape={"columns": dict(columns)},
    )  # fmt: skip

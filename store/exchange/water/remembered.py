"""How sheets of one source are read, as a person said it: kept for the next file from there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.exchange.columns import Shape, shape_from
from store.text import plain


@dataclass(frozen=True, slots=True)
class Remembered:
    """A shape that the book keeps, when it was said, and the file it was said of."""

    shape: Shape
    said_at: datetime
    name: str


def remembered(book: Book, kind: str, source: str) -> Remembered | None:
    """The shape in force for a source, the newest that stands.

    Parameters
    ----------
    book
        The practice's book.
    kind
        Of sheet, such as `water tests`.
    source
        What tells its sheets apart, from `columns.fingerprint`.
    """
    shapes = table("sheet_shape").c
    query = (
        select(shapes.shape, shapes.created_at, shapes.name)
        .where(shapes.kind == kind, shapes.source == source, shapes.struck_at.is_(None))
        .order_by(shapes.created_at.desc(), shapes.id.desc())
        .limit(1)
    )
    with book.reading() as connection:
        found = connection.execute(query).first()
    if found is None:
        return None
    return Remembered(shape_from(found.shape), found.created_at, found.name)


def remember(writing: Writing, kind: str, source: str, name: str, shape: Shape) -> None:
    """Keep a shape for the next file of its source, within the action that saves the file.

    The year, the ponds and the line of the headings are of one file alone and are not kept.

    Parameters
    ----------
    writing
        The action it belongs to.
    kind
        Of sheet.
    source
        From `columns.fingerprint`.
    name
        Of the file, for people.
    shape
        What was said, with what was remembered before.
    """
    kept = shape.lasting().as_json()
    writing.add("sheet_shape", kind=kind, source=source, name=plain(name)[:500], shape=kept)

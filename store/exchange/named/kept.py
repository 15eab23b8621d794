"""What a person said of sheets of one source, kept in the book for the next file from there."""

from __future__ import annotations

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.exchange.columns.named import NamedSheet
from store.exchange.columns.said import Said, said_from
from store.text import day_said, plain


def said_before(book: Book, kind: str, source: str) -> tuple[Said, str]:
    """The newest answers that stand for a source, and the sentence that tells of them.

    Parameters
    ----------
    book
        The practice's book.
    kind
        Of sheet, `SheetKind.name`.
    source
        From `NamedSheet.source`.

    Returns
    -------
    tuple of Said, str
        Both empty where nothing was said.
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
        return Said(), ""
    day = day_said(found.created_at.astimezone(book.zone).date())
    return said_from(found.shape), (
        f"Read as was said on {day} for {found.name}, a file with the same headings."
    )


def keep_said(writing: Writing, sheet: NamedSheet) -> None:
    """Keep what was said for the next file of that source, within the action that saves this one.

    Parameters
    ----------
    writing
        The action it belongs to.
    sheet
        With what was said now and before.
    """
    kept = sheet.said.lasting(sheet.kind.once).as_json()
    writing.add(
        "sheet_shape", kind=sheet.kind.name, source=sheet.source,
        name=plain(sheet.file.path.name)[:500], shape=kept,
    )  # fmt: skip

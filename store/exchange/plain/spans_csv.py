"""Days on which a pond's temperatures are known to be bad, out of a sheet; nothing is saved."""

from __future__ import annotations

from pathlib import Path

from store.book.book import Book
from store.errors import BadInput, PondroundError
from store.exchange.plain.moments import read_day
from store.exchange.plain.planned import Columns
from store.exchange.plain.table import open_sheet
from store.exchange.plain.whose import PondNames
from store.warmth.kept.verify import Span

_KNOWN: dict[str, tuple[str, ...]] = {"pond": ("site",), "first": ("from",), "last": ("to",)}


def read_spans(path: Path, book: Book) -> tuple[Span, ...]:
    """Spans of a sheet with the columns `pond`, `first`, `last`; others are not read.

    Parameters
    ----------
    path
        The file: one row a span, days as 2026-03-14, both included.
    book
        The practice's book, in which the ponds are looked up by key, code or name.

    Returns
    -------
    tuple of Span
        In the order of the rows.

    Raises
    ------
    BadInput
        The file cannot be read, or a row of it; the sentence names the line.
    """
    sheet = open_sheet(path)
    columns = Columns(sheet.header, _KNOWN)
    columns.need("pond", "first", "last")
    names = PondNames(book)
    found = []
    for row in sheet.rows():
        try:
            pond = names.one(columns.text(row, "pond"))
            first, last = (read_day(columns.text(row, at), "ymd") for at in ("first", "last"))
            if last < first:
                raise BadInput("The last day lies before the first.")
        except PondroundError as error:
            raise BadInput(f"Line {row.line} of {path.name}: {error.message}") from error
        found.append(Span(pond, first, last))
    return tuple(found)

"""A file that was brought in before is said to be so, and how its days were moved then."""

from __future__ import annotations

from pathlib import Path

import pytest
from sheets import add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.exchange.plain.planned import brought_before
from store.exchange.plain.table import open_sheet


@pytest.mark.parametrize(
    ("shift_s", "says"),
    [
        (0, "is not doubled"),
        (255 * 86_400, "moved by +255 days: rows whose day is not in the book"),
    ],
)
def test_a_file_moved_in_time_is_told_apart(
    sqlite_book: Book, act: Act, tmp_path: Path, shift_s: int, says: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    read = open_sheet(sheet(tmp_path, "taken_at,pH\n2026-03-01 09:00,7.2\n"))
    assert brought_before(sqlite_book, read) == ()
    with sqlite_book.writing(act) as writing:
        writing.add(
            "import_file", name="tests.csv", sha256=read.sha256, kind="water", rows_read=1,
            rows_saved=1, rows_refused=0, shift_s=shift_s,
        )  # fmt: skip
    (sentence,) = brought_before(sqlite_book, read)
    assert says in sentence

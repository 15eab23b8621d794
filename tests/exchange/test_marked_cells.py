"""A sheet of refused rows runs nothing in a spreadsheet, and its cells come in as they were."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from sheets import add_ponds

from store.book.act import Act
from store.book.book import Book
from store.exchange.plain.events_csv import read_events
from store.exchange.plain.planned import write_refused
from store.exchange.sheets.marked import marked, unmarked
from tests.faults.hostile import harmful, hostile


def test_what_is_marked_comes_back() -> None:
    for one in hostile(huge=False):
        assert unmarked(marked(one.text)) == one.text or one.text.startswith("'")
    for cell in ("-5", "+44 1632 960001", "<0.05", "'tis", "- flashing", "", "7.4"):
        assert marked(cell) == unmarked(cell) == cell


@pytest.mark.parametrize("text", ["=cmd|' /C calc'!A0", "@SUM(A1)", "\x1b]0;owned\x07", "＝1+1"])
def test_refused_rows_are_harmless_and_are_read_again(
    sqlite_book: Book, act: Act, tmp_path: Path, text: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "events.csv"
    rows = [["pond", "on_day", "kind", "note"], ["P-1", "never", "other", text]]
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    beside = write_refused(read_events(path, sqlite_book, act.at))
    assert beside is not None
    written = beside.read_text(encoding="utf-8")
    assert not harmful(written)
    cell = list(csv.reader(io.StringIO(written)))[1][-1]
    assert cell[0] not in "=@＝\x1b"
    again = read_events(beside, sqlite_book, act.at)
    assert again.refused[0].cells[-1] == cell.removeprefix("'")

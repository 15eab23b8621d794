"""Values that only another program can have written: a sentence, and a check that goes on."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import enter, person_named
from store.book.ponds import ponds
from store.errors import BadInput, BookTrouble
from store.exchange.out.json_lines import export_json
from store.guard.check import check
from tests.faults.hostile import harmful
from tui.commands.check import as_json, as_text

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def altered(place: str, statement: str, *values: str) -> str:
    with sqlite3.connect(place) as connection:
        connection.execute(statement, values)
    return place


def found(place: str) -> list[str]:
    with open_book(place, now=NOW) as book:
        report = check(book, NOW)
    lines = list(as_text(report))
    assert not any(harmful(line, lines=False) for line in lines)
    json.dumps(as_json(report), allow_nan=False)
    assert not report.clean
    return lines


@pytest.mark.parametrize("zone", ["../../etc/passwd", "\x1b[2J", "Mars/Base", ""])
def test_a_zone_that_is_none(sqlite_url: str, zone: str) -> None:
    with sqlite3.connect(sqlite_url) as connection:
        connection.execute("PRAGMA ignore_check_constraints = 1")
        connection.execute("UPDATE practice SET time_zone = ?", (zone,))
    with open_book(sqlite_url, now=NOW) as book, pytest.raises(BookTrouble, match="is not known"):
        assert book.today(NOW)
    assert any("no day can be reckoned" in line for line in found(sqlite_url))


@pytest.mark.parametrize("text", ['{"a": \x1b[2J', "[" * 50_000 + "]" * 50_000, "", "\x9b"])
def test_listed_values_that_are_none(
    sqlite_book: Book, act: Act, sqlite_url: str, tmp_path: Path, text: str
) -> None:
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Brook")
        site = writing.add("site", client_id=client, name="Garden")
        writing.add("pond", site_id=site, name="P", test_seasons=[])
    altered(sqlite_url, "UPDATE pond SET test_seasons = ?", text)
    with open_book(sqlite_url, now=NOW) as book:
        with pytest.raises(BookTrouble, match="another program wrote there"):
            ponds(book)
        with pytest.raises(BookTrouble, match="another program wrote there"):
            export_json(book, tmp_path / "all.jsonl", NOW)
    assert not (tmp_path / "all.jsonl").exists()
    assert any("A row of pond holds what none of its" in line for line in found(sqlite_url))


def test_the_end_of_the_chain(sqlite_url: str) -> None:
    altered(sqlite_url, "UPDATE book_meta SET value = ? WHERE key = 'chain'", "7 \x1b[2J\u202e\x9b")
    assert any("the book's word was altered" in line for line in found(sqlite_url))


def test_nobody_has_a_name_of_half_letters(sqlite_book: Book) -> None:
    """As an argument with bytes that are no UTF-8 comes in."""
    assert person_named(sqlite_book, "\udcff\udc80") is None


def test_a_person_is_not_entered_twice_under_a_name_that_is_kept_as_the_same(
    sqlite_book: Book, act: Act
) -> None:
    enter(sqlite_book, act, "Bo\x1b Reed", "vet")
    with pytest.raises(BadInput, match="is on the staff already"):
        enter(sqlite_book, act, "bo\udcff reed", "vet")

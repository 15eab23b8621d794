"""A taste of what `tests/faults` does at length: killed, full, two at once, older, in the way."""

from __future__ import annotations

import os
import random
import time
from pathlib import Path

import pytest
from entries import NOW, add_pond

from store.book import schema
from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.errors import BookTrouble
from tests.faults.hands import Hand, count_on, first_pond, number_in, save_on_and_on, whole
from tests.faults.older_books import OLDER, a_source, columns_then, make_older, rows_in

pytestmark = pytest.mark.skipif(os.name == "nt", reason="it kills as Unix does")


def test_what_was_acknowledged_is_there_after_a_kill(book_address: str, tmp_path: Path) -> None:
    for nth in range(2):
        hand = Hand(save_on_and_on, tmp_path / f"notes-{nth}", book_address, nth)
        hand.begun()
        hand.told(8)
        time.sleep(random.Random().uniform(0, 0.02))
        assert hand.kill()
        whole(book_address, hand.lines())


def test_two_processes_lose_no_update(book_address: str, tmp_path: Path) -> None:
    with open_book(book_address, now=NOW) as book:
        pond = first_pond(book)
    hands = [Hand(count_on, tmp_path / f"notes-{n}", book_address, pond, 0.5) for n in range(2)]
    assert [hand.wait(60) for hand in hands] == [0, 0]
    counted = sum(int(hand.lines()[-1][1]) for hand in hands)
    with open_book(book_address, now=NOW) as book, book.reading() as connection:
        row = connection.exec_driver_sql("SELECT volume_l, rev FROM pond").one()
    assert tuple(row) == (1 + counted, 1 + counted)


def test_a_book_of_another_number_comes_with_its_rows(
    sqlite_template: Path, tmp_path: Path
) -> None:
    number, path = random.Random().choice(OLDER), tmp_path / "older.pondround"
    before = make_older(str(path), number, a_source(tmp_path, sqlite_template))
    columns = columns_then(str(path))
    open_book(path, now=NOW).close()
    assert number_in(str(path)) == schema.HEAD
    assert rows_in(str(path), columns) == before


def test_nothing_is_written_into_a_file_that_was_replaced(sqlite_url: str, tmp_path: Path) -> None:
    path, away = Path(sqlite_url), tmp_path / "away"
    with open_book(path, now=NOW) as book:
        act = Act(staff(book)[0].id, NOW)
        path.rename(away)
        with pytest.raises(BookTrouble, match="removed, moved or replaced"):
            add_pond(book, act)
        away.rename(path)
        add_pond(book, act)
    whole(sqlite_url, [])


def test_what_is_no_file_is_refused_and_stays(tmp_path: Path) -> None:
    path = tmp_path / "practice.pondround"
    os.mkfifo(path)
    with pytest.raises(BookTrouble, match="a pipe"):
        open_book(path, now=NOW, create=True)
    path.unlink()
    path.symlink_to(tmp_path / "stick" / "ponds")
    with pytest.raises(BookTrouble, match="points at"):
        open_book(path, now=NOW, create=True)
    path.unlink()
    path.with_name(path.name + "-wal").write_bytes(b"x")
    with pytest.raises(BookTrouble, match="holds entries of one"):
        open_book(path, now=NOW, create=True)


def test_a_book_that_may_not_grow_says_so(sqlite_book: Book, act: Act) -> None:
    """SQLite's own limit on pages fails where a full disk does."""
    from sqlalchemy import event

    add_pond(sqlite_book, act)

    @event.listens_for(sqlite_book.engine, "checkout")
    def little(connection: object, *_more: object) -> None:
        connection.execute("PRAGMA max_page_count = 1")  # type: ignore[attr-defined]

    told: BookTrouble | None = None
    for _ in range(300):
        try:
            add_pond(sqlite_book, act, notes="n" * 4000)
        except BookTrouble as trouble:
            told = trouble
            break
    assert told is not None
    assert told.title == "The disk is full"
    assert "nothing was saved" in told.message

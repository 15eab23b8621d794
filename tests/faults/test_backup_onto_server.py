"""A backup becomes a book on a server: every row, every key, a chain of its own."""

from __future__ import annotations

import random
import secrets
import sys
from pathlib import Path

import pytest
from sqlalchemy import URL

sys.path.append(str(Path(__file__).parents[1] / "book"))

from entries import NOW, add_pond
from three_books import Writer, state, whose

from store.book.backup.making import back_up
from store.book.backup.restoring import restore
from store.book.opening import open_book
from store.errors import BookTrouble
from store.guard.check import check
from tests.conftest import _run, _text


@pytest.mark.postgres
def test_a_file_becomes_a_book_on_a_server_and_a_file_again(
    postgres_server: URL, sqlite_url: str, tmp_path: Path
) -> None:
    name = f"pondround_{secrets.token_hex(4)}"
    _run(postgres_server, f"CREATE DATABASE {name}")
    address = _text(postgres_server.set(database=name))
    try:
        with open_book(sqlite_url, now=NOW) as book:
            add_pond(book, whose(book), notes="Größe “von Hand”")
            writer = Writer(random.Random(4))
            for step in (writer.test, writer.volume, writer.visit, writer.person, writer.rename):
                step(book)
            made = back_up(book.engine, book.name, tmp_path / "kept", NOW, "hand")
            restore(made.path, address, NOW)
            with open_book(address, now=NOW) as there:
                assert state(there) == state(book)
                assert check(there, NOW).findings == ()
                again = back_up(there.engine, there.name, tmp_path / "kept", NOW, "hand")
                add_pond(there, whose(there))
                assert check(there, NOW).findings == ()
            with pytest.raises(BookTrouble, match="something at"):
                restore(made.path, address, NOW)
            new = tmp_path / "new.pondround"
            restore(again.path, str(new), NOW)
            with open_book(new, now=NOW) as last:
                assert state(last) == state(book)
    finally:
        _run(postgres_server, f"DROP DATABASE {name} WITH (FORCE)")

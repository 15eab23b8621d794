"""A book of every earlier number opens with all its rows; one of a later number is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from store.book import schema
from store.book.opening import open_book
from store.errors import BookTrouble
from tests.faults.hands import START
from tests.faults.older_books import OLDER, a_source, columns_then, engine_of, make_older, rows_in


@pytest.fixture(scope="module")
def source(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return a_source(tmp_path_factory.mktemp("source"), sqlite_template)


@pytest.mark.parametrize("number", OLDER)
def test_an_older_book_opens_with_its_rows(empty_address: str, source: Path, number: int) -> None:
    before = make_older(empty_address, number, source)
    assert all(before.values()), "a table without a row proves nothing"
    columns = columns_then(empty_address)
    with open_book(empty_address, now=START) as book, book.reading() as connection:
        assert schema.number(connection) == schema.HEAD
    assert rows_in(empty_address, columns) == before
    if "://" not in empty_address:
        (copy,) = Path(empty_address).parent.glob("*.before-upgrade-*.pondround")
        assert f"-{number:04}." in copy.name
        assert rows_in(str(copy)) == before
        assert columns_then(str(copy)) == columns


def test_a_newer_book_is_refused_and_stays(book_address: str) -> None:
    engine = engine_of(book_address)
    with engine.connect().execution_options(pondround_writes=True) as connection:
        connection.execute(
            text("UPDATE alembic_version SET version_num = :n"), {"n": f"{schema.HEAD + 1:04}"}
        )
        connection.commit()
    engine.dispose()
    before = rows_in(book_address)
    with pytest.raises(BookTrouble, match="newer Pondround") as caught:
        open_book(book_address, now=START)
    assert "Install the newer version" in caught.value.message
    assert rows_in(book_address) == before

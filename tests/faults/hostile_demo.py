"""The demo practice with a hostile text in every place where a person writes words."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Column, String, select

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.opening import open_book
from store.book.row_values import KEPT
from store.book.triggers import ONLY_ADDED_TO
from store.book.writing import Writing
from store.errors import BadInput
from store.exchange.demo.practice import make_demo
from store.exchange.out.described import table_names
from tests.faults.hostile import TALLY, Hostile, one_sentence

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
CODES = {
    "agent", "route", "unit", "kind", "hazard", "rule", "parameter", "form", "time_zone", "repeats",
    "volume_method", "method", "sha256", "about", "country", "region", "binder", "family", "uid",
    "hours",
}  # fmt: skip
"""Columns whose words mean something to the application; the other columns are for people."""
BY_THE_BOOK = {
    "book_meta",
    "change",
    "reading",
    "logger_reading",
    "logger_day",
    "sign_in",
    "air_day",
}


def word_columns(*, codes: bool = False) -> dict[str, list[Column[Any]]]:
    """The columns for people's words, by table.

    Parameters
    ----------
    codes
        Whether the codes of ponds are among them.
    """
    found = {}
    for name in table_names():
        if name in BY_THE_BOOK or name in ONLY_ADDED_TO:
            continue
        found[name] = [
            one
            for one in Base.metadata.tables[name].columns
            if isinstance(one.type, String)
            and "longest" in one.info
            and one.name not in CODES
            and one.name not in KEPT
            and (one.name != "code" or (codes and name == "pond"))
        ]
    return found


def dress(
    book: Book,
    act: Act,
    texts: Sequence[Hostile],
    *,
    codes: bool = False,
    tables: Collection[str] = (),
) -> set[str]:
    """Put the texts, one after the other and round again, into every word of every row.

    Parameters
    ----------
    book, act
        The book, and who writes.
    texts
        What is written; what a column refuses is left out there, and counted.
    codes
        Whether the codes of ponds are among the words.
    tables
        Only these; all where none is named.

    Returns
    -------
    set of str
        What the book keeps of them.
    """
    turn = _round(texts)
    kept: set[str] = set()
    for name, columns in word_columns(codes=codes).items():
        if tables and name not in tables:
            continue
        table = Base.metadata.tables[name]
        with book.reading() as connection:
            rows = connection.execute(select(table)).all()
        with book.writing(act) as writing:
            for row in rows:
                if getattr(row, "struck_at", None) is None:
                    kept.update(_dress_row(writing, name, row, columns, turn))
    return kept


def _dress_row(
    writing: Writing, name: str, row: Any, columns: Sequence[Column[Any]], turn: Iterator[Hostile]
) -> Iterator[str]:
    rev = row.rev
    for column in columns:
        for one in islice(turn, 40):  # until one is short enough for this column
            try:
                rev = writing.change_values(  # type: ignore[arg-type]
                    name, row.id, rev, {column.name: one.text}
                )
            except BadInput as trouble:  # before anything was written
                one_sentence(trouble.message)
                TALLY.refused["words of the demo practice"] += 1
                continue
            TALLY.kept["words of the demo practice"] += 1
            yield one.text
            break


def _round(texts: Sequence[Hostile]) -> Iterator[Hostile]:
    while True:
        yield from texts


def dress_raw(path: Path, texts: Sequence[Hostile]) -> None:
    """The same past the store, as another program would: nothing is made harmless on the way in.

    Lone surrogates have no form in a file of SQLite and are left out.
    """
    turn = _round(
        [one for one in texts if not set(one.text) & _SURROGATES and "\0" not in one.text]
    )
    connection = sqlite3.connect(path)
    with connection:
        for name, columns in word_columns().items():
            for (key,) in connection.execute(f"SELECT id FROM {name}").fetchall():
                for column in columns:
                    fits = column.info["longest"]
                    text = next(one.text for one in turn if 0 < len(one.text) <= fits)
                    connection.execute(
                        f"UPDATE {name} SET {column.name} = ? WHERE id = ?", (text, key)
                    )
    connection.close()


_SURROGATES = {chr(code) for code in range(0xD800, 0xE000)}


def hostile_demo(path: Path, texts: Sequence[Hostile], *, codes: bool = False) -> set[str]:
    """A book of the demo practice, dressed; gives what it was dressed in."""
    make_demo(path, NOW).close()
    with open_book(path, now=NOW) as book:
        with book.reading() as connection:
            by = connection.execute(select(Base.metadata.tables["staff"].c.id)).scalars().first()
        assert by is not None
        return dress(book, Act(by, NOW), texts, codes=codes)

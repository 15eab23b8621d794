"""A book in which every text column of every table holds every hostile text that it takes."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import JSON, Column, String, Table, select, update

from store.book.act import Act
from store.book.book import Book
from store.book.checked import checked
from store.book.columns import Base
from store.book.opening import open_book
from store.book.practice import begin
from store.book.row_values import KEPT
from store.book.triggers import ONLY_ADDED_TO
from store.errors import BadInput, PondroundError
from store.exchange.out.described import table_names
from store.text import plain
from tests.exchange import any_book as filled
from tests.faults.hostile import TALLY, Hostile, one_sentence

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
BY_THE_BOOK = {"book_meta", "change"}
"""Tables that the book fills itself; no text of a person goes there but as what was changed."""


def any_book(path: Path) -> tuple[Book, Act]:
    """A book with a row in every table, none of it struck through."""
    book = open_book(path, now=NOW, create=True)
    begin(book, NOW, practice="P", time_zone="Europe/London", person="Ada Vet", role="vet")
    made = filled._text
    with pytest.MonkeyPatch.context() as patch:  # these rows go in past the store, as it has them
        patch.setattr(filled, "_text", lambda *given: plain(made(*given)))
        filled.fill_any(book, random.Random(1), most=1)
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        for table in _tables():
            if "struck_at" in table.c and table.name not in ONLY_ADDED_TO:
                clean = {"struck_at": None, "struck_by": None, "struck_why": "", "rev": 1}
                connection.execute(update(table).values(**clean))
    with book.reading() as connection:
        by = connection.execute(select(Base.metadata.tables["staff"].c.id)).scalars().first()
    assert by is not None
    return book, Act(by, NOW)


def _tables() -> Iterator[Table]:
    return (Base.metadata.tables[name] for name in table_names())


def text_columns() -> list[tuple[str, Column[Any]]]:
    """Every column that takes a text, or a list or mapping with texts in it."""
    return [
        (table.name, column)
        for table in _tables() if table.name not in BY_THE_BOOK
        for column in table.columns
        if isinstance(column.type, String | JSON) and column.name not in KEPT
    ]  # fmt: skip


def kept_or_refused(
    column: Column[Any], texts: Sequence[Hostile]
) -> tuple[list[tuple[Hostile, Any]], int]:
    """What the column takes, with what it would keep, and how many it refuses.

    Raises
    ------
    AssertionError
        When a refusal names no field, or says it in something other than a short sentence.
    """
    kept, refused = [], 0
    for one in texts:
        try:
            value = checked(column, said(column, one.text))
        except BadInput as trouble:
            refused += 1
            _names_its_field(trouble, column)
        else:
            kept.append((one, value))
    return kept, refused


def _names_its_field(trouble: BadInput, column: Column[Any]) -> None:
    one_sentence(trouble.message)
    assert trouble.field or isinstance(column.type, JSON), (column.name, trouble.message)


def said(column: Column[Any], text: str) -> Any:
    """The text as it goes into a column."""
    if not isinstance(column.type, JSON):
        return text
    check = column.info.get("check")
    return [text] if check is not None and check.__name__ == "texts" else {"said": text}


def put_in(
    book: Book, act: Act, name: str, column: Column[Any], kept: Sequence[tuple[Hostile, Any]]
) -> list[Any]:
    """Write each text as a row of its own, the other columns as in the row that is there.

    Where rows must differ in this column and do not, they are written one by one, and those that
    are refused are left out.

    Returns
    -------
    list
        What the book gives back.
    """
    table = Base.metadata.tables[name]
    base = _base(book, table)
    rows = [base | {column.name: said(column, one.text)} for one, _ in kept]
    keyed = "id" in table.c
    try:
        with book.writing(act) as writing:
            keys = writing.add_many(name, rows)  # type: ignore[arg-type]
    except PondroundError:
        _one_by_one(book, act, name, column, rows)
        return []
    if not keyed:
        return []
    found = {}
    with book.reading() as connection:
        for start in range(0, len(keys), 500):
            some = select(table.c.id, column).where(table.c.id.in_(keys[start : start + 500]))
            found.update({row[0]: row[1] for row in connection.execute(some)})
    return [found[key] for key in keys]


def _base(book: Book, table: Table) -> dict[str, Any]:
    with book.reading() as connection:
        row = connection.execute(select(table).limit(1)).one()
    return {one: value for one, value in row._mapping.items() if one not in KEPT}


def _one_by_one(
    book: Book, act: Act, name: str, column: Column[Any], rows: Sequence[dict[str, Any]]
) -> None:
    for row in rows:
        try:
            with book.writing(act) as writing:
                if name in ONLY_ADDED_TO or "id" not in Base.metadata.tables[name].c:
                    writing.add_many(name, [row])  # type: ignore[arg-type]
                    continue
                table = Base.metadata.tables[name]
                there = writing.connection.execute(select(table).limit(1)).one()
                writing.change_values(  # type: ignore[arg-type]
                    name, there.id, there.rev, {column.name: row[column.name]}
                )
        except PondroundError as trouble:
            one_sentence(trouble.message)
            TALLY.refused["columns, because of another row"] += 1

"""Books as earlier versions left them, with a row in every table they had."""

from __future__ import annotations

import random
import sys
from pathlib import Path
from typing import Any

from sqlalchemy import (
    Connection,
    Engine,
    Table,
    TableClause,
    column,
    create_engine,
    insert,
    inspect,
    select,
    text,
)
from sqlalchemy import table as sql_table
from sqlalchemy.pool import NullPool

from store.book import schema
from store.book.columns import Base
from store.book.engines import sqlite_engine

sys.path.append(str(Path(__file__).parents[1] / "exchange"))

from any_book import a_book

OLDER = range(1, schema.HEAD)
"""The number of every earlier version."""
SAYS_WHICH_COPY = 9
"""Which copy it is, and how far its chain goes, a book says of itself since this number."""


def a_source(place: Path, template: Path, seed: int = 9) -> Path:
    """A book of today with rows in every table, whatever the columns can hold."""
    return a_book(place, template, random.Random(seed))


def engine_of(address: str) -> Engine:
    """An engine that changes nothing by itself."""
    if "://" in address:
        return create_engine(address, poolclass=NullPool)
    Path(address).touch()
    return sqlite_engine(Path(address))


def make_older(address: str, number: int, source: Path) -> dict[str, set[tuple[Any, ...]]]:
    """A book of a number where nothing is, with all that a book of then could hold; its rows."""
    engine, given = engine_of(address), sqlite_engine(source)
    schema.upgrade(engine, number)
    try:
        with (
            given.connect() as old,
            engine.connect().execution_options(pondround_writes=True) as new,
            new.begin(),
        ):
            if new.dialect.name == "sqlite":
                new.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
            else:
                new.exec_driver_sql("SET session_replication_role = replica")
            new.execute(text("DELETE FROM book_meta"))
            for name, columns in _then(new).items():
                target = Base.metadata.tables[name]
                rows = old.execute(select(*(target.c[one] for one in columns))).mappings().all()
                if rows:
                    new.execute(insert(_part(target, columns)), [dict(row) for row in rows])
            if number < SAYS_WHICH_COPY:
                new.execute(text("DELETE FROM book_meta WHERE key IN ('copy', 'chain')"))
        with engine.connect() as connection:
            return rows_of(connection, _then(connection))
    finally:
        engine.dispose()
        given.dispose()


Columns = dict[str, list[str]]
Rows = dict[str, set[tuple[Any, ...]]]


def _then(connection: Connection) -> Columns:
    look = inspect(connection)
    return {
        name: [one["name"] for one in look.get_columns(name)]
        for name in look.get_table_names()
        if name != "alembic_version"
    }


def _part(target: Table, columns: list[str]) -> TableClause:
    """The table as it was then: today's would fill in what came later."""
    assert set(columns) <= set(target.c.keys()), "a column is gone: say here what it became"
    return sql_table(target.name, *(column(one, target.c[one].type) for one in columns))


def columns_then(address: str) -> Columns:
    """The tables and columns of a book as they stand."""
    engine = engine_of(address)
    try:
        with engine.connect() as connection:
            return _then(connection)
    finally:
        engine.dispose()


def rows_in(address: str, columns: Columns | None = None) -> Rows:
    """Every row of a book, or of these tables and columns, without bringing it up to date."""
    engine = engine_of(address)
    try:
        with engine.connect() as connection:
            return rows_of(connection, columns or _then(connection))
    finally:
        engine.dispose()


def rows_of(connection: Connection, columns: Columns) -> Rows:
    """Every row of these tables, as the database holds it.

    What a book says of itself is left out: which copy it is, it says since number 9.
    """
    found = {}
    for name, listed in columns.items():
        if name == "book_meta":
            continue
        target = Base.metadata.tables[name]
        rows = connection.execute(select(*(target.c[one] for one in listed)))
        found[name] = {tuple(repr(value) for value in row) for row in rows}
    return found

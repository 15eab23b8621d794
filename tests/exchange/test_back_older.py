"""Folders that older versions wrote come in as what their books would be, had they been opened."""

from __future__ import annotations

import hashlib
import random
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from any_book import a_book, tables_of
from sqlalchemy import Column, Connection, MetaData, Table, inspect, text

from store.book import schema
from store.book.columns import Base
from store.book.engines import sqlite_engine
from store.book.opening import open_book
from store.errors import BadInput, BookTrouble
from store.exchange.back.back import bring_back, check_folder
from store.exchange.back.older import tables_of_then
from store.exchange.out.described import kind_of
from store.exchange.out.folder import MANIFEST, Manifest, file_of, manifest_text, read_manifest
from store.exchange.out.rows import Progress
from store.exchange.out.table_csv import Lines, Written, add_rows, header_of

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
Older = Callable[[int], tuple[Path, Path]]


@pytest.fixture(scope="module")
def older(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Older:
    """Gives a book of a number with a row in every table it had, and the folder of it."""
    place = tmp_path_factory.mktemp("older")
    source = a_book(place, sqlite_template, random.Random(9))
    made: dict[int, tuple[Path, Path]] = {}

    def of(number: int) -> tuple[Path, Path]:
        if number not in made:
            book, folder = place / f"{number}.pondround", place / str(number)
            book.touch()
            engine = sqlite_engine(book)
            schema.upgrade(engine, number)
            with engine.connect().execution_options(pondround_writes=True) as connection:
                connection.connection.driver_connection.execute(  # type: ignore[union-attr]
                    "ATTACH DATABASE ? AS source", (str(source),)
                )
                with connection.begin():
                    _take_rows(connection)
                with connection.begin():
                    _write_folder(connection, folder, number)
            engine.dispose()
            made[number] = book, folder
        return made[number]

    return of


def _names(connection: Connection) -> list[str]:
    return [one for one in inspect(connection).get_table_names() if one != "alembic_version"]


def _take_rows(connection: Connection) -> None:
    """All rows of today's book that a book of then could hold."""
    connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    connection.execute(text("DELETE FROM main.book_meta"))
    for name in _names(connection):
        columns = ", ".join(one["name"] for one in inspect(connection).get_columns(name))
        connection.execute(
            text(f"INSERT INTO main.{name} ({columns}) SELECT {columns} FROM source.{name}")
        )
    if "sign_in" in _names(connection):  # no file has a passphrase's hash
        connection.execute(text("UPDATE main.sign_in SET passphrase = ''"))
    # Which copy it is, and how far its chain goes, a book says of itself since number 9.
    connection.execute(text("DELETE FROM main.book_meta WHERE key IN ('copy', 'chain')"))


def _write_folder(connection: Connection, folder: Path, number: int) -> None:
    """As the version of that number wrote it; what a cell looks like has not changed since."""
    (folder / "tables").mkdir(parents=True)
    tables: dict[str, Written] = {}
    for name in _names(connection):
        there = {one["name"] for one in inspect(connection).get_columns(name)}
        columns = [one for one in Base.metadata.tables[name].columns if one.name in there]
        if name == "client":  # only its models knew in which order a version wrote columns
            columns = _turned(columns)
        table = Table(name, MetaData(), *(one._copy() for one in columns))
        with (folder / file_of(name)).open("wb") as file:
            lines = Lines(file, header_of(table))
            add_rows(lines, connection, table)
            tables[name] = lines.written()
    manifest = Manifest("Test practice", number, NOW, "0.1", tables, {})
    (folder / MANIFEST).write_text(manifest_text(manifest), encoding="utf-8")


def _turned(columns: list[Column[Any]]) -> list[Column[Any]]:
    behind = [one for one in reversed(columns) if one.name != "id"]
    return [*(one for one in columns if one.name == "id"), *behind]


def migrated(book: Path, place: Path) -> dict[str, list[tuple[Any, ...]]]:
    """What is in an older book once it has been opened."""
    copy = shutil.copyfile(book, place / "migrated.pondround")
    with open_book(copy, now=NOW) as opened:
        return tables_of(opened)


def brought(folder: Path, address: str) -> dict[str, list[tuple[Any, ...]]]:
    bring_back(folder, address, NOW)
    with open_book(address, now=NOW) as opened:
        return tables_of(opened)


@pytest.mark.parametrize("number", [1, schema.HEAD - 1])
def test_an_older_folder_comes_in_as_its_book_would(
    older: Older, number: int, tmp_path: Path
) -> None:
    book, folder = older(number)
    told: list[Progress] = []
    said = bring_back(folder, str(tmp_path / "back.pondround"), NOW, told=told.append)
    with open_book(tmp_path / "back.pondround", now=NOW) as opened:
        found = tables_of(opened)
    expected = migrated(book, tmp_path)
    assert found == expected
    written = read_manifest(folder).tables
    assert all(found[name] for name in written)
    assert len(written) < len(found)
    assert said.manifest.schema == number
    assert check_folder(folder) == said
    assert f"tables of number {number}" in said.told[-1]
    assert [one.done for one in told] == sorted(one.done for one in told)
    assert told[-1].done == told[-1].whole == said.manifest.rows


@pytest.mark.postgres
def test_an_older_folder_goes_to_a_server(
    older: Older, postgres_server: Any, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    from tests.conftest import _run, _text

    name = "pondround_back_older"
    _run(postgres_server, f"CREATE DATABASE {name}")
    request.addfinalizer(lambda: _run(postgres_server, f"DROP DATABASE {name} WITH (FORCE)"))
    book, folder = older(4)
    address = _text(postgres_server.set(database=name))
    assert brought(folder, address) == migrated(book, tmp_path)
    with pytest.raises(BookTrouble, match="There is a book"):
        bring_back(folder, address, NOW)


def _sealed(folder: Path, **tables: Written) -> None:
    manifest = read_manifest(folder)
    manifest = replace(manifest, tables={**manifest.tables, **tables})
    (folder / MANIFEST).write_text(manifest_text(manifest), encoding="utf-8")


@pytest.mark.parametrize("spoilt", ["a cell", "a column", "a file"])
def test_an_older_folder_that_was_changed_is_refused(
    older: Older, tmp_path: Path, spoilt: str
) -> None:
    folder = Path(shutil.copytree(older(1)[1], tmp_path / "spoilt"))
    path = folder / file_of("practice")
    data = path.read_bytes()
    if spoilt == "a file":
        path.unlink()
    else:
        old, new = (
            (b"Europe/London", b"Mars/Base") if spoilt == "a cell" else (b"time_zone", b"zone")
        )
        path.write_bytes(data.replace(old, new))
    if spoilt == "a column":
        data = path.read_bytes()
        rows = read_manifest(folder).tables["practice"].rows
        _sealed(folder, practice=Written(rows, len(data), hashlib.sha256(data).hexdigest()))
    said = "headings" if spoilt == "a column" else "not as the manifest says"
    place = tmp_path / "place" / "back.pondround"
    with pytest.raises(BadInput, match=said):
        bring_back(folder, str(place), NOW)
    assert not place.parent.exists() or not list(place.parent.iterdir())


def test_kinds_of_columns_are_found_as_the_models_have_them(sqlite_url: str) -> None:
    """Without models of then, the database alone says what a column holds."""
    engine = sqlite_engine(Path(sqlite_url))
    with engine.connect() as connection:
        found = tables_of_then(connection)
    engine.dispose()
    assert found.keys() == Base.metadata.tables.keys()
    for name, table in found.items():
        known = {
            one.name: (kind_of(one).replace("one of a few words", "text").split(",")[0],
                       bool(one.nullable))
            for one in Base.metadata.tables[name].columns
        }  # fmt: skip
        read = {one.name: (kind_of(one).split(",")[0], bool(one.nullable)) for one in table.columns}
        assert read == known, name

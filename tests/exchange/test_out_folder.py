"""The folder of a whole book: what stands in it, and that it is whole or not there."""

from __future__ import annotations

import csv
import hashlib
import json
import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.schema import HEAD
from store.errors import BadInput, BookTrouble, NotFound
from store.exchange.out import book_folder, placing
from store.exchange.out.book_folder import export_book
from store.exchange.out.described import table_names
from store.exchange.out.folder import MANIFEST, file_of, read_manifest
from store.exchange.out.rows import Progress
from store.water.parameters import PARAMETERS

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


@pytest.fixture
def out(sqlite_book: Book, act: Act, tmp_path: Path) -> Path:
    with sqlite_book.writing(act) as writing:
        writing.add("client", name="=Brook", notes="a\nb")
        writing.change("practice", _practice(sqlite_book), 1, name="A # practice | [x](y)")
    return export_book(sqlite_book, tmp_path / "out", NOW).path


def _practice(book: Book) -> Any:
    from store.book.practice import practice

    found = practice(book)
    assert found is not None
    return found.id


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def test_every_table_is_a_file_and_the_manifest_agrees(out: Path) -> None:
    said = json.loads((out / MANIFEST).read_text(encoding="utf-8"))
    assert set(said["tables"]) == set(table_names())
    assert (said["schema"], said["format"]) == (HEAD, 1)
    assert said["written_at"] == "2026-03-14T07:30:00+00:00"
    files = {one["file"]: one for one in said["tables"].values()} | said["beside"]
    assert {str(path.relative_to(out).as_posix()) for path in out.rglob("*.*")} == {
        *files,
        MANIFEST,
    }
    for name, one in files.items():
        data = (out / name).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (one["size"], one["sha256"])
    for name in table_names():
        assert len(rows(out / file_of(name))) == said["tables"][name]["rows"]
    assert read_manifest(out).rows == sum(one["rows"] for one in said["tables"].values())


def test_the_dictionary_tells_every_column(out: Path) -> None:
    found = {(row["table"], row["column"]): row for row in rows(out / "dictionary.csv")}
    for name in table_names():
        with (out / file_of(name)).open(encoding="utf-8", newline="") as file:
            for column in next(csv.reader(file)):
                assert found.pop((name, column))["meaning"]
    assert found == {}
    assert {row["parameter"] for row in rows(out / "parameters.csv")} == set(PARAMETERS)


def test_the_readme_tells_what_is_there_and_how_to_read_it(out: Path) -> None:
    text = (out / "README.md").read_text(encoding="utf-8")
    assert text.startswith("# A \\# practice \\| \\[x\\](y)\n")
    for name in table_names():
        assert f"`{file_of(name)}`" in text
    for part in ("apostrophe", "manifest.json", "2026-03-14 07:30 UTC", f"Schema {HEAD}",
                 "pondround import book", "\\u003d"):  # fmt: skip
        assert part in text
    assert text.count("{") == text.count('{"table": "pond", "row": {') * 2  # nothing to fill in


def test_the_same_book_gives_the_same_files(sqlite_book: Book, out: Path, tmp_path: Path) -> None:
    export_book(sqlite_book, tmp_path / "again", NOW)
    for path in out.rglob("*.*"):
        assert path.read_bytes() == (tmp_path / "again" / path.relative_to(out)).read_bytes()


def test_one_moment_of_the_book_goes_out(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """What is written into the book meanwhile is in the next folder, and in no table of this one."""

    def meanwhile(progress: Progress) -> None:
        if progress.table == "staff":
            with sqlite_book.writing(act) as writing:
                writing.add("client", name="Late")

    export_book(sqlite_book, tmp_path / "out", NOW, told=meanwhile)
    assert rows(tmp_path / "out" / file_of("client")) == []
    assert all(row["table_name"] != "client" for row in rows(tmp_path / "out" / file_of("change")))


class _StopError(Exception):
    pass


def test_half_a_folder_is_never_left(sqlite_book: Book, tmp_path: Path) -> None:
    def stop(progress: Progress) -> None:
        raise _StopError

    place = tmp_path / "place"
    place.mkdir()
    with pytest.raises(_StopError):
        export_book(sqlite_book, place / "out", NOW, told=stop)
    assert list(place.iterdir()) == []


def test_the_old_folder_stays_until_the_new_one_is_whole(
    sqlite_book: Book, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {path: path.read_bytes() for path in out.rglob("*.*")}

    def full(*_: Any) -> Iterator[Any]:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(book_folder, "readme", full)
        with pytest.raises(NotFound, match="No space left"):
            export_book(sqlite_book, out, NOW, over=True)
    with monkeypatch.context() as patched:
        rename = Path.rename

        def stubborn(path: Path, target: Path) -> Path:
            if path.name.startswith(placing.MARKED):
                raise OSError(13, "Permission denied")
            return rename(path, target)

        patched.setattr(Path, "rename", stubborn)
        with pytest.raises(NotFound, match="Permission denied"):
            export_book(sqlite_book, out, NOW, over=True)
    assert {path: path.read_bytes() for path in out.rglob("*.*")} == before
    assert [path.name for path in out.parent.iterdir() if path.name.startswith(".")] == []
    export_book(sqlite_book, out, NOW, over=True)
    assert [path.name for path in out.parent.iterdir() if path.name.startswith(".")] == []


def test_nothing_else_is_ever_replaced(sqlite_book: Book, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter").write_text("dear")
    for over in (False, True):
        with pytest.raises(BadInput, match="Name a new folder"):
            export_book(sqlite_book, mine, NOW, over=over)
    with pytest.raises(BadInput, match="a file or a link"):
        export_book(sqlite_book, mine / "letter", NOW, over=True)
    with pytest.raises(NotFound, match="cannot be written"):
        export_book(sqlite_book, tmp_path / "no" / "where", NOW)
    assert (mine / "letter").read_text() == "dear"
    with pytest.raises(BadInput, match="time zone"):
        export_book(sqlite_book, tmp_path / "out", NOW.replace(tzinfo=None))


@pytest.mark.skipif(os.name == "nt", reason="the modes of POSIX")
def test_what_clients_told_is_for_nobody_else(out: Path) -> None:
    assert out.stat().st_mode & 0o077 == 0


def test_a_book_that_cannot_be_read_leaves_nothing(sqlite_book: Book, tmp_path: Path) -> None:
    with (
        sqlite_book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        connection.exec_driver_sql("ALTER TABLE letterhead RENAME TO lost")
    with pytest.raises(BookTrouble):
        export_book(sqlite_book, tmp_path / "out", NOW)
    assert not (tmp_path / "out").exists()


def test_columns_of_a_file_begin_with_the_key(out: Path) -> None:
    for name in table_names():
        with (out / file_of(name)).open(encoding="utf-8", newline="") as file:
            header = next(csv.reader(file))
        assert sorted(header) == sorted(Base.metadata.tables[name].columns.keys())
        if "id" in header:
            assert header[0] == "id"

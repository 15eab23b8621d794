"""A whole book written to a folder comes back as the same book, or with a sentence why not."""

from __future__ import annotations

import csv
import hashlib
import json
import os
import random
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from any_book import HOSTILE, OWN, a_book, files_of, fill_any, tables_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.book.columns import Base
from store.book.copies.joining import join
from store.book.opening import open_book
from store.book.people import staff
from store.book.practice import begin
from store.errors import BadInput, BookTrouble, PondroundError
from store.exchange.back.back import bring_back, check_folder, try_back
from store.exchange.back.back_rows import file_rows
from store.exchange.demo.practice import make_demo
from store.exchange.out.book_folder import export_book
from store.exchange.out.cells import unsafe
from store.exchange.out.described import table_names
from store.exchange.out.folder import MANIFEST, file_of
from store.exchange.out.json_lines import export_json
from store.exchange.out.rows import Progress
from store.guard.check import check

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The demo practice with a row at least in every table, as a book and as a folder."""
    place = tmp_path_factory.mktemp("demo")
    with make_demo(place / "demo.pondround", NOW) as book:
        fill_any(book, random.Random(6), most=1)
        export_book(book, place / "out", NOW)
    return place / "demo.pondround", place / "out"


@pytest.fixture
def folder(demo_folder: tuple[Path, Path], tmp_path: Path) -> Path:
    """A copy of the demo's folder that may be spoilt."""
    return Path(shutil.copytree(demo_folder[1], tmp_path / "out"))


def tables_at(place: str) -> dict[str, list[tuple[Any, ...]]]:
    with open_book(place, now=NOW) as book:
        return tables_of(book)


def own_lines_out(path: Path) -> list[bytes]:
    """The lines of a book as JSON but for those that say which copy of the book it is."""
    lines = path.read_bytes().splitlines()
    rows = [json.loads(line).get("row", {}) for line in lines]
    return [line for line, row in zip(lines, rows, strict=True) if row.get("key") not in OWN]


def without_passphrases(tables: dict[str, list[tuple[Any, ...]]]) -> dict[str, Any]:
    """What comes back: in a book made of files everybody sets a passphrase of their own anew."""
    return tables | {"sign_in": [(row[0], "", *row[2:]) for row in tables["sign_in"]]}


def test_the_demo_comes_back_on_both_databases(
    demo_folder: tuple[Path, Path], empty_address: str, tmp_path: Path
) -> None:
    """Out, into either database, out again, and back into a file: no byte is another one."""
    source, folder = demo_folder
    brought = bring_back(folder, empty_address, NOW)
    assert brought.told == ()
    assert brought.manifest.rows > 10_000
    assert all(one.rows for one in brought.manifest.tables.values())
    with open_book(empty_address, now=NOW) as there:
        export_book(there, tmp_path / "again", NOW)
    assert files_of(tmp_path / "again") == files_of(folder)
    bring_back(tmp_path / "again", str(tmp_path / "back.pondround"), NOW)
    found, expected = tables_at(str(tmp_path / "back.pondround")), tables_at(str(source))
    for name in table_names():
        assert found[name] == expected[name], name


def test_any_book_goes_from_one_database_to_the_other(
    book: Book, empty_address: str, tmp_path: Path
) -> None:
    fill_any(book, random.Random(8), most=6)
    export_book(book, tmp_path / "out", NOW)
    bring_back(tmp_path / "out", empty_address, NOW)
    assert any(row[1] for row in tables_of(book)["sign_in"])
    assert tables_at(empty_address) == without_passphrases(tables_of(book))
    export_json(book, tmp_path / "out.jsonl", NOW)
    with open_book(empty_address, now=NOW) as again:
        export_book(again, tmp_path / "again", NOW)
        export_json(again, tmp_path / "again.jsonl", NOW)
    assert own_lines_out(tmp_path / "again.jsonl") == own_lines_out(tmp_path / "out.jsonl")
    assert files_of(tmp_path / "again") == files_of(tmp_path / "out")


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.integers(min_value=0, max_value=1 << 40))
def test_every_generated_book_comes_back(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    place = tmp_path_factory.mktemp("any")
    source = a_book(place, sqlite_template, random.Random(seed))
    with open_book(source, now=NOW) as book:
        written = export_book(book, place / "out", NOW)
        expected = without_passphrases(tables_of(book))
    assert all(one.rows for one in written.manifest.tables.values())
    bring_back(place / "out", str(place / "back.pondround"), NOW)
    assert tables_at(str(place / "back.pondround")) == expected
    shutil.rmtree(place)


def test_what_people_did_comes_back(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """Revisions, a strike with its reason, a change in the log, who and when."""
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="=Brook House", phone="+44 1632 960001")
        rev = writing.change("client", client, 1, why="-rang", phone="01632 960002")
        writing.strike("client", client, "@moved", rev)
    export_book(sqlite_book, tmp_path / "out", NOW)
    bring_back(tmp_path / "out", str(tmp_path / "back.pondround"), NOW)
    with open_book(tmp_path / "back.pondround", now=NOW) as back:
        found = {one: rows for one, rows in tables_of(back).items() if one in ("client", "change")}
        assert found == {one: tables_of(sqlite_book)[one] for one in found}
        assert back.stamp() == sqlite_book.stamp()
        with back.writing(Act(staff(back)[0].id, NOW)) as writing:  # it goes on as before
            assert writing.restore("client", client, "back again") == 4


def test_both_books_are_written_to_and_come_together(
    sqlite_book: Book, act: Act, empty_address: str, tmp_path: Path
) -> None:
    """Each has a chain of its own, so that nothing forks and the check is clean everywhere."""
    with sqlite_book.writing(act) as writing:
        writing.add("client", name="Brook House")
    export_book(sqlite_book, tmp_path / "out", NOW)
    bring_back(tmp_path / "out", empty_address, NOW)
    with open_book(empty_address, now=NOW) as back:
        assert check(back, NOW).findings == ()
        for book, name in ((back, "There"), (sqlite_book, "Here")):
            with book.writing(act) as writing:
                writing.add("client", name=name)
            assert check(book, NOW).findings == ()
        with back.reading() as connection, sqlite_book.writing(act) as writing:
            join(writing, connection)
    assert check(sqlite_book, NOW).findings == ()
    assert [one.name for one in clients(sqlite_book)] == ["Brook House", "Here", "There"]


def test_progress_is_told_to_the_end(demo_folder: tuple[Path, Path], tmp_path: Path) -> None:
    told: list[Progress] = []
    brought = bring_back(
        demo_folder[1], str(tmp_path / "back.pondround"), NOW, told=told.append
    )  # fmt: skip
    assert [one.done for one in told] == sorted(one.done for one in told)
    assert (told[-1].done, told[-1].whole) == (brought.manifest.rows, brought.manifest.rows)


# What is refused


def spoil_cell(folder: Path, table: str, column: str, value: str, *, honest: bool) -> None:
    """Another value in the first row; `honest` leaves the manifest as it was."""
    path = folder / file_of(table)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    rows[1][rows[0].index(column)] = value
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\r\n").writerows(rows)
    if not honest:
        reseal(folder)


def reseal(folder: Path, **values: Any) -> None:
    """A manifest that agrees with whatever stands there."""
    said = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    for one in said["tables"].values():
        data = (folder / one["file"]).read_bytes()
        one.update(size=len(data), sha256=hashlib.sha256(data).hexdigest())
    (folder / MANIFEST).write_text(json.dumps(said | values), encoding="utf-8")


def refused(folder: Path, tmp_path: Path) -> str:
    """The sentence; there is no book afterwards, and nothing else either."""
    place = tmp_path / "place" / "back.pondround"
    with pytest.raises(PondroundError) as refusal:
        bring_back(folder, str(place), NOW)
    assert not place.parent.exists() or list(place.parent.iterdir()) == []
    assert refusal.value.message.endswith(".")
    return refusal.value.message


def _add(folder: Path) -> None:
    (folder / "tables" / "more.csv").write_text("x\n")


def _newline(folder: Path) -> None:
    path = folder / file_of("pond")
    path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n"))


def _no_json(folder: Path) -> None:
    (folder / MANIFEST).write_text("{")


def _elsewhere(folder: Path) -> None:
    said = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    said["tables"]["../../book"] = {"rows": 0, "size": 0, "sha256": ""}
    (folder / MANIFEST).write_text(json.dumps(said))


CHANGED: dict[str, tuple[Callable[[Path], None], tuple[str, ...]]] = {
    "a cell": (
        lambda folder: spoil_cell(folder, "pond", "depth_m", "9", honest=True),
        ("tables/pond.csv is not as the manifest says",),
    ),
    "line ends": (_newline, ("tables/pond.csv is not",)),
    "a file less": (lambda folder: (folder / file_of("kit")).unlink(), ("tables/kit.csv is not",)),
    "a file more": (_add, ("tables/more.csv is not",)),
    "no manifest": (lambda folder: (folder / MANIFEST).unlink(), ("manifest.json cannot be read",)),
    "half a manifest": (_no_json, ("cannot be understood",)),
    "tables of another number": (
        lambda folder: reseal(folder, schema=1),
        ("leaves out none", "not as it was written"),
    ),
    "no number of tables": (lambda folder: reseal(folder, schema=0), ("no number of tables",)),
    "a newer book": (lambda folder: reseal(folder, schema=99), ("newer Pondround", "number 99")),
    "another shape": (lambda folder: reseal(folder, format=2), ("shape number 2",)),
    "a table less": (lambda folder: reseal(folder, tables={}), ("leaves out",)),
    "no key": (
        lambda folder: spoil_cell(folder, "pond", "id", "7", honest=False),
        ("tables/pond.csv", "row 1, id", "“7” is no key"),
    ),
    "no number": (
        lambda folder: spoil_cell(folder, "pond", "depth_m", "nan", honest=False),
        ("row 1, depth_m", "no number"),
    ),
    "no instant": (
        lambda folder: spoil_cell(folder, "client", "created_at", "2026-03-14", honest=False),
        ("row 1, created_at", "no instant"),
    ),
    "a day as spreadsheets show it": (
        lambda folder: spoil_cell(folder, "visit", "on_day", "14/03/2026", honest=False),
        ("row 1, on_day", "“14/03/2026” is no day"),
    ),
    "a table that leads elsewhere": (_elsewhere, ("names ../../book and leaves out none",)),
    "out of bounds": (
        lambda folder: spoil_cell(folder, "pond", "depth_m", "900", honest=False),
        ("tables/pond.csv", "none that a book can hold", "ck_pond_depth_m"),
    ),
    "points nowhere": (
        lambda folder: spoil_cell(
            folder, "site", "client_id", "0195c2f0-6a00-7cc3-98c4-dc0c0c07398f", honest=False
        ),
        ("tables/site.csv", "tables/client.csv", "not there"),
    ),
    "no zone": (
        lambda folder: spoil_cell(folder, "practice", "time_zone", "Mars/Base", honest=False),
        ("tables/practice.csv", "time zone"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGED)
def test_a_folder_that_was_changed_is_refused(what: str, folder: Path, tmp_path: Path) -> None:
    spoil, parts = CHANGED[what]
    spoil(folder)
    said = refused(folder, tmp_path)
    for part in parts:
        assert part in said


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_whatever_a_file_holds_is_read_or_refused_in_a_sentence(
    demo_folder: tuple[Path, Path], tmp_path: Path, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(["pond", "visit", "kit", "examination", "working_hours"]))
    raw = bytearray((demo_folder[1] / file_of(name)).read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(raw) - 1))
        raw[place : place + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=4))
    path = tmp_path / "spoilt.csv"
    path.write_bytes(raw)
    said = []
    for sqlite in (True, False):
        try:
            assert all(file_rows(path, Base.metadata.tables[name], sqlite=sqlite))
        except BadInput as refusal:
            said.append(refusal.message)
    assert len(said) in (0, 2)  # both databases take the same
    for one in said:
        assert one.startswith(f"tables/{name}.csv is not as a book writes it")


def test_rows_fewer_than_the_manifest_says(folder: Path, tmp_path: Path) -> None:
    path = folder / file_of("site")
    path.write_bytes(path.read_bytes()[: path.read_bytes().rindex(b"\r\n", 0, -2) + 2])
    reseal(folder)
    assert "its manifest says 20" in refused(folder, tmp_path)


@pytest.mark.postgres
def test_a_server_refuses_the_same(
    folder: Path, postgres_server: Any, request: pytest.FixtureRequest
) -> None:
    from tests.conftest import _run, _text

    name = "pondround_back_refused"
    _run(postgres_server, f"CREATE DATABASE {name}")
    address = _text(postgres_server.set(database=name))
    request.addfinalizer(lambda: _run(postgres_server, f"DROP DATABASE {name} WITH (FORCE)"))
    good = shutil.copytree(folder, folder.parent / "good")
    spoil_cell(folder, "pond", "kit_id", "0195c2f0-6a00-7cc3-98c4-dc0c0c07398f", honest=False)
    with pytest.raises(BadInput, match=r"tables/pond\.csv"):
        bring_back(folder, address, NOW)
    with open_book(address, now=NOW) as book:
        assert not any(tables_of(book)[name] for name in table_names() if name != "book_meta")
    bring_back(good, address, NOW)  # a book without rows is a place still
    with pytest.raises(BookTrouble, match="There is a book"):
        bring_back(good, address, NOW)


def test_a_place_that_is_taken_is_left_as_it_was(folder: Path, sqlite_url: str) -> None:
    before = Path(sqlite_url).read_bytes()
    with pytest.raises(BookTrouble, match="something at"):
        bring_back(folder, sqlite_url, NOW)
    assert Path(sqlite_url).read_bytes() == before


def test_what_is_not_needed_may_be_changed(folder: Path, tmp_path: Path) -> None:
    (folder / "README.md").write_text("my own notes")
    (folder / ".DS_Store").write_bytes(b"\0")
    brought = bring_back(folder, str(tmp_path / "back.pondround"), NOW)
    assert brought.told == (
        "README.md is not as it was written; it is not needed and was passed over.",
    )


def test_names_that_no_file_has_are_told_without_what_a_terminal_obeys(folder: Path) -> None:
    named = {name: {"rows": 0, "size": 0, "sha256": ""} for name in ("a\0b", "\x1b[2Jred", "..")}
    reseal(folder, beside=named)
    assert [one.split(" is not as")[0] for one in check_folder(folder).told] == [
        "a\ufffdb", "\ufffd[2Jred", "..",
    ]  # fmt: skip


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")
@pytest.mark.parametrize("name", [MANIFEST, file_of("kit")])
def test_a_pipe_in_place_of_a_file_is_not_waited_for(name: str, folder: Path) -> None:
    said = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    said["tables"]["kit"]["size"] = 0
    (folder / MANIFEST).write_text(json.dumps(said))
    (folder / name).unlink()
    os.mkfifo(folder / name)
    with pytest.raises(BadInput, match=r"cannot be read|kit\.csv is not as"):
        check_folder(folder)


def test_a_trial_leaves_nothing(folder: Path, tmp_path: Path) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert try_back(folder, NOW).manifest.rows == check_folder(folder).manifest.rows
    assert sorted(tmp_path.rglob("*")) == before
    spoil_cell(folder, "pond", "depth_m", "900", honest=False)
    with pytest.raises(BadInput, match="none that a book can hold"):
        try_back(folder, NOW)


def test_an_empty_book_comes_back(tmp_path: Path) -> None:
    with open_book(tmp_path / "a.pondround", now=NOW, create=True) as book:
        begin(book, NOW, practice="=P", time_zone="Europe/Paris", person="Ada", role="vet")
        export_book(book, tmp_path / "out", NOW)
    bring_back(tmp_path / "out", str(tmp_path / "b.pondround"), NOW)
    assert tables_at(str(tmp_path / "b.pondround")) == tables_at(str(tmp_path / "a.pondround"))


def test_hostile_texts_are_among_those_that_were_tried() -> None:
    assert any(one.startswith("=") for one in HOSTILE)
    assert all(unsafe(one) is not None for one in HOSTILE)

"""What a program past this one wrote into the book goes out harmless, and is not lost."""

from __future__ import annotations

import csv
import json
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.exchange.back.back import bring_back
from store.exchange.bag.packing import file_name
from store.exchange.out.book_folder import export_book
from store.exchange.out.json_lines import export_json
from store.exchange.out.table_csv import export_table
from store.reports.kept.report_file import file_name as report_name
from store.text import plain, plain_json
from tests.exchange.any_book import files_of, tables_of
from tests.faults.hostile import HARMFUL, harmful, hostile

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
SURROGATES = {chr(code) for code in range(0xD800, 0xE000)}
_TAKEN = sorted(one for one in HARMFUL - SURROGATES - {"\0"} if one < "\U000e0020")
RAW = "Koi 鯉 " + "".join(_TAKEN) + "\ue000\uffff\U0010ffff."
"""What both databases take."""
NAME = RAW[:90] + RAW[-9:]


@pytest.fixture
def altered(sqlite_book: Book, act: Act, sqlite_url: str) -> Path:
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Brook", notes="a\nb")
        site = writing.add("site", client_id=client, name="Garden")
        writing.add("pond", site_id=site, name="P", test_seasons=[])
    path = Path(sqlite_url)
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE client SET name = ?, notes = ?", (NAME, f"one\n{RAW}"))
        connection.execute("UPDATE practice SET name = ?", (NAME,))
        said = json.dumps([{"from": RAW, "x;=1": f";={RAW}"}], ensure_ascii=False)
        connection.execute("UPDATE pond SET test_seasons = ?", (said,))
    return path


def test_json_keeps_the_value_and_drives_nothing(altered: Path, tmp_path: Path) -> None:
    with open_book(altered, now=NOW) as book:
        export_json(book, tmp_path / "all.jsonl", NOW)
    text = (tmp_path / "all.jsonl").read_text(encoding="utf-8")
    assert not harmful(text)
    assert "鯉" in text  # letters stay letters
    head, *lines = map(json.loads, text.split("\n")[:-1])
    assert head["practice"] == NAME
    rows = {one["table"]: one["row"] for one in lines}
    assert (rows["client"]["name"], rows["client"]["notes"]) == (NAME, f"one\n{RAW}")
    assert rows["pond"]["test_seasons"] == [{"from": RAW, "x;=1": f";={RAW}"}]


def test_a_table_for_a_spreadsheet_shows_that_something_stood_there(
    altered: Path, tmp_path: Path
) -> None:
    with open_book(altered, now=NOW) as book:
        for name in ("client", "pond", "practice"):
            export_table(book, name, tmp_path / f"{name}.csv")
            text = (tmp_path / f"{name}.csv").read_text(encoding="utf-8-sig")
            assert not harmful(text), name
    with (tmp_path / "client.csv").open(encoding="utf-8-sig", newline="") as file:
        (row,) = csv.DictReader(file, strict=True)
    assert (row["name"], row["notes"]) == (
        plain(NAME, lines=True),
        plain(f"one\n{RAW}", lines=True),
    )
    assert row["name"].startswith("Koi 鯉 �")


def test_the_folder_makes_the_same_book_on_both_databases(
    altered: Path, empty_address: str, tmp_path: Path
) -> None:
    with open_book(altered, now=NOW) as book:
        export_book(book, tmp_path / "out", NOW)
        stands = tables_of(book)
    for name in ("manifest.json", "README.md", "dictionary.csv", "tables/pond.csv"):
        text = (tmp_path / "out" / name).read_bytes().decode().replace("\r\n", "\n")
        assert not harmful(text), name
    bring_back(tmp_path / "out", empty_address, NOW)
    with open_book(empty_address, now=NOW) as there:
        assert tables_of(there) == stands
        export_book(there, tmp_path / "again", NOW)
    assert files_of(tmp_path / "again") == files_of(tmp_path / "out")


def test_escaped_json_says_the_same() -> None:
    for one in hostile(huge=False):
        said = {one.text: [one.text, "鯉"], "a": 1}
        text = plain_json(json.dumps(said, ensure_ascii=False, indent=1))
        assert not harmful(text), one
        assert json.loads(text) == said, one


def test_a_proposed_name_is_one_that_a_disk_takes() -> None:
    """At most 255 bytes, and some of them are for what is written beside it first."""
    for one in hostile(400, huge=False):
        for name in (
            file_name(NOW.date(), plain(one.text) + "\U0001d50e" * 90),
            report_name("visit", plain(one.text) + "\U0001d50e" * 90, NOW.date(), "pdf"),
        ):
            assert not harmful(name, lines=False), ascii(name)
            assert Path(name).name == name
            assert not set(name) & set('/\\:*?"<>|'), ascii(name)
            assert len(name.encode("utf-8", "surrogatepass")) < 220, ascii(name)

"""What the command line refuses, and names and outputs that try something."""

from __future__ import annotations

import io
import json
import os
import sqlite3
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest
from called import WATER, Call, harmful, one_sentence, table

from store.book import opening
from tui.commands import asked, main

# --- what is not understood ---


@pytest.mark.parametrize(
    "words",
    [
        ("Morning",),
        ("morning", "--jsn"),
        ("morning", "later"),
        ("find",),
        ("pond",),
        ("try",),
        ("import",),
        ("import", "weather", "x.csv"),
        ("import", "logger", "x.csv"),
        ("reckon",),
        ("reckon", "ammonia", "--tan", "1"),
        ("reckon", "ammonia", "--tan", "much", "--ph", "8", "--temp", "20"),
        ("reckon", "ammonia", "--tan", "nan", "--ph", "8", "--temp", "20"),
        ("reckon", "volume", "circle", "--diameter", "-1", "--depth", "1"),
        ("demo", "--keep"),
        ("morning", "\x1b[31mRed\u202e", "\ud800"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(call: Call, words: tuple[str, ...]) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert one_sentence(err), err
    assert not harmful(err)


def test_what_was_typed_comes_back_as_it_was(call: Call) -> None:
    assert "'Morning'" in call("Morning")[2]
    assert "--Book" in call("morning", "--Book")[2]


def test_version_and_help(call: Call) -> None:
    code, out, _ = call("--version")
    assert code == 0
    assert out.startswith("pondround")
    for words in ((), ("demo",), ("import", "water"), ("reckon", "volume", "salt")):
        code, out, err = call(*words, "--help")
        assert (code, err) == (0, "")
        assert "usage: pondround" in out


# --- books that cannot be used ---

READS = [("morning",), ("morning", "--json"), ("find", "koi"), ("pond", "koi"), ("try", "nitrite")]


def refused(call: Call, book: object, says: str) -> None:
    for words in READS:
        code, out, err = call(*words, "--book", str(book))
        assert (code, out) == (1, ""), words
        assert says in err
        assert err.count("\n") == 1
        assert not harmful(err)


def test_a_newer_book(call: Call, own: Path) -> None:
    table(own, "UPDATE alembic_version SET version_num = '0099'")
    before = own.read_bytes()
    refused(call, own, "newer Pondround")
    assert own.read_bytes() == before


def test_a_damaged_book(call: Call, own: Path) -> None:
    whole = own.read_bytes()
    own.write_bytes(whole[:4096] + b"\x5a" * (len(whole) - 4096))
    before = own.read_bytes()
    refused(call, own, "damaged")
    assert own.read_bytes() == before


def test_what_is_no_book(call: Call) -> None:
    Path("letter.txt").write_text("Dear practice", encoding="utf-8")
    Path("empty").touch()
    table(Path("other.db"), "CREATE TABLE fish (name TEXT)")
    refused(call, "letter.txt", "not a book of Pondround")
    refused(call, "empty", "not a book of Pondround")
    refused(call, "other.db", "not a book of Pondround")
    refused(call, Path.cwd(), "is a folder, not a book")
    refused(call, "mysql://host/book", "not in 'mysql'")
    refused(call, "sqlite://", "needs a file")


def test_a_book_only_for_reading(call: Call, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "_allowed", lambda _, what=os.W_OK: what != os.W_OK)
    assert call("morning", "--book", own)[0] == 0
    Path("tests.csv").write_text(WATER, encoding="utf-8")
    code, out, err = call("import", "water", "tests.csv", "--book", own, "--as", "MB")
    assert (code, out) == (1, "")
    assert "can only be read by you; nothing was saved" in err
    assert err.count("\n") == 1


def test_a_locked_book(call: Call, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "open_book", partial(opening.open_book, patience_s=0.1))
    Path("tests.csv").write_text(WATER, encoding="utf-8")
    other = sqlite3.connect(own)
    try:
        other.execute("BEGIN IMMEDIATE")
        assert call("morning", "--book", own)[0] == 0
        code, out, err = call("import", "water", "tests.csv", "--book", own, "--as", "MB")
        assert (code, out) == (1, "")
        assert "is locked by another program; nothing was saved" in err
        assert err.count("\n") == 1
    finally:
        other.close()
    assert call("import", "water", "tests.csv", "--book", own, "--as", "MB")[0] == 0


# --- names that try something ---

HOSTILE = (
    "[bold red]Mill[/] [@click=app.quit]pond[/]",
    "\x1b[2J\x1b]0;title\x07 \x9b31m \u202epond\u2066",
    "👩‍👩‍👧 🐟 魚池 بركة",
    "Long " * 100,
    "first\nsecond\tthird\r",
)


@pytest.mark.parametrize("name", HOSTILE, ids=["markup", "control", "emoji", "long", "lines"])
def test_names_are_printed_as_they_stand(call: Call, own: Path, name: str) -> None:
    # Written past the application, as another program might: the screen may not rely on saving.
    table(own, "UPDATE pond SET name = ? WHERE code = 'PEN-1'", name)
    table(own, "UPDATE client SET name = ? WHERE name = 'Orla Penhavel'", name)
    table(own, "UPDATE site SET name = ?, town = ?", name, name)
    for words in (("morning",), ("morning", "--all"), ("find", "960101"), ("pond", "PEN-1")):
        code, out, err = call(*words, "--book", own)
        assert (code, err) == (0, "")
        assert not harmful(out), words
    listed = call("morning", "--book", own)[1].splitlines()
    assert len(listed) == len(call("morning", "--json", "--book", own)[1].split('"pond":')) + 3
    several = call("pond", "01632 960101", "--book", own)[2]
    assert several.startswith("Several ponds fit: ")
    assert not harmful(several)
    out = call("morning", "--json", "--book", own)[1]
    assert out.isascii()
    assert name in {line["pond_name"] for line in json.loads(out)["lines"]}


def test_markup_is_shown_literally(call: Call, own: Path) -> None:
    table(own, "UPDATE pond SET name = ? WHERE code = 'PEN-1'", HOSTILE[0])
    assert f"Orla Penhavel, {HOSTILE[0]}\n" in call("pond", "PEN-1", "--book", own)[1]


def test_what_a_person_typed_comes_back_harmless(call: Call, own: Path) -> None:
    for words in (("pond", "\x1b[2Jx\u202e"), ("try", "\x1b[2Jx")):
        code, out, err = call(*words, "--book", own)
        assert (code, out) == (1, "")
        assert "�" in err
        assert not harmful(err)
    assert not harmful(call("morning", "--book", "\x1b[2Jx")[2])


# --- where the output ends ---


@pytest.mark.usefixtures("alone")
def test_an_output_without_the_characters(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table(own, "UPDATE pond SET name = '魚池' WHERE code = 'PEN-1'")
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="cp1252"))
    assert main.main(["morning", "--book", str(own)]) == 0
    assert "Orla Penhavel, ??" in written.getvalue().decode("cp1252")


@pytest.mark.skipif(os.name == "nt", reason="Windows reports a closed pipe in another way")
def test_a_reader_that_left_is_no_fault() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    words = ["reckon", "criteria", "--ph", "8", "--temp", "20"]
    root = Path(main.__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-m", "tui", *words], stdout=writing, stderr=subprocess.PIPE, cwd=root,
        check=False,
    )  # fmt: skip
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_fault_of_our_own_is_one_sentence(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_: object) -> int:
        raise ZeroDivisionError("particulars")

    monkeypatch.setattr(asked, "run_morning", broken)
    code, out, err = call("morning")
    assert (code, out) == (1, "")
    assert "fault of its own" in err
    assert err.count("\n") == 1
    log = (tmp_path / "home" / "log" / "faults.log").read_text(encoding="utf-8")
    assert "ZeroDivisionError: particulars" in log
    assert str(tmp_path) in err

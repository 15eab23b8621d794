"""Backups and the check by keys, and on the command line."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import Static

from store.book.backup.keeping import Kept
from store.book.book import Book
from store.book.opening import open_book
from tui import daily
from tui.app import PondroundApp
from tui.commands.main import main

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def _altered(path: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE staff SET name = 'Somebody else'")


def _said(app: PondroundApp) -> str:
    return " ".join(str(one.render()) for one in app.screen.query(Static))


async def _until(app: PondroundApp, pilot: Any, words: str) -> None:
    for _ in range(200):
        if words in _said(app):
            return
        await pilot.pause(0.02)
    raise AssertionError(_said(app))


async def test_backups_and_check_by_keys(
    sqlite_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(daily, "BEGIN_AFTER_S", 0.01)
    folder = tmp_path / "practice.backups"
    app = PondroundApp(
        lambda: open_book(sqlite_url, now=NOW), now=lambda: NOW, drafts=tmp_path / "drafts.json",
        backups=lambda: folder,
    )  # fmt: skip
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for _ in range(200):
            if list(folder.glob("*.daily.*")):
                break
            await pilot.pause(0.02)
        await pilot.press("9")
        await _until(app, pilot, "by itself")
        await pilot.press("b")
        await _until(app, pilot, "by hand")
        assert len(list(folder.iterdir())) == 2
        await pilot.press("c")
        await _until(app, pilot, "The book is as it was written.")
        _altered(sqlite_url)
        await pilot.press("C")
        await _until(app, pilot, "Looked at")
        await pilot.press("c")
        await _until(app, pilot, "name is “Somebody else” in the book, and “Ada Vet” by the record")
    assert app.backup_said == ""


async def test_that_backups_are_old_or_fail_is_said(
    sqlite_book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    app = PondroundApp(lambda: sqlite_book, now=lambda: NOW, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.05)
        monkeypatch.setattr(app, "notify", lambda said, **_more: told.append(said))
        folder = tmp_path / "in the way"
        folder.write_text("")
        maker = daily.Daily(app, sqlite_book, folder)
        await maker.make()
        await maker.make()
        assert len(told) == 1
        assert told[0].startswith("The backup of today was not made")
        assert app.backup_said == "No backup yet: 9 shows them"
        await _until(app, pilot, "No backup yet")
        kept = Kept(None, (), datetime(2026, 3, 1, tzinfo=UTC))
        monkeypatch.setattr(maker, "_make", lambda: kept)
        await maker.make()
        await _until(app, pilot, "Newest backup 13 days old")


def test_on_the_command_line(
    sqlite_url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("PONDROUND_BOOK", sqlite_url)
    monkeypatch.setenv("PONDROUND_BACKUPS", str(tmp_path / "disk"))

    def out(*words: str, code: int = 0) -> str:
        assert main(words) == code
        said = capsys.readouterr()
        return said.err if code else said.out

    assert out("check").startswith("The book is as it was written.")
    assert "There is no backup in" in out("backup", "list")
    made = json.loads(out("backup", "--json"))
    assert made["why"] == "hand"
    assert made["rows"] > 1
    assert "just made" in out("backup", "list") or "lies ahead" in out("backup", "list")
    assert json.loads(out("check", "--book", made["file"], "--json"))["clean"]
    new = str(tmp_path / "new.pondround")
    said = out("restore", made["file"], "--to", new)
    assert said.startswith(f"Restored to {new}")
    assert "0 lines of the record were written since" in said
    assert "something at" in out("restore", made["file"], "--to", new, code=1)
    assert "is not a backup" in out("restore", sqlite_url, "--to", f"{new}2", code=1)
    _altered(new)
    monkeypatch.setenv("PONDROUND_BOOK", new)
    assert main(["check", "--json"]) == 1
    (found,) = json.loads(capsys.readouterr().out)["findings"]
    assert found["kind"] == "row altered"
    monkeypatch.setenv("PONDROUND_BACKUPS", "none")
    assert "name a folder" in out("backup", code=2)
    assert out("backup", "--to", str(tmp_path / "one.pondround")).startswith("Backup made")

"""A logger's file on the screen: looked at, asked, saved, or stopped."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from sqlalchemy import func, select
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput
from store.exchange.logger import beside
from tui.screens.exchange.logger_in import LoggerInScreen
from tui.screens.exchange.plan_answer import WhichPond
from tui.screens.parts.dialogs import Ask, Choose, Tell


def _pond(book: Book, act: Act) -> Any:
    with book.writing(act) as writing:
        client = writing.add("client", name="Anne Alder")
        site = writing.add("site", client_id=client, name="Wick")
        return writing.add("pond", site_id=site, name="Lower pond")


def _file(folder: Path) -> Path:
    """Twelve days of a logger in Fahrenheit: lifted out, broken, stopped for a day, one bad row."""
    lines = ['"Plot: Mill"', '"#","Date Time, GMT+00:00","Temp, °F (S/N: 2012345)","Stopped"']
    for n in range(12 * 24 * 2):
        at = datetime(2026, 2, 1, tzinfo=UTC) + timedelta(minutes=30 * n)
        celsius = 8 + math.sin(n / 24)
        fahrenheit = 70.0 if 100 <= n < 106 else -9999 if 420 <= n < 423 else celsius * 1.8 + 32
        if not 200 <= n < 248:
            lines.append(f"{n},{at:%d/%m/%y %H:%M:%S},{fahrenheit:.2f},")
    lines[40] = lines[40].replace(":00,", ":00,warm ")
    path = folder / "mill.csv"
    path.write_text("\n".join([*lines, "577,12/02/26 23:59:00,,Logged"]) + "\n")
    return path


def _values(book: Book) -> int:
    with book.reading() as connection:
        query = select(func.count()).select_from(table("logger_reading"))
        return int(connection.execute(query).scalar_one())


async def _until(pilot: Any, kind: type[Any], text: str = "") -> Any:
    for _ in range(300):
        await a_moment(0.02)
        screen = pilot.app.screen
        busy = isinstance(screen, LoggerInScreen) and (screen.busy or screen.looked is None)
        if (
            isinstance(screen, kind)
            and not busy
            and text in " ".join(screen_text(pilot.app).split())
        ):
            await pilot.pause()
            return screen
    raise AssertionError(screen_text(pilot.app))


async def test_a_loggers_file_is_asked_about_looked_at_and_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond, path = _pond(sqlite_book, act), _file(tmp_path)
    left: list[Any] = []
    app = SmallApp(sqlite_book, act, Screen, tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.push_screen(LoggerInScreen(path, None), left.append)
        await _until(pilot, WhichPond, "Anne Alder, Lower pond")
        await pilot.press("enter")
        await _until(pilot, LoggerInScreen, "may be day and month in either order")
        await pilot.press("f2", "enter")
        await _until(pilot, Choose, "1 day before month")
        assert "--dates" not in screen_text(app)
        await pilot.press("1")
        screen = await _until(pilot, LoggerInScreen, "518 values to save")
        app.clear_notifications()
        await looks_as(pilot, "logger_in_80")
        assert screen.pond == pond
        await pilot.press("down", "down", "enter")
        await _until(pilot, Tell, "line 375: 420,09/02/26 18:00:00,-9999.00,")
        await pilot.press("escape", "end", "up", "enter")
        await _until(pilot, Choose, "2 keep them like the others")
        await pilot.press("2")
        await _until(pilot, LoggerInScreen, "524 values to save")
        await pilot.press("f2")
        await _until(pilot, Ask, "Save to Anne Alder, Lower pond?")
        await pilot.press("right", "enter")
        await _until(pilot, LoggerInScreen, "Saved 524 values. Esc goes back.")
        await pilot.press("escape")
        await pilot.pause()
    assert left == [None]
    assert (_values(sqlite_book), app.changes) == (524, 1)
    assert sorted(one.name for one in tmp_path.glob("mill.*")) == [
        "mill.csv", "mill.left-out.csv", "mill.refused.csv"
    ]  # fmt: skip


async def test_what_is_stopped_is_not_saved_and_what_is_no_file_goes_back(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from store.exchange.logger.csv_file import save_logger

    pond, path = _pond(sqlite_book, act), _file(tmp_path)
    path.write_text(path.read_text().replace("/02/26", "/02/2026").replace("01/02", "13/02"))
    left: list[Any] = []

    def slow(book: Book, act: Act, planned: Any, progress: Any) -> Any:
        def tell(one: Any) -> None:
            for _ in range(500):
                import time

                time.sleep(0.01)
                progress(one)

        return save_logger(book, act, planned, tell)

    monkeypatch.setattr(beside, "save_logger", slow)
    app = SmallApp(sqlite_book, act, Screen, tmp_path / "drafts")
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        app.push_screen(LoggerInScreen(tmp_path / "none.csv", pond), left.append)
        for _ in range(200):
            await a_moment(0.02)
            if left:
                break
        app.push_screen(LoggerInScreen(path, pond), left.append)
        await _until(pilot, LoggerInScreen, "values to save")
        await pilot.press("f2")
        await _until(pilot, Ask)
        await pilot.press("right", "enter")
        for _ in range(200):
            await a_moment(0.02)
            if "saving ██" in screen_text(app):
                break
        assert "esc stops it" in screen_text(app)
        await pilot.press("escape")
        await _until(pilot, LoggerInScreen, "values to save")
        assert app.told == []
        await pilot.press("escape")
        await pilot.pause()
    assert (_values(sqlite_book), app.changes) == (0, 0)
    assert list(tmp_path.glob("mill.*")) == [path]
    (trouble,) = (one for one in left if one is not None)
    assert isinstance(trouble, BadInput)
    assert "none.csv cannot be read" in trouble.message

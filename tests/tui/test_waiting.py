"""A line to the database that breaks while a form is filled in: what was typed is saved, once."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from small_app import SmallApp, settled

from store.book import book as book_file
from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.errors import NoAnswer
from tests.book.cut_line import Line, line_to
from tests.conftest import NOW
from tui import asking
from tui.screens.parts.dialogs import Tell
from tui.screens.parts.edit import EditScreen
from tui.screens.parts.waiting import WaitingScreen
from tui.widgets.fields import Form

pytestmark = pytest.mark.postgres


@pytest.fixture
def line(postgres_url: str) -> Iterator[Line]:
    with line_to(postgres_url) as made:
        yield made


@pytest.fixture
def far_book(line: Line, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    monkeypatch.setattr(book_file, "PAUSES_S", (0.0, 0.02, 0.05))
    monkeypatch.setattr(asking, "AGAIN_S", 0.1)
    with open_book(line.url, now=NOW, patience_s=0.3) as opened:
        assert opened.zone
        yield opened


async def until(pilot: Any, true: Callable[[], bool]) -> None:
    """Wait until something has come true."""
    for _ in range(400):
        await pilot.pause(0.02)
        if true():
            return
    stack = [type(one).__name__ for one in pilot.app.screen_stack]
    raise AssertionError(f"it did not come true; on top of each other: {stack}")


def _text(app: SmallApp) -> str:
    assert isinstance(app.screen, WaitingScreen)
    return str(app.screen.query_one("#waiting-said").visual)


def _app(book: Book, folder: Path) -> SmallApp:
    act = Act(staff(book)[0].id, NOW)
    return SmallApp(book, act, lambda: EditScreen("staff", None, ()), folder / "drafts.json")


def _named(book: Book, name: str) -> int:
    return [one.name for one in staff(book)].count(name)


async def test_a_form_is_saved_by_itself_when_the_line_is_back(
    far_book: Book, line: Line, tmp_path: Path
) -> None:
    app = _app(far_book, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = app.screen.query_one(Form)
        form.fill({"name": "Ebba Lindqvist", "role": "vet", "initials": "EL"})
        await settled(pilot)
        line.cut()
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(app.screen, WaitingScreen))
        assert "07:30" in _text(app)
        assert "saved by itself" in " ".join(_text(app).split())
        await until(pilot, lambda: "3 times" in _text(app))
        # Others that ask meanwhile share the dialog, and its keys do not reach the form.
        other = asyncio.create_task(app.ask_store(staff, far_book))
        await pilot.press("x", "f2", "enter", "y", "q", "tab")
        await pilot.pause(0.2)
        assert sum(isinstance(one, WaitingScreen) for one in app.screen_stack) == 1
        assert form.values["name"] == "Ebba Lindqvist"
        line.mend()
        await until(pilot, lambda: len(app.screen_stack) == 1)
        assert len(await other) in (1, 2)
        await settled(pilot)
        assert app.changes == 1
        assert app.told == []
    assert _named(far_book, "Ebba Lindqvist") == 1


@pytest.mark.parametrize("moment", ["before", "after", "unseen"])
async def test_the_line_breaks_at_the_very_moment_of_saving(
    far_book: Book, line: Line, tmp_path: Path, moment: Any
) -> None:
    app = _app(far_book, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        app.screen.query_one(Form).fill({"name": "Ebba Lindqvist", "role": "vet"})
        await settled(pilot)
        line.cut_at_commit(moment)
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(app.screen, WaitingScreen))
        line.mend()
        await until(pilot, lambda: len(app.screen_stack) == 1)
        await settled(pilot)
        assert app.changes == 1
        assert app.told == []
    assert line.commits_cut == 1
    assert _named(far_book, "Ebba Lindqvist") == 1


async def test_esc_stops_waiting_and_the_form_stays(
    far_book: Book, line: Line, tmp_path: Path
) -> None:
    app = _app(far_book, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = app.screen.query_one(Form)
        form.fill({"name": "Ebba Lindqvist", "role": "vet"})
        await settled(pilot)
        line.cut()
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(app.screen, WaitingScreen))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Tell))
        assert [type(one) for one in app.told] == [NoAnswer]
        assert "nothing was saved" in app.told[0].message
        await pilot.press("enter")
        await until(pilot, lambda: app.screen.query(Form).first() is form)
        assert form.values["name"] == "Ebba Lindqvist"
        # What only reads waits on unseen; what is to be saved asks again before one's eyes.
        reads = asyncio.create_task(app.ask_store(staff, far_book))
        await pilot.pause(0.3)
        assert not isinstance(app.screen, WaitingScreen)
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(app.screen, WaitingScreen))
        line.mend()
        await until(pilot, lambda: len(app.screen_stack) == 1)
        await reads
    assert _named(far_book, "Ebba Lindqvist") == 1


async def test_what_is_given_up_at_the_very_moment_of_saving_is_not_saved_twice(
    far_book: Book, line: Line, tmp_path: Path
) -> None:
    app = _app(far_book, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        app.screen.query_one(Form).fill({"name": "Ebba Lindqvist", "role": "vet"})
        await settled(pilot)
        line.cut_at_commit("after")
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(app.screen, WaitingScreen))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Tell))
        assert app.told[0].title == "Saved or not?"
        await pilot.press("enter")
        line.mend()
        await pilot.press("f2")
        await until(pilot, lambda: len(app.told) == 2)
        assert app.told[1].title == "Saved already"
    assert _named(far_book, "Ebba Lindqvist") == 1

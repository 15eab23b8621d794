"""A plan goes into the diary: what would change, what is ticked, what is written and what not."""

from __future__ import annotations

from datetime import time
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import MONDAY, Practice, add_practice, on, words
from round_on_screen import quiet, round_app, unframed
from screen_text import looks_as, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.promised.attempts import attempts_of
from store.diary.kept.visits.bookings import book_visit, move_visit, wish_of
from store.diary.kept.visits.diary import visiting
from tui.screens.parts.dialogs import AskReason, Tell
from tui.screens.rounds.agree import AgreeScreen
from tui.screens.rounds.round import RoundScreen
from tui.widgets.grid import LineGrid

EFFORT = 0.2


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    """Ada's day with one visit for which no hour was agreed."""
    made = add_practice(sqlite_book, act)
    wish = wish_of(sqlite_book, pond_id=made.bound, kind="examination")
    with sqlite_book.writing(act) as writing:
        book_visit(writing, wish, MONDAY, None, made.ada)
    return made


async def _agreeing(pilot: Any) -> AgreeScreen:
    screen = await on(pilot, RoundScreen)
    assert screen.plan is not None, screen_text(pilot.app)
    await pilot.press("y")
    found = await on(pilot, AgreeScreen)
    assert isinstance(found, AgreeScreen)
    return found


async def test_what_would_change_is_listed_ticked_and_entered_with_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY, effort=EFFORT))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _agreeing(pilot)
        await looks_as(pilot, "agree_80")
        (change,) = screen.ticked
        assert "1 change, 1 ticked, 1 to ring. Nothing is written before F2." in words(app)
        assert "no hour was agreed. Ring 01632 960555." in words(app)
        await pilot.press("enter")
        await quiet(pilot)
        assert screen.ticked == set()
        await pilot.press("f2")
        await quiet(pilot)
        assert "Nothing is ticked." in words(app)
        assert app.screen is screen
        await pilot.press("s", "f2")
        await on(pilot, AskReason)
        assert "Not reached yet: Gorse Cottage" in unframed(app)
        await pilot.press(*"by ring", "enter")
        again = await on(pilot, RoundScreen)
        visit = visiting(sqlite_book, change)
        assert visit.at_time is not None
        assert time(9) <= visit.at_time <= time(11)
        assert "planned again from it." in unframed(app)
        assert "has changed since" not in screen_text(app)
        assert app.changes == 1
        await pilot.press("y")
        await on(pilot, AgreeScreen)
        assert "This plan changes nothing in the diary" in words(app)
        await pilot.press("escape")
        assert await on(pilot, RoundScreen) is again


async def test_what_changed_meanwhile_is_told_and_nothing_is_saved(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY, effort=EFFORT))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _agreeing(pilot)
        (change,) = screen.ticked
        rev = visiting(sqlite_book, practice.second).rev
        with sqlite_book.writing(act) as writing:
            move_visit(
                writing, practice.second, rev, MONDAY, time(14, 30), practice.ada, why="school run"
            )
        await pilot.press("f2")
        await on(pilot, AskReason)
        await pilot.press(*"by ring", "enter")
        await on(pilot, Tell)
        assert "changed since the day was planned" in unframed(app)
        assert visiting(sqlite_book, change).at_time is None
        await pilot.press("enter")
        assert await on(pilot, AgreeScreen) is screen
        await pilot.press("f2")
        dialog = await on(pilot, AskReason)
        assert dialog.query_one("#reason").value == "by ring"  # what was typed is kept


async def test_a_call_is_logged_beside_the_change(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY, effort=EFFORT))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _agreeing(pilot)
        (change,) = screen.ticked
        await pilot.press("r")
        await quiet(pilot)
        client = visiting(sqlite_book, change).client_id
        assert [one.outcome for one in attempts_of(sqlite_book, client)] == ["reached"]
        assert "1 change, 1 ticked. Nothing is written before F2." in words(app)
        assert screen.query_one(LineGrid).row_count == 1

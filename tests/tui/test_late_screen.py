"""A round that runs late: what is asked, the new times, whom to ring, another order."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import MONDAY, Practice, add_practice, on, words
from round_on_screen import Planner, quiet, replace_day, round_app
from screen_text import looks_as, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.promised.attempts import attempts_of
from store.diary.kept.visits.diary import visiting
from store.rounds.day.values import DayPlan, Errand
from store.rounds.solving.problem import INFECTED, Window
from tests.rounds.day_plans import ADA, driver, errand, nine_stops, plan_of, two_drivers
from tui.screens.rounds.late import LateScreen
from tui.screens.rounds.late_form import LateForm, Lateness
from tui.screens.rounds.late_lines import LateKey
from tui.screens.rounds.round import RoundScreen
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

GATE = (Window(480, 630),)
"""A gate that closes at half past ten."""


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


def second() -> Errand:
    """Agreed for nine."""
    return errand(2, "Teal Mill, race", (53.09, -1.58), hour=time(9), minutes=45)


def day(middle: Errand | None = None) -> DayPlan:
    """Three stops; the last lies behind a gate."""
    return plan_of((driver(break_min=0), [
        errand(1, "Alder Row, lower pond", (53.05, -1.66), hour=time(8, 15)),
        middle or second(),
        errand(3, "Heron Court, koi house", (53.075, -1.52), level=INFECTED, windows=GATE),
    ]))  # fmt: skip


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_new_times_and_whom_to_ring(
    sqlite_book: Book, act: Act, tmp_path: Path, size: tuple[int, int]
) -> None:
    plan = day()
    app = round_app(
        sqlite_book, act, tmp_path, lambda: LateScreen(plan, ADA, Lateness(1, 40), effort=0.2)
    )
    async with app.run_test(size=size, notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down")
        await quiet(pilot)
        await looks_as(pilot, f"late_{size[0]}")
        text = words(app)
        assert "Late: Ada Vet, 40 min late at 09:24, behind Ald" in text
        assert "Teal Mill, race (01632 960100): 09:39 in place of 09:00, 3" in text
        assert "+40 min Heron" in text
        assert ", koi house" in text
        late = app.screen.late
        assert late.other is not None
        assert "Best order from here" in screen_text(app)


async def test_a_small_delay_rings_nobody(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    plan = day()
    app = round_app(sqlite_book, act, tmp_path, lambda: LateScreen(plan, ADA, Lateness(1, 5)))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        text = words(app)
        assert "Nothing comes too late in the order of the plan." in text
        assert "Nobody has to be rung." in text
        assert "Best order from here" not in text


async def test_a_key_logs_the_call(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    visit = visiting(sqlite_book, practice.second)
    own = replace(
        second(), client_id=visit.client_id, site_id=visit.site_id, pond_ids=(practice.far,)
    )
    plan = day(own)
    app = round_app(
        sqlite_book, act, tmp_path, lambda: LateScreen(plan, ADA, Lateness(1, 40), effort=0.2)
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert app.screen.query_one(LineGrid).move_to(LateKey("kept", "stop", own.key))
        await pilot.press("n")
        await quiet(pilot)
        (logged,) = attempts_of(sqlite_book, visit.client_id)
        assert (logged.outcome, logged.pond_id) == ("no answer", practice.far)
        line = next(one for one in screen_text(app).splitlines() if "01632 960100" in one)
        assert "no answer" in line
        await pilot.press("u")
        await quiet(pilot)
        assert attempts_of(sqlite_book, visit.client_id) == ()
        line = next(one for one in screen_text(app).splitlines() if "01632 960100" in one)
        assert "no answer" not in line  # what was taken back was told to nobody
        await pilot.press("r")
        await quiet(pilot)
        assert "reached" in screen_text(app)
        await pilot.press("l")
        await on(pilot, LateForm)
        await _typed(pilot, left="1", late="60")
        await pilot.press("f2")
        await on(pilot, LateScreen)
        line = next(one for one in screen_text(app).splitlines() if "01632 960100" in one)
        assert "reached" not in line  # with another hour: that one was not told yet
        await pilot.press("home", "r")
        await quiet(pilot)
        assert "This line stands for no client" in words(app)
        assert app.screen.query_one(LineGrid).move_to(LateKey("kept", "stop", own.key))
        await pilot.press("enter")
        await quiet(pilot)
        assert app.opened == [practice.far]


async def _typed(pilot: Any, **values: str) -> None:
    pilot.app.screen.query_one(Form).fill(values)
    await quiet(pilot)


async def test_the_form_takes_minutes_or_the_time_it_is(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = nine_stops()
    Planner(monkeypatch, plan)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(plan.asked.wish.day))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("l")
        await on(pilot, LateForm)
        await _typed(pilot, left="2", late="soon")
        await pilot.press("f2")
        await on(pilot, LateForm)
        assert "How late is it? Please type minutes" in words(app)
        await _typed(pilot, late="10:00")
        await looks_as(pilot, "late_form_80")
        assert "drives on 10:00, 16 min later" in words(app)
        await pilot.press("f2")
        screen = await on(pilot, LateScreen)
        assert (screen.late.done, screen.late.late_min) == (2, 16)
        assert "Ada Vet, 16 min late at 10:00, behind Teal Mill, race" in words(app)
        await pilot.press("l")
        await on(pilot, LateForm)
        await _typed(pilot, left="0", late="-5 min", rested="no")
        await pilot.press("f2")
        screen = await on(pilot, LateScreen)
        assert (screen.late.done, screen.late.late_min) == (0, -5)
        assert "Ada Vet, 5 min early at 07:55, setting out" in words(app)
        await pilot.press("escape")
        await on(pilot, RoundScreen)


async def test_on_the_day_itself_the_stop_and_the_time_are_proposed(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    plan = replace_day(day(), act.at.date())
    app = round_app(sqlite_book, act, tmp_path, lambda: LateScreen(plan, ADA, Lateness(0, 0)))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("l")
        await on(pilot, LateForm)
        values = app.screen.query_one(Form).values
        assert (values["left"], values["late"]) == ("0", "07:30")


async def test_where_two_drive_it_is_asked_who_is_late(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = replace_day(two_drivers(), MONDAY)
    Planner(monkeypatch, plan)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("l")  # on Ada's own line
        await on(pilot, LateForm)
        assert "Ada Vet runs late" in words(app)
        await pilot.press("escape")
        await on(pilot, RoundScreen)
        await pilot.press("end", "l")
        await on(pilot, LateForm)
        assert "Bram Oystercatch runs late" in words(app)

"""The week ahead: its lines, a search that is stopped, and a line that becomes a booking."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import ASKS, MONDAY, TODAY, TUESDAY, Practice, add_practice, on, quiet, words
from round_on_screen import RoundApp, round_app
from screen_text import a_moment, looks_as, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.visits.diary import visits_between
from store.errors import BadInput
from store.rounds.solving.halt import Halt
from store.rounds.week.values import WeekPlan
from tests.diary.hand_entries import promised
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.diary.visit import VisitScreen
from tui.screens.parts.dialogs import Choose, Tell
from tui.screens.rounds.week import CHANGED, WeekScreen
from tui.screens.rounds.week_lines import WeekKey
from tui.screens.rounds.week_work import WeekBooking, asked_for
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

ASKS.add("week-ask")
DAY = timedelta(days=1)


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    """Two booked visits on Monday; two that are due, one of them late, one behind hours."""
    found = add_practice(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Osier Barn", phone="01632 960777")
        site = writing.add("site", client_id=owner, name="garden", latitude=53.03, longitude=-1.7)
        late = writing.add("pond", site_id=site, name="round pond")
    found = replace(found, near=late)
    before = Act(act.by, act.at - 40 * DAY)
    for pond, day, says in (
        (found.near, TODAY - 6 * DAY, "see the ulcer again"),
        (found.bound, TUESDAY, "look at the [b]new[/b] koi"),
    ):
        promised(sqlite_book, before, pond, kind="look_again", says=says, first_on=day)
    return found


def week(book: Book, act: Act, tmp_path: Path, day: date | None = MONDAY) -> RoundApp:
    return round_app(book, act, tmp_path, lambda: WeekScreen(day, effort=1.0))


def to(screen: WeekScreen, key: Any, kind: Any = "visit") -> None:
    assert screen.query_one(LineGrid).move_to(WeekKey(kind, key))


def due_key(screen: WeekScreen, pond: Any) -> Any:
    assert screen.shown is not None
    (line,) = [
        one for one in screen.shown.lines if pond in one.errand.pond_ids and not one.errand.booked
    ]
    return line.errand.key


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_a_week_shows_its_days_with_what_is_booked_and_to_be_agreed(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, size: tuple[int, int],
) -> None:  # fmt: skip
    def asked(*args: Any) -> Any:
        return replace(asked_for(*args), remarks=("Bram is away on 18 Mar 2026: leave.",))

    monkeypatch.setattr("tui.screens.rounds.week.asked_for", asked)
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=size) as pilot:
        screen = await on(pilot, WeekScreen)
        to(screen, due_key(screen, practice.near))
        await quiet(pilot)
        await looks_as(pilot, f"week_ahead_{size[0]}")


async def test_a_line_that_is_due_opens_its_booking_on_that_day_and_is_booked(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await on(pilot, WeekScreen)
        before = visits_between(sqlite_book, MONDAY, MONDAY + 6 * DAY)
        assert len(before) == 2
        key = due_key(screen, practice.bound)
        (line,) = [one for one in screen.plan.lines if one.errand.key == key]
        to(screen, key)
        await pilot.press("enter")
        booking = await on(pilot, WeekBooking)
        values = booking.query_one(Form).values
        assert values["on_day"] == line.day.isoformat()
        assert values["at_time"] == f"{line.stop.begins // 60:02d}:{line.stop.begins % 60:02d}"
        assert values["staff_id"] == str(line.driver.staff_id)
        assert "look at the [b]new[/b] koi" in words(app)
        await pilot.press("f2")
        await on(pilot, Choose)
        await pilot.press("enter")
        await on(pilot, WeekScreen)
        (made,) = [
            one for one in visits_between(sqlite_book, MONDAY, MONDAY + 6 * DAY)
            if one not in before
        ]  # fmt: skip
        assert (made.on_day, made.staff_id) == (line.day, line.driver.staff_id)
        assert made.at_time == time(line.stop.begins // 60, line.stop.begins % 60)
        assert [one.says for one in made.purposes] == ["look at the [b]new[/b] koi"]
        said = words(app)
        assert "booked now" in said
        assert CHANGED in said
        # The line stays, and enter does not book it a second time.
        await pilot.press("enter")
        await quiet(pilot)
        assert isinstance(app.screen, WeekScreen)
        await pilot.press("f5")
        screen = await on(pilot, WeekScreen)
        assert screen.booked == set()
        assert sum(one.errand.booked for one in screen.plan.lines) == 3
        assert CHANGED not in words(app)


async def test_a_booking_that_is_left_changes_nothing_and_keeps_what_was_typed(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await on(pilot, WeekScreen)
        to(screen, due_key(screen, practice.bound))
        await pilot.press("enter")
        booking = await on(pilot, WeekBooking)
        booking.query_one(Form).fill({"at_time": "10:25"})
        await quiet(pilot)
        await pilot.press("escape")
        screen = await on(pilot, WeekScreen)
        assert not screen.booked
        assert len(visits_between(sqlite_book, MONDAY, MONDAY + 6 * DAY)) == 2
        await pilot.press("enter")
        booking = await on(pilot, WeekBooking)
        assert booking.query_one(Form).values["at_time"] == "10:25"


async def test_keys_open_the_visit_the_day_and_the_pond(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await on(pilot, WeekScreen)
        to(screen, practice.first)
        await pilot.press("enter")
        await on(pilot, VisitScreen)
        await pilot.press("escape")
        await on(pilot, WeekScreen)
        await pilot.press("d")
        diary = await on(pilot, DiaryScreen)
        assert diary.day == MONDAY
        await pilot.press("escape")
        await on(pilot, WeekScreen)
        await pilot.press("p")
        await quiet(pilot)
        (opened,) = app.opened
        assert opened in screen.line_here.errand.pond_ids
        to(screen, TUESDAY, "day")
        await quiet(pilot)
        await pilot.press("p", "enter")
        assert (await on(pilot, DiaryScreen)).day == TUESDAY
        assert app.opened == [opened]


async def test_arrows_go_to_other_weeks_and_not_behind_today(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    app = week(sqlite_book, act, tmp_path, TODAY - 9 * DAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await on(pilot, WeekScreen)
        assert screen.plan.asked.wish.first == TODAY
        assert "Week ahead: Sat 14 Mar to Fri 20 Mar" in screen_text(app)
        await pilot.press("right")
        await quiet(pilot)
        assert screen.plan.asked.wish.first == TODAY + 7 * DAY
        await pilot.press("left")
        await quiet(pilot)
        await pilot.press("left")
        await quiet(pilot)
        assert screen.plan.asked.wish.first == TODAY


async def test_escape_ends_the_search_with_the_best_so_far_and_then_leaves(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    from tui.screens.rounds.week_work import planned

    halts = []

    def waits(asked: Any, effort: Any, halt: Halt, better: Any) -> WeekPlan:
        plan = planned(asked, 0.5, Halt(), better)
        ended = threading.Event()
        with halt.ends(ended.set):
            better(plan)
            halts.append(halt)
            assert halt.stopped or ended.wait(10)
        return plan

    monkeypatch.setattr("tui.screens.rounds.week.planned", waits)
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, WeekScreen)
        for _ in range(500):
            await a_moment(0.01)
            if halts and "best so far" in words(app):
                break
        assert screen.is_planning
        assert "planning the week, 0 s, best so far" in words(app)
        assert "esc keeps the best so far" in words(app)
        # The best so far stands there already, and is not booked from before it is kept.
        assert "Osier" in screen_text(app)
        to(screen, due_key(screen, practice.near))
        await pilot.press("enter")
        await pilot.pause()
        assert app.screen is screen
        await pilot.press("escape")
        await quiet(pilot)
        assert halts[0].stopped
        assert not screen.is_planning
        assert screen.plan is not None
        assert "of driving" in words(app)
        await pilot.press("escape")
        await pilot.pause()
        # As a place on top of another it leaves; alone in the test it has nothing below but the app.
        assert app.screen is not screen


async def test_leaving_ends_the_search(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    halts, ended = [], threading.Event()

    def waits(asked: Any, effort: Any, halt: Halt, better: Any) -> WeekPlan:
        halts.append(halt)
        with halt.ends(ended.set):
            ended.wait(10)
        raise BadInput("It was left.")

    monkeypatch.setattr("tui.screens.rounds.week.planned", waits)
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)):
        for _ in range(500):
            await a_moment(0.01)
            if halts:
                break
        app.screen.dismiss(None)
        for _ in range(200):
            await a_moment(0.01)
            if ended.is_set():
                break
        assert ended.is_set()


async def test_trouble_is_told_and_the_screen_stays(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    def broken(*_: Any) -> Any:
        raise BadInput("That cannot be planned.")

    monkeypatch.setattr("tui.screens.rounds.week.asked_for", broken)
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        await on(pilot, Tell)
        assert [one.message for one in app.told] == ["That cannot be planned."]


async def test_a_book_that_grows_is_told_and_the_plan_stays(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await on(pilot, WeekScreen)
        plan = screen.plan
        screen.on_book_changed()
        await quiet(pilot)
        assert screen.plan is plan
        assert CHANGED in words(app)


async def test_the_booking_of_the_week_is_a_booking(
    sqlite_book: Book, act: Act, practice: Practice, tmp_path: Path
) -> None:
    assert issubclass(WeekBooking, BookingScreen)
    app = week(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await on(pilot, WeekScreen)
        to(screen, due_key(screen, practice.near))
        await pilot.press("enter")
        booking = await on(pilot, WeekBooking)
        assert "see the ulcer again" in words(app)
        assert booking.query_one(Form).has_focus_within

"""The diary: a day and a week of every vet, how full they are, and what is free."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import MONDAY, TUESDAY, Practice, add_practice, app_with, on, quiet, words
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_lines, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.visits.bookings import book_visit, finish_visit, wish_of
from tui.screens.diary.away import AwayScreen
from tui.screens.diary.calendar_file import CalendarFileScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.diary.diary_lines import bar, said_load, said_short
from tui.screens.diary.hours import HoursScreen
from tui.screens.diary.visit import VisitScreen
from tui.screens.parts.dialogs import Choose
from tui.widgets.fields import Form
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


async def test_a_day_shows_visits_free_time_and_load(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await looks_as(pilot, "diary_day_80")
        text = screen_text(app)
        assert "2 visits      2 h of 8 h" in text
        lines = [line for line in screen_lines(app) if "–" in line]
        # Ada's working hours less her two visits, then Bram's whole day.
        assert [line.split()[0] for line in lines[:6]] == [
            "08:00–09:00", "09:00–10:00", "10:00–13:30", "13:30–14:30", "14:30–16:00",
            "09:00–17:00",
        ]  # fmt: skip


async def test_the_arrows_go_to_other_days_and_t_comes_back(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, DiaryScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "today, Sat 14 Mar 2026" in screen_text(app)
        await pilot.press("right")
        await quiet(pilot)
        assert "Sun 15 Mar 2026" in screen_text(app)
        await pilot.press("left", "left")
        await quiet(pilot)
        assert "Fri 13 Mar 2026" in screen_text(app)
        await pilot.press("w", "right", "right")
        await quiet(pilot)
        assert "week 13, 23 Mar – 29 Mar 2026" in screen_text(app)
        await pilot.press("t")
        await quiet(pilot)
        assert "week 11, 9 Mar – 15 Mar 2026" in screen_text(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_week_has_a_line_for_each_vet_and_day(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice, size: tuple[int, int]
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=size, notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("w")
        await quiet(pilot)
        await looks_as(pilot, f"diary_week_{size[0]}")
        text = screen_text(app)
        assert "2 visits, 2 h of 8 h" in text
        assert "away: leave" in text
        assert app.screen.query_one(LineGrid).row_count == 14
        await pilot.press("down", "down", "enter")  # Tuesday, Ada
        await quiet(pilot)
        assert "Tue 17 Mar 2026" in screen_text(app)


async def test_a_public_holiday_and_an_overfull_day_are_said(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    easter = date(2026, 4, 6)  # Easter Monday: Banking and Financial Dealings Act 1971, schedule 1
    wish = wish_of(sqlite_book, pond_id=practice.near, kind="examination")
    with sqlite_book.writing(act) as writing:
        book_visit(
            writing, wish, easter, time(8), practice.ada, minutes=500, in_spite="owner is home"
        )
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(easter))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "Mon 6 Apr 2026, public holiday" in words(app)
        assert "holiday Easter Monday" in words(app)
        assert "8 h 20 of 8 h" in words(app)
        await pilot.press("down")
        await quiet(pilot)
        assert "More is booked than there are working hours." in words(app)


async def test_one_vet_is_chosen_and_everybody_again(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("3")
        await on(pilot, DiaryScreen)
        assert "Diary of Bram Oystercatch" in screen_text(app)
        assert "Ada Vet" not in screen_text(app)
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("2")
        await on(pilot, DiaryScreen)
        await pilot.press("w")
        await quiet(pilot)
        # One vet's week has room for the visits.
        assert "09:00–10:00" in screen_text(app)
        assert "09:00–10:00 Alder Row, lower pond examination" in words(app)
        assert app.screen.query_one(LineGrid).move_to(practice.second)
        await pilot.press("w")
        await quiet(pilot)
        assert "Mon 16 Mar 2026" in screen_text(app)
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("1")
        await on(pilot, DiaryScreen)
        assert "Ada Vet" in screen_text(app)


async def test_enter_opens_a_visit_and_every_key_its_screen(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY, practice.second))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "13:30–14:30 Teal Mill, race: examination, Ada Vet" in screen_text(app)
        opens: tuple[tuple[str, type[Any]], ...] = (
            ("enter", VisitScreen), ("o", AwayScreen), ("h", HoursScreen),
            ("x", CalendarFileScreen),
        )  # fmt: skip
        for key, screen in opens:
            await pilot.press(key)
            await on(pilot, screen)
            await pilot.press("escape")
            await on(pilot, DiaryScreen)


async def test_the_calendar_goes_to_a_file_and_no_other_file_is_written_over(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    other = tmp_path / "notes.ics"
    other.write_text("mine", encoding="utf-8")
    out = tmp_path / "ada.ics"
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("x")
        await on(pilot, CalendarFileScreen)
        form = app.screen.query_one(Form)
        form.fill({"staff_id": str(practice.ada), "file": str(other)})
        await quiet(pilot)
        await pilot.press("f2")
        for _ in range(200):
            await a_moment(0.01)
            if "left as it is" in words(app):
                break
        assert "left as it is" in words(app)
        form.fill({"site": "nobody's garden", "file": str(out)})
        await quiet(pilot)
        await pilot.press("f2")
        for _ in range(200):
            await a_moment(0.01)
            if "No site goes by" in words(app):
                break
        assert "No site goes by" in words(app)
        form.fill({"site": "", "file": str(out)})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, DiaryScreen)
    assert other.read_text(encoding="utf-8") == "mine"
    text = out.read_text(encoding="utf-8")
    assert text.count("BEGIN:VEVENT") == 2
    assert "DTSTART;TZID=Europe/London:20260316T090000" in text


async def test_at_sixty_columns_the_town_goes_and_nothing_is_cut_in_the_foot(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await quiet(pilot)
        text = screen_text(app)
        assert "Alder Row, lower" in text
        assert "F1 help" in str(app.screen.query_one(Foot).render())


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_names_are_shown_literally(
    sqlite_book: Book, act: Act, tmp_path: Path, name: str
) -> None:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name=name[:200], phone=name[:60])
        site = writing.add("site", client_id=owner, name=name[:200], town=name[:60])
        pond = writing.add("pond", site_id=site, name=name[:200])
    wish = wish_of(sqlite_book, pond_id=pond, kind="examination")
    with sqlite_book.writing(act) as writing:
        visit = book_visit(writing, wish, TUESDAY, time(9), act.by)
    for make in (lambda: DiaryScreen(TUESDAY, visit), lambda: VisitScreen(visit)):
        app = app_with(sqlite_book, act, tmp_path, make)
        async with app.run_test(size=(60, 20), notifications=True) as pilot:
            await quiet(pilot)
            assert not any(HARMFUL & set(line) for line in screen_lines(app))
            assert app.told == []


async def test_a_visit_without_an_hour_or_a_vet_and_one_that_is_done_stand_in_their_day(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    wish = wish_of(sqlite_book, pond_id=practice.near, kind="water test")
    today = sqlite_book.today(act.at)
    with sqlite_book.writing(act) as writing:
        book_visit(writing, wish, today, None, None)
        visit = book_visit(writing, wish, today, time(9), practice.ada, in_spite="Saturday")
    with sqlite_book.writing(act) as writing:
        finish_visit(writing, visit, 1, today, "clear")
    app = app_with(sqlite_book, act, tmp_path, DiaryScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        text = words(app)
        assert "nobody chosen 1 visit 20 min; no hours" in text
        assert "no hour 20 min Alder Row, lower pond" in text
        assert "water test, done" in screen_text(app) or "water test,…" in screen_text(app)
        assert app.screen.query_one(LineGrid).move_to(visit)
        await quiet(pilot)
        assert "09:00–09:20 Alder Row, lower pond: water test, done, Ada Vet" in words(app)
        await pilot.press("d")
        await quiet(pilot)
        assert isinstance(app.screen, DiaryScreen), "what is done is not cancelled"


def test_load_and_bar_say_the_same(sqlite_book: Book, act: Act, practice: Practice) -> None:
    from store.diary.kept.visits.diary import diary

    ada, bram = diary(sqlite_book, MONDAY, MONDAY)
    assert (said_load(ada), bar(ada).plain) == ("2 visits, 2 h of 8 h", "██░░░░░░")
    assert (said_load(bram), bar(bram).plain) == ("no visit, 0 min of 8 h", "░░░░░░░░")
    assert said_short(ada.free) == "8–9, 10–13:30, 14:30–16"
    away = diary(sqlite_book, date(2026, 3, 18), date(2026, 3, 18))[1]
    assert (said_load(away), bar(away).plain) == ("no visit, no hours", "")

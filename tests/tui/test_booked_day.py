"""Ways into a booking through the whole application: from a pond, from a course."""

from __future__ import annotations

from pathlib import Path

import practice_day
import pytest
from called import NOW
from diary_on_screen import ASKS
from practice_day import Day

from store.book.opening import open_book
from store.book.ponds import cards
from store.courses.kept.over_all import course_list
from store.diary.kept.due.desk import desk_list
from tui.screens.courses.course import CourseScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.parts.dialogs import Choose
from tui.screens.ponds.pond import PondScreen


@pytest.fixture(autouse=True)
def waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers of the diary, too, may wait for a person's answer."""
    monkeypatch.setattr(practice_day, "WAITS", practice_day.WAITS | ASKS)


async def test_from_a_pond_to_a_visit_and_the_day_on_which_it_is(own: Path, tmp_path: Path) -> None:
    with open_book(str(own), now=NOW) as book:
        pond = next(one for one in cards(book) if one.client.name == "Colm Yarrowby").pond.id
        day = Day(book, tmp_path / "drafts.json")
        async with day.app.run_test(size=(80, 24), notifications=True) as pilot:
            day.pilot = pilot
            await day.until(lambda: day.app.book_is_open)
            await day.open(pond)
            await day.press("v")
            await day.until(lambda: isinstance(day.app.screen, (Choose, BookingScreen)))
            if isinstance(day.app.screen, Choose):
                await day.press(str(len(day.app.screen._options)))  # something else
            booking = await day.on(BookingScreen)
            await day.until(lambda: len(booking.slots) == 3)
            slot = booking.slots[1]
            await day.press("down", "enter")
            await day.quiet()
            await day.press("f2")
            await day.on(Choose)
            assert "Booked:" in day.text
            await day.press("2")
            diary = await day.on(DiaryScreen)
            assert diary.day == slot.on_day
            await day.shows("Colm Yarrowby")
            await day.press("escape")
            await day.on(PondScreen)


async def test_from_a_course_to_the_visit_that_gives_its_dose(own: Path, tmp_path: Path) -> None:
    with open_book(str(own), now=NOW) as book:
        due = next(
            one.promised
            for one in desk_list(book, NOW).lines
            if one.promised.kind == "dose" and one.promised.needs == "visit" and not one.booked
        )
        course = next(
            one.course.id
            for one in course_list(book, NOW).waiting
            if one.course.pond_id == due.pond_id
        )
        day = Day(book, tmp_path / "drafts.json")
        async with day.app.run_test(size=(80, 24), notifications=True) as pilot:
            day.pilot = pilot
            await day.until(lambda: day.app.book_is_open)
            day.app.push_screen(CourseScreen(course))
            await day.on(CourseScreen)
            await day.press("v")
            await day.until(lambda: isinstance(day.app.screen, (Choose, BookingScreen)))
            if isinstance(day.app.screen, Choose):
                await day.press("1")
            booking = await day.on(BookingScreen)
            assert [one.about for one in booking.wish.purposes] == [due.about]
            assert booking.wish.kind == "course dose"


async def test_the_diary_is_a_place_of_its_own(own: Path, tmp_path: Path) -> None:
    with open_book(str(own), now=NOW) as book:
        day = Day(book, tmp_path / "drafts.json")
        async with day.app.run_test(size=(80, 24), notifications=True) as pilot:
            day.pilot = pilot
            await day.until(lambda: day.app.book_is_open)
            await day.press("6")
            await day.on(DiaryScreen)
            assert "Diary: today, Sat 14 Mar 2026" in day.text
            await day.press("right", "escape")
            await day.quiet()
            assert isinstance(day.app.screen, DiaryScreen)
            assert "Sun 15 Mar 2026" in day.text

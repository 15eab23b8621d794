"""A visit through the whole application: proposed, booked, in the diary, in a calendar, moved."""

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
from store.diary.kept.bookings import visiting
from store.diary.kept.desk import desk_list
from tui.screens.courses.course import CourseScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.calendar_file import CalendarFileScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.diary.visit import VisitScreen
from tui.screens.diary.visit_history import VisitHistoryScreen
from tui.screens.parts.dialogs import Choose
from tui.screens.ponds.pond import PondScreen
from tui.widgets.fields import FormField


@pytest.fixture(autouse=True)
def waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers of the diary, too, may wait for a person's answer."""
    monkeypatch.setattr(practice_day, "WAITS", practice_day.WAITS | ASKS)


async def test_from_a_pond_to_the_diary_a_calendar_and_the_record(
    own: Path, tmp_path: Path
) -> None:
    out = tmp_path / "diary.ics"
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
            await day.until(lambda: day.app.screen.focused is not None)
            assert "Colm Yarrowby" in day.text
            await day.press("enter")
            visit = (await day.on(VisitScreen)).visit
            await day.press("escape")
            await day.on(DiaryScreen)
            await day.press("x")
            await day.on(CalendarFileScreen)
            await day.fill({"file": str(out)})
            await day.press("f2")
            await day.until(out.exists)
            assert f"UID:{visit}" in out.read_text(encoding="utf-8").replace("\n ", "")
            await day.until(lambda: isinstance(day.app.screen, DiaryScreen))
            await day.quiet()
            await day.press("m")
            moving = await day.on(BookingScreen)
            await day.until(lambda: bool(moving.slots))
            later = next(one for one in moving.slots if one.on_day != slot.on_day)
            await day.fill(
                {"on_day": later.on_day.isoformat(), "at_time": f"{later.at_time:%H:%M}",
                 "staff_id": str(later.staff_id), "why": "the owner is away"}
            )  # fmt: skip
            moving.query(FormField).first().entry.focus()
            await day.press("f2")
            await day.on(Choose)
            assert "Moved to" in day.text
            await day.press("1")
            await day.on(DiaryScreen)
            await day.press("escape")
            await day.until(lambda: isinstance(day.app.screen, PondScreen))
            day.app.push_screen(VisitScreen(visit))
            await day.on(VisitScreen)
            await day.press("c")
            await day.on(VisitHistoryScreen)
            await day.shows("changed: the owner is away")
        assert visiting(book, visit).on_day == later.on_day


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

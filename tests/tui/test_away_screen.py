"""Days off, a calendar file that brings them in, public holidays, working hours, lengths."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import TODAY, WEDNESDAY, Practice, add_practice, app_with, on, quiet, words
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, screen_lines, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.roster.days_off import add_day_off, days_off
from store.diary.kept.roster.holiday_region import holiday_region
from store.diary.kept.roster.staff_hours import hours_on
from store.diary.kept.roster.visit_lengths import visit_lengths
from store.diary.kept.roster.way_home import ways_home
from store.errors import BadInput
from store.travel.place import Place
from tui.screens.diary.away import AwayScreen
from tui.screens.diary.away_file import BringDaysOffScreen
from tui.screens.diary.away_forms import PRACTICE, DayOffScreen, RegionScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.diary.hours import HoursScreen, told_hours
from tui.screens.diary.hours_forms import LengthScreen, PersonHoursScreen, degrees
from tui.screens.parts.dialogs import Ask, AskReason
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

YEAR = (date(2026, 1, 1), date(2026, 12, 31))
ICS = "\r\n".join(
    (
        "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//a calendar//EN",
        "BEGIN:VEVENT", "UID:walk-1", "SEQUENCE:{sequence}", "DTSTAMP:20260301T080000Z",
        "DTSTART;VALUE=DATE:{first}", "DTEND;VALUE=DATE:{after}", "SUMMARY:walking the wall",
        "END:VEVENT", "END:VCALENDAR", "",
    )
)  # fmt: skip


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


async def says(pilot: Any, text: str) -> None:
    for _ in range(300):
        await a_moment(0.01)
        if text in words(pilot.app):
            return
    raise AssertionError(screen_text(pilot.app))


async def test_days_off_and_public_holidays_stand_by_their_day(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        lines = screen_lines(app)
        first = next(n for n, line in enumerate(lines) if "leave" in line)
        second = next(n for n, line in enumerate(lines) if "Good Friday" in line)
        assert first < second
        assert "public holidays of England, GB" in lines[0]
        assert "Wed 18 Mar" in lines[first]
        assert "Bram Oystercatch: Wed 18 Mar" in words(app)
        await pilot.press("enter")
        diary = await on(pilot, DiaryScreen)
        assert diary.day == WEDNESDAY
        assert "away: leave" in words(app)


async def test_days_off_are_entered_and_struck_through_with_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("a")
        await on(pilot, DayOffScreen)
        await pilot.press("f2")
        await says(pilot, "Who is away?")
        form = app.screen.query_one(Form)
        form.fill({"staff_id": PRACTICE, "first_day": "20 Mar", "last_day": "19 Mar 2026"})
        await quiet(pilot)
        await pilot.press("f2")
        await says(pilot, "lies before the first")
        form.fill(
            {"last_day": "", "from_time": "13:00", "until_time": "17", "says": "moving desks"}
        )
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, AwayScreen)
        assert "Fri 20 Mar 13:00–17:00" in screen_text(app)
        assert "the whole practice" in screen_text(app)
        added = next(one for one in days_off(sqlite_book, *YEAR) if one.says == "moving desks")
        assert (added.staff_id, added.from_time, added.until_time) == (None, time(13), time(17))
        grid = app.screen.query_one(LineGrid)
        assert grid.move_to(added.id)
        await pilot.press("s")
        await on(pilot, AskReason)
        await pilot.press(*"not yet", "enter")
        await on(pilot, AwayScreen)
        assert "moving desks" not in screen_text(app)
    assert [one.says for one in days_off(sqlite_book, *YEAR)] == ["leave"]


async def test_the_last_day_is_read_from_the_first_day_on(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("a")
        await on(pilot, DayOffScreen)
        app.screen.query_one(Form).fill(
            {"staff_id": str(practice.ada), "first_day": "20 Apr", "last_day": "Fri"}
        )
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, AwayScreen)
    # 20 April 2026 is a Monday.
    found = next(one for one in days_off(sqlite_book, *YEAR) if one.staff_id == practice.ada)
    assert (found.first_day, found.last_day) == (date(2026, 4, 20), date(2026, 4, 24))


async def test_a_calendar_file_is_looked_at_first_and_updates_what_it_brought(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    file = tmp_path / "leave.ics"
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        for sequence, first, after in ((0, "20260420", "20260422"), (1, "20260427", "20260429")):
            file.write_bytes(ICS.format(sequence=sequence, first=first, after=after).encode())
            await pilot.press("i")
            await on(pilot, BringDaysOffScreen)
            form = app.screen.query_one(Form)
            form.fill({"staff_id": str(practice.ada), "file": str(tmp_path / "none.ics")})
            await quiet(pilot)
            await pilot.press("f2")
            await says(pilot, "cannot be read")
            form.fill({"file": str(file)})
            await quiet(pilot)
            await pilot.press("f2")
            await on(pilot, Ask)
            assert ("1 to add" if not sequence else "1 to change") in words(app)
            if not sequence:
                await pilot.press("enter")  # the safe answer
                await says(pilot, "It was not brought in")
                assert len(days_off(sqlite_book, *YEAR)) == 1
                await pilot.press("f2")
                await on(pilot, Ask)
            await pilot.press("right", "enter")
            await on(pilot, AwayScreen)
            assert "walking the wall" in screen_text(app)
            assert app.screen.query_one(LineGrid).move_to(days_off(sqlite_book, *YEAR)[-1].id)
            await says(pilot, "Brought in from a calendar file")
    found = [one for one in days_off(sqlite_book, *YEAR) if one.staff_id == practice.ada]
    assert [(one.first_day, one.last_day) for one in found] == [
        (date(2026, 4, 27), date(2026, 4, 28))
    ]


async def test_a_file_that_brings_nothing_says_why(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    whole = ICS.format(sequence=0, first="20260420", after="20260422")
    cancelled, broken, other = (tmp_path / f"{name}.ics" for name in ("c", "b", "o"))
    cancelled.write_bytes(whole.replace("SUMMARY", "STATUS:CANCELLED\r\nSUMMARY").encode())
    lines = whole.splitlines()
    broken.write_bytes("\r\n".join(x for x in lines if not x.startswith("DTSTART")).encode())
    other.write_text("name,day\n", encoding="utf-8")
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("i")
        await on(pilot, BringDaysOffScreen)
        form = app.screen.query_one(Form)
        form.fill({"staff_id": PRACTICE})
        for file, why in (
            (cancelled, "1 event, looked at"), (broken, "Line 4: "), (other, "calendar"),
        ):  # fmt: skip
            form.fill({"file": str(file)})
            await quiet(pilot)
            await pilot.press("f2")
            await says(pilot, why)
            assert isinstance(app.screen, BringDaysOffScreen)
    assert [one.says for one in days_off(sqlite_book, *YEAR)] == ["leave"]


async def test_whose_public_holidays_are_marked_is_chosen(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, AwayScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "Easter Monday" in screen_text(app)
        await pilot.press("g")
        await on(pilot, RegionScreen)
        form = app.screen.query_one(Form)
        form.fill({"region": "XYZ"})
        await quiet(pilot)
        await pilot.press("f2")
        await says(pilot, "is no region of GB")
        form.fill({"region": "SCT"})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, AwayScreen)
        # Scotland keeps no bank holiday on Easter Monday (Banking and Financial Dealings Act 1971,
        # schedule 1, part II).
        assert "Easter Monday" not in screen_text(app)
    assert holiday_region(sqlite_book) == ("GB", "SCT")


async def test_hours_are_told_as_understood_and_hold_from_a_day_on(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, HoursScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "Mon-Fri 8-16" in screen_text(app)
        assert "Sets out from: the boathouse" not in words(app)
        await pilot.press("down")
        await quiet(pilot)
        assert "Sets out from: the boathouse (where that is, is not entered)" in words(app)
        await pilot.press("enter")
        await on(pilot, PersonHoursScreen)
        form = app.screen.query_one(Form)
        form.fill({"hours": "Mon-Thu 9-17; by moonlight"})
        await quiet(pilot)
        await says(pilot, "not understood: by moonlight")
        await pilot.press("f2")
        await says(pilot, "was not understood as working hours")
        form.fill(
            {"hours": "Mon-Thu 9-17", "from_day": "1 Apr", "break_min": "45",
             "start_latitude": "53.1 N", "start_longitude": "1.7 W"}
        )  # fmt: skip
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, HoursScreen)
        assert "From 1 Apr: Mon-Thu 9-17." in words(app)
    before = hours_on(sqlite_book, TODAY)[practice.bram]
    after = hours_on(sqlite_book, date(2026, 4, 1))[practice.bram]
    assert (before.typed, after.typed, after.break_min) == ("Mon-Wed 9-17", "Mon-Thu 9-17", 45)
    assert (after.start_latitude, after.start_longitude) == (53.1, -1.7)
    assert ways_home(sqlite_book, date(2026, 4, 1)) == {}, "nobody said where the day ends"


async def test_a_day_may_end_elsewhere_and_where_it_began_again(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, HoursScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down", "enter")
        await on(pilot, PersonHoursScreen)
        form = app.screen.query_one(Form)
        form.fill({"home_latitude": "53.2 N", "home_longitude": "1.6 W"})
        await quiet(pilot)
        await pilot.press("f2")
        await says(pilot, "Please say in words where the day ends")
        form.fill({"home_place": "the sister's", "home_longitude": ""})
        await quiet(pilot)
        await pilot.press("f2")
        await says(pilot, "A place needs its latitude and its longitude")
        assert hours_on(sqlite_book, TODAY)[practice.bram].from_day != TODAY, "nothing half saved"
        form.fill({"home_longitude": "1.6 W"})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, HoursScreen)
        told = told_hours(practice.bram, app.screen.page)  # type: ignore[attr-defined]
        assert told.source.endswith("; the day ends at: the sister's")
        home = ways_home(sqlite_book, TODAY)[practice.bram]
        assert (home.place, home.at) == ("the sister's", Place(53.2, -1.6))
        await pilot.press("enter")
        await on(pilot, PersonHoursScreen)
        form = app.screen.query_one(Form)
        assert form.values["home_latitude"] == "53.2"
        form.fill({"home_place": "", "home_latitude": "", "home_longitude": ""})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, HoursScreen)
    assert ways_home(sqlite_book, TODAY) == {}


async def test_a_length_is_the_practices_own_with_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, HoursScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert app.screen.query_one(LineGrid).move_to("examination")
        await pilot.press("enter")
        await on(pilot, LengthScreen)
        form = app.screen.query_one(Form)
        form.fill({"minutes": "1 h 15"})
        await quiet(pilot)
        await pilot.press("f2")
        await says(pilot, "Please say what it rests on")
        form.fill({"minutes": "2", "why": "four ponds timed"})
        await quiet(pilot)
        await pilot.press("f2")
        await quiet(pilot)
        assert visit_lengths(sqlite_book)["examination"][0] == 60, "no visit takes two minutes"
        form.fill({"minutes": "1 h 15"})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, HoursScreen)
        assert "1 h 15" in screen_text(app)
        await pilot.press("n")
        await on(pilot, LengthScreen)
        app.screen.query_one(Form).fill({"kind": "sedation", "minutes": "100", "why": "as timed"})
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, HoursScreen)
    lengths = visit_lengths(sqlite_book)
    assert lengths["examination"] == (75, "four ponds timed")
    assert lengths["sedation"] == (100, "as timed")


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_words_are_shown_literally(
    sqlite_book: Book, act: Act, tmp_path: Path, name: str
) -> None:
    with sqlite_book.writing(act) as writing:
        bram = writing.add("staff", name=name[:200], role="vet", initials="B")
        add_day_off(writing, bram, WEDNESDAY, WEDNESDAY, says=name[:200])
    for make in (AwayScreen, HoursScreen):
        app = app_with(sqlite_book, act, tmp_path, make)
        async with app.run_test(size=(60, 20), notifications=True) as pilot:
            await quiet(pilot)
            assert not any(HARMFUL & set(line) for line in screen_lines(app))
            assert app.told == []


@pytest.mark.parametrize("text", ["51.5 E", "north", "1 2"])
def test_degrees_on_the_wrong_side_are_refused_at_their_field(text: str) -> None:
    with pytest.raises(BadInput) as trouble:
        degrees(text, "start_latitude")
    assert trouble.value.field == "start_latitude"


def test_degrees_are_read_with_point_or_comma_and_side() -> None:
    assert degrees("", "start_latitude") is None
    assert degrees("53,1 s", "start_latitude") == -53.1
    assert degrees("-1.7", "start_longitude") == -1.7

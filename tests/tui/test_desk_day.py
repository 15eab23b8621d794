"""A day at the desk through the keys: found on the telephone, booked, exported, moved, cancelled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import practice_day
import pytest
from called import NOW
from diary_on_screen import ASKS
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event
from practice_day import Day

from store.book.opening import open_book
from store.diary.booking.values import Wish
from store.diary.kept.due.desk import desk_list
from store.diary.kept.visits.bookings import visiting
from store.diary.kept.visits.diary import visits_between
from store.diary.kept.visits.wishes import wish_for
from tui import others
from tui.screens.desk.client import ClientScreen
from tui.screens.desk.desk import DeskScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.booking_slots import Slots
from tui.screens.diary.calendar_file import CalendarFileScreen
from tui.screens.diary.diary import DiaryGrid, DiaryScreen
from tui.screens.diary.visit_history import VisitHistoryScreen
from tui.screens.morning.morning import MorningScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.widgets.fields import Form, FormField

CLIENT, MISSPELT, PART_OF_A_NUMBER = "Tamsin Vellacourt-Reeve", "velacor", "60123"
LONDON = ZoneInfo("Europe/London")
TODAY, SUMMER = date(2026, 3, 14), date(2026, 3, 31)
"""The second lies behind the change of the clocks in London."""


@pytest.fixture(autouse=True)
def waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers of the desk and the diary, too, may wait for a person's answer."""
    monkeypatch.setattr(
        practice_day, "WAITS", practice_day.WAITS | ASKS | {"desk-act", "client-open"}
    )


@pytest.fixture
def day(own: Path, tmp_path: Path) -> Iterator[Day]:
    with open_book(own, now=NOW) as book:
        yield Day(book, tmp_path / "drafts.json")


def read(path: Path) -> dict[str, Event]:
    """The file as a parser reads it that is not ours, by UID; none stands there twice."""
    calendars: list[Calendar] = IcsCalendarStream.from_ics(path.read_text("utf-8")).calendars
    (calendar,) = calendars
    found = {str(event.uid): event for event in calendar.events}
    assert len(found) == len(calendar.events)
    return found


def local(event: Event) -> datetime:
    """When it begins, by the clock on a wall in London."""
    begins = event.dtstart
    assert isinstance(begins, datetime)
    return begins.astimezone(LONDON).replace(tzinfo=None)


async def find_client(day: Day) -> None:
    """From the morning list to the page of the client, while she is on the telephone."""
    await day.press("5")
    desk = await day.on(DeskScreen)
    for typed in (MISSPELT, PART_OF_A_NUMBER):
        await day.press("slash", *typed)
        await day.quiet()
        line = desk._here
        assert line is not None, day.text
        assert line.client == CLIENT, typed
        if typed == MISSPELT:
            await day.press("escape", "escape")
    await day.press("enter")
    await day.on(ClientScreen)


async def book_the_water_test(day: Day) -> BookingScreen:
    """To the slots for a water test whose window is not one day alone."""
    client = day.app.screen
    assert isinstance(client, ClientScreen)
    for _ in range(20):
        line = client._line
        if line is not None and line.promised.kind == "water_test":
            break
        await day.press("down")
    await day.press("b")
    booking = await day.on(BookingScreen)
    await day.until(lambda: len(booking.slots) == 3)
    return booking


async def export(day: Day, path: Path) -> dict[str, Event]:
    await day.press("x")
    await day.on(CalendarFileScreen)
    await day.fill({"first": "2026-03-14", "file": str(path)})
    await day.press("f2")
    await day.on(DiaryScreen)
    return read(path)


async def test_a_client_is_found_and_a_visit_booked_exported_moved_and_another_cancelled(
    day: Day, tmp_path: Path
) -> None:
    path, book = tmp_path / "practice.ics", day.book
    async with day.app.run_test(size=(80, 24), notifications=True) as day.pilot:
        await day.until(lambda: day.app.book_is_open)
        assert isinstance(day.app.screen, MorningScreen)
        await find_client(day)
        booking = await book_the_water_test(day)
        proposed = day.app.screen.query_one(Slots)
        for number, slot in enumerate(booking.slots):
            said = " ".join(str(proposed.get_option_at_index(number).prompt).split())
            assert slot.reasons
            assert all(" ".join(reason.split()) in said for reason in slot.reasons)
        slot = booking.slots[1]
        await day.press("down", "enter")
        await day.quiet()
        await day.press("f2")
        await day.on(Choose)
        await day.shows("Booked:")
        await day.press("2")  # open that day
        diary = await day.on(DiaryScreen)
        await day.shows(f"{slot.at_time:%H:%M}")
        here = diary._here()
        assert here is not None
        assert (here.client, here.on_day, here.at_time) == (CLIENT, slot.on_day, slot.at_time)
        visit = here.id
        await day.press("w")
        await day.quiet()
        assert any(one.id == visit for each in diary.days for one in each.visits)

        first = await export(day, path)
        assert local(first[str(visit)]) == datetime.combine(slot.on_day, slot.at_time)

        await day.press("w")
        await day.quiet()
        assert diary.query_one(DiaryGrid).move_to(visit)
        await day.press("m")
        moving = await day.on(BookingScreen)
        await day.until(lambda: bool(moving.slots))
        await day.fill(
            {"on_day": SUMMER.isoformat(), "at_time": "09:30", "why": "she is away",
             "in_spite": "she tests herself until then"}
        )  # fmt: skip
        moving.query(FormField).first().entry.focus()
        await day.press("f2")
        await day.on(Choose)
        await day.shows("Moved to")
        await day.press("1")
        await day.on(DiaryScreen)
        second = await export(day, path)
        assert second.keys() == first.keys()
        assert local(second[str(visit)]) == datetime.combine(SUMMER, time(9, 30))
        begins = second[str(visit)].dtstart
        assert isinstance(begins, datetime)
        assert begins.astimezone(UTC).time() == time(8, 30)
        raised = {
            uid for uid, one in second.items() if (one.sequence or 0) > (first[uid].sequence or 0)
        }
        assert raised == {str(visit)}

        other = next(one for one in visits_between(book, slot.on_day, SUMMER) if one.id != visit).id
        day.app.push_screen(DiaryScreen(visiting(book, other).on_day, other))
        await day.quiet()
        await day.press("d")
        await day.on(AskReason)
        await day.press(*"mud", "enter")
        await day.on(DiaryScreen)
        was = f"{slot.at_time:%H:%M} → 09:30"
        await record_tells(day, visit, "Maren Birkholt", "she is away", was)
        await record_tells(day, other, "Maren Birkholt", "mud", "planned → cancelled")


async def record_tells(day: Day, visit: UUID, *words: str) -> None:
    """Who, when, why, what it was before and what after, on the page of changes."""
    day.app.push_screen(VisitHistoryScreen(visit, "the visit"))
    await day.on(VisitHistoryScreen)
    for word in (*words, "14 Mar 07:30"):
        await day.shows(word)
    assert "water_test" not in day.text, "words, not names of the code"


async def test_two_people_book_one_slot_and_the_second_is_told(
    day: Day, own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each with an application and a book of their own, on one file; neither looks before."""
    monkeypatch.setattr(others, "LOOK_EVERY_S", 3600.0)
    with open_book(own, now=NOW) as theirs:
        other = Day(theirs, tmp_path / "theirs.json")
        line = next(
            one for one in desk_list(theirs, NOW).lines
            if one.client == CLIENT and one.promised.kind == "water_test"
        )  # fmt: skip
        wish = wish_for(theirs, [line.promised])
        async with (
            day.app.run_test(size=(80, 24)) as day.pilot,
            other.app.run_test(size=(80, 24)) as other.pilot,
        ):
            for one in (day, other):
                await look_at_slots(one, wish)
                await one.press("enter")
                await one.quiet()
            await other.fill({"agreed_with": "Mr Reeve"})
            form = other.app.screen.query_one(Form)
            typed = dict(form.values)
            await day.press("f2")
            await day.on(Choose)
            await other.press("f2")
            await other.shows("came up since you looked")
            assert dict(form.values) == typed
        booked = [one for one in visits_between(theirs, TODAY, SUMMER) if one.purposes]
    assert [one.agreed_with for one in booked if one.purposes[0].about == line.promised.about] == [
        ""
    ]


async def look_at_slots(one: Day, wish: Wish) -> None:
    """The slots of a wish; from within that person's application, of two that run at once."""
    await one.until(lambda: one.app.book_is_open)
    one.app.call_later(lambda: one.app.push_screen(BookingScreen(wish)))
    booking = await one.on(BookingScreen)
    assert booking.slots

"""Booking a visit: proposed slots, objections at their field, a slot that was taken meanwhile."""

from __future__ import annotations

from datetime import date, time, timedelta
from pathlib import Path
from time import sleep
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import (
    MONDAY,
    TODAY,
    TUESDAY,
    WEDNESDAY,
    Practice,
    add_practice,
    app_with,
    on,
    quiet,
    wish_with,
    words,
)
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.diary.booking.values import Wish
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.visits.bookings import book_visit, wish_of, wish_of_visit
from store.diary.kept.visits.diary import visiting, visits_between
from store.errors import BadInput
from store.exams.values import Found
from tests.exams.looked_at import enter, exam, found_in, koi
from tui.screens.diary import booking, booking_work
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.booking_said import half_typed, typed, typed_minutes
from tui.screens.diary.booking_slots import Slots
from tui.screens.diary.diary import DiaryScreen
from tui.screens.parts.dialogs import Choose
from tui.widgets.fields import Form, FormField

LATE = date(2026, 12, 31)
DAY = timedelta(days=1)


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


@pytest.fixture
def wish(sqlite_book: Book, practice: Practice) -> Wish:
    return wish_with(sqlite_book, practice.bound, MONDAY, WEDNESDAY)


def field(app: SmallApp, name: str) -> FormField:
    return next(one for one in app.screen.query(FormField) if one.field.name == name)


async def fill(pilot: Any, values: dict[str, str]) -> None:
    pilot.app.screen.query_one(Form).fill(values)
    await quiet(pilot)


async def told_at(pilot: Any, name: str, says: str) -> str:
    """What stands under a field, once it says that."""
    said = ""
    for _ in range(300):
        await a_moment(0.01)
        said = str(field(pilot.app, name)._error.render())
        if says in said:
            return said
    raise AssertionError(f"{said}\n{screen_text(pilot.app)}")


def all_visits(book: Book) -> int:
    return len(visits_between(book, TODAY, LATE))


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_slots_stand_with_their_reasons_beside_what_is_to_be_kept(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, size: tuple[int, int]
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=size, notifications=True) as pilot:
        await quiet(pilot)
        await looks_as(pilot, f"booking_{size[0]}")
        assert "control after salt, due Mon 16 Mar, between Mon 16 Mar and Wed 18 Mar" in words(app)
        assert "ring 01632 960555; access Mon-Fri 9-12; Ashbourne" in words(app)
        assert isinstance(app.focused, Slots)
        assert len(app.screen.slots) == 3  # type: ignore[attr-defined]


async def test_a_slot_is_taken_booked_and_stands_in_the_diary(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        slot = app.screen.slots[1]  # type: ignore[attr-defined]
        await pilot.press("down", "enter")
        await quiet(pilot)
        assert field(app, "on_day").value == slot.on_day.isoformat()
        assert field(app, "at_time").value == f"{slot.at_time:%H:%M}"
        await fill(pilot, {"agreed_with": "Mrs Tarn", "fixed": "yes", "note": "bring the net"})
        await pilot.press("f2")
        await on(pilot, Choose)
        assert "Booked:" in screen_text(app)
        assert all_visits(sqlite_book) == 3
        await pilot.press("2")
        diary = await on(pilot, DiaryScreen)
        assert "Gorse Cottage" in screen_text(app)
        assert diary.query_one("#diary-list").cursor_key not in (practice.first, practice.second)
    found = next(
        one for one in visits_between(sqlite_book, TODAY, LATE) if one.pond_id == practice.bound
    )
    assert (found.on_day, found.at_time, found.staff_id) == (
        slot.on_day, slot.at_time, slot.staff_id,
    )  # fmt: skip
    assert (found.agreed_with, found.fixed, found.note) == ("Mrs Tarn", True, "bring the net")
    assert [one.says for one in found.purposes] == ["control after salt"]
    assert app.drafts.of("booking", wish.purposes[0].about).values == {}


async def test_down_from_the_last_slot_goes_into_the_form_and_up_comes_back(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down", "down", "down")
        await quiet(pilot)
        assert field(app, "on_day").has_focus_within
        await pilot.press("up")
        await quiet(pilot)
        assert isinstance(app.focused, Slots)


async def test_what_cannot_be_is_told_while_typing_and_is_not_booked(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await fill(
            pilot,
            {"on_day": "18 Mar", "at_time": "10:00", "staff_id": str(practice.bram)},
        )
        said = await told_at(pilot, "staff_id", "Cannot be booked: Bram Oystercatch is away")
        assert "leave" in said
        field(app, "staff_id").entry.focus()
        await pilot.press("f2")
        await told_at(pilot, "staff_id", "Nothing was saved")
        assert all_visits(sqlite_book) == 2
        assert field(app, "on_day").value == "18 Mar"
        await fill(pilot, {"on_day": "2026-03-13"})
        await told_at(pilot, "on_day", "Cannot be booked: 13 Mar 2026 lies behind")


async def test_what_needs_a_reason_opens_a_field_and_is_booked_with_it(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert not field(app, "in_spite").display
        await fill(pilot, {"on_day": "Tue", "at_time": "14:00", "staff_id": str(practice.ada)})
        await told_at(pilot, "at_time", "can be entered 09:00–12:00")
        assert field(app, "at_time").has_class("-reason")
        assert field(app, "in_spite").display
        field(app, "on_day").entry.focus()
        await pilot.press("f2")
        await told_at(pilot, "at_time", "Please say why it goes all the same")
        assert all_visits(sqlite_book) == 2
        await fill(pilot, {"in_spite": "the owner opens for us"})
        await pilot.press("f2")
        await on(pilot, Choose)
    found = visits_between(sqlite_book, TUESDAY, TUESDAY)
    assert [(one.at_time, one.in_spite) for one in found] == [(time(14), "the owner opens for us")]


async def test_a_clean_pond_behind_a_sick_one_is_told_and_needs_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    """The pond of the visit at nine on Monday is infected, that of the booking is clean."""
    sick = exam(koi(found_in("gill clip", Found("gill_flukes", counted=23))), at=act.at - DAY)
    enter(sqlite_book, act, practice.near, sick)
    enter(sqlite_book, act, practice.bound, exam(koi(found_in("gill clip")), at=act.at - 20 * DAY))
    free = wish_of(sqlite_book, pond_id=practice.bound, kind="examination")
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(free))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await quiet(pilot)
        taken = {(one.on_day, one.staff_id) for one in app.screen.slots}  # type: ignore[attr-defined]
        assert (MONDAY, practice.ada) not in taken, "before nine nobody gets in there"
        await fill(pilot, {"on_day": "Mon", "at_time": "10:45", "staff_id": str(practice.ada)})
        said = await told_at(pilot, "at_time", "clean goes before infected")
        assert "Alder Row, lower pond at 09:00 is infected" in said
        assert field(app, "in_spite").display
        await fill(pilot, {"in_spite": "own boots, own net"})
        field(app, "on_day").entry.focus()
        await pilot.press("f2")
        await on(pilot, Choose)
    found = next(
        one for one in visits_between(sqlite_book, MONDAY, MONDAY) if one.at_time == time(10, 45)
    )
    assert found.in_spite == "own boots, own net"


async def test_the_second_person_is_told_and_nothing_typed_is_lost(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("enter")
        await quiet(pilot)
        await fill(pilot, {"agreed_with": "Mrs Tarn"})
        slot = app.screen.slots[0]  # type: ignore[attr-defined]
        other = wish_of(sqlite_book, pond_id=practice.near, kind="examination")
        with sqlite_book.writing(act) as writing:
            book_visit(writing, other, slot.on_day, slot.at_time, slot.staff_id, in_spite="first")
        await pilot.press("f2")
        said = await told_at(pilot, "at_time", "This came up since you looked")
        assert "Alder Row, lower pond" in said
        await quiet(pilot)
        assert all_visits(sqlite_book) == 3
        assert field(app, "agreed_with").value == "Mrs Tarn"
        assert field(app, "at_time").value == f"{slot.at_time:%H:%M}"
        now = [(one.on_day, one.at_time, one.staff_id) for one in app.screen.slots]  # type: ignore[attr-defined]
        assert now
        assert (slot.on_day, slot.at_time, slot.staff_id) not in now


async def test_a_key_pressed_twice_books_once(
    sqlite_book: Book,
    act: Act,
    tmp_path: Path,
    practice: Practice,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begun: list[str] = []

    def slowly(*args: Any) -> UUID:
        begun.append("written")
        sleep(0.3)
        return booking_work.write(*args)

    monkeypatch.setattr(booking, "write", slowly)
    free = wish_of(sqlite_book, pond_id=practice.near, kind="examination")
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(free))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await fill(pilot, {"on_day": "Thu"})  # without an hour nothing else stands in its way
        field(app, "on_day").entry.focus()
        await pilot.press("f2", "f2", "f2")
        await on(pilot, Choose)
        assert begun == ["written"]
        assert all_visits(sqlite_book) == 3


async def test_later_slots_and_those_of_one_vet(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    free = wish_of(sqlite_book, pond_id=practice.near, kind="examination")
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(free))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        last = max(one.on_day for one in app.screen.slots)  # type: ignore[attr-defined]
        await pilot.press("f5")
        await quiet(pilot)
        assert min(one.on_day for one in app.screen.slots) > last  # type: ignore[attr-defined]
        await fill(pilot, {"staff_id": str(practice.bram)})
        await pilot.press("f7")
        await quiet(pilot)
        assert {one.who for one in app.screen.slots} == {"Bram Oystercatch"}  # type: ignore[attr-defined]
        assert "Slots of Bram Oystercatch only." in words(app)
        await pilot.press("f7")
        await quiet(pilot)
        assert "only." not in words(app)


async def test_what_is_to_be_known_of_a_day_stands_beside_it(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    with sqlite_book.writing(act) as writing:
        carol = writing.add("staff", name="Carol Teasel", role="vet", initials="CT")
    free = wish_of(sqlite_book, pond_id=practice.near, kind="examination")
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(free))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await fill(pilot, {"on_day": "Thu", "staff_id": str(carol)})
        assert "Thu 19 Mar 2026. No working hours are entered for Carol Teasel" in words(app)
        assert not app.screen.looked.objections  # type: ignore[attr-defined]


async def test_where_no_slot_is_left_that_is_said_and_one_goes_on_in_the_form(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish, practice: Practice
) -> None:
    with sqlite_book.writing(act) as writing:
        add_day_off(writing, None, MONDAY, date(2026, 6, 30), says="closed")
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert app.screen.slots == ()  # type: ignore[attr-defined]
        assert str(app.screen.query_one("#booking-said", Static).render()).strip()
        assert field(app, "on_day").has_focus_within
        while not app.screen.slots:  # type: ignore[attr-defined]
            await pilot.press("f5")  # four weeks further each time
            await quiet(pilot)
        assert min(one.on_day for one in app.screen.slots) == date(2026, 7, 1)  # type: ignore[attr-defined]


async def test_what_was_typed_is_kept_and_taken_up_again(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish
) -> None:
    for first in (True, False):
        app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await quiet(pilot)
            if first:
                await fill(pilot, {"on_day": "Tue", "note": "bring the net"})
                await pilot.press("escape")
            else:
                assert field(app, "note").value == "bring the net"
                assert field(app, "on_day").value == "Tue"
                assert "Taken up again" in words(app)


async def test_another_kind_takes_its_usual_length_and_its_own_slots(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await fill(pilot, {"kind": "first visit"})
        await quiet(pilot)
        assert field(app, "minutes").value == "90"
        assert {one.minutes for one in app.screen.slots} == {90}  # type: ignore[attr-defined]


async def test_a_word_that_is_no_hour_is_told_at_its_field(
    sqlite_book: Book, act: Act, tmp_path: Path, wish: Wish
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        field(app, "on_day").entry.focus()
        await pilot.press("f2")
        await told_at(pilot, "on_day", "On which day?")
        await fill(pilot, {"on_day": "Tue", "at_time": "noonish"})
        assert "noonish” is no time" not in words(app), "not while somebody types"
        await pilot.press("f2")
        await told_at(pilot, "at_time", "is no time of day")
        await fill(pilot, {"at_time": "10", "minutes": "long"})
        await pilot.press("f2")
        await told_at(pilot, "minutes", "is no length of time")
        assert all_visits(sqlite_book) == 2


async def test_a_visit_is_moved_with_a_reason_and_does_not_stand_in_its_own_way(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    visit = visiting(sqlite_book, practice.first)
    app = app_with(
        sqlite_book, act, tmp_path, lambda: BookingScreen(wish_of_visit(visit), visit=visit)
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "Move the visit: Alder Row, lower pond" in screen_text(app)
        assert field(app, "at_time").value == "09:00"
        await fill(pilot, {"at_time": "9:30"})
        assert not app.screen.looked.objections  # type: ignore[attr-defined]
        field(app, "on_day").entry.focus()
        await pilot.press("f2")
        await told_at(pilot, "why", "Please say why it is moved")
        await fill(pilot, {"why": "the owner asked"})
        await pilot.press("f2")
        await on(pilot, Choose)
        assert "Moved to Mon 16 Mar 2026, at 09:30, Ada Vet, 1 h" in words(app)
    moved = visiting(sqlite_book, practice.first)
    assert (moved.on_day, moved.at_time, moved.rev) == (MONDAY, time(9, 30), visit.rev + 1)
    assert history(sqlite_book, "visit", practice.first)[0].why == "the owner asked"


async def test_a_visit_that_was_moved_meanwhile_is_not_moved_again(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    from store.diary.kept.visits.bookings import move_visit

    visit = visiting(sqlite_book, practice.first)
    app = app_with(
        sqlite_book, act, tmp_path, lambda: BookingScreen(wish_of_visit(visit), visit=visit)
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        with sqlite_book.writing(act) as writing:
            move_visit(
                writing, visit.id, visit.rev, TUESDAY, time(9), practice.ada, why="by another"
            )
        await fill(pilot, {"at_time": "9:30", "why": "the owner asked"})
        field(app, "on_day").entry.focus()
        await pilot.press("f2")
        for _ in range(300):
            await a_moment(0.01)
            if app.told:
                break
        assert app.told
        await pilot.press("enter")
        await on(pilot, BookingScreen)
        assert field(app, "why").value == "the owner asked"
    assert visiting(sqlite_book, practice.first).on_day == TUESDAY


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_names_are_shown_literally(
    sqlite_book: Book, act: Act, tmp_path: Path, name: str
) -> None:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name=name[:200], phone=name[:60])
        site = writing.add("site", client_id=owner, name=name[:200], town=name[:60])
        pond = writing.add("pond", site_id=site, name=name[:200])
    wish = wish_with(sqlite_book, pond, MONDAY, WEDNESDAY)
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await quiet(pilot)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        assert app.told == []


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("", None), ("45", 45), ("45 min", 45), ("1 h 30", 90), ("1h30 min", 90), ("2 hours", 120),
     ("1:05", 65)],
)  # fmt: skip
def test_a_length_is_read_as_people_type_it(text: str, minutes: int | None) -> None:
    assert typed_minutes(text) == minutes


@pytest.mark.parametrize("text", ["long", "h", "1 h x", "-5", "1.5 h", "99999", ":"])
def test_what_is_no_length_is_refused_at_its_field(text: str) -> None:
    with pytest.raises(BadInput, match="no length of time") as trouble:
        typed_minutes(text)
    assert trouble.value.field == "minutes"


def test_what_is_half_typed_stays_open_and_the_rest_is_understood() -> None:
    values = {"on_day": "Tu", "at_time": "9:", "staff_id": "", "minutes": "60"}
    read = half_typed(values, TODAY)
    assert (read.on_day, read.at_time, read.minutes) == (None, None, 60)
    with pytest.raises(BadInput):
        typed(values, TODAY)
    assert half_typed(values | {"on_day": "Tue"}, TODAY).on_day == TUESDAY

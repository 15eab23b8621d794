"""The sheet of a call while somebody talks, the page of a call, the short note."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time
from pathlib import Path
from typing import Any

import pytest
from one_pond import add_one_pond
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp, settled
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.book.ponds import card, ponds
from store.diary.kept.calls.call_notes import (
    CallNote,
    NewCall,
    call_notes,
    calls_due,
    close_call,
    raise_call,
    take_call,
)
from store.diary.kept.visits.bookings import book_visit, wish_for
from store.water.water_tests import list_tests
from tui.screens.desk.call import CallScreen
from tui.screens.desk.call_note import CallNoteScreen
from tui.screens.desk.call_page import CallPageScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.parts.dialogs import AskReason, Choose, Tell
from tui.screens.ponds.pond import PondScreen
from tui.screens.water.water_test import WaterTestScreen
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form

ANSWERS = {
    "caller": "Ina Marsh", "phone": "01632 960 113", "address": "3 Weir End",
    "town": "Holm, HO1 2AB", "volume": "18000 L", "fish": "20 koi", "dead": "6",
    "dead_days": "2", "temperature": "19", "readings": "pH 7.8 TAN 0.5", "use": "never",
    "saw": "mottled gills", "told": "1-4",
}  # fmt: skip


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]], theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    """The screen of that kind, once it is on top and all it asked for has come."""
    for _ in range(200):
        await settled(pilot)
        if isinstance(pilot.app.screen, kind):
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{kind.__name__} never came; there is {pilot.app.screen}.")


async def shows(pilot: Any, text: str) -> None:
    """Wait until the screen shows a text."""
    for _ in range(200):
        if text in screen_text(pilot.app):
            return
        await a_moment(0.02)
    raise AssertionError(f"{text!r} never came:\n{screen_text(pilot.app)}")


def taken(book: Book, act: Act, **whom: Any) -> CallNote:
    with book.writing(act) as writing:
        key = take_call(writing, NewCall(ANSWERS, **whom))
    return next(one for one in call_notes(book, open=False) if one.id == key)


async def typed(pilot: Any, letter: str, text: str) -> None:
    """Jump to a question by its letter, and type."""
    await pilot.press("f3", letter, *text)


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_sheet_looks_as_it_was_looked_at(
    desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    app = desk(CallScreen, theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await typed(pilot, "y", "yes, since six")
        await typed(pilot, "x", "6")
        await typed(pilot, "o", "2 days")
        await typed(pilot, "k", "20 koi")
        await shows(pilot, "15 % a day")
        await looks_as(pilot, f"call_{width}")


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_page_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id), theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await looks_as(pilot, f"call_page_{width}")


@pytest.mark.usefixtures("one_by_one")
async def test_a_call_is_taken_with_the_keyboard_alone_in_any_order(
    sqlite_book: Book, desk: Callable[..., SmallApp]
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        assert "routine   nothing told so far raises it" in screen_text(app)
        assert "ask       Who is calling?" in screen_text(app)
        await typed(pilot, "s", "yes")
        await shows(pilot, "next day  sores or patches")
        await typed(pilot, "h", "no")
        assert "next day  sores or patches" in screen_text(app)
        await typed(pilot, "y", "they crowd at the inlet")
        await shows(pilot, "same day  fish gasp")
        await shows(pilot, "taken as yes")
        await typed(pilot, "v", "4000 gal")
        await shows(pilot, "UK or US gallons?")
        await pilot.press(*["backspace"] * 3, *"UK gal")
        await shows(pilot, "18,184 L")
        await pilot.press("f2")
        await shows(pilot, "Please say who called. Nothing was saved.")
        assert call_notes(sqlite_book) == ()
        await pilot.press(*"Ina Marsh", "enter", *"01632 960113", "enter", *"3 Weir End")
        await shows(pilot, "not in the book: F2 enters client, site and pond")
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
        await shows(pilot, "Call: Ina Marsh, Pond")
    (note,) = call_notes(sqlite_book)
    assert note.urgency == "same day"
    assert note.answers["gasping"] == "they crowd at the inlet"
    assert [one.name for one in clients(sqlite_book)] == ["Ina Marsh"]
    assert app.changes == 1
    assert not app.told


async def test_escape_from_the_jump_goes_back_and_letters_lead_nowhere_else(
    desk: Callable[..., SmallApp],
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press("f3")
        await shows(pilot, "the letter of a question")
        await pilot.press("1", "€")
        assert isinstance(app.screen, CallScreen)
        await pilot.press("escape")
        await shows(pilot, "ask       Who is calling?")
        await pilot.press("f3", "c")
        await shows(pilot, "How warm is the water now?")


async def test_who_calls_is_found_as_it_is_typed_and_offered(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_one_pond(sqlite_book, act)
    owner = card(sqlite_book, pond).client
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Aldr Row")
        await shows(pilot, "F5: in the book is Alder Row")
        await pilot.press("f5")
        await until(pilot, Choose)
        await shows(pilot, "Alder Row, lower pond")
        await pilot.press("2")
        await until(pilot, CallScreen)
        await shows(pilot, "whom      Alder Row, lower pond (F5 chooses another)")
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
    (note,) = call_notes(sqlite_book)
    assert (note.client_id, note.pond_id) == (owner.id, pond)
    assert note.caller == "Aldr Row"
    assert len(clients(sqlite_book)) == 1


async def test_nobody_is_entered_twice_without_being_asked(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    first = taken(sqlite_book, act)
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"somebody", "enter", *"01632960113")
        await shows(pilot, "F5: in the book is Ina Marsh")
        await pilot.press("f2")
        await until(pilot, Choose)
        await pilot.press("escape")
        await until(pilot, CallScreen)
        assert len(call_notes(sqlite_book)) == 1
        await pilot.press("f2")
        await until(pilot, Choose)
        await pilot.press("enter")
        await until(pilot, CallPageScreen)
    assert [one.client_id for one in call_notes(sqlite_book)] == [first.client_id] * 2
    assert len(clients(sqlite_book)) == 1
    async with (other := desk(CallScreen)).run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"another", "enter", *"01632960113")
        await shows(pilot, "F5: in the book is Ina Marsh")
        await pilot.press("f5")
        await until(pilot, Choose)
        await pilot.press("3")
        await until(pilot, CallScreen)
        await shows(pilot, "not in the book: F2 enters client, site and pond")
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
        assert not other.told
    assert len(clients(sqlite_book)) == 2


async def test_a_call_of_a_known_client_begins_with_name_and_number(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallScreen(note.client_id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await shows(pilot, "whom      Ina Marsh (F5 chooses another)")
        await shows(pilot, "01632 960 113")
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
    assert len(call_notes(sqlite_book, client_id=note.client_id)) == 2
    assert len(clients(sqlite_book)) == 1


async def test_what_was_typed_is_there_again_with_whom_it_is_about(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    add_one_pond(sqlite_book, act)
    first = desk(CallScreen)
    async with first.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Alder")
        await shows(pilot, "F5: in the book is Alder Row")
        await pilot.press("f5")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, CallScreen)
        await typed(pilot, "y", "yes")
        await pilot.press("escape")
        await pilot.pause()
    again = desk(CallScreen)
    async with again.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, CallScreen)
        await shows(pilot, "same day  fish gasp")
        await shows(pilot, "whom      Alder Row (F5 chooses another)")
        assert screen.query_one(Form).values["gasping"] == "yes"
        await pilot.press("f8")
        await shows(pilot, "routine   nothing told so far raises it")
        await shows(pilot, "whom      nobody yet")


async def test_only_the_fixed_list_is_said_and_why_it_is_urgent_is_told(
    desk: Callable[..., SmallApp],
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await typed(pilot, "k", "20 koi")
        await typed(pilot, "q", "mottled gills")
        await shows(pilot, "Vet at once. No fish, water or nets move.")
        await typed(pilot, "#", "all")
        await shows(pilot, "1 air on, 2 stop feeding, 3 put nothing more in")
        await shows(pilot, "of the list: 1, 2, 3, 4, 5, 6")
        await pilot.press("f7")
        await until(pilot, Tell)
        shown = " ".join(screen_text(app).replace("│", " ").split())
        assert "no dose and no name for it" in shown
        assert "6 Move no fish, water or nets, in or out." in shown
        for _ in range(3):
            await pilot.press("pagedown")
            shown += " ".join(screen_text(app).replace("│", " ").split())
        assert "Fish Health Inspectorate" in shown
        assert "herpes" not in shown.casefold()


async def test_told_readings_become_a_water_test_only_when_asked(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    assert note.pond_id is not None
    app = desk(lambda: CallPageScreen(note.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        assert list_tests(sqlite_book, note.pond_id) == ()
        await pilot.press("t")
        await until(pilot, WaterTestScreen)
        await shows(pilot, "19C pH 7.8 TAN 0.5 // told on the telephone")
        await shows(pilot, "pH 7.8")
        assert list_tests(sqlite_book, note.pond_id) == ()
        await pilot.press("enter")
        for _ in range(100):
            if list_tests(sqlite_book, note.pond_id):
                break
            await a_moment(0.02)
    (test,) = list_tests(sqlite_book, note.pond_id)
    assert test.readings["temperature_c"].value == 19.0
    assert test.note == "told on the telephone"


async def test_a_test_begun_before_is_not_overwritten_by_what_was_told(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id))
    app.drafts.of("water_test", note.pond_id).keep({"line": "pH 6.9"})
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await pilot.press("t")
        await until(pilot, WaterTestScreen)
        await shows(pilot, "pH 6.9")
    assert app.drafts.of("water_test", note.pond_id).values["line"] == "pH 6.9"


async def test_a_call_is_closed_with_a_reason_and_opened_again(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        assert "x close" in screen_text(app)
        await pilot.press("x")
        await until(pilot, AskReason)
        await pilot.press("enter")
        await shows(pilot, "Please give a reason")
        await pilot.press(*"they sold the fish", "enter")
        await shows(pilot, "closed    they sold the fish")
        assert calls_due(sqlite_book, app.today()) == ()
        await shows(pilot, "o open again")
        await pilot.press("o")
        await until(pilot, AskReason)
        await pilot.press(*"they did not", "enter")
        await shows(pilot, "taken by Ada Vet · open")
    assert len(calls_due(sqlite_book, app.today())) == 1


async def test_somebody_who_closed_it_first_is_told(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        with sqlite_book.writing(act) as writing:
            close_call(writing, note.id, 1, "seen already")
        await pilot.press("x")
        await until(pilot, AskReason)
        await pilot.press(*"mine", "enter")
        await until(pilot, Tell)
        await shows(pilot, "closed already")
        await pilot.press("escape")
        await shows(pilot, "closed    seen already")


async def test_the_page_tells_the_line_under_the_cursor_and_opens_the_pond(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        assert "until the vet has spoken." in screen_text(app)
        await pilot.press("enter")
        await until(pilot, Tell)
        await pilot.press("end", "escape")
        await until(pilot, CallPageScreen)
        await pilot.press("p")
        await until(pilot, PondScreen)


async def test_from_the_page_the_visit_is_booked_and_named_there(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    note = taken(sqlite_book, act)
    app = desk(lambda: CallPageScreen(note.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await pilot.press("b")
        await until(pilot, BookingScreen)
        await shows(pilot, "Book a visit: Ina Marsh, Pond")
        await pilot.press("escape")
        await until(pilot, CallPageScreen)
        (due,) = calls_due(sqlite_book, app.today())
        wish = wish_for(sqlite_book, [due])
        with sqlite_book.writing(act) as writing:
            book_visit(
                writing, wish, app.today(), time(15, 0), act.by, in_spite="a Saturday, but urgent"
            )
        await pilot.press("f5")
        await shows(pilot, "visit     visit planned for 14 Mar 2026 at 15:00")
    # Until it took place the desk shows it as booked.
    assert len(calls_due(sqlite_book, app.today())) == 1


async def test_the_short_note_has_four_fields_and_is_linked_to_the_pond(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_one_pond(sqlite_book, act)
    owner = card(sqlite_book, pond).client
    app = desk(lambda: CallNoteScreen(owner.id, pond, "Alder Row, lower pond"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, CallNoteScreen)
        await pilot.press("f2")
        await shows(pilot, "Please write who called. Nothing was saved.")
        screen.query_one(Form).fill({
            "caller": "Mrs Alder", "said": "koi gasping", "advised": "air on, no feed",
            "next_step": "ring her at six",
        })  # fmt: skip
        await pilot.pause()
        await pilot.press("f2")
        await shows(pilot, "Saved.")
    (note,) = call_notes(sqlite_book, pond_id=pond)
    assert (note.urgency, note.advised, note.state) == ("same day", ["air on, no feed"], "open")
    page = desk(lambda: CallPageScreen(note.id))
    async with page.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await shows(pilot, "ring her at six")
        assert "t water test" not in screen_text(page)
    assert [one.name for one in ponds(sqlite_book)] == ["lower pond"]


async def test_what_drives_a_terminal_is_harmless(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        key = take_call(
            writing, NewCall({"caller": "[/b]\x1b[2J", "saw": "[red]gasping[/", "fish": "x" * 400})
        )
    app = desk(lambda: CallPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await shows(pilot, "[/b]�[2J")
        assert "\x1b" not in screen_text(app)
        await pilot.press("enter")
        await until(pilot, Tell)


async def test_a_call_is_raised_by_hand_while_it_is_taken(
    sqlite_book: Book, desk: Callable[..., SmallApp]
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Ina Marsh")
        await typed(pilot, "s", "yes")
        await shows(pilot, "next day  sores or patches")
        await pilot.press("f4")
        await until(pilot, AskReason)
        await shows(pilot, "Raise this call to same day")
        await pilot.press("enter")
        await shows(pilot, "Please give a reason")
        await pilot.press(*"he leaves tonight", "enter")
        await until(pilot, CallScreen)
        await shows(pilot, "same day  he leaves tonight (raised by hand); sores or patches")
        await pilot.press("f7")
        await until(pilot, Tell)
        await shows(pilot, "Raised by hand to same day: he leaves tonight")
        await pilot.press("escape")
        await until(pilot, CallScreen)
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
        await shows(pilot, "same day  he leaves tonight; sores or patches")
    (note,) = call_notes(sqlite_book)
    assert (note.urgency, note.raised[0].before) == ("same day", "next day")
    assert note.urgent_by[0].startswith("He leaves tonight. Raised by hand from next day to same")


async def test_what_is_raised_is_chosen_and_goes_back_to_what_was_told(
    sqlite_book: Book, desk: Callable[..., SmallApp]
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Ina Marsh", "f4")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        await pilot.press(*"she cries", "enter")
        await until(pilot, CallScreen)
        await shows(pilot, "next day  she cries (raised by hand)")
        await pilot.press("f4")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, AskReason)
        await shows(pilot, "she cries")
        await pilot.press("escape")
        await until(pilot, CallScreen)
        await shows(pilot, "next day  she cries (raised by hand)")
        await pilot.press("f4")
        await until(pilot, Choose)
        await shows(pilot, "what was told: routine")
        await pilot.press("3")
        await until(pilot, CallScreen)
        await shows(pilot, "routine   nothing told so far raises it")
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
    (note,) = call_notes(sqlite_book)
    assert (note.urgency, note.urgent_by) == ("routine", [])


async def test_a_reason_by_hand_is_kept_where_what_is_told_later_asks_for_more(
    sqlite_book: Book, desk: Callable[..., SmallApp]
) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Ina Marsh", "f4")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        await pilot.press(*"she cries", "enter")
        await until(pilot, CallScreen)
        await typed(pilot, "y", "yes")
        await shows(pilot, "same day  fish gasp")
        assert "she cries" not in screen_text(app)
        await pilot.press("f4")
        await until(pilot, Choose)
        await shows(pilot, "what was told: same day")
        await pilot.press("escape")
        await until(pilot, CallScreen)
        await pilot.press("f2")
        await until(pilot, CallPageScreen)
    (note,) = call_notes(sqlite_book)
    assert note.urgency == "same day"
    assert note.urgent_by[-1].startswith("She cries. Raised by hand to next day by Ada Vet")
    assert note.raised == ()


async def test_what_was_raised_is_there_again_until_the_sheet_is_begun_anew(
    sqlite_book: Book, desk: Callable[..., SmallApp]
) -> None:
    first = desk(CallScreen)
    async with first.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await pilot.press(*"Ina", "f4")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, AskReason)
        await pilot.press(*"she cries", "enter")
        await until(pilot, CallScreen)
        await shows(pilot, "same day  she cries")
        await pilot.press("escape")
        await pilot.pause()
    again = desk(CallScreen)
    async with again.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await shows(pilot, "same day  she cries (raised by hand)")
        await pilot.press("f4")
        await pilot.pause()
        await pilot.press("escape")
        await until(pilot, CallScreen)
        await pilot.press("f8")
        await shows(pilot, "routine   nothing told so far raises it")
    assert call_notes(sqlite_book) == ()


async def test_nothing_is_more_urgent_than_the_same_day(desk: Callable[..., SmallApp]) -> None:
    app = desk(CallScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallScreen)
        await typed(pilot, "y", "yes")
        await shows(pilot, "same day  fish gasp")
        await pilot.press("f4")
        await shows(pilot, "It is same day already")
        assert isinstance(app.screen, CallScreen)


async def test_a_call_is_raised_from_its_page_and_never_lowered(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        key = take_call(writing, NewCall({"caller": "Ina Marsh", "sores": "yes"}))
    app = desk(lambda: CallPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        await shows(pilot, "next day  sores or patches")
        await pilot.press("u")
        await until(pilot, AskReason)
        await pilot.press(*"it spr", "escape")
        await until(pilot, CallPageScreen)
        await pilot.press("u")
        await until(pilot, AskReason)
        await shows(pilot, "it spr")
        await pilot.press("end", *"eads", "enter")
        await until(pilot, CallPageScreen)
        await shows(pilot, "same day  it spreads; sores or patches")
        await shows(pilot, "urgent    It spreads. Raised by hand from next day to same day by Ada")
        await looks_as(pilot, "call_page_raised_80")
        await pilot.press("u")
        await pilot.pause()
        assert isinstance(app.screen, CallPageScreen), "there is no way down"
    (due,) = calls_due(sqlite_book, app.today())
    assert due.kind == "call_same_day"
    assert app.drafts.of("raise-call", key).values == {}


async def test_somebody_who_raised_it_first_is_told(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        key = take_call(writing, NewCall({"caller": "Ina Marsh"}))
    app = desk(lambda: CallPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CallPageScreen)
        with sqlite_book.writing(act) as writing:
            raise_call(writing, key, 1, "same day", "seen it")
        await pilot.press("u")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        await pilot.press(*"mine", "enter")
        await until(pilot, Tell)
        await shows(pilot, "It can be raised and never")
        await pilot.press("escape")
        await shows(pilot, "same day  seen it")
    assert app.drafts.of("raise-call", key).values == {"why": "mine"}

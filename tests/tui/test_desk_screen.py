"""The desk: its lines, finding while typing, logging a call in one key, what becomes of a promise."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from desk_on_screen import (
    DeskApp,
    Made,
    a_desk,
    due_line,
    shown,
    tried,
    until,
    until_said,
    usual_client,
)
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_lines, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.due import Booked, DeskList
from store.diary.kept.calls.call_notes import call_notes
from store.diary.kept.promised.attempts import attempts_of, log_attempt
from store.diary.kept.promised.follow_ups import days_of_follow_up, follow_up, move_day, promise
from tui.app import PondroundApp
from tui.screens.desk import desk as desk_module
from tui.screens.desk.call import CallScreen
from tui.screens.desk.call_page import CallPageScreen
from tui.screens.desk.client import ClientScreen
from tui.screens.desk.desk import DeskScreen, Held
from tui.screens.desk.desk_acts import together
from tui.screens.desk.desk_lines import FILTERS, said_late, said_rung, said_span
from tui.screens.desk.when import WhenScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.ponds.pond import PondScreen
from tui.themes import DAY, NIGHT
from tui.widgets.fields import FormField
from tui.widgets.grid import LineGrid

TODAY = date(2026, 3, 14)


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Made:
    def make(theme: str = NIGHT) -> DeskApp:
        return DeskApp(sqlite_book, act, DeskScreen, tmp_path / "drafts.json", theme=theme)

    return make


@pytest.fixture
def of_values(monkeypatch: pytest.MonkeyPatch, act: Act, sqlite_book: Book) -> DeskList:
    """The desk shows plain values in place of what stands in the book."""
    from store.diary.kept.due import client_picture as pictures

    listed = a_desk(act.at, sqlite_book.today(act.at))
    picture = pictures.client_picture(sqlite_book, usual_client(sqlite_book, act), act.at)
    monkeypatch.setattr(pictures, "client_picture", lambda book, client, now: picture)
    _feed(monkeypatch, listed)
    return listed


def _feed(monkeypatch: pytest.MonkeyPatch, listed: DeskList) -> None:
    def read(book: Book, now: datetime, held: Held | None) -> Any:
        return listed, None, book.zone

    monkeypatch.setattr(desk_module, "_read", read)


def add_clients(book: Book, act: Act) -> dict[str, UUID]:
    places = (
        ("Alder Row", "01632 960 123", "4 Mill Lane", "Nether Wick", "lower pond"),
        ("Harbour Hotel", "01632 960 456", "Quay 1", "Coldharbour", "atrium"),
        ("Mossgate Nursery", "01632 960 789", "Glebe Road", "Mossgate", "vat 1"),
    )
    keys: dict[str, UUID] = {}
    with book.writing(act) as writing:
        for name, phone, street, town, pond in places:
            keys[name] = writing.add("client", name=name, phone=phone)
            site = writing.add(
                "site", client_id=keys[name], name="garden", address=street, town=town
            )
            keys[pond] = writing.add("pond", site_id=site, name=pond)
    return keys


def promised(book: Book, act: Act, client: UUID, says: str, on: date, **more: Any) -> UUID:
    with book.writing(act) as writing:
        return promise(
            writing, client_id=client, kind=more.pop("kind", "ring"), says=says, first_on=on, **more
        )


def keys_of(app: DeskApp) -> list[object]:
    return [row.key for row in app.screen.query_one(LineGrid)._rows]


# Words


@pytest.mark.parametrize(
    ("due", "last", "said"),
    [(-5, -3, "late 3 d"), (0, 0, "today"), (0, 3, "today"), (2, 2, "in 2 d"), (-1, 2, "2 d left"),
     (-1, 0, "last day"), (-1000, -900, "late 900 d"), (-10900, -10800, "late 29 y")],
)  # fmt: skip
def test_how_late_it_is_stands_in_words_that_fit(due: int, last: int, said: str) -> None:
    days = timedelta(days=1)
    line = due_line(1, "A", "b", TODAY + due * days, TODAY, last_on=TODAY + last * days)
    assert said_late(line, TODAY) == said
    assert len(said) <= 11


def test_what_is_booked_outside_of_its_window_is_still_told_as_late() -> None:
    day = timedelta(days=1)
    late = Booked(UUID(int=1), TODAY + 2 * day, None, "Ada Vet", False)
    fits = Booked(UUID(int=1), TODAY + 2 * day, None, "Ada Vet", True)
    far = Booked(UUID(int=1), TODAY + 20 * day, None, "Ada Vet", True)
    said = [
        said_late(due_line(1, "A", "b", TODAY - day, TODAY, booked=one), TODAY)
        for one in (late, fits, far)
    ]
    assert said == ["late 1 d", "booked Mon", "booked"]
    hours = [
        said_late(
            due_line(1, "A", "b", TODAY, TODAY, booked=Booked(UUID(int=1), TODAY, at, "A", True)),
            TODAY,
        )
        for at in (time(9, 30), None)
    ]
    assert hours == ["visit 09:30", "visit today"]


def test_the_last_attempt_is_told_by_hours_on_the_day_and_by_days_after_it(act: Act) -> None:
    hour = timedelta(hours=1)
    said = [
        said_rung(tried(1, act.at - ago, outcome), act.at)
        for ago, outcome in (
            (hour / 2, "reached"), (5 * hour, "no answer"), (24 * hour, "left word"),
            (41 * 24 * hour, "ring back"),
        )
    ]  # fmt: skip
    assert said == ["spoke now", "nobody 5 h", "word 1 d", "again 41 d"]
    assert said_rung(None, act.at) == ""


def test_a_span_of_days_names_its_month_once() -> None:
    assert said_span(date(2028, 2, 28), date(2028, 2, 29)) == "28–29 Feb"
    assert said_span(date(2026, 3, 30), date(2026, 4, 2)) == "30 Mar – 2 Apr"


def test_one_visit_keeps_what_shares_its_site_and_its_window() -> None:
    day = timedelta(days=1)
    dose = due_line(1, "A", "dose", TODAY, TODAY, last_on=TODAY + day, pond="one")
    near = due_line(1001, "A", "control", TODAY + day, TODAY, pond="two")
    far = due_line(2001, "A", "round", TODAY + 9 * day, TODAY, pond="two")
    call = due_line(3001, "A", "ring", TODAY, TODAY, needs="call")
    other = due_line(2, "B", "dose", TODAY, TODAY, pond="one")
    assert together(dose, [dose, near, far, call, other]) == (dose, near)


# Looks


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_it_looks_as_it_was_looked_at(
    desk: Made, of_values: DeskList, width: int, height: int, theme: str
) -> None:
    app = desk(theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        if width > 112:
            await until_said(pilot, "ring 17:30")  # the client under the cursor, at the right
        await looks_as(pilot, f"desk_{width}")


async def test_a_line_tells_whom_to_ring_and_the_strip_tells_the_rest(
    desk: Made, of_values: DeskList
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        lines = screen_lines(app)
        first = next(line for line in lines if "formalin 2 of 3" in line)
        for part in ("late 3 d", "formalin 2 of 3", "01632 960 123", "nobody 5 h"):
            assert part in first
        text = " ".join(screen_text(app).split())
        assert "against costia" in text
        assert "stake 8 × (1 + 3 d late ÷ 1 d) = 32" in text
        assert "window 10–11 Mar" in text
        assert "Rung 2 times" in text
        await pilot.press("end")
        text = " ".join(screen_text(app).split())
        assert "Booked Mon 16 Mar 10:00 with Ada Vet" in text


async def test_the_keys_of_the_telephone_fit_the_foot(desk: Made, of_values: DeskList) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        foot = screen_lines(app)[-1]
        words = ("open", "reached", "word", "no answer", "ring back", "find", "book", "help")
        assert [word for word in words if word not in foot] == []


async def test_a_filter_leaves_what_it_names(desk: Made, of_values: DeskList) -> None:
    kept = {
        key: [one.promised.about for one in of_values.lines if stays(one)]
        for key, (_, stays) in FILTERS.items()
    }
    assert [len(kept[key]) for key in ("all", "desk", "vet", "booked", "ring")] == [7, 5, 1, 1, 1]
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for number, key in enumerate(FILTERS, 1):
            await pilot.press("f")
            await until(pilot, Choose)
            await pilot.press(str(number))
            await until(pilot, DeskScreen)
            assert keys_of(app) == kept[key]
        assert "to be rung back 1 of 7" in screen_text(app)
        await pilot.press("escape")
        assert len(keys_of(app)) == 7


async def test_the_last_attempt_goes_first_and_the_number_stays(
    desk: Made, of_values: DeskList
) -> None:
    app = desk()
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await shown(pilot)
        text = screen_text(app)
        assert "nobody 5 h" not in text
        assert "01632 960 123" in text
        assert "late 3 d" in text


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_texts_of_people_stay_text(
    monkeypatch: pytest.MonkeyPatch, desk: Made, act: Act, text: str
) -> None:
    line = due_line(
        1, text, text, TODAY, TODAY, pond=text, phone=text, because=text, by=text, weighed=text,
        tried=(tried(2, act.at, "no answer", text),),
    )  # fmt: skip
    _feed(monkeypatch, DeskList(act.at, TODAY, (line,), 0, 1, 0, 0))
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))


# Finding


async def test_an_empty_desk_says_what_to_do(desk: Made) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "Nothing is due" in screen_text(app)
        assert "0 late, 0 due" in screen_text(app)


async def test_a_few_letters_or_digits_and_enter_open_the_client(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Harbour Hotel"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for typed, client in (
            ("ald", "Alder Row"), ("0456", "Harbour Hotel"), ("nethr", "Alder Row"),
            ("harbor", "Harbour Hotel"), ("mil", "Alder Row"), ("456", "Harbour Hotel"),
            ("vat", "Mossgate Nursery"), ("ald", "Alder Row"), ("moss", "Mossgate Nursery"),
        ):  # fmt: skip
            await pilot.press("slash", *typed, "enter")
            await until(pilot, ClientScreen)
            assert app.opened == keys[client], typed
            await pilot.press("escape")
            await shown(pilot)
            await pilot.press("escape")
            await shown(pilot)


async def test_clients_with_nothing_due_are_found_below_those_with_something(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Harbour Hotel"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert len(keys_of(app)) == 1
        await pilot.press("slash", *"01632")
        await until_said(pilot, "3 found", "nothing due")
        assert {keys["Alder Row"], keys["Mossgate Nursery"]} < set(keys_of(app))
        assert isinstance(keys_of(app)[0], str)  # the one with something due stands first
        await pilot.press(*"zzz")
        await until_said(pilot, "Nobody fits")
        await pilot.press("escape")
        await until_said(pilot, "ring about the quote", "1 due")
        await pilot.press("escape")
        await shown(pilot)
        assert isinstance(app.focused, LineGrid)
        assert not app.screen.query_one("#desk-find").display


async def test_letters_type_while_one_searches(sqlite_book: Book, act: Act, desk: Made) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("slash", *"rwnau")
        await shown(pilot)
        assert app.screen.query_one("#desk-text").value == "rwnau"  # type: ignore[attr-defined]
        assert attempts_of(sqlite_book, keys["Alder Row"]) == ()


# On the telephone


async def test_one_key_logs_how_it_went_and_one_takes_it_back(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("u")  # nothing to take back yet
        await pilot.press("n")
        await until_said(
            pilot, "Logged 07:30: nobody answered at Alder Row. u takes it back.", "nobody now"
        )
        (one,) = attempts_of(sqlite_book, keys["Alder Row"])
        assert one.outcome == "no answer"
        assert one.about.startswith("hand:")
        await pilot.press("w")
        await until_said(pilot, "left word for Alder Row", "word now")
        await pilot.press("u")
        await until_said(pilot, "Taken back: left word for Alder Row", "nobody now")
        await pilot.press("u")
        await until_said(pilot, "Taken back: nobody answered", "Not rung yet.")
        assert attempts_of(sqlite_book, keys["Alder Row"]) == ()
        await pilot.press("u")
        await shown(pilot)
        assert app.told == []


async def test_to_ring_back_asks_for_a_day_and_an_hour(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("a")
        await until(pilot, WhenScreen)
        text = screen_text(app)
        for part in ("Ring back Alder Row", "01632 960 123", "Sun 15 Mar", "14:30, or empty"):
            assert part in text
        await pilot.press(*"Mon", "enter", *"25", "enter", "enter")
        await until_said(pilot, "is no time of day")
        await pilot.press("backspace", "backspace", *"14.30", "f2")
        await until(pilot, DeskScreen)
        await until_said(pilot, "ring Alder Row back Mon 16 Mar 14:30")
        (one,) = attempts_of(sqlite_book, keys["Alder Row"])
        assert (one.outcome, one.ring_on, one.ring_at) == (
            "ring back", date(2026, 3, 16), time(14, 30)
        )  # fmt: skip


async def test_an_hour_that_lies_behind_is_told_at_its_field_and_nothing_typed_is_lost(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("a")
        await until(pilot, WhenScreen)
        await pilot.press(*"today", "enter", *"06:00", "enter", *"the quote", "enter")
        text = await until_said(pilot, "lies behind")
        assert "06:00" in text
        assert attempts_of(sqlite_book, keys["Alder Row"]) == ()
        await pilot.press("escape")
        await until(pilot, DeskScreen)
        await pilot.press("a")
        await until(pilot, WhenScreen)
        assert "the quote" in screen_text(app)


# What becomes of a promise by hand


async def test_what_was_promised_by_hand_is_kept_today(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("1")
        await until_said(pilot, "Kept today: ring about the quote", "Nothing is due")
        (day,) = days_of_follow_up(sqlite_book, key)
        assert (day.state, day.kept_on) == ("kept", TODAY)
        await pilot.press("u")
        await until_said(pilot, "Taken back: kept today: ring about the quote", "1 due")
    assert days_of_follow_up(sqlite_book, key) == ()
    assert follow_up(sqlite_book, key).state == "open"


async def test_it_is_moved_with_its_reason(sqlite_book: Book, act: Act, desk: Made) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("3")
        await until(pilot, WhenScreen)
        await pilot.press(*"Mon", "f2")
        await until_said(pilot, "Please say why")
        await pilot.press(*"away", "f2")
        await until(pilot, DeskScreen)
        await until_said(pilot, "Moved to Mon 16 Mar", "in 2 d")
    (day,) = days_of_follow_up(sqlite_book, key)
    assert (day.state, day.moved_to, day.why) == ("open", date(2026, 3, 16), "away")


async def test_a_moved_day_that_was_kept_is_taken_back_to_where_it_stood(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    with sqlite_book.writing(act) as writing:
        move_day(writing, str(About("hand", key, day=TODAY)), date(2026, 3, 16), "away")
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("1")
        await until_said(pilot, "Kept today: ring about the quote", "u takes it back")
        await pilot.press("u")
        await until_said(pilot, "Taken back: kept today: ring about the quote", "in 2 d")
    (day,) = days_of_follow_up(sqlite_book, key)
    assert (day.state, day.moved_to, day.kept_on) == ("open", date(2026, 3, 16), None)
    assert follow_up(sqlite_book, key).state == "open"


async def test_the_cursor_goes_to_a_call_that_was_taken(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("c")
        await until(pilot, CallScreen)
        await pilot.press(*"Ina Marsh", "enter", *"01632 960113", "enter", *"3 Weir End")
        for field in app.screen.query(FormField):
            if field.field.name == "gasping":
                field.entry.focus()
        await pilot.pause()
        await pilot.press(*"yes", "f2")
        await until(pilot, CallPageScreen)
        await pilot.press("escape")
        await until(pilot, DeskScreen)
        (note,) = call_notes(sqlite_book)
        wanted = str(About("call", note.id))
        for _ in range(100):
            if app.screen.query_one(LineGrid).cursor_key == wanted:
                break
            await a_moment(0.02)
        assert app.screen.query_one(LineGrid).cursor_key == wanted
        assert len(keys_of(app)) == 2


async def test_it_is_dropped_with_its_reason(sqlite_book: Book, act: Act, desk: Made) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("4")
        await until(pilot, AskReason)
        await pilot.press(*"sold", "enter")
        await until_said(pilot, "Dropped: ring about the quote", "Nothing is due")
    (day,) = days_of_follow_up(sqlite_book, key)
    assert (day.state, day.why) == ("dropped", "sold")


async def test_one_that_repeats_is_ended_for_good(sqlite_book: Book, act: Act, desk: Made) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "weekly ring", TODAY, repeats="FREQ=WEEKLY")
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("5")
        await until(pilot, AskReason)
        await pilot.press(*"moved", "enter")
        await until_said(pilot, "Ended: weekly ring", "Nothing is due")
    assert (follow_up(sqlite_book, key).state, follow_up(sqlite_book, key).ended_why) == (
        "ended", "moved"
    )  # fmt: skip


async def test_a_water_test_that_is_due_leads_to_its_form(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    from tui.screens.water.water_test import WaterTestScreen

    pond = add_one_pond(sqlite_book, act)
    later = Act(act.by, act.at + timedelta(days=9))
    app = desk()
    app.act = later
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        grid = app.screen.query_one(LineGrid)
        assert grid.move_to(f"test:{pond.hex}"), screen_text(app)
        await pilot.press("d")
        screen = await until(pilot, WaterTestScreen)
        assert screen.pond == pond


async def test_of_one_that_repeats_the_days_missed_before_are_asked_about(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    then = Act(act.by, act.at - timedelta(days=21))
    key = promised(
        sqlite_book, then, keys["Alder Row"], "weekly ring", TODAY - timedelta(days=21),
        repeats="FREQ=WEEKLY",
    )  # fmt: skip
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        grid = app.screen.query_one(LineGrid)
        newest = f"hand:{key.hex}:{TODAY.isoformat()}"
        assert grid.move_to(newest), screen_text(app)
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("1")
        await until_said(pilot, "Missed before it: 21 Feb 2026, 28 Feb 2026, 7 Mar 2026")
        await pilot.press("2")
        await until_said(pilot, "Kept today: weekly ring")
        await shown(pilot)
    days = {one.due_on: one.state for one in days_of_follow_up(sqlite_book, key)}
    assert days == {
        date(2026, 2, 21): "dropped", date(2026, 2, 28): "dropped", date(2026, 3, 7): "dropped",
        TODAY: "kept",
    }  # fmt: skip


async def test_taken_back_with_all_days_that_were_dropped_with_it(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    then = Act(act.by, act.at - timedelta(days=14))
    key = promised(
        sqlite_book, then, keys["Alder Row"], "weekly ring", TODAY - timedelta(days=14),
        repeats="FREQ=WEEKLY",
    )  # fmt: skip
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to(f"hand:{key.hex}:{TODAY.isoformat()}")
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("4")
        await until_said(pilot, "Missed before it")
        await pilot.press("2")
        await until(pilot, AskReason)
        await pilot.press(*"away", "enter")
        await until_said(pilot, "Dropped: weekly ring")
        assert len(days_of_follow_up(sqlite_book, key)) == 3
        await pilot.press("u")
        await until_said(pilot, "Taken back: dropped: weekly ring")
    assert days_of_follow_up(sqlite_book, key) == ()


async def test_each_key_leads_on(sqlite_book: Book, act: Act, desk: Made) -> None:
    from tui.screens.desk.call import CallScreen
    from tui.screens.desk.call_note import CallNoteScreen
    from tui.screens.desk.promise import PromiseScreen
    from tui.screens.desk.promises import PromisesScreen
    from tui.screens.desk.reminder import ReminderScreen
    from tui.screens.diary.booking import BookingScreen

    keys = add_clients(sqlite_book, act)
    pond = keys["lower pond"]
    promised(sqlite_book, act, keys["Alder Row"], "look again", TODAY, kind="visit", pond_id=pond)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for key, kind in (
            ("b", BookingScreen), ("p", PromiseScreen), ("c", CallScreen), ("v", PromisesScreen),
            ("o", PondScreen), ("m", ReminderScreen), ("t", CallNoteScreen),
        ):  # fmt: skip
            await pilot.press(key)
            screen = await until(pilot, kind)
            if kind is BookingScreen:
                assert [one.says for one in screen.wish.purposes] == ["look again"]
            await pilot.press("escape")
            await until(pilot, DeskScreen)
            await shown(pilot)
    assert app.told == []


async def test_the_place_of_the_desk_is_one_key_away_and_follows_the_book(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    keys = add_clients(sqlite_book, act)
    app = PondroundApp(
        lambda: sqlite_book, now=lambda: act.at, person="Ada Vet", drafts=tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for _ in range(100):
            await a_moment(0.03)
            if app.book_is_open:
                break
        await pilot.press("5")
        await until(pilot, DeskScreen)
        await until_said(pilot, "Nothing is due")
        promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
        app.changed()
        await until_said(pilot, "1 due", "Alder Row")
        await pilot.press("enter")
        await until(pilot, ClientScreen)
        await until_said(pilot, "ring about the quote")
        await pilot.press("n")
        await until_said(pilot, "nobody answered at Alder Row", "today no answer")
        await pilot.press("escape")
        await until(pilot, DeskScreen)
        await until_said(pilot, "nobody now")
        await pilot.press("u")  # what was logged on the page of the client is taken back here too
        await until_said(pilot, "Taken back: nobody answered at Alder Row", "Not rung yet.")
    assert attempts_of(sqlite_book, keys["Alder Row"]) == ()


async def test_a_ring_back_comes_up_by_itself_and_is_done_once_the_client_was_reached(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    with sqlite_book.writing(Act(act.by, act.at - timedelta(days=1))) as writing:
        log_attempt(
            writing, keys["Harbour Hotel"], "ring back", ring_on=TODAY, ring_at=time(14, 30)
        )
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await until_said(pilot, "ring 14:30", "Harbour Hotel", "again 1 d")
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("1")
        await until_said(pilot, "Harbour Hotel was reached", "Nothing is due")
        await pilot.press("u")
        await until_said(pilot, "Taken back: Harbour Hotel was reached", "ring 14:30")


async def test_once_somebody_was_reached_what_was_promised_waits_to_be_answered(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    key = promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("r")
        await until_said(pilot, "Alder Row was reached. d enters what became of it", "spoke now")
        await pilot.press("d")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, WhenScreen)
        await pilot.press(*"tomorrow", "f2")
        await until_said(pilot, "lies ahead")
        await pilot.press("escape")
        await until(pilot, DeskScreen)
    assert days_of_follow_up(sqlite_book, key) == ()


async def test_the_morning_list_is_not_reckoned_anew_where_only_a_call_was_logged(
    sqlite_book: Book, act: Act, desk: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    from store.courses.kept import morning

    reckoned: list[datetime] = []
    true_list = morning.morning_list

    def counting(book: Book, now: datetime) -> Any:
        reckoned.append(now)
        return true_list(book, now)

    monkeypatch.setattr(morning, "morning_list", counting)
    keys = add_clients(sqlite_book, act)
    promised(sqlite_book, act, keys["Alder Row"], "ring about the quote", TODAY)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        first = len(reckoned)
        assert first
        await pilot.press("n")
        await until_said(pilot, "nobody now")
        await shown(pilot)
        assert len(reckoned) == first
        with sqlite_book.writing(act) as writing:
            writing.change("pond", keys["atrium"], 1, test_every_days=7)
        app.changed()
        await shown(pilot)
        await until_said(pilot, "water test")
        assert len(reckoned) > first


async def test_a_number_is_never_cut(monkeypatch: pytest.MonkeyPatch, desk: Made, act: Act) -> None:
    long = "+353 1 632 960 456"
    lines = tuple(
        due_line(number, "Mossgate Nursery and Garden Centre", "water test", TODAY, TODAY,
                 pond="vat 3", phone=phone, tried=(tried(9, act.at - timedelta(days=41)),))
        for number, phone in ((1, long), (2, "632960"))
    )  # fmt: skip
    _feed(monkeypatch, DeskList(act.at, TODAY, lines, 0, 2, 0, 0))
    for size in ((80, 24), (60, 20)):
        async with desk().run_test(size=size, notifications=True) as pilot:
            await shown(pilot)
            assert long in screen_text(pilot.app)


async def test_back_from_a_client_the_next_name_takes_the_place_of_the_last(
    sqlite_book: Book, act: Act, desk: Made
) -> None:
    keys = add_clients(sqlite_book, act)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for typed, client in (("alder", "Alder Row"), ("moss", "Mossgate Nursery")):
            await pilot.press(*(["slash"] if client == "Alder Row" else []), *typed)
            await until_said(pilot, "1 found", client)
            await pilot.press("enter")
            await until(pilot, ClientScreen)
            assert app.opened == keys[client]
            await pilot.press("escape")
            await until(pilot, DeskScreen)
            await shown(pilot)

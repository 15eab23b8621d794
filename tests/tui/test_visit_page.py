"""The page of one visit: all of it, moved, cancelled, said to be done, and who changed what."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from diary_on_screen import (
    MONDAY,
    TUESDAY,
    Practice,
    add_practice,
    app_with,
    on,
    quiet,
    wish_with,
    words,
)
from screen_text import screen_text

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import card
from store.book.told.history import history
from store.diary.kept.promised.follow_ups import follow_up, promise
from store.diary.kept.promised.open_days import open_days
from store.diary.kept.visits.bookings import book_visit, wish_for
from store.diary.kept.visits.diary import visiting
from store.diary.kept.visits.terms import terms_of
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.diary import DiaryScreen
from tui.screens.diary.visit import VisitScreen
from tui.screens.diary.visit_history import VisitHistoryScreen
from tui.screens.diary.visit_terms import TermsScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.parts.history import HistoryScreen
from tui.screens.ponds.pond import PondScreen
from tui.widgets.fields import Form


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


async def test_all_of_a_visit_stands_on_its_page(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    from dataclasses import replace
    from datetime import time

    wish = wish_with(sqlite_book, practice.bound, MONDAY, MONDAY)
    wish = replace(wish, agreed_with="Mrs Tarn", note="bring the net", fixed=True)
    with sqlite_book.writing(act) as writing:
        visit = book_visit(
            writing, wish, TUESDAY, time(14), practice.ada, in_spite="the owner opens for us"
        )
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(visit))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        text = words(app)
        for said in (
            "Tue 17 Mar 2026, 14:00–15:00, 1 h, agreed: not to be moved",
            "who goes Ada Vet",
            "it keeps control after salt, due Mon 16 Mar, on that day; Tue 17 Mar lies outside",
            "where Gorse Cottage, garden, koi pond",
            "ring 01632 960555",
            "agreed with Mrs Tarn",
            "access Mon-Fri 9-12 the gate is stiff",
            "in spite booked all the same, because: the owner opens for us",
            "note bring the net",
        ):
            assert said in text, said


async def test_prices_and_consent_are_written_down_and_stay_in_the_record(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(practice.first))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "terms no prices are written down, consent form not asked for" in words(app)
        for prices, consent in (("£60 and mileage", "to be signed"), ("£70", "signed")):
            await pilot.press("t")
            await on(pilot, TermsScreen)
            app.screen.query_one(Form).fill({"prices": prices, "consent": consent})
            await quiet(pilot)
            await pilot.press("f2")
            await on(pilot, VisitScreen)
        await quiet(pilot)
        assert "terms £70; consent form signed (" in words(app)
        await pilot.press("c")
        await on(pilot, VisitHistoryScreen)
        assert "£60 and mileage" in words(app)
    terms = terms_of(sqlite_book, [practice.first])[practice.first]
    assert (terms.prices, terms.consent) == ("£70", "signed")


async def test_it_is_cancelled_with_a_reason_that_stays(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(practice.first))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("d")
        await on(pilot, AskReason)
        await pilot.press("escape")
        await on(pilot, VisitScreen)
        assert visiting(sqlite_book, practice.first).state == "planned"
        await pilot.press("d")
        await on(pilot, AskReason)
        await pilot.press("enter")
        assert "Please give a reason" in words(app)
        await pilot.press(*"frost", "enter")
        await on(pilot, VisitScreen)
        assert "cancelled" in screen_text(app)
        assert "m move" not in screen_text(app), "what is closed stays as it is"
        await pilot.press("m")
        await quiet(pilot)
        assert isinstance(app.screen, VisitScreen)
    assert visiting(sqlite_book, practice.first).state == "cancelled"
    assert history(sqlite_book, "visit", practice.first)[0].why == "frost"


async def test_it_took_place_and_what_was_promised_by_hand_is_kept(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    from datetime import time

    today = sqlite_book.today(act.at)
    client = card(sqlite_book, practice.near).client.id
    with sqlite_book.writing(act) as writing:
        key = promise(
            writing, client_id=client, kind="visit", pond_id=practice.near, says="look at the liner",
            first_on=today,
        )  # fmt: skip
    due = next(one for one in open_days(sqlite_book, today, today) if str(key.hex) in one.about)
    with sqlite_book.writing(act) as writing:
        visit = book_visit(
            writing, wish_for(sqlite_book, [due]), today, time(9), practice.ada, in_spite="Saturday"
        )
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(visit))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("e")
        await on(pilot, AskReason)
        await pilot.press(*"sound", "enter")
        await on(pilot, VisitScreen)
        assert "done" in screen_text(app)
    found = visiting(sqlite_book, visit)
    assert (found.state, found.note) == ("done", "sound")
    assert not [one for one in open_days(sqlite_book, today, today) if str(key.hex) in one.about]
    assert follow_up(sqlite_book, key).id == key


async def test_a_move_and_what_was_before_stand_in_the_record(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(practice.first))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("m")
        screen = await on(pilot, BookingScreen)
        form = screen.query_one(Form)
        form.fill({"on_day": "Tue", "at_time": "10:15", "minutes": "75", "why": "the owner asked"})
        await quiet(pilot)
        await pilot.press("tab")
        await pilot.press("f2")
        await on(pilot, Choose)
        await pilot.press("1")
        await on(pilot, VisitScreen)
        assert "Tue 17 Mar 2026, 10:15–11:30, 1 h 15" in words(app)
        await pilot.press("c")
        await on(pilot, VisitHistoryScreen)
        text = words(app)
        for said in (
            "Ada Vet changed: the owner asked",
            "Day: Mon 16 Mar 2026 → Tue 17 Mar 2026",
            "Hour: 09:00 → 10:15",
            "Length, min: 60 → 75",
            "Ada Vet entered",
            "Who goes: Ada Vet",
        ):
            assert said in text, said
        assert isinstance(app.screen, HistoryScreen)


async def test_a_visit_that_lies_behind_asks_whether_it_took_place(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(
        sqlite_book, Act(act.by, act.at + timedelta(days=5)), tmp_path,
        lambda: VisitScreen(practice.first),
    )  # fmt: skip
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await quiet(pilot)
        assert "It lies behind: did it take place (e), or is it cancelled (d)?" in words(app)
        await pilot.press("e")
        await on(pilot, AskReason)
        assert "It is entered as of Mon 16 Mar." in words(app)
        await pilot.press(*"as agreed", "enter")
        await on(pilot, VisitScreen)
        assert "It lies behind" not in words(app)
    assert visiting(sqlite_book, practice.first).on_day == MONDAY


async def test_its_pond_and_its_day_are_a_key_away(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(practice.first))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("o")
        await on(pilot, PondScreen)
        await pilot.press("escape")
        await on(pilot, VisitScreen)
        await pilot.press("y")
        diary = await on(pilot, DiaryScreen)
        assert diary.query_one("#diary-list").cursor_key == practice.first
        assert diary.day == MONDAY


async def test_a_visit_of_a_day_ahead_is_done_as_of_today(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    today = sqlite_book.today(act.at)
    assert visiting(sqlite_book, practice.first).on_day == today + timedelta(days=2)
    app = app_with(sqlite_book, act, tmp_path, lambda: VisitScreen(practice.first))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("e")
        await on(pilot, AskReason)
        assert "It is entered as of today." in words(app)
        await pilot.press(*"went early", "enter")
        await on(pilot, VisitScreen)
    assert visiting(sqlite_book, practice.first).on_day == today

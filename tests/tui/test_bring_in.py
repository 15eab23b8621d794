"""A file on its way into the book by keys: named, recognised, looked at, asked about, saved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.exams.deaths import deaths_of
from store.exchange.looking.recognised import Recognised
from store.exchange.looking.telling_words import WORDS
from store.exchange.looking.ways import WAYS
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.exchange.bring_in import BringInScreen
from tui.screens.exchange.bring_in_said import gainsays, said_look, typed_path
from tui.screens.exchange.bringing import KINDS, LOOKS_LIKE, kind_of
from tui.screens.exchange.plan_answer import Answers
from tui.screens.exchange.plan_kinds import DeathsIn, EventsIn
from tui.screens.parts.dialogs import Ask, Choose, Tell
from tui.widgets.fields import Form

EVENTS = """pond,on_day,kind,amount,note
BRO-1,3/2/2026,fish added,4,from the spring show
BRO-1,4/2/2026,power cut,2,
NOT-1,5/2/2026,power cut,2,
"""


def test_every_kind_opens_its_page_and_has_a_name() -> None:
    for kind in KINDS:
        assert kind.screen(Path("any.csv"), None).QUESTION
        assert kind.name in LOOKS_LIKE
    assert set(WORDS) | set(WAYS) <= set(LOOKS_LIKE)
    assert {one.name for one in KINDS} >= set(WAYS)


def test_what_is_said_of_a_file_fits_what_was_chosen() -> None:
    deaths, staff = kind_of("deaths"), kind_of("staff")
    assert deaths is not None
    assert staff is not None
    seen = Recognised("deaths", "its headings “Dead”", 9)
    assert said_look(seen, None, "") == "It looks like a mortality book: its headings “Dead”."
    assert "seems to name no pond" in said_look(seen, deaths, "")
    named = replace(seen, names_ponds=True)
    assert "not used" in said_look(named, deaths, "BRO-1", own=True)
    assert "needs no pond" in said_look(seen, staff, "BRO-1")
    assert said_look(seen, staff, "").startswith("It looks rather like a mortality book")
    # A faint likeness says nothing against a person, nor do lists that are nearly the same.
    assert not gainsays(replace(seen, weight=3), staff)
    ponds = kind_of("ponds")
    assert ponds is not None
    assert not gainsays(Recognised("clients", "", 9), ponds)
    assert said_look(Recognised("", "nothing is known"), None, "") == (
        "Nothing is known. Please say what it is."
    )


@pytest.mark.parametrize(
    ("typed", "path"),
    [
        ("  list.csv ", "list.csv"),
        ('"/tmp/pond list.csv"', "/tmp/pond list.csv"),
        ("/tmp/pond\\ list.csv ", "/tmp/pond list.csv"),
        ("file:///tmp/pond%20list.csv", "/tmp/pond list.csv"),
        ("it's.csv", "it's.csv"),
    ],
)
def test_a_path_as_a_terminal_writes_it(typed: str, path: str) -> None:
    assert typed_path(typed).as_posix() == path


async def _until(pilot: Any, kind: type[Any]) -> Any:
    for _ in range(300):
        await a_moment(0.02)
        if isinstance(pilot.app.screen, kind):
            await pilot.pause()
            return pilot.app.screen
    raise AssertionError(screen_text(pilot.app))


async def _shows(pilot: Any, text: str) -> None:
    for _ in range(300):
        await a_moment(0.02)
        if text in " ".join(screen_text(pilot.app).replace("│", " ").split()):
            return
    raise AssertionError(screen_text(pilot.app))


def _types(pilot: Any, path: Path | str) -> None:
    pilot.app.screen.query(Input).first().value = str(path)


def _pond(book: Book, act: Act) -> UUID:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        pond: UUID = writing.add("pond", site_id=site, name="Lower pond", code="BRO-1")
    return pond


async def test_a_file_is_recognised_asked_about_and_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = _pond(sqlite_book, act)
    path = tmp_path / "diary.csv"
    path.write_text(EVENTS, "utf-8")
    app = SmallApp(sqlite_book, act, DirectoryScreen, tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await _until(pilot, DirectoryScreen)
        await pilot.press("i")
        form = await _until(pilot, BringInScreen)
        # What cannot be opened is told at once, and the form stays.
        _types(pilot, tmp_path / "dairy.csv")
        await _shows(pilot, "Is diary.csv meant?")
        await pilot.press("f2")
        await pilot.pause(0.1)
        assert app.screen is form
        _types(pilot, f"'{path}'")
        await _shows(pilot, "A row an event")
        await _shows(pilot, "It looks like events: its headings “kind”")
        assert form.query_one(Form).values["kind"] == "events"
        # Another kind than it looks like is read only where a person says so once more.
        form.query_one(Form).fill({"kind": "visits"})
        await _shows(pilot, "It looks rather like events")
        await pilot.press("f2")
        await _until(pilot, Choose)
        await pilot.press("1")
        await _until(pilot, EventsIn)
        await _shows(pilot, "1 asked nothing is read before that is answered")
        await pilot.press("enter")
        await _until(pilot, Choose)
        await _shows(pilot, "may be day and month in either order")
        await pilot.press("1")
        await _until(pilot, EventsIn)
        await _shows(pilot, "2 events to save 1 left out")
        await looks_as(pilot, "plan_in_80")
        await pilot.press("a", "enter")
        await _until(pilot, Tell)
        await _shows(pilot, "No pond goes by “NOT-1”")
        await pilot.press("escape", "f2")
        await _until(pilot, Ask)
        assert events(sqlite_book, pond) == ()
        await pilot.press("right", "enter")
        await _shows(pilot, "2 there already")
        assert [one.on_day.isoformat() for one in events(sqlite_book, pond)] == [
            "2026-02-04", "2026-02-03",
        ]  # fmt: skip
        assert app.changes == 1
        assert "NOT-1" in (tmp_path / "diary.refused.csv").read_text("utf-8")


async def test_of_a_sheet_that_nobody_knows_a_person_says_the_columns(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = _pond(sqlite_book, act)
    path = tmp_path / "tom.csv"
    path.write_text("Kept by Tom;;\nSeen;Where;Gone\n2026-02-03;BRO-1;2\n", "utf-8")
    app = SmallApp(sqlite_book, act, lambda: DeathsIn(path), tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for column, meaning, shown in (
            ("1", "4", "Seen is day"), ("2", "2", "Where is pond code"), ("3", "6", "1 count of"),
        ):  # fmt: skip
            await _until(pilot, Answers)
            await pilot.press(column)
            await _shows(pilot, "What is the column")
            await pilot.press(meaning)
            await _shows(pilot, shown)
        await _until(pilot, DeathsIn)
        await _shows(pilot, "Brook House, Lower")
        await pilot.press("f2")
        await _until(pilot, Ask)
        await pilot.press("right", "enter")
        await _shows(pilot, "1 count of deaths saved 1 there already")
    assert [one.dead for one in deaths_of(sqlite_book, pond)] == [2]

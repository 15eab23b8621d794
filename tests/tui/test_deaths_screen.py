"""The deaths of a pond on the screen and on the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from called import NOW, Call, harmful
from one_pond import add_one_pond
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp, settled
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.errors import BadInput
from store.exams.deaths import deaths_of
from store.exams.head_counts import head_counts_of
from tests.exams.dying_pond import add_dying_pond
from tui.screens.parts.dialogs import Ask, AskReason, Choose
from tui.screens.ponds.death_entry import DeathEntryScreen, HeadCountScreen, typed_fish, typed_size
from tui.screens.ponds.deaths import DeathsScreen, DeathsTold
from tui.screens.ponds.event import EventScreen
from tui.screens.ponds.pond import PondScreen
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form


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


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_dying_pond_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    pond = add_dying_pond(sqlite_book, act)
    app = desk(lambda: DeathsScreen(pond), theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await until(pilot, DeathsScreen)
        await looks_as(pilot, f"deaths_{width}")


async def test_from_the_pond_dead_fish_are_entered(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_one_pond(sqlite_book, act)
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, PondScreen)
        await pilot.press("D")
        await until(pilot, DeathsScreen)
        assert "Nobody has entered a count of dead fish yet" in screen_text(app)
        await pilot.press("n")
        screen = await until(pilot, DeathEntryScreen)
        form = screen.query_one(Form)
        await pilot.press("f2")
        await settled(pilot)
        await shows(pilot, "How many? Write 0 where none was found.")
        form.fill({"dead": "2", "species": "koi", "length": "30-45", "signs": "sunken eyes"})
        await pilot.press("f3")
        await until(pilot, Choose)
        await pilot.press("enter")
        await until(pilot, DeathEntryScreen)
        await shows(pilot, "sunken eyes, film")
        await pilot.press("f2")
        await until(pilot, DeathsScreen)
        await shows(pilot, "2 koi dead, 30-45 cm; eyes sunken, grey film")
        await pilot.press("h")
        screen = await until(pilot, HeadCountScreen)
        screen.query_one(Form).fill({"fish": "31", "species": "koi", "how": "counted",
                                     "on_day": "yesterday"})  # fmt: skip
        await pilot.press("f2")
        await until(pilot, DeathsScreen)
        await shows(pilot, "29 koi left: 31 counted 13 Mar − 2 died")
        assert "29 fish left" in screen_text(app)
    (one,) = deaths_of(sqlite_book, pond)
    assert (one.dead, one.length_low_cm, one.signs) == (2, 30.0, ["sunken_eyes", "film"])
    assert len(head_counts_of(sqlite_book, pond)) == 1


async def test_what_is_doubtful_is_asked_and_looked_at_again(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_dying_pond(sqlite_book, act)
    app = desk(lambda: DeathEntryScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DeathEntryScreen)
        screen.query_one(Form).fill({"dead": "2", "species": "koi"})
        await pilot.press("f2")
        await until(pilot, Ask)
        assert "entered 2 koi dead for 14 Mar 2026 already" in screen_text(app)
        await pilot.press("escape")
        await until(pilot, DeathEntryScreen)
        assert len(deaths_of(sqlite_book, pond)) == 4
        screen.query_one(Form).fill({"dead": "20"})
        await pilot.press("f2")
        await until(pilot, Ask)
        assert "more than there were" in screen_text(app)
        await pilot.press("right", "enter")
        for _ in range(200):
            if len(deaths_of(sqlite_book, pond)) > 4:
                break
            await a_moment(0.02)
    assert {one.dead for one in deaths_of(sqlite_book, pond)} == {2, 3, 4, 20}


async def test_an_entry_is_put_right_and_struck(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_dying_pond(sqlite_book, act)
    app = desk(lambda: DeathsScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, DeathsScreen)
        await pilot.press("enter")
        await until(pilot, Choose)
        await pilot.press("1")
        screen = await until(pilot, DeathEntryScreen)
        assert screen.query_one(Form).values["signs"].startswith("gills mottled")
        screen.query_one(Form).fill({"dead": "1"})
        await pilot.press("f2")
        await until(pilot, AskReason)
        await pilot.press(*"recount", "enter")
        await until(pilot, DeathsScreen)
        await shows(pilot, "10 of 26 koi dead")
        await pilot.press("enter")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, AskReason)
        await pilot.press(*"other", "enter")
        await until(pilot, DeathsScreen)
        await shows(pilot, "9 of 26 koi dead")
        await pilot.press("s")
        await shows(pilot, "struck")
        await pilot.press("a")
        await until(pilot, DeathsTold)
        shown = screen_text(app)
        assert "competent authority" in shown
        assert "confirmed" not in shown.casefold()
    reasons = {one.struck_why for one in deaths_of(sqlite_book, pond, struck=True)}
    assert reasons == {"", "recount", "other"}


async def test_the_event_of_dead_fish_names_the_page_of_deaths(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_one_pond(sqlite_book, act)
    app = desk(lambda: EventScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, EventScreen)
        screen.query_one(Form).fill({"kind": "fish_died"})
        await settled(pilot)
        await shows(pilot, "the page of deaths")


def test_numbers_and_sizes_as_people_type_them() -> None:
    assert [typed_fish(text, "dead") for text in ("0", " 12 ", "1,200", "none")] == [0, 12, 1200, 0]
    for text in ("", "two", "-1", "1.5", "many"):
        with pytest.raises(BadInput) as refused:
            typed_fish(text, "dead")
        assert refused.value.field == "dead"
    assert typed_size("30-45 cm") == (30.0, 45.0)
    assert typed_size("12,5") == (12.5, 12.5)
    assert typed_size("30 to 45") == (30.0, 45.0)
    assert typed_size(" ") == (None, None)
    with pytest.raises(BadInput):
        typed_size("long")


def test_the_deaths_on_the_command_line(call: Call, own: Path) -> None:
    with open_book(own, now=NOW) as book:
        vet = next(one for one in staff(book) if one.is_vet)
        add_dying_pond(book, Act(vet.id, NOW))
    code, out, err = call("deaths", "--book", own, "Wren", "Lane")
    assert (code, err) == (0, "")
    assert not harmful(out)
    assert "STOP: koi herpesvirus disease is suspected" in out
    assert "42.3 % (95 % interval 23.4 to 63.1 %)" in " ".join(out.split())
    assert "confirmed" not in out.casefold()
    assert all(len(line) <= 80 for line in out.splitlines())
    code, out, err = call("deaths", "--book", own, "Wren", "Lane", "--json")
    found = json.loads(out)
    assert (code, err) == (0, "")
    assert found["stock"]["total"] == 55
    koi = next(one for one in found["mortality"] if one["species"] == "koi")
    assert (koi["dead"], koi["of"]) == (11, 26)
    assert koi["percent"] == pytest.approx(42.3077, abs=1e-3)
    assert (round(koi["low_percent"], 1), round(koi["high_percent"], 1)) == (23.4, 63.1)
    assert [one["dead"] for one in found["days"]] == [2, 3, 4, 2]
    assert found["suspicions"][0]["level"] == "act"
    assert found["suspicions"][0]["contacts"] == [
        "6 fish came on 23 Feb 2026: koi from a show, no quarantine"
    ]
    assert UUID(found["pond"])


def test_a_pond_without_deaths_says_that_nobody_looked(call: Call, own: Path) -> None:
    code, out, err = call("deaths", "--book", own, "PEN-1")
    assert (code, err) == (0, "")
    assert "nobody has looked" in out
    assert "STOP" not in out
    assert json.loads(call("deaths", "--book", own, "PEN-1", "--json")[1])["days"] == []

"""The directory with its forms, on a real small book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client, clients
from store.book.kits import kits
from store.book.listing import listing
from store.book.people import staff
from store.book.ponds import card
from store.book.practice import practice
from tui.messages import BookOpened
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.parts.edit import BothVersions, EditScreen, NewPondScreen
from tui.screens.parts.history import HistoryScreen
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

PLACES = (
    ("Brook House", "01632 960 123", "Garden", "Nether Wick", ("Lower pond", "Upper pond")),
    ("Alder Hill Hotel", "01632 960 456", "Atrium", "Coldharbour", ("Atrium",)),
    ("Alder Hill Hotel", "01632 960 456", "Terrace", "Coldharbour", ("Basin 1", "Basin 2")),
    ("Mossgate Nursery", "01632 960 789", "Glasshouse", "Mossgate", ("Vat 1", "Vat 2", "Vat 3")),
)


def fill(book: Book, act: Act) -> dict[str, UUID]:
    keys: dict[str, UUID] = {}
    with book.writing(act) as writing:
        for owner, phone, place, town, ponds in PLACES:
            if owner not in keys:
                keys[owner] = writing.add("client", name=owner, phone=phone)
            site = writing.add(
                "site", client_id=keys[owner], name=place, town=town, address="4 Mill Lane",
                postcode="ZZ9 9ZZ", access_hours="Mon to Fri, 8 to 16",
                access_notes="Gate code with the porter; the dog is friendly.",
            )  # fmt: skip
            keys[place] = site
            for pond in ponds:
                keys[pond] = writing.add("pond", site_id=site, name=pond)
    return keys


class Shut(Exception):
    """The book was asked before it was open."""


class WaitingApp(SmallApp):
    """Its book opens later; until then asking for it is a fault."""

    book_is_open = False

    @property
    def book(self) -> Book:
        if not self.book_is_open:
            raise Shut
        return self._kept

    @book.setter
    def book(self, book: Book) -> None:
        self._kept = book


class DeskApp(SmallApp):
    """As the small application, with the pond that was opened last."""

    opened: UUID | None = None

    def open_pond(self, pond: UUID) -> None:
        self.opened = pond


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., DeskApp]:
    def make(first: Callable[[], Screen[Any]] = DirectoryScreen, theme: str = NIGHT) -> DeskApp:
        return DeskApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


async def shown(pilot: Any) -> None:
    """Everything that was asked of the store has been shown."""
    for _ in range(3):
        await pilot.app.workers.wait_for_complete(
            [one for one in pilot.app.workers if one.group in ("directory", "history")]
        )
        await pilot.pause()


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    """The topmost screen, once it is one of that kind."""
    for _ in range(100):
        if isinstance(pilot.app.screen, kind):
            await pilot.pause()
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}")


def keys_of(app: DeskApp) -> list[object]:
    grid = app.screen.query_one(LineGrid)
    return [row.key for row in grid._rows]


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, NIGHT), (60, 20, DAY)]
)
async def test_it_looks_as_it_was_looked_at(
    desk: Callable[..., DeskApp], sqlite_book: Book, act: Act, width: int, height: int, theme: str
) -> None:
    fill(sqlite_book, act)
    app = desk(theme=theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("down", "down")
        await shown(pilot)
        await looks_as(pilot, f"directory_{width}")


async def test_it_is_narrowed_while_typing(
    desk: Callable[..., DeskApp], sqlite_book: Book, act: Act
) -> None:
    keys = fill(sqlite_book, act)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert len(keys_of(app)) == 8
        await pilot.press("slash", *"lowr")
        await shown(pilot)
        assert keys_of(app) == [keys["Lower pond"]]
        assert "1 of 8 ponds" in screen_text(app)
        await pilot.press("escape", *"960456")
        await shown(pilot)
        assert set(keys_of(app)) == {keys["Atrium"], keys["Basin 1"], keys["Basin 2"]}
        await pilot.press("down", "enter")
        assert app.opened in {keys["Atrium"], keys["Basin 1"], keys["Basin 2"]}
        await pilot.press("escape")
        await shown(pilot)
        assert len(keys_of(app)) == 8
        await pilot.press("slash", *"nobody at all")
        await shown(pilot)
        assert "Nothing fits “nobody at all”" in screen_text(app)


async def test_an_empty_book_says_what_to_do_and_takes_a_client_in_one_go(
    desk: Callable[..., DeskApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "Press n to enter a client" in screen_text(app)
        await pilot.press("n")
        await until(pilot, NewPondScreen)
        await looks_as(pilot, "new_client_80")
        await pilot.press("f2")
        await pilot.pause(0.1)
        form = app.screen.query_one(Form)
        assert form._fields["client.name"]._error.display  # told at its field
        await pilot.press(*"Brook House")
        form.fill({"pond.test_seasons": "winter"})
        await pilot.press("f2")
        await pilot.pause(0.1)
        assert form._fields["pond.test_seasons"]._error.display
        assert listing(sqlite_book).lines == ()
        form.fill({"pond.test_seasons": "Nov – Feb every 30 d", "pond.name": "Lower pond"})
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        await shown(pilot)
        assert [line.pond for line in listing(sqlite_book).lines] == ["Lower pond"]
        assert app.changes == 1
        assert "Lower pond" in screen_text(app)


async def test_what_is_typed_is_kept_as_a_draft(
    desk: Callable[..., DeskApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("n")
        await until(pilot, NewPondScreen)
        await pilot.press(*"Brook")
        await pilot.press("escape")
        await until(pilot, DirectoryScreen)
        await pilot.press("n")
        screen = await until(pilot, NewPondScreen)
        assert screen.query_one(Form).values["client.name"] == "Brook"


async def test_a_pond_is_changed_struck_and_restored(
    desk: Callable[..., DeskApp], sqlite_book: Book, act: Act
) -> None:
    keys = fill(sqlite_book, act)
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to(keys["Upper pond"])
        await pilot.press("c")
        await until(pilot, Choose)
        await pilot.press("1")
        screen = await until(pilot, EditScreen)
        assert "not asked yet" in screen_text(app)
        await looks_as(pilot, "edit_pond_80")
        screen.query_one(Form).fill({"name": "Top pond", "use": "food"})
        await pilot.press("f2")
        for _ in range(100):
            if "name the person who said so" in screen_text(app):
                break
            await a_moment(0.02)
        assert card(sqlite_book, keys["Upper pond"]).pond.use == "not asked"
        screen.query_one(Form).fill({"said_by": "Mrs Alder"})
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        await shown(pilot)
        assert card(sqlite_book, keys["Upper pond"]).pond.use == "food"
        await pilot.press("x")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        await pilot.press(*"filled in", "enter")
        await until(pilot, DirectoryScreen)
        await pilot.pause(0.1)
        await shown(pilot)
        assert keys["Upper pond"] not in keys_of(app)
        assert "1 struck not shown" in screen_text(app)
        await pilot.press("s")
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to(keys["Upper pond"])
        await shown(pilot)
        assert "struck: Top pond" in screen_text(app)
        assert "filled in" in screen_text(app)
        await pilot.press("u")
        await until(pilot, AskReason)
        await pilot.press(*"dug out again", "enter")
        await until(pilot, DirectoryScreen)
        await pilot.pause(0.1)
        await shown(pilot)
        assert not card(sqlite_book, keys["Upper pond"]).struck
        await pilot.press("h")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, HistoryScreen)
        await shown(pilot)
        app.clear_notifications()
        await pilot.pause()
        await looks_as(pilot, "history_80")
        said = screen_text(app)
        assert "Ada Vet restored: dug out again" in said
        assert "Pond: Upper pond → Top pond" in said
        await pilot.press("escape")
        await until(pilot, DirectoryScreen)


async def test_both_versions_are_shown_and_the_person_chooses(
    desk: Callable[..., DeskApp], sqlite_book: Book, act: Act
) -> None:
    keys = fill(sqlite_book, act)
    key = keys["Brook House"]
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to(keys["Lower pond"])
        await pilot.press("c")
        await until(pilot, Choose)
        await pilot.press("3")
        screen = await until(pilot, EditScreen)
        screen.query_one(Form).fill({"phone": "01632 960 999"})
        await pilot.pause()
        with sqlite_book.writing(act) as writing:
            writing.change("client", key, 1, phone="01632 960 111", email="a@example.org")
        await pilot.press("f2")
        await until(pilot, BothVersions)
        said = screen_text(app)
        assert "01632 960 111" in said
        assert "01632 960 999" in said
        await looks_as(pilot, "both_versions_80")
        await pilot.press("escape")  # the safe way: back to the form, nothing saved
        await until(pilot, EditScreen)
        assert client(sqlite_book, key).phone == "01632 960 111"
        await pilot.press("f2")
        await until(pilot, BothVersions)
        await pilot.press("right", "right", "enter")
        await until(pilot, DirectoryScreen)
        now = client(sqlite_book, key)
        # Mine where I typed, theirs where only they did.
        assert (now.phone, now.email) == ("01632 960 999", "a@example.org")


async def test_the_practice_its_people_and_kits(
    desk: Callable[..., DeskApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("p")
        await until(pilot, Choose)
        await pilot.press("2")  # a new kit
        screen = await until(pilot, EditScreen)
        screen.query_one(Form).fill(
            {"name": "Case 1", "ammonia_form": "nh4", "expires_on": "2027-04-30"}
        )
        await pilot.pause()
        await looks_as(pilot, "edit_kit_80")
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        assert [(one.name, one.ammonia_form) for one in kits(sqlite_book)] == [("Case 1", "nh4")]
        await pilot.press("p")
        await until(pilot, Choose)
        await pilot.press("1")
        screen = await until(pilot, EditScreen)
        screen.query_one(Form).fill({"kit_id": str(kits(sqlite_book)[0].id)})
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        own = practice(sqlite_book)
        assert own is not None
        assert own.kit_id == kits(sqlite_book)[0].id
        await pilot.press("p")
        await until(pilot, Choose)
        await pilot.press("5")
        screen = await until(pilot, EditScreen)
        screen.query_one(Form).fill({"name": "Ben Desk", "role": "receptionist"})
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        assert {one.name for one in staff(sqlite_book)} == {"Ada Vet", "Ben Desk"}


async def test_nothing_is_asked_of_a_book_that_is_not_open(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    fill(sqlite_book, act)
    app = WaitingApp(sqlite_book, act, DirectoryScreen, tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        await pilot.press(*"ncxushp", "enter", "down", "f5", "escape", "slash", *"brook", "enter")
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, DirectoryScreen)
        assert "reading the directory" in screen_text(app)
        app.book_is_open = True
        app.screen.post_message(BookOpened())
        await pilot.pause()
        await shown(pilot)
        assert "Directory   8 ponds" in screen_text(app)
        await pilot.press("n")
        await until(pilot, Choose)


async def test_hostile_names_are_shown_literally(
    desk: Callable[..., DeskApp], sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        for name in HOSTILE:
            if not name.strip():
                continue
            owner = writing.add("client", name=name[:190].replace("\n", " "), phone="[/nope]")
            site = writing.add(
                "site", client_id=owner, name="[red]x", access_notes="[@click=app.quit]x[/]"
            )
            writing.add("pond", site_id=site, name="[/nope]")
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for _ in range(len(clients(sqlite_book))):
            await pilot.press("down")
        await pilot.press("h")
        await until(pilot, Choose)
        await pilot.press("3")
        await until(pilot, HistoryScreen)
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
        await pilot.press("escape")
        await until(pilot, DirectoryScreen)
        said = screen_text(app)
        assert "[/nope]" in said
        assert not HARMFUL & set(said.replace("\n", ""))
        await pilot.press("x")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        assert "[/nope]" in screen_text(app)

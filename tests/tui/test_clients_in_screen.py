"""A client list on the screen: looked at, decided, saved."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.book.ponds import cards
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.exchange.clients_file import looked_at
from tui.screens.exchange.clients_in import ClientsInScreen, Decide
from tui.screens.exchange.find_client import FindClient
from tui.screens.exchange.merge import WhichStays
from tui.screens.parts.dialogs import Ask, AskReason, Choose, Tell

sys.path.append(str(Path(__file__).parents[1] / "exchange"))

from client_lists import MESSY, write_csv


async def _until(pilot: Any, kind: type[Any]) -> Any:
    for _ in range(200):
        await a_moment(0.02)
        busy = [one for one in pilot.app.workers if not one.is_finished]
        if isinstance(pilot.app.screen, kind) and (len(busy) == 0 or kind is not ClientsInScreen):
            await pilot.pause()
            return pilot.app.screen
    raise AssertionError(screen_text(pilot.app))


async def _shows(pilot: Any, text: str) -> None:
    for _ in range(200):
        await a_moment(0.02)
        if text in " ".join(screen_text(pilot.app).replace("│", " ").split()):
            return
    raise AssertionError(screen_text(pilot.app))


def _app(book: Book, act: Act, tmp_path: Path) -> SmallApp:
    path = write_csv(tmp_path / "list.csv", MESSY)
    looked = looked_at(book, path)
    return SmallApp(book, act, lambda: ClientsInScreen(*looked), tmp_path / "drafts")


async def test_a_list_is_looked_at_decided_and_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = _app(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _until(pilot, ClientsInScreen)
        await looks_as(pilot, "clients_in_80")
        await pilot.press("end", "up", "enter")
        await _until(pilot, Decide)
        await _shows(pilot, "3 not decided yet")
        await looks_as(pilot, "clients_in_decide_80")
        assert clients(sqlite_book) == ()
        await pilot.press("1")
        screen = await _until(pilot, ClientsInScreen)
        assert screen.answers == {"double line 10 = line 4": "same"}
        assert "same,same / other / open" in (tmp_path / "list.answers.csv").read_text("utf-8")
        await pilot.press("home", "enter")
        await _until(pilot, Decide)
        await _shows(pilot, "12,000 L")
        await pilot.press("1")
        screen = await _until(pilot, ClientsInScreen)
        await pilot.press("f2")
        await _until(pilot, Ask)
        await pilot.press("right", "enter")
        screen = await _until(pilot, ClientsInScreen)
        assert len(clients(sqlite_book)) == 4
        assert [card.pond.name for card in cards(sqlite_book)] == ["Koi pond"]
        assert app.changes == 1
        assert {one.state for one in screen.found.clients} == {"same"}


async def test_what_was_answered_stands_there_the_next_time(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = _app(sqlite_book, act, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        await _until(pilot, ClientsInScreen)
        await pilot.press("a", "a", "a", "enter")
        asked = await _until(pilot, Decide)
        key = asked._question.key
        await pilot.press("2")
        await _until(pilot, ClientsInScreen)
        await pilot.press("t")
        await _until(pilot, Tell)
        await _shows(pilot, "Passed over as totals: line 12.")
    _opened, _found, answers = looked_at(sqlite_book, tmp_path / "list.csv")
    assert answers == {key: answers[key]}


async def test_columns_are_said_and_remembered(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """Nothing says where the names are: that is asked; a column is corrected; both are kept."""
    head = ["Lot", "Who", "Box"]
    rows = [head, ["1", "Alder, Anne", "4000 l"], ["2", "Birch, Bert", "9000 l"]]
    path = write_csv(tmp_path / "list.csv", rows)
    looked = looked_at(sqlite_book, path)
    app = SmallApp(sqlite_book, act, lambda: ClientsInScreen(*looked), tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _until(pilot, ClientsInScreen)
        await _shows(pilot, "2 open")
        await pilot.press("enter")
        await _until(pilot, Decide)
        await _shows(pilot, "it says “Lot”, “Who”, “Box”; none")
        await pilot.press("1")
        await _until(pilot, ClientsInScreen)
        await _shows(pilot, "1 open")
        await pilot.press("a", "enter")
        await _until(pilot, Decide)
        await _shows(pilot, "column B “Who”: Alder, Anne, Birch, Bert")
        await looks_as(pilot, "clients_in_names_80")
        await pilot.press("1")
        await _until(pilot, ClientsInScreen)
        await _shows(pilot, "new: 2 clients, 2 sites, 0 ponds 2 open")
        await pilot.press("c")
        await _until(pilot, Choose)
        await _shows(pilot, "3 Box: remarks")
        await pilot.press("3")
        await _shows(pilot, "What is Box?")
        await pilot.press("down", "down", "enter")
        screen = await _until(pilot, ClientsInScreen)
        await _shows(pilot, "new: 2 clients, 2 sites, 2 ponds")
        assert screen.answers["column Box"] == "volume"
        await pilot.press("f2")
        await _until(pilot, Ask)
        await pilot.press("right", "enter")
        await _shows(pilot, "Saved 2 clients.")
    assert sorted(card.pond.volume_l or 0 for card in cards(sqlite_book)) == [4000.0, 9000.0]
    write_csv(tmp_path / "next.csv", [head, ["3", "Rowan, Iris", "700 l"]])
    _opened, found, _answers = looked_at(sqlite_book, tmp_path / "next.csv")
    assert found.remembered.endswith("“Who” is name, “Box” is volume.")
    assert found.counted() == (1, 1, 1)


async def test_what_stands_twice_in_the_book_is_merged(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    """A client, then a site of the kept one; somebody who looks nothing alike is found by typing."""
    with sqlite_book.writing(act) as writing:
        for name, pond in (("Anne Alder", "Lower pond"), ("Mrs A. Alder", "Upper pond")):
            key = writing.add("client", name=name, phone="01632 960111")
            site = writing.add("site", client_id=key, name="Wick", address="3 Mill Lane")
            writing.add("pond", site_id=site, name=pond)
        writing.add("client", name="Iris Rowan", phone="01632 960300")
    app = SmallApp(sqlite_book, act, DirectoryScreen, tmp_path / "drafts")

    async def merged(first: str, stays: str) -> None:
        await pilot.press("m")
        await _until(pilot, Choose)
        await _shows(pilot, first)
        await pilot.press("1")
        await _until(pilot, WhichStays)
        await _shows(pilot, stays)
        if first.startswith("the telephone"):
            await looks_as(pilot, "merge_80")
        await pilot.press("1")
        await _until(pilot, AskReason)
        await pilot.press(*"she says so", "enter")

    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        directory = await _until(pilot, DirectoryScreen)
        for _ in range(100):
            await a_moment(0.02)
            if directory._here is not None:
                break
        await pilot.press("m")
        await _until(pilot, Choose)
        await pilot.press("2")
        await _until(pilot, FindClient)
        await pilot.press(*"rowen")
        await _shows(pilot, "Iris Rowan 01632 960300")
        await looks_as(pilot, "merge_find_80")
        await pilot.press("enter")
        await _until(pilot, WhichStays)
        await _shows(pilot, "nothing that is compared speaks for it")
        await pilot.press("escape")
        await _until(pilot, DirectoryScreen)
        await merged("the telephone is the same (01632 960111)", "Mrs A. Alder stays")
        await _shows(pilot, "Merged: 1 site moved.")
        await _shows(pilot, "The sites Wick and Wick may be one")
        await pilot.press("escape")
        await _until(pilot, DirectoryScreen)
        await merged("1 sites Wick and Wick", "Wick (right) stays")
        await _shows(pilot, "Merged: 1 pond moved.")
    assert [one.name for one in clients(sqlite_book)] == ["Anne Alder", "Iris Rowan"]
    assert len({card.site.id for card in cards(sqlite_book)}) == 1
    assert len(cards(sqlite_book)) == 2

"""What a practice is handed goes in by keys: from the directory to what is in the book."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

from practice_day import Day

from store.book.clients import clients
from store.book.listing import listing
from store.exchange.demo.practice import make_demo
from store.water.water_tests import list_tests
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.exchange.bring_in import BringInScreen
from tui.screens.exchange.clients_in import ClientsInScreen, Decide
from tui.screens.parts.dialogs import Ask
from tui.widgets.fields import Form

BROUGHT = Path(__file__).parents[2] / "demo_sites" / "as_brought"
MAY = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)


async def brought(day: Day, file: Path, kind: str, pond: str = "") -> None:
    """From the directory to the page of the file."""
    await day.on(DirectoryScreen)
    await day.press("i")
    await day.until(lambda: isinstance(day.app.screen, BringInScreen))
    await day.shows("what it is")
    form = day.app.screen.query_one(Form)
    form.fill({"file": str(file), "kind": kind, "pond": pond})
    await day.shows("It looks like")
    await day.press("f2")


async def test_a_sheet_a_logger_and_a_list_of_clients_go_in_by_keys(tmp_path: Path) -> None:
    book = make_demo(tmp_path / "book.pondround", MAY)
    files = Path(shutil.copytree(BROUGHT, tmp_path / "brought"))
    day = Day(book, tmp_path / "drafts.json")
    day.at = MAY
    (garden,) = (one.key for one in listing(book, "Trask").lines)
    before = len(list_tests(book, garden))
    async with day.app.run_test(size=(80, 24), notifications=True) as pilot:
        day.pilot = pilot
        await day.until(lambda: day.app.book_is_open)
        await day.press("2")
        await brought(day, files / "keeper.xlsx", "water", "TRA-1")
        await day.shows("Which sheet holds the tests?")
        await day.press("1")
        await day.shows("9 tests to save")
        await day.press("f2")
        await day.shows("Save 9 water tests from keeper.xlsx?")
        await day.press("right", "enter")
        await day.shows("0 tests to save 9 there already")
        assert len(list_tests(book, garden)) == before + 9
        await day.press("escape")

        await brought(day, files / "logger.csv", "logger", "MOR-1")
        await day.shows("228 values")
        await day.press("f2")
        await day.shows("Save to Ansgar and Ilse Morvane, Mill pool?")
        await day.press("right", "enter")
        await day.shows("Saved 228 values. Esc goes back.")
        await day.press("escape")

        await brought(day, files / "clients.csv", "clients")
        await day.until(lambda: isinstance(day.app.screen, ClientsInScreen))
        screen = day.app.screen
        assert isinstance(screen, ClientsInScreen)
        await day.shows("5 open")
        for nth in range(5):
            if nth:
                await day.press("a")
            await day.press("enter")
            await day.until(lambda: isinstance(day.app.screen, Decide))
            await day.press("1")
            await day.until(lambda nth=nth: len(screen.answers) == nth + 1)
            await day.until(lambda: day.app.screen is screen)
        await day.press("f2")
        await day.until(lambda: isinstance(day.app.screen, Ask))
        await day.press("right", "enter")
        await day.shows("4 there already")
    names = [one.name for one in clients(book)]
    assert [name for name in names if "Trask" in name or "udgeon" in name.casefold()] == [
        "Lowen Trask", "The Gudgeon Inn"
    ]  # fmt: skip
    assert len(listing(book, "Gudgeon").lines) == 2, "two ponds out of a remark"
    book.close()

"""The page on which is chosen what leaves the book; nothing is written over unasked."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from diary_on_screen import on, quiet, words
from screen_text import a_moment, looks_as
from small_app import SmallApp
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.out.rows import Progress
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.exchange.out import CARE, OutScreen, path_of, wish_of
from tui.screens.parts.dialogs import Ask, Tell
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

TODAY = date(2026, 3, 14)


@pytest.fixture
def app_of(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., SmallApp]:
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Brook House", phone="01632 960 123")
        site = writing.add("site", client_id=client, name="Garden", town="Nether Wick")
        pond = writing.add("pond", site_id=site, name="Lower pond", code="BRO-1")
        writing.add("pond", site_id=site, name="Upper pond")
    for day in (1, 2):
        at = datetime(2026, 3, day, 9, tzinfo=UTC)
        read = understand(f"pH 7.{day}", kit=KitForms(), now=act.at, zone=UTC).readings
        save_test(sqlite_book, act, pond, NewTest(at, read))
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)

    def made(pond: str = "BRO-1", theme: str = NIGHT, first: Any = None) -> SmallApp:
        begin = first or (lambda: OutScreen(pond, TODAY))
        return SmallApp(sqlite_book, act, begin, tmp_path / "drafts.json", theme=theme)

    return made


async def fill(pilot: Any, file: str = "", **texts: str) -> OutScreen:
    screen: OutScreen = await on(pilot, OutScreen)
    screen.query_one(Form).fill(texts)
    if file:
        screen.query(Input).last().value = file
    await quiet(pilot)
    return screen


async def saved(pilot: Any) -> str:
    """Save, and what is said then."""
    await pilot.press("f2")
    for _ in range(200):
        await a_moment(0.02)
        if any(one.title == "Written" for one in pilot.app._notifications):
            break
    await quiet(pilot)
    return " ".join(
        one.message for one in pilot.app._notifications if one.title == "Written"
    )  # fmt: skip


async def shows(pilot: Any, part: str) -> None:
    for _ in range(200):
        await a_moment(0.02)
        if part in words(pilot.app):
            return
    raise AssertionError(words(pilot.app))


def rows(name: str) -> list[dict[str, str]]:
    with Path(name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(("size", "theme"), [((80, 24), NIGHT), ((60, 20), DAY)])
async def test_it_looks_as_it_was_looked_at(
    app_of: Callable[..., SmallApp], size: tuple[int, int], theme: str
) -> None:
    app = app_of(theme=theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await fill(pilot)
        await looks_as(pilot, f"out_{size[0]}")


async def test_the_water_of_a_pond(app_of: Callable[..., SmallApp]) -> None:
    app = app_of()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, first="2026-03-02")
        said = await saved(pilot)
        assert app.changes == 0  # the book is only read
    assert "1 water test" in said
    path = Path("water-bro-1-2026-03-14.csv")
    assert str(path.resolve()) in said
    assert [row["pH"] for row in rows(path.name)] == ["7.2"]


@pytest.mark.parametrize(
    ("texts", "name", "part"),
    [
        ({"what": "table", "table": "client"}, "client-2026-03-14.csv", "1 row"),
        ({"what": "pond", "table": "water_test"}, "water_test-bro-1-2026-03-14.csv", "2 rows"),
        ({"what": "book"}, "book-2026-03-14", "tables"),
        ({"what": "json"}, "book-2026-03-14.jsonl", "rows"),
    ],
)
async def test_everything_else_goes_out(
    app_of: Callable[..., SmallApp], texts: dict[str, str], name: str, part: str
) -> None:
    app = app_of()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, **texts)
        assert CARE[texts["what"]][:30] in words(app)
        said = await saved(pilot)
    assert part in said
    assert [path.name for path in Path().iterdir()] == [name]
    if texts["what"] == "book":
        assert json.loads((Path(name) / "manifest.json").read_text())["practice"] == "Test practice"


async def test_a_file_is_written_over_only_when_that_is_said(
    app_of: Callable[..., SmallApp],
) -> None:
    Path("mine.csv").write_text("not to be lost")
    app = app_of()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "mine.csv")
        await pilot.press("f2")
        await on(pilot, Ask)
        assert "mine.csv is there already" in words(app)
        await pilot.press("enter")  # the safe answer has the focus
        await on(pilot, OutScreen)
        await shows(pilot, "was left as it is")
        assert Path("mine.csv").read_text() == "not to be lost"
        await pilot.press("f2")
        await on(pilot, Ask)
        await pilot.press("right", "enter")
        for _ in range(200):
            await a_moment(0.02)
            if Path("mine.csv").read_text() != "not to be lost":
                break
    assert len(rows("mine.csv")) == 2


async def test_a_folder_that_is_not_ours_is_never_replaced(app_of: Callable[..., SmallApp]) -> None:
    (Path("mine") / "book-2026-03-14").mkdir(parents=True)
    letter = Path("mine/book-2026-03-14/letter.txt")
    letter.write_text("dear")
    app = app_of("")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await fill(pilot, "mine")
        assert screen.query_one(Form).values["what"] == "book"  # no pond under the cursor
        await pilot.press("f2")
        await shows(pilot, "Name a new folder")
    assert letter.read_text() == "dear"
    assert len(list(Path("mine").rglob("*"))) == 2


@pytest.mark.parametrize(
    ("texts", "part"),
    [
        ({"pond": "nowhere"}, "No pond goes by"),
        ({"pond": ""}, "Please say which pond"),
        ({"first": "soon"}, "soon"),
        ({"first": "2026-03-02", "last": "2026-03-01"}, "after the last"),
        ({"what": "pond", "table": "staff"}, "belong to no pond"),
        ({"what": "table", "table": "book_meta", "first": "2026-03-01"}, "have no day"),
    ],
)
async def test_a_fault_is_told_at_its_field_and_loses_nothing(
    app_of: Callable[..., SmallApp], texts: dict[str, str], part: str
) -> None:
    app = app_of()
    async with app.run_test(size=(80, 30), notifications=True) as pilot:
        screen = await fill(pilot, **texts)
        await pilot.press("f2")
        await shows(pilot, part)
        assert app.screen is screen
        assert list(Path().iterdir()) == []


async def test_where_it_cannot_be_written_is_told(app_of: Callable[..., SmallApp]) -> None:
    app = app_of()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "nowhere/x.csv")
        await pilot.press("f2")
        await on(pilot, Tell)
        assert "cannot be written" in words(app)


async def test_how_far_it_is_stands_there(app_of: Callable[..., SmallApp]) -> None:
    app = app_of()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await fill(pilot)
        screen.is_writing = True
        screen.post_message(OutScreen.Far(Progress("pond", 1204, 3000)))
        await shows(pilot, "writing 1,204 of 3,000 rows (pond)")
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is screen  # not while it is written
        screen.is_writing = False
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is not screen


async def at(pilot: Any, kind: type[Any]) -> Any:
    """The screen of that kind, which another one waits for."""
    for _ in range(200):
        await a_moment(0.02)
        if isinstance(pilot.app.screen, kind):
            return pilot.app.screen
    raise AssertionError(pilot.app.screen)


async def test_o_in_the_directory_proposes_the_pond_under_the_cursor(
    app_of: Callable[..., SmallApp],
) -> None:
    app = app_of(first=DirectoryScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Upper pond")
        await pilot.press("o")
        screen = await at(pilot, OutScreen)
        assert screen.query_one(Form).values["pond"] == "BRO-1"
        await pilot.press("escape")
        directory = await at(pilot, DirectoryScreen)
        directory.query_one(LineGrid).focus()
        await pilot.press("down", "o")
        screen = await at(pilot, OutScreen)
        assert screen.query_one(Form).values["pond"] == "Brook House, Garden, Upper pond"
        await pilot.press("f2")
        await at(pilot, DirectoryScreen)
    assert [path.name for path in Path().iterdir()] == [
        "water-brook-house-garden-upper-pond-2026-03-14.csv"
    ]


def test_names_of_files_are_proposed() -> None:
    texts = {"what": "water", "table": "", "pond": "../Ödön's pond/=1", "first": "", "last": "",
             "file": ""}  # fmt: skip
    assert path_of("", wish_of(texts), TODAY) == Path("water-ödön-s-pond-1-2026-03-14.csv")
    with pytest.raises(BadInput):
        wish_of(texts | {"what": "pond"})  # no table

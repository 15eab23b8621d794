"""The record of changes on the screen and at the command line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from one_pond import add_one_pond
from screen_text import looks_as, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from tui.app import PondroundApp
from tui.commands.listings import add_looking_back
from tui.commands.parsing import OneSentenceParser
from tui.commands.record import as_json, as_text, read, wish_of
from tui.screens.desk.client import ClientScreen
from tui.screens.parts.dialogs import Choose
from tui.screens.ponds.pond import PondScreen
from tui.screens.record import record as record_screen
from tui.screens.record.record import RecordScreen
from tui.screens.record.record_line import RecordLineScreen
from tui.screens.water.opened_test import OpenedTestScreen
from tui.themes import DAY, NIGHT
from tui.widgets.grid import LineGrid

HOSTILE = "[red]x[/red] \x1b[2J\u202e"


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    before = Act(act.by, act.at - timedelta(days=3))
    pond = add_one_pond(sqlite_book, before)
    with sqlite_book.writing(act) as writing:
        writing.change("pond", pond, 2, why="by a stick", depth_m=1.4, notes=HOSTILE)
    return pond


async def rest(pilot: Any) -> None:
    """What was asked of the store has been shown."""
    still = 0
    for _ in range(300):
        await pilot.pause(0.02)
        busy = [one for one in pilot.app.workers if one.is_running and one.group != "record-person"]
        still = 0 if busy else still + 1
        if still == 3:
            return
    raise AssertionError(screen_text(pilot.app))


@pytest.mark.parametrize(("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY)])
async def test_the_record_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path, width: int, height: int, theme: str
) -> None:
    def first() -> RecordScreen:
        return RecordScreen(("pond", pond), "Alder Row, lower pond")

    app = SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await rest(pilot)
        await looks_as(pilot, f"record_{width}")


async def test_a_walk_through_the_record(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_screen, "PAGE", 8)
    monkeypatch.setattr(record_screen, "AHEAD", 3)
    book = sqlite_book
    app = PondroundApp(lambda: book, now=lambda: act.at, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:

        async def press(*keys: str) -> str:
            await pilot.press(*keys)
            await rest(pilot)
            return screen_text(app)

        await rest(pilot)
        text = await press("8")
        assert isinstance(app.screen, RecordScreen)
        assert "depth: empty → 1.4 m" in text
        assert "why: by a stick" in text
        assert "[red]x[/red] �[2J�" in text  # as typed, and driving nothing
        grid = app.screen.query_one(LineGrid)
        assert grid.row_count == 8
        await press("end")
        assert grid.row_count == 16  # more is read as the cursor goes down
        chosen = grid.cursor_key
        with book.writing(Act(act.by, act.at + timedelta(minutes=5))) as writing:
            writing.add("client", name="New")
        app.changed()
        await rest(pilot)
        assert (grid.cursor_key, grid.row_count) == (
            chosen,
            16,
        )  # as far as the cursor, and a page below
        assert "client New" in await press("home")
        with book.writing(Act(act.by, act.at + timedelta(minutes=6))) as writing:
            for nth in range(10):  # more than a page: nothing between them and the rest is left out
                writing.add("client", name=f"Many {nth}")
        app.changed()
        await rest(pilot)
        whats = [row.cells[3] for row in grid._rows]
        assert whats[9:12] == ["client Many 0", "client New", whats[11]]
        assert "no kind of record is called so" in await press("o", *"rocket", "enter")
        text = await press(*["backspace"] * 6, *"water test", "enter")
        assert "water test of lower pond" in text
        assert "as typed: temperature" in text
        assert "Record of changes: water test" in text
        await press("e")
        assert isinstance(app.screen, RecordLineScreen)
        assert "link of the chain through the log: " in screen_text(app)
        await press("escape")
        await press("enter")
        assert isinstance(app.screen, OpenedTestScreen)
        await press("escape")
        text = await press("escape", "d", *"yesterday")
        assert "13 Mar" in text
        assert "Nothing of what you asked for" in await press("enter")
        text = await press("escape", "slash", *"STICK lower", "enter")
        assert (grid.row_count, "pond lower pond" in text) == (1, True)
        await press("r")
        await press("slash", *["backspace"] * 20, "enter")
        assert {row.cells[3] for row in grid._rows} == {"pond lower pond"}
        await press("escape", "p")
        assert isinstance(app.screen, Choose)
        text = await press("2")
        assert "by Ada Vet" in text
        # From the page of a thing the record is that thing's alone; esc goes back to the page.
        await press("escape", "end", "end")
        app.open_pond(pond)
        await rest(pilot)
        assert isinstance(app.screen, PondScreen)
        text = await press("H")
        assert isinstance(app.screen, RecordScreen)
        assert "Record of changes of Alder Row, lower pond" in text
        assert "client New" not in text
        await press("escape")
        assert isinstance(app.screen, PondScreen)
        await press("O", "H")
        assert isinstance(app.screen, RecordScreen)
        await press("escape")
        assert isinstance(app.screen, ClientScreen)
        await press("8")  # the place asked for again: what lies on top of it is left
        assert isinstance(app.screen, RecordScreen)


def test_the_command_prints_it(sqlite_book: Book, act: Act, pond: UUID) -> None:
    whole = OneSentenceParser()
    add_looking_back(whole.add_subparsers(), OneSentenceParser(add_help=False))
    today = sqlite_book.today(act.at)

    def asked(*words: str) -> tuple[Any, bool]:
        args = whole.parse_args(["record", *words])
        return read(
            sqlite_book, wish_of(sqlite_book, args, today), " ".join(args.words), args.limit
        )

    lines, more = asked("stick", "--of", "lower pond", "--since", "today", "--by", "ada")
    text = list(as_text(lines, more, sqlite_book.zone, today))
    assert text == [
        "14 Mar 07:30       Ada Vet           changed         pond lower pond (Alder Row)",
        "    why: by a stick",
        "    depth: empty → 1.4 m",
        "    notes: empty → [red]x[/red] �[2J�",
    ]
    (line,) = as_json(lines, more)["lines"]
    assert (line["row"], line["revision"], len(line["hash"])) == (str(pond), 3, 12)
    assert {"column": "depth_m", "label": "depth", "before": "", "after": "1.4 m"} in line["fields"]
    lines, more = asked("--of", "Alder Row", "--kind", "water test", "--limit", "5")
    assert ([one.kind for one in lines], more) == (["water test"] * 5, True)
    assert asked("--until", "1 year")[0] == ()
    assert list(as_text((), False, sqlite_book.zone, today)) == ["Nothing of that was recorded."]
    wrong: tuple[Callable[[], Any], ...] = (
        lambda: asked("--kind", "rocket"), lambda: asked("--by", "nobody"),
        lambda: asked("--since", "soon"),
    )  # fmt: skip
    for one in wrong:
        with pytest.raises(BadInput):
            one()

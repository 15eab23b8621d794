"""The bag by keys: packed from the round, brought back as a file, and what differs then."""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp

sys.path.insert(0, str(Path(__file__).parents[1] / "exchange"))

from bags import DAY, Kept, new_test, opened, tables_at_hand

from store.book.act import Act
from store.book.book import Book
from store.record.sides import told_differing
from tui.app import PondroundApp
from tui.screens.bag.differs import DiffersScreen
from tui.screens.bag.pack import PackScreen
from tui.screens.bag.unpack import UnpackScreen
from tui.screens.rounds.round import RoundScreen
from tui.themes import DAY as LIGHT
from tui.themes import NIGHT
from tui.widgets.fields import Form

ASKS = frozenset({
    "differs", "unpack", "unpack-bring", "app-open", "morning-look", "morning-bags", "round-plan",
})  # fmt: skip
"""What a walk here waits for."""


async def rest(pilot: Any) -> str:
    """What was asked of the store has been shown."""
    still, before = 0, ""
    for _ in range(400):
        await a_moment(0.02)
        now = screen_text(pilot.app)
        # Work that waits for a page on top of it goes on; the rest is short.
        busy = [one for one in pilot.app.workers if one.is_running and one.group in ASKS]
        still = 0 if busy or now != before or "reading" in now else still + 1
        before = now
        if still == 4:
            break
    return " ".join(screen_text(pilot.app).split())


def _worked(book: Book, act: Act, path: Path) -> Kept:
    """A bag that came back: a test, a volume and a name that differ, a visit moved on both sides."""
    home = Kept(book, act)
    packed = home.pack(path)
    hours = timedelta(hours=1)
    with opened(path) as bag:
        new_test(bag, act, home.pond)
        with bag.writing(Act(act.by, act.at + hours)) as writing:
            writing.change(
                "pond", home.pond, 1, "by a stick", volume_l=9400.0, volume_low_l=9000.0,
                volume_high_l=9800.0, volume_method="depth", filter="beads, cleaned in May",
            )  # fmt: skip
            writing.change("visit", home.visit, 1, on_day=DAY + timedelta(days=7))
    with book.writing(Act(act.by, act.at + 2 * hours)) as writing:
        writing.change(
            "pond", home.pond, 1, "told by the owner", volume_l=12_000.0, volume_low_l=10_000.0,
            volume_high_l=14_000.0, volume_method="told", filter="three drums",
        )  # fmt: skip
        writing.change("visit", home.visit, 1, on_day=DAY + timedelta(days=2))
    assert packed.path == path
    return home


@pytest.fixture
def worked(sqlite_book: Book, act: Act, tmp_path: Path) -> tuple[Kept, Path]:
    with tables_at_hand(tmp_path / "empty.pondround"):
        return _worked(sqlite_book, act, tmp_path / "bag.pondround"), tmp_path / "bag.pondround"


@pytest.mark.parametrize(("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, LIGHT)])
async def test_what_differs_looks_as_it_was_looked_at(
    worked: tuple[Kept, Path], act: Act, tmp_path: Path, width: int, height: int, theme: str
) -> None:
    home, path = worked
    home.unpack(path)
    app = SmallApp(home.book, act, DiffersScreen, tmp_path / "drafts.json", theme=theme)
    async with app.run_test(size=(width, height)) as pilot:
        await rest(pilot)
        await pilot.press("b", "h", "up")
        await rest(pilot)
        await looks_as(pilot, f"differs_{width}")


async def test_a_bag_is_brought_back_and_what_differs_is_chosen(
    worked: tuple[Kept, Path], act: Act, tmp_path: Path
) -> None:
    home, path = worked
    app = PondroundApp(
        lambda: home.book, now=lambda: act.at + timedelta(hours=9),
        drafts=tmp_path / "drafts.json",
    )  # fmt: skip
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await rest(pilot)

        async def press(*keys: str) -> str:
            await pilot.press(*keys)
            return await rest(pilot)

        await press("2", "i")
        app.screen.query_one(Form).fill({"file": str(path)})
        for _ in range(200):  # the file is looked at once nobody types
            if app.screen.query_one(Form).values["kind"] == "bag":
                break
            await a_moment(0.02)
        text = await press("f2")
        assert isinstance(app.screen, UnpackScreen)
        assert "A bag for 16 Mar 2026, Ada Vet, packed 9 h ago by Ada Vet" in text
        assert "Entered there: 1 water test Changed there: 1 pond, 1 visit" in text
        text = await press("y")
        assert "1 record entered, 2 changed." in text
        assert "Alder House, Lily pond: 1 water test; changed: 1 pond" in text
        assert "2 records were changed on both sides" in text
        assert "2 records differ since the bag came back" in await press("1")
        await press("D")
        assert isinstance(app.screen, DiffersScreen)
        await press("y")
        assert isinstance(app.screen, DiffersScreen)  # nothing is taken yet
        text = await press("b")
        assert "0 ready" not in text
        await press("h", "l")
        assert "2 ready to save" in screen_text(app)
        await press("y", *"as measured", "enter")
        assert told_differing(home.book) == ()
        text = await press("escape", "escape", "1")
        assert "differ since the bag" not in text


async def test_a_bag_is_packed_from_the_round_and_says_that_it_is_one(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Kept(sqlite_book, act)
    app = PondroundApp(lambda: sqlite_book, now=lambda: act.at, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await rest(pilot)
        app.push_screen(RoundScreen(DAY, effort=0.01))
        await rest(pilot)
        await pilot.press("b")
        text = await rest(pilot)
        assert isinstance(app.screen, PackScreen)
        assert "not encrypted" in text
        form = app.screen.query_one(Form)
        form.fill({"day": DAY.isoformat(), "file": "laptop.pondround"})
        await pilot.press("f2")
        for _ in range(20):
            text = await rest(pilot)
            if "2 ponds, 7 records" in text:
                break
        else:
            raise AssertionError(text)
    bag = opened(tmp_path / "laptop.pondround")
    later = act.at + timedelta(hours=5, minutes=5)
    app = PondroundApp(lambda: bag, now=lambda: later, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        text = await rest(pilot)
        assert "bag for 16 Mar, packed 5 h ago" in text.split("─", maxsplit=1)[0]
        assert "Not the whole book: 2 ponds for 16 Mar 2026, Ada Vet; packed" in text
        await pilot.press("5")
        assert "bag for 16 Mar, packed 5 h ago" in await rest(pilot)
    bag.close()

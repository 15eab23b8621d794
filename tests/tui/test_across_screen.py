"""What was found over all ponds, on the screen: hazards, one hazard, the rule, the pond."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from tests.courses.outcome_ponds import clips, enter, looked, warm
from tui.screens.parts.dialogs import Tell
from tui.screens.ponds.pond import PondScreen
from tui.screens.rules.across import FindingsScreen
from tui.screens.rules.across_hazard import HazardFindingsScreen
from tui.screens.rules.across_lines import INITIALS
from tui.screens.rules.rule import RuleScreen
from tui.screens.rules.rules import RulesScreen

D = timedelta(days=1)
COLD = date(2025, 9, 1)
BUSY = ("findings", "findings-edges", "pond-page", "rule", "rules")


async def settle(pilot: Any) -> None:
    for _ in range(400):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


def add(book: Book, act: Act, client: str, pond: str = "lower pond") -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="garden")
        return writing.add("pond", site_id=site, name=pond)


@pytest.fixture
def ponds(sqlite_book: Book, act: Act) -> dict[str, UUID]:
    """Found after the window spoke, found outside it, not measured, looked for in vain."""
    book = sqlite_book
    slow = [9.0 + 0.04 * n for n in range(90)]
    warmed = [12.0] * 30 + [19.0] * 60
    made = {}
    for client, temps_c, day, counts in (
        ("Alder Row", warmed, 42, (30, 12)), ("Mill Lane", slow, 70, (8, 0)),
        ("Quarry", None, 50, (2, 2)), ("Beech House", warmed, 42, (0, 0)),
    ):  # fmt: skip
        made[client] = pond = add(book, act, client)
        if temps_c is not None:
            warm(book, act, pond, COLD, temps_c)
        enter(book, act, pond, looked(COLD + day * D, clips(counts)))
    with book.writing(act) as writing:
        record_event(writing, made["Mill Lane"], "hazard_seen", COLD + 20 * D, hazard="costia")
    return made


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40), (60, 20)])
async def test_the_findings_look_as_they_were_looked_at(
    ponds: dict[str, UUID], desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(FindingsScreen)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await looks_as(pilot, f"findings_{width}")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40)])
async def test_one_hazard_looks_as_it_was_looked_at(
    ponds: dict[str, UUID], desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(FindingsScreen)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("t")
        await settle(pilot)
        await pilot.press("home", "down")
        await settle(pilot)
        await looks_as(pilot, f"findings_hazard_{width}")


async def test_from_the_rules_to_a_finding_its_pond_and_its_rule(
    ponds: dict[str, UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(RulesScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("v")
        await settle(pilot)
        assert isinstance(app.screen, FindingsScreen)
        text = screen_text(app)
        assert INITIALS in text
        assert "window 15 to 30 °C" in text
        await pilot.press("r")
        await settle(pilot)
        assert isinstance(app.screen, RuleScreen)
        await pilot.press("escape", "e")
        await settle(pilot)
        assert isinstance(app.screen, Tell)
        await pilot.press("escape", "enter")
        await settle(pilot)
        assert isinstance(app.screen, HazardFindingsScreen)
        lines = screen_lines(app)
        rows = {name: next(line for line in lines if name in line) for name in ponds}
        assert "hit" in rows["Alder Row"]
        assert "miss" in rows["Mill Lane"]
        assert "not measured" in rows["Quarry"]
        assert "false call" in rows["Beech House"]
        await pilot.press("o")
        await settle(pilot)
        assert isinstance(app.screen, PondScreen)
        await pilot.press("escape", "t")
        await settle(pilot)
        assert "window from 14 °C" in screen_text(app)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, RuleScreen)


async def test_a_hazard_without_an_examination_opens_its_pond(
    ponds: dict[str, UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(FindingsScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        while "costia" not in next(line for line in screen_lines(app) if line.startswith("›")):
            await pilot.press("down")
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, PondScreen)


async def test_an_empty_practice_says_what_will_stand_here(desk: Callable[..., SmallApp]) -> None:
    app = desk(FindingsScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "Nothing was found and nobody looked" in screen_text(app)
        await pilot.press("enter", "r", "e", "escape")


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_names_stay_what_they_are(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp], name: str
) -> None:
    pond = add(sqlite_book, act, f"A {name[:400]} B")
    enter(sqlite_book, act, pond, looked(COLD, clips((3,))))
    app = desk(FindingsScreen)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, HazardFindingsScreen)
        text = screen_text(app)
        assert "A " in text
        assert not HARMFUL & set(text.replace("\n", ""))


async def test_it_is_looked_back_anew_once_somebody_is_here(
    sqlite_book: Book, act: Act, ponds: dict[str, UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(FindingsScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        screen = app.screen
        assert isinstance(screen, FindingsScreen)
        await pilot.press("enter")
        await settle(pilot)
        enter(sqlite_book, act, ponds["Quarry"], looked(COLD + 90 * D, clips((4, 4))))
        screen.on_book_changed()
        await settle(pilot)
        assert screen.found is not None
        assert screen.found.examinations == 4  # nobody is looking at it
        await pilot.press("escape")
        await settle(pilot)
        assert screen.found.examinations == 5

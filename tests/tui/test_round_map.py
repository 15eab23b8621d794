"""The map of a round in the terminal: numbers over quieter lines, a legend, a scale."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import Practice, add_practice, on, quiet, words
from paper import HARMFUL, HOSTILE
from rich.cells import cell_len
from screen_text import looks_as, screen_lines, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.rounds.day.map import MapPoint, round_map
from store.rounds.day.values import DayPlan
from store.rounds.solving.problem import INFECTED
from tests.rounds.day_plans import (
    ADA,
    BRAM,
    driver,
    errand,
    nine_stops,
    plan_of,
    two_drivers,
)
from tui.screens.parts.dialogs import Choose
from tui.screens.rounds.map import EMPTY, MapScreen
from tui.screens.rounds.stop_pond import NO_POND
from tui.themes import DAY, NIGHT
from tui.widgets.round_map import EMPTY as NO_PLACE
from tui.widgets.round_map import HERE, draw

AppOf = Callable[..., SmallApp]


class Opening(SmallApp):
    """Says which pond would be opened."""

    opened: UUID | None = None

    def open_pond(self, pond: UUID) -> None:
        self.opened = pond


@pytest.fixture
def app_of(sqlite_book: Book, act: Act, tmp_path: Path) -> AppOf:
    def made(plan: DayPlan, staff_id: UUID | None = None, theme: str = NIGHT) -> SmallApp:
        def first() -> MapScreen:
            return MapScreen(plan, staff_id)

        return Opening(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return made


def parts(plan: DayPlan, here: MapPoint | None = None) -> dict[str, str]:
    """All characters of each part of a drawing."""
    found: dict[str, str] = {}
    for row in draw(round_map(plan, None), 70, 30, here):
        for character, part in row:
            found[part] = found.get(part, "") + character
    return found


# How it looks


@pytest.mark.parametrize(
    ("name", "plan", "size", "theme"),
    [("one", nine_stops(), (80, 24), NIGHT), ("one", nine_stops(), (60, 20), DAY),
     ("two", two_drivers(), (80, 24), NIGHT), ("two", two_drivers(), (120, 40), DAY)],
)  # fmt: skip
async def test_it_looks_as_it_was_looked_at(
    app_of: AppOf, name: str, plan: DayPlan, size: tuple[int, int], theme: str
) -> None:
    async with app_of(plan, theme=theme).run_test(size=size) as pilot:
        await quiet(pilot)
        await looks_as(pilot, f"round_map_{name}_{size[0]}")


async def test_the_cursor_of_the_legend_marks_its_stop_and_explains_it(app_of: AppOf) -> None:
    async with app_of(nine_stops(), ADA).run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert f"{HERE}1" in screen_text(pilot.app)
        await pilot.press("down", "down")
        await quiet(pilot)
        assert f"{HERE}3,4" in screen_text(pilot.app)
        said = words(pilot.app)
        assert "3 Heron Court, koi house: clean" in said
        assert "lies too near to 4 for a label of its own" in said
        await pilot.press("end")
        await quiet(pilot)
        said = words(pilot.app)
        assert "Next: enter the latitude and longitude" in said
        assert "Not on the map" in said
        assert not any(f"{HERE}{label}" in said for label in "S16789")
        await pilot.press("up")
        await quiet(pilot)
        assert "1 place is not on the map" in words(pilot.app)
        await pilot.press("up")
        await quiet(pilot)
        assert "S Ada Vet is back at 17:18: the practice" in words(pilot.app)
        assert f"{HERE}S" in screen_text(pilot.app)


async def test_one_driver_or_all(app_of: AppOf) -> None:
    async with app_of(two_drivers()).run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, MapScreen)
        assert "Map: all rounds" in words(pilot.app)
        await pilot.press("home")
        await quiet(pilot)
        assert "A Ada Vet: 4 stops From 08:00 to 11:31" in words(pilot.app)
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("3")
        await on(pilot, MapScreen)
        assert screen.staff_id == BRAM
        said = words(pilot.app)
        assert "Map: Bram Oystercatch" in said
        assert "A1" not in said
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("1")
        await on(pilot, MapScreen)
        assert "A1" in words(pilot.app)
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(pilot.app.screen, MapScreen)


async def test_who_drives_alone_has_nobody_to_change_to(app_of: AppOf) -> None:
    async with app_of(nine_stops()).run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "driver" not in screen_lines(pilot.app)[-1]
        await pilot.press("v")
        await quiet(pilot)
        assert isinstance(pilot.app.screen, MapScreen)


async def test_in_a_window_of_another_size_it_is_drawn_anew(app_of: AppOf) -> None:
    async with app_of(two_drivers()).run_test(size=(60, 20), notifications=True) as pilot:
        await quiet(pilot)
        small = screen_text(pilot.app)
        await pilot.resize_terminal(120, 40)
        await quiet(pilot)
        await looks_as(pilot, "round_map_two_120")
        await pilot.resize_terminal(60, 20)
        await quiet(pilot)
        assert screen_text(pilot.app) == small


# What enter opens


async def test_enter_opens_the_pond_of_the_stop(app_of: AppOf, sqlite_book: Book, act: Act) -> None:
    practice: Practice = add_practice(sqlite_book, act)
    order = (
        errand(1, "Alder Row", (53.01, -1.73)),
        errand(2, "Two ponds", (53.2, -1.6), ponds=(practice.near, practice.far)),
        errand(3, "Whole site", (53.1, -1.6), ponds=()),
    )
    app: Any = app_of(plan_of((driver(), order)))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("enter")
        await quiet(pilot)
        assert app.opened == order[0].pond_ids[0]
        await pilot.press("down", "enter")
        await on(pilot, Choose)
        assert "lower pond" in words(app)
        await pilot.press("2")
        await on(pilot, MapScreen)
        assert app.opened == practice.far
        await pilot.press("down", "enter")
        await quiet(pilot)
        assert [one.message for one in app._notifications] == [NO_POND]
        app.opened = None
        await pilot.press("down", "enter")  # the way back opens nothing
        await quiet(pilot)
        assert app.opened is None


# What is strange


async def test_without_a_round_or_a_place_it_is_said(app_of: AppOf) -> None:
    async with app_of(plan_of((driver(), ()))).run_test(size=(80, 24)) as pilot:
        await quiet(pilot)
        assert EMPTY in words(pilot.app)
    lost = plan_of((driver(at=None), (errand(1, "Osier Barn", None),)))
    async with app_of(lost).run_test(size=(60, 20)) as pilot:
        await quiet(pilot)
        lines = [line[:29].strip() for line in screen_lines(pilot.app)[2:16]]
        assert NO_PLACE in " ".join(" ".join(lines).split())
        assert "Osier Barn" in words(pilot.app)


async def test_strange_names_are_shown_literally(app_of: AppOf) -> None:
    order = [
        errand(nth, name, (53.0 + nth / 50, -1.7) if nth % 2 else None, minutes=5)
        for nth, name in enumerate(HOSTILE, 1)
    ]
    plan = plan_of((driver(who=HOSTILE[1]), order), (driver(BRAM, HOSTILE[0]), order[:1]))
    async with app_of(plan).run_test(size=(80, 40), notifications=True) as pilot:
        await quiet(pilot)
        for key in ("home", "down", "down", "pagedown", "end"):
            await pilot.press(key)
            await pilot.pause()
            lines = screen_lines(pilot.app)
            assert not any(HARMFUL & set(line) for line in lines)
            assert all(cell_len(line) <= 80 for line in lines)
        assert "[/nope]" in screen_text(pilot.app)


# The drawing


def test_lines_are_quieter_than_numbers_and_each_driver_has_a_kind_of_line() -> None:
    plan = two_drivers()
    found = parts(plan)
    assert found["label"].count("A") == 5
    assert "way-here" not in found
    assert "·" in found["way"]
    assert any("⠀" < character <= "⣿" for character in found["way"])
    here = round_map(plan, None).tours[1].points[2]
    marked = parts(plan, here)
    assert marked["here"] == "B2"
    assert set(marked["way-here"]) == {"·"}
    alone = plan_of((driver(), (errand(1, "One", (53.1, -1.6), level=INFECTED),)))
    assert "way-here" not in parts(alone, round_map(alone, None).points[1])


def test_it_is_as_large_as_its_place() -> None:
    for width, height in ((0, 0), (5, 3), (12, 4), (30, 14), (200, 60)):
        rows = draw(round_map(nine_stops(), None), width, height)
        assert len(rows) == height
        assert all(sum(cell_len(character) for character, _ in row) == width for row in rows)


def test_plotext_is_loaded_only_where_a_map_is_drawn() -> None:
    code = "import sys, tui.screens.rounds.map; print('plotext' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"

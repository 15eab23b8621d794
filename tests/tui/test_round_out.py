"""A round goes into a file: in which shape, and never over another without being asked."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import Practice, on, quiet, words
from screen_text import a_moment, looks_as
from sheets_on_screen import own_day
from small_app import SmallApp
from textual import work
from textual.screen import Screen
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.rounds.day.values import DayPlan
from tests.rounds.day_plans import driver, errand, plan_of
from tui.screens.parts.dialogs import Ask
from tui.screens.rounds.round_out import FOR_PROGRAMS, ON_PAPER, RoundOutScreen, write_round
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form


class Writes(Screen[None]):
    """Stands where a round is looked at, and writes it to a file."""

    def __init__(self, plan: DayPlan, staff_id: UUID | None) -> None:
        super().__init__()
        self.plan, self.staff_id = plan, staff_id

    def on_mount(self) -> None:
        self._write()

    @work(group="entry-save")
    async def _write(self) -> None:
        app: Any = self.app
        await write_round(app, self.plan, self.staff_id)


@pytest.fixture
def day(sqlite_book: Book, act: Act) -> tuple[Practice, DayPlan]:
    return own_day(sqlite_book, act)


@pytest.fixture
def app_of(
    sqlite_book: Book, act: Act, tmp_path: Path, day: tuple[Practice, DayPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[..., SmallApp]:  # fmt: skip
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)

    def made(
        plan: DayPlan | None = None, staff_id: UUID | None = None, theme: str = NIGHT
    ) -> SmallApp:
        def first() -> Writes:
            return Writes(plan or day[1], staff_id)

        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return made


async def fill(pilot: Any, shape: str, file: str = "") -> RoundOutScreen:
    screen: RoundOutScreen = await on(pilot, RoundOutScreen)
    screen.query_one(Form).fill({"shape": shape})
    screen.query_one(Input).value = file
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


def folder() -> set[str]:
    return {path.name for path in Path().iterdir()}


@pytest.mark.parametrize(("size", "theme"), [((80, 24), NIGHT), ((60, 20), DAY)])
async def test_it_looks_as_it_was_looked_at(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan], size: tuple[int, int],
    theme: str,
) -> None:  # fmt: skip
    app = app_of(staff_id=day[0].ada, theme=theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await fill(pilot, "geojson", "round.geojson")
        await looks_as(pilot, f"round_out_{size[0]}")


SHAPES = (
    ("pdf A4", b"%PDF-", "pdf"), ("pdf Letter", b"%PDF-", "pdf"), ("text", b"The day", "txt"),
    ("markdown", b"# ", "md"), ("geojson", b"{", "geojson"), ("gpx", b"<?xml", "gpx"),
    ("calendar", b"BEGIN:VCALENDAR", "ics"),
)  # fmt: skip


async def test_every_shape_is_written_and_told(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan]
) -> None:
    app = app_of(staff_id=day[0].ada)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for shape, begins, name in SHAPES:
            await fill(pilot, shape)
            care = FOR_PROGRAMS if name in ("geojson", "gpx", "ics") else ON_PAPER
            assert care in words(app)
            said = await saved(pilot)
            assert folder() == {f"round-2026-03-16-ada-vet.{name}"}
            (path,) = Path().iterdir()
            assert path.read_bytes().startswith(begins)
            assert str(path.resolve()) in said
            assert "3 stops" in said
            assert shape.partition(" ")[2] in said
            path.unlink()
            app.clear_notifications()
            writes = app.screen
            assert isinstance(writes, Writes)
            writes._write()


async def test_what_is_left_out_is_told(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan]
) -> None:
    practice, plan = day
    (one,) = plan.rounds
    lost = replace(one.stops[1], errand=replace(one.stops[1].errand, latitude=None))
    plan = replace(plan, rounds=(replace(one, stops=(one.stops[0], lost, one.stops[2])),))
    app = app_of(plan, practice.ada)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "geojson", "map.json")
        said = await saved(pilot)
    assert "2 stops" in said
    assert "1 stop has no coordinates" in said
    assert json.loads(Path("map.json").read_text())["type"] == "FeatureCollection"


async def test_a_file_that_is_there_is_written_over_only_when_that_is_said(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan]
) -> None:
    Path("mine.txt").write_text("not to be lost")
    app = app_of(staff_id=day[0].ada)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "text", "mine.txt")
        await pilot.press("f2")
        await on(pilot, Ask)
        assert "mine.txt is there already" in words(app)
        await pilot.press("enter")  # the safe answer has the focus
        screen = await on(pilot, RoundOutScreen)
        assert Path("mine.txt").read_text() == "not to be lost"
        assert "was left as it is" in words(app)
        assert screen.query_one(Input).value == "mine.txt"
        await pilot.press("f2")
        await on(pilot, Ask)
        await pilot.press("right", "enter")
        for _ in range(200):
            await a_moment(0.02)
            if isinstance(app.screen, Writes):
                break
        assert "Alder Row" in Path("mine.txt").read_text()
        assert folder() == {"mine.txt"}


async def test_what_cannot_be_written_is_told_at_its_field(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan]
) -> None:
    Path("sub").mkdir()
    app = app_of(staff_id=day[0].ada)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "text", "nowhere/mine.txt")
        await pilot.press("f2")
        for _ in range(200):
            await a_moment(0.02)
            if "cannot be written" in words(app):
                break
        assert "Nothing was written." in words(app)
        await fill(pilot, "text", "sub")  # a folder takes the name that is proposed
        await saved(pilot)
    assert {path.name for path in Path("sub").iterdir()} == {"round-2026-03-16-ada-vet.txt"}


async def test_all_of_the_day_or_one_driver(
    app_of: Callable[..., SmallApp], day: tuple[Practice, DayPlan]
) -> None:
    practice, plan = day
    order = [stop.errand for stop in plan.rounds[0].stops]
    both = plan_of(
        (driver(practice.ada), order[:1]),
        (driver(practice.bram, "Bram Oystercatch"), order[1:]),
        on_day=plan.asked.wish.day,
    )
    app = app_of(both)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "text")
        assert "all of the day" in words(app)
        await saved(pilot)
        assert folder() == {"round-2026-03-16.txt"}
    text = Path("round-2026-03-16.txt").read_text()
    assert "Ada Vet" in text
    assert "Bram Oystercatch" in text
    app = app_of(both, practice.bram)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await fill(pilot, "text")
        await saved(pilot)
    assert folder() == {"round-2026-03-16.txt", "round-2026-03-16-bram-oystercatch.txt"}


async def test_without_a_stop_there_is_nothing_to_write(app_of: Callable[..., SmallApp]) -> None:
    empty = plan_of((driver(), ()), left_out=[errand(1, "Alder Row", (53.0, -1.7))])
    async with app_of(empty).run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert isinstance(pilot.app.screen, Writes)
        said = [one.message for one in pilot.app._notifications]
        assert said == ["Nobody drives anywhere on this day: there is nothing to write."]

"""A paper of a pond goes into a file: which, of which day, never over another unasked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, two_agents
from diary_on_screen import on, quiet, words
from one_pond import add_one_pond
from screen_text import a_moment, looks_as
from small_app import SmallApp
from textual import work
from textual.screen import Screen
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.book.letterhead import practice_head
from store.courses.feeding.stock import stock
from store.courses.planning.course import PondWater, Product
from store.courses.planning.feed_step import FeedWish, Medicine, plan_feed
from tests.reports.report_book import SECRETS, add_day
from tui.screens.exchange.letterhead import LetterheadScreen
from tui.screens.exchange.report import (
    FOR_COLLEAGUES,
    FOR_MIXING,
    FOR_OWNERS,
    SHAPES,
    WITH_NOTES,
    ReportScreen,
    paper_shape,
    write_report,
)
from tui.screens.exchange.wall import ON_THE_WALL, WallScreen
from tui.screens.parts.dialogs import Ask
from tui.screens.ponds.pond import PondScreen
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form


class Writes(Screen[None]):
    """Stands where a pond is looked at, and writes its paper."""

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond

    def on_mount(self) -> None:
        self._write()

    @work(group="entry-save")
    async def _write(self) -> None:
        app: Any = self.app
        await write_report(app, self.pond)


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_day(sqlite_book, act).pond


@pytest.fixture
def app_of(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., SmallApp]:
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)

    def made(pond: UUID, theme: str = NIGHT, first: type[Screen[Any]] = Writes) -> SmallApp:
        return SmallApp(
            sqlite_book, act, lambda: first(pond), tmp_path / "drafts.json", theme=theme
        )

    return made


async def saved(pilot: Any) -> str:
    await pilot.press("f2")
    for _ in range(400):
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
    app_of: Callable[..., SmallApp], pond: UUID, size: tuple[int, int], theme: str
) -> None:
    app = app_of(pond, theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await on(pilot, ReportScreen)
        await looks_as(pilot, f"report_{size[0]}")


def test_every_shape_is_one_of_the_papers() -> None:
    assert [paper_shape(shape) for shape, _ in SHAPES] == [
        ("pdf", "A4"), ("pdf", "Letter"), ("text", "A4"), ("markdown", "A4")
    ]  # fmt: skip
    assert paper_shape("") == ("pdf", "A4")


@pytest.mark.parametrize(
    ("shape", "begins", "ending"),
    [("pdf Letter", b"%PDF-", "pdf"), ("text", b"What we", "txt")],
)
async def test_a_visit_report_is_written(
    app_of: Callable[..., SmallApp], pond: UUID, shape: str, begins: bytes, ending: str
) -> None:
    app = app_of(pond)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, ReportScreen)
        screen.query_one(Form).fill({"shape": shape})
        await quiet(pilot)
        said = await saved(pilot)
    assert folder() == {f"visit-2026-03-13-alder-row-lower-pond.{ending}"}
    (path,) = Path().iterdir()
    assert path.read_bytes().startswith(begins)
    assert str(path.resolve()) in said
    if ending != "pdf":
        assert not [secret for secret in SECRETS if secret in path.read_text()]


async def test_a_course_that_runs_has_its_papers_here(
    app_of: Callable[..., SmallApp], sqlite_book: Book, act: Act, pond: UUID
) -> None:
    """The owner's sheet of every open course; the label where one is given with the feed."""
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=0))
    fed = plan_feed(
        FeedWish(Medicine("florfenicol", 10.0, product=Product("premix", 50.0)), stock("45 kg"), 10,
                 rate_percent=1.0),
        hazards=(), reason="ulcers", water=PondWater(18_400.0, 16_000.0, 20_000.0, temperature_c=18.0),
        first_day=sqlite_book.today(act.at),
    )  # fmt: skip
    feed_key = kept(sqlite_book, act, pond, fed, begin=False)
    app = app_of(pond)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, ReportScreen)
        papers = dict(screen.query_one(Form)._fields["paper"].field.choices)
        assert list(papers)[2:] == [f"course {key}", f"course {feed_key}", f"feed {feed_key}"]
        screen.query_one(Form).fill({"paper": f"feed {feed_key}", "shape": "text"})
        await quiet(pilot)
        assert FOR_MIXING in words(app)
        await saved(pilot)
    (path,) = Path().iterdir()
    assert path.name == "feed-2026-03-14-alder-row-lower-pond.txt"
    assert "MEDICATED FISH FEED" in path.read_text()


async def test_the_morning_list_for_the_wall(app_of: Callable[..., SmallApp], pond: UUID) -> None:
    app = app_of(pond, first=lambda _: WallScreen())
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, WallScreen)
        assert ON_THE_WALL in words(app)
        screen.query_one(Form).fill({"ponds": "all", "shape": "text"})
        await quiet(pilot)
        await saved(pilot)
    assert folder() == {"morning-2026-03-14.txt"}
    assert "Alder Row, lower pond" in Path("morning-2026-03-14.txt").read_text()


async def test_history_and_notes_are_told_apart(
    app_of: Callable[..., SmallApp], pond: UUID
) -> None:
    app = app_of(pond)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, ReportScreen)
        assert FOR_OWNERS in words(app)
        screen.query_one(Form).fill({"paper": "history"})
        await quiet(pilot)
        assert FOR_COLLEAGUES in words(app)
        screen.query_one(Form).fill({"notes": "notes,access", "shape": "text", "charts": ""})
        await quiet(pilot)
        assert WITH_NOTES in words(app)
        await saved(pilot)
    (path,) = Path().iterdir()
    assert path.name == "history-2026-03-14-alder-row-lower-pond.txt"
    text = path.read_text()
    assert "SECRET-TEST" in " ".join(text.split())
    assert "Charts" not in text


async def test_never_over_a_file_unasked(app_of: Callable[..., SmallApp], pond: UUID) -> None:
    Path("mine.txt").write_text("not to be lost")
    app = app_of(pond)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, ReportScreen)
        screen.query_one(Form).fill({"shape": "text"})
        screen.query_one(Input).value = "mine.txt"
        await quiet(pilot)
        await pilot.press("f2")
        await on(pilot, Ask)
        await pilot.press("enter")  # the safe answer has the focus
        await on(pilot, ReportScreen)
        assert Path("mine.txt").read_text() == "not to be lost"
        assert "was left as it is" in words(app)
        await pilot.press("f2")
        await on(pilot, Ask)
        await pilot.press("right", "enter")
        await on(pilot, Writes)
    assert "What we found" in Path("mine.txt").read_text()
    assert folder() == {"mine.txt"}


async def test_without_a_letterhead_it_is_asked_for_first(
    app_of: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    pond = add_one_pond(sqlite_book, act)
    app = app_of(pond, first=PondScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await on(pilot, PondScreen)
        await pilot.press("R")
        form = await on(pilot, LetterheadScreen)
        assert "Test practice" in words(app)
        await pilot.press("f2")
        for _ in range(200):
            await a_moment(0.02)
            if "Nothing was saved" in words(app):
                break
        assert practice_head(sqlite_book) is None
        form.query_one(Form).fill(
            {"telephone": "01632 960555", "address": "4 Weir Lane\nAshbourne"}
        )
        await pilot.press("f2")
        await on(pilot, ReportScreen)
        assert "Paper: Alder Row, lower pond" in words(app)
    head = practice_head(sqlite_book)
    assert head is not None
    assert (head.telephone, head.address) == ("01632 960555", "4 Weir Lane\nAshbourne")


async def test_the_letterhead_form_and_its_key(
    app_of: Callable[..., SmallApp], sqlite_book: Book, pond: UUID, act: Act
) -> None:
    app = app_of(pond)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await on(pilot, ReportScreen)
        await pilot.press("f4")
        form = await on(pilot, LetterheadScreen)
        await looks_as(pilot, "letterhead_80")
        form.query_one(Form).fill({"practice": "Reedmace and Rush"})
        await pilot.press("f2")
        screen = await on(pilot, ReportScreen)
        screen.query_one(Form).fill({"shape": "text"})
        await quiet(pilot)
        await saved(pilot)
    (path,) = Path().iterdir()
    assert "Reedmace and Rush" in path.read_text()

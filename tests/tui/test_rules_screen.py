"""The rules, one rule, and trying it on the past year, on a real small book."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper import HARMFUL
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.watch.rule_words import in_one_clause
from store.watch.rulebook import change_rule, published, rulebook
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test
from tui.screens.parts.dialogs import AskReason
from tui.screens.parts.number import AskNumber
from tui.screens.rules.rule import RuleScreen
from tui.screens.rules.rules import RulesScreen, whole_clauses
from tui.screens.rules.trial import TrialScreen
from tui.themes import DAY, NIGHT
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    """A pond whose pH stood high last winter and again these days."""
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        key = writing.add("pond", site_id=site, name="Lower pond")
    for days_ago, ph in ((100, 7.6), (90, 8.7), (80, 7.6), (5, 8.8)):
        save_test(
            sqlite_book, act, key,
            NewTest(
                taken_at=act.at - timedelta(days=days_ago),
                readings=(ReadingValue("ph", ph, None, None, "=", str(ph), "", ""),),
            ),
        )  # fmt: skip
    return key


@pytest.fixture
def desk(sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]] = RulesScreen, theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


async def shown(pilot: Any) -> None:
    """Everything that was asked of the store has been shown."""
    for _ in range(100):
        await a_moment(0.02)
        if not any(
            one.is_running and one.group in ("rules", "rule", "trial") for one in pilot.app.workers
        ):
            break
    await pilot.pause()


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    """The topmost screen, once it is one of that kind."""
    for _ in range(100):
        if isinstance(pilot.app.screen, kind):
            await shown(pilot)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}")


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_rules_look_as_they_were_looked_at(
    desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    app = desk(theme=theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("down", "down", "down")
        await shown(pilot)
        await looks_as(pilot, f"rules_{width}")


@given(st.integers(20, 90))
def test_no_number_in_the_list_of_rules_is_cut(cells: int) -> None:
    for rule in published().values():
        said = in_one_clause(rule)
        shown = cut(whole_clauses(said, cells), cells)
        numbers = re.findall(r"\d[\d.]*", shown)
        assert set(numbers) <= set(re.findall(r"\d[\d.]*", said)), shown
        assert not re.search(r"\d\.?…", shown)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40)])
async def test_a_rule_looks_as_it_was_looked_at(
    desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: RuleScreen("window_costia"))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"rule_{width}")
        await pilot.press("space", "space")
        await shown(pilot)
        assert "Never changed here" in screen_text(app)


async def test_what_a_number_rests_on_is_not_said_twice_and_no_label_is_cut(
    desk: Callable[..., SmallApp],
) -> None:
    app = desk(lambda: RuleScreen("window_costia"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        labels = [line[2:27] for line in screen_text(app).splitlines()[3:13]]
        assert not any("…" in label for label in labels), labels
        assert "3 days with a value" in screen_text(app)
        await pilot.press("enter")
        await until(pilot, AskNumber)
        said = " ".join(screen_text(app).replace("│", " ").split())
        assert "Now 8 °C. common practice, without a published source" in said
        assert "(common practice)" not in said


async def test_a_number_is_changed_tried_and_saved(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to("ph_range")
        await pilot.press("enter")
        screen = await until(pilot, RuleScreen)
        screen.query_one(LineGrid).move_to("watch_above_ph")
        await pilot.press("enter")
        await until(pilot, AskNumber)
        await pilot.press(*"9.4", "enter")  # beyond the limit of act
        await pilot.pause()
        assert "must lie beyond" in screen_text(app)
        await looks_as(pilot, "number_80")
        await pilot.press("backspace", "backspace", "backspace", *"8,75", "enter")
        screen = await until(pilot, RuleScreen)
        assert screen.staged == {"watch_above_ph": 8.75}
        assert "8.75, not saved" in screen_text(app)
        assert rulebook(sqlite_book).practice[3].params["watch_above_ph"] == 8.5
        await pilot.press("t")
        await until(pilot, TrialScreen)
        await looks_as(pilot, "trial_80")
        said = screen_text(app)
        assert "16 of 365" in said  # ten days in winter and six now
        assert "6 of 365" in said
        await pilot.resize_terminal(60, 20)
        await shown(pilot)
        assert "in force    your numbers\n" in screen_text(app), "both columns stay in sight"
        await pilot.resize_terminal(80, 24)
        await shown(pilot)
        await pilot.press("escape")
        await until(pilot, RuleScreen)
        await pilot.press("w")
        await until(pilot, AskReason)
        assert "watch, above: pH 8.5 becomes pH 8.75" in screen_text(app)
        await pilot.press(*"Green water", "enter")
        await until(pilot, RuleScreen)
        await pilot.pause(0.1)
        await shown(pilot)
        rule = rulebook(sqlite_book).practice[3]
        assert rule.params["watch_above_ph"] == 8.75
        said = screen_text(app)
        assert "the practice's own, changed by Ada Vet on 2026-03-14: Green water" in said
        assert "From memory: pH 8.5; Wedemeyer 1996" in said
        assert "Green water" in rule.changed
        assert app.changes == 1
        await pilot.press("escape")
        await until(pilot, RulesScreen)
        assert "1 changed" in screen_text(app)
        await pilot.press("c")
        await shown(pilot)
        assert app.screen.query_one(LineGrid).row_count == 1
        assert "Ada Vet" in screen_text(app)


async def test_a_rule_is_silenced_for_one_pond_and_goes_back(
    desk: Callable[..., SmallApp], sqlite_book: Book, pond: UUID
) -> None:
    app = desk(lambda: RulesScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "for Brook House, Lower pond" in screen_text(app)
        app.screen.query_one(LineGrid).move_to("ph_range")
        await pilot.press("enter")
        await until(pilot, RuleScreen)
        await pilot.press("m")
        await until(pilot, AskReason)
        await pilot.press(*"Liming", "enter")
        await until(pilot, RuleScreen)
        await pilot.pause(0.1)
        await shown(pilot)
        laws = rulebook(sqlite_book)
        assert not {rule.code: rule for rule in laws.of(pond)}["ph_range"].enabled
        assert laws.practice[3].enabled
        await pilot.press("b")
        await until(pilot, AskReason)
        await pilot.press(*"Over", "enter")
        await until(pilot, RuleScreen)
        await pilot.pause(0.1)
        await shown(pilot)
        rule = {rule.code: rule for rule in rulebook(sqlite_book).of(pond)}["ph_range"]
        assert rule.enabled
        assert rule.params["watch_above_ph"] == 8.5
        app.clear_notifications()
        app.screen.query_one("#rule-text").scroll_end(animate=False)
        await pilot.pause()
        said = screen_text(app)
        assert "Liming" in said
        assert "Over" in said


async def test_escape_lets_unsaved_numbers_go_and_groups_are_stepped_through(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        grid = app.screen.query_one(LineGrid)
        await pilot.press("n")
        assert grid.cursor_key == "temperature_change"
        await pilot.press("n")
        assert str(grid.cursor_key).startswith("window_")
        lines = screen_text(app).splitlines()
        first = next(n for n, line in enumerate(lines) if line.startswith("›"))
        assert "windows" in lines[first]
        assert first == 3, "the group that was stepped to is in sight"
        for _ in range(10):
            await pilot.press("n")
            if grid.cursor_key == "temperature_high":
                break
        assert grid.cursor_key == "temperature_high"


async def test_only_the_changed_ones_are_stepped_through_and_escape_shows_all(
    desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    for code, number in (("temperature_high", "watch_above_c"), ("window_costia", "low_c")):
        change_rule(sqlite_book, act, code, params={number: 9.5}, why="cold water")
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        grid = app.screen.query_one(LineGrid)
        every = grid.row_count
        await pilot.press("c")
        assert grid.row_count == 2
        assert grid.cursor_key == "temperature_high"
        await pilot.press("n")
        assert grid.cursor_key == "window_costia"
        await pilot.press("n")
        assert grid.cursor_key == "temperature_high"
        await pilot.press("escape")
        assert grid.row_count == every
        assert isinstance(app.screen, RulesScreen)


async def test_hostile_names_and_reasons_are_shown_literally(
    desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="[/nope] \x1b[2J")
        site = writing.add("site", client_id=owner, name="[red]x")
        key = writing.add("pond", site_id=site, name="[@click=app.quit]x[/]")
        writing.add(
            "rule_change", pond_id=key, rule="ph_range", params={}, enabled=True, why="[/b] \x9b"
        )
    save_test(
        sqlite_book, act, key,
        NewTest(taken_at=act.at, readings=(
            ReadingValue("ph", 9.9, None, None, "=", "9.9", "", ""),)),
    )  # fmt: skip
    app = desk(lambda: RulesScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to("ph_range")
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
        await pilot.press("enter")
        await until(pilot, RuleScreen)
        assert "[/nope]" in screen_text(app)
        await pilot.press("t")
        await until(pilot, TrialScreen)
        said = screen_text(app)
        assert "[/nope]" in said
        assert not HARMFUL & set(said.replace("\n", ""))

"""The line-drawn grid: its cursor, its width, what it does with strange text."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from paper import HARMFUL, HOSTILE, Paper
from rich.text import Text
from screen_text import looks_as, screen_lines
from textual.content import Content
from textual.message import Message

from store.watch.concern import Spark
from tui.themes import DAY
from tui.widgets import grid as grid_file
from tui.widgets.columns import Column
from tui.widgets.grid import LineGrid, Row
from tui.widgets.spark import spark

COLUMNS = (
    Column("where", "Pond", 18, weight=2),
    Column("what", "What", 20, weight=3),
    Column("spark", "Trend", 6, drop_order=1),
    Column("age", "Test", 5, align="right", drop_order=3),
    Column("visit", "Visit", 6, drop_order=2),
)
SERIES = Spark((0.01, 0.02, 0.06), 0.0, 0.05, (False, False, True))


def rows(count: int, start: int = 0) -> list[Row]:
    levels = ("act", "watch", "unknown", "calm")
    return [
        Row(n, (f"Pond {n}", f"what {n}", spark(SERIES, 6), f"{n} d", "Mon"), levels[n % 4])
        for n in range(start, start + count)
    ]


def moved(heard: Sequence[Message]) -> list[object]:
    return [
        m.key for m in {id(m): m for m in heard}.values() if isinstance(m, LineGrid.CursorMoved)
    ]


def opened(heard: Sequence[Message]) -> list[object]:
    return [m.key for m in {id(m): m for m in heard}.values() if isinstance(m, LineGrid.Opened)]


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (120, 40)])
async def test_it_looks_as_it_was_looked_at(width: int, height: int) -> None:
    grid = LineGrid(COLUMNS, header=True)
    async with Paper(grid, theme=DAY).run_test(size=(width, height), notifications=True) as pilot:
        grid.show(
            [
                Row("a", ("Alder Row, lower pond", "un-ionised NH3 0.11 mg/L",
                          spark(SERIES, 6), "3 d", "Thu"), "act"),
                Row("b", ("鯉の池 Harbour Hotel, atrium by the stairs", "oxygen 4.1 mg/L",
                          spark(SERIES, 6), "today", "–"), "act"),
                Row("c", ("Quarry Farm, pond 2", "no test for 41 days",
                          Text("–", style="quiet"), "41 d", "22 Nov"), "unknown"),
            ]
        )  # fmt: skip
        await pilot.press("j")
        await looks_as(pilot, f"grid_{width}")


async def test_keys_move_the_cursor_and_say_so() -> None:
    grid, heard = LineGrid(COLUMNS), []
    async with Paper(grid).run_test(size=(80, 24), message_hook=heard.append) as pilot:
        grid.show(rows(100))
        assert grid.cursor_key == 0
        for keys, key in (
            (["down"], 1), (["j"], 2), (["k"], 1), (["up", "up", "up"], 0), (["pagedown"], 23),
            (["pageup"], 0), (["end"], 99), (["down"], 99), (["home"], 0),
        ):  # fmt: skip
            await pilot.press(*keys)
            assert grid.cursor_key == key
        assert moved(heard)[0] == 0
        assert moved(heard)[-1] == 0
        await pilot.press("end", "enter")
        assert opened(heard) == [99]
        assert screen_lines(pilot.app)[-1].startswith("›calm")


async def test_the_cursor_stays_on_its_key_and_its_height_when_rows_change() -> None:
    grid, heard = LineGrid(COLUMNS), []
    async with Paper(grid).run_test(size=(80, 10), message_hook=heard.append) as pilot:
        grid.show(rows(100))
        grid.move_to(50)
        await pilot.pause()
        line = next(n for n, text in enumerate(screen_lines(pilot.app)) if text.startswith("›"))
        heard.clear()
        grid.show(rows(70, start=20))
        await pilot.pause()
        assert grid.cursor_key == 50
        assert screen_lines(pilot.app)[line].startswith("›")
        assert moved(heard) == []
        grid.show(rows(10))
        await pilot.pause()
        assert grid.cursor_key == 9
        assert moved(heard) == [9]
        grid.show([])
        await pilot.pause()
        assert grid.cursor_key is None
        assert grid.cursor_row is None
        assert moved(heard) == [9, None]
        await pilot.press("down", "pagedown", "end", "home", "enter")
        assert opened(heard) == []


async def test_the_cursor_comes_back_to_its_key_after_an_empty_list() -> None:
    grid = LineGrid(COLUMNS)
    async with Paper(grid).run_test(size=(80, 8)) as pilot:
        grid.show(rows(30))
        await pilot.pause()
        grid.move_to(17)
        grid.show([])
        assert grid.cursor_key is None
        grid.show([])
        grid.show(rows(30))
        await pilot.pause()
        assert grid.cursor_key == 17
        grid.show([])
        grid.show(rows(5))
        assert grid.cursor_key in range(5), "that key is gone"


async def test_the_mouse_can_do_what_the_keys_can() -> None:
    grid, heard = LineGrid(COLUMNS, header=True), []
    async with Paper(grid).run_test(size=(80, 10), message_hook=heard.append) as pilot:
        grid.show(rows(100))
        await pilot.pause()
        await pilot.click(grid, offset=(20, 0))
        assert grid.cursor_key == 0
        await pilot.click(grid, offset=(20, 4))
        assert grid.cursor_key == 3
        await pilot.double_click(grid, offset=(20, 5))
        assert grid.cursor_key == 4
        assert opened(heard) == [4]
        grid.action_last()
        await pilot.pause()
        await pilot.click(grid, offset=(20, 9))
        assert grid.cursor_key == 99
        grid.show(rows(2))
        await pilot.pause()
        await pilot.click(grid, offset=(20, 8))
        assert grid.cursor_key == 1


async def test_an_empty_grid_says_what_to_do() -> None:
    grid = LineGrid(COLUMNS, empty="No pond yet. Press a to add one [/nope], or bring in a sheet.")
    async with Paper(grid).run_test(size=(30, 10)) as pilot:
        await pilot.pause()
        assert [line for line in screen_lines(pilot.app) if line] == [
            " No pond yet. Press a to add",
            " one [/nope], or bring in a",
            " sheet.",
        ]
        grid.empty = "No pond matches."
        await pilot.pause()
        assert screen_lines(pilot.app)[1] == " No pond matches."


@pytest.mark.parametrize("text", HOSTILE)
async def test_strange_text_is_shown_literally(text: str) -> None:
    grid = LineGrid((Column("a", text, 12), Column("b", text, 12, weight=1), Column("c", "", 12)),
                    header=True, empty=text)  # fmt: skip
    async with Paper(grid).run_test(size=(80, 8), notifications=True) as pilot:
        await pilot.pause()
        grid.show([Row(text, (text, Text(text, style=text), Content(text)), text),
                   Row("2", (Text.assemble(text, (text, "bold")), text, text), "act")])  # fmt: skip
        await pilot.press("down")
        lines = screen_lines(pilot.app)
        assert not any(HARMFUL & set(line) for line in lines)
        assert all(
            strip.cell_length == 80 for strip in pilot.app.screen._compositor.render_strips()
        )
        if text.isprintable() and 0 < len(text) <= 12:
            assert lines[1].count(text) == (4 if len(text) <= 7 else 3)
        await pilot.click(grid, offset=(12, 1))
        assert pilot.app.is_running


async def test_colours_of_named_spans_come_from_the_theme() -> None:
    grid = LineGrid(COLUMNS)
    async with Paper(grid, theme=DAY).run_test(size=(80, 8)) as pilot:
        grid.show(rows(2))
        await pilot.press("down")
        # The cursor is below: the first line shows the level and the value beyond its limit.
        colours = {
            segment.text.strip(): segment.style.color.triplet.hex
            for segment in grid.render_line(0)
            if segment.style and segment.style.color
        }
        assert colours["act"] == "#a3201a"
        assert colours["█"] == "#a3201a"
        assert len({s.style.color for s in grid.render_line(1) if s.style}) == 1
        assert {s.style.bold for s in grid.render_line(1) if s.style} == {True}


async def test_a_text_that_has_one_colour_throughout_keeps_it() -> None:
    grid = LineGrid(COLUMNS)
    async with Paper(grid, theme=DAY).run_test(size=(80, 8)) as pilot:
        late = Text("5 d late", style="act")
        grid.show([Row("a", ("Mill Lane", late, "", "", "")), Row("b", ("Beech House", *"    "))])
        await pilot.press("down")
        colours = {
            segment.text.strip(): segment.style.color.triplet.hex
            for segment in grid.render_line(0)
            if segment.style and segment.style.color
        }
        assert colours["5 d late"] == "#a3201a"


async def test_without_colour_the_cursor_line_is_reversed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    grid = LineGrid(COLUMNS)
    async with Paper(grid).run_test(size=(80, 8)) as pilot:
        grid.show(rows(2))
        await pilot.pause()
        assert all(segment.style and segment.style.reverse for segment in grid.render_line(0))
        assert not any(segment.style and segment.style.reverse for segment in grid.render_line(1))


async def test_only_what_is_on_the_screen_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = 0
    fit = grid_file.fit

    def counted(text: str, width: int, align: str = "left") -> str:
        nonlocal looked
        looked += 1
        return fit(text, width, align)

    monkeypatch.setattr(grid_file, "fit", counted)
    grid = LineGrid(COLUMNS)
    async with Paper(grid).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        looked = 0
        grid.show(rows(3000))
        await pilot.pause()
        assert 0 < looked <= 24 * 6 * 2
        looked = 0
        await pilot.press("down")
        assert 0 < looked <= 2 * 6


def test_two_rows_with_one_key_are_refused() -> None:
    grid = LineGrid(COLUMNS)
    with pytest.raises(ValueError, match="same key"):
        grid.show([*rows(1), *rows(1)])

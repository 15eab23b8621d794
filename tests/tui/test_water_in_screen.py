"""An owner's sheet of water tests on the screen: asked, mended, saved, remembered."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any
from uuid import UUID

import openpyxl
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import cards
from store.errors import PondroundError
from store.exchange.water.sheets import look_at_water
from store.water.water_tests import list_tests
from tui.screens.exchange.plan_answer import WhichPond
from tui.screens.exchange.water_in import WaterInScreen
from tui.screens.exchange.water_in_ask import Answers
from tui.screens.exchange.water_in_lines import Sheet, rows_of
from tui.screens.exchange.water_in_told import in_full, told
from tui.screens.parts.dialogs import Ask, Choose, Tell

sys.path.append(str(Path(__file__).parents[1] / "exchange"))

from sheets import NOW, add_ponds, sheet

LOG = (
    "Garden log 2026;;;;;\nDatum;Temp;pH am;pH pm;NO2;notes\n"
    "1/2/2026;50;7,2;8,4 ish;<0,1;salt 2 cups\n2/2/2026;52;;;trace;\n;;7,3;;;\n"
    "3/2/2026;53;10,4;;0,25;\n4/2/2026;53;7,x;;0,25;\nAverage;52;7,2;;;\n"
)


async def until(pilot: Any, kind: type[Any], text: str = "") -> Any:
    """The topmost screen, once it is of that kind and shows that text."""
    for _ in range(300):
        await a_moment(0.01)
        shown = " ".join(screen_text(pilot.app).replace("│", " ").split())
        if isinstance(pilot.app.screen, kind) and text in shown:
            return pilot.app.screen
    raise AssertionError(screen_text(pilot.app))


class WaterApp(SmallApp):
    """A small application that keeps what the screen was left with."""

    def __init__(self, book: Book, act: Act, path: Path, pond: UUID | None = None) -> None:
        super().__init__(book, act, lambda: WaterInScreen(path, pond), path.parent / "drafts")
        self.left: list[PondroundError | None] = []

    def push_screen(self, screen: Any, callback: Any = None, **more: Any) -> Any:
        kept = self.left.append if isinstance(screen, WaterInScreen) else callback
        return super().push_screen(screen, kept, **more)


async def test_a_messy_sheet_is_asked_about_mended_and_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    (upper,) = (one.pond.id for one in cards(sqlite_book) if one.pond.code == "P-1")
    app = WaterApp(sqlite_book, act, sheet(tmp_path, LOG, "log.csv"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, Answers, "“1/2/2026” is 1 Feb 2026")
        await pilot.press("1")
        await until(pilot, Answers, "“Temp” names no unit")
        await pilot.press("2")
        await until(pilot, WhichPond, "Upper pond")
        await pilot.press(*"upper")
        await pilot.pause(0.1)
        await pilot.press("enter")
        await until(pilot, Answers, "Does a blank mean the same as above?")
        await pilot.press("1")
        await until(pilot, Answers, "pH 10.4 (line 6)")
        await pilot.press("2")
        screen = await until(
            pilot, WaterInScreen, "7 tests to save 2 left out Brook House, Upper pond"
        )
        await pilot.press("down")
        await looks_as(pilot, "water_in_80")
        await pilot.press("c")
        await until(pilot, WaterInScreen, "day before month")
        await looks_as(pilot, "water_in_columns_80")
        assert screen.query_one("#water-in-list").cursor_key == ("column", 0)
        # The column of nitrite is said to be in another unit, and that is taken back.
        await pilot.press("down", "down", "down", "down", "enter")
        await until(pilot, Answers, "Its first cells: <0,1 · trace")
        await pilot.press("enter")
        await until(pilot, Answers, "in which unit?")
        await pilot.press("3")
        await until(pilot, WaterInScreen, "nitrite as NO2, in")
        assert screen.said.columns["no2"] == "nitrite mg/L as N"
        await pilot.press("enter")
        await until(pilot, Answers, "as the file says")
        await pilot.press("1")
        await until(pilot, WaterInScreen, "no unit…")
        assert "no2" not in screen.said.columns
        await pilot.press("c", "a")
        await until(pilot, WaterInScreen, "Line 6 is left out")
        await pilot.press("f2")
        await until(pilot, Ask, "2 rows left out")
        assert list_tests(sqlite_book, upper) == ()
        await pilot.press("right", "enter")
        await until(pilot, WaterInScreen, "0 tests to save 2 left out 7 there already")
        assert app.changes == 1
        await pilot.press("escape")
    assert app.left == [None]
    assert len(list_tests(sqlite_book, upper)) == 7
    refused = (tmp_path / "log.refused.csv").read_text(encoding="utf-8")
    assert "7,x" in refused
    assert "10,4" in refused

    # The next file with these headings is read as was said, and says so; f takes it afresh.
    again = LOG.replace("/2/2026", "/3/2026").replace("10,4", "7,4")
    app = WaterApp(sqlite_book, act, sheet(tmp_path, again, "march.csv"))
    async with app.run_test(size=(60, 20)) as pilot:
        await until(pilot, Answers, "1 Brook House, Upper pond as for log.csv")
        await pilot.press("enter")
        screen = await until(pilot, WaterInScreen, "tests to save")
        assert screen.sheet.preview.kept.shape.order == "dmy"
        assert "read as was said of log.csv" in " ".join(screen_text(app).split())
        await pilot.press("f")
        await until(pilot, Ask, "Take the file afresh?")
        await pilot.press("right", "enter")
        await until(pilot, Answers, "“1/3/2026” is 1 Mar 2026")
        await pilot.press("escape")
        await until(pilot, WaterInScreen, "4 asked nothing is read before that")
        await looks_as(pilot, "water_in_60")


async def test_sheets_of_a_workbook_and_columns_that_are_none(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (upper,) = add_ponds(sqlite_book, act, "Upper pond")
    made = openpyxl.Workbook()
    made.active.title = "Costs"
    made.active.append(["what", "price"])
    for name, rows in {"Log": [["Tag X", "Säure"], ["2026-03-01", 7.1]]}.items():
        page = made.create_sheet(name)
        for row in rows:
            page.append(row)
    path = tmp_path / "log.xlsx"
    made.save(path)
    app = WaterApp(sqlite_book, act, path, upper)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await until(pilot, Choose, "2 rows: Tag X, Säure")
        await pilot.press("2")
        await until(pilot, WaterInScreen, "say what the columns are")
        await pilot.press("end", "enter")
        await until(pilot, Answers, "Its first cells: 7.1")
        await pilot.press("2")
        screen = await until(
            pilot, WaterInScreen, "1 test to save Brook House, Upper pond sheet “Log”"
        )
        await pilot.press("c")
        await until(pilot, WaterInScreen, "1 Mar 2026 12:00?")
        await pilot.press("enter")
        await until(pilot, Tell, "pH 7.1 ← Säure “7.1”")
        await pilot.press("escape", "escape")
    assert app.left == [None]
    # What was said and not saved stands again the next time.
    app = WaterApp(sqlite_book, act, path, upper)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, Choose, "Tag X")
        await pilot.press("2")
        screen = await until(pilot, WaterInScreen, "1 test to save")
        assert dict(screen.said.columns) == {"säure": "pH"}
    app = WaterApp(sqlite_book, act, tmp_path / "none.csv")
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(100):
            await a_moment(0.01)
            if app.left:
                break
    assert isinstance(app.left[0], PondroundError)


def test_lines_name_ponds_as_shortly_as_they_can(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = "date,pond,pH\n2026-03-01,P-1,7.1\n2026-03-01,P-2,7.2\n2026-03-01,P-1,7.1\n"
    preview = look_at_water(sheet(tmp_path, text), sqlite_book, NOW)
    names = {upper: "Brook House, Upper pond", lower: "Brook House, Lower pond"}
    shown = Sheet(preview, names, sqlite_book.zone)
    lines = [[str(cell) for cell in row.cells] for row in rows_of(shown, columns=False)]
    assert [(one[0], one[1], one[3], one[4]) for one in lines] == [
        ("new", "2", "Upper pond", "pH 7.1"), ("new", "3", "Lower pond", "pH 7.2"),
        ("there", "4", "Upper pond", "pH 7.1"),
    ]  # fmt: skip
    other = {upper: "Brook House, Pond", lower: "Mill Lane, Pond"}
    assert Sheet(preview, other, sqlite_book.zone).short_ponds == other
    told_of = told(shown, ("there", 0))
    assert told_of is not None
    assert told_of.arithmetic == "the same as line 2 of this file"
    assert in_full(shown, ("new", 1)) == (
        "Line 3",
        "Brook House, Lower pond, 1 Mar 2026 12:00?\n\npH 7.2 ← pH “7.2”\n\n"
        "Note: time of day not stated, noon supposed",
    )

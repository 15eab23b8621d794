"""The page of one pond: what it shows, its keys, strange names."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from diary_on_screen import on, quiet
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text
from small_app import SmallApp, settled

from store.book.act import Act
from store.book.book import Book
from store.book.events import events, record_event
from store.book.ponds import card
from store.book.visits import visits_of
from store.diary.kept.promised.follow_ups import promise
from store.exams.deaths import NewDeaths, record_deaths
from store.water.understood import ReadingValue
from tui.screens.diary.booking import BookingScreen
from tui.screens.diary.visit import VisitScreen
from tui.screens.parts.dialogs import AskReason, Choose, Tell
from tui.screens.parts.help import Help
from tui.screens.ponds import pond
from tui.screens.ponds.deaths import DeathsScreen
from tui.screens.ponds.event import EventScreen
from tui.screens.ponds.pond import PondScreen
from tui.screens.ponds.pond_lines import LineKey, concern_lines, short_reading
from tui.screens.ponds.pond_page import read_page
from tui.screens.ponds.volume import VolumeScreen
from tui.screens.water.opened_test import OpenedTestScreen
from tui.screens.water.water_test import WaterTestScreen
from tui.themes import DAY, NIGHT
from tui.widgets.chart import TimeChart
from tui.widgets.grid import LineGrid


def app_of(book: Book, act: Act, pond: Any, drafts: Path, theme: str = NIGHT) -> SmallApp:
    return SmallApp(book, act, lambda: PondScreen(pond), drafts / "drafts.json", theme=theme)


@pytest.mark.parametrize(
    ("size", "theme"), [((80, 24), NIGHT), ((120, 40), DAY), ((60, 20), NIGHT)]
)
async def test_it_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, tmp_path: Path, size: tuple[int, int], theme: str
) -> None:
    app = app_of(sqlite_book, act, add_one_pond(sqlite_book, act), tmp_path, theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await settled(pilot)
        await looks_as(pilot, f"pond_{size[0]}")


async def test_the_chart_begins_with_what_worries_and_turns_through_the_series(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, add_one_pond(sqlite_book, act), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert "un-ionised ammonia" in screen_text(app)
        await pilot.press("p")
        assert "free CO2" in screen_text(app)
        await pilot.press("P", "b")
        text = screen_text(app)
        assert "un-ionised ammonia" in text
        assert "temperature" in text
        screen = app.screen
        assert isinstance(screen, PondScreen)
        assert screen.page is not None
        assert screen.page.chart is not None
        for _ in screen.page.chart.series[1:]:
            await pilot.press("b")
        assert "temperature" not in screen_text(app)


async def test_the_chart_is_zoomed_and_moved(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    app = app_of(sqlite_book, act, add_one_pond(sqlite_book, act), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        chart = app.screen.query_one(TimeChart)
        whole = chart.window
        await pilot.press("plus")
        closer = chart.window
        await pilot.press("left")
        earlier = chart.window
        assert whole is not None
        assert closer is not None
        assert earlier is not None
        assert closer[1] - closer[0] < whole[1] - whole[0]
        assert earlier[0] < closer[0]
        await pilot.press("f5")
        await settled(pilot)
        assert chart.window == earlier, "reading anew keeps the place"
        await pilot.press("0")
        assert chart.window == whole


async def test_every_key_opens_its_screen(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    app = app_of(sqlite_book, act, add_one_pond(sqlite_book, act), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        for key, screen in (
            ("t", WaterTestScreen), ("n", EventScreen), ("u", VolumeScreen),
            ("f1", Help),
        ):  # fmt: skip
            await pilot.press(key)
            await settled(pilot)
            assert isinstance(app.screen, screen), key
            await pilot.press("escape")
            await settled(pilot)
            assert isinstance(app.screen, PondScreen), key


async def test_a_visit_is_booked_for_what_is_due_here(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = add_one_pond(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        promise(
            writing, client_id=card(sqlite_book, pond).client.id, kind="visit", pond_id=pond,
            says="look at the liner", first_on=sqlite_book.today(act.at) + timedelta(days=10),
        )  # fmt: skip
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("v")
        await on(pilot, Choose)
        assert "look at the liner" in screen_text(app)
        await pilot.press("1")
        booking = await on(pilot, BookingScreen)
        assert len(booking.wish.purposes) == 1
        await pilot.press("escape")
        await on(pilot, PondScreen)
        await pilot.press("v")
        chosen = await on(pilot, Choose)
        await pilot.press(str(len(chosen._options)))  # something else
        booking = await on(pilot, BookingScreen)
        assert booking.wish.purposes == ()
        assert booking.wish.pond_id is not None


async def test_a_visit_is_done_and_an_event_ends_from_the_list(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = add_one_pond(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        record_event(writing, pond, "ice_cover", sqlite_book.today(act.at))
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("enter")
        await on(pilot, VisitScreen)
        await pilot.press("e")
        await on(pilot, AskReason)
        await pilot.press(*"flukes", "enter")
        await on(pilot, VisitScreen)
        await pilot.press("escape")
        await on(pilot, PondScreen)
        await pilot.press("f5")
        await quiet(pilot)
        assert visits_of(sqlite_book, pond)[0].state == "done"
        assert visits_of(sqlite_book, pond)[0].note == "flukes"
        assert "visit done" in screen_text(app)
        line = next(n for n, line in enumerate(screen_lines(app)) if "ice cover" in line)
        top = next(n for n, line in enumerate(screen_lines(app)) if line.startswith("›"))
        for _ in range(abs(line - top)):
            await pilot.press("down" if line > top else "up")
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("1")
        for _ in range(4):
            await settled(pilot)
        ice = next(one for one in events(sqlite_book, pond) if one.kind == "ice_cover")
        assert ice.until_day == sqlite_book.today(act.at)
        assert app.told == []


async def test_older_tests_are_counted_and_reached(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = add_one_pond(sqlite_book, act)  # fourteen tests
    monkeypatch.setattr(pond, "TESTS_SHOWN", 6)
    app = app_of(sqlite_book, act, key, tmp_path)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        grid = app.screen.query_one(LineGrid)
        assert "8 older tests not shown: o shows more" in screen_text(app)
        tests = [row.key for row in grid._rows if row.key.kind == "test"]  # type: ignore[attr-defined]
        assert len(tests) == 6
        await pilot.press("end", "o")
        await settled(pilot)
        assert "2 older tests not shown: o shows more" in screen_text(app)
        place = next(n for n, row in enumerate(grid._rows) if row.key.kind == "older")  # type: ignore[attr-defined]
        assert [row.key.kind for row in grid._rows[:place]].count("test") == 12  # type: ignore[attr-defined]
        await pilot.press("home", *(["down"] * place), "enter")
        await settled(pilot)
        assert "older" not in screen_text(app)
        assert [row.key.kind for row in grid._rows].count("test") == 14  # type: ignore[attr-defined]
        await pilot.press("o")
        await pilot.pause()
        assert "Every test of this pond is listed." in screen_text(app)


def test_the_words_of_a_concern_stay_when_the_line_is_short(sqlite_book: Book, act: Act) -> None:
    page = read_page(sqlite_book, add_one_pond(sqlite_book, act), act.at)
    assert page.watch is not None
    count = len(page.watch.concerns)
    assert count > 2
    for width in (58, 78, 118):
        lines = concern_lines(page, width, 2).plain.splitlines()
        assert len(lines) == 2
        assert all(len(line) <= width for line in lines)
        assert page.watch.concerns[0].what in lines[0]
        assert lines[1].endswith(f"  and {count - 2} more: e")
    assert len(concern_lines(page, 118, count).plain.splitlines()) == count
    assert "more" not in concern_lines(page, 118, count).plain


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (ReadingValue("nitrite_mg_l", 0.0, 0.0, None, ">", "trace", "mg/L", "no2"), "NO2 trace"),
        (ReadingValue("nitrite_mg_l", 0.05, None, None, "<", "n.d.", "", "no2"),
         "NO2 not detected"),
        (ReadingValue("tan_mg_l", 0.05, None, 0.05, "<", "<0.05", "mg/L", "n"), "TAN <0.05"),
        (ReadingValue("nitrite_mg_l", 0.003, None, None, "=", "0.003", "", "no2"), "NO2 0.003"),
        (ReadingValue("nitrite_mg_l", 0.0, None, None, "=", "0", "", "no2"), "NO2 0.00"),
    ],
)  # fmt: skip
def test_a_little_is_never_shown_as_nothing(reading: ReadingValue, said: str) -> None:
    assert short_reading(reading) == said


async def test_enter_opens_a_test(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    app = app_of(sqlite_book, act, add_one_pond(sqlite_book, act), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert isinstance(app.screen, OpenedTestScreen)
        await looks_as(pilot, "opened_test_80")


async def test_the_dead_of_a_day_stand_in_the_list_and_open_the_deaths(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    key = add_one_pond(sqlite_book, act)
    today = sqlite_book.today(act.at)
    with sqlite_book.writing(act) as writing:
        for dead, signs in ((2, ("sunken_eyes",)), (1, ())):
            new = NewDeaths(today, dead, "koi", signs=signs)
            assert record_deaths(writing, key, new, sure=True).key is not None
    app = app_of(sqlite_book, act, key, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert "3 koi dead; eyes sunken" in screen_text(app)
        grid = app.screen.query_one(LineGrid)
        await pilot.press("home")
        for _ in range(grid.row_count):
            if isinstance(grid.cursor_key, LineKey) and grid.cursor_key.kind == "deaths":
                break
            await pilot.press("down")
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, DeathsScreen)


async def test_a_pond_that_is_not_there_is_told(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, uuid4(), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for _ in range(3):
            await pilot.pause(0.05)
        assert isinstance(app.screen, Tell)
        assert "There is no such pond" in screen_text(app)


async def test_an_empty_pond_says_what_to_do(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    with sqlite_book.writing(act) as writing:
        site = writing.add("site", client_id=writing.add("client", name="Beech"), name="garden")
        pond = writing.add("pond", site_id=site, name="new pond")
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settled(pilot)
        text = screen_text(app)
        assert "volume not known" in text
        assert "No reading yet. Press t" in text
        assert "Nothing yet. Press t" in text
        await pilot.press("p", "b", "plus", "left", "0")


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_names_are_shown_literally(
    sqlite_book: Book, act: Act, tmp_path: Path, name: str
) -> None:
    pond = add_one_pond(sqlite_book, act, client=name[:200], pond=name[:200], note=name)
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        if name.startswith("[/nope]"):
            assert screen_text(app).count("[/nope]") >= 2
        await pilot.press("down", "enter")
        await settled(pilot)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        assert app.told == []

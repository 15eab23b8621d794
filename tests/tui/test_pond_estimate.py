"""A pond that nobody has read today: its page, the explaining page and the command by estimate."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import on
from ponds_read_seldom import add_ponds_read_seldom
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp, settled

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import card
from store.warmth.estimate import NOT_YET, Doubt, EstimatedDay
from store.warmth.kept.estimates import estimate_of
from store.warmth.kept.fits import make_fit
from store.warmth.words import why_not
from store.watch.warmth_told import WarmthTold, warmth_told
from tui.commands.pond import as_json, as_text, read_pond
from tui.commands.pond_estimate import estimate_json
from tui.screens.morning.explain import ExplainScreen
from tui.screens.ponds.pond import PondScreen
from tui.screens.ponds.pond_warmth_lines import doubt_lines, estimate_lines
from tui.themes import NIGHT

TODAY = date(2026, 3, 14)


async def test_the_page_the_chart_and_the_explanation_say_what_is_estimated(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = add_ponds_read_seldom(sqlite_book, act)
    assert warmth_told(sqlite_book, pond, act.at) is None
    before = read_pond(sqlite_book, pond, act.at)
    assert as_json(before)["estimate"] is None
    assert "estimate" not in "\n".join(as_text(before)), "without a fit nothing is said of one"
    assert make_fit(sqlite_book, act.at) is not None
    app = SmallApp(sqlite_book, act, lambda: PondScreen(pond), tmp_path / "drafts", theme=NIGHT)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await looks_as(pilot, "pond_estimate_80")
        told = estimate_of(sqlite_book, pond, act.at)
        assert told is not None
        day = told.of_today
        said = f"about {day.mean_c:.1f} °C, {day.low_c:.1f} to {day.high_c:.1f} by estimate"
        assert said in screen_text(app)
        await pilot.press("E")
        await settled(pilot)
        text = screen_text(app)
        assert "⡇⠂" not in text
        assert "┊" not in text
        assert said in text, "what is hidden is the fan alone"
        await pilot.press("E")
        await settled(pilot)
        assert "⡇⠂" in screen_text(app)
        await pilot.press("e")
        await on(pilot, ExplainScreen)
        for _ in range(100):
            if "reading the pond" not in screen_text(app):
                break
            await a_moment()
        await pilot.press("end")
        await pilot.pause()
        assert "Rests on" in screen_text(app)
        assert "mill pool" in screen_text(app)
        assert "stay in the book as they are" in screen_text(app).replace("\n              ", " ")
        await pilot.press("escape")
        await on(pilot, PondScreen)
        await pilot.resize_terminal(120, 40)
        await settled(pilot)
        await looks_as(pilot, "pond_estimate_120")
        await pilot.resize_terminal(60, 20)
        await settled(pilot)
        assert all(len(line) <= 60 for line in screen_lines(app))
        assert "settle" in screen_text(app)
    after = read_pond(sqlite_book, pond, act.at)
    lines = list(as_text(after))
    assert max(map(len, lines)) <= 80
    assert said in "\n".join(lines)
    estimate = as_json(after)["estimate"]
    assert (estimate["on"], estimate["measured_today"]) == ("2026-03-14", False)
    assert estimate["mean_c"] == pytest.approx(day.mean_c, abs=0.005)
    assert estimate["low_c"] < estimate["mean_c"] < estimate["high_c"]
    assert [one["on"] for one in estimate["days_ahead"]][::13] == ["2026-03-15", "2026-03-28"]
    assert any("mill pool" in ground for ground in estimate["grounds"])
    assert [one["first"] for one in estimate["doubts"]] == ["2026-02-18"]
    assert estimate["doubts"][0]["read_c"] == 19.0
    assert estimate["why_not"] is None
    with sqlite_book.writing(act) as writing:
        site = card(sqlite_book, pond).site.id
        newcomer = writing.add("pond", site_id=site, name="newcomer", indoor=True)
    late = warmth_told(sqlite_book, newcomer, act.at)
    assert late is not None
    assert late.in_short.startswith("no estimate yet")
    assert late.why_not == why_not(NOT_YET)
    assert estimate_json(late)["mean_c"] is None  # type: ignore[index]
    assert estimate_json(late)["why_not"] == late.why_not  # type: ignore[index]


def told(**changed: Any) -> WarmthTold:
    day = EstimatedDay(TODAY, 16.4, 15.1, 17.7)
    nothing = WarmthTold(
        TODAY, None, day, "about 16.4 °C, 15.1 to 17.7 by estimate",
        "about 16.4 °C, 15.1 to 17.7 by estimate; read 20 d ago, 3 neighbours",
        ("Its season.", "Its own reading."), "", False, (), (), (), (), "",
    )  # fmt: skip
    return replace(nothing, **changed)


def test_on_one_line_the_estimate_stands_whole_beside_its_interval() -> None:
    short = estimate_lines(told(), 78).plain
    assert short.splitlines() == [
        "today    about 16.4 °C, 15.1 to 17.7 by estimate; read 20 d ago, 3 neighbours"
    ]
    assert estimate_lines(told(), 118, 3).plain.endswith("estimate. Its season. Its own reading.")
    assert {str(span.style) for span in estimate_lines(told(), 78).spans} == {"$quiet"}
    assert not estimate_lines(None, 78)
    why = told(says="", of_today=None, in_short="no estimate: little", why_not="Too little.")
    assert estimate_lines(why, 78).plain == "today    no estimate: little"
    assert estimate_lines(why, 78, 3).plain == "today    Too little."
    assert not estimate_lines(replace(why, measured_today=True), 78), "a reading speaks for itself"
    assert not doubt_lines(told(), 78)


def test_the_newest_doubt_is_named_with_what_to_do_and_the_others_are_counted() -> None:
    doubt = Doubt(UUID(int=1), TODAY, TODAY, 1, 66.2, 18.8, True)
    two = told(
        doubts=(doubt, doubt), to_settle=("older", "newer " * 30, "flat"),
        to_settle_short=("older", "newer in short", "flat"), settle="Measure.",
    )  # fmt: skip
    lines = doubt_lines(two, 78).plain.splitlines()
    assert lines[0] == "settle   newer in short  and 2 more: e"
    assert lines[1].strip().startswith("another thermometer, correct or strike the test")
    assert all(len(line) <= 78 for line in lines)
    assert len(doubt_lines(two, 58, 1).plain.splitlines()) == 1
    assert "heated or indoors" in doubt_lines(two, 118, 3).plain
    strange = told(to_settle=("It hardly follows the year.",), to_settle_short=("flat",))
    assert "It hardly follows the year." in doubt_lines(strange, 78).plain

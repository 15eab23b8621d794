"""The page and the command that tell how promises were kept: numbers, bars, words, no colour."""

from __future__ import annotations

import argparse
import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.kept_on_time import (
    DEFINITION,
    PromisesKept,
    Record,
    Stood,
    Tally,
    months_until,
    promises_tallied,
)
from store.diary.kept.promised.follow_ups import keep_day, promise
from store.diary.kept.score.promises_kept import promises_kept
from store.facts.follow_ups import follow_up_kinds
from tui.commands import promises as command
from tui.screens.desk.promises import KeptKey, PromisesScreen, kept_rows, told
from tui.screens.desk.promises_chart import LATE, NOT_KEPT, ON_TIME, promises_chart
from tui.widgets.grid import LineGrid

MONTHS = months_until(date(2026, 3, 14), 12)


def some(today: date = date(2026, 3, 14)) -> PromisesKept:
    """Twelve months with twenty visits a month and four calls in all."""
    records = [
        Record(
            "visit", (Stood(month.first, month.first),), 7,
            kept_on=month.first + timedelta(days=9 if number < place % 3 else 5),
        )
        for place, month in enumerate(MONTHS)
        for number in range(20)
    ]  # fmt: skip
    records += [
        Record("ring", (Stood(MONTHS[-1].first, MONTHS[-1].first),), 0,
               kept_on=MONTHS[-1].first if kept else None)
        for kept in (True, True, True, False)
    ]  # fmt: skip
    return promises_tallied(records, today, 12, follow_up_kinds(), ("What is counted.",))


def kept_book(book: Book, act: Act) -> Any:
    """A client with weekly calls since the middle of January, of which some were kept."""
    january = Act(act.by, datetime(2026, 1, 12, 9, tzinfo=UTC))
    with book.writing(january) as writing:
        client = writing.add("client", name="Brook House")
        key = promise(
            writing, client_id=client, kind="ring", says="Ring", first_on=date(2026, 1, 12),
            repeats="FREQ=WEEKLY", early_days=0, late_days=1,
        )  # fmt: skip
    for week, late in ((0, 0), (1, 1), (2, 3), (4, 0)):
        due = date(2026, 1, 12) + timedelta(weeks=week)
        on = due + timedelta(days=late)
        with book.writing(Act(act.by, datetime(on.year, on.month, on.day, 9, tzinfo=UTC))) as w:
            keep_day(w, str(About("hand", key, day=due)), on)
    return client


async def shown(pilot: Any) -> str:
    for _ in range(200):
        await a_moment(0.02)
        if pilot.app.screen.kept is not None:
            await a_moment(0.05)
            return screen_text(pilot.app)
    raise AssertionError(screen_text(pilot.app))


class TestLines:
    """Every number with its count; few cases say so."""

    def test_all_kinds_then_each(self) -> None:
        rows = kept_rows(some(), set())
        assert [(row.key, str(row.cells[0])) for row in rows] == [
            (KeptKey(None), "all kinds"), (KeptKey(0), "visit"),
            (KeptKey(1), "a call that was promised"),
        ]  # fmt: skip
        assert [str(row.cells[1]) for row in rows] == ["231/244", "228/240", "3/4"]
        assert str(rows[2].cells[2]) == " 75 % few"
        # Wilson for 228 of 240 and 3 of 4, as scipy.stats.binomtest gives them.
        assert [str(row.cells[3]) for row in rows[1:]] == ["91.5–97.1 %", "30.1–95.4 %"]

    def test_months_unfold_newest_first(self) -> None:
        rows = kept_rows(some(), {0})
        assert [row.key for row in rows[2:4]] == [KeptKey(0, 11), KeptKey(0, 10)]
        assert str(rows[2].cells[0]) == "  Mar 2026"
        assert len(rows) == 3 + 12

    def test_what_the_strip_tells(self) -> None:
        name, tally, beside = told(some(), KeptKey(0))
        assert name == "Visit"
        assert tally.said == "228 of 240 on time, 95 % (95 % interval 91.5 to 97.1 %)."
        assert beside == (
            "On time is up to 7 days after its day. 12 late. Those kept late were 2 days late in "
            "the middle."
        )
        name, tally, beside = told(some(), KeptKey(1, 11))
        assert (name, beside) == ("A call that was promised, Mar 2026", "1 not kept.")
        assert tally.said.endswith("So few say little.")

    def test_nothing_at_all(self) -> None:
        assert (
            kept_rows(promises_tallied((), date(2026, 3, 14), 12, follow_up_kinds()), set()) == []
        )


class TestBars:
    """Bars by plotext with months and counts set around them."""

    def lines(self, tallies: list[Tally], width: int = 78, height: int = 8) -> list[str]:
        return str(promises_chart("visits", MONTHS, tallies, width, height)).split("\n")

    def test_as_many_lines_as_there_are(self) -> None:
        tallies = [Tally(place) for place in range(12)]
        for height in (5, 8, 12):
            for width in (58, 78, 118):
                found = self.lines(tallies, width, height)
                assert len(found) == height
                assert max(map(len, found)) <= width

    def test_the_highest_reaches_the_top_and_none_shows_nothing(self) -> None:
        found = self.lines([Tally() for _ in range(11)] + [Tally(on_time=6)])
        assert found[1].startswith("   6┤")
        assert found[5].startswith("   0┤")
        assert all(line.count(ON_TIME) == 4 for line in found[1:6])
        assert found[6].split()[-1] == "Mar"
        assert found[7].split() == ["·"] * 11 + ["6/6"]

    def test_bars_stand_over_their_month(self) -> None:
        found = self.lines([Tally(on_time=5) for _ in range(12)])
        for place in range(12):
            cells = slice(6 + 6 * place, 12 + 6 * place)
            assert found[5][cells].strip() == ON_TIME * 4, place
            assert found[7][cells].strip() == "5/5"

    @pytest.mark.parametrize("on_time", [1, 5, 60, 600])
    def test_what_was_not_kept_is_never_hidden(self, on_time: int) -> None:
        found = "\n".join(self.lines([Tally(on_time, late=0, not_kept=1)] * 12)[1:])
        assert found.count(NOT_KEPT) >= 12
        found = "\n".join(self.lines([Tally(on_time, late=1)] * 12)[1:])
        assert found.count(LATE) >= 12

    def test_nothing_to_draw(self) -> None:
        found = self.lines([Tally() for _ in range(12)])
        assert len(found) == 8
        assert ON_TIME not in "".join(found[1:])


class TestThePage:
    """Looked at in three sizes, by keyboard alone."""

    @pytest.mark.parametrize(
        ("size", "name"), [((80, 24), "80"), ((120, 40), "120"), ((60, 20), "60")]
    )
    async def test_as_it_looks(
        self, sqlite_book: Book, act: Act, tmp_path: Path, size: tuple[int, int], name: str
    ) -> None:
        kept_book(sqlite_book, act)
        app = SmallApp(sqlite_book, act, PromisesScreen, tmp_path / "d.json")
        async with app.run_test(size=size, notifications=True) as pilot:
            await shown(pilot)
            await looks_as(pilot, f"promises_kept_{name}")

    async def test_unfolded_explained_and_left(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        kept_book(sqlite_book, act)
        app = SmallApp(sqlite_book, act, PromisesScreen, tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await shown(pilot)
            await pilot.press("down", "enter", "down")
            await pilot.pause()
            assert pilot.app.screen.query_one(LineGrid).cursor_key == KeptKey(0, 11)
            assert "  Mar 2026" in screen_text(app)
            await pilot.press("e")
            await pilot.pause()
            text = screen_text(app)
            assert "A call that was promised, Mar 2026" in text
            assert " ".join(DEFINITION.split()[:6]) in text
            await pilot.press("escape")
            await pilot.pause()
            await pilot.press("up", "enter")
            await pilot.pause()
            assert "  Mar 2026" not in screen_text(app)

    async def test_an_empty_book_says_what_to_do(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        app = SmallApp(sqlite_book, act, PromisesScreen, tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            text = await shown(pilot)
            assert "Nothing was promised in these months yet." in text
            await pilot.press("enter", "e")
            await pilot.pause()

    async def test_it_is_read_anew_when_the_book_grows(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        app = SmallApp(sqlite_book, act, PromisesScreen, tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await shown(pilot)
            kept_book(sqlite_book, act)
            app.screen.on_book_changed()
            for _ in range(100):
                await a_moment(0.02)
                if "all kinds" in screen_text(app):
                    break
            assert "all kinds" in screen_text(app)


class TestTheCommand:
    """The same numbers as text and as JSON."""

    def test_text(self) -> None:
        lines = list(command.as_text(some()))
        assert lines[0] == (
            "Promises from Apr 2025 to Mar 2026. "
            "231 of 244 on time, 95 % (95 % interval 91.1 to 96.9 %)."
        )
        call = next(line for line in lines if line.startswith("a call"))
        assert " ".join(call.split()[5:]) == "3 of 4 75 % 30.1 to 95.4 % 1 not kept, few"
        assert "visit: on time is up to 7 days after its day." in lines
        assert max(map(len, lines[-12:])) <= command.WIDTH
        empty = promises_tallied((), date(2026, 3, 14), 12, follow_up_kinds())
        assert list(command.as_text(empty))[1] == command.NONE

    def test_json(self) -> None:
        found = command.as_json(some())
        assert json.loads(json.dumps(found, allow_nan=False)) == found
        assert found["months"][-1] == "2026-03"
        visit, ring = found["kinds"]
        assert (visit["kind"], visit["late_days"], visit["late_by_days"]) == ("visit", 7, 2.0)
        assert (ring["whole"]["on_time"], ring["whole"]["counted"]) == (3, 4)
        assert ring["months"][0]["share"] is None
        assert ring["whole"]["few"] is True
        assert found["whole"]["low"] < found["whole"]["share"] < found["whole"]["high"]

    @pytest.mark.parametrize("as_json", [True, False])
    def test_on_a_book(
        self, sqlite_url: str, sqlite_book: Book, act: Act, as_json: bool,
        capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
    ) -> None:  # fmt: skip
        kept_book(sqlite_book, act)
        monkeypatch.setattr(command, "now", lambda: act.at)
        args = argparse.Namespace(book=sqlite_url, json=as_json, months=3)
        assert command.run_promises(args) == 0
        out = capsys.readouterr().out
        whole = promises_kept(sqlite_book, act.at, 3).whole
        assert whole.counted == 9
        if as_json:
            assert json.loads(out)["whole"]["on_time"] == whole.on_time
        else:
            assert whole.said in out

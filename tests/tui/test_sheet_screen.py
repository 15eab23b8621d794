"""The day's sheet on the screen, stop by stop."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import Practice, on, quiet, words
from paper import HARMFUL, HOSTILE, Paper
from rich.cells import cell_len
from screen_text import looks_as, screen_lines, screen_text
from sheets_on_screen import own_day
from small_app import SmallApp
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.rounds.day.sheet import (
    ConcernLine,
    CourseLine,
    DaySheet,
    Job,
    PondSheet,
    StopSheet,
    WhyLine,
)
from store.rounds.day.values import DayPlan
from store.rounds.kept.sheets.sheet import day_sheet
from store.rounds.solving.problem import SUSPECT
from tests.rounds.day_plans import driver, errand, plan_of
from tui.screens.exams.examination import ExaminationScreen
from tui.screens.parts.dialogs import Tell
from tui.screens.rounds.round_out import RoundOutScreen
from tui.screens.rounds.sheet import SheetScreen
from tui.screens.rounds.sheet_lines import day_said, stop_said
from tui.screens.water.water_test import WaterTestScreen
from tui.themes import DAY, NIGHT

AppOf = Callable[..., SmallApp]


@pytest.fixture
def day(sqlite_book: Book, act: Act) -> tuple[Practice, DayPlan]:
    return own_day(sqlite_book, act)


class Opening(SmallApp):
    """Says which pond would be opened."""

    opened: UUID | None = None

    def open_pond(self, pond: UUID) -> None:
        self.opened = pond


@pytest.fixture
def app_of(sqlite_book: Book, act: Act, tmp_path: Path, day: tuple[Practice, DayPlan]) -> AppOf:
    practice, plan = day

    def made(
        stop: UUID | None = None, theme: str = NIGHT, other: DayPlan | None = None
    ) -> SmallApp:
        def first() -> SheetScreen:
            return SheetScreen(other or plan, practice.ada, stop)

        return Opening(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return made


def whole(stop: StopSheet) -> StopSheet:
    """A stop at which everything is to be said."""
    pond = PondSheet(
        pond_id=UUID(int=1), name="koi pond", volume="18,400 L ±12 %", apart="By salt.",
        use="ornamental", eating="not before 3 Apr 2026", fish="31 koi", system="two drum filters",
        tested="12 Mar 2026 by Ada Vet", readings=("18.2 °C", "pH 7.9"), doubts=("old kit",),
        flagged=(ConcernLine("act", "NH3 over its limit", "Ammonia", "tan_mg_l", "Stop feeding."),),
        courses=(CourseLine(UUID(int=2), "dose 2 of 3", "last 9 Mar", "16 Mar", "control 30 Mar",
                            ("a stop has no answer",)),),
        findings=("gill flukes, 2 per clip",), samples=("swab, awaited",),
    )  # fmt: skip
    before = ("Feed nothing the day before.",)
    return replace(
        stop,
        ring="Ring first: 20 min later than was agreed.",
        whys=(WhyLine("koi pond", "control after salt", "due 16 Mar 2026", before),
              WhyLine("", "water test", "", before)),
        ponds=(pond, replace(pond, name="lily pond", flagged=(), courses=())),
        jobs=(Job("dose", pond.pond_id, "koi pond", "Give 40 g", ("Dissolve it first.",)),),
        prices="60 for the visit", consent="signed", terms_said="Ada Vet, 3 Mar 2026",
        slot_said="best at dawn: oxygen", note="Take the long net.",
        warnings=("Nobody leaves with wet gear.",),
    )  # fmt: skip


# How it looks


@pytest.mark.parametrize(
    ("number", "size", "theme"),
    [(1, (80, 24), NIGHT), (2, (60, 20), DAY), (2, (120, 40), NIGHT), (0, (80, 24), DAY)],
)
async def test_it_looks_as_it_was_looked_at(
    app_of: AppOf, number: int, size: tuple[int, int], theme: str
) -> None:
    async with app_of(theme=theme).run_test(size=size, notifications=True) as pilot:
        screen = await on(pilot, SheetScreen)
        screen._to(number)
        await quiet(pilot)
        await looks_as(pilot, f"day_sheet_{number}_{size[0]}")


async def test_from_stop_to_stop_and_to_the_day_as_a_whole(app_of: AppOf) -> None:
    async with app_of().run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, SheetScreen)
        assert "Stop 1 of 3, Ada Vet" in screen_lines(pilot.app)[0]
        await pilot.press("pagedown")
        assert screen.query_one("#day-sheet-page").scroll_y > 0
        await pilot.press("right")
        await pilot.pause()
        assert screen.query_one("#day-sheet-page").scroll_y == 0
        assert "Stop 2 of 3, Ada Vet then 10:07 Teal Mill" in words(pilot.app)
        await pilot.press("n")
        await pilot.pause()
        assert "Stop 3 of 3, Ada Vet then home, 11:35" in words(pilot.app)
        assert "→ next" not in screen_lines(pilot.app)[-1]
        await pilot.press("n", "n")
        await pilot.pause()
        assert screen.number == 3
        await pilot.press("left", "p", "p", "p", "p")
        await pilot.pause()
        said = words(pilot.app)
        assert "Ada Vet: the day" in said
        assert "2 08:41 Gorse Cottage, garden: koi pond; infected, ring first" in said
        assert not any(word in screen_lines(pilot.app)[-1] for word in ("pond", "test", "before"))
        await pilot.press("right", "right", "d")
        await pilot.pause()
        assert screen.number == 0
        await pilot.press("enter", "t", "e")
        await quiet(pilot)
        assert pilot.app.screen is screen
        await pilot.press("escape")
        await pilot.pause()
        assert pilot.app.screen is not screen


async def test_at_the_pond_of_the_stop_is_entered(
    app_of: AppOf, day: tuple[Practice, DayPlan]
) -> None:
    practice, plan = day
    app: Any = app_of(plan.rounds[0].stops[2].errand.key)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await on(pilot, SheetScreen)
        assert screen.number == 3
        await pilot.press("enter")
        await quiet(pilot)
        assert app.opened == practice.far
        await pilot.press("t")
        test = await on(pilot, WaterTestScreen)
        assert test.pond == practice.far
        await pilot.press("escape")
        await on(pilot, SheetScreen)
        await pilot.press("e")
        exam = await on(pilot, ExaminationScreen)
        assert exam.pond == practice.far
        await pilot.press("escape")
        assert (await on(pilot, SheetScreen)).number == 3
        await pilot.press("x")
        await on(pilot, RoundOutScreen)


async def test_who_is_not_on_the_road_is_told(app_of: AppOf) -> None:
    other = plan_of((driver(), (errand(1, "Alder Row", (53.0, -1.6)),)))
    async with app_of(other=other).run_test(size=(80, 24), notifications=True) as pilot:
        await on(pilot, Tell)
        assert "not on the road" in words(pilot.app)
        await pilot.press("escape", "right", "enter", "home")
        await quiet(pilot)
        assert isinstance(pilot.app.screen, SheetScreen)


# What it says


def stop_of(book: Book, day: tuple[Practice, DayPlan], act: Act) -> tuple[DaySheet, StopSheet]:
    practice, plan = day
    sheet = day_sheet(book, plan, practice.ada, act.at)
    return sheet, sheet.stops[0]


def test_nothing_of_a_stop_is_left_out(
    sqlite_book: Book, day: tuple[Practice, DayPlan], act: Act
) -> None:
    _, stop = stop_of(sqlite_book, day, act)
    said = stop_said(whole(stop), 76, "12:30 to 13:00, 30 min, after stop 1").plain
    one = " ".join(said.split())
    for word in (
        "1 08:06–08:36 Alder Row, garden", "Nobody leaves with wet gear.", "Ring first: 20 min",
        "the gate is stiff", "01632 960555", "clean: as its record says", "agreed for 09:00",
        "best at dawn: oxygen", "Take the long net.", "koi pond: control after salt (due 16 Mar",
        "koi pond: Give 40 g", "Dissolve it first.", "18,400 L ±12 %", "By salt.",
        "not before 3 Apr 2026", "31 koi", "two drum filters", "12 Mar 2026 by Ada Vet",
        "18.2 °C, pH 7.9", "old kit", "act NH3 over its limit", "Stop feeding.", "dose 2 of 3",
        "next: 16 Mar", "control 30 Mar", "a stop has no answer", "gill flukes, 2 per clip",
        "swab, awaited", "lily pond", "60 for the visit", "signed", "Ada Vet, 3 Mar 2026",
        "12:30 to 13:00, 30 min, after stop 1",
    ):  # fmt: skip
        assert word in one, word
    # What the owner does before is said once, though two promises ask for it.
    assert one.count("Feed nothing the day before.") == 1
    # Big things first.
    order = ["08:06", "Nobody", "Ring", "address", "way in", "telephone", "standing",
             "Why we come", "What to do", "koi pond\n", "prices"]  # fmt: skip
    places = [said.index(word) for word in order]
    assert places == sorted(places)


def test_after_a_suspect_the_gear_is_told_in_full(
    sqlite_book: Book, day: tuple[Practice, DayPlan], act: Act
) -> None:
    _, stop = stop_of(sqlite_book, day, act)
    assert "No further pond today." not in stop_said(stop, 76).plain
    suspect = replace(stop, standing="suspect")
    errand_of = replace(suspect.stop.errand, level=SUSPECT, disinfect_min=45)
    suspect = replace(suspect, stop=replace(suspect.stop, errand=errand_of))
    said = " ".join(stop_said(suspect, 76).plain.split())
    assert "Disinfect before the drive: 45 min are planned" in said
    assert "No further pond today." in said
    assert "☐" not in said


def test_the_day_as_a_whole_tells_what_is_broken_left_out_and_not_known(
    sqlite_book: Book, day: tuple[Practice, DayPlan], act: Act
) -> None:
    sheet, stop = stop_of(sqlite_book, day, act)
    lost = replace(stop.stop, errand=replace(stop.stop.errand, latitude=None))
    sheet = replace(
        sheet, stops=(replace(stop, stop=lost), *sheet.stops[1:]), km=None,
        broken=("Teal Mill comes before Alder Row.",), left_out=("Reed Hall does not fit.",),
        remarks=("The sun sets at 18:15.",), price="Costs 12 min.",
    )  # fmt: skip
    said = " ".join(day_said(sheet, 76).plain.split())
    for word in (
        "Teal Mill comes before Alder Row.", "Reed Hall does not fit.", "The sun sets at 18:15.",
        "Without coordinates, and so on no map: Alder Row, garden.", "Costs 12 min.",
        "not every way is known in km", "Proven", "no break falls into the round",
    ):  # fmt: skip
        assert word in said, word
    alone = replace(sheet, stops=(), day=date(2026, 3, 17))
    assert "Nobody is driven to on this day." in day_said(alone, 76).plain


async def test_strange_text_is_shown_literally(
    sqlite_book: Book, day: tuple[Practice, DayPlan], act: Act
) -> None:
    _, stop = stop_of(sqlite_book, day, act)
    full = whole(stop)
    for name in HOSTILE:
        pond = replace(full.ponds[0], name=name, fish=name, doubts=(name,), readings=(name,))
        strange = replace(
            full, client=name, address=(name,), way_in=name, phones=(name,), note=name,
            whys=(WhyLine(name, name, name, (name,)),), ponds=(pond, pond), prices=name,
        )  # fmt: skip
        said = stop_said(strange, 76)
        lines = said.plain.split("\n")
        assert not any(HARMFUL & set(line) for line in lines)
        assert all(cell_len(line) <= 76 for line in lines)
        if name == "[/nope]":
            async with Paper(Static(said, markup=False)).run_test(size=(80, 90)) as pilot:
                await pilot.pause()
                assert screen_text(pilot.app).count(name) >= 10

"""Whole days of practice through the screens: from a finding to the answer whether it worked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from uuid import UUID

import pytest
from called import NOW
from practice_day import Day
from screen_text import screen_lines
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.course_values import Course
from store.courses.kept.records import courses_of
from store.exams.deaths import deaths_of
from store.exams.examinations import examinations_of
from store.exams.open_findings import open_findings
from store.exchange.plain.whose import PondNames
from tui.screens.courses.caution_read import ReadCautions
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.dose import DoseScreen
from tui.screens.courses.outcome import OutcomeScreen
from tui.screens.exams.examination import ExaminationScreen
from tui.screens.exams.examination_page import ExaminationPageScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.ponds.death_entry import DeathEntryScreen
from tui.screens.ponds.deaths import DeathsScreen
from tui.screens.ponds.pond_lines import LineKey
from tui.widgets.grid import LineGrid

D = timedelta(days=1)
BEFORE = {"Asa": (42, 6), "Bo": (35, 0), "Cy": (60, 9), "Di": (18, 2)}
AFTER = {"Asa": 3, "Bo": 1, "Cy": 6, "Di": 0}


@pytest.fixture
def day(own: Path, tmp_path: Path) -> Iterator[Day]:
    with open_book(own, now=NOW) as book:
        yield Day(book, tmp_path / "drafts.json")


async def test_flukes_are_found_treated_counted_again_and_told(day: Day) -> None:
    pond = PondNames(day.book).one("PEN-1")
    async with day.app.run_test(size=(100, 40), notifications=True) as day.pilot:
        await day.shows("25 ponds")
        await day.open(pond)
        await day.press("x")
        await day.on(ExaminationScreen)
        for mark, (gills, skin) in BEFORE.items():
            scrape = f"gill flukes {skin}" if skin else "nothing"
            await day.type(
                f"koi; mark {mark}; gill 100x 5 fields: gill flukes {gills}; "
                f"skin 100x 5 fields: {scrape}",
                "#exam-line",
            )
            await day.press("enter")
            await day.quiet()
        await day.type("own net", "#exam-gear")
        await day.press("f2")
        await day.on(ExaminationPageScreen)
        assert "on the skin as well: the burden is heavy" in day.text
        await day.morning()
        assert "gill flukes, heavy" in day.text
        await day.open(pond)
        assert "gill flukes, heavy since today" in day.text
        (exam,) = examinations_of(day.book, pond)
        assert day.app.screen.query_one(LineGrid).move_to(LineKey("exam", exam.id))
        await day.press("enter")
        await day.on(ExaminationPageScreen)
        await day.press("p")
        await day.on(PlanCourseScreen)
        await day.fill(
            {
                "1.agent": "praziquantel", "1.route": "pond_bath", "1.dose": "2 mg/L",
                "1.doses": "2", "1.change": "30 %", "1.product": "powder",
            }
        )  # fmt: skip
        await day.press("f2")
        await day.on(Choose)
        await day.press("1")  # begun now
        await day.read_on(CourseScreen)
        (course,) = courses_of(day.book, pond)
        assert course.plan.hazards == ("gill_flukes",)
        assert course.plan.reason == "gill flukes, examination of 14 Mar 2026"
        assert pond not in open_findings(day.book)
        for dose in course.plan.steps[0].doses:
            day.at = NOW + (dose.due_on - NOW.date())
            await day.press("f5")
            await day.shows(f"dose {dose.number} of 2 due today")
            await day.press("d")
            await day.on(DoseScreen)
            await day.press("f2")
            await day.read_on(CourseScreen)
        await day.shows("2 of 2 given")

        day.at = NOW + 34 * D
        await day.press("e")
        await day.on(ExaminationScreen)
        await day.shows("control")
        for mark, gills in AFTER.items():
            await day.type(
                f"koi; mark {mark}; gill 100x 5 fields: gill flukes {gills}; "
                "skin 100x 5 fields: nothing",
                "#exam-line",
            )
            await day.press("enter")
        await day.type("own net", "#exam-gear")
        await day.press("f2")
        await day.on(ExaminationPageScreen)
        day.app.push_screen(CourseScreen(course.id))
        await day.on(CourseScreen)
        await day.press("w")
        await day.on(OutcomeScreen)
        # 155 flukes before and 10 after: 1 - 10/155.
        await day.shows("fewer by 94 %")
        assert "(95 % limits): 38.8 in 5 fields before, 2.5 after, 4 fish" in day.text
    (course,) = courses_of(day.book, pond)
    assert course.control_done is not None
    assert [one.given.amount for one in course.log] == [36.8, 36.8]


async def test_deaths_of_koi_in_warm_water_stop_everything(day: Day) -> None:
    pond, today = PondNames(day.book).one("QUI-1"), NOW.date()
    (vet,) = [one for one in staff(day.book) if one.name == "Maren Birkholt"]
    with day.book.writing(Act(vet.id, NOW)) as writing:
        record_event(writing, pond, "new_fish", today - 14 * D, amount=3, note="koi, a show")
    async with day.app.run_test(size=(100, 40), notifications=True) as day.pilot:
        await day.shows("25 ponds")
        await day.open(pond)
        await day.press("D")
        await day.on(DeathsScreen)
        for when, dead in (("11 Mar", 2), ("12 Mar", 0), ("yesterday", 2), ("today", 1)):
            await day.press("n")
            await day.on(DeathEntryScreen)
            signs = "mottled gills, sunken eyes" if dead else ""
            await day.fill(
                {"dead": str(dead), "species": "koi", "on_day": when, "signs": signs}
            )  # fmt: skip
            await day.press("f2")
            await day.on(DeathsScreen)
        await day.shows("STOP: koi herpesvirus disease is suspected")
        await day.shows("Move no fish, water or nets. Ring the authority. Sample first.")
        await day.morning()
        stopped = [row for row in screen_lines(day.app) if "STOP: koi" in row]
        assert sum("Atrium pool" in row for row in stopped) == 1
        await day.open(pond)
        assert "5 dead in 7 days" in day.text
        assert "1 koi dead; gills mottled white and red, eyes sunken" in day.text
        day.app.push_screen(PlanCourseScreen(pond))
        form = await day.on(PlanCourseScreen)
        await day.fill(
            {
                "hazard": "gill_flukes", "reason": "koi die", "1.agent": "praziquantel",
                "1.route": "pond_bath", "1.dose": "2 mg/L", "1.doses": "1", "1.product": "powder",
            }
        )  # fmt: skip
        await day.until(lambda: form.proposal is not None)
        assert form.proposal is not None
        assert "suspected_khv" in {one.code for one in form.proposal.stops}
        said = " ".join(str(form.query_one("#plan-said", Static).content).split())
        assert "is suspected at this pond: sample before any treatment" in said
        await day.press("f2")
        await day.on(Choose)
        await day.press("1")
        await day.until(lambda: isinstance(day.app.screen, ReadCautions | AskReason))
    assert active_of(day.book, pond) == ()
    assert [one.dead for one in deaths_of(day.book, pond)] == [1, 2, 0, 2]


def active_of(book: Book, pond: UUID) -> tuple[Course, ...]:
    return tuple(one for one in courses_of(book, pond) if one.state in {"planned", "running"})

"""Courses over all ponds, one course as its page shows it, and a dose as it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.volumes import record_estimate
from store.courses.kept.course_page import course_page, curve, dose_lines
from store.courses.kept.dose_asked import (
    cautions_of,
    dose_asked,
    dose_said,
    dose_typed,
    log_typed,
)
from store.courses.kept.dose_now import left_of
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.records import Course, course
from store.courses.kept.under_way import under_way
from store.courses.planning.course import PlannedDose, PlanStep, PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput
from tests.book.entries import NOW, add_pond

TYPED = {
    "which": "1:1", "amount": "90 g", "on_day": "today", "at_time": "", "change": "0",
    "given_by": "", "batch": "", "observed": "",
}  # fmt: skip


def running(book: Book, act: Act, name: str, days_ago: int, *, begin: bool = True) -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name=name)
        site = writing.add("site", client_id=owner, name="Garden")
        pond = writing.add("pond", site_id=site, name="pond", use="ornamental")
        record_estimate(
            writing, pond, method="salt", litres=9000.0, low_l=8000.0, high_l=10_000.0,
            measured_on=book.today(act.at), pond_rev=1,
        )  # fmt: skip
    then = Act(act.by, act.at - timedelta(days=days_ago))
    plan = plan_course(
        [StepWish("formalin", "pond_bath", 20.0, doses=2, interval_days=3)],
        hazards=("costia",), reason="costia", first_day=book.today(then.at),
        water=PondWater(9000.0, 8000.0, 10_000.0, temperature_c=15.0, ph=7.4, oxygen_mg_l=9.0,
                        use="ornamental"),
    )  # fmt: skip
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        if begin:
            start_course(writing, key, 1, (), {})
    return key


def test_the_worst_stands_first_and_what_has_not_begun_last(sqlite_book: Book, act: Act) -> None:
    today = running(sqlite_book, act, "Beech House", 0)
    late = running(sqlite_book, act, "Mill Lane", 2)
    ended = running(sqlite_book, act, "Quarry Farm", 1)
    planned = running(sqlite_book, act, "Alder Row", 0, begin=False)
    with sqlite_book.writing(act) as writing:
        end_course(writing, ended, 2, "stopped", "fish gasped")
    lines = under_way(sqlite_book, NOW)
    assert [one.course.id for one in lines] == [late, today, planned]
    assert [one.level for one in lines] == ["act", "act", "calm"]
    assert lines[0].first is not None
    assert (lines[0].first.what, lines[0].first.late_days) == ("dose 1 of 2 is 2 d late", 2)
    assert lines[0].first.standing == "common practice"
    assert (lines[0].given, lines[0].doses, lines[0].name) == (0, 2, "formalin")
    assert lines[2].first is None


def test_a_dose_that_is_logged_is_no_longer_waited_for(sqlite_book: Book, act: Act) -> None:
    key = running(sqlite_book, act, "Mill Lane", 2)
    asked = dose_asked(sqlite_book, key, NOW)
    assert [(one.planned.number, one.stands) for one in asked.open] == [(1, "late"), (2, "due")]
    values = TYPED | {"amount": f"{left_of(asked.open[0]):g}", "observed": "one rubs"}
    typed = dose_typed(asked, values, NOW, sqlite_book)
    assert dose_said(typed) == "20 mg/L; planned 20 mg/L"
    cautions = cautions_of(asked, typed)
    reasons = {one.code: "seen" for one in cautions if one.level == "stop"}
    log_typed(sqlite_book, act, asked, typed, values, cautions, reasons)
    page = course_page(sqlite_book, key, NOW)
    assert [one.stands for one in page.doses] == ["given", "due"]
    assert (page.line.given, page.line.doses) == (1, 2)
    (entry,) = page.course.log
    assert (entry.given_by, entry.observed, entry.given.at) == ("Ada Vet", "one rubs", NOW)
    assert len(page.course.answered) == len(cautions)
    assert page.turn is not None
    assert any("late" in said for said in page.turn.said)


def test_what_is_left_of_a_dose_is_offered(sqlite_book: Book, act: Act) -> None:
    key = running(sqlite_book, act, "Mill Lane", 0)
    asked = dose_asked(sqlite_book, key, NOW)
    whole = asked.open[0].planned.amount
    values = TYPED | {"amount": f"{whole / 4:.6g} g", "off_why": "Ada, in four parts"}
    typed = dose_typed(asked, values, NOW, sqlite_book)
    log_typed(sqlite_book, act, asked, typed, values, (), {})
    again = dose_asked(sqlite_book, key, NOW).open[0]
    assert again.stands == "in part"
    assert left_of(again) == pytest.approx(whole * 3 / 4)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"which": ""}, "which"),
        ({"which": "1:9"}, "which"),
        ({"which": "x:y"}, "which"),
        ({"amount": ""}, "amount"),
        ({"amount": "-3 g"}, "amount"),
        ({"amount": "90 kg"}, "amount"),
        ({"change": "101"}, "change"),
        ({"change": "-1"}, "change"),
        ({"change": "3 L"}, "change"),
        ({"on_day": "tomorrow"}, "on_day"),
        ({"on_day": "some day"}, "on_day"),
        ({"at_time": "23:59"}, "at_time"),
    ],
)
def test_what_cannot_have_been_is_refused_at_its_field(
    sqlite_book: Book, act: Act, typed: Mapping[str, str], field: str
) -> None:
    asked = dose_asked(sqlite_book, running(sqlite_book, act, "Mill Lane", 0), NOW)
    with pytest.raises(BadInput) as told:
        dose_typed(asked, TYPED | typed, NOW, sqlite_book)
    assert told.value.field == field


def test_an_earlier_day_without_a_time_is_its_noon(sqlite_book: Book, act: Act) -> None:
    asked = dose_asked(sqlite_book, running(sqlite_book, act, "Mill Lane", 4), NOW)
    typed = dose_typed(asked, TYPED | {"on_day": "yesterday"}, NOW, sqlite_book)
    assert typed.at.isoformat() == "2026-03-13T12:00:00+00:00"
    assert typed.on_day == typed.at.date()


def test_a_pond_without_a_volume_says_so(sqlite_book: Book, act: Act) -> None:
    pond = add_pond(sqlite_book, act)
    plan = course(sqlite_book, running(sqlite_book, act, "Mill Lane", 0)).plan
    with sqlite_book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
    with pytest.raises(BadInput, match="volume"):
        dose_asked(sqlite_book, key, NOW)


@given(st.integers(0, 20), st.integers(1, 6), st.integers(1, 14))
def test_what_is_still_to_come_is_never_drawn_in_the_past(
    days_ago: int, doses: int, every: int
) -> None:
    today = NOW.date()
    first = today - timedelta(days=days_ago)
    step = PlanStep(
        place=1, agent="formalin", route="pond_bath", dose=20.0, unit="mg/L",
        product=StepWish("formalin", "pond_bath", 20.0).product, volume_l=9000.0,
        doses=tuple(
            PlannedDose(n + 1, first + timedelta(days=every * n), 20.0, 180.0, "g", 0.0, "practice")
            for n in range(doses)
        ),
        interval_days=every, interval_why="typed", exposure_h=None, half_life_h=None,
        safe_most=40.0, source="common_practice", standing="common practice",
    )  # fmt: skip
    found = a_course(step)
    shown = curve(step, found, NOW.replace(tzinfo=None))
    assert min(shown.times).date() >= today or not days_ago
    assert [number for _, number, _ in shown.doses] == sorted(
        number for _, number, _ in shown.doses
    )
    assert shown.bound == pytest.approx(20.0 * doses)
    assert shown.times == tuple(sorted(shown.times))
    assert shown.known == 0


def test_what_is_known_ends_now_or_with_the_first_dose_that_was_not_given(
    sqlite_book: Book, act: Act
) -> None:
    """20 mg/L four days ago; the second dose, a day overdue, is drawn today."""
    key = running(sqlite_book, act, "Mill Lane", 4)
    at = NOW - timedelta(days=4)
    asked = dose_asked(sqlite_book, key, at)
    values = TYPED | {"amount": f"{left_of(asked.open[0]):g}"}
    typed = dose_typed(asked, values, at, sqlite_book)
    log_typed(sqlite_book, Act(act.by, at), asked, typed, values, (), {})
    (shown,) = course_page(sqlite_book, key, NOW).curves
    assert shown.times[shown.known - 1].date() == NOW.date()
    assert max(shown.values[: shown.known]) == pytest.approx(20.0)
    assert max(shown.values[shown.known :]) == pytest.approx(40.0)
    early = course_page(sqlite_book, key, NOW - timedelta(days=2)).curves[0]
    assert early.times[early.known - 1] == (NOW - timedelta(days=2)).replace(tzinfo=None)
    assert early.values[early.known - 1] == pytest.approx(20.0)


def a_course(step: PlanStep) -> Course:
    plan = plan_course(
        [StepWish("formalin", "pond_bath", 20.0)], hazards=(), reason="costia",
        first_day=NOW.date(), water=PondWater(9000.0, 8000.0, 10_000.0, temperature_c=15.0),
    )  # fmt: skip
    key = UUID(int=1)
    return Course(
        key, 1, key, "running", replace(plan, steps=(step,)), step.doses[0].due_on, None, "", key,
        "", (), (), (), {},
    )  # fmt: skip


def test_the_lines_of_a_course_stand_in_the_order_of_their_days(
    sqlite_book: Book, act: Act
) -> None:
    found = course(sqlite_book, running(sqlite_book, act, "Mill Lane", 4))
    lines = dose_lines(found, sqlite_book.today(NOW))
    assert [one.late_days for one in lines] == [4, 1]
    assert [one.stands for one in lines] == ["late", "late"]
    later = dose_lines(found, sqlite_book.today(NOW - timedelta(days=4)))
    assert [one.stands for one in later] == ["due today", "due"]

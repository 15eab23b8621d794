"""An examination after the last dose is the control of its course; one before it is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import log_dose
from store.courses.kept.exam_page import exam_page, purpose_of
from store.courses.kept.examined import enter_examination, say_controls, strike_control
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.records import course, followed_courses
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput
from store.exams.examinations import examination
from store.exams.values import ExamFish, Found, Prep
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test
from tests.book.entries import NOW, add_pond
from tests.exams.looked_at import exam, koi

TODAY = NOW.date()
BEGUN = 10


def slides(*counts: int, hazard: str = "gill_flukes", magnification: int = 100) -> tuple[ExamFish, ...]:  # fmt: skip
    return tuple(
        koi(
            Prep("gill clip", "", magnification, 5, found=(Found(hazard, counted=count),)), nth=n
        )
        for n, count in enumerate(counts, start=1)
    )  # fmt: skip


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act)
    return key


@pytest.fixture
def key(book: Book, act: Act, pond: UUID) -> UUID:
    """A course of two doses against flukes, three days apart, begun ten days ago."""
    begun = TODAY - timedelta(days=BEGUN)
    plan = plan_course(
        [StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=3)],
        hazards=("gill_flukes",), reason="gill flukes", first_day=begun,
        water=PondWater(9000.0, 8000.0, 10_000.0, temperature_c=17.7, ph=7.0, oxygen_mg_l=9.0,
                        use="ornamental"),
    )  # fmt: skip
    with book.writing(Act(act.by, NOW - timedelta(days=BEGUN))) as writing:
        made = keep_plan(writing, pond, plan)
        start_course(writing, made, 1, (), {})
    return made


def give(book: Book, act: Act, key: UUID, number: int, days_ago: int) -> None:
    at = NOW - timedelta(days=days_ago)
    dose = course(book, key).plan.steps[0].doses[number - 1]
    with book.writing(Act(act.by, at)) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=at, amount=dose.amount,
            amount_unit=dose.amount_unit, water_change_percent=0.0, given_by="Ada",
        )  # fmt: skip


def all_given(book: Book, act: Act, key: UUID) -> None:
    give(book, act, key, 1, BEGUN)
    give(book, act, key, 2, BEGUN - 3)


def test_the_examination_after_the_last_dose_is_the_control(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    all_given(book, act, key)
    with book.writing(act) as writing:
        end_course(writing, key, course(book, key).rev, "completed", "")
    assert [one.id for one in followed_courses(book)] == [key]
    with book.writing(act) as writing:
        made = enter_examination(
            writing, pond, exam(*slides(2, 0), purpose="control", course_id=key)
        )
    assert made.answered
    done = course(book, key).control_done
    assert done is not None
    assert done.note.startswith("Examination of 14 Mar 2026, 07:30: 2 fish: gill flukes 2 in 5")
    assert followed_courses(book) == ()


def test_an_examination_before_the_last_dose_controls_nothing(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    give(book, act, key, 1, BEGUN)
    with book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(purpose="control", course_id=key))
    assert (made.answered, made.said) == (
        False, "Doses are still to be given; the control follows the last one.",
    )  # fmt: skip
    assert course(book, key).control_done is None
    assert examination(book, made.id).exam.course_id == key
    give(book, act, key, 2, 0)
    with book.writing(act) as writing:
        early = exam(at=NOW - timedelta(days=1), purpose="control", course_id=key)
        made = enter_examination(writing, pond, early)
    assert not made.answered
    assert made.said == "The last dose was given on 14 Mar 2026; the control follows it."


def test_a_second_look_leaves_the_control_as_it_was(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    all_given(book, act, key)
    what = exam(*slides(2), purpose="control", course_id=key)
    with book.writing(act) as writing:
        assert enter_examination(writing, pond, what).answered
    first = course(book, key).control_done
    with book.writing(act) as writing:
        again = enter_examination(writing, pond, replace(what, fish=slides(9)))
    assert not again.answered
    assert course(book, key).control_done == first


def test_it_can_be_said_afterwards_which_course_it_controls(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    all_given(book, act, key)
    with book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(*slides(1)))
    assert [one.id for one in exam_page(book, made.id, NOW).others] == [key]
    with book.writing(act) as writing:
        assert say_controls(writing, made.id, 1, key).answered
    kept = examination(book, made.id)
    assert (kept.exam.course_id, kept.exam.purpose) == (key, "control")
    with book.writing(act) as writing, pytest.raises(BadInput):
        say_controls(writing, made.id, kept.rev, key)
    other = add_pond(book, act)
    with book.writing(act) as writing:
        there = enter_examination(writing, other, exam(*slides(1)))
    with book.writing(act) as writing, pytest.raises(BadInput):
        say_controls(writing, there.id, 1, key)


def test_a_struck_control_is_to_be_made_again(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:  # fmt: skip
    all_given(book, act, key)
    with book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(*slides(2), purpose="control", course_id=key))
    with book.writing(act) as writing:
        assert strike_control(writing, made.id, 1, "the wrong pond")
    assert course(book, key).control_done is None
    assert examination(book, made.id).struck_why == "the wrong pond"


def test_a_control_ticked_by_hand_outlives_a_struck_examination(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    from store.courses.kept.tasks import record_control

    all_given(book, act, key)
    with book.writing(act) as writing:
        record_control(writing, key, "2 flukes, by hand")
    with book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(*slides(2), purpose="control", course_id=key))
    assert not made.answered
    with book.writing(act) as writing:
        assert not strike_control(writing, made.id, 1, "the wrong pond")
    assert course(book, key).control_done is not None


def test_the_page_names_the_course_that_answered_it(
    book: Book, act: Act, pond: UUID, key: UUID
) -> None:
    assert purpose_of(book, pond) == "first look"
    then = Act(act.by, NOW - timedelta(days=BEGUN, hours=2))
    with book.writing(then) as writing:
        before = enter_examination(writing, pond, exam(*slides(23, 31, 12), at=then.at))
    assert purpose_of(book, pond) == "routine"
    all_given(book, act, key)
    with book.writing(act) as writing:
        after = enter_examination(
            writing, pond, exam(*slides(2, 0, 1), purpose="control", course_id=key)
        )
    page = exam_page(book, before.id, NOW)
    assert [one.id for one in page.answered_by] == [key]
    assert page.controls is None
    page = exam_page(book, after.id, NOW)
    assert page.controls is not None
    assert (page.controls.id, page.controls.controlled) == (key, True)
    assert not page.others
    assert not page.answered_by


def test_the_temperature_of_that_day_stands_beside_it(book: Book, act: Act, pond: UUID) -> None:
    for days, warm in ((20, 9.0), (2, 14.5), (0, 25.0)):
        at = NOW - timedelta(days=days)
        read = understand(f"{warm}C", kit=KitForms("n", "no2", "no3"), now=at, zone=book.zone)
        save_test(book, act, pond, NewTest(at, read.readings, way="line"))
    with book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(at=NOW - timedelta(hours=1)))
        old = enter_examination(writing, pond, exam(at=NOW - timedelta(days=3)))
    warmth = exam_page(book, made.id, NOW).warmth
    assert warmth is not None
    assert (warmth.value_c, warmth.believed) == (14.5, True)
    warmth = exam_page(book, old.id, NOW).warmth
    assert warmth is not None
    assert (warmth.value_c, warmth.believed) == (9.0, False)
    assert exam_page(book, made.id, NOW).today == date(2026, 3, 14)

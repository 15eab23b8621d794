"""Courses over all ponds, those that have ended among them, found by what somebody remembers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import log_dose, strike_given
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.over_all import course_list, fitting
from store.courses.kept.records import course
from store.courses.kept.tasks import record_control
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course
from tests.book.entries import NOW


def a_course(book: Book, act: Act, client: str, agents: Sequence[str], begun: date) -> UUID:
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=17.0, ph=7.0, use="ornamental")
    wishes = [StepWish(one, "pond_bath", dose) for one, dose in zip(agents, (15.0, 0.25))]  # noqa: B905
    plan = plan_course(wishes, hazards=(), reason="costia", water=water, first_day=begun)
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="garden")
        pond = writing.add("pond", site_id=site, name="round pool", use="ornamental")
        return keep_plan(writing, pond, plan)


@pytest.fixture
def three(book: Book, act: Act) -> tuple[UUID, UUID, UUID]:
    """One that runs, one that was stopped, one completed with its control made."""
    today = NOW.date()
    runs = a_course(book, act, "Château Noir", ["formalin"], today)
    stopped = a_course(book, act, "Beech House", ["formalin", "trichlorfon"], today)
    done = a_course(book, act, "Mill Lane", ["trichlorfon"], today)
    for key in (runs, stopped, done):
        with book.writing(act) as writing:
            start_course(writing, key, 1, (), {})
    with book.writing(act) as writing:
        end_course(writing, stopped, 2, "stopped", "two fish lay on their side")
        log_dose(
            writing, course(book, done).dose_ids[1, 1], given_at=NOW, amount=2.25, amount_unit="g",
            water_change_percent=0.0, given_by="Ada", reasons={"amount_off": "Ada: a quarter"},
        )  # fmt: skip
        end_course(writing, done, 2, "completed")
    return runs, stopped, done


def test_what_waits_stands_before_what_has_ended(
    book: Book, act: Act, three: tuple[UUID, UUID, UUID]
) -> None:
    runs, stopped, done = three
    found = fitting(course_list(book, NOW), "")
    assert {one.course.id for one in found.waiting} == {runs, done}  # its control is to be made
    assert (found.ended, found.all_waiting, found.all_ended) == ((), 2, 1)
    with book.writing(act) as writing:
        record_control(writing, done, "clean")
    found = fitting(course_list(book, NOW), "", ended=True)
    assert [one.course.id for one in found.waiting] == [runs]
    assert {one.id: (one.name, one.said, one.given, one.doses) for one in found.ended} == {
        stopped: ("formalin, then trichlorfon", "stopped early", 0, 2),
        done: ("trichlorfon", "completed", 1, 1),
    }
    (entry,) = course(book, done).log
    with book.writing(act) as writing:
        strike_given(writing, entry.id, entry.rev, "another pond")
    assert {one.given for one in course_list(book, NOW).ended} == {0}


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ("chateau", [0]),
        ("beech", [1]),
        ("STOPPED", [1]),
        ("trichlorfon", [1, 2]),
        ("formalin running", [0]),
        ("costia 2026", [0, 1, 2]),
        ("costia 1999", []),
        ("round mill", [2]),
        ("  ", [0, 2]),
    ],
)
def test_words_look_through_the_whole_history(
    book: Book, three: tuple[UUID, UUID, UUID], typed: str, place: list[int]
) -> None:
    found = fitting(course_list(book, NOW), typed)
    keys = {one.course.id for one in found.waiting} | {one.id for one in found.ended}
    assert keys == {three[one] for one in place}


def test_the_courses_of_a_pond_that_was_struck_through_are_left_out(
    book: Book, act: Act, three: tuple[UUID, UUID, UUID]
) -> None:
    pond = course(book, three[1]).pond_id
    with book.writing(act) as writing:
        writing.strike("pond", pond, "filled in")
    assert course_list(book, NOW).all_ended == 0


def test_the_newest_end_stands_first(book: Book, act: Act) -> None:
    keys = []
    for days in (3, 1, 2):
        then = Act(act.by, NOW - timedelta(days=days))
        key = a_course(book, then, f"Client {days}", ["formalin"], then.at.date())
        with book.writing(then) as writing:
            start_course(writing, key, 1, (), {})
            end_course(writing, key, 2, "stopped", "sold")
        keys.append(key)
    ended = course_list(book, NOW).ended
    assert [one.id for one in ended] == [keys[1], keys[2], keys[0]]
    assert ended[0].end_why == "sold"

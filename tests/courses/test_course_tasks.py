"""Tasks ticked off and taken back, the control examination, and what is asked before a dose."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.courses.kept.course_page import course_page
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import end_course, keep_plan, start_course, turn_course
from store.courses.kept.morning import morning_list, promises, watch_pond
from store.courses.kept.records import course, followed_courses
from store.courses.kept.tasks import (
    open_tasks,
    overdue_tasks,
    record_control,
    short,
    task_cautions,
    tick_task,
)
from store.courses.kept.under_way import under_way
from store.courses.planning.course import Plan, PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput, NotAllowed, NotFound
from tests.book.entries import NOW, add_pond

TODAY = NOW.date()
DAYS_AGO = 3


def a_plan(first_day: date) -> Plan:
    """Two doses of formalin, three days apart, with all their tasks."""
    return plan_course(
        [StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=3)],
        hazards=("costia",), reason="costia on two fish", first_day=first_day,
        water=PondWater(9000.0, 8000.0, 10_000.0, temperature_c=17.7, ph=7.0, oxygen_mg_l=9.0,
                        use="ornamental"),
    )  # fmt: skip


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    return add_pond(book, act)


@pytest.fixture
def desk(book: Book, act: Act) -> Act:
    """Somebody who is no vet."""
    with book.writing(act) as writing:
        return Act(writing.add("staff", name="Bo Desk", role="receptionist"), NOW)


@pytest.fixture
def key(book: Book, act: Act, pond: UUID) -> UUID:
    """A course that began three days ago."""
    then = Act(act.by, NOW - timedelta(days=DAYS_AGO))
    with book.writing(then) as writing:
        made = keep_plan(writing, pond, a_plan(TODAY - timedelta(days=DAYS_AGO)))
        start_course(writing, made, 1, (), {})
    return made


def task(book: Book, key: UUID, code: str) -> UUID:
    return next(one.id for one in course(book, key).tasks if one.task.code == code)


def give(book: Book, act: Act, key: UUID, number: int, days_ago: int) -> None:
    at = NOW - timedelta(days=days_ago)
    dose = course(book, key).plan.steps[0].doses[number - 1]
    with book.writing(Act(act.by, at)) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=at, amount=dose.amount,
            amount_unit=dose.amount_unit, water_change_percent=0.0, given_by="Ada",
        )  # fmt: skip


def test_anybody_ticks_and_a_wrong_tick_is_taken_back(book: Book, desk: Act, key: UUID) -> None:
    air = task(book, key, "air_on")
    with book.writing(desk) as writing:
        assert tick_task(writing, air, True, note="two stones") == 2
    (done,) = [one for one in course(book, key).tasks if one.done_at is not None]
    assert (done.id, done.done_at, done.done_by, done.note) == (air, NOW, desk.by, "two stones")
    with book.writing(Act(desk.by, NOW + timedelta(hours=1))) as writing:
        assert tick_task(writing, air, True) == 2  # the first tick stays as it was
    assert course(book, key).tasks[0].task in course(book, key).plan.tasks
    with book.writing(desk) as writing:
        tick_task(writing, air, False, note="it was the other pond")
    assert all(one.done_at is None and not one.note for one in course(book, key).tasks)
    log = history(book, "course_task", air)
    assert [one.what for one in log] == ["change", "change", "add"]
    assert (log[0].by_name, log[0].why) == ("Bo Desk", "it was the other pond")


def test_a_day_ahead_and_a_task_that_is_gone_are_refused(book: Book, act: Act, key: UUID) -> None:
    air = task(book, key, "air_on")
    with pytest.raises(BadInput) as told, book.writing(act) as writing:
        tick_task(writing, air, True, on=TODAY + timedelta(days=1))
    assert told.value.field == "on_day"
    with pytest.raises(NotFound), book.writing(act) as writing:
        tick_task(writing, key, True)
    with book.writing(act) as writing:
        tick_task(writing, air, True, on=TODAY - timedelta(days=2))
    done = next(one for one in course(book, key).tasks if one.id == air)
    assert done.done_at is not None
    assert done.done_at.astimezone(book.zone).date() == TODAY - timedelta(days=2)


def test_before_a_dose_what_is_not_ticked_is_named(book: Book, act: Act, key: UUID) -> None:
    found = course(book, key)
    waiting = [short(one.task) for one in open_tasks(found, TODAY)]
    assert set(waiting) >= {"UV off", "carbon out", "air on", "volume measured", "no feed"}
    assert len(waiting) == len(set(waiting))
    # The second dose's own measuring of the volume, not that of the first.
    (measured,) = [one for one in open_tasks(found, TODAY) if one.task.code == "volume"]
    assert measured.task.on_day == TODAY
    (caution,) = task_cautions(found, TODAY)
    assert (caution.code, caution.level) == ("tasks_open", "mind")
    assert "UV off" in caution.said
    with book.writing(act) as writing:
        for one in open_tasks(found, TODAY):
            tick_task(writing, one.id, True)
    assert task_cautions(course(book, key), TODAY) == ()


def test_what_was_switched_on_again_is_open_before_the_next_dose(
    book: Book, act: Act, key: UUID
) -> None:
    with book.writing(act) as writing:
        for one in course(book, key).tasks:
            if one.task.code not in {"control", "on_uv"}:
                tick_task(writing, one.id, True)
    assert open_tasks(course(book, key), TODAY) == ()
    with book.writing(Act(act.by, NOW + timedelta(hours=2))) as writing:
        tick_task(writing, task(book, key, "on_uv"), True)
    (again,) = open_tasks(course(book, key), TODAY)
    assert again.task.code == "off_uv"


def test_overdue_is_what_outlasts_its_day(book: Book, act: Act, pond: UUID, key: UUID) -> None:
    late = {one.task.code for one in overdue_tasks(course(book, key), TODAY)}
    assert {"off_uv", "off_carbon", "air_on", "ammonia"} <= late
    assert not late & {"volume", "feed", "watch", "control", "on_uv"}
    (line,) = under_way(book, NOW)
    assert line.tasks == len(late)
    assert line.tasks_said.startswith("Not ticked: ")
    (concern,) = [
        one for one in watch_pond(book, pond, NOW).concerns if one.rule == "dose_due"
    ]  # fmt: skip
    assert line.tasks_said in concern.remarks
    # The list itself speaks of the dose alone.
    (listed,) = morning_list(book, NOW).lines
    assert "UV" not in listed.what
    weeks = NOW + timedelta(days=40)
    codes = {one.task.code for one in overdue_tasks(course(book, key), weeks.date())}
    assert "on_uv" in codes  # what was off is by then to be on again: only that still matters
    assert "off_uv" not in codes
    with book.writing(act) as writing:
        for one in overdue_tasks(course(book, key), TODAY):
            tick_task(writing, one.id, True)
    assert under_way(book, NOW)[0].tasks == 0


def test_a_course_is_completed_with_all_its_doses_or_with_a_reason(
    book: Book, act: Act, key: UUID
) -> None:
    give(book, act, key, 1, DAYS_AGO)
    with pytest.raises(BadInput, match="1 dose is still to be given") as told:  # noqa: SIM117
        with book.writing(act) as writing:
            end_course(writing, key, 2, "completed")
    assert told.value.field == "why"
    assert course(book, key).state == "running"
    give(book, act, key, 2, 0)
    with book.writing(act) as writing:
        end_course(writing, key, 2, "completed")
    assert course(book, key).state == "completed"


def test_with_a_reason_a_course_is_completed_before_its_last_dose(
    book: Book, act: Act, key: UUID
) -> None:
    give(book, act, key, 1, DAYS_AGO)
    with book.writing(act) as writing:
        end_course(writing, key, 2, "completed", "the scrape is clean and the fish are sold")
    assert course(book, key).state == "completed"


def test_a_dose_that_a_turn_dropped_asks_for_no_reason(book: Book, act: Act, key: UUID) -> None:
    """The second dose given twelve days late: what remains is planned anew, and then given."""
    give(book, act, key, 1, DAYS_AGO)
    late = Act(act.by, NOW + timedelta(days=12))
    with book.writing(late) as writing:
        turn = turn_course(writing, key, 2)
    found = course(book, key)
    left = [one for one in found.plan.steps[0].doses if one.state == "due"]
    assert turn.changed
    assert left
    for one in left:
        with book.writing(late) as writing:
            log_dose(
                writing, found.dose_ids[1, one.number], given_at=late.at, amount=one.amount,
                amount_unit=one.amount_unit, water_change_percent=0.0, given_by="Ada",
            )  # fmt: skip
    assert {one.state for one in found.plan.steps[0].doses} > {"due"}
    with book.writing(late) as writing:
        end_course(writing, key, found.rev, "completed")
    assert course(book, key).state == "completed"


def test_the_control_outlives_the_course_until_it_was_made(
    book: Book, act: Act, desk: Act, pond: UUID, key: UUID
) -> None:
    give(book, act, key, 1, DAYS_AGO)
    with pytest.raises(NotAllowed, match="still to be given"), book.writing(act) as writing:
        record_control(writing, key, "clean")
    give(book, act, key, 2, 0)
    with book.writing(act) as writing:
        end_course(writing, key, 2, "completed")
    control = course(book, key).plan.control_on
    assert control is not None
    late = NOW + (control - TODAY) + timedelta(days=4)
    assert [one.kind for one in promises(course(book, key), late.date())] == ["control"]
    assert [one.id for one in followed_courses(book)] == [key]
    (line,) = under_way(book, late)
    assert (line.course.state, line.first and line.first.what) == (
        "completed", "control is 4 d late"
    )  # fmt: skip
    assert "control_due" in {one.rule for one in watch_pond(book, pond, late).concerns}
    later = Act(desk.by, late)
    with pytest.raises(BadInput, match="what was found") as told, book.writing(later) as writing:
        record_control(writing, key, "  ")
    assert told.value.field == "note"
    with book.writing(later) as writing:
        record_control(writing, key, "no costia in two scrapes", on=late.date() - timedelta(days=1))
    found = course(book, key)
    assert found.control_done is not None
    assert found.control_done.note == "no costia in two scrapes"
    assert promises(found, late.date()) == ()
    assert under_way(book, late) == ()
    assert followed_courses(book) == ()
    assert "control_due" not in {one.rule for one in watch_pond(book, pond, late).concerns}
    with pytest.raises(NotAllowed, match="already"), book.writing(later) as writing:
        record_control(writing, key, "again")
    with book.writing(later) as writing:  # a wrong tick brings it back
        tick_task(writing, found.control_done.id, False)
    assert [one.kind for one in promises(course(book, key), late.date())] == ["control"]


def test_a_control_without_a_task_of_its_own_can_be_made(book: Book, act: Act, pond: UUID) -> None:
    plan = replace(a_plan(TODAY), tasks=())
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
    with pytest.raises(NotAllowed, match="not begun"), book.writing(act) as writing:
        record_control(writing, key, "clean")
    with book.writing(act) as writing:
        start_course(writing, key, 1, (), {})
        end_course(writing, key, 2, "completed", "one bath was enough")
    assert len(followed_courses(book)) == 1
    with book.writing(act) as writing:
        record_control(writing, key, "clean")
    assert followed_courses(book) == ()
    assert course(book, key).control_done is not None


def test_nothing_is_due_of_a_course_that_was_stopped(book: Book, act: Act, key: UUID) -> None:
    with book.writing(act) as writing:
        end_course(writing, key, 2, "stopped", "two fish lay on their side")
    assert promises(course(book, key), TODAY + timedelta(days=60)) == ()
    assert followed_courses(book) == ()


def test_one_course_takes_the_place_of_another(book: Book, act: Act, pond: UUID, key: UUID) -> None:
    with book.writing(act) as writing:
        end_course(writing, key, 2, "changed", "flukes as well")
        other = keep_plan(writing, pond, a_plan(TODAY), follows=key)
    assert course(book, other).follows == key
    old, new = course_page(book, key, NOW), course_page(book, other, NOW)
    assert (old.before, [one.id for one in old.after]) == (None, [other])
    assert new.before is not None
    assert (new.before.id, new.before.state, new.before.ended_on) == (key, "changed", TODAY)
    assert new.after == ()


def test_a_stop_answered_once_is_not_asked_again_while_its_sentence_stays(
    book: Book, act: Act, pond: UUID
) -> None:
    plan = a_plan(TODAY)
    step = replace(plan.steps[0], safe_most=10.0)
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, replace(plan, steps=(step,)))
        start_course(writing, key, 1, (), {})
    page = course_page(book, key, NOW)
    ((stop, before),) = page.stops
    assert before is None
    with pytest.raises(BadInput, match="write why"), book.writing(act) as writing:
        turn_course(writing, key, 2)
    with book.writing(act) as writing:
        turn_course(writing, key, 2, {stop.code: "weighed twice, air on"})
    ((again, answered),) = course_page(book, key, NOW).stops
    assert again.said == stop.said
    assert answered is not None
    assert (answered.reason, answered.by, answered.at) == ("weighed twice, air on", act.by, NOW)
    with book.writing(act) as writing:
        turn_course(writing, key, course(book, key).rev)
    assert len(course(book, key).answered) == 1


def test_a_tick_outlives_planning_anew(book: Book, act: Act, key: UUID) -> None:
    """What was done stays done and named; what moved comes anew and is open."""
    give(book, act, key, 1, DAYS_AGO)
    with book.writing(act) as writing:
        tick_task(writing, task(book, key, "off_uv"), True, note="both lamps")
    late = Act(act.by, NOW + timedelta(days=12))
    with book.writing(late) as writing:
        assert turn_course(writing, key, 2).changed
    found = course(book, key)
    (done,) = [one for one in found.tasks if one.done_at is not None]
    assert (done.task.code, done.note, done.done_by) == ("off_uv", "both lamps", act.by)
    assert "UV off" not in [short(one.task) for one in open_tasks(found, late.at.date())]
    assert any(one.task.code == "on_uv" and one.task.on_day > late.at.date() for one in found.tasks)
    controls = [one for one in found.tasks if one.task.code == "control"]
    assert [one.task.on_day for one in controls] == [found.plan.control_on]

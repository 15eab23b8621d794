"""What courses promise on the desk, on both databases: doses, controls, answers, plans anew."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import log_dose
from store.courses.kept.dose_now import AMOUNT_OFF
from store.courses.kept.keeping import end_course
from store.courses.kept.records import course
from store.courses.kept.tasks import tick_task
from store.courses.planning.course import Caution
from store.diary.desk.about import about_of
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.courses import from_courses
from store.diary.kept.due.gather.whereabouts import whereabouts
from tests.book.entries import NOW
from tests.diary.desk_entries import DAY, TODAY, Owned, own, step, treat

STOP = Caution("low_oxygen", "stop", "Oxygen 4.0 mg/L is too little.", "4.0 < 5")


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    return own(book, act)


def promised(book: Book, ahead: int = 30, kind: str = "") -> list[Promised]:
    found = from_courses(book, whereabouts(book), TODAY, TODAY + ahead * DAY)
    return [one for one in found if not kind or one.kind == kind]


def give(
    book: Book, act: Act, key: UUID, number: int, amount: float = 9.0, *cautions: Caution
) -> None:
    found = course(book, key)
    with book.writing(act) as writing:
        log_dose(
            writing, found.dose_ids[1, number], given_at=NOW - timedelta(hours=1), amount=amount,
            amount_unit="g", water_change_percent=0.0, given_by="Ada", cautions=cautions,
            reasons={} if amount == 9.0 else {AMOUNT_OFF: "the bottle was empty"},
        )  # fmt: skip


def test_a_late_dose_is_named_by_its_row(book: Book, act: Act, owned: Owned) -> None:
    days = [TODAY - 2 * DAY, TODAY + 5 * DAY, TODAY + 60 * DAY]
    key = treat(book, act, owned.pond, step(1, "trichlorfon", days, "practice"))
    late, next_one = promised(book, kind="dose")
    assert (late.says, late.due_on, late.needs) == ("dose 1 of 3", days[0], "visit")
    assert (late.first_on, late.last_on) == (days[0], days[0] + DAY)
    assert about_of(late.about).thing == "dose"
    assert about_of(late.about).key == course(book, key).dose_ids[1, 1]
    assert about_of(next_one.about).key == course(book, key).dose_ids[1, 2]
    assert (late.client_id, late.site_id, late.pond_id) == (owned.client, owned.site, owned.pond)
    assert (late.origin, late.promised_by, late.promised_on) == ("course", "Ada Vet", days[0])
    assert "worms on two fish" in late.because
    assert "It falls to the practice." in late.because


def test_a_dose_that_the_owner_gives_needs_a_call(book: Book, act: Act, owned: Owned) -> None:
    treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY], "owner"))
    (dose,) = promised(book, kind="dose")
    assert dose.needs == "call"
    assert "It falls to the owner." in dose.because


def test_a_dose_that_was_given_is_promised_no_more(book: Book, act: Act, owned: Owned) -> None:
    key = treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY, TODAY + 7 * DAY], "practice"))
    give(book, act, key, 1)
    assert [one.says for one in promised(book, kind="dose")] == ["dose 2 of 2"]


def test_a_dose_that_was_short_keeps_its_name(book: Book, act: Act, owned: Owned) -> None:
    key = treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY], "practice"))
    give(book, act, key, 1, 1.0)
    (dose,) = promised(book, kind="dose")
    assert dose.says == "dose 1 of 1 short"
    assert about_of(dose.about).key == course(book, key).dose_ids[1, 1]


def test_two_steps_of_one_agent_on_one_day_are_two_promises(
    book: Book, act: Act, owned: Owned
) -> None:
    steps = [step(place, "trichlorfon", [TODAY], "practice") for place in (1, 2)]
    key = treat(book, act, owned.pond, *steps)
    found = promised(book, kind="dose")
    assert {about_of(one.about).key for one in found} == {
        course(book, key).dose_ids[1, 1], course(book, key).dose_ids[2, 1],
    }  # fmt: skip
    assert all(one.says == "trichlorfon 1 of 1" for one in found)


def test_the_control_of_a_completed_course_waits(book: Book, act: Act, owned: Owned) -> None:
    control_on = TODAY + 4 * DAY
    key = treat(
        book, act, owned.pond, step(1, "trichlorfon", [TODAY], "practice"), control_on=control_on
    )
    give(book, act, key, 1)
    with book.writing(act) as writing:
        end_course(writing, key, course(book, key).rev, "completed", "")
    (control,) = promised(book)
    assert (control.kind, control.due_on, control.needs) == ("control", control_on, "visit")
    assert (control.first_on, control.last_on) == (control_on - DAY, control_on + 3 * DAY)
    assert about_of(control.about).key == key
    assert promised(book, ahead=2) == []
    assert len(promised(book, ahead=3)) == 1


def test_a_dose_against_a_stop_waits_for_the_vet(book: Book, act: Act, owned: Owned) -> None:
    with book.writing(act) as writing:
        desk = Act(writing.add("staff", name="Bo Desk", role="receptionist"), NOW)
    key = treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY, TODAY + 9 * DAY], "practice"))
    give(book, desk, key, 1, 9.0, STOP)
    (answer,) = promised(book, kind="answer")
    assert (answer.needs, answer.due_on, answer.first_on, answer.last_on) == (
        "vet", TODAY, TODAY, TODAY,
    )  # fmt: skip
    assert about_of(answer.about).key == course(book, key).dose_ids[1, 1]
    assert "Oxygen 4.0 mg/L" in answer.because


def test_what_is_to_be_planned_anew_is_the_vets(book: Book, act: Act, owned: Owned) -> None:
    days = [TODAY - 12 * DAY, TODAY - 5 * DAY, TODAY + 2 * DAY]
    key = treat(book, act, owned.pond, step(1, "trichlorfon", days, "practice"))
    turns = promised(book, kind="turn")
    assert [(one.needs, about_of(one.about).key, one.due_on) for one in turns] == [
        ("vet", key, TODAY)
    ]


def test_a_pond_that_was_struck_promises_nothing(book: Book, act: Act, owned: Owned) -> None:
    treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY], "practice"))
    assert promised(book)
    with book.writing(act) as writing:
        writing.strike("pond", owned.pond, "filled in")
    assert promised(book) == []


def test_of_one_client_only_his_courses_are_read(book: Book, act: Act, owned: Owned) -> None:
    other = own(book, act, "Ferry Cottage")
    for pond in (owned.pond, other.pond):
        treat(book, act, pond, step(1, "trichlorfon", [TODAY], "practice"))
    where = whereabouts(book, other.client)
    found = list(from_courses(book, where, TODAY, TODAY + 30 * DAY))
    assert {one.pond_id for one in found} == {other.pond}
    assert len(promised(book, kind="dose")) == 2


def test_what_is_remembered_is_reckoned_anew_when_something_is_written(
    book: Book, act: Act, owned: Owned
) -> None:
    assert promised(book) == []
    days = [TODAY - 9 * DAY, TODAY - 2 * DAY, TODAY + 5 * DAY]
    key = treat(book, act, owned.pond, step(1, "trichlorfon", days, "practice"))
    assert promised(book, kind="dose")[0].says == "dose 1 of 3"
    give(book, act, key, 1)
    assert promised(book, kind="dose")[0].says == "dose 2 of 3"
    assert "Not ticked" not in promised(book, kind="dose")[0].because
    with book.writing(act) as writing:
        task = writing.add(
            "course_task", course_id=key, code="off_uv", on_day=TODAY - 3 * DAY, says="UV off.",
            share="practice", source="common practice",
        )  # fmt: skip
    assert "Not ticked: UV off" in promised(book, kind="dose")[0].because
    with book.writing(act) as writing:
        tick_task(writing, task, True)
    assert "Not ticked" not in promised(book, kind="dose")[0].because
    tomorrow = from_courses(book, whereabouts(book), TODAY + DAY, TODAY + DAY)
    assert {one.due_on for one in tomorrow if one.kind == "turn"} <= {TODAY + DAY}
    with book.writing(act) as writing:
        writing.change("staff", act.by, 1, name="Ada Vetch")
    assert {one.promised_by for one in promised(book)} == {"Ada Vetch"}

"""Courses in the book: kept as planned, begun and ended by vets, logged by everybody."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.courses.kept.dose_log import log_dose, strike_given
from store.courses.kept.keeping import end_course, keep_plan, start_course, turn_course
from store.courses.kept.morning import morning_list, promises, watch_pond
from store.courses.kept.records import Course, active_courses, course, courses_of
from store.courses.planning.course import (
    Caution,
    Plan,
    PlannedDose,
    PlanStep,
    PondWater,
    Product,
    StepWish,
    Task,
)
from store.courses.planning.plan import plan_course
from store.courses.turning.turned import turned
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test
from tests.book.entries import NOW, add_pond

FIRST = date(2026, 3, 14)
STOP = Caution("low_oxygen", "stop", "Oxygen 5.0 mg/L is too little.", "20 / 5 = 4.0 mg/L taken")
MIND = Caution("gloves", "mind", "Wear gloves and goggles.")


def stops_of_a_turn(found: Course, act: Act) -> list[Caution]:
    turn = turned(found.plan, found.given, act.at.date())
    return [one for one in turn.cautions if one.level == "stop"]


def a_plan(reason: str = "gill flukes on three fish") -> Plan:
    doses = tuple(
        PlannedDose(n + 1, FIRST + timedelta(days=7 * n), 1.0, 9.2, "g", 30.0 if n else 0.0, share)
        for n, share in enumerate(("practice", "owner", "owner"))
    )
    step = PlanStep(
        place=1, agent="trichlorfon", route="pond_bath", dose=1.0, unit="mg/L",
        product=Product("powder of the shelf", 98.0), volume_l=9000.0, doses=doses,
        interval_days=7, interval_why="typed by the vet", exposure_h=None, half_life_h=None,
        safe_most=None, source="common_practice", standing="common practice",
        remarks=("Eggs outlive a dose.",),
    )  # fmt: skip
    water = PondWater(
        9000.0, 8000.0, 10_000.0, temperature_c=19.0, ph=6.8, age_days=0.5, species="koi 9",
        things=frozenset({"soft_water"}), use="ornamental",
    )  # fmt: skip
    tasks = (Task("uv_off", FIRST, "Switch the UV lamp off.", "owner", "common practice"),)
    return Plan(
        ("gill_flukes",), reason, water, (step,), tasks, date(2026, 4, 4), ("Three doses.",)
    )


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    return add_pond(book, act)


@pytest.fixture
def desk(book: Book, act: Act) -> Act:
    """Somebody who is no vet."""
    with book.writing(act) as writing:
        return Act(writing.add("staff", name="Bo Desk", role="receptionist"), NOW)


def planned(book: Book, act: Act, pond: UUID) -> UUID:
    with book.writing(act) as writing:
        return keep_plan(writing, pond, a_plan())


def running(book: Book, act: Act, pond: UUID) -> UUID:
    key = planned(book, act, pond)
    with book.writing(act) as writing:
        start_course(writing, key, 1, (MIND,), {})
    return key


def test_a_plan_is_read_back_as_it_was_kept(book: Book, act: Act, pond: UUID) -> None:
    key = planned(book, act, pond)
    found = course(book, key)
    assert found.plan == a_plan()
    assert (found.state, found.started_on, found.pond_id) == ("planned", None, pond)
    assert found.prescribed_by == act.by
    assert courses_of(book, pond) == (found,)
    assert active_courses(book) == ()
    with pytest.raises(NotFound):
        course(book, pond)


def test_a_plan_that_was_reckoned_is_kept_whole(book: Book, act: Act, pond: UUID) -> None:
    """Two agents, with their tasks and remarks: nothing is cut on the way into the book."""
    water = replace(a_plan().water, oxygen_mg_l=8.0, alkalinity_mg_l=90.0, hardness_mg_l=120.0)
    plan = plan_course(
        [
            StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=3),
            StepWish(
                "trichlorfon", "pond_bath", 0.5, doses=3, interval_days=7,
                water_change_percent=30.0, share="owner", product=Product("shelf", 98.0),
            ),
        ],
        hazards=("costia", "gill_flukes"), reason="costia, then flukes", water=water,
        first_day=FIRST,
    )  # fmt: skip
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
    kept = course(book, key).plan
    assert kept.steps == plan.steps
    assert sorted(kept.tasks, key=repr) == sorted(plan.tasks, key=repr)
    assert replace(kept, tasks=()) == replace(plan, tasks=())


def test_only_a_vet_plans_starts_and_ends(book: Book, act: Act, desk: Act, pond: UUID) -> None:
    key = planned(book, act, pond)
    with pytest.raises(NotAllowed, match=r"Only a vet can plan .*Bo Desk"), book.writing(desk) as w:
        keep_plan(w, pond, a_plan())
    with pytest.raises(NotAllowed, match="Only a vet can start"), book.writing(desk) as w:
        start_course(w, key, 1, (), {})
    with pytest.raises(NotAllowed, match="Only a vet can end"), book.writing(desk) as w:
        end_course(w, key, 1, "stopped", "rang to say so")
    assert course(book, key).state == "planned"
    assert len(courses_of(book, pond)) == 1


def test_a_stop_needs_a_reason_in_writing(book: Book, act: Act, pond: UUID) -> None:
    key = planned(book, act, pond)
    for reasons in ({}, {"low_oxygen": "  "}, {"other": "air on"}):
        with pytest.raises(BadInput, match="write why") as told, book.writing(act) as writing:
            start_course(writing, key, 1, (MIND, STOP), reasons)
        assert told.value.field == "reason:low_oxygen"
    assert course(book, key).answered == ()
    with book.writing(act) as writing:
        start_course(writing, key, 1, (MIND, STOP), {"low_oxygen": "Two pumps run, fish watched."})
    found = course(book, key)
    assert (found.state, found.started_on) == ("running", FIRST)
    assert [(one.code, one.reason) for one in found.answered] == [
        ("gloves", ""), ("low_oxygen", "Two pumps run, fish watched."),
    ]  # fmt: skip
    assert "20 / 5 = 4.0 mg/L taken" in found.answered[1].said
    with pytest.raises(NotAllowed, match="running already"), book.writing(act) as writing:
        start_course(writing, key, 2, (), {})


def due_of(found: Course, today: date = FIRST) -> list[str]:
    return [one.says for one in promises(found, today) if one.kind != "turn"]


def add_warm_test(book: Book, act: Act, pond: UUID) -> None:
    """Water that came into the window of gill flukes some days ago."""
    for days, warm in ((8, 12.0), (5, 13.5), (2, 16.0), (0.1, 17.0)):
        value = ReadingValue("temperature_c", warm, None, None, "=", f"{warm:g}", "", "")
        save_test(book, act, pond, NewTest(NOW - timedelta(days=days), (value,)))


def test_a_running_course_silences_its_windows_and_says_what_is_due(
    book: Book, act: Act, pond: UUID
) -> None:
    add_warm_test(book, act, pond)
    own = "window_gill_flukes"
    assert own in {one.rule for one in watch_pond(book, pond, NOW).concerns}
    key = running(book, act, pond)
    assert [one.id for one in active_courses(book)] == [key]
    (line,) = morning_list(book, NOW).lines
    assert (line.level, line.what, line.rule) == ("act", "dose 1 of 3 due today", "dose_due")
    page = watch_pond(book, pond, NOW)
    assert own not in {one.rule for one in page.concerns}
    assert page.concerns[0].what == line.what
    assert "then dose 2 of 3 on 21 Mar 2026 (owner)" in page.concerns[0].arithmetic
    (later,) = morning_list(book, NOW + timedelta(days=2)).lines
    assert later.what == "dose 1 of 3 is 2 d late"
    with book.writing(act) as writing:
        end_course(writing, key, 2, "stopped", "nothing moves in the scrape any more")
    assert active_courses(book) == ()
    assert course(book, key).ended_on == FIRST
    assert promises(course(book, key), FIRST) == ()
    assert own in {one.rule for one in watch_pond(book, pond, NOW).concerns}
    assert "dose_due" not in {one.rule for one in watch_pond(book, pond, NOW).concerns}


def test_the_control_is_due_when_all_is_given(book: Book, act: Act, pond: UUID) -> None:
    key = running(book, act, pond)
    for number in (1, 2, 3):
        at = NOW + timedelta(days=7 * (number - 1))
        with book.writing(Act(act.by, at)) as writing:
            log_dose(
                writing, course(book, key).dose_ids[1, number], given_at=at, amount=9.2,
                amount_unit="g", water_change_percent=30.0, given_by="Ada",
            )  # fmt: skip
    assert due_of(course(book, key), FIRST + timedelta(days=14)) == ["control"]
    for days, level, what in (
        (18, "watch", "control due in 3 d"), (21, "watch", "control due today"),
        (28, "act", "control is 7 d late"),
    ):  # fmt: skip
        found = [
            one for one in watch_pond(book, pond, NOW + timedelta(days=days)).concerns
            if one.rule == "control_due"
        ]  # fmt: skip
        assert [(one.level, one.what) for one in found] == [(level, what)]
    quiet = watch_pond(book, pond, NOW + timedelta(days=15)).concerns
    assert "control_due" not in {one.rule for one in quiet}


def test_everybody_logs_what_was_given(book: Book, act: Act, desk: Act, pond: UUID) -> None:
    key = running(book, act, pond)
    first = course(book, key).dose_ids[1, 1]
    short = {"amount": 4.6, "amount_unit": "g", "water_change_percent": 20.0}
    entered = {"given_at": NOW - timedelta(hours=2), "given_by": "the owner", **short}
    with (
        pytest.raises(BadInput, match="g are asked for: who") as off,
        book.writing(desk) as writing,
    ):
        log_dose(writing, first, reasons={"amount_off": " "}, **entered)  # type: ignore[arg-type]
    assert (off.value.field, course(book, key).log) == ("off_why", ())
    with book.writing(desk) as writing:
        log_dose(
            writing, first, batch="B-7", observed="one fish rubs",
            reasons={"amount_off": "Ada: half for the orfe"}, **entered,
        )  # type: ignore[arg-type]  # fmt: skip
    told = course(book, key).answered[-1]
    assert (told.code, told.reason, told.by) == ("amount_off", "Ada: half for the orfe", desk.by)
    assert told.said.startswith("4.6 g are 50 % less than the 9.2 g that are asked for.")
    found = course(book, key)
    (entry,) = found.log
    assert (entry.given.place, entry.given.number, entry.given.dose) == (1, 1, 0.5)
    assert (entry.given_by, entry.batch, entry.observed) == ("the owner", "B-7", "one fish rubs")
    assert (entry.given.on_day, entry.logged_by) == (FIRST, desk.by)
    # Half of what was planned is still more than the least that is published: it counts.
    assert due_of(found) == ["dose 2 of 3", "dose 3 of 3", "control"]
    with pytest.raises(NotAllowed, match="against a stop"), book.writing(desk) as writing:
        log_dose(
            writing, first, given_at=NOW, given_by="Bo", cautions=(STOP,),
            reasons={"low_oxygen": "I was told to.", "amount_off": "told"}, **short,
        )  # fmt: skip
    for wrong, field in (
        ({"given_at": NOW + timedelta(minutes=1)}, "given_at"),
        ({"amount_unit": "mL"}, "amount"),
        ({"amount": -1.0}, "amount"),
        ({"amount": 0.0}, "amount"),
        ({"amount": float("nan")}, "amount"),
    ):
        entered = {"given_at": NOW, "given_by": "Bo", **short, **wrong}
        with pytest.raises(BadInput) as refused, book.writing(desk) as writing:
            log_dose(writing, first, **entered)  # type: ignore[arg-type]
        assert refused.value.field == field
    assert len(course(book, key).log) == 1


def test_a_dose_too_small_to_count_stays_due(book: Book, act: Act, pond: UUID) -> None:
    """A tenth of it lies below the least published dose; the rest makes it whole."""
    key = running(book, act, pond)
    dose = course(book, key).dose_ids[1, 1]
    entered = {"given_at": NOW, "amount_unit": "g", "water_change_percent": 0.0, "given_by": "Ada"}
    spilt = {"amount_off": "Ada: the rest was spilt"}
    for amount, first in ((0.9, "dose 1 of 3 short"), (8.3, "dose 2 of 3")):
        with book.writing(act) as writing:
            log_dose(writing, dose, amount=amount, reasons=spilt, **entered)  # type: ignore[arg-type]
        assert due_of(course(book, key))[0] == first


def test_a_slip_in_the_log_is_struck_through_and_stays(book: Book, act: Act, pond: UUID) -> None:
    key = running(book, act, pond)
    dose = course(book, key).dose_ids[1, 1]
    entered = {"amount": 9.2, "amount_unit": "g", "water_change_percent": 0.0, "given_by": "Ada"}
    with book.writing(act) as writing:
        wrong = log_dose(writing, dose, given_at=NOW, **entered)  # type: ignore[arg-type]
        again = log_dose(writing, dose, given_at=NOW, **entered)  # type: ignore[arg-type]
    with book.writing(act) as writing:
        strike_given(writing, wrong, 1, "entered twice")
    found = course(book, key)
    assert [one.struck_why for one in found.log].count("entered twice") == 1
    assert len(found.given) == 1
    assert due_of(found)[0] == "dose 2 of 3"
    with book.writing(act) as writing:
        strike_given(writing, again, 1, "it was the other pond")
    found = course(book, key)
    assert found.given == ()
    assert len(found.log) == 2
    assert due_of(found)[0] == "dose 1 of 3"


def test_planning_anew_leaves_what_was_given(book: Book, act: Act, desk: Act, pond: UUID) -> None:
    """The second dose is five days late: what follows moves, and the book says why."""
    key = running(book, act, pond)
    given = {"amount": 9.2, "amount_unit": "g", "water_change_percent": 30.0, "given_by": "Ada"}
    with book.writing(act) as writing:
        log_dose(writing, course(book, key).dose_ids[1, 1], given_at=NOW, **given)  # type: ignore[arg-type]
    late = Act(act.by, NOW + timedelta(days=12))
    with book.writing(late) as writing:
        log_dose(writing, course(book, key).dose_ids[1, 2], given_at=late.at, **given)  # type: ignore[arg-type]
    before = course(book, key)
    slipped = [
        one for one in watch_pond(book, pond, late.at).concerns if one.rule == "course_slipped"
    ]
    assert [one.what for one in slipped] == ["new plan due today"]
    with pytest.raises(NotAllowed, match="Only a vet"), book.writing(desk) as writing:
        turn_course(writing, key, before.rev)
    with pytest.raises(ChangedMeanwhile), book.writing(late) as writing:
        turn_course(writing, key, before.rev - 1)
    reasons = {one.code: "counted and weighed again" for one in stops_of_a_turn(before, late)}
    with book.writing(late) as writing:
        turn = turn_course(writing, key, before.rev, reasons)
    assert turn.changed
    kept = course(book, key)
    assert kept.plan.steps[0].doses == turn.plan.steps[0].doses
    assert [one.state for one in kept.plan.steps[0].doses[:2]] == ["given", "given"]
    assert kept.plan.steps[0].doses[2].due_on > before.plan.steps[0].doses[2].due_on
    assert kept.plan.control_on == turn.plan.control_on
    assert sorted(kept.plan.tasks, key=repr) == sorted(turn.plan.tasks, key=repr)
    assert kept.given == before.given
    assert [said for _, said in kept.turns] == list(turn.said)
    assert any("late" in said for said in turn.said)
    assert "course_slipped" not in {one.rule for one in watch_pond(book, pond, late.at).concerns}
    moved = history(book, "course_dose", before.dose_ids[1, 3])
    assert moved[0].what == "change"
    with book.writing(late) as writing:
        again = turn_course(writing, key, kept.rev, reasons)
    assert again.plan.steps == kept.plan.steps


def test_how_a_course_ends_is_said(book: Book, act: Act, pond: UUID) -> None:
    key = running(book, act, pond)
    for state in ("stopped", "changed"):
        with pytest.raises(BadInput, match="say why"), book.writing(act) as writing:
            end_course(writing, key, 2, state, " ")  # type: ignore[arg-type]
    for day in (FIRST + timedelta(days=1), FIRST - timedelta(days=1)):
        with pytest.raises(BadInput, match="cannot have ended"), book.writing(act) as writing:
            end_course(writing, key, 2, "stopped", "sold", on_day=day)
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        end_course(writing, key, 1, "stopped", "two fish lay on their side")
    with book.writing(act) as writing:
        end_course(writing, key, 2, "stopped", "two fish lay on their side")
    found = course(book, key)
    assert (found.state, found.end_why) == ("stopped", "two fish lay on their side")
    with pytest.raises(NotAllowed, match="stopped early already"), book.writing(act) as writing:
        end_course(writing, key, 3, "completed")
    dose = found.dose_ids[1, 2]
    with pytest.raises(NotAllowed, match="no dose of it"), book.writing(act) as writing:
        log_dose(
            writing, dose, given_at=NOW, amount=1.0, amount_unit="g", water_change_percent=0.0,
            given_by="Ada",
        )  # fmt: skip


def test_a_plan_that_cannot_be_kept(book: Book, act: Act, pond: UUID) -> None:
    plan = a_plan()
    for wrong in (
        replace(plan, steps=()),
        replace(plan, steps=(replace(plan.steps[0], doses=()),)),
        replace(plan, reason=""),
        replace(plan, steps=(replace(plan.steps[0], product=Product("x", 120.0)),)),
    ):
        with pytest.raises(BadInput), book.writing(act) as writing:
            keep_plan(writing, pond, wrong)
    with pytest.raises(NotFound), book.writing(act) as writing:
        keep_plan(writing, UUID(int=7), plan)
    assert courses_of(book, pond) == ()

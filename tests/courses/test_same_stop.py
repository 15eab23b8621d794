"""A stop that was answered when the course began is not asked again in other words.

Peaks by adding up, without loss: four doses of 0.25 mg/L without a water change make 1 mg/L.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest
from caution_plans import GOOD

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.kept.course_page import course_page
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course, turn_course
from store.courses.kept.records import course
from store.courses.kept.same_stop import answered_before, peak_said
from store.courses.planning.course import Caution, Plan, StepWish
from store.courses.planning.plan import plan_course
from store.courses.turning.turned import turned
from store.errors import BadInput
from tests.book.entries import NOW, add_pond

FLUKES = StepWish("trichlorfon", "pond_bath", 0.25, doses=4, interval_days=5)
AIR = "no other water to be had, air on"


def a_plan(*wishes: StepWish) -> Plan:
    return plan_course(
        wishes, hazards=["gill_flukes"], reason="gill flukes", water=GOOD, first_day=NOW.date()
    )


def begun(book: Book, act: Act, plan: Plan) -> UUID:
    found = [one for one in cautions(plan) if one.level == "stop"]
    pond = add_pond(book, act, use="ornamental")
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, found, {one.code: AIR for one in found})
    return key


def give(
    book: Book, act: Act, key: UUID, number: int, *, place: int = 1, times: float = 1.0
) -> None:
    found = course(book, key)
    dose = found.plan.steps[place - 1].doses[number - 1]
    with book.writing(act) as writing:
        log_dose(
            writing, found.dose_ids[place, number], given_at=act.at, amount=times * dose.amount,
            amount_unit=dose.amount_unit, water_change_percent=0.0, given_by="Ada",
            reasons={"amount_off": "Ada: a slip"},
        )  # fmt: skip


def peaks_of_turn(plan: Plan) -> tuple[Caution, ...]:
    return turned(plan, (), NOW.date()).cautions


@pytest.mark.parametrize("unit", ["mg/L", "uL/L"])
def test_both_wordings_of_a_peak_are_read(unit: str) -> None:
    wish = FLUKES
    if unit == "uL/L":
        wish = StepWish("formalin", "pond_bath", 20.0, unit=unit, doses=3, interval_days=5)
    plan = a_plan(wish)
    (before,) = [one for one in cautions(plan) if one.code == "peak"]
    (anew,) = peaks_of_turn(plan)
    assert before.said != anew.said
    first, second = peak_said(before.said), peak_said(anew.said)
    assert first is not None
    assert second is not None
    number = wish.doses
    assert first.peaks == {number: pytest.approx(number * wish.dose)}
    assert second.worst == first.worst
    assert second.unit == first.unit == unit.replace("uL", "µL")
    assert len(second.peaks) > 1
    assert peak_said("formalin: 41 mg/L is more than any dose that is published") is None


@pytest.mark.parametrize("alone", [True, False])
def test_a_peak_answered_at_the_start_stays_answered_until_it_is_higher(
    book: Book, act: Act, alone: bool
) -> None:
    before = () if alone else (StepWish("formalin", "pond_bath", 15.0),)
    key = begun(book, act, a_plan(*before, FLUKES))
    if not alone:
        give(book, act, key, 1)
    ((stop, answered),) = course_page(book, key, act.at).stops
    assert stop.code == ("peak" if alone else "peak.2")
    assert answered is not None
    assert answered.reason == AIR
    assert answered.said != f"{stop.said} {stop.arithmetic}"
    later, place = Act(act.by, act.at + timedelta(days=12)), 1 if alone else 2
    give(book, later, key, 1, place=place)
    with book.writing(later) as writing:
        turn_course(writing, key, course(book, key).rev)  # late, and no reason is asked again
    at = Act(act.by, act.at + timedelta(days=17))
    give(book, at, key, 2, place=place, times=2.0)
    ((higher, again),) = course_page(book, key, at.at).stops
    assert "4 would bring up to 1.25 mg/L" in higher.said
    assert again is None
    with pytest.raises(BadInput, match="write why"), book.writing(at) as writing:
        turn_course(writing, key, course(book, key).rev)
    with book.writing(at) as writing:
        turn_course(writing, key, course(book, key).rev, {higher.code: "weighed again"})
    ((_, last),) = course_page(book, key, at.at).stops
    assert last is not None
    assert last.reason == "weighed again"


def test_the_peak_of_another_step_or_dose_is_asked_for_itself(book: Book, act: Act) -> None:
    key = begun(book, act, a_plan(FLUKES, replace(FLUKES, agent="malachite_green", dose=0.1)))
    found = course(book, key)
    stops = course_page(book, key, act.at).stops
    assert {one.code for one, _ in stops} <= {"peak.1", "peak.2"}
    first = next(one for one, _ in stops if one.code == "peak.1")
    assert answered_before(found, first) is not None
    assert answered_before(found, replace(first, code="peak.2", arithmetic="")) is None
    fewer = first.said.replace("4 would bring up to 1 mg/L", "4 would bring up to 0.5 mg/L")
    assert answered_before(found, replace(first, said=fewer)) is None  # another dose is the worst

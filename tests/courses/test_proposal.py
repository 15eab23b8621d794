"""What a vet types for a course, understood and proposed, then kept; faults at their fields."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest
from caution_plans import GOOD
from hypothesis import given
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.volumes import record_estimate
from store.courses.kept.proposal import (
    Ground,
    ground,
    keep_proposal,
    propose,
    refuse_others,
)
from store.courses.kept.records import active_courses, course
from store.courses.kept.water_now import Beside, WaterNow
from store.courses.planning.wished import OF_STEP, bath_agents, bath_routes, published, wished
from store.errors import BadInput, NotAllowed

TODAY = date(2026, 3, 14)
ON = Ground(TODAY, WaterNow(GOOD, {}, ()), Beside((), ()), ())
FORMALIN = {
    "hazard": "costia",
    "first_day": "today",
    "1.agent": "formalin",
    "1.route": "pond_bath",
    "1.dose": "20 µL/L",
    "1.doses": "1",
    "1.strength": "37 %",
    "1.basis": "product",
    "1.density": "1.09",
    "1.share": "practice",
}
FLUKES = {
    "hazard": "gill_flukes",
    "reason": "flukes on two of three clips",
    "first_day": "Mon",
    "1.agent": "formalin", "1.route": "pond_bath", "1.dose": "20 mg/L", "1.basis": "product",
    "1.strength": "37", "1.density": "1.09 g/mL",
    "2.agent": "trichlorfon", "2.route": "pond_bath", "2.dose": "0,25 mg/L", "2.doses": "3",
    "2.interval": "7 d", "2.change": "30", "2.gap": "7", "2.share": "owner",
    "2.change_first": "yes",
}  # fmt: skip


def test_a_single_dose_is_typed_and_proposed() -> None:
    found = propose(ON, FORMALIN, 1)
    (dose,) = found.plan.steps[0].doses
    # 20 µL in each of 20,000 L are 400 mL: a volume by volume needs no density.
    assert (dose.due_on, dose.amount, dose.amount_unit) == (TODAY, 400.0, "mL")
    assert found.plan.reason == "costia"
    (peak,) = found.peaks
    assert (peak.bound, peak.reached) == (20.0, 20.0)
    assert peak.most is not None
    assert peak.most > 20.0
    assert not found.stops


def test_two_agents_one_after_another() -> None:
    found = propose(ON, FLUKES, 2)
    first, second = found.plan.steps
    assert [one.due_on.isoformat() for one in first.doses] == ["2026-03-16"]
    assert [one.due_on.isoformat() for one in second.doses] == [
        "2026-03-23", "2026-03-30", "2026-04-06",
    ]  # fmt: skip
    assert {one.share for one in second.doses} == {"owner"}
    assert [one.water_change_percent for one in second.doses] == [30.0] * 3
    # 0.25 mg/L in 20,000 L are 5 g of a powder of full strength.
    assert {one.amount for one in second.doses} == {5.0}
    # 0.25, then 0.25 × 0.7 + 0.25, then that × 0.7 + 0.25.
    assert found.peaks[1].bound == pytest.approx(0.25 * (1 + 0.7 + 0.49))


def test_an_empty_interval_asks_the_life_cycle() -> None:
    texts = {**FLUKES, "1.doses": "4", "1.change": "50"}
    (step,) = propose(ON, texts, 1).plan.steps
    assert step.interval_days is not None
    assert "gill flukes" in step.interval_why


@pytest.mark.parametrize(
    ("texts", "steps", "field", "says"),
    [
        ({"1.agent": ""}, 1, "1.agent", "Choose what"),
        ({"1.route": ""}, 1, "1.route", "Choose how"),
        ({"1.route": "dip"}, 1, "1.route", "no dip is published"),
        ({"1.dose": ""}, 1, "1.dose", "with its unit"),
        ({"1.dose": "20"}, 1, "1.dose", "Without a unit"),
        ({"1.dose": "20 ppm"}, 1, "1.dose", "by weight or by volume"),
        ({"1.dose": "twenty"}, 1, "1.dose", "not a number"),
        ({"1.dose": "0 mg/L"}, 1, "1.dose", "more than 0"),
        ({"1.doses": "0"}, 1, "1.doses", "no doses"),
        ({"1.doses": "2.5"}, 1, "1.doses", "whole number"),
        ({"1.doses": "2", "1.interval": "0.5 d"}, 1, "1.interval", "whole number"),
        ({"1.doses": "2"}, 1, "1.interval", "days between two doses"),
        ({"1.change": "130 %"}, 1, "1.change", "100"),
        ({"1.basis": ""}, 1, "1.basis", "by weight"),
        ({"1.strength": "101"}, 1, "1.strength", "100"),
        ({"1.density": "1.09 oz"}, 1, "1.density", "not known"),
        ({"1.route": "tank_bath"}, 1, "1.volume", "volume of the tank"),
        ({"1.route": "tank_bath", "1.volume": "200"}, 1, "1.volume", "which unit"),
        ({"1.exposure": "1 moon"}, 1, "1.exposure", "not known"),
        ({"first_day": "2026-03-13"}, 1, "first_day", "over"),
        ({"first_day": "soon"}, 1, "first_day", "not a day"),
        ({"hazard": ""}, 1, "reason", "why the course"),
        ({"2.agent": "trichlorfon"}, 2, "2.route", "Choose how"),
        ({"2.agent": "trichlorfon", "2.route": "pond_bath", "2.dose": "0 mg/L"}, 2, "2.dose",
         "Step 2"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_told_at_its_field(
    texts: dict[str, str], steps: int, field: str, says: str
) -> None:
    with pytest.raises(BadInput, match=says) as told:
        propose(ON, {**FORMALIN, **texts}, steps)
    assert told.value.field == field


@given(
    st.dictionaries(
        st.sampled_from([f"1.{name}" for name in OF_STEP] + ["reason", "hazard", "first_day"]),
        st.one_of(st.text(max_size=12), st.sampled_from(["1", "20 mg/L", "7 d", "formalin", "dip",
                                                         "1e9", "-3", "0.25 mg/L", "w/v"])),
        max_size=8,
    )
)  # fmt: skip
def test_whatever_is_typed_gets_a_plan_or_a_sentence_at_a_field(texts: dict[str, str]) -> None:
    told: BadInput | None = None
    try:
        found = propose(ON, {**FORMALIN, **texts}, 1)
    except BadInput as trouble:
        told = trouble
    if told is None:
        assert all(dose.amount >= 0.0 for step in found.plan.steps for dose in step.doses)
        return
    assert told.message
    assert told.field in {*(f"1.{name}" for name in OF_STEP), "reason", "hazard", "first_day"}


def test_units_of_a_dose_are_converted_and_those_of_a_tank() -> None:
    texts = {**FORMALIN, "1.agent": "salt", "1.dose": "3 g/L", "1.route": "dip", "1.volume": "1 m3",
             "1.basis": "", "1.strength": "", "1.exposure": "10 min"}  # fmt: skip
    (wish,) = wished(texts, 1).wishes
    assert (wish.dose, wish.unit, wish.volume_l) == (3000.0, "mg/L", 1000.0)
    assert wish.exposure_h == pytest.approx(1 / 6)


def test_the_hints_come_from_the_formulary() -> None:
    found = published("formalin", "pond_bath")
    assert found is not None
    assert (found.dose, found.product) == ("15–25 µL/L (product)", "37 %, 1.09 g/mL")
    assert found.of_product
    assert not found.in_tank
    tank = published("formalin", "tank_bath")
    assert tank is not None
    assert tank.in_tank
    assert "1 h" in tank.exposure
    permanganate = published("potassium_permanganate", "pond_bath")
    assert permanganate is not None
    assert permanganate.by_demand
    assert published("", "") is None
    codes = [code for code, _ in bath_agents()]
    assert "formalin" in codes
    assert "enrofloxacin" not in codes  # by injection alone
    for code in codes:
        for route, _ in bath_routes():
            assert published(code, route) is not None


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Tansy Lane")
        site = writing.add("site", client_id=owner, name="garden")
        key = writing.add("pond", site_id=site, name="mill pond", use="ornamental")
        today = sqlite_book.today(act.at)
        record_estimate(writing, key, method="salt", litres=20_000.0, measured_on=today, pond_rev=1)
        record_event(writing, key, "hazard_seen", today - timedelta(days=31), hazard="white_spot")
        record_event(writing, key, "hazard_seen", today - timedelta(days=3), hazard="costia")
    return key


def test_a_proposal_is_kept_and_started_in_one_action(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    on = ground(sqlite_book, pond, act.at)
    assert on.found == ("costia",)  # what was seen a month ago is over
    found = propose(on, {**FORMALIN, "1.dose": "60 µL/L"}, 1)
    assert found.stops
    with pytest.raises(BadInput, match="please write why"):
        keep_proposal(sqlite_book, act, pond, found, start=True)
    assert active_courses(sqlite_book) == ()
    reasons = {one.code: "tried on four fish first" for one in found.stops}
    key = keep_proposal(sqlite_book, act, pond, found, start=True, reasons=reasons, note="by hand")
    kept = course(sqlite_book, key)
    assert (kept.state, kept.plan, kept.note) == ("running", found.plan, "by hand")
    assert {one.code: one.reason for one in kept.answered if one.level == "stop"} == reasons
    assert ground(sqlite_book, pond, act.at).beside.running == (found.plan,)
    later = keep_proposal(sqlite_book, act, pond, found, start=False)
    assert course(sqlite_book, later).state == "planned"


def test_only_a_vet_plans_a_course_and_to_ask_writes_nothing(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        desk = replace(act, by=writing.add("staff", name="Bo Desk", role="receptionist"))
    book.only_read = "This book may only be read."
    refuse_others(book, act)
    with pytest.raises(NotAllowed, match="Only a vet can plan a course; Bo Desk"):
        refuse_others(book, desk)

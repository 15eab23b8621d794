"""What a dose comes to today: salt against the salinity of now, the level, what is off, what is twice.

Amounts by mass balance: what is lacking × litres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from caution_plans import FORMALIN_STEP, GOOD, codes
from hypothesis import given
from hypothesis import strategies as some

from store.book.act import Act
from store.book.book import Book
from store.book.keys import new_key
from store.book.volumes import record_estimate
from store.courses.kept.course_page import DoseLine
from store.courses.kept.dose_asked import (
    cautions_of,
    dose_asked,
    dose_said,
    dose_typed,
    log_typed,
    now_of,
    observe_said,
)
from store.courses.kept.dose_now import (
    again_soon,
    asked_now,
    dose_counted,
    off_by,
    off_caution,
)
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import LoggedDose, course
from store.courses.planning.course import Given, Plan, PondWater, StepWish
from store.courses.planning.level import level_now
from store.courses.planning.plan import plan_course
from store.courses.turning.tally import tallies
from store.courses.turning.turned import turned
from store.errors import BadInput

DAY = date(2026, 3, 14)
OWNER = UUID(int=7)
SALTY = replace(GOOD, salinity_g_l=0.5)
TO_2 = StepWish(
    "salt", "pond_bath", 2000.0, doses=3, interval_days=2, water_change_percent=20.0, to_reach=True
)
TYPED = {"which": "1:1", "on_day": "today", "at_time": "", "change": "0", "given_by": "",
         "batch": "", "observed": ""}  # fmt: skip


def plan_of(wish: StepWish, water: PondWater = SALTY) -> Plan:
    return plan_course([wish], hazards=[], reason="x", water=water, first_day=DAY)


class Held:
    """As much of a course as what is asked of a dose looks at."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def line(self, number: int) -> DoseLine:
        step = self.plan.steps[0]
        return DoseLine(step, step.doses[number - 1], "due", 0, ())

    def asked(self, number: int, salinity_g_l: float | None, level: str = "") -> Any:
        water = replace(SALTY, salinity_g_l=salinity_g_l)
        return asked_now(self, self.line(number), water, level_now(level, 20_000.0))  # type: ignore[arg-type]


def test_salt_is_asked_against_the_salinity_of_now() -> None:
    held = Held(plan_of(TO_2))
    assert [one.amount for one in held.plan.steps[0].doses] == [30_000.0, 6_000.0, 6_000.0]
    # As planned: 0.5 g/L, so 1.5 × 20,000 L; at the second dose 1.6 g/L are left of 2.
    assert held.asked(1, 0.5).amount == 30_000.0
    assert held.asked(2, 1.6).amount == 8_000.0
    assert "(2 - 1.6) g/L × 20000 L = 8 kg" in held.asked(2, 1.6).said[0]
    assert "2 g/L = 0.2 % = 2000 mg/L are meant" in held.asked(2, 1.6).said[0]
    nothing = held.asked(2, 2.2)
    assert nothing.amount == 0.0
    assert "2.2 g/L are there: nothing is to be added" in nothing.said[0]


def test_salt_that_is_added_each_time_is_asked_for_what_the_plan_means_after_it() -> None:
    wish = replace(TO_2, dose=500.0, to_reach=False, water_change_percent=0.0)
    held = Held(plan_of(wish))
    assert [held.asked(number, 0.5 * number).amount for number in (1, 2, 3)] == [10_000.0] * 3
    assert held.asked(3, 1.3).amount == 14_000.0


def test_without_a_salinity_of_now_the_plan_stands_and_says_so() -> None:
    asked = Held(plan_of(TO_2)).asked(2, None)
    assert asked.amount == 6_000.0
    assert "The salinity of now is not known" in asked.said[0]


def test_the_level_scales_what_is_lacking() -> None:
    asked = Held(plan_of(TO_2)).asked(2, 1.6, "50 %")
    assert (asked.amount, asked.share) == (4_000.0, 0.5)


@given(now=some.floats(0.0, 5.0), percent=some.floats(10.0, 100.0))
def test_what_is_asked_never_brings_more_than_is_meant(now: float, percent: float) -> None:
    asked = Held(plan_of(TO_2)).asked(1, now, f"{percent} %")
    volume_l = 20_000.0 * asked.share
    assert now + asked.amount / volume_l <= max(2.0, now) + 1e-9


@pytest.mark.parametrize(
    ("amount", "off"), [(30_000.0, 0.0), (33_000.0, 0.1), (33_100.0, 0.103), (15_000.0, -0.5)]
)
def test_from_a_tenth_on_an_amount_is_off(amount: float, off: float) -> None:
    asked = Held(plan_of(TO_2)).asked(1, 0.5)
    assert off_by(amount, asked) == pytest.approx(off, abs=1e-3)
    assert (off_caution(amount, asked) is not None) == (abs(off) > 0.1)


@pytest.mark.parametrize(("hours", "told"), [(1, True), (23, True), (24, False), (-5, True)])
def test_a_second_dose_within_a_day_asks_whether_it_is_another(hours: int, told: bool) -> None:
    line = Held(plan_of(TO_2)).line(2)
    at = datetime(2026, 3, 16, 8, tzinfo=UTC)
    log = [(1, 1, at - timedelta(hours=hours)), (2, 1, at)]
    found = again_soon(line, at, log)
    assert bool(found) == told
    if told:
        assert f"Dose 1 of it is logged {abs(hours)} h from this one" in found[0].said


def test_after_permanganate_the_time_of_the_colour_is_asked() -> None:
    wish = StepWish("potassium_permanganate", "pond_bath", 2.0, demand_mg_l=1.0)
    assert observe_said(Held(plan_of(wish)).line(1)) == "how many h the colour lasted"
    assert observe_said(Held(plan_of(FORMALIN_STEP)).line(1)) is None


@pytest.mark.parametrize(
    ("now", "amount", "counts"),
    [
        (1.6, 8_000.0, 300.0),  # more than planned, as asked: the planned dose
        (1.9, 2_000.0, 300.0),  # less than planned, as asked
        (1.6, 7_600.0, 285.0),  # 95 % of what was asked counts as 95 % of the dose
        (1.6, 4_000.0, 150.0),  # half of it as half
        (1.6, 12_000.0, 500.0),  # 0.2 g/L more than was meant
        (1.6, 10_000.0, 400.0),
        (2.2, 2_000.0, 600.0),  # nothing was asked: 2.3 g/L, and 2 were meant
    ],
)
def test_salt_counts_by_the_salinity_it_comes_to(now: float, amount: float, counts: float) -> None:
    held = Held(plan_of(TO_2))
    line, asked = held.line(2), held.asked(2, now)
    assert dose_counted(line, amount, asked) == pytest.approx(counts)
    # Reached is what was there and what went in; the plan means 2 g/L after its 0.3 g/L.
    reached = now + amount / 20_000.0
    assert dose_counted(line, amount, asked) >= 300.0 + 1000.0 * (reached - 2.0) - 1e-6


def test_the_rest_of_a_salt_dose_counts_for_the_rest() -> None:
    held = Held(plan_of(TO_2))
    at = datetime(2026, 3, 16, 8, tzinfo=UTC)
    half = Given(1, 2, at, at.date(), 150.0, 3_000.0, "g", 20.0)
    line = replace(held.line(2), log=(LoggedDose(new_key(at), 1, half, "Ada", "", "", OWNER, ""),))
    assert dose_counted(line, 4_000.0, held.asked(2, 1.8)) == pytest.approx(150.0)


def test_an_agent_counts_by_what_it_brings_into_the_water() -> None:
    held = Held(plan_of(FORMALIN_STEP))
    asked = asked_now(held, held.line(1), GOOD, level_now("50 %", 20_000.0))  # type: ignore[arg-type]
    assert dose_counted(held.line(1), asked.amount, asked) == pytest.approx(20.0)
    assert dose_counted(held.line(1), 2.0 * asked.amount, asked) == pytest.approx(40.0)


def test_a_salt_dose_as_the_day_asked_for_it_slips_in_no_turn(
    book: Book, act: Act, pond: UUID
) -> None:
    """Rain took more than the water change: 12 kg in place of 6 kg come to the 2 g/L meant."""
    with book.writing(act) as writing:
        first = book.today(act.at)
        plan = plan_course([TO_2], hazards=[], reason="x", water=SALTY, first_day=first)
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
    for number, salinity_g_l, days in ((1, 0.5, 0), (2, 1.4, 2), (3, 1.9, 4)):
        then = Act(act.by, act.at + timedelta(days=days))
        asked = dose_asked(book, key, then.at)
        asked = replace(asked, water=replace(SALTY, salinity_g_l=salinity_g_l))
        text = {**TYPED, "which": f"1:{number}", "change": "20"}
        text |= {"amount": f"{now_of(asked, text).amount:g}"}
        dose = dose_typed(asked, text, then.at, book)
        log_typed(book, then, asked, dose, text, (), {})
    found = course(book, key)
    assert [one.given.amount for one in found.log] == [30_000.0, 12_000.0, 2_000.0]
    assert [one.given.dose for one in found.log] == pytest.approx([1500.0, 300.0, 300.0])
    assert "(2 - 1.4) g/L × 20000 L = 12 kg" in found.log[1].observed
    turn = turned(found.plan, found.given, first + timedelta(days=4))
    assert not any("planned:" in one or "more than" in one or "less" in one for one in turn.said)
    assert turn.cautions == ()
    assert {one.counts_on for one in tallies(found.plan, found.plan.steps[0], found.given, first)
            } == {first + timedelta(days=days) for days in (0, 2, 4)}  # fmt: skip


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Tansy Lane")
        site = writing.add("site", client_id=owner, name="garden")
        key = writing.add("pond", site_id=site, name="mill pond", use="ornamental")
        today = book.today(act.at)
        record_estimate(writing, key, method="salt", litres=20_000.0, measured_on=today, pond_rev=1)
    return key


def running(book: Book, act: Act, pond: UUID) -> UUID:
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan_of(FORMALIN_STEP))
        start_course(writing, key, 1, (), {})
    return key


def typed(book: Book, act: Act, key: UUID, **values: str) -> tuple[Any, Any, Mapping[str, str]]:
    asked = dose_asked(book, key, act.at)
    text = {**TYPED, **values}
    return asked, dose_typed(asked, text, act.at, book), text


def test_an_amount_that_is_off_is_kept_with_who_decided_or_not_at_all(
    book: Book, act: Act, pond: UUID
) -> None:
    key = running(book, act, pond)
    asked, dose, text = typed(book, act, key, amount="500 mL")
    with pytest.raises(BadInput, match="who decided on another amount") as trouble:
        log_typed(book, act, asked, dose, text, cautions_of(asked, dose), {})
    assert trouble.value.field == "off_why"
    assert course(book, key).log == ()
    found = cautions_of(asked, dose)
    assert "amount_off" in codes(found, "mind")
    reasons = {one.code: "seen" for one in found}
    text = {**text, "off_why": "Ada: the fish look bad"}
    log_typed(book, act, asked, dose, text, found, reasons)
    kept = {one.code: one.reason for one in course(book, key).answered}
    assert kept["amount_off"] == "Ada: the fish look bad"


def test_half_the_water_takes_half_the_amount_and_is_as_strong(
    book: Book, act: Act, pond: UUID
) -> None:
    key = running(book, act, pond)
    whole = dose_asked(book, key, act.at).open[0].planned.amount
    asked = dose_asked(book, key, act.at)
    half = now_of(asked, {**TYPED, "level": "50 %"})
    assert half.amount == pytest.approx(whole / 2)
    asked, dose, text = typed(book, act, key, amount=f"{half.amount:g}", level="50 %")
    said = dose_said(dose)
    assert said.startswith("20 mg/L; planned 20 mg/L; asked today")
    log_typed(book, act, asked, dose, text, (), {})
    (entry,) = course(book, key).log
    assert entry.given.dose == pytest.approx(20.0)
    assert entry.given.amount == pytest.approx(whole / 2)
    assert "The level is 50 %" in entry.observed

"""The interval that is proposed over the days that it spans; and what no estimate ever answers."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.volumes import record_estimate
from store.courses.cautions.before import cautions, cautions_before
from store.courses.cycles.coverage import covers
from store.courses.cycles.cycle import interval_over, proposed_interval
from store.courses.kept.proposal import ground, propose
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.courses.planning.timing import is_by_estimate
from store.errors import BadInput
from store.warmth.estimate import Ahead
from store.warmth.kept.fits import make_fit
from tests.courses.test_likely_free import TODAY, carp_pond
from tests.courses.treated_ponds import at_noon

TODAY_NUMBER = TODAY.toordinal()
WATER = PondWater(10_000.0, 9_000.0, 11_000.0, temperature_c=20.0, ph=7.4, alkalinity_mg_l=100.0,
                  oxygen_mg_l=9.0, use="ornamental")  # fmt: skip
DRY = PondWater(10_000.0, 9_000.0, 11_000.0, use="ornamental")
WISH = StepWish("trichlorfon", "pond_bath", 0.25, doses=3)


def rising(by_c: float, spread_c: float = 1.0, from_c: float = 20.0) -> Ahead:
    return Ahead(
        TODAY_NUMBER - 14, TODAY_NUMBER,
        [from_c + by_c * max(0, day) for day in range(-14, 120)], [spread_c] * 134,
    )  # fmt: skip


@settings(max_examples=30, deadline=None)
@given(st.floats(11.0, 27.0), st.floats(-0.1, 0.1), st.floats(0.0, 0.9))
def test_over_the_days_it_spans_every_egg_is_met(
    from_c: float, by_c: float, spread_c: float
) -> None:
    """Zhang et al. 2015 for gill flukes: in every water between the two the course covers."""
    rows = [
        [min(28.0, max(10.0, from_c + by_c * day + side * spread_c)) for day in range(90)]
        for side in (-1, 0, 1)
    ]
    found = interval_over("gill_flukes", *rows)
    assert found.days is not None
    doses = [number * found.days for number in range(found.doses)]
    assert all(covers(doses, "gill_flukes", row).covered for row in rows)
    steady = proposed_interval("gill_flukes", round(from_c, 2))
    still = interval_over("gill_flukes", *[[round(from_c, 2)]] * 3)
    assert (still.days, still.doses) == (steady.days, steady.doses), "one temperature as before"


def test_an_estimate_shortens_an_interval_and_never_lengthens_what_was_measured() -> None:
    """At 20 °C the young can lay after 5 days; above it sooner, in step with the eggs."""
    plans = [
        plan_course([WISH], hazards=["gill_flukes"], reason="", water=WATER, first_day=TODAY,
                    ahead=ahead)
        for ahead in (None, rising(0.5), rising(-0.02, from_c=16.0))
    ]  # fmt: skip
    before, warm, cold = (one.steps[0] for one in plans)
    assert (before.interval_days, cold.interval_days) == (5, 5)
    assert warm.interval_days is not None
    assert warm.interval_days < 5
    assert "every 5 d as the water measured asks, the end by day" in cold.interval_why
    assert [is_by_estimate(one) for one in (before, warm, cold)] == [False, True, True]
    assert "°C by estimate: every" in warm.interval_why
    assert any("rests on an estimate of the water to come" in one for one in warm.remarks)
    assert plans[1].water == plans[0].water, "no estimate enters the water of a plan"
    typed = StepWish("trichlorfon", "pond_bath", 0.25, doses=3, interval_days=7)
    stands = plan_course(
        [typed], hazards=["gill_flukes"], reason="", water=WATER, first_day=TODAY,
        ahead=rising(0.5),
    )  # fmt: skip
    assert stands.steps[0].interval_days == 7


def test_a_caution_that_asks_for_a_measured_temperature_is_not_answered_by_an_estimate() -> None:
    with pytest.raises(BadInput, match="no temperature"):
        plan_course([WISH], hazards=["gill_flukes"], reason="", water=DRY, first_day=TODAY)
    plan = plan_course(
        [WISH], hazards=["gill_flukes"], reason="", water=DRY, first_day=TODAY, ahead=rising(0.0)
    )
    assert plan.steps[0].interval_days is not None, "an interval can be proposed"
    typed = StepWish(
        "trichlorfon", "pond_bath", 0.25, doses=3, interval_days=plan.steps[0].interval_days
    )
    without = plan_course([typed], hazards=["gill_flukes"], reason="", water=DRY, first_day=TODAY)
    asked = {(one.code, one.level) for one in cautions(plan)}
    assert asked == {(one.code, one.level) for one in cautions(without)}
    assert ("missing_temperature", "mind") in asked
    step = plan.steps[0]
    at_dose = cautions_before(plan, step, step.doses[0], DRY)
    assert ("missing_temperature", "stop") in {(one.code, one.level) for one in at_dose}


def test_a_plan_of_a_pond_not_read_lately_keeps_its_question(sqlite_book: Book, act: Act) -> None:
    book, now = sqlite_book, at_noon(TODAY)
    pond = carp_pond(book, act, read_until=TODAY - timedelta(days=60))
    with book.writing(act) as writing:
        record_estimate(
            writing, pond, method="salt", litres=9000.0, low_l=8000.0, high_l=10_000.0,
            measured_on=book.today(act.at), pond_rev=1,
        )  # fmt: skip
    assert ground(book, pond, now).ahead is None
    assert make_fit(book, now) is not None
    on = ground(book, pond, now)
    assert on.ahead is not None
    assert on.water.water.temperature_c is None
    assert on == ground(book, pond, now)
    texts = {
        "hazard": "gill_flukes", "first_day": "today", "1.agent": "trichlorfon",
        "1.route": "pond_bath", "1.dose": "0.25 mg/L", "1.doses": "3", "1.strength": "98",
        "1.basis": "product", "1.share": "practice",
    }  # fmt: skip
    proposal = propose(on, texts, 1)
    assert "by estimate" in proposal.plan.steps[0].interval_why
    assert "missing_temperature" in {one.code for one in proposal.cautions}

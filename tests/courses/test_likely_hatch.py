"""When the last egg is likely to have hatched, by estimate; a course itself is moved by nothing."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.cycles.coverage import covers, ends_by
from store.courses.kept.course_page import course_page
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.likely_hatch import likely_hatch
from store.courses.kept.records import course
from store.courses.kept.under_way import under_way
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.courses.turning.still_covered import GOOD
from store.warmth.kept.fits import make_fit
from tests.courses.test_likely_free import water
from tests.courses.treated_ponds import add_carp_pond, add_logger, at_noon
from tui.commands.courses import as_json, as_text

FIRST = date(2026, 5, 18)
TODAY = FIRST + timedelta(days=6)
READ_UNTIL = FIRST + timedelta(days=2)


def fluke_course(book: Book, act: Act) -> tuple[UUID, UUID]:
    """A pond with a logger for a year, and three doses against gill flukes of which one is given."""
    pond = add_carp_pond(book, act, use="ornamental", client="Mill Lane")
    begins = READ_UNTIL - timedelta(days=400)
    add_logger(
        book, act, pond, [water(begins + timedelta(days=n)) for n in range(1, 401)], after=begins
    )
    plan = plan_course(
        [StepWish("trichlorfon", "pond_bath", 0.5, doses=3, interval_days=7)],
        hazards=("gill_flukes",), reason="gill flukes", first_day=FIRST,
        water=PondWater(9000.0, 8000.0, 10_000.0, temperature_c=17.0, ph=7.4, oxygen_mg_l=9.0,
                        alkalinity_mg_l=100.0, use="ornamental"),
    )  # fmt: skip
    then = Act(act.by, at_noon(FIRST))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        found = cautions(plan)
        start_course(writing, key, 1, found, {one.code: "seen" for one in found})
    dose = course(book, key).dose_ids[1, 1]
    with book.writing(then) as writing:
        log_dose(
            writing, dose, given_at=at_noon(FIRST), amount=plan.steps[0].doses[0].amount,
            amount_unit=plan.steps[0].doses[0].amount_unit, water_change_percent=0.0,
            given_by="Ada",
        )  # fmt: skip
    return pond, key


def test_the_end_of_hatching_by_estimate_holds_what_the_water_does(
    sqlite_book: Book, act: Act
) -> None:
    book, now = sqlite_book, at_noon(TODAY)
    _, key = fluke_course(book, act)
    before = course_page(book, key, now)
    assert before.likely == ()
    assert make_fit(book, now) is not None
    page = course_page(book, key, now)
    (one,) = page.likely
    assert replace(page, likely=()) == before, "neither doses nor control look at an estimate"

    # By the rule itself, over the water that the pond has: Zhang et al. 2015 for gill flukes.
    end = covers([0, 7, 14], "gill_flukes", [water(FIRST + timedelta(days=n)) for n in range(60)])
    assert end.end_day is not None
    hatched = FIRST + timedelta(days=math.ceil(end.end_day))
    assert one.over.earliest is not None
    assert one.over.expected is not None
    assert one.over.latest is not None
    assert one.over.earliest <= hatched <= one.over.latest
    assert abs((one.over.expected - hatched).days) <= 2
    assert one.over.earliest < one.over.latest
    assert one.last_dose == FIRST + timedelta(days=14)
    assert not end.covered
    assert one.verdict not in GOOD
    assert "not covered: " in one.says
    assert one.says.startswith("Gill flukes: the last egg has hatched between ")
    assert "by estimate; last dose 1 Jun 2026" in one.says
    assert one.rests_on[0].startswith("Expected on ")

    lines = under_way(book, now)
    likely = likely_hatch(book, [each.course for each in lines], now)
    (said,) = json.loads(json.dumps(as_json(lines, likely)))["courses"]
    assert said["likely_by_estimate"][0]["latest"] == one.over.latest.isoformat()
    assert f"  {one.says}" in list(as_text(lines, TODAY, likely))
    assert likely_hatch(book, [], now) == {}


def test_a_day_brings_the_end_nearer_as_it_is_published() -> None:
    """Gill flukes at 20 °C hatch within 8 days (Zhang et al. 2015); nothing is said of 5 °C."""
    share = ends_by("gill_flukes").share
    assert share(20.0) == 1.0 / 8.0
    assert share(5.0) is None

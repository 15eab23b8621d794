"""The pond's water as a course is planned on it: what is believed, what is too old, what is in it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest
from caution_plans import FORMALIN_STEP, GOOD

from store.book.act import Act
from store.book.book import Book
from store.book.events import end_event, record_event
from store.book.volumes import record_estimate
from store.courses.cautions.before import cautions
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.records import course
from store.courses.kept.water_now import as_given, beside, water_now, water_seen
from store.courses.planning.course import StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput, NotFound
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Sorrel Mews")
        site = writing.add("site", client_id=owner, name="court")
        key = writing.add("pond", site_id=site, name="long pond", use="food", species="12 tench")
        record_estimate(
            writing, key, method="salt", litres=9000.0, low_l=8000.0, high_l=10_500.0,
            measured_on=sqlite_book.today(act.at), pond_rev=1,
        )  # fmt: skip
    return key


def enter(book: Book, act: Act, pond: UUID, line: str, days: float) -> None:
    read = understand(line, kit=KitForms("n", "no2", "no3"), now=act.at, zone=book.zone)
    assert not read.doubts, read.doubts
    taken = act.at - timedelta(days=days)
    save_test(book, act, pond, NewTest(taken, read.readings, way="line"))


def test_each_reading_is_the_newest_that_is_still_believed(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    enter(sqlite_book, act, pond, "12.0C pH 7.9 DO 9.1 GH 8 KH 6", 20)
    enter(sqlite_book, act, pond, "14.0C pH 7.4", 2)
    seen = water_seen(sqlite_book, pond, act.at)
    water = seen.water
    assert (water.temperature_c, water.ph) == (14.0, 7.4)
    assert water.oxygen_mg_l is None  # a week is the most for oxygen by the rule in force
    assert seen.too_old == ("oxygen_mg_l",)
    assert water.hardness_mg_l == pytest.approx(8 * 17.848, rel=1e-3)
    assert water.age_days == pytest.approx(20.0)
    assert seen.readings["ph"].age_days == pytest.approx(2.0)
    assert (water.volume_l, water.volume_low_l, water.volume_high_l) == (9000.0, 8000.0, 10_500.0)
    assert (water.species, water.use, water.things) == ("12 tench", "food", frozenset())
    assert water.trend_c_per_day is None  # two days make no trend
    assert water_now(sqlite_book, pond, act.at) == water


def test_the_trend_is_that_of_the_last_fortnight(sqlite_book: Book, act: Act, pond: UUID) -> None:
    for days in range(0, 10, 3):
        enter(sqlite_book, act, pond, f"{16.0 - 0.2 * days:.1f}C", days)
    assert water_now(sqlite_book, pond, act.at).trend_c_per_day == pytest.approx(0.2, abs=0.01)


def test_without_a_test_nothing_of_the_water_is_known(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    water = water_now(sqlite_book, pond, act.at)
    assert (water.temperature_c, water.ph, water.oxygen_mg_l, water.age_days) == (None,) * 4


def test_zeolite_counts_while_it_lies_there_and_a_filter_is_sick_for_four_weeks(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    today = sqlite_book.today(act.at)
    with sqlite_book.writing(act) as writing:
        zeolite = record_event(writing, pond, "zeolite_in_filter", today - timedelta(days=90))
        record_event(writing, pond, "filter_disturbed", today - timedelta(days=28))
    assert water_now(sqlite_book, pond, act.at).things == {"zeolite", "sick_filter"}
    with sqlite_book.writing(act) as writing:
        end_event(writing, zeolite, 1, today - timedelta(days=1))
    later = act.at + timedelta(days=1)
    assert water_now(sqlite_book, pond, later).things == frozenset()


def test_a_pond_without_a_volume_or_none_at_all(sqlite_book: Book, act: Act, pond: UUID) -> None:
    with sqlite_book.writing(act) as writing:
        site = writing.add("site", client_id=writing.add("client", name="Quince Row"), name="yard")
        bare = writing.add("pond", site_id=site, name="tub")
    with pytest.raises(BadInput, match="volume of this pond is not known"):
        water_now(sqlite_book, bare, act.at)
    with pytest.raises(NotFound):
        water_now(sqlite_book, site, act.at)


def test_what_is_beside_a_plan_counts_as_it_was_given(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    today = sqlite_book.today(act.at)
    water = replace(GOOD, volume_l=9000.0, volume_low_l=8500.0, volume_high_l=9500.0)
    plan = plan_course(
        [replace(FORMALIN_STEP, doses=2, interval_days=7)],
        hazards=["costia"], reason="costia on skin", water=water, first_day=today,
    )  # fmt: skip
    shown = cautions(plan)
    reasons = {one.code: "looked at" for one in shown}
    with sqlite_book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, shown, reasons)
    due, dose_id = plan.steps[0].doses[0], course(sqlite_book, key).dose_ids[1, 1]
    with sqlite_book.writing(act) as writing:
        log_dose(
            writing, dose_id, given_at=act.at, amount=0.9 * due.amount,
            amount_unit=due.amount_unit, water_change_percent=0.0, given_by="Ada",
        )  # fmt: skip
    running = beside(sqlite_book, pond, today)
    (seen,) = running.running
    doses = seen.steps[0].doses
    assert [one.state for one in doses] == ["given", "due"]
    assert [one.dose for one in doses] == pytest.approx([18.0, 20.0])
    assert beside(sqlite_book, pond, today, but=key).running == ()
    assert as_given(course(sqlite_book, key)) == seen

    other = plan_course(
        [StepWish("potassium_permanganate", "pond_bath", 2.0)],
        hazards=[], reason="gill rot", water=water, first_day=today,
    )  # fmt: skip
    with sqlite_book.writing(act) as writing:
        end_course(writing, key, course(sqlite_book, key).rev, "stopped", "fish better")
    ended = beside(sqlite_book, pond, today)
    assert ended.running == ()
    assert [one.agent for one in ended.last] == ["formalin"]
    assert ended.last[0].dose == pytest.approx(18.0)
    met = {one.said for one in cautions(other, last=ended.last)} - {
        one.said for one in cautions(other)
    }
    assert any("formalin" in said.casefold() for said in met)
    assert beside(sqlite_book, pond, today + timedelta(days=29)).last == ()

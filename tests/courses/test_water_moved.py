"""A course in water that did not stay as it was planned: colder, warmer, or out of all that is known.

Gill flukes after Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6), as `life_cycles.toml` has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event
from treated_ponds import add_logger

from store.book.act import Act
from store.book.book import Book
from store.book.volumes import record_estimate
from store.courses.cycles.cycle import covers, proposed_interval
from store.courses.kept.course_page import course_page
from store.courses.kept.course_water import course_temps, temps_of
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course, turn_course
from store.courses.kept.morning import watch_pond
from store.courses.kept.records import active_courses, course
from store.courses.kept.under_way import under_way
from store.courses.planning.course import Given, Plan, PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.courses.planning.timing import temperatures
from store.courses.turning.still_covered import GOOD
from store.courses.turning.turned import turned
from store.courses.turning.water_moved import first_day, water_moved

FIRST = date(2026, 3, 3)


def planned(temp_c: float | None = 20.0, doses: int = 3, every: int | None = None, *,
            trend: float | None = None, first: date = FIRST) -> Plan:  # fmt: skip
    water = PondWater(
        9000.0, 8000.0, 10_000.0, temperature_c=temp_c, trend_c_per_day=trend, ph=7.4,
        use="ornamental",
    )  # fmt: skip
    wish = StepWish("praziquantel", "pond_bath", 2.0, doses=doses, interval_days=every,
                    water_change_percent=30.0)  # fmt: skip
    return plan_course([wish], hazards=["gill_flukes"], reason="flukes", water=water,
                       first_day=first)  # fmt: skip


def on(day: int) -> date:
    return FIRST + timedelta(day)


def was(number: int, day: int) -> Given:
    at = datetime.combine(on(day), time(9), UTC)
    return Given(1, number, at, on(day), 2.0, 18.0, "g", 30.0)


def due_days(plan: Plan) -> list[int]:
    return [(one.due_on - FIRST).days for one in plan.steps[0].doses if one.state == "due"]


def test_a_cold_snap_is_told_with_its_numbers_and_doses_are_added_for_it() -> None:
    """Planned at 20 °C every 5 d for 3 doses; from the second day on it is 12 °C."""
    plan = planned()
    assert due_days(plan) == [0, 5, 10]
    temps = [20.0, *[12.0] * 20]
    found = water_moved(plan, [was(1, 0)], temps, on(3))
    assert found is not None
    assert found.known
    old, new = covers([0, 5, 10], "gill_flukes", 20.0), covers([0, 5, 10], "gill_flukes", temps)
    assert old.verdict in GOOD
    assert new.verdict not in GOOD
    assert old.end_day is not None
    assert new.end_day is not None
    assert "Planned at 20 °C, measured 12 °C since 4 Mar 2026: for gill flukes last hatch" in (
        found.said
    )
    assert f"day {-(-old.end_day // 1):.0f} → day {-(-new.end_day // 1):.0f}" in found.said
    assert "the last dose, on day 10, falls before it (days from 3 Mar 2026)" in found.said
    assert any("Zhang" in one for one in (*found.points, found.source))

    turn = turned(plan, [was(1, 0)], on(3), temps=temps)
    assert turn.moved == found
    assert turn.said[0] == found.in_all
    added = [one for one in turn.plan.steps[0].doses if one.added == "for cover"]
    assert added
    row = [0, *due_days(turn.plan)]
    assert covers(row, "gill_flukes", temps).verdict in GOOD
    assert turn.plan.control_on is not None
    assert plan.control_on is not None
    assert turn.plan.control_on > plan.control_on
    # What was given stays, and turned again it stays as it is.
    assert turn.plan.steps[0].doses[0].due_on == FIRST
    again = turned(turn.plan, [was(1, 0)], on(3), temps=temps)
    assert (again.moved, again.said, again.changed) == (None, (), False)
    # In the water of the plan nothing slipped.
    assert turned(plan, [was(1, 0)], on(3)).said == ()


def test_a_cold_snap_after_the_last_dose_adds_doses_too() -> None:
    log = [was(1, 0), was(2, 5), was(3, 10)]
    temps = [20.0, 20.0, *[12.0] * 30]
    turn = turned(planned(), log, on(12), temps=temps)
    assert turn.moved is not None
    assert [one.added for one in turn.plan.steps[0].doses[3:]]
    assert min(due_days(turn.plan)) >= 15  # an interval after the dose before it


def test_a_warm_spell_brings_the_doses_closer_and_never_before_today() -> None:
    """At 20 °C every 5 d; at 26 °C the life cycle asks for every 3 d, and for a dose more."""
    assert [proposed_interval("gill_flukes", temp_c).days for temp_c in (20.0, 26.0)] == [5, 3]
    plan = planned()
    temps = [20.0, *[26.0] * 40]
    found = water_moved(plan, [was(1, 0)], temps, on(2))
    assert found is not None
    assert found.every_days == 3
    assert found.said.startswith("Planned at 20 °C, measured 26 °C since 4 Mar 2026: for gill")
    turn = turned(plan, [was(1, 0)], on(2), temps=temps)
    row = [0, *due_days(turn.plan)]
    assert row[1:3] == [3, 6]
    assert {later - day for day, later in pairwise(row)} == {3}
    assert covers(row, "gill_flukes", temps).verdict in GOOD
    step = turn.plan.steps[0]
    assert step.interval_days == 3
    assert "Every 3 d, shortened from 5 d with the water" in step.interval_why
    again = turned(turn.plan, [was(1, 0)], on(2), temps=temps)
    assert (again.moved, again.plan) == (None, turn.plan)
    # Dose 2 is wanted yesterday: it comes today, and no sooner.
    late = turned(plan, [was(1, 0)], on(4), temps=temps)
    assert due_days(late.plan)[:2] == [4, 7]
    assert water_moved(late.plan, [was(1, 0)], temps, on(4)) is None


def test_what_the_life_cycle_asks_is_said_old_and_new() -> None:
    """Two doses that never covered: of them only the interval is said."""
    plan = planned(20.0, doses=2, every=5)
    found = water_moved(plan, [was(1, 0)], [20.0, *[26.0] * 40], on(1))
    assert found is not None
    assert "the interval proposed is 5 d → 3 d; doses stand up to 5 d apart" in found.said
    assert any("°C" in one for one in found.points)
    # One that the vet typed shorter than the life cycle asked for stands.
    assert water_moved(planned(20.0, 2, 3), [was(1, 0)], [20.0, *[26.0] * 40], on(1)) is None


def test_where_only_the_trend_leads_out_of_what_is_published_the_water_of_today_stays() -> None:
    """Gill flukes are published from 10 °C on; falling by 1 °C a day it would be 7 °C in a week."""
    temps = [20.0, 17.0, 14.0, 14.0, *(14.0 - day for day in range(1, 8))]
    found = water_moved(planned(), [was(1, 0)], temps, on(3))
    assert found is not None
    assert found.known
    end = covers([0, 5, 10], "gill_flukes", [20.0, 17.0, 14.0]).end_day
    assert end is not None
    assert f"→ day {-(-end // 1):.0f}" in found.said
    turn = turned(planned(), [was(1, 0)], on(3), temps=temps)
    assert any(one.added == "for cover" for one in turn.plan.steps[0].doses)


def test_a_dose_that_is_overdue_does_not_hide_the_cold() -> None:
    assert water_moved(planned(), [was(1, 0)], [20.0, *[14.0] * 30], on(6)) is not None


def test_outside_what_is_published_nothing_is_said_but_that() -> None:
    plan = planned()
    temps = [20.0, *[39.0] * 30]
    found = water_moved(plan, [was(1, 0)], temps, on(4))
    assert found is not None
    assert not found.known
    assert "nothing can be said" in found.said
    turn = turned(plan, [was(1, 0)], on(4), temps=temps)
    assert turn.said == (found.in_all,)
    assert due_days(turn.plan) == [5, 10]


def test_a_plan_that_never_covered_says_nothing_of_cover() -> None:
    plan = planned(20.0, doses=1)
    assert water_moved(plan, [], [12.0] * 30, on(1)) is None
    assert not turned(plan, [], on(1), temps=[12.0] * 30).changed


@settings(max_examples=60, deadline=None)
@given(
    temp_c=st.floats(8.0, 27.0),
    trend=st.one_of(st.none(), st.floats(-0.5, 0.5)),
    doses=st.integers(1, 5),
    every=st.integers(2, 14),
    today=st.integers(0, 30),
    logged=st.integers(0, 5),
)
def test_in_the_water_of_the_plan_nothing_is_said(
    temp_c: float, trend: float | None, doses: int, every: int, today: int, logged: int
) -> None:
    plan = planned(round(temp_c, 2), doses, every, trend=trend)
    log = [
        was(number, (number - 1) * every)
        for number in range(1, min(doses, logged) + 1)
        if (number - 1) * every <= today
    ]
    temps = temperatures(plan.water, 60)
    assert water_moved(plan, log, temps, on(today)) is None
    went, without = (turned(plan, log, on(today), temps=one) for one in (temps, None))
    assert (went.moved, went.plan.steps) == (None, without.plan.steps)


@settings(max_examples=60, deadline=None)
@given(
    temps=st.lists(st.floats(8.0, 27.0), min_size=40, max_size=40),
    today=st.integers(0, 20),
    logged=st.integers(0, 3),
)
def test_whatever_the_water_does_what_was_given_stays_and_nothing_goes_back_in_time(
    temps: Sequence[float], today: int, logged: int
) -> None:
    plan = planned(18.0, 3, 5)
    log = [was(number, (number - 1) * 5) for number in range(1, logged + 1)
           if (number - 1) * 5 <= today]  # fmt: skip
    turn = turned(plan, log, on(today), temps=temps)
    before = {one.number: one for one in plan.steps[0].doses}
    for one in turn.plan.steps[0].doses:
        if one.state == "given":
            assert one == replace(before[one.number], state="given")
        moved = one.state == "due" and one != before.get(one.number)
        assert not moved or one.due_on >= on(today)


# With the book


def begun(book: Book, act: Act, name: str, days_ago: int) -> tuple[UUID, UUID]:
    with book.writing(act) as writing:
        owner = writing.add("client", name=name)
        site = writing.add("site", client_id=owner, name="garden")
        pond = writing.add("pond", site_id=site, name="pond", use="ornamental")
        record_estimate(
            writing, pond, method="salt", litres=9000.0, low_l=8000.0, high_l=10_000.0,
            measured_on=book.today(act.at), pond_rev=1,
        )  # fmt: skip
    then = Act(act.by, act.at - timedelta(days=days_ago))
    plan = planned(first=book.today(then.at))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
        step = plan.steps[0].doses[0]
        log_dose(
            writing, course_dose(book, writing, key), given_at=then.at, amount=step.amount,
            amount_unit="g", water_change_percent=30.0, given_by="Ada",
        )  # fmt: skip
    return pond, key


def course_dose(book: Book, writing: object, key: UUID) -> UUID:
    from store.courses.kept.allowed import course_within

    return course_within(writing, key).dose_ids[1, 1]  # type: ignore[arg-type]


def test_the_book_tells_of_a_cold_snap_and_plans_anew_with_it(book: Book, act: Act) -> None:
    pond, key = begun(book, act, "Mill Lane", 4)
    silent, other = begun(book, act, "Beech House", 4)
    today = book.today(act.at)
    add_logger(book, act, pond, [20.0, 14.0, 14.0, 14.0, 14.0], after=today - timedelta(days=5))
    page = course_page(book, key, act.at)
    assert page.turn is not None
    assert page.turn.moved is not None
    assert "Planned at 20 °C, measured 14 °C since" in page.turn.moved.said
    (concern,) = [one for one in watch_pond(book, pond, act.at).concerns
                  if one.rule == "course_slipped"]  # fmt: skip
    assert concern.what == "new plan due today"
    assert "measured 14 °C since" in concern.readings[0]
    lines = {one.course.id: one for one in under_way(book, act.at)}
    assert [one.what for one in lines[key].waiting if one.promise.kind == "turn"] == [
        "new plan due today"
    ]
    # Without a reading nothing is said.
    assert all(one.promise.kind != "turn" for one in lines[other].waiting)
    assert "course_slipped" not in {one.rule for one in watch_pond(book, silent, act.at).concerns}

    before = course(book, key)
    with book.writing(act) as writing:
        turn = turn_course(writing, key, before.rev)
    assert turn == page.turn
    after = course(book, key)
    assert [one.added for one in after.plan.steps[0].doses].count("for cover") == len(
        turn.plan.steps[0].doses
    ) - 3
    assert after.log == before.log
    assert "course_slipped" not in {one.rule for one in watch_pond(book, pond, act.at).concerns}


def test_an_interval_that_the_water_shortened_is_kept(book: Book, act: Act) -> None:
    pond, key = begun(book, act, "Mill Lane", 4)
    today = book.today(act.at)
    add_logger(book, act, pond, [26.0] * 5, after=today - timedelta(days=5))
    with book.writing(act) as writing:
        turn = turn_course(writing, key, course(book, key).rev)
    found = course(book, key)
    (step,) = found.plan.steps
    assert step == turn.plan.steps[0]
    assert step.interval_days == 3
    begins = first_day(found.plan)
    assert [(one.due_on - begins).days for one in step.doses][:3] == [0, 4, 7]
    page = course_page(book, key, act.at)
    assert page.turn is not None
    assert (page.turn.moved, page.turn.changed) == (None, False)


def test_all_ponds_are_read_in_one_query(book: Book, act: Act) -> None:
    for name in ("Mill Lane", "Beech House", "Alder Row"):
        pond, _ = begun(book, act, name, 4)
        add_logger(book, act, pond, [20.0, 12.0], after=book.today(act.at) - timedelta(days=5))
    courses = active_courses(book)
    asked: list[str] = []
    with book.reading() as connection:
        engine = connection.engine

    def count(_c: object, _u: object, statement: str, *_rest: object) -> None:
        if "water_test" in statement:
            asked.append(statement)

    event.listen(engine, "before_cursor_execute", count)
    try:
        found = temps_of(book, courses, book.today(act.at))
    finally:
        event.remove(engine, "before_cursor_execute", count)
    assert len(found) == 3
    assert len(asked) == 1


def test_the_water_since_the_first_day_with_gaps_and_ahead() -> None:
    plan = planned()
    daily = {on(-2): 19.0, on(2): 16.0, on(3): 15.0, on(4): 14.0}
    temps = course_temps(plan, daily, on(6))
    assert temps is not None
    # The day without a reading at the start takes the one before; those between stay open.
    assert temps[:5] == (19.0, None, 16.0, 15.0, 14.0)
    assert temps[5:7] == (14.0, 14.0)  # held until today, then on with the trend
    assert temps[7] is not None
    assert temps[7] < 14.0
    assert len(temps) == 7 + 7
    assert course_temps(plan, {on(-1): 19.0}, on(3)) is None
    old = course_temps(plan, daily, on(19))
    assert old is not None
    assert set(old[5:]) == {14.0}
    assert course_temps(plan, {}, on(3)) is None

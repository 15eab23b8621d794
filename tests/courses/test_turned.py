"""A course whose doses slip: late, early, short, double, missed; what remains, and what is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.courses.cycles.coverage import covers
from store.courses.planning.course import Given, Plan, PlannedDose, PondWater, Product, StepWish
from store.courses.planning.plan import measured_out, plan_course
from store.courses.planning.predicted import moments, over_most, predicted
from store.courses.turning.still_covered import GOOD
from store.courses.turning.turned import Turn, due, turned
from store.errors import BadInput

FIRST = date(2026, 3, 3)
WATER = PondWater(12_000.0, 11_000.0, 13_500.0, temperature_c=20.0, ph=7.5)
FLUKES = StepWish(
    "praziquantel", "pond_bath", 2.0, doses=3, interval_days=5, water_change_percent=30.0
)
FORMALIN = StepWish(
    "formalin", "pond_bath", 20.0, product=Product("formalin", 37.0, "product", 1.09)
)
WEEKLY = StepWish(
    "trichlorfon", "pond_bath", 0.25, doses=3, interval_days=7, water_change_percent=30.0,
    change_before_first=True,
)  # fmt: skip


def planned(*wishes: StepWish, water: PondWater = WATER) -> Plan:
    return plan_course(
        wishes or (FLUKES,), hazards=["gill_flukes"], reason="", water=water, first_day=FIRST
    )


def up_to(most: float, plan: Plan) -> Plan:
    """The plan as if a publication went up to so much: the arithmetic of a maximum is tested."""
    return replace(plan, steps=tuple(replace(one, safe_most=most) for one in plan.steps))


def on(day: int) -> date:
    return FIRST + timedelta(day)


def was(
    number: int, day: int, dose: float = 2.0, *, place: int = 1, change: float = 30.0, hour: int = 9
) -> Given:
    at = datetime.combine(on(day), time(hour), UTC)
    return Given(place, number, at, on(day), dose, dose * 12.0, "g", change)


def turn(plan: Plan, log: list[Given], day: int) -> Turn:
    return turned(plan, log, on(day))


def days(plan: Plan, place: int = 1) -> dict[int, int]:
    """Doses still due, by number."""
    return {
        one.number: (one.due_on - FIRST).days
        for one in plan.steps[place - 1].doses
        if one.state == "due"
    }


def states(plan: Plan, place: int = 1) -> list[str]:
    return [one.state for one in plan.steps[place - 1].doses]


def test_a_course_on_time_stays_as_it_is() -> None:
    plan = planned()
    assert turn(plan, [], 0) == Turn(plan, (), (), False)
    assert turn(plan, [], 1).plan == plan, "a dose overdue by a day moves nothing yet"
    went = turn(plan, [was(1, 0), was(2, 5)], 5)
    assert days(went.plan) == {3: 10}
    assert went.said == ()
    assert went.plan.tasks == plan.tasks
    assert went.plan.control_on == plan.control_on


def test_a_late_dose_moves_the_next_and_adds_one_where_the_gap_was_too_long() -> None:
    went = turn(planned(), [was(1, 0), was(2, 7)], 7)
    assert days(went.plan) == {3: 12, 4: 17}
    assert went.plan.steps[0].doses[3].added == "for cover"
    assert went.said[0] == "Dose 2 was given on 10 Mar 2026, 2 d late."
    assert went.said[1] == "Dose 3 moves from 13 Mar 2026 to 15 Mar 2026: 5 d after dose 2."
    assert (
        "a gap of 7 d is longer than the 5 d in which the fastest young can breed" in went.said[2]
    )
    assert any(
        "control examination moves from 20 Mar 2026 to 27 Mar 2026" in one for one in went.said
    )
    assert any("goes back on 27 Mar 2026, not on 20 Mar 2026" in one for one in went.said)
    assert went.plan.control_on == on(24)
    assert [one.on_day for one in went.plan.tasks if one.code == "on_uv"] == [on(24)]
    assert [one.on_day for one in went.plan.tasks if one.code == "off_uv"] == [on(0)]


def test_what_a_plan_never_covered_is_not_made_up_for() -> None:
    """Three weekly doses at 10 °C end before the first egg hatches: the plan says so, no slip does."""
    plan = planned(replace(FLUKES, interval_days=7), water=replace(WATER, temperature_c=10.0))
    assert any("before the first egg hatches" in one for one in plan.remarks)
    went = turn(plan, [was(1, 0), was(2, 9)], 9)
    assert days(went.plan) == {3: 16}
    assert not any("is added" in one or "no longer meets" in one for one in went.said)
    two = planned(replace(FLUKES, doses=2))
    assert any("Not covered" in one for one in two.remarks)
    assert states(turn(two, [was(1, 0), was(2, 7)], 7).plan) == ["given", "given"]


def test_an_early_dose_draws_the_next_closer_only_where_the_gap_would_be_too_long() -> None:
    went = turn(planned(), [was(1, 0), was(2, 3)], 3)
    assert days(went.plan) == {3: 8}
    assert went.said[0] == "Dose 2 was given on 6 Mar 2026, 2 d early."
    assert "where it stood, for gill flukes a gap of 7 d" in went.said[1]
    cold = planned(replace(FLUKES, interval_days=7), water=replace(WATER, temperature_c=10.0))
    assert days(turn(cold, [was(1, 0), was(2, 5)], 5).plan) == {3: 14}


def test_a_short_dose_can_be_made_up_today_and_is_replaced_from_tomorrow() -> None:
    plan, log = planned(), [was(1, 0), was(2, 5, 1.0)]
    today = turn(plan, log, 5)
    assert days(today.plan) == {3: 10}
    assert "1 mg/L (12 g) that are missing can still be given today" in today.said[0]
    waiting = due(today.plan, log, on(5))
    assert [(one.left, one.left_amount) for one in waiting.now] == [(1.0, 12.0)]
    assert waiting.said == "Dose 2 of 3 given in part, 1 mg/L (12 g) left today"
    tomorrow = turn(today.plan, log, 6)
    assert "it does not count as a dose" in tomorrow.said[0]
    assert any("in place of dose 2, which was too small to count" in one for one in tomorrow.said)
    assert {one.added for one in tomorrow.plan.steps[0].doses[3:]} == {"in place", "for cover"}
    made_up = turn(tomorrow.plan, [*log, was(2, 6, 1.0)], 6)
    assert states(made_up.plan) == ["given", "given", "due", "due", "dropped"]
    assert any("no longer needed and dropped" in one for one in made_up.said)


def test_a_dose_within_the_published_range_counts_though_it_is_short() -> None:
    plan = planned(replace(FLUKES, dose=4.0))
    went = turn(plan, [was(1, 0, 4.0), was(2, 5, 2.5)], 6)
    assert days(went.plan) == {3: 10}
    assert went.said == (
        "Dose 2 was 2.5 mg/L, 38 % less than the 4 planned: it counts as a dose, for 2 mg/L are "
        "published.",
    )


def test_two_halves_count_together_only_where_they_are_given_close_by() -> None:
    close = turn(planned(), [was(1, 0), was(2, 4, 1.0), was(2, 5, 1.0)], 6)
    assert states(close.plan) == ["given", "given", "due"]
    apart = turn(planned(), [was(1, 0), was(2, 3, 1.0), was(2, 6, 1.0)], 7)
    assert apart.plan.steps[0].doses[3].added == "in place"


def test_a_missed_dose_is_due_at_once_and_made_up_for_by_one_more() -> None:
    went = turn(planned(), [was(1, 0)], 9)
    assert states(went.plan) == ["given", "missed", "due", "due", "due"]
    assert days(went.plan) == {3: 9, 4: 14, 5: 19}
    assert went.said[0] == "Dose 2, due on 8 Mar 2026, was not given and counts as missed."
    assert any("Dose 4 is added on 17 Mar 2026, in place of dose 2" in one for one in went.said)
    after_all = turn(went.plan, [was(1, 0), was(2, 5)], 10)
    assert states(after_all.plan) == ["given", "given", "due", "dropped", "dropped"]
    assert after_all.said[0] == "Dose 2 counted as missed and was given on 8 Mar 2026 after all."


def test_how_long_a_dose_may_be_overdue_can_be_said() -> None:
    log = [was(1, 0)]
    assert states(turned(planned(), log, on(6), missed_after_days=0).plan)[1] == "missed"
    assert states(turned(planned(), log, on(15), missed_after_days=30).plan)[1] == "due"


def test_a_course_not_begun_for_weeks_starts_afresh() -> None:
    went = turn(planned(), [], 60)
    assert states(went.plan) == ["missed"] * 3 + ["due"] * 3
    assert list(days(went.plan).values()) == [60, 65, 70]
    assert [one.on_day for one in went.plan.tasks if one.code == "off_uv"][-1] == on(60)
    assert any("look at the fish and count again before the next" in one for one in went.said)
    once = turn(planned(), [was(1, 0)], 9)
    assert not any("count again before the next" in one for one in once.said)


def test_a_double_dose_is_said_and_never_counts_as_the_next() -> None:
    log = [was(1, 0), was(2, 5), was(2, 6, hour=11)]
    went = turn(planned(), log, 6)
    assert days(went.plan)[3] == 11
    assert "given 2 times, 4 mg/L in all in place of 2" in went.said[0]


def test_a_double_dose_over_the_maximum_is_a_stop_and_more_water_is_changed() -> None:
    plan = up_to(1.0, planned(WEEKLY))
    assert over_most(plan.steps[0]) == ()
    went = turn(plan, [was(1, 0, 0.25), was(2, 7, 0.9, change=0.0)], 7)
    assert [(one.code, one.level) for one in went.cautions] == [("peak", "stop")]
    assert "dose 2 brought up to 1.15 mg/L".casefold() in went.cautions[0].said.casefold()
    assert went.cautions[0].source
    assert went.plan.steps[0].doses[2].water_change_percent == 35.0
    assert over_most(went.plan.steps[0], [was(1, 0, 0.25), was(2, 7, 0.9, change=0.0)]) == (2,)
    assert any("rises from 30 to 35 %" in one for one in went.said)
    assert any("water change before it was 0 %, not 30 %" in one for one in went.said)


# Formalin for a flagellate, a week later an organophosphate at 1 mg/L weekly three times, 30 % of
# the water changed before each: common practice, without a source.
def test_what_the_plan_itself_was_over_is_stopped_and_not_altered() -> None:
    plan = planned(FORMALIN, replace(WEEKLY, dose=1.0), water=replace(WATER, temperature_c=19.0))
    assert over_most(plan.steps[1]) == (1, 2, 3), "0.5 mg/L is the most of Piper et al. 1982"
    log = [was(1, 0, 20.0), was(1, 7, 1.0, place=2), was(2, 16, 1.0, place=2)]
    went = turn(plan, log, 16)
    assert days(went.plan, 2) == {3: 23}
    assert went.plan.steps[1].doses[2].water_change_percent == 30.0
    assert went.plan.steps[1].doses[2].dose == 1.0
    said = went.cautions[0].said
    assert "1 brought up to 1 mg/L, 2 brought up to 1.7 mg/L, 3 would bring up to 2.19 mg/L" in said
    less = planned(replace(WEEKLY, dose=0.6))
    went = turn(less, [was(1, 0, 0.6), was(2, 8, 0.6)], 8)
    assert went.plan.steps[0].doses[2].dose == 0.6
    assert went.cautions


def test_where_more_water_is_not_enough_the_next_dose_is_lowered_or_stopped() -> None:
    plan = up_to(1.0, planned(replace(WEEKLY, dose=0.4)))
    log = [was(1, 0, 0.4), was(2, 7, 1.0, change=0.0)]
    went = turn(plan, log, 7)
    third = went.plan.steps[0].doses[2]
    assert (third.water_change_percent, third.dose) == (50.0, 0.3)
    out = measured_out(0.3, "mg/L", Product(), WATER.volume_l).out
    assert third.amount == out.measured
    much = turn(plan, [was(1, 0, 0.4), was(2, 7, 3.0, change=0.0)], 7)
    assert much.plan.steps[0].doses[2] == plan.steps[0].doses[2], "nothing helps: it is stopped"
    assert "3 would bring up to" in much.cautions[0].said


def test_a_missed_dose_no_longer_counts_as_what_the_plan_was_over() -> None:
    """Three of 0.25 come to 0.55 mg/L as planned; without the second the third stays under 0.5
    with more water, and is asked for that at once, not a day later."""
    plan = planned(WEEKLY)
    assert over_most(plan.steps[0]) == (3,)
    log = [was(1, 0, 0.4, change=0.0)]
    went = turn(plan, log, 15)
    assert states(went.plan)[1] == "missed"
    assert any("dose 3: the water change before it rises" in one.casefold() for one in went.said)
    assert turn(went.plan, log, 15).plan == went.plan


def test_an_early_dose_peaks_higher_where_a_loss_is_reckoned_with() -> None:
    plan = planned(replace(WEEKLY, dose=0.8, half_life_h=48.0))
    on_time = turn(plan, [was(1, 0, 0.8), was(2, 7, 0.8)], 7)
    early = turn(plan, [was(1, 0, 0.8), was(2, 1, 0.8)], 1)
    assert early.cautions[0].level == "stop"
    log = [was(1, 0, 0.8), was(2, 1, 0.8)]
    assert predicted(early.plan.steps[0], log).highest_mg_l > 1.0
    assert predicted(on_time.plan.steps[0], [was(1, 0, 0.8), was(2, 7, 0.8)]).highest_mg_l < 1.0
    assert "half-life of 48 h at most 1.196 mg/L" in early.cautions[0].said


def test_the_second_agent_waits_for_the_first() -> None:
    plan = planned(FORMALIN, WEEKLY)
    went = turn(plan, [was(1, 2, 20.0)], 2)
    assert days(went.plan, 2) == {1: 9, 2: 16, 3: 23}
    assert "Formalin, dose 1 was given on 5 Mar 2026, 2 d late." in went.said
    assert any("the step before it ends later" in one for one in went.said)
    again = turn(
        replace(
            went.plan,
            steps=tuple(replace(one, gap_days=None) for one in planned(FORMALIN, WEEKLY).steps),
        ),
        [was(1, 2, 20.0)],
        2,
    )
    assert days(again.plan, 2) == {1: 9, 2: 16, 3: 23}, "the gap can be told from the days"


def test_no_dose_is_added_to_an_agent_that_has_been_left() -> None:
    plan = planned(FORMALIN, WEEKLY)
    went = turn(plan, [was(1, 7, 0.25, place=2)], 8)
    assert states(went.plan, 1) == ["missed"]
    assert any("none is added, for the next agent has begun" in one for one in went.said)


def test_a_dose_without_a_plan_stays_in_the_log_and_counts() -> None:
    went = turn(planned(), [was(1, 0), was(9, 3)], 3)
    assert [one.added for one in went.plan.steps[0].doses] == ["", "", "", "not planned"]
    assert days(went.plan)[2] == 8
    assert "without being planned" in went.said[0]


def test_a_course_with_all_doses_given_asks_for_the_control() -> None:
    log = [was(1, 0), was(2, 5), was(3, 10)]
    went = turn(planned(), log, 10)
    assert went.said == (
        "All doses of the course are given: the control examination is due on 20 Mar 2026.",
    )
    bare = turn(replace(planned(), control_on=None), log, 10)
    assert bare.plan.control_on == on(17)
    assert turn(bare.plan, log, 30).plan.control_on == on(17), "it is overdue, not put off"
    late = turn(planned(), [was(1, 0), was(2, 5), was(3, 12)], 12)
    assert days(late.plan) == {4: 17, 5: 22}
    assert late.plan.control_on == on(29)
    assert turn(planned(FORMALIN), [was(1, 3, 20.0)], 40).plan.control_on == on(40)


def test_what_is_due() -> None:
    plan = planned(FORMALIN, WEEKLY)
    first = due(plan, [], on(0))
    assert first.said == "Formalin, dose 1 of 1 due today"
    assert [one.code for one in first.tasks if one.code == "off_uv"] == ["off_uv"]
    log = [was(1, 0, 20.0), was(1, 7, 0.25, place=2)]
    assert due(plan, log, on(8)).said == "Trichlorfon, dose 2 of 3 due on 17 Mar 2026"
    late = due(plan, log, on(16))
    assert (late.overdue_days, late.said) == (2, "Trichlorfon, dose 2 of 3 overdue by 2 days")
    assert late.coming is not None
    assert late.coming.dose.number == 3
    whole = [*log, was(2, 14, 0.25, place=2), was(3, 21, 0.25, place=2)]
    assert plan.control_on is not None
    ended = due(plan, whole, plan.control_on)
    assert ended.control_due
    assert ended.said == "Control examination due today"
    examined = due(plan, whole, plan.control_on, examined_on=plan.control_on)
    assert (examined.said, examined.control_due) == ("", False)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (was(1, 9), "day"),
        (was(1, 0, place=7), "step"),
        (was(0, 0), "number"),
        (was(1, 0, -1.0), "dose"),
        (was(1, 0, float("nan")), "dose"),
        (was(1, 0, change=120.0), "water change"),
    ],
)
def test_entries_that_cannot_have_been(wrong: Given, field: str) -> None:
    for look in (turned, due):
        with pytest.raises(BadInput) as told:
            look(planned(), [wrong], on(3))
        assert told.value.field == field


PLANS = {
    "flukes": planned(),
    "weekly": planned(WEEKLY),
    "two": planned(FORMALIN, WEEKLY),
    "cold": planned(replace(FLUKES, interval_days=7), water=replace(WATER, temperature_c=10.0)),
    "warming": planned(water=replace(WATER, temperature_c=17.0, trend_c_per_day=0.3)),
    "unknown": planned(water=replace(WATER, temperature_c=None)),
    "tank": planned(
        StepWish("formalin", "tank_bath", 150.0, doses=3, interval_days=3, exposure_h=1.0,
                 volume_l=400.0, product=Product("formalin", 37.0, "product", 1.09))
    ),
}  # fmt: skip


@st.composite
def slips(draw: st.DrawFn) -> tuple[Plan, list[Given], int]:
    """A plan, a log in which anything may have gone wrong, and the day it is looked at."""
    plan = PLANS[draw(st.sampled_from(sorted(PLANS)))]
    log: list[Given] = []
    for step in plan.steps:
        for dose in step.doses:
            for _ in range(draw(st.sampled_from([0, 1, 1, 1, 2]))):
                day = (dose.due_on - FIRST).days + draw(st.integers(-4, 9))
                share = draw(st.sampled_from([0.3, 0.6, 0.95, 1.0, 1.0, 1.5, 3.0]))
                change = draw(st.sampled_from([0.0, 10.0, 30.0, 60.0]))
                log.append(was(dose.number, max(0, day), dose.dose * share, place=step.place,
                               change=change))  # fmt: skip
    today = max([0, *((one.on_day - FIRST).days for one in log)]) + draw(st.integers(0, 20))
    if draw(st.booleans()):
        log = [one for one in log if (one.on_day - FIRST).days <= today // 2]
        today //= 2
    return plan, log, today


def every(plan: Plan) -> list[tuple[int, PlannedDose]]:
    return [(step.place, dose) for step in plan.steps for dose in step.doses]


@settings(deadline=None, max_examples=60)
@given(slips())
def test_no_dose_given_is_lost_nor_any_planned_one(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    before = [replace(one) for one in log]
    went = turned(plan, log, on(today))
    assert log == before
    after = {(place, dose.number): dose for place, dose in every(went.plan)}
    for one in log:
        assert after[one.place, one.number].state == "given"
    for place, dose in every(plan):
        kept = after[place, dose.number]
        assert (kept.state == "given") == any(
            (one.place, one.number) == (place, dose.number) for one in log
        )
        if kept.state == "given":
            assert replace(kept, state="due") == dose, "what was given stands as it was planned"
    counted = [one for step in went.plan.steps for one in moments(step, log) if one.was_given]
    assert sum(one.dose for one in counted) == pytest.approx(sum(one.dose for one in log))


@settings(deadline=None, max_examples=60)
@given(slips())
def test_turned_again_it_stays_as_it_is(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    once = turned(plan, log, on(today))
    again = turned(once.plan, log, on(today))
    assert again.plan == once.plan
    assert not again.changed
    assert again.cautions == once.cautions


@settings(deadline=None, max_examples=60)
@given(slips())
def test_nothing_moves_to_a_day_gone_by_nor_too_close(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    went = turned(plan, log, on(today)).plan
    stood = {(place, dose.number): dose.due_on for place, dose in every(plan)}
    for place, dose in every(went):
        if dose.state == "due" and dose.due_on != stood.get((place, dose.number)):
            assert dose.due_on >= on(today)
    for step in went.steps:
        own = [one.on_day for one in log if one.place == step.place]
        left = sorted(one.due_on for one in step.doses if one.state == "due")
        if not step.interval_days:
            continue
        for day, later in pairwise([*([max(own)] if own else []), *left]):
            assert (later - day).days >= step.interval_days
    # What follows the last dose is laid anew behind it; all else of days gone by stays.
    anew = {
        one.code
        for one in went.tasks
        if one.on_day >= on(today) and one.code.startswith(("on_", "air_off", "control"))
    }
    assert [one for one in went.tasks if one.on_day < on(today)] == [
        one
        for one in plan.tasks
        if one.on_day < on(today) and not (one.code in anew and went.tasks != plan.tasks)
    ]


@settings(deadline=None, max_examples=60)
@given(slips())
def test_no_peak_above_the_maximum_without_a_stop(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    went = turned(plan, log, on(today))
    stopped = any(
        one.code.partition(".")[0] == "peak" and one.level == "stop" for one in went.cautions
    )
    assert stopped == any(over_most(one, log) for one in went.plan.steps if moments(one, log))
    for step, old in zip(went.plan.steps, plan.steps, strict=True):
        for dose in step.doses:
            assert dose.dose <= step.dose, "no dose is made larger to make up for another"
        if not moments(step, log):
            continue
        # Mass: whatever goes in is there at the end, or went with the water changed.
        answer = predicted(replace(step, half_life_h=None), log)
        present = gone = put_in = 0.0
        for one in answer.steps:
            gone += present * one.change_percent / 100.0
            present += one.dose_mg_l - present * one.change_percent / 100.0
            put_in += one.dose_mg_l
        assert put_in == pytest.approx(answer.end_mg_l + gone)
        due_in = sum(one.dose for one in step.doses if one.state == "due")
        own = sum(one.dose for one in log if one.place == step.place)
        assert put_in == pytest.approx(due_in + own)
        assert old.volume_l == step.volume_l


@settings(deadline=None, max_examples=60)
@given(slips())
def test_what_is_weighed_out_makes_the_dose(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    for step in turned(plan, log, on(today)).plan.steps:
        for one in step.doses:
            if one.state == "due":
                out = measured_out(one.dose, step.unit, step.product, step.volume_l).out
                assert (one.amount, one.amount_unit) == (out.measured, out.unit)


@settings(deadline=None, max_examples=50)
@given(slips())
def test_a_plan_that_covered_still_does_or_says_that_it_does_not(
    slip: tuple[Plan, list[Given], int],
) -> None:
    _, log, today = slip
    plan = PLANS["flukes"]
    log = [one for one in log if one.place == 1 and one.number <= 3]
    went = turned(plan, [replace(one, dose=2.0) for one in log], on(today))
    found = sorted(
        {(one.on_day - FIRST).days for one in log}
        | {(one.due_on - FIRST).days for one in went.plan.steps[0].doses if one.state == "due"}
    )
    met = any(
        covers([day - found[place] for day in found[place:]], "gill_flukes", 20.0).verdict in GOOD
        for place in range(len(found))
    )
    assert met or any("no longer meets" in one for one in went.said)


@settings(deadline=None, max_examples=50)
@given(slips())
def test_due_and_the_turned_plan_agree(slip: tuple[Plan, list[Given], int]) -> None:
    plan, log, today = slip
    went = turned(plan, log, on(today)).plan
    now = due(went, log, on(today))
    shown = [one.dose.due_on for one in now.now if one.left == one.dose.dose]
    assert all(day <= on(today) for day in shown)
    waiting = [dose.due_on for _, dose in every(went) if dose.state == "due"]
    assert len(shown) == len([day for day in waiting if day <= on(today)])
    if any(day > on(today) for day in waiting):
        assert now.coming is not None
        assert now.coming.dose.due_on == min(day for day in waiting if day > on(today))


def marked(plan: Plan, log: list[Given]) -> Plan:
    """The plan as the book holds it, where logging a dose marks it as given at once."""
    known = {(one.place, one.number) for one in log}
    return replace(
        plan,
        steps=tuple(
            replace(
                step,
                doses=tuple(
                    replace(one, state="given") if (step.place, one.number) in known else one
                    for one in step.doses
                ),
            )
            for step in plan.steps
        ),
    )


@settings(deadline=None, max_examples=50)
@given(slips())
def test_a_dose_marked_as_given_beforehand_makes_no_difference(
    slip: tuple[Plan, list[Given], int],
) -> None:
    plan, log, today = slip
    assert turned(marked(plan, log), log, on(today)).plan == turned(plan, log, on(today)).plan


@settings(deadline=None, max_examples=25)
@given(slips())
def test_turned_day_by_day_nothing_is_lost_and_nothing_runs_away(
    slip: tuple[Plan, list[Given], int],
) -> None:
    plan, log, _ = slip
    for day in range(0, 45, 2):
        known = [one for one in log if one.on_day <= on(day)]
        before = plan
        went = turned(marked(plan, known), known, on(day))
        plan = went.plan
        assert turned(plan, known, on(day)).plan == plan
        numbers = {(place, dose.number) for place, dose in every(plan)}
        assert numbers >= {(place, dose.number) for place, dose in every(before)}
        assert numbers >= {(one.place, one.number) for one in known}
        new = numbers - {(place, dose.number) for place, dose in every(before)}
        stood = {(place, dose.number): dose.due_on for place, dose in every(before)}
        moved = [
            dose
            for place, dose in every(plan)
            if dose.due_on != stood.get((place, dose.number), dose.due_on)
        ]
        if new or moved:
            assert went.said, "nothing changes without a word"
        for step in plan.steps:
            waiting = [one for one in step.doses if one.state == "due"]
            planned_doses = [one for one in step.doses if not one.added]
            assert len(waiting) <= len(planned_doses) + 4

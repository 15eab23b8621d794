"""A week, spread over days and people: what stays, what is early, what is left out and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from itertools import pairwise

import pytest

from store.errors import BadInput
from store.rounds.day.values import Errand
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import CLEAN, DOUBTFUL, INFECTED, SUSPECT, Window
from store.rounds.solving.timetable import timetable
from store.rounds.week.plan import check_wish, plan_week
from store.rounds.week.problem_of import problem_of_week
from store.rounds.week.said import HALTED, days_said
from store.rounds.week.values import Limit, WeekPlan, WeekWish
from tests.rounds.day_plans import ADA, BRAM, ON_DAY, driver, errand
from tests.rounds.days_asked import at
from tests.rounds.weeks_asked import DAY, day_of, line_of, on, spans, week_of, within


def due(number: int, north: float, east: float = 0.0, *, worth_min: int = 120, **values: object):  # type: ignore[no-untyped-def]
    """A visit that nobody has booked."""
    return errand(
        number,
        f"Site {number}",
        at(north, east),
        booked=False,
        worth_min=worth_min,
        **values,  # type: ignore[arg-type]
    )


def test_what_is_due_goes_where_somebody_drives_anyway() -> None:
    """Two visits are booked far apart, on Tuesday and on Thursday; what is due joins its neighbour.

    All places lie on one meridian: the way there and back is driven once for both.
    """
    north = on(errand(1, "North Mill", at(30)), 1)
    south = on(errand(2, "South Mill", at(-30)), 3)
    near_north, near_south = due(3, 28), due(4, -28)
    week = within(0, 4)
    plan = plan_week(week_of([north, south], {near_north: week, near_south: week}))
    assert (day_of(plan, north), day_of(plan, south)) == (1, 3)
    assert (day_of(plan, near_north), day_of(plan, near_south)) == (1, 3)
    assert plan.proof.startswith("Proven:")
    assert line_of(plan, near_north).added_min <= 6
    assert plan.drive_min == sum(day.drive_min for day in plan.days)
    assert not plan.left_out


def test_booked_visits_stay_with_day_hour_and_person() -> None:
    people = [driver(), driver(BRAM, "Bram", at(2))]
    hour = on(errand(1, "A", at(5), hour=time(10, 0), staff_id=BRAM), 2)
    exact = on(errand(2, "B", at(6), hour=time(14, 0), fixed=True), 2)
    anybody = on(errand(3, "C", at(40), staff_id=None), 0)
    plan = plan_week(week_of([hour, exact, anybody], people=people))
    assert [day_of(plan, one) for one in (hour, exact, anybody)] == [2, 2, 0]
    assert line_of(plan, hour).driver.staff_id == BRAM
    assert abs(line_of(plan, hour).stop.begins - 600) <= 15
    assert line_of(plan, exact).stop.begins == 840
    assert line_of(plan, exact).driver.staff_id == ADA
    assert line_of(plan, hour).late_days is None
    assert line_of(plan, exact).stop.moved_min == 0


def test_what_is_late_goes_to_the_days_that_it_bears() -> None:
    """On Friday somebody drives right past it, but it bears one day more only."""
    friday = on(errand(1, "North Mill", at(30)), 4)
    late = due(2, 29, worth_min=240)
    plan = plan_week(week_of([friday], {late: within(-3, -1, until=1)}))
    assert day_of(plan, late) in (0, 1)
    line = line_of(plan, late)
    assert line.late_days == day_of(plan, late) + 1
    assert not line.widened
    bears_all = plan_week(week_of([friday], {late: within(-3, -1, until=4)}))
    assert day_of(bears_all, late) == 4


def test_nothing_is_planned_before_its_window() -> None:
    monday = on(errand(1, "North Mill", at(30)), 0)
    one = due(2, 29, worth_min=240)
    plan = plan_week(week_of([monday], {one: within(2, 4)}))
    assert day_of(plan, one) >= 2
    assert (line_of(plan, one).late_days or 0) <= 0


def test_what_finds_no_room_in_time_comes_soon_after_and_that_is_said() -> None:
    """Monday, the only day it bears, is full of a visit that is booked; Tuesday is the next."""
    monday = on(errand(1, "North Mill", at(10), minutes=540), 0)
    thursday = on(errand(3, "East Mill", at(1, 20)), 3)
    urgent = due(2, 0, 20, minutes=60, worth_min=240)
    days = week_of(
        [monday, thursday], {urgent: within(-2, -1, until=0)}, people=[driver(break_min=0)]
    )
    plan = plan_week(days)
    assert day_of(plan, monday) == 0
    assert day_of(plan, urgent) in (1, 2)
    assert line_of(plan, urgent).widened
    (said,) = plan.remarks
    assert said.startswith("Site 2 comes on ")
    assert said.endswith(
        "later than is borne (its window closes): no day before was open or had room."
    )


def test_where_no_day_that_it_bears_is_open_the_first_that_is_open_counts() -> None:
    friday = on(errand(1, "North Mill", at(30)), 4)
    urgent = due(2, 29, worth_min=240)
    plan = plan_week(week_of([friday], {urgent: within(-2, -1, until=1)}, off=(0, 1)))
    assert day_of(plan, urgent) == 2
    assert line_of(plan, urgent).widened


def test_hours_of_each_weekday_are_kept() -> None:
    monday = on(errand(1, "North Mill", at(30)), 0)
    one = due(2, 29, worth_min=240)
    hours = {one: dict.fromkeys((0, 1, 2, 4), ()) | {3: (Window(840, 900),)}}
    plan = plan_week(week_of([monday], {one: within(0, 4)}, hours=hours))
    assert day_of(plan, one) == 3
    assert 840 <= line_of(plan, one).stop.begins <= line_of(plan, one).stop.ends <= 900


def test_each_day_goes_from_clean_to_infected_by_itself() -> None:
    sick = on(errand(1, "A", at(2), level=INFECTED), 0)
    clean = on(errand(2, "B", at(20), level=CLEAN), 0)
    next_day = on(errand(3, "C", at(4), level=CLEAN), 1)
    doubt = due(4, 3, level=DOUBTFUL)
    plan = plan_week(week_of([sick, clean, next_day], {doubt: within(0, 4)}))
    for day in plan.days:
        for one in day.rounds:
            levels = [stop.errand.level for stop in one.stops]
            assert levels == sorted(levels)
    assert {day_of(plan, sick), day_of(plan, clean)} == {0}


def test_a_suspect_is_last_or_alone_and_one_among_others_is_remarked() -> None:
    suspect = on(errand(1, "Reed Hall", at(2), level=SUSPECT), 0)
    other = on(errand(2, "B", at(20)), 0)
    plan = plan_week(week_of([suspect, other]))
    (monday,) = [one for one in plan.days[0].rounds if one.stops]
    assert [stop.errand.name for stop in monday.stops] == ["B", "Reed Hall"]
    assert plan.remarks == (
        "Reed Hall is suspect of a notifiable disease and comes last among 2 visits of Ada Vet on "
        "Mon 16 Mar 2026: alone, on a day of its own, is better.",
    )
    both = due(3, 3, level=SUSPECT, worth_min=240)
    plan = plan_week(week_of([suspect], {both: within(0, 4)}))
    assert day_of(plan, both) != 0


def test_rounds_fit_into_the_hours_of_everybody_and_do_not_overlap() -> None:
    people = [driver(begins=540, ends=900), driver(BRAM, "Bram", at(1), begins=600, ends=780)]
    visits = {due(n, n, worth_min=200): within(0, n % 5) for n in range(1, 9)}
    plan = plan_week(week_of((), visits, people=people), effort=1.0)
    for day in plan.days:
        for one in day.rounds:
            assert one.driver.begins <= one.sets_out <= one.back <= one.driver.ends
            for before, after in zip(one.stops, one.stops[1:], strict=False):
                assert before.leaves + after.way.planned_min <= after.begins
    assert len(plan.lines) + len(plan.left_out) == len(visits)
    assert [line.day for line in plan.lines] == sorted(line.day for line in plan.lines)


def test_hours_are_as_agreed_or_on_five_minutes_where_the_round_bears_it() -> None:
    """Two hours are agreed, one of them no multiple of five; what lies between has none.

    The search may move what was agreed by a quarter of an hour; the week need not.
    """
    first = on(errand(1, "A", at(5), hour=time(10, 0)), 0)
    second = on(errand(2, "B", at(9), hour=time(11, 37)), 0)
    free = on(errand(3, "C", at(7), minutes=20), 0)
    one = due(4, 8, minutes=20, worth_min=240)
    asked = week_of([first, second, free], {one: within(0, 0)})
    plan = plan_week(asked)
    assert line_of(plan, first).stop.begins == 600
    assert line_of(plan, second).stop.begins == 697
    assert line_of(plan, one).stop.begins % 5 == line_of(plan, free).stop.begins % 5 == 0
    plain = problem_of_week(asked)
    for vet, made in enumerate(plan.found.rounds):
        assert timetable(plain, vet, made.order) is not None
        assert made.drive_min == plain.drive_of(vet, made.order)
        for before, after in pairwise(made.calls):
            assert before.leaves + plain.drive[before.stop][after.stop] <= after.arrives


def test_a_round_too_full_for_hours_as_agreed_keeps_those_near_them() -> None:
    """Two visits of an hour at one place, agreed for 10:00 and 10:45, cannot both be on time."""
    here = at(5)
    first = on(errand(1, "A", here, minutes=60, hour=time(10, 0)), 0)
    second = on(errand(2, "B", here, minutes=60, hour=time(10, 45)), 0)
    plan = plan_week(week_of([first, second]))
    early, late = line_of(plan, first).stop, line_of(plan, second).stop
    assert abs(early.begins - 600) <= 15
    assert early.ends + late.way.planned_min <= late.begins <= 660


# --- left out -------------------------------------------------------------------------------------


def left(plan: WeekPlan) -> list[str]:
    return [one.says for one in plan.left_out]


def test_what_is_not_worth_its_way_stays_out_with_the_arithmetic() -> None:
    far = due(1, 60, worth_min=25)
    plan = plan_week(week_of((), {far: within(0, 4)}))
    (says,) = left(plan)
    assert says.startswith("Site 1 would add ")
    assert says.endswith(" with Ada Vet at least; worth 25 min.")
    assert "min of driving on " in says
    more = int(says.split()[4])
    assert more > 25
    assert plan.drive_min == 0


def test_what_does_not_fit_even_alone_is_said_so() -> None:
    long = due(1, 5, minutes=600, worth_min=240)
    plan = plan_week(week_of((), {long: within(0, 2)}))
    assert left(plan) == [
        "Site 1 does not fit even alone from Mon 16 Mar 2026 to Wed 18 Mar 2026: 600 min there, the "
        "drive and the break are more than the hours in which one gets in and somebody works."
    ]
    endless = due(1, 5, minutes=700, worth_min=240)
    plan = plan_week(week_of((), {endless: within(0, 2)}))
    assert left(plan) == [
        "Site 1 takes 700 min, and one gets in for less on every day on which it may be."
    ]


def test_a_visit_beside_which_there_is_no_room() -> None:
    full = [on(errand(n, f"Full {n}", at(2), minutes=500), n - 1) for n in range(1, 6)]
    one = due(9, 3, minutes=120, worth_min=240)
    plan = plan_week(week_of(full, {one: within(0, 4)}, people=[driver(break_min=0)]))
    assert left(plan) == [
        "Site 9 found no room from Mon 16 Mar 2026 to Fri 20 Mar 2026 beside the other visits as "
        "they are planned."
    ]


def test_a_booked_visit_of_somebody_who_is_away_is_told() -> None:
    visit = on(errand(1, "North Mill", at(3)), 2)
    plan = plan_week(week_of([visit], off=(2,)))
    assert left(plan) == [
        "North Mill is booked with Ada Vet on Wed 18 Mar 2026, and Ada Vet is not on the road "
        "then: move it in the diary, or give it to somebody else."
    ]


def test_a_booked_visit_on_a_day_on_which_one_does_not_get_in_is_told() -> None:
    visit = on(errand(1, "North Mill", at(3), windows=()), 2)
    visit = replace(visit, hours_said="not on this weekday (“Fri only”)")
    plan = plan_week(week_of([visit]))
    assert left(plan) == [
        "North Mill: one does not get in on Wed 18 Mar 2026: not on this weekday (“Fri only”)."
    ]


def test_a_week_without_people_or_visits_says_so() -> None:
    assert plan_week(week_of()).remarks == ("Nothing is due or booked in these days.",)
    one = due(1, 3)
    plan = plan_week(week_of((), {one: within(0, 4)}, off=range(5)))
    assert plan.remarks == ("Nobody works in these days, so that nothing is planned.",)
    assert left(plan) == ["Site 1: nobody who may go there works on a day on which one gets in."]


# --- the search -----------------------------------------------------------------------------------


def many() -> tuple[list[Errand], dict[Errand, Limit]]:
    booked = [
        on(errand(n, f"Booked {n}", at(7 * n, 5 * n)), n % 5) for n in range(1, 6)
    ]  # fmt: skip
    visits = {
        due(n, 11 * (n % 5) - 20, 9 * (n % 4) - 12, worth_min=60 + n): within(0, n % 5)
        for n in range(6, 22)
    }
    return booked, visits


def test_the_same_week_gets_the_same_plan() -> None:
    asked = week_of(*many())
    one, other = plan_week(asked, effort=0.5), plan_week(asked, effort=0.5)
    assert spans(one) == spans(other)
    assert one.proof == other.proof


def test_a_search_that_is_stopped_keeps_the_best_so_far() -> None:
    halt, told = Halt(), list[WeekPlan]()

    def better(plan: WeekPlan) -> None:
        told.append(plan)
        halt.stop()

    plan = plan_week(week_of(*many()), halt=halt, better=better)
    assert told
    assert told[0].left_out == () or told[0].left_out[0].says.endswith("is on no day yet.")
    assert HALTED in plan.remarks
    assert plan.found.cost <= told[0].found.cost
    before = Halt()
    before.stop()
    stopped = plan_week(week_of(*many()), halt=before)
    assert HALTED in stopped.remarks
    assert len(stopped.lines) + len(stopped.left_out) == 21


def test_a_week_has_five_to_seven_days() -> None:
    for days in (4, 8):
        with pytest.raises(BadInput, match="5 to 7 days"):
            check_wish(WeekWish(ON_DAY, days))
    with pytest.raises(BadInput, match="Fewer visits than none"):
        check_wish(WeekWish(ON_DAY, most_due=-1))
    check_wish(WeekWish(ON_DAY))
    assert WeekWish(ON_DAY).last == ON_DAY + 6 * DAY
    assert days_said(ON_DAY, ON_DAY) == "on Mon 16 Mar 2026"


def test_who_is_no_vet_makes_only_visits_that_need_none() -> None:
    helper, start = driver(BRAM, "Bram", at(1))
    people = [(replace(helper, is_vet=False), start)]
    test = replace(due(1, 3, worth_min=240), kind="water test")
    exam = due(2, 3, worth_min=240)
    plan = plan_week(week_of((), {test: within(0, 4), exam: within(0, 4)}, people=people))
    assert [line.errand.key for line in plan.lines] == [test.key]

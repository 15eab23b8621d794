"""A round that runs late: new times, whom to ring, and the best order from there."""

from __future__ import annotations

from datetime import time

import pytest

from store.errors import BadInput, NotFound
from store.rounds.day.late import run_late
from store.rounds.day.plan import plan_day
from store.rounds.day.values import DayPlan
from store.rounds.solving.problem import CLEAN, INFECTED, Window
from store.travel.ways import PRACTICE
from tests.rounds.day_plans import ADA, BRAM, driver, errand
from tests.rounds.days_asked import asked_of, at

OPEN = Window(480, 1140)


def day() -> DayPlan:
    """Three in a row to the north, the middle one at ten, the last behind a gate until noon."""
    return plan_day(
        asked_of(
            [
                errand(1, "First", at(5), phone="01632 960101"),
                errand(2, "Second", at(10), hour=time(10), phone="01632 960102"),
                errand(3, "Third", at(15), windows=(Window(600, 690),), phone=""),
            ],
            [driver(break_min=0)],
        )
    )


def test_new_times_and_whom_to_ring_with_the_telephone() -> None:
    plan = day()
    late = run_late(plan, ADA, 1, 40)
    first, second = late.kept.stops
    planned = plan.rounds[0].stops
    assert first.errand.name == "Second"
    assert first.told == 600  # the hour that was agreed, not the minute of the plan
    assert first.begins == planned[1].arrives + 40
    assert late.kept.to_ring[0].says.startswith("Second (01632 960102): 10:")
    assert "no telephone number is entered" in second.says
    assert second.told == planned[2].begins


def test_little_late_rings_nobody_and_looks_for_no_other_order() -> None:
    late = run_late(day(), ADA, 1, 5)
    assert late.kept.to_ring == ()
    assert late.other is None
    assert late.says == ("Nothing comes too late in the order of the plan.",)


def test_an_agreed_hour_may_be_late_but_never_early() -> None:
    early = run_late(day(), ADA, 1, -60).kept.stops[0]
    assert early.begins >= 600 - 14


def test_too_late_for_a_gate_another_order_is_told() -> None:
    # On the way home from the south: the gate comes last, unless it would be shut by then.
    plan = plan_day(
        asked_of(
            [
                errand(1, "First", at(-15), minutes=60),
                errand(2, "Gate", at(-5), windows=(Window(480, 690),)),
            ],
            [driver(at=at(-20), home=PRACTICE, break_min=0)],
        )
    )
    assert [one.errand.name for one in plan.rounds[0].stops] == ["First", "Gate"]
    late = run_late(plan, ADA, 0, 110)
    assert [one.late_min > 0 for one in late.kept.stops] == [False, True]
    assert late.other is not None
    assert [one.errand.name for one in late.other.stops] == ["Gate", "First"]
    assert late.other.too_late_min == 0
    assert late.other.out == ()
    assert late.says[1].startswith("In another order nothing does; back at ")


def test_what_no_order_holds_is_left_out_with_its_reason() -> None:
    late = run_late(day(), ADA, 1, 180)
    assert late.other is not None
    assert [one.name for one, _says, _helps in late.other.out] == ["Third"]
    assert "too late for 30 min in 10:00 to 11:30" in late.other.out[0][1]
    assert late.says[0].startswith("In the order of the plan 1 visit comes too late")
    assert "1 visit stays out" in late.says[1]


def test_where_the_order_is_not_asked_for_a_cleaner_one_still_follows() -> None:
    plan = plan_day(
        asked_of(
            [
                errand(1, "Sick", at(5), level=INFECTED, windows=(Window(480, 600),)),
                errand(2, "Clean", at(10), level=CLEAN, windows=(Window(900, 960),)),
            ],
            [driver(break_min=0)],
            ordered=False,
        )
    )
    assert [one.errand.name for one in plan.rounds[0].stops] == ["Sick", "Clean"]
    late = run_late(plan, ADA, 1, 500)
    assert late.kept.stops[0].late_min > 0


@pytest.mark.parametrize(
    ("hour", "minutes", "closes"),
    [(time(7), 30, 1140), (time(12, 7), 45, 1020), (time(11, 50), 30, 1020)],
)
def test_what_was_agreed_outside_of_its_hours_is_not_put_off_until_they_begin(
    hour: time, minutes: int, closes: int
) -> None:
    windows = (Window(480, closes),) if hour.hour < 8 else (Window(480, 720), Window(840, closes))
    only = errand(1, "Only", at(5), hour=hour, minutes=minutes, windows=windows)
    plan = plan_day(asked_of([only], [driver(begins=360, break_min=0)]))
    agreed = 60 * hour.hour + hour.minute
    assert plan.rounds[0].stops[0].begins == agreed
    for late_min in (0, 40):
        late = run_late(plan, ADA, 0, late_min)
        assert late.kept.stops[0].begins == agreed + late_min
        assert late.kept.stops[0].ring == (late_min > 0)
        assert late.kept.too_late_min == 0


def test_all_behind_only_the_way_home_is_left() -> None:
    plan = day()
    late = run_late(plan, ADA, 3, 30)
    assert late.kept.stops == ()
    assert late.kept.back == plan.rounds[0].back + 30


def test_back_after_the_working_hours_is_told() -> None:
    plan = plan_day(asked_of([errand(1, "Only", at(30))], [driver(ends=700, break_min=0)]))
    late = run_late(plan, ADA, 1, 300)
    assert late.kept.over_min == late.kept.back - 700
    assert any("after the working hours end" in one for one in late.kept.says)
    assert late.other is not None
    assert late.other.back == late.kept.back
    assert late.says[1] == "Nothing is left but the way home."


@pytest.mark.parametrize(("done", "late_min"), [(4, 10), (-1, 10), (0, -2000)])
def test_what_cannot_be_is_refused(done: int, late_min: int) -> None:
    with pytest.raises(BadInput):
        run_late(day(), ADA, done, late_min)


def test_who_drives_no_round_cannot_be_late() -> None:
    with pytest.raises(NotFound):
        run_late(day(), BRAM, 0, 10)


def test_a_break_that_comes_before_driving_on_is_told() -> None:
    plan = plan_day(
        asked_of(
            [
                errand(1, "First", at(-15), minutes=60),
                errand(2, "Gate", at(-5), minutes=60, windows=(Window(480, 760),)),
                errand(3, "Last", at(-2), minutes=60, windows=(Window(1000, 1140),)),
            ],
            [driver(at=at(-20), home=PRACTICE, break_min=60)],
        )
    )
    late = run_late(plan, ADA, 1, 100)
    assert late.other is not None
    assert [one.errand.name for one in late.other.stops] == ["Last"]
    assert late.other.break_after == 0
    assert late.other.break_at is not None
    assert late.other.break_at + 60 <= late.other.drives_on


def test_whether_somebody_stays_out_for_overtime_is_left_to_a_person() -> None:
    plan = plan_day(
        asked_of(
            [errand(1, "Long", at(5), minutes=90), errand(2, "Gate", at(10))],
            [driver(break_min=0, ends=690)],
        )
    )
    late = run_late(plan, ADA, 0, 60)
    other = late.other
    assert late.kept.over_min > 0
    assert other is not None
    assert len(other.out) == 1
    assert other.over_min == 0
    assert late.says[1].endswith("Whether somebody stays out for the overtime is yours to decide.")


def test_for_a_gate_the_day_may_be_as_long_as_in_the_order_of_the_plan() -> None:
    plan = plan_day(
        asked_of(
            [
                errand(1, "Long", at(-5), minutes=90, hour=time(8, 20)),
                errand(2, "Gate", at(5), windows=(Window(480, 660),)),
            ],
            [driver(break_min=0, ends=680)],
        )
    )
    late = run_late(plan, ADA, 0, 30)
    other = late.other
    assert [one.late_min > 0 for one in late.kept.stops] == [False, True]
    assert other is not None
    assert [one.errand.name for one in other.stops] == ["Gate", "Long"]
    assert other.out == ()
    assert other.over_min == late.kept.over_min == 4
    assert "every visit is in its hours and the day is 4 min too long" in late.says[1]

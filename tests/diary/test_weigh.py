"""How heavy a promise weighs on the desk. The stakes are common practice, not published."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from uuid import UUID

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from store.diary.desk.due import Booked, DueLine, Promised
from store.diary.desk.weigh import RING_NOW, desk_order, last_fitting, weigh
from store.facts.follow_ups import FollowUpKind, follow_up_kinds

TODAY = date(2026, 3, 14)
KINDS = follow_up_kinds()
CODES = sorted(KINDS)


def promised(
    kind: str, due_on: date, *, early: int = 0, late: int = 0, severity: float = 1.0
) -> Promised:
    return Promised(
        about="hand:0", kind=kind, client_id=UUID(int=1), site_id=None, pond_id=None, says="it",
        because="", origin="by hand", promised_by="", promised_on=None, due_on=due_on,
        first_on=due_on - timedelta(days=early), last_on=due_on + timedelta(days=late),
        needs=KINDS[kind].needs if kind in KINDS else "call", severity=severity,
    )  # fmt: skip


def weight(kind: str, late_days: int, *, window: int = 0, severity: float = 1.0) -> float:
    """Of a promise whose window of so many days after its day ended so many days ago."""
    due = TODAY - timedelta(days=late_days + window)
    return weigh(promised(kind, due, late=window, severity=severity), KINDS[kind], TODAY).weight


@pytest.mark.parametrize(
    ("kind", "due_on", "late", "expected", "says"),
    [
        # Reckoned by hand from the numbers of the facts: a dose 8 at stake, 1 day borne.
        ("dose", date(2026, 3, 11), 1, 8.0 * (1 + 2 / 1), "stake 8 × (1 + 2 d late ÷ 1 d) = 24"),
        ("dose", TODAY, 1, 8.0, "stake 8, within its window = 8"),
        ("dose", date(2026, 3, 13), 1, 8.0, "stake 8, within its window = 8"),
        ("dose", date(2026, 3, 21), 1, 4.0, "stake 8 ÷ (1 + 7 d ahead ÷ 7 d) = 4"),
        # A water test bears a week: seven days late it weighs twice what it does on its day.
        ("water_test", date(2026, 3, 4), 3, 2.0, "stake 1 × (1 + 7 d late ÷ 7 d) = 2"),
    ],
)
def test_the_weight_is_told_with_its_numbers(
    kind: str, due_on: date, late: int, expected: float, says: str
) -> None:
    found = weigh(promised(kind, due_on, late=late), KINDS[kind], TODAY)
    assert found.weight == pytest.approx(expected)
    assert found.weighed == f"{KINDS[kind].label}: {says}"
    assert found.late_days == (TODAY - due_on).days - late


def test_a_dose_that_slips_outweighs_any_routine_test() -> None:
    for late in range(1, 30):
        assert weight("dose", late) > weight("water_test", late)
    assert weight("dose", 1) > weight("water_test", 60)


@given(st.sampled_from(CODES), st.integers(-400, 400), st.integers(1, 400), st.integers(0, 30))
@example("dose", -1, 1, 1)
@example("ring_back", -1, 1, 0)
def test_later_never_weighs_less(kind: str, late: int, more: int, window: int) -> None:
    assert weight(kind, late + more, window=window) >= weight(kind, late, window=window)


@given(st.sampled_from(CODES), st.integers(0, 400), st.integers(1, 400))
@example("call_same_day", 0, 1)
def test_beyond_the_window_each_day_weighs_more(kind: str, late: int, more: int) -> None:
    # What bears less than a day has grown by its hours: at the end of its day it is a day late.
    whole = late + more > 1 or KINDS[kind].tolerance_days >= 1.0
    assert weight(kind, late + more) >= weight(kind, late)
    assert weight(kind, late + more) > weight(kind, late) or not whole


def kind_with(stake: float, tolerance_days: float) -> FollowUpKind:
    return replace(KINDS["visit"], stake=stake, tolerance_days=tolerance_days)


@given(
    st.floats(0.5, 100.0), st.floats(0.0, 50.0), st.floats(0.1, 60.0), st.floats(0.0, 60.0),
    st.integers(-400, 400),
)  # fmt: skip
def test_more_at_stake_that_bears_no_more_never_weighs_less(
    stake: float, more: float, tolerance: float, longer: float, late: int
) -> None:
    due = promised("visit", TODAY - timedelta(days=late))
    heavy = weigh(due, kind_with(stake + more, tolerance), TODAY).weight
    light = weigh(due, kind_with(stake, tolerance + longer), TODAY).weight
    assert heavy >= light


CALLS = {"ring", "ring_back"}
"""A client who waits for a call waits a day: late, it overtakes visits that bear several."""


@given(st.sampled_from(CODES), st.sampled_from(CODES), st.integers(-400, 400))
@example("control", "finding", 60)
@example("seasonal", "water_test", 400)
def test_at_equal_lateness_the_heavier_kind_stands_before_the_lighter(
    one: str, other: str, late: int
) -> None:
    heavy, light = sorted((one, other), key=lambda code: -KINDS[code].stake)
    if "ring_back" in (one, other) or KINDS[one].stake == KINDS[other].stake:
        return  # its hour has come: told below
    if late <= 0 or not CALLS & {one, other}:
        assert weight(heavy, late) >= weight(light, late)


@given(st.floats(1.0, 1000.0), st.floats(0.0, 1000.0), st.integers(-30, 30))
def test_a_worse_concern_never_weighs_less(severity: float, more: float, late: int) -> None:
    assert weight("concern", late, severity=severity + more) >= weight(
        "concern", late, severity=severity
    )


def test_a_concern_weighs_its_stake_once_more_for_each_doubling() -> None:
    stake = KINDS["concern"].stake
    for severity, times in ((1.0, 1.0), (2.0, 2.0), (4.0, 3.0), (8.0, 4.0)):
        assert weight("concern", 0, severity=severity) == pytest.approx(stake * times)
    assert weight("concern", 0, severity=0.3) == stake


def test_a_ring_back_stands_high_once_its_hour_has_come() -> None:
    due, kind = promised("ring_back", TODAY), KINDS["ring_back"]
    hour = time(15, 30)
    before = weigh(due, kind, TODAY, at=time(15, 29), ring_at=hour)
    after = weigh(due, kind, TODAY, at=hour, ring_at=hour)
    assert before.weight == kind.stake
    assert after.weight == kind.stake * RING_NOW
    assert "its hour has come" in after.weighed
    assert "its hour has come" not in before.weighed
    # Without an hour its day is enough, and at any hour of a later day.
    assert weigh(due, kind, TODAY, at=time(0, 1)).weight == kind.stake * RING_NOW
    later = weigh(due, kind, TODAY + timedelta(days=1), at=time(0, 1), ring_at=hour)
    assert later.weight == pytest.approx(kind.stake * (RING_NOW + 1 / kind.tolerance_days))
    assert after.weight >= weight("dose", 1)
    assert after.weight > weight("dose", 0)
    # The hour of another promise of the client says nothing of a dose.
    dose = weigh(promised("dose", TODAY), KINDS["dose"], TODAY, at=hour, ring_at=hour)
    assert dose.weight == KINDS["dose"].stake


def test_a_call_for_the_same_day_weighs_more_by_each_hour() -> None:
    due, kind = promised("call_same_day", TODAY), KINDS["call_same_day"]
    hours = [weigh(due, kind, TODAY, at=time(hour)) for hour in range(24)]
    assert [one.weight for one in hours] == sorted({one.weight for one in hours})
    # At six in the morning a quarter of the day is gone: 12 × (1 + 0.25 ÷ 0.5) = 18.
    assert hours[6].weight == pytest.approx(18.0)
    assert hours[6].weighed.endswith("stake 12 × (1 + 0.25 of its last day gone ÷ 0.5 d) = 18")
    assert weigh(due, kind, TODAY + timedelta(days=1), at=time(0)).weight >= hours[23].weight
    # Gasping fish stand before whoever waits to be rung back, from the early morning on.
    back = weigh(promised("ring_back", TODAY), KINDS["ring_back"], TODAY, at=time(7))
    assert hours[7].weight > back.weight


@pytest.mark.parametrize(
    ("day", "late"),
    [
        (date(2028, 2, 29), 1),  # 28 February to 1 March of a leap year are two days
        (date(2026, 3, 29), 0),  # the clocks go forward in Europe
        (date(2026, 10, 25), 0),  # and back
        (date(2027, 1, 1), 1),
    ],
)
def test_days_are_counted_by_the_calendar(day: date, late: int) -> None:
    due = promised("ring", day - timedelta(days=late))
    found = weigh(due, KINDS["ring"], day)
    assert found.late_days == late
    assert weigh(due, KINDS["ring"], day + timedelta(days=2)).late_days == late + 2


def test_a_visit_fits_to_the_end_of_the_window_and_once_it_has_passed_for_the_days_borne() -> None:
    dose, test = KINDS["dose"], KINDS["water_test"]
    assert last_fitting(promised("dose", TODAY, late=1), dose, TODAY) == 1
    assert last_fitting(promised("dose", TODAY - timedelta(days=1), late=1), dose, TODAY) == 0
    assert last_fitting(promised("dose", TODAY - timedelta(days=9), late=1), dose, TODAY) == 1
    assert last_fitting(promised("water_test", TODAY - timedelta(days=9)), test, TODAY) == 7
    urgent = KINDS["call_same_day"]
    assert last_fitting(promised("call_same_day", TODAY - timedelta(days=1)), urgent, TODAY) == 1


def line(kind: str, weight_: float, booked: bool | None = None, client: str = "Adder") -> DueLine:
    visit = None
    if booked is not None:
        visit = Booked(UUID(int=2), TODAY, None, "AV", booked)
    return DueLine(
        promised(kind, TODAY),
        client,
        "",
        "",
        "",
        "",
        "",
        0,
        weight_,
        "",
        0,
        None,
        None,
        None,
        visit,
    )


def test_what_is_booked_within_its_window_stands_behind() -> None:
    heavy_booked, light = line("dose", 24.0, True), line("water_test", 0.5)
    missed = line("dose", 20.0, False)
    ordered = sorted((light, heavy_booked, missed), key=desk_order)
    assert ordered == [missed, light, heavy_booked]


def test_of_equal_weight_the_client_decides() -> None:
    lines = [line("dose", 8.0, client=name) for name in ("beck", "Adder", "Crake")]
    assert [one.client for one in sorted(lines, key=desk_order)] == ["Adder", "beck", "Crake"]

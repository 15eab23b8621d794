"""The water since a dose: what is not known adds nothing, what is expected comes as two lines."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.food.needs import Need, Shelf, met, needs, sums
from store.courses.food.water_since import (
    EXPECT_DAYS,
    GAP_DAYS,
    NO_TREND_C,
    RUNS_DAYS,
    WaterSince,
    slope_limits,
    water_since,
)
from store.facts.withdrawal import withdrawal_facts

DOSE = date(2026, 5, 3)
NEED_500 = needs("trichlorfon")[0]
temps = st.lists(st.floats(4.0, 30.0), min_size=1, max_size=40)


def day(number: int) -> date:
    return DOSE + timedelta(days=number)


def record(values: list[float]) -> dict[date, float]:
    return {day(number): one for number, one in enumerate(values, start=1)}


def of(daily_c: dict[date, float], today: int) -> WaterSince:
    return water_since(daily_c, DOSE, day(today))


def test_a_gap_takes_the_lower_neighbour_and_a_wide_one_nothing() -> None:
    found = of({day(0): 14.0, day(4): 16.0, day(4 + GAP_DAYS + 1): 20.0}, 20)
    assert found.to_today_c[:4] == (14.0, 14.0, 14.0, 16.0)
    assert found.to_today_c[4:18] == (None,) * 14
    assert found.to_today_c[18:] == (20.0, None)
    assert (found.measured_days, found.filled_days, found.missing_days) == (2, 3, 15)
    assert "3 days between readings not more than 14 days apart" in found.said[0]
    assert "15 days without knowledge of the water: counted with nothing." in found.said
    near = of({day(0): 14.0, day(GAP_DAYS): 20.0}, GAP_DAYS)
    assert near.missing_days == 0


def test_water_that_cannot_be_is_left_out_and_said() -> None:
    found = of({day(1): 64.0, day(2): 18.0, day(3): math.nan}, 3)
    assert found.to_today_c == (None, 18.0, None)
    assert "2 days with a temperature that cannot be: left out." in found.said


def test_an_old_reading_tells_nothing_of_the_days_ahead() -> None:
    assert of({day(1): 18.0}, 1 + EXPECT_DAYS).colder_c
    old = of({day(1): 18.0}, 2 + EXPECT_DAYS)
    assert (old.colder_c, old.warmer_c) == ((), ())
    assert "15 days old" in old.said[-1]
    assert of({}, 5).said[-1].startswith("No reading of the water temperature")
    assert met(NEED_500, of({}, 5), day(5)).late is None


def test_without_a_trend_it_may_be_colder_or_warmer_by_a_stated_number() -> None:
    found = of({day(1): 18.0, day(2): 18.0}, 2)
    assert set(found.colder_c) == {18.0 - NO_TREND_C}
    assert set(found.warmer_c) == {18.0 + NO_TREND_C}
    assert "for want of a trend 3 °C colder" in found.said[-1]


def test_the_colder_line_never_climbs_and_a_trend_ends() -> None:
    rising = of(record([10.0 + 0.5 * n for n in range(14)]), 14)
    assert rising.colder_c == (12.25,) * RUNS_DAYS  # a degree below the mean of the trend's days
    assert rising.warmer_c[0] == pytest.approx(18.0)
    assert rising.warmer_c[-1] == pytest.approx(17.5 + 0.5 * RUNS_DAYS)
    falling = of(record([20.0 - 0.5 * n for n in range(14)]), 14)
    assert falling.colder_c[0] == pytest.approx(12.0)
    assert falling.warmer_c[0] == pytest.approx(14.0)
    assert falling.colder_c[-1] == pytest.approx(12.5 - 0.5 * RUNS_DAYS)
    frozen = of(record([8.0 - 0.5 * n for n in range(14)]), 14)
    assert frozen.colder_c[-1] == 0.0
    assert met(NEED_500, frozen, day(14)).late is None


def test_a_feed_that_is_still_fed_is_counted_from_its_last_day() -> None:
    found = water_since({day(-1): 18.0, day(0): 18.0}, day(5), day(0))
    assert (found.to_today_c, found.missing_days) == ((), 0)
    got = met(replace(NEED_500, amount=100.0), found, day(0))
    # By hand: 100 / 15 °C rounds up to 7 days, 100 / 21 °C to 5, counted from the sixth day on.
    assert (got.late, got.early) == (day(5 + 7 + 1), day(5 + 5 + 1))


def test_slopes_by_hand() -> None:
    # Slopes of 0, 1, 3, 4: in order 1, 1, 4/3, 3/2, 2, 3/2 -> 1, 1, 4/3, 3/2, 3/2, 2. n = 4: variance
    # 4 x 3 x 13 / 18 = 8.667, half width 1.645 x 2.944 / 2 = 2.42: places 1 and 6 of 6.
    assert slope_limits([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 3.0, 4.0]) == (1.0, 2.0)
    # Many readings on a line with one odd one: it turns neither limit.
    days = [float(n) for n in range(14)]
    line = [10.0 + 0.25 * n for n in days]
    line[6] += 9.0
    assert slope_limits(days, line) == (pytest.approx(0.25), pytest.approx(0.25))


@given(temps, st.data(), st.floats(0.1, 8.0), st.floats(50.0, 700.0))
def test_a_warmer_newest_day_never_moves_a_date_later(
    values: list[float], data: st.DataObject, more: float, due: float
) -> None:
    """From end to end: the sum, the level and both trends."""
    kept = data.draw(st.sets(st.integers(1, len(values)), max_size=len(values))) | {len(values)}
    daily = {one: temp for one, temp in record(values).items() if (one - DOSE).days in kept}
    warmer = daily | {day(len(values)): values[-1] + more}
    today = len(values) + data.draw(st.integers(0, 5))
    need = replace(NEED_500, amount=due)
    cool, warm = (met(need, of(one, today), day(today)) for one in (daily, warmer))
    assert warm.summed >= cool.summed
    for earlier, later in ((warm.late, cool.late), (warm.early, cool.early)):
        assert later is None or (earlier is not None and earlier <= later)


@given(temps, st.data(), st.floats(0.1, 8.0), st.floats(50.0, 700.0))
def test_any_warmer_day_never_moves_a_date_later_with_the_same_days_ahead(
    values: list[float], data: st.DataObject, more: float, due: float
) -> None:
    """A warmer day long ago turns a trend down, and rightly so: here the days ahead stay as they are."""
    place = data.draw(st.integers(1, len(values)))
    before = of(record(values), len(values))
    after = of(record(values) | {day(place): values[place - 1] + more}, len(values))
    after = replace(after, colder_c=before.colder_c, warmer_c=before.warmer_c)
    need, today = replace(NEED_500, amount=due), day(len(values))
    cool, warm = met(need, before, today), met(need, after, today)
    assert cool.late is None or (warm.late is not None and warm.late <= cool.late)


@given(temps, st.floats(50.0, 700.0), st.integers(0, 5))
def test_the_cautious_day_is_never_the_earlier_one(
    values: list[float], due: float, more: int
) -> None:
    found = of(record(values), len(values) + more)
    got = met(replace(NEED_500, amount=due), found, day(len(values) + more))
    assert got.late is None or (got.early is not None and got.early <= got.late)


@given(temps, st.sets(st.integers(1, 39)))
def test_a_day_between_two_readings_is_never_warmer_than_either(
    values: list[float], lost: set[int]
) -> None:
    daily = {one: temp for one, temp in record(values).items() if (one - DOSE).days not in lost}
    found = of(daily, len(values)).to_today_c
    for number, temp_c in enumerate(found, start=1):
        if day(number) in daily:
            assert temp_c == daily[day(number)]
        elif temp_c is not None:
            before = max(one for one in daily if one < day(number))
            after = min(one for one in daily if one > day(number))
            assert temp_c == min(daily[before], daily[after])


def test_the_sum_is_drawn_from_the_dose_to_the_day_it_is_met() -> None:
    found = of(record([10.0, 12.0]), 2)
    drawn = sums(found, day(2), day(5))
    assert drawn.days == tuple(day(n) for n in range(6))
    assert drawn.values == (0.0, 10.0, 22.0, 31.0, 40.0, 49.0)
    assert drawn.known == 3
    assert len(sums(of({}, 5), day(5), day(30)).days) == 6


# --- what must have passed ---------------------------------------------------------------------------


def one(agent: str, shelf: Shelf | None = None) -> Need:
    (found,) = needs(agent, shelf)
    return found


def test_without_a_label_the_law_for_use_outside_one_holds() -> None:
    found = one("formalin")
    assert (found.kind, found.amount, found.standing) == ("degree-days", 500.0, "from memory")
    assert "2019/6" in found.source
    assert "more than 333 degree-days for fish" in found.remarks[0]
    assert any("formalin bath, all finfish (US): 0 d" in told for told in found.remarks)
    nameless = Shelf("powder")
    assert one("formalin", nameless).amount == 500.0


def test_a_label_in_degree_days_counts_as_it_stands() -> None:
    found = one("oxytetracycline", Shelf("premix", degree_days=400.0))
    assert (found.kind, found.amount) == ("degree-days", 400.0)
    assert found.rule == "label of premix, as on the practice's shelf"
    assert any("600 degree-days" in told for told in found.remarks)


def test_of_a_label_in_days_the_later_of_two_readings_counts() -> None:
    days, land = needs("trichlorfon", Shelf("powder", days=28.0))
    assert (days.kind, days.amount) == ("days", 28.0)
    assert (land.kind, land.amount) == ("degree-days", 500.0)
    cold, warm = (of(record([temp] * 40), 40) for temp in (10.0, 25.0))
    assert met(land, cold, day(40)).late > met(days, cold, day(40)).late
    assert met(land, warm, day(40)).late < met(days, warm, day(40)).late
    assert met(days, cold, day(40)).late == day(29)
    assert met(days, cold, day(28)).over is False
    assert met(days, cold, day(29)).over is True


def test_both_figures_of_a_label_are_met() -> None:
    found = needs("trichlorfon", Shelf("powder", degree_days=150.0, days=20.0))
    assert [(need.kind, need.amount) for need in found] == [("degree-days", 150.0), ("days", 20.0)]


def test_a_label_of_zero_is_not_taken_as_nothing() -> None:
    zero = withdrawal_facts().rules["zero"].degree_days
    assert one("formalin", Shelf("f", degree_days=0.0)).amount == zero
    assert one("formalin", Shelf("f", days=0.0)).amount == zero


def test_where_nothing_is_published_no_day_is_made_up() -> None:
    salt = one("salt")
    assert (salt.kind, salt.amount, salt.binds) == ("not published", None, False)
    own = one("house_mix")
    assert (own.kind, own.amount, own.binds) == ("not published", None, True)
    assert "no figure, so no day" in own.arithmetic
    assert one("house_mix", Shelf("house mix", degree_days=300.0)).amount == 300.0
    assert met(own, of(record([20.0] * 50), 50), day(50)).late is None
    far = one("formalin", Shelf("f", degree_days=40_000.0))
    assert (far.kind, far.binds) == ("not published", True)


def test_some_agents_are_never_lifted() -> None:
    assert one("malachite_green").kind == "never"
    assert one("malachite_green", Shelf("green", degree_days=10.0)).kind == "never"

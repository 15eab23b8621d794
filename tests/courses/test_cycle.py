"""Timing of repeats: bounds and order of the estimates, proposals that cover, and what is refused."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from store.courses.cycles.cycle import covers, life_cycle, proposed_interval
from store.courses.cycles.points import at, band, said_days, weakest
from store.courses.cycles.stages import longest, shortest, timed
from store.errors import BadInput
from store.facts.hazards import hazards
from store.facts.life_cycles import Point, Series, life_cycles

SERIES = [
    one for cycle in life_cycles().values() for stage in cycle.stages.values()
    for one in stage.series
]  # fmt: skip
REPEATED = ("gill_flukes", "white_spot", "anchor_worm", "fish_louse")
RANGES = {"gill_flukes": (10.0, 35.0), "white_spot": (10.0, 25.0), "anchor_worm": (23.0, 30.0),
          "fish_louse": (15.0, 35.0)}  # fmt: skip
share = st.floats(0.0, 1.0)


def within(hazard: str, part: float) -> float:
    low, high = RANGES[hazard]
    return min(high, low + part * (high - low))


# --- between the points --------------------------------------------------------------------------


@given(st.sampled_from(SERIES), share)
def test_an_estimate_lies_between_its_points_and_in_order(series: Series, part: float) -> None:
    low_c, high_c = series.points[0].temp_c, series.points[-1].temp_c
    found = at(series, min(high_c, low_c + part * (high_c - low_c)))
    assert found is not None
    assert found.low_days <= found.days * (1 + 1e-12)
    assert found.days <= found.high_days * (1 + 1e-12)
    assert found.low_days >= min(point.low_days for point in found.points) * (1 - 1e-12)
    assert found.high_days <= max(point.high_days for point in found.points) * (1 + 1e-12)


@pytest.mark.parametrize("series", SERIES, ids=lambda one: f"{one.of}-{one.points[0].temp_c}")
def test_at_a_point_the_point_itself_comes_back(series: Series) -> None:
    for point in series.points:
        found = at(series, point.temp_c)
        assert found is not None
        assert (found.low_days, found.high_days) == (point.low_days, point.high_days)


@given(st.sampled_from(SERIES), st.floats(-2.0, 50.0))
def test_nothing_is_told_outside_the_points(series: Series, temp_c: float) -> None:
    inside = series.points[0].temp_c <= temp_c <= series.points[-1].temp_c
    assert (at(series, temp_c) is not None) == inside


@given(share, share)
def test_the_warmer_the_sooner(part: float, other: float) -> None:
    for hazard in ("gill_flukes", "fish_louse"):
        cold, warm = sorted((within(hazard, part), within(hazard, other)))
        cycle = timed(hazard)
        assert shortest(cycle, "first_hatch", warm).days <= (
            shortest(cycle, "first_hatch", cold).days * (1 + 1e-9)
        )
    cycle = timed("gill_flukes")
    cold, warm = sorted((within("gill_flukes", part), within("gill_flukes", other)))
    assert longest(cycle, "last_hatch", warm) <= longest(cycle, "last_hatch", cold) * (1 + 1e-9)


def test_colder_than_the_points_is_no_faster_and_warmer_is_not_known() -> None:
    cycle = timed("fish_louse")
    bound = shortest(cycle, "first_hatch", 4.0)
    assert bound.days == 61.0
    assert "not published below 15 °C" in bound.why
    assert shortest(cycle, "first_hatch", 36.0) is None
    assert longest(cycle, "first_hatch", 4.0) is None
    assert shortest(cycle, "last_hatch", 20.0) is None


def test_a_series_from_warmer_water_still_counts_for_the_end() -> None:
    # 16 to 19 d is all that is given for 24 °C, but 25 d at 26 °C cannot become fewer in the cold.
    assert longest(timed("anchor_worm"), "whole_cycle", 24.0) == 25.0
    assert longest(timed("anchor_worm"), "whole_cycle", 29.5) == 19.0


# --- what is proposed -------------------------------------------------------------------------------


@settings(max_examples=200)
@given(st.sampled_from(REPEATED), share)
@example("gill_flukes", 0.0)
@example("gill_flukes", 1.0)
@example("white_spot", 0.0)
def test_what_is_proposed_covers(hazard: str, part: float) -> None:
    temp_c = within(hazard, part)
    found = proposed_interval(hazard, temp_c)
    assert found.days is not None
    assert found.days >= 1
    assert found.doses >= life_cycles()[hazard].least_doses
    assert found.course_days == (found.doses - 1) * found.days
    course = covers([number * found.days for number in range(found.doses)], hazard, temp_c)
    assert course.verdict == ("not known" if hazard == "fish_louse" else "covered")
    assert course.longest_gap_days <= course.allowed_gap_days + 1e-9


@settings(max_examples=100)
@given(st.sampled_from(("gill_flukes", "white_spot", "anchor_worm")), share)
def test_one_dose_fewer_or_a_longer_gap_is_told(hazard: str, part: float) -> None:
    temp_c = within(hazard, part)
    found = proposed_interval(hazard, temp_c)
    fewer = [number * found.days for number in range(found.doses - 1)]
    if found.doses > life_cycles()[hazard].least_doses:
        assert not covers(fewer, hazard, temp_c).covered
    longer = [number * 60 for number in range(4)]
    assert covers(longer, hazard, temp_c).verdict == "gap too long"


@given(share, share)
def test_an_interval_never_grows_as_the_water_warms(part: float, other: float) -> None:
    for hazard in REPEATED:
        cold, warm = sorted((within(hazard, part), within(hazard, other)))
        assert proposed_interval(hazard, warm).days <= proposed_interval(hazard, cold).days


@pytest.mark.parametrize("hazard", ["skin_flukes", "costia", "khv"])
def test_where_nothing_outlives_a_dose_there_is_no_interval(hazard: str) -> None:
    found = proposed_interval(hazard, 13.0)
    assert found.days is None
    assert found.doses <= 1
    assert found.course_days == 0
    with pytest.raises(BadInput, match="not timed") as caught:
        covers([0, 7], hazard, 13.0)
    assert caught.value.field == "hazard"


def test_an_assumption_is_said_and_lowers_the_standing() -> None:
    warm, cool = proposed_interval("gill_flukes", 25.0), proposed_interval("gill_flukes", 20.0)
    assert cool.standing == "published"
    assert warm.standing == "common practice"
    assert any("assumption" in one for one in warm.remarks)
    assert not any("assumption" in one for one in cool.remarks)
    assert any(
        "not published below 20 °C" in one for one in proposed_interval("gill_flukes", 15.0).remarks
    )


def test_many_doses_are_called_many() -> None:
    cold = proposed_interval("gill_flukes", 10.0)
    assert cold.doses == 10
    assert any("many for the fish" in one for one in cold.remarks)
    assert not any(
        "many for the fish" in one for one in proposed_interval("gill_flukes", 20.0).remarks
    )


def test_a_proposal_says_on_what_it_stands() -> None:
    found = proposed_interval("gill_flukes", 12.0)
    assert "Dactylogyrus vastator: 43 d at 10 °C, 8 d at 20 °C" in found.points
    assert "Zhang et al. 2015" in found.source
    assert "so every 5 d" in found.arithmetic
    assert "day 36" in found.arithmetic
    assert any("eggs outlive it" in one for one in found.remarks)


@pytest.mark.parametrize("hazard", sorted(life_cycles()))
def test_every_number_comes_with_unit_source_and_standing(hazard: str) -> None:
    point = life_cycles()[hazard].stages[life_cycles()[hazard].headline].series[0].points[0]
    found = life_cycle(hazard, point.temp_c)
    assert found.source
    assert found.standing in {"published", "from memory", "common practice"}
    for one in found.stages:
        assert one.points
        assert all(re.search(r"\d+ (d|h) at [\d.]+ °C", said) for said in one.points)
    assert any("constant temperatures" in one for one in found.remarks)


def test_what_is_taken_for_granted_is_said() -> None:
    for remarks in (
        proposed_interval("gill_flukes", 20.0).remarks,
        covers([0, 5, 10], "gill_flukes", 20.0).remarks,
    ):
        assert any("as if each dose killed all" in one for one in remarks)
        assert any("eggs outlive it" in one for one in remarks)


def test_an_assumption_in_a_course_lowers_its_standing() -> None:
    assert covers([0, 4, 8], "gill_flukes", 25.0).standing == "common practice"
    assert covers([0, 5, 10], "gill_flukes", 20.0).standing == "published"


# --- what is refused --------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [math.nan, math.inf, -20.0, 68.0])
def test_a_temperature_that_cannot_be(bad: float) -> None:
    for call in (life_cycle, proposed_interval):
        with pytest.raises(BadInput, match="temperature") as caught:
            call("gill_flukes", bad)
        assert caught.value.field == "temperature"
    if not math.isnan(bad):
        with pytest.raises(BadInput):
            covers([0, 7], "gill_flukes", bad)


def test_a_hazard_without_timing_is_refused_by_name() -> None:
    untimed = hazards().keys() - life_cycles().keys()
    assert "trichodina" in untimed
    for hazard in untimed:
        with pytest.raises(BadInput, match="No timing") as caught:
            life_cycle(hazard, 15.0)
        assert caught.value.field == "hazard"
    with pytest.raises(BadInput, match="no hazard 'whale lice'"):
        life_cycle("whale lice", 15.0)
    assert life_cycle("Gill flukes", 20.0) == life_cycle("gill_flukes", 20.0)


@pytest.mark.parametrize("doses", [[], [-1, 6], [math.nan], [math.inf], [0, 4000]])
def test_doses_that_cannot_be(doses: list[float]) -> None:
    with pytest.raises(BadInput):
        covers(doses, "gill_flukes", 20.0)


@pytest.mark.parametrize("temps", [[], [None, None], [math.nan]])
def test_without_a_temperature_nothing_is_timed(temps: list[float | None]) -> None:
    with pytest.raises(BadInput, match="no water temperature"):
        covers([0, 7], "gill_flukes", temps)


def test_water_that_stays_outside_the_points_is_refused() -> None:
    with pytest.raises(BadInput, match="10 to 35 °C"):
        covers([0, 7, 14], "gill_flukes", [12.0, 9.0, 6.0, 5.0])
    with pytest.raises(BadInput, match="10 to 35 °C"):
        covers([0, 7, 14], "gill_flukes", [20.0, 36.0])


# --- over real temperatures ---------------------------------------------------------------------------


def test_missing_days_take_the_cautious_neighbour() -> None:
    gap = covers([0, 5, 10], "gill_flukes", [20.0, None, None, 14.0, 14.0])
    warm = covers([0, 5, 10], "gill_flukes", [20.0, 20.0, 20.0, 14.0, 14.0])
    cold = covers([0, 5, 10], "gill_flukes", [20.0, 14.0, 14.0, 14.0, 14.0])
    assert gap.first_hatch_day == warm.first_hatch_day
    assert gap.end_day == cold.end_day
    assert warm.first_hatch_day < cold.first_hatch_day
    assert any("2 days have no temperature" in one for one in gap.remarks)


def test_days_count_from_the_first_dose() -> None:
    temps = [12.0] * 5 + [20.0] * 30
    assert covers([5, 10, 15], "gill_flukes", temps).first_hatch_day == 3.0
    early = covers([0, 5, 10], "gill_flukes", temps)
    assert early.first_hatch_day > 3.0
    assert covers([15, 5, 10], "gill_flukes", temps).last_dose_day == 10.0


@given(
    st.lists(st.floats(10.0, 30.0), min_size=30, max_size=60),
    st.floats(0.0, 5.0),
)
def test_warmer_days_never_hatch_later(temps: list[float], more: float) -> None:
    warmer = [min(35.0, temp + more) for temp in temps]
    here, there = (covers([0, 7, 14], "gill_flukes", one) for one in (temps, warmer))
    assert there.first_hatch_day <= here.first_hatch_day + 1e-6
    assert there.end_day <= here.end_day + 1e-6


@given(st.lists(st.floats(10.0, 35.0), min_size=1, max_size=60), st.integers(0, 20))
def test_steady_water_is_the_same_as_one_number(temps: list[float], day: int) -> None:
    assume(temps)
    steady = covers([day, day + 7], "gill_flukes", [temps[0]] * 60)
    assert steady.first_hatch_day == pytest.approx(
        covers([0, 7], "gill_flukes", temps[0]).first_hatch_day, abs=1e-6
    )
    first = shortest(timed("gill_flukes"), "first_hatch", temps[0])
    assert steady.first_hatch_day == pytest.approx(first.days, abs=1e-6)


def test_a_later_dose_in_the_middle_is_found() -> None:
    found = covers([0, 5, 16], "gill_flukes", 20.0)
    assert found.verdict == "gap too long"
    assert "gap of 11 d" in found.said


# --- words --------------------------------------------------------------------------------------------


def test_how_bands_and_days_are_said() -> None:
    def series(low: float, high: float) -> Series:
        return Series("x", (Point(low, 1.0, 1.0), Point(high, 1.0, 1.0)), "", "", "published")

    assert band([series(20, 30), series(10, 15)]) == "10 to 15 °C and 20 to 30 °C"
    assert band([series(10, 20), series(15, 30)]) == "10 to 30 °C"
    assert said_days(0.5) == "12 h"
    assert weakest(["published", "from memory"]) == "from memory"
    assert weakest(["common practice", "from memory"]) == "common practice"


def test_a_dose_after_the_last_hatch_takes_nothing_away() -> None:
    """At 20 °C the last egg hatches on day 8: what comes a week after that leaves no gap."""
    assert covers([0, 3, 8], "gill_flukes", 20.0).verdict == "covered"
    assert covers([0, 3, 8, 20], "gill_flukes", 20.0).verdict == "covered"
    assert covers([0, 3, 10, 12], "gill_flukes", 20.0).verdict == "gap too long"

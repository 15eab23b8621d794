"""Life cycles and the intervals that follow from them, against the publications."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from published import published

from store.courses.cycles.cycle import covers, life_cycle, proposed_interval
from store.errors import BadInput


def stage(hazard: str, temp_c: float, code: str):
    return next(one for one in life_cycle(hazard, temp_c).stages if one.code == code)


@pytest.mark.parametrize(
    ("temp_c", "first", "duration"), [(10, 19, 24), (20, 3, 5), (30, 2, 5), (35, 1.5, 3)]
)
def test_hatching_of_dactylogyrus_vastator(temp_c: float, first: float, duration: float) -> None:
    # Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6), abstract: hatching time and duration of
    # hatching 19 d, 3 d, 2 d, 36 h and 24 d, 5 d, 5 d, 3 d at 10, 20, 30 and 35 °C.
    found = life_cycle("gill_flukes", temp_c)
    assert (found.days_low, found.days, found.days_high) == (first, first, first)
    assert stage("gill_flukes", temp_c, "last_hatch").days == first + duration
    assert found.standing == "published"
    assert "Zhang et al. 2015" in found.source


def test_maturity_of_dactylogyrus_vastator_at_20_degrees() -> None:
    # Zhang et al. 2015: egg to sexual maturity 8 to 11 d at 20 °C, so 5 to 8 d from the first hatch;
    # 90 % of worms mature within 7 d of infection, which lies between.
    found = stage("gill_flukes", 20.0, "maturity")
    assert (found.low_days, found.high_days) == (8 - 3, 11 - 3)
    assert found.low_days <= 7 <= found.high_days


def test_the_week_that_zhang_advises_stands_beside_the_shorter_interval() -> None:
    # Zhang et al. 2015: second treatment a week later at 20 °C. Its own figures make the fastest
    # worms lay 5 d after hatching, so the interval is shorter and the week is named beside it.
    found = proposed_interval("gill_flukes", 20.0)
    assert found.days == 5
    assert any("every 7 d" in one and "Zhang et al. 2015" in one for one in found.alternates)


@pytest.mark.parametrize(
    ("temp_c", "low", "middle", "high"),
    [(12, 9.2, 13.1, 15.8), (15, 5.2, 7.55, 11.0), (18, 3.6, 4.34, 6.2)],
)
def test_between_the_points_of_zhang(temp_c: float, low: float, middle: float, high: float) -> None:
    # Reckoned by hand between 19 d at 10 °C and 3 d at 20 °C: straight in the rate (base 8.125 °C,
    # 35.6 degree-days), in the logarithm, in days.
    found = life_cycle("gill_flukes", temp_c)
    assert found.days_low == pytest.approx(low, abs=0.05)
    assert found.days == pytest.approx(middle, abs=0.05)
    assert found.days_high == pytest.approx(high, abs=0.05)


def test_degree_days_above_zero_would_not_do() -> None:
    # Zhang et al. 2015: 10 x 19 = 190 but 20 x 3 = 60. A sum above 0 °C fitted at 10 °C would put the
    # first hatch at 20 °C on day 9.5, three times too late.
    assert life_cycle("gill_flukes", 20.0).days == 3.0
    assert life_cycle("gill_flukes", 20.0).days < 10 * life_cycle("gill_flukes", 10.0).days / 20 / 3


@pytest.mark.parametrize(
    ("temp_c", "low", "middle"),
    [(18, 34.6, 46.5), (20, 26.8, 38.8), (22, 21.9, 32.4), (25, 17.2, 24.7), (30, 12.6, 15.7)],
)
def test_hatching_of_argulus_japonicus(temp_c: float, low: float, middle: float) -> None:
    # Journal of Zoology, abstract: hatching starts after 61 d at 15 °C and 10 d at 35 °C. Between:
    # by hand, base 11.08 °C and 239.2 degree-days, and straight in the logarithm.
    found = life_cycle("fish_louse", temp_c)
    assert found.days == pytest.approx(middle, abs=0.05)
    first = found.arithmetic.partition("straight in the rate ")[2].partition(" d")[0]
    assert float(first) == pytest.approx(low, abs=0.5)
    assert [life_cycle("fish_louse", end).days for end in (15.0, 35.0)] == [61.0, 10.0]


def test_gyrodactylus_salaris_of_salmon() -> None:
    # Jansen & Bakke 1991, Parasitology 102:105-112: r = 0.02 per day at 2.5 °C and 0.22 at 19 °C,
    # mean life span 33.7 and 4.5 d. Doubling is ln 2 / r.
    assert life_cycle("skin_flukes", 2.5).days == pytest.approx(0.6931 / 0.02, abs=0.01)
    assert life_cycle("skin_flukes", 19.0).days == pytest.approx(0.6931 / 0.22, abs=0.01)
    assert stage("skin_flukes", 2.5, "life_span").days == 33.7
    assert stage("skin_flukes", 19.0, "life_span").days == 4.5


@pytest.mark.parametrize(("temp_c", "low", "high"), [(16, 21, 52), (23, 5, 20), (28, 7, 14)])
def test_koi_herpesvirus_from_exposure_to_death(temp_c: float, low: float, high: float) -> None:
    # Yuasa, Ito & Sano 2008, Fish Pathol. 43:83-85.
    found = life_cycle("khv", temp_c)
    assert (found.days_low, found.days_high) == (low, high)
    assert proposed_interval("khv", temp_c).doses == 0


@pytest.mark.parametrize("temp_c", [26.0, 28.0, 29.0])
def test_anchor_worm_takes_18_to_25_days(temp_c: float) -> None:
    # Hossain et al. 2018 for 26 to 28 °C; Int. J. Animal & Fisheries Science 2013 for 29 °C.
    whole = stage("anchor_worm", temp_c, "whole_cycle")
    assert whole.high_days == 25
    # Piper et al. 1982, pp. 283 and 335: four times, at 5 to 7 d or weekly.
    found = proposed_interval("anchor_worm", temp_c)
    assert found.days == 7
    assert found.doses >= 4
    assert found.course_days >= 25


@pytest.mark.parametrize(
    ("temp_c", "advised"), [(10, 10), (18, 6), (25, 4), (12, 8), (14, 7), (16, 6), (20, 5), (22, 4)]
)
def test_white_spot_interval(temp_c: float, advised: int) -> None:
    # Common practice: 10 d at 10 °C, 6 d at 18 °C, 4 d at 25 °C; between them the shorter estimate,
    # rounded down.
    found = proposed_interval("white_spot", temp_c)
    assert found.days == advised
    assert found.standing == "common practice"
    assert found.doses >= 3


@pytest.mark.parametrize(
    ("hazard", "temp_c", "said"),
    [
        ("gill_flukes", 9.9, "10 to 35 °C"),
        ("gill_flukes", 35.1, "10 to 35 °C"),
        ("white_spot", 9.0, "10 to 25 °C"),
        ("white_spot", 26.0, "10 to 25 °C"),
        ("fish_louse", 14.0, "15 to 35 °C"),
        ("anchor_worm", 22.0, "23 to 30 °C"),
        ("skin_flukes", 21.0, "2.5 to 19 °C"),
        ("costia", 14.0, "for 13 °C"),
    ],
)
def test_nothing_is_carried_beyond_the_published_points(
    hazard: str, temp_c: float, said: str
) -> None:
    with pytest.raises(BadInput, match=said) as caught:
        life_cycle(hazard, temp_c)
    assert caught.value.field == "temperature"


# --- whether a course meets what hatches ------------------------------------------------------------


def test_three_weekly_doses_in_cold_water_never_met_an_egg() -> None:
    # Zhang et al. 2015 at 10 °C. Doses on 3, 10 and 17 March; the pond is invented.
    doses = [date(2026, 3, day) for day in (3, 10, 17)]
    found = covers([(day - doses[0]).days for day in doses], "gill_flukes", 10.0)
    assert found.verdict == "ends before the first hatch"
    assert not found.covered
    assert doses[0] + timedelta(days=found.first_hatch_day) == date(2026, 3, 22)
    assert doses[0] + timedelta(days=found.end_day) == date(2026, 4, 15)
    assert "before the first egg hatches, on day 19" in found.said
    assert "until day 43" in found.said


def test_three_weekly_doses_at_20_degrees_outlast_the_hatch() -> None:
    # Zhang et al. 2015: last hatch on day 8, last dose on day 14; but the fastest worms lay 5 d after
    # hatching and the gap is 7 d, so the verdict is not a clean one.
    found = covers([0, 7, 14], "gill_flukes", 20.0)
    assert (found.first_hatch_day, found.end_day, found.last_dose_day) == (3.0, 8.0, 14.0)
    assert found.verdict == "gap too long"
    assert (found.longest_gap_days, found.allowed_gap_days) == (7.0, 5.0)


def test_at_12_degrees_only_the_beginning_of_the_hatch_is_met() -> None:
    # Reckoned by hand between the points of Zhang et al. 2015: last hatch 30.7 d in the logarithm,
    # 36 d straight in days, which is the one that may end a course.
    found = covers([0, 7, 14], "gill_flukes", 12.0)
    assert found.verdict == "ends too early"
    assert stage("gill_flukes", 12.0, "last_hatch").days == pytest.approx(30.7, abs=0.05)
    assert found.end_day == pytest.approx(36.0)


def test_a_real_spring_is_summed_day_by_day() -> None:
    # Daily means of a wadeable stream from 10 May, NEON site HOPB, 2021 (data/README.md); points of
    # Zhang et al. 2015. By hand, straight in the rate: degrees above 8.125 °C until 35.625 are full,
    # as long as the water stays between 10 and 20 °C; it does until 29 May.
    days = {
        date.fromisoformat(row["date"]): float(row["temp_c"])
        for row in published("neon_daily_temperature")
        if row["site"] == "HOPB"
    }
    temps = [days[date(2021, 5, 10) + timedelta(days=number)] for number in range(60)]
    total, number = 0.0, 0
    while total + temps[number] - 8.125 < 35.625:
        total += temps[number] - 8.125
        number += 1
    by_hand = number + (35.625 - total) / (temps[number] - 8.125)
    assert all(10.0 <= temp <= 20.0 for temp in temps[: number + 1])
    found = covers([0, 7, 14], "gill_flukes", temps)
    assert found.first_hatch_day == pytest.approx(by_hand, abs=1e-6)
    # The water of the first day alone, 10.54 °C, would put the first hatch on day 14.7 and pass the
    # last of three weekly doses off as too early for every egg; the warming stream hatches sooner.
    assert covers([0, 7, 14], "gill_flukes", temps[0]).verdict == "ends before the first hatch"
    assert found.verdict == "ends too early"
    assert min(temps) < 10.0
    assert any("not published below 10 °C" in one for one in found.remarks)

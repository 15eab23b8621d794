"""Samples against printed tables, worked cases, and scipy as a general reference library.

`data/sampling_tables.csv` has one row for each stock and prevalence. `exact`, `detection` and
`detection_one_fewer` are computed (scipy 1.17.1, hypergeometric, number diseased rounded up). The
three printed tables were recalled from memory and could not be looked up; they prove nothing about
the program, they show what a reader of such a table meets:

- `cannon_roe`: Cannon & Roe 1982, Livestock Disease Surveys, the 95 % table;
- `fhs`: the table of the Fish Health Section of the American Fisheries Society, rounded to fives;
- `aquatic`: the wide international table for aquatic animals, 0.5 to 10 %.
"""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest
from published import published
from scipy import stats

from store.errors import BadInput
from store.exams.clean import what_a_clean_sample_proves
from store.exams.sampling import detection, fish_to_examine

ROWS = published("sampling_tables")


def sampled(row: dict[str, str], rounding: str = "up"):
    share = float(row["prevalence_percent"]) / 100.0
    return fish_to_examine(int(row["population"]), share, rounding=rounding)


def cell(row: dict[str, str]) -> tuple[int, float]:
    return int(row["population"]), float(row["prevalence_percent"])


def test_every_cell_of_the_exact_table() -> None:
    assert len(ROWS) == 468
    for row in ROWS:
        answer = sampled(row)
        assert answer.fish == int(row["exact"]), cell(row)
        assert answer.reached == pytest.approx(float(row["detection"]), abs=5.1e-5), cell(row)
        fewer = detection(int(row["population"]), int(answer.diseased or 0), answer.fish - 1)
        assert fewer == pytest.approx(float(row["detection_one_fewer"]), abs=5.1e-5), cell(row)
        assert fewer < 0.95 <= answer.reached + 1e-9, cell(row)


# Printed by Cannon & Roe (from memory), and what their own formula gives. All but two are the last
# figure rounded to the nearest where up was meant (4.012 printed 4, 12.04 printed 12).
CANNON_ROE_DIFFERS = {
    (10, 15.0): (10, 9),  # 8.43
    (20, 15.0): (12, 13),  # 12.001
    (20, 50.0): (4, 5),  # 4.012
    (30, 50.0): (4, 5),  # 4.16
    (60, 20.0): (12, 13),  # 12.04
    (80, 30.0): (8, 9),  # 8.04
    (90, 30.0): (8, 9),  # 8.09
    (100, 1.0): (96, 95),  # 95 exactly
    (120, 25.0): (10, 11),  # 10.03
    (200, 20.0): (13, 14),  # 13.02
    (900, 10.0): (28, 29),  # 28.007
}


def test_the_rounding_fraction_follows_the_printed_table_of_cannon_and_roe() -> None:
    rows = [row for row in ROWS if row["cannon_roe"]]
    assert len(rows) == 319
    differs = {
        cell(row): (int(row["cannon_roe"]), answer.fish)
        for row in rows
        if (answer := sampled(row, "fraction")).fish != int(row["cannon_roe"])
    }
    assert differs == CANNON_ROE_DIFFERS


def test_the_printed_table_of_cannon_and_roe_never_asks_for_fewer_than_the_exact_number() -> None:
    over = [int(row["cannon_roe"]) - sampled(row).fish for row in ROWS if row["cannon_roe"]]
    assert min(over) == 0
    assert max(over) == 47
    assert over.count(0) == 258


def test_the_wide_table_for_aquatic_animals_is_two_fish_short_in_every_cell_but_a_misprint() -> (
    None
):
    rows = [row for row in ROWS if row["aquatic"]]
    short = {cell(row): sampled(row).fish - int(row["aquatic"]) for row in rows}
    assert len(short) == 63
    assert short.pop((10000, 5.0)) == 30  # printed 29, where 57 would be two short
    assert set(short.values()) == {2}
    reached = [
        detection(int(row["population"]), int(sampled(row).diseased or 0), int(row["aquatic"]))
        for row in rows
        if cell(row) != (10000, 5.0)
    ]
    assert min(reached) == pytest.approx(0.92, abs=0.0005)
    assert max(reached) < 0.95


def test_the_table_rounded_to_fives_differs_either_way() -> None:
    rows = [row for row in ROWS if row["fhs"]]
    by = Counter(int(row["fhs"]) - sampled(row).fish for row in rows)
    assert sum(by.values()) == 30
    assert (min(by), max(by), by[0]) == (-3, 4, 1)


@pytest.mark.parametrize(
    ("prevalence", "sensitivity", "fish"),
    [
        (0.10, 1.0, 29), (0.05, 1.0, 59), (0.02, 1.0, 149), (0.01, 1.0, 299), (0.005, 1.0, 598),
        (0.10, 0.9, 32), (0.05, 0.9, 66), (0.02, 0.9, 165),
        (0.10, 0.8, 36), (0.05, 0.8, 74), (0.02, 0.8, 186),
        (0.10, 0.6, 49), (0.05, 0.6, 99), (0.02, 0.6, 249),
    ],
)  # fmt: skip
def test_an_endless_stock(prevalence: float, sensitivity: float, fish: int) -> None:
    """Computed, ln 0.05 / ln(1 - p Se). The customary 30, 60, 150 lie just above the first three."""
    answer = fish_to_examine(None, prevalence, sensitivity=sensitivity)
    assert answer.fish == fish
    assert stats.binom.sf(0, fish, prevalence * sensitivity) == pytest.approx(answer.reached)
    assert stats.binom.sf(0, fish - 1, prevalence * sensitivity) < 0.95


def test_sixty_fish_of_two_thousand() -> None:
    """60 of 2,000, none positive: 5 % is ruled out; 58 would do, 57 would not."""
    assert detection(2000, 100, 60) == pytest.approx(0.9561, abs=5e-5)
    assert detection(2000, 100, 58) == pytest.approx(0.9512, abs=5e-5)
    assert detection(2000, 100, 57) == pytest.approx(0.9485, abs=5e-5)
    assert fish_to_examine(2000, 0.05).fish == 58
    assert fish_to_examine(2000, 0.02).fish == 143
    large = what_a_clean_sample_proves(None, 60)
    assert large.one_sided.prevalence == pytest.approx(0.0487, abs=5e-5)
    assert large.two_sided.prevalence == pytest.approx(0.0596, abs=5e-5)
    proven = what_a_clean_sample_proves(2000, 60)
    assert proven.one_sided.diseased == 95
    assert [round(one.detection, 4) for one in proven.designs][1] == 0.9561


@pytest.mark.parametrize(
    ("population", "prevalence", "fish", "reached"),
    [(30, 0.10, 19, 0.9594), (24, 0.10, 15, 0.9585), (40, 0.05, 31, 0.9538)],
)
def test_ponds(population: int, prevalence: float, fish: int, reached: float) -> None:
    answer = fish_to_examine(population, prevalence)
    assert answer.fish == fish
    assert answer.reached == pytest.approx(reached, abs=5e-5)


def test_the_rounding_of_the_number_diseased_changes_the_sample() -> None:
    """30 fish at 5 % are one and a half: 23, 23, 29 or 26 fish."""
    fish = {
        rounding: fish_to_examine(30, 0.05, rounding=rounding).fish
        for rounding in ("up", "nearest", "down", "fraction")
    }
    assert fish == {"up": 23, "nearest": 23, "down": 29, "fraction": 26}
    told = fish_to_examine(30, 0.05)
    assert told.cautious_fish == 29
    assert any("29 fish would have to be examined" in one for one in told.remarks)


def test_against_scipy_with_a_test_that_overlooks_some() -> None:
    draw = random.Random(4)
    for _ in range(300):
        population = int(10 ** draw.uniform(0.5, 4.5))
        diseased = draw.randint(1, population)
        examined = draw.randint(1, min(population, 3000))
        sensitivity = draw.choice([1.0, 0.95, 0.7, 0.3])
        caught = range(min(diseased, examined) + 1)
        chances = stats.hypergeom.pmf(caught, population, diseased, examined)
        missed = math.fsum(c * (1 - sensitivity) ** k for k, c in zip(caught, chances, strict=True))
        ours = detection(population, diseased, examined, sensitivity)
        assert ours == pytest.approx(1.0 - missed, abs=1e-9)


def test_a_million_fish_against_scipy() -> None:
    for prevalence in (1e-6, 2e-5, 0.001, 0.3):
        answer = fish_to_examine(1_000_000, prevalence)
        diseased = int(answer.diseased or 0)
        here, fewer = (
            stats.hypergeom.sf(0, 1_000_000, diseased, fish)
            for fish in (answer.fish, answer.fish - 1)
        )
        assert here >= 0.95 - 1e-8
        assert fewer < 0.95


def test_even_all_fish_may_not_be_enough() -> None:
    with pytest.raises(BadInput, match=r"Even all 12 fish reach only 80 %, not 95 %") as refused:
        fish_to_examine(12, 0.05, sensitivity=0.8)
    assert refused.value.field == "sensitivity"

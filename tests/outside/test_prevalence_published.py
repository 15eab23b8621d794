"""Intervals of prevalence against printed values, and scipy as a general reference library.

`data/prevalence_intervals.csv`: rows `from memory` are of Newcombe 1998, Stat. Med. 17:857-872,
Table I (methods 3 and 5), recalled and agreeing in all four limits with a computation; the others
were computed (scipy 1.17.1).
"""

from __future__ import annotations

import random

import pytest
from published import published
from scipy import stats

from store.exams.prevalence import clopper_pearson, fewest_and_most, prevalence, wilson
from store.exams.tails import beta_quantile, beta_share, t_quantile

ROWS = published("prevalence_intervals")


def test_what_is_there() -> None:
    assert len(ROWS) == 24
    assert sum(row["standing"] == "from memory" for row in ROWS) == 4


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['positive']} of {row['examined']}")
def test_both_intervals_and_the_one_sided_limit(row: dict[str, str]) -> None:
    answer = prevalence(int(row["positive"]), int(row["examined"]))
    assert answer.exact.low == pytest.approx(float(row["exact_low"]), abs=5.1e-5)
    assert answer.exact.high == pytest.approx(float(row["exact_high"]), abs=5.1e-5)
    assert answer.wilson.low == pytest.approx(float(row["wilson_low"]), abs=5.1e-5)
    assert answer.wilson.high == pytest.approx(float(row["wilson_high"]), abs=5.1e-5)
    if row["positive"] == "0":
        assert answer.at_most == pytest.approx(float(row["one_sided_high"]), abs=5.1e-5)
    else:
        assert answer.at_most is None


def test_against_scipy() -> None:
    draw = random.Random(9)
    for _ in range(300):
        examined = draw.randint(1, 400)
        positive = draw.randint(0, examined)
        confidence = draw.choice([0.8, 0.9, 0.95, 0.99])
        tested = stats.binomtest(positive, examined)
        for ours, name in (
            (clopper_pearson(positive, examined, confidence), "exact"),
            (wilson(positive, examined, confidence), "wilson"),
        ):
            theirs = tested.proportion_ci(confidence, method=name)
            assert ours.low == pytest.approx(theirs.low, abs=1e-9)
            assert ours.high == pytest.approx(theirs.high, abs=1e-9)


def test_quantiles_against_scipy() -> None:
    draw = random.Random(2)
    for _ in range(500):
        a, b = 10 ** draw.uniform(-0.3, 4), 10 ** draw.uniform(-0.3, 4)
        share = draw.random()
        assert beta_share(share, a, b) == pytest.approx(stats.beta.cdf(share, a, b), abs=1e-11)
        assert beta_quantile(share, a, b) == pytest.approx(stats.beta.ppf(share, a, b), abs=1e-11)
    for degrees in (1, 2, 3, 7, 14, 30, 200, 19998):
        for share in (0.9, 0.975, 0.995):
            theirs = stats.t.ppf(share, degrees)
            assert t_quantile(share, degrees) == pytest.approx(theirs, rel=1e-10)


def test_the_interval_in_whole_fish_against_every_number_tried_out() -> None:
    """By its meaning: every number diseased is tried with scipy's hypergeometric tails."""
    for population, examined in ((14, 12), (40, 31), (60, 9)):
        for positive in range(examined + 1):
            possible = [
                diseased
                for diseased in range(positive, population - examined + positive + 1)
                if stats.hypergeom.cdf(positive, population, diseased, examined) > 0.025
                and stats.hypergeom.sf(positive - 1, population, diseased, examined) > 0.025
            ]
            answer = fewest_and_most(positive, examined, population)
            assert (answer.fewest, answer.most) == (possible[0], possible[-1])


def test_deaths_of_eleven_of_twenty_six() -> None:
    """Computed: 42.3 %, exact interval 23.4 to 63.1 %."""
    answer = prevalence(11, 26)
    assert 100 * answer.exact.low == pytest.approx(23.4, abs=0.05)
    assert 100 * answer.exact.high == pytest.approx(63.1, abs=0.05)

"""Percent reduction of counts: an invented example, reckoned by numpy and scipy in other ways.

The WAAVP form is that of Coles et al. 1992, Vet. Parasitol. 44:35-44, as set out in
later texts. The counts are invented: gill flukes per standard clip of the same eight
koi, before and seven days after.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy import stats

from store.exams.reduction import reduction

BEFORE = [42, 35, 60, 18, 27, 55, 33, 30]
AFTER = [3, 1, 6, 0, 2, 4, 1, 3]


def test_the_example_of_eight_koi() -> None:
    """Computed: 93.33 %, 87.22 to 96.52 % in the WAAVP form."""
    answer = reduction(BEFORE, AFTER, same_fish=True, seed=1)
    assert (answer.mean_before, answer.mean_after) == (37.5, 2.5)
    assert answer.percent == pytest.approx(93.33, abs=0.005)
    assert answer.method == "WAAVP form"
    assert answer.shown == answer.waavp
    assert answer.waavp.low == pytest.approx(87.22, abs=0.005)
    assert answer.waavp.high == pytest.approx(96.52, abs=0.005)
    assert "0.09214" in answer.arithmetic
    assert "2.145" in answer.arithmetic


def test_the_mean_of_each_fish_s_own_percentage_is_not_given() -> None:
    """94.04 % would be the mean of the percentages, 94.29 % that of geometric means of x + 1."""
    answer = reduction(BEFORE, AFTER, same_fish=True, seed=1)
    own = 100 * np.mean(1 - np.array(AFTER) / np.array(BEFORE))
    assert own == pytest.approx(94.04, abs=0.005)
    assert "94" not in answer.said


@pytest.mark.parametrize(("same_fish", "low", "high"), [(True, 91.5, 95.7), (False, 88.9, 96.6)])
def test_drawing_the_fish_anew(same_fish: bool, low: float, high: float) -> None:
    """Computed with 10,000 draws; chance allows 0.3."""
    drawn = reduction(BEFORE, AFTER, same_fish=same_fish, seed=7).drawn
    assert drawn.low == pytest.approx(low, abs=0.3)
    assert drawn.high == pytest.approx(high, abs=0.3)


@pytest.mark.parametrize("same_fish", [True, False])
def test_drawing_against_scipy(same_fish: bool) -> None:
    theirs = stats.bootstrap(
        (np.array(BEFORE), np.array(AFTER)),
        lambda b, a, axis=-1: 100 * (1 - a.mean(axis=axis) / b.mean(axis=axis)),
        n_resamples=20_000, paired=same_fish, method="percentile", vectorized=True,
        rng=np.random.default_rng(3),
    ).confidence_interval  # fmt: skip
    drawn = reduction(BEFORE, AFTER, same_fish=same_fish, seed=3, draws=20_000).drawn
    assert drawn.low == pytest.approx(theirs.low, abs=0.3)
    assert drawn.high == pytest.approx(theirs.high, abs=0.3)


def test_the_waavp_form_against_numpy_and_scipy() -> None:
    draw = random.Random(5)
    for _ in range(100):
        before = [draw.randint(1, 90) for _ in range(draw.randint(3, 12))]
        after = [draw.randint(0, 40) for _ in range(draw.randint(3, 12))] + [1]
        confidence = draw.choice([0.9, 0.95])
        one, other = np.array(before), np.array(after)
        spread = math.sqrt(
            other.var(ddof=1) / (len(after) * other.mean() ** 2)
            + one.var(ddof=1) / (len(before) * one.mean() ** 2)
        )
        t = stats.t.ppf((1 + confidence) / 2, len(before) + len(after) - 2)
        ratio = other.mean() / one.mean()
        answer = reduction(
            before, after, same_fish=False, seed=1, confidence=confidence, draws=2000
        )
        assert answer.waavp.low == pytest.approx(100 * (1 - ratio * math.exp(t * spread)))
        assert answer.waavp.high == pytest.approx(100 * (1 - ratio * math.exp(-t * spread)))

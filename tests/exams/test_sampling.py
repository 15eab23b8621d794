"""Properties of samples, and what is refused or said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exams.clean import what_a_clean_sample_proves
from store.exams.sampling import (
    CAUTIONS,
    ROUNDINGS,
    detection,
    diseased_fish,
    fish_to_examine,
)

stocks = st.none() | st.integers(1, 3000)
prevalences = st.floats(0.001, 1.0)
confidences = st.floats(0.5, 0.995)
sensitivities = st.floats(0.3, 1.0)


def fish(*asked, **named) -> int | None:
    """The sample, or None where even all fish do not reach it."""
    try:
        return fish_to_examine(*asked, **named).fish
    except BadInput:
        return None


@given(population=stocks, prevalence=prevalences, confidence=confidences, sensitivity=sensitivities)
def test_it_is_the_smallest_that_reaches_the_confidence(
    population, prevalence, confidence, sensitivity
) -> None:
    try:
        answer = fish_to_examine(population, prevalence, confidence, sensitivity)
    except BadInput:
        diseased = diseased_fish(population, prevalence, "up")
        assert detection(population, diseased, population, sensitivity) < confidence
        return
    design = prevalence if population is None else int(answer.diseased)
    assert answer.reached == detection(population, design, answer.fish, sensitivity)
    assert answer.reached >= confidence - 1e-8
    assert detection(population, design, answer.fish - 1, sensitivity) < confidence


@given(
    population=st.integers(1, 3000), prevalence=prevalences, confidence=confidences,
    sensitivity=sensitivities, more=st.floats(0.0, 0.5),
)  # fmt: skip
def test_more_is_asked_for_a_rarer_disease_more_confidence_and_a_worse_test(
    population, prevalence, confidence, sensitivity, more
) -> None:
    without_end = population + 1
    here = fish(population, prevalence, confidence, sensitivity) or without_end
    common = min(1.0, prevalence + more)
    surer = min(0.999, confidence + more)
    better = min(1.0, sensitivity + more)
    assert (fish(population, common, confidence, sensitivity) or without_end) <= here
    assert (fish(population, prevalence, surer, sensitivity) or without_end) >= here
    assert (fish(population, prevalence, confidence, better) or without_end) <= here


@given(diseased=st.integers(1, 30), times=st.integers(2, 40), sensitivity=st.just(1.0))
def test_more_is_asked_in_a_larger_stock_and_never_more_than_without_end(
    diseased, times, sensitivity
) -> None:
    """At the same share of whole fish: 20 and 200 at 5 %."""
    population = 20 * diseased
    prevalence = 0.05
    small = fish_to_examine(population, prevalence)
    large = fish_to_examine(population * times, prevalence)
    assert small.fish <= large.fish <= fish_to_examine(None, prevalence).fish


@given(population=st.integers(1, 3000), prevalence=prevalences, confidence=confidences)
def test_rounding_down_is_the_cautious_choice(population, prevalence, confidence) -> None:
    by = {
        rounding: fish_to_examine(population, prevalence, confidence, rounding=rounding)
        for rounding in ("up", "nearest", "down")
    }
    assert by["up"].fish <= by["nearest"].fish <= by["down"].fish
    assert {one.cautious_fish for one in by.values()} == {by["down"].fish}


@given(
    population=st.integers(1, 2000), examined=st.integers(1, 2000), sensitivity=sensitivities,
    confidence=confidences,
)  # fmt: skip
def test_what_a_clean_sample_rules_out_is_what_a_sample_would_have_found(
    population, examined, sensitivity, confidence
) -> None:
    examined = min(examined, population)
    answer = what_a_clean_sample_proves(population, examined, sensitivity, confidence)
    for out, doubt in (
        (answer.one_sided, 1 - confidence),
        (answer.two_sided, (1 - confidence) / 2),
    ):
        if out.diseased:
            assert 1 - detection(population, out.diseased, examined, sensitivity) > doubt
        if out.diseased < population:
            beyond = detection(population, out.diseased + 1, examined, sensitivity)
            assert beyond >= 1 - doubt - 1e-8
    assert answer.one_sided.prevalence <= answer.two_sided.prevalence


@given(examined=st.integers(1, 500), more=st.integers(0, 100), confidence=confidences)
def test_more_clean_fish_prove_more(examined, more, confidence) -> None:
    one = what_a_clean_sample_proves(None, examined, 1.0, confidence)
    other = what_a_clean_sample_proves(None, examined + more, 1.0, confidence)
    assert other.one_sided.prevalence <= one.one_sided.prevalence
    assert all(b.detection >= a.detection for a, b in zip(one.designs, other.designs, strict=True))


def test_every_fish_examined_leaves_no_error_of_sampling() -> None:
    sure = what_a_clean_sample_proves(12, 12)
    assert (sure.every_fish, sure.one_sided.diseased, sure.two_sided.diseased) == (True, 0, 0)
    assert "no error of sampling is left" in sure.said
    unsure = what_a_clean_sample_proves(12, 12, 0.8)
    assert unsure.one_sided.diseased == 1
    assert any("that of the test is" in one for one in unsure.remarks)


def test_so_few_with_a_poor_test_prove_nothing() -> None:
    answer = what_a_clean_sample_proves(None, 2, 0.5)
    assert answer.one_sided.prevalence == 1.0
    assert "proves nothing" in answer.said
    assert "rules nothing out" in answer.arithmetic


def test_every_answer_carries_its_cautions_and_says_its_rounding() -> None:
    for rounding in ROUNDINGS:
        answer = fish_to_examine(40, 0.07, rounding=rounding)
        assert set(CAUTIONS) <= set(answer.remarks)
        assert answer.rounded == ROUNDINGS[rounding]
    assert "from memory" in fish_to_examine(40, 0.07, rounding="fraction").source
    assert set(CAUTIONS) <= set(what_a_clean_sample_proves(40, 7).remarks)


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ((0, 0.05), "number of fish"),
        ((2_000_000, 0.05), "number of fish"),
        ((12.5, 0.05), "number of fish"),
        ((100, 0.0), "prevalence"),
        ((100, 1.5), "prevalence"),
        ((100, float("nan")), "prevalence"),
        ((100, 0.05, 1.0), "confidence"),
        ((100, 0.05, 0.0), "confidence"),
        ((100, 0.05, 0.95, 0.0), "sensitivity"),
        ((100, 0.05, 0.95, 1.1), "sensitivity"),
        ((100, 0.05, 0.95, 1.0, "sideways"), "rounding"),
        ((100, 0.05, 0.95, 0.9, "fraction"), "rounding"),
        ((None, 1e-9), "prevalence"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(asked, field) -> None:
    with pytest.raises(BadInput) as refused:
        fish_to_examine(*asked)
    assert refused.value.field == field


def test_more_examined_than_there_are() -> None:
    with pytest.raises(BadInput, match="13 fish were examined, and the stock has 12"):
        what_a_clean_sample_proves(12, 13)

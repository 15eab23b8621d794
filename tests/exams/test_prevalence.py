"""Properties of intervals of prevalence, and what is said beside them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exams.prevalence import prevalence


@st.composite
def samples(draw: st.DrawFn) -> tuple[int, int]:
    examined = draw(st.integers(1, 300))
    return draw(st.integers(0, examined)), examined


confidences = st.floats(0.5, 0.999)


@given(sample=samples(), confidence=confidences)
def test_intervals_hold_the_share_within_nothing_and_all(sample, confidence) -> None:
    answer = prevalence(*sample, confidence)
    for limits in (answer.exact, answer.wilson):
        assert 0.0 <= limits.low <= answer.point + 1e-12
        assert answer.point - 1e-12 <= limits.high <= 1.0
        assert limits.low < limits.high


@given(sample=samples(), confidence=confidences)
def test_positive_and_negative_are_mirror_images(sample, confidence) -> None:
    positive, examined = sample
    one, other = (
        prevalence(*sample, confidence),
        prevalence(examined - positive, examined, confidence),
    )
    for a, b in ((one.exact, other.exact), (one.wilson, other.wilson)):
        assert a.low == pytest.approx(1.0 - b.high, abs=1e-12)
        assert a.high == pytest.approx(1.0 - b.low, abs=1e-12)
    if one.at_most is not None:
        assert other.at_least == pytest.approx(1.0 - one.at_most)


@given(sample=samples(), confidence=st.floats(0.5, 0.95), more=st.floats(0.001, 0.049))
def test_surer_is_wider(sample, confidence, more) -> None:
    one, wider = prevalence(*sample, confidence), prevalence(*sample, confidence + more)
    assert wider.exact.low <= one.exact.low
    assert wider.exact.high >= one.exact.high
    assert wider.wilson.low <= one.wilson.low
    assert wider.wilson.high >= one.wilson.high


@given(sample=samples(), others=st.integers(0, 500))
def test_whole_fish_hold_what_was_seen_and_every_fish_leaves_no_doubt(sample, others) -> None:
    positive, examined = sample
    answer = prevalence(*sample, population=examined + others).in_pond
    assert positive <= answer.fewest <= answer.most <= positive + others
    assert answer.fewest <= answer.shares.high * (examined + others) + 1e-9


def test_a_pond_examined_for_the_most_part() -> None:
    answer = prevalence(4, 12, population=14)
    assert (answer.in_pond.fewest, answer.in_pond.most) == (4, 6)
    assert "of the 14 fish of the pond 4 to 6" in answer.said
    assert any("85.71 % of the pond was examined" in one for one in answer.remarks)


def test_every_fish_of_a_pond() -> None:
    answer = prevalence(4, 12, population=12)
    assert (answer.in_pond.fewest, answer.in_pond.most) == (4, 4)
    assert "no error of sampling is left" in answer.said


def test_none_and_all_positive_say_the_one_sided_limit_apart() -> None:
    none = prevalence(0, 12)
    assert any("no more than 22.1 %" in one and "26.5 %" in one for one in none.remarks)
    every = prevalence(12, 12)
    assert any("at least 77.9 %" in one and "73.5 %" in one for one in every.remarks)


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ((3, 2), "number of positive fish"),
        ((-1, 2), "number of positive fish"),
        ((1.5, 2), "number of positive fish"),
        ((0, 0), "number of fish examined"),
        ((1, 2, 1.0), "confidence"),
        ((1, 12, 0.95, 11), "number of fish examined"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(asked, field) -> None:
    with pytest.raises(BadInput) as refused:
        prevalence(*asked)
    assert refused.value.field == field

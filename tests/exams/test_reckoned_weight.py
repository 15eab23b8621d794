"""A weight reckoned from a length is shown as reckoned, with its range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exams.weight import reckoned_weight


def test_a_weight_is_reckoned_with_the_range_of_single_fish() -> None:
    # Tanir 2020: W = 0.0528 L^2.7202 (fork), condition of single fish 1.204 to 4.008.
    answer = reckoned_weight("koi", 40.0, "fork")
    assert answer.weight_g == pytest.approx(0.0528 * 40.0**2.7202)
    assert answer.low_g == pytest.approx(1.204 * 640.0)
    assert answer.high_g == pytest.approx(4.008 * 640.0)
    assert "Tanir" in answer.source
    assert "reckoned" in answer.said
    assert any("none for koi alone" in remark for remark in answer.remarks)
    assert not any("outside" in remark for remark in answer.remarks)
    assert any("outside 11.2 to 55.5 cm" in r for r in reckoned_weight("koi", 60, "fork").remarks)


def test_total_length_and_goldfish_have_no_published_range() -> None:
    for answer in (
        reckoned_weight("carp", 40.0, "total"),
        reckoned_weight("Goldfish", 12.0, "fork"),
    ):
        assert (answer.low_g, answer.high_g) == (None, None)
        assert "to" not in answer.said.split("reckoned")[1]
    assert any("not published whether fork" in remark for remark in answer.remarks)


@pytest.mark.parametrize(
    ("species", "kind", "field"),
    [("koi", "not said", "length_kind"), ("sturgeon", "total", "species"), ("", "fork", "species")],
)
def test_what_cannot_be_reckoned_is_asked(species: str, kind: str, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        reckoned_weight(species, 40.0, kind)  # type: ignore[arg-type]
    assert refused.value.field == field


@given(st.floats(11.2, 55.5))
def test_the_weight_lies_within_its_range(length_cm: float) -> None:
    answer = reckoned_weight("koi", length_cm, "fork")
    assert answer.low_g is not None
    assert answer.high_g is not None
    assert answer.low_g < answer.weight_g < answer.high_g

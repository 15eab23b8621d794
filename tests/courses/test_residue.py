"""Properties of the concentration over a course: balance, order, bounds; bad input at its field."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.baths.residue import Step, doses_over, drawn, equal_steps, residue
from store.errors import BadInput

half_lives = st.none() | st.floats(0.5, 5000.0)


@st.composite
def courses(draw: st.DrawFn) -> list[Step]:
    at_h, steps = 0.0, []
    for _ in range(draw(st.integers(1, 8))):
        steps.append(
            Step(at_h, draw(st.floats(0.0, 100.0)), draw(st.just(0.0) | st.floats(0.01, 100.0)))
        )
        at_h += draw(st.floats(0.0, 400.0))
    return steps


@given(steps=courses(), half_life_h=half_lives, more_h=st.floats(0.0, 500.0))
def test_what_goes_in_is_there_or_gone(
    steps: list[Step], half_life_h: float | None, more_h: float
) -> None:
    answer = residue(steps, half_life_h=half_life_h, until_h=steps[-1].at_h + more_h)
    rate_h = 0.0 if half_life_h is None else math.log(2.0) / half_life_h
    given_in = sum(step.dose_mg_l for step in steps)
    changed_out = 0.0
    for place, step in enumerate(steps[1:], start=1):
        span_h = step.at_h - steps[place - 1].at_h
        held = answer.after_mg_l[place - 1] * math.exp(-rate_h * span_h)
        changed_out += held * step.change_percent / 100.0
    broken_down = rate_h * answer.exposure_mg_h_l
    assert given_in == pytest.approx(answer.end_mg_l + changed_out + broken_down, rel=1e-9)


@given(steps=courses(), half_life_h=half_lives)
def test_never_below_nothing_nor_above_the_bound(
    steps: list[Step], half_life_h: float | None
) -> None:
    answer = residue(steps, half_life_h=half_life_h)
    assert all(value >= 0.0 for value in (*answer.before_mg_l, *answer.after_mg_l))
    for peak, bound in zip(answer.peaks_mg_l, answer.bound_mg_l, strict=True):
        assert peak <= bound * (1.0 + 1e-12)
    assert answer.highest_mg_l <= sum(step.dose_mg_l for step in steps) * (1.0 + 1e-12)
    assert len(answer.troughs_mg_l) == max(0, len(answer.peaks_mg_l) - 1)


@given(steps=courses(), half_life_h=half_lives, factor=st.floats(0.1, 10.0))
def test_it_scales_with_the_doses(
    steps: list[Step], half_life_h: float | None, factor: float
) -> None:
    once = residue(steps, half_life_h=half_life_h)
    more = residue(
        [Step(one.at_h, one.change_percent, one.dose_mg_l * factor) for one in steps],
        half_life_h=half_life_h,
    )
    assert more.after_mg_l == pytest.approx([value * factor for value in once.after_mg_l])
    assert more.exposure_mg_h_l == pytest.approx(once.exposure_mg_h_l * factor)


@given(
    doses=st.integers(2, 30), every=st.floats(0.5, 30.0), change=st.floats(0.0, 100.0),
    half_life_h=half_lives,
)  # fmt: skip
def test_equal_doses_rise_towards_their_plateau(
    doses: int, every: float, change: float, half_life_h: float | None
) -> None:
    answer = residue(equal_steps(1.0, doses, every, change), half_life_h=half_life_h)
    for one, other in pairwise(answer.peaks_mg_l):
        assert other >= one * (1.0 - 1e-12)
    if answer.plateau_mg_l is None:
        assert answer.peaks_mg_l[-1] == pytest.approx(doses, rel=1e-6)
    else:
        assert answer.peaks_mg_l[-1] <= answer.plateau_mg_l * (1.0 + 1e-9)


@given(steps=courses(), half_life_h=half_lives)
def test_the_drawn_line_passes_through_the_steps(
    steps: list[Step], half_life_h: float | None
) -> None:
    answer = residue(steps, half_life_h=half_life_h)
    line = drawn(answer)
    assert all(a[0] <= b[0] + 1e-9 for a, b in pairwise(line))
    for step, after in zip(answer.steps, answer.after_mg_l, strict=True):
        assert (step.at_h, after) in line
    assert line[-1] == pytest.approx((answer.until_h, answer.end_mg_l))


def test_the_area_under_the_drawn_line_is_the_exposure() -> None:
    steps = [Step(0.0, 0.0, 1.0), Step(100.0, 30.0, 0.5), Step(150.0, 50.0), Step(300.0, 0.0, 2.0)]
    answer = residue(steps, half_life_h=40.0)
    line = drawn(answer, points=400)
    area = sum((b[0] - a[0]) * (a[1] + b[1]) / 2.0 for a, b in pairwise(line))
    assert area == pytest.approx(answer.exposure_mg_h_l, rel=1e-5)


def test_an_early_dose_peaks_higher_and_a_missed_change_too() -> None:
    planned = residue(equal_steps(1.0, 3, 7.0, 30.0), half_life_h=48.0)
    early = residue(
        [Step(0.0, 0.0, 1.0), Step(96.0, 30.0, 1.0), Step(336.0, 30.0, 1.0)], half_life_h=48.0
    )
    unchanged = residue(
        [Step(0.0, 0.0, 1.0), Step(168.0, 0.0, 1.0), Step(336.0, 30.0, 1.0)], half_life_h=48.0
    )
    assert early.peaks_mg_l[1] > planned.peaks_mg_l[1]
    assert unchanged.peaks_mg_l[1] > planned.peaks_mg_l[1]


def test_doses_over_the_maximum_are_named_by_the_bound() -> None:
    answer = residue(equal_steps(1.0, 3, 7.0, 30.0), half_life_h=1.0)
    assert answer.highest_mg_l == pytest.approx(1.0)
    assert doses_over(answer, 1.7) == (3,)
    assert doses_over(answer, 1.0) == (2, 3)
    assert doses_over(answer, 2.2) == ()


def test_uneven_steps_have_no_plateau() -> None:
    assert residue([Step(0.0, 0.0, 1.0), Step(10.0, 50.0, 1.0), Step(30.0, 50.0, 1.0)]
                   ).plateau_mg_l is None  # fmt: skip
    assert residue([Step(0.0, 0.0, 1.0), Step(10.0, 50.0, 2.0)]).plateau_mg_l is None
    assert residue(equal_steps(1.0, 1, 7.0, 50.0)).plateau_mg_l is None


def test_it_says_what_it_rests_on() -> None:
    assert "safe bound" in residue(equal_steps(1.0, 2, 7.0)).remarks[0]
    lossy = residue(equal_steps(1.0, 2, 7.0, 30.0), half_life_h=24.0)
    assert any("one pH and one temperature" in remark for remark in lossy.remarks)
    assert any("no ground for a larger dose" in remark for remark in lossy.remarks)
    assert lossy.arithmetic == (
        "day 0: 1 mg/L given; day 7: 1 × 0.5^(168/24) × (1 - 0.3) = 0.005469, + 1 = 1.005 mg/L"
    )


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.0, 3, 7.0, 30.0), "dose"),
        ((math.nan, 3, 7.0, 30.0), "dose"),
        ((1.0, 0, 7.0, 30.0), "number of doses"),
        ((1.0, 2.5, 7.0, 30.0), "number of doses"),
        ((1.0, 10**9, 7.0, 30.0), "number of doses"),
        ((1.0, 3, 0.0, 30.0), "interval"),
        ((1.0, 3, -7.0, 30.0), "interval"),
        ((1.0, 3, 7.0, 101.0), "water change"),
        ((1.0, 3, 7.0, -1.0), "water change"),
    ],
)
def test_bad_plans(arguments: tuple[float, int, float, float], field: str) -> None:
    with pytest.raises(BadInput) as told:
        equal_steps(*arguments)
    assert told.value.field == field


@pytest.mark.parametrize(
    ("steps", "half_life_h", "until_h", "field"),
    [
        ([], None, None, "number of doses"),
        ([Step(5.0, 0.0, 1.0), Step(1.0, 0.0, 1.0)], None, None, "hour of the dose"),
        ([Step(0.0, 0.0, -1.0)], None, None, "dose"),
        ([Step(0.0, 120.0, 1.0)], None, None, "water change"),
        ([Step(math.nan, 0.0, 1.0)], None, None, "hour of the dose"),
        ([Step(0.0, 0.0, 1.0)], 0.0, None, "half-life"),
        ([Step(0.0, 0.0, 1.0)], math.nan, None, "half-life"),
        ([Step(9.0, 0.0, 1.0)], None, 8.0, "end of the course"),
    ],
)
def test_bad_steps(
    steps: list[Step], half_life_h: float | None, until_h: float | None, field: str
) -> None:
    with pytest.raises(BadInput) as told:
        residue(steps, half_life_h=half_life_h, until_h=until_h)
    assert told.value.field == field

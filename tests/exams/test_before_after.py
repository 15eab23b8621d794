"""Two examinations set against one another: what can be said, and why the rest cannot."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.exams.before_after import looked_for, set_against
from store.exams.values import Exam, ExamFish, Found
from tests.courses.outcome_ponds import AFTER, BEFORE, clips, looked

ONE, OTHER = date(2026, 5, 1), date(2026, 5, 10)


def told(before: tuple[ExamFish, ...], after: tuple[ExamFish, ...], hazard: str = "gill_flukes"):
    return set_against(looked(ONE, before), looked(OTHER, after), hazard, draws=2000)


def test_counts_of_the_same_marked_fish_give_the_reduction() -> None:
    """Coles et al. 1992, Vet. Parasitol. 44:35-44, the form of the WAAVP reckoned by hand."""
    found = told(clips(BEFORE), clips(AFTER))
    assert (found.by, found.change, found.way) == ("counts", "fewer", "gill clip at 100x")
    assert found.found is not None
    assert found.found.same_fish
    assert found.found.percent == pytest.approx(93.33, abs=0.005)
    assert found.found.shown is not None
    assert found.found.shown.low == pytest.approx(87.22, abs=0.005)
    assert found.found.shown.high == pytest.approx(96.52, abs=0.005)
    assert found.said == (
        "Fewer by 93 %, 87 to 97 % (95 % limits): 37.5 in 5 fields before, 2.5 after, 8 fish."
    )


def test_other_fish_are_two_groups() -> None:
    found = told(clips(BEFORE), clips(AFTER, marks=("Asa", "Bo")))
    assert found.found is not None
    assert not found.found.same_fish
    assert found.remarks[0].startswith("2 of the fish were the same")
    twins = told(clips(BEFORE, marks=("koi",) * 8), clips(AFTER, marks=("koi",) * 8))
    assert twins.found is not None
    assert not twins.found.same_fish


def test_other_fields_are_reckoned_a_field() -> None:
    found = told(clips(BEFORE), clips([2 * one for one in AFTER], fields=10))
    assert found.found is not None
    assert found.found.percent == pytest.approx(93.33, abs=0.005)
    assert "7.5 a field before, 0.5 after" in found.said
    assert found.remarks[0].startswith("Not as many fields")


def _with_skin(gills: tuple[ExamFish, ...], skins: tuple[int, ...]) -> tuple[ExamFish, ...]:
    """The same fish with a scrape, in which so many were counted, before the clip."""
    return tuple(
        replace(one, preparations=(
            replace(one.preparations[0], kind="skin scrape",
                    found=(Found("gill_flukes", counted=number),)), *one.preparations))
        for one, number in zip(gills, skins, strict=True)
    )  # fmt: skip


def test_of_two_preparations_the_one_that_holds_most_answers() -> None:
    """None left on the skin is no answer while the gills carry them."""
    before = _with_skin(clips(BEFORE), (4, 0, 7, 0, 2, 5, 0, 0))
    found = told(before, _with_skin(clips(AFTER), (0,) * 8))
    assert found.way == "gill clip at 100x"
    assert found.found is not None
    assert found.found.percent == pytest.approx(93.33, abs=0.005)
    assert found.remarks[0].startswith("In a skin scrape at 100x as well: Fewer by 100 %")
    assert "Not so" not in found.said
    worse = told(before, _with_skin(clips(AFTER), (8, 0, 14, 0, 4, 10, 0, 0)))
    assert worse.change == "fewer"
    assert "Not so in a skin scrape at 100x: " in worse.said
    many = _with_skin(clips((3,) * 8), (40,) * 8)  # as many fish, more of them on the skin
    assert told(many, many).way == "skin scrape at 100x"


def test_where_it_is_found_only_after_stands_beside() -> None:
    after = _with_skin(clips(AFTER), (0, 0, 2, 0, 0, 0, 0, 0))
    found = told(clips(BEFORE), after)
    assert found.remarks[0] == (
        "After it was also found in a skin scrape at 100x, where none was found before."
    )


def test_two_slides_of_a_fish_count_together() -> None:
    (fish,) = clips((10,))
    slide = fish.preparations[0]
    twice = replace(fish, preparations=(slide, replace(slide, found=(Found("gill_flukes", 2),))))
    found = told((twice,), clips((6,), fields=10))
    assert found.found is not None
    assert (found.found.mean_before, found.found.mean_after) == (12.0, 6.0)
    assert found.change == "not shown"  # of one fish nothing is known of the others


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        (clips((3, 2, 2, 1), scores=True), clips((0, 0, 1, 0), scores=True), "scored before"),
        (clips((30, 20)), clips((1, 1), scores=True), "scored after"),
        (clips((30, None)), clips((1, 1)), "before without a number"),
        (clips((30, 20), fields=None), clips((1, 1)), "before without the number of fields"),
        (clips((30, 20)), clips((1, 1), magnification=None), "not entered on both sides"),
        (clips((30,), magnification=None), clips((1,), magnification=None), "not entered"),
    ],
)
def test_without_counts_the_share_of_fish_is_told(before, after, why) -> None:
    found = told(before, after)
    assert found.by == "share"
    assert why in found.why
    assert found.found is None
    assert found.share is not None
    assert f"of {len(before)} fish carried any before" in found.said


def test_scores_are_told_as_ranks_and_never_averaged() -> None:
    found = told(clips((3, 2, 2, 1), scores=True), clips((0, 0, 1, 0), scores=True))
    assert found.said.endswith("Scores of 3 before: 3, 2, 2, 1; after: 1, 0, 0, 0.")
    assert found.change == "not shown"  # 4 of 4, then 1 of 4: 5 of 70 drawings do as well
    many = told(clips((3,) * 8, scores=True), clips((0,) * 8, scores=True))
    assert many.change == "fewer"
    # All carry it still, lightly: that is not seen in the share, and is no failure.
    assert told(clips((3,) * 8, scores=True), clips((1,) * 8, scores=True)).change == "not shown"


@pytest.mark.parametrize(
    ("after", "why"),
    [
        (clips((1, 1), magnification=400), "read at 100x and the other at 400x"),
        (clips((1, 1), kind="skin scrape"), "no gill clip was looked at after"),
    ],
)
def test_what_was_looked_at_otherwise_is_not_compared(after, why) -> None:
    found = told(clips((30, 20)), after)
    assert (found.by, found.change) == ("nothing", "not told")
    assert why in found.said


def test_nothing_before_is_no_burden() -> None:
    assert "no gill flukes had been found" in told(clips((0, 0)), clips((0, 0))).why
    zero = Found("gill_flukes", counted=0)
    (fish,) = clips((0,))
    named = replace(fish, preparations=(replace(fish.preparations[0], found=(zero,)),))
    assert told((named,), clips((4,))).by == "nothing"


def test_by_eye_none_must_be_said() -> None:
    lousy = ExamFish(by_eye=(Found("fish_louse", counted=4),))
    silent = told((lousy,), (ExamFish(),), "fish_louse")
    assert silent.by == "nothing"
    assert "enter 0" in silent.why
    clean = ExamFish(by_eye=(Found("fish_louse", counted=0),))
    found = told((lousy, replace(lousy, nth=2)), (clean, ExamFish(nth=2)), "fish_louse")
    assert found.by == "counts"
    assert found.found is not None
    assert found.found.percent == 100.0
    assert "4 on a fish before" in found.said


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        ((20, 22, 19, 21), (20, 25, 19, 30), "no fewer"),
        ((20, 2, 60, 1), (10, 30, 1, 2), "not shown"),
        ((20, 22, 19, 21), (0, 0, 0, 0), "fewer"),
        ((20, 22), (0, 0), "not shown"),
    ],
)
def test_what_these_fish_do_not_show_is_not_called_a_success(before, after, change) -> None:
    assert told(clips(before), clips(after)).change == change


counts = st.lists(st.integers(0, 60), min_size=1, max_size=8).filter(any)


@settings(max_examples=40, deadline=None)
@given(st.data(), counts, st.booleans())
def test_the_order_of_entry_changes_nothing(data: st.DataObject, before, scored: bool) -> None:
    after = data.draw(st.lists(st.integers(0, 60), min_size=1, max_size=8))
    if scored:
        before, after = [one % 4 for one in before], [one % 4 for one in after]
    one, other = (clips(side, scores=scored) for side in (before, after))
    mixed = [data.draw(st.permutations(side)) for side in (one, other)]
    again = [tuple(replace(f, nth=n) for n, f in enumerate(side, 1)) for side in mixed]
    assert told(*again) == told(one, other)


def test_who_looked_for_it() -> None:
    clean = looked(ONE, clips((0,)))
    assert looked_for(clean, "gill_flukes", ("gill clip",))
    assert not looked_for(clean, "skin_flukes", ("skin scrape",))
    named = Exam(clean.at, "routine", "Ada", (ExamFish(by_eye=(Found("khv", counted=0),)),))
    assert looked_for(named, "khv")
    assert not looked_for(named, "svc")

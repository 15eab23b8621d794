"""What findings mean, and which of them can be set against one another."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.exams.bearing import bearings, reminder, with_finding
from store.exams.burden import burden, burdens, comparable
from store.exams.values import Exam, ExamFish, Found, Prep
from store.facts.hazards import hazards
from tests.exams.looked_at import exam, found_in, koi


def told(what: Exam, code: str, **beside: float | bool) -> list[str]:
    return [one.said for one in bearings(what, **beside) if one.code == code]  # type: ignore[arg-type]


def test_gill_flukes_on_the_skin_as_well_are_a_heavy_burden() -> None:
    flukes = Found("gill_flukes", counted=5)
    both = exam(koi(found_in("gill clip", flukes)), koi(found_in("skin scrape", flukes), nth=2))
    heaviest = bearings(both)[0]
    assert (heaviest.code, heaviest.weight) == ("spread", "heavy")
    assert heaviest.said == "Gill flukes on the skin as well: the burden is heavy."
    assert heaviest.standing == "common practice"
    gill = exam(koi(found_in("gill clip", flukes)))
    assert told(gill, "spread") == []
    none = Found("gill_flukes", counted=0)
    clean = exam(koi(found_in("gill clip", flukes), found_in("skin scrape", none)))
    assert told(clean, "spread") == []


def test_what_one_parasite_is_enough_for_says_so_with_its_source() -> None:
    # UF/IFAS CIR920 on white spot: treat at once when one is found.
    spot = exam(koi(found_in("gill clip", Found("white_spot", counted=1))))
    assert bearings(spot)[0].weight == "heavy"
    assert "one parasite found is enough" in bearings(spot)[0].said
    assert told(exam(koi(found_in("skin scrape", Found("costia", score=1)))), "once") == []


def test_swapped_names_are_asked_about() -> None:
    flukes = found_in("skin scrape", Found("gill_flukes", counted=4))
    asked = told(exam(koi(flukes, found_in("gill clip"))), "swapped")
    assert asked == [
        "Gill flukes on the skin and none on the gill: look again for the four eye spots, "
        "lobed head."
    ]
    assert told(exam(koi(flukes)), "swapped") == []  # the gill was not looked at
    skin = found_in("gill clip", Found("skin_flukes", counted=4))
    assert "no eye spots" in told(exam(koi(skin)), "swapped")[0]
    both = found_in("skin scrape", Found("skin_flukes", counted=4))
    assert told(exam(koi(skin, both)), "swapped") == []


def test_white_tufts_in_warm_water_are_not_taken_for_a_mould() -> None:
    tufts = exam(koi(signs=("tufts",)))
    assert (
        "23 °C, quick losses" in told(tufts, "columnaris", temperature_c=23.0, dying_fast=True)[0]
    )
    assert told(tufts, "columnaris", temperature_c=9.0) == []
    assert "temperature is not known" in told(tufts, "columnaris")[0]
    mould = exam(koi(found_in("lesion edge", Found("water_mould"))))
    assert told(mould, "columnaris", temperature_c=24.0)
    named = exam(koi(found_in("lesion edge", Found("columnaris")), signs=("tufts",)))
    assert told(named, "columnaris", temperature_c=24.0) == []
    assert told(exam(koi(signs=("gills_pale",))), "columnaris", temperature_c=24.0) == []


def test_a_few_trichodina_are_normal_and_a_count_wants_its_fields() -> None:
    few = exam(koi(found_in("skin scrape", Found("trichodina", counted=3), fields=None)))
    assert "the count matters" in told(few, "few")[0]
    assert "without the number of fields" in told(few, "uncounted")[0]
    assert told(exam(koi(found_in("skin scrape", Found("costia", score=1)))), "uncounted") == []


def test_a_burden_is_one_number_a_fish_and_a_clean_slide_is_zero() -> None:
    what = exam(
        koi(found_in("gill clip", Found("gill_flukes", counted=23))),
        koi(found_in("gill clip"), nth=2),
        koi(found_in("gill clip", Found("gill_flukes", counted=4), fields=10),
            found_in("gill clip", Found("gill_flukes", counted=6), fields=10), nth=3),
        koi(found_in("skin scrape"), nth=4),
    )  # fmt: skip
    (one,) = burdens(what)
    assert one.per_field == pytest.approx((4.6, 0.5, 0.0))
    assert (one.scores, one.unmeasured, one.fish) == ((), 0, 3)
    assert one.said == "gill flukes, gill clip at 100x: 4.6, 0.5, 0 a field"
    assert burden(what, "gill_flukes", "skin scrape", 100).per_field == (0.0,)
    assert burden(what, "gill_flukes", "gill clip", 40).fish == 0
    assert [fish.nth for fish in with_finding(what, "gill_flukes")] == [1, 3]


def test_counts_and_scores_are_never_one_number() -> None:
    mixed = exam(
        koi(found_in("skin scrape", Found("costia", counted=8))),
        koi(found_in("skin scrape", Found("costia", score=2)), nth=2),
        koi(found_in("skin scrape", Found("costia")), nth=3),
        koi(found_in("skin scrape", Found("costia", counted=8), fields=None), nth=4),
    )
    (one,) = burdens(mixed)
    assert (one.per_field, one.scores, one.unmeasured) == ((1.6,), (2,), 2)
    assert any("not one scale" in remark for remark in one.remarks)
    scored = exam(koi(found_in("skin scrape", Found("costia", score=3))),
                  koi(found_in("skin scrape"), nth=2))  # fmt: skip
    assert burdens(scored)[0].scores == (3, 0)
    # Both were scored in part, so that the scores can be compared, and the counts cannot.
    assert comparable(one, burdens(scored)[0]) == ""


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (Prep("gill clip", "", 100, 5, found=(Found("costia", counted=1),)), "not one scale"),
        (
            Prep("skin scrape", "", 200, 5, found=(Found("costia", counted=1),)),
            "not the same field",
        ),
        (Prep("skin scrape", "", None, 5, found=(Found("costia", counted=1),)), "not entered"),
        (Prep("skin scrape", "", 100, 5, found=(Found("costia", score=1),)), "no scale is shared"),
        (Prep("skin scrape", "", 100, 5, found=(Found("trichodina", score=1),)), "two hazards"),
        (Prep("skin scrape", "", 100, 3, found=(Found("costia", counted=1),)), ""),
    ],
)
def test_burdens_are_compared_on_one_scale_alone(other: Prep, said: str) -> None:
    before = burdens(exam(koi(found_in("skin scrape", Found("costia", counted=9)))))[0]
    answer = comparable(before, burdens(exam(koi(other)))[0])
    assert said in answer
    assert bool(said) == bool(answer)


def test_a_reminder_tells_the_one_from_the_other() -> None:
    # Dactylogyrus: four eye spots, eggs. Gyrodactylus: none, live young (wet-mount teaching).
    gill, skin = reminder("gill_flukes"), reminder("skin_flukes")
    assert "eye spots" in gill.identify[0]
    assert gill.alike == (("skin flukes", skin.identify),)
    assert any("hooks of their own" in line for line in skin.identify)
    for code in hazards():
        assert reminder(code).identify
        assert reminder(code).source


counts = st.integers(0, 400)


@given(st.lists(st.tuples(counts, st.integers(1, 20)), min_size=1, max_size=8))
def test_no_fish_is_lost_in_a_burden(slides: list[tuple[int, int]]) -> None:
    fish = [
        ExamFish(nth, preparations=(
            found_in("gill clip", Found("gill_flukes", counted=count), fields=fields),))
        for nth, (count, fields) in enumerate(slides, start=1)
    ]  # fmt: skip
    one = burden(exam(*fish), "gill_flukes", "gill clip", 100)
    assert one.fish == len(slides)
    assert sorted(one.per_field) == pytest.approx(sorted(c / f for c, f in slides))

"""An examination while it is entered: gear in words, the form of a fish, the occasion."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exams.entry import read_gear, reminded, write_gear
from store.exams.fish_form import fish_texts, found_texts, read_fish_form, read_found, read_signs
from store.exams.line import understand_fish
from store.exams.occasion import made_exam, read_occasion
from store.exams.values import BY_EYE, ExamFish, Found, Prep
from tests.exams.looked_at import GILL, SKIN, koi

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
ZONE = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("typed", "gear", "what", "minutes"),
    [
        ("", "not said", "", None),
        ("no", "not disinfected", "", None),
        ("own net", "own to the pond", "", None),
        ("the pond's own", "own to the pond", "", None),
        ("yes", "disinfected", "", None),
        ("iodophor 10 min", "disinfected", "iodophor", 10.0),
        ("disinfected with iodophor 1:250, 0.5 h", "disinfected", "iodophor 1:250", 30.0),
        ("in chloramine, 1 h", "disinfected", "chloramine", 60.0),
        ("yes, Virkon", "disinfected", "Virkon", None),
    ],
)
def test_gear_in_words(typed: str, gear: str, what: str, minutes: float | None) -> None:
    said = read_gear(typed)
    assert (said.gear, said.disinfectant, said.contact_min, said.question) == (
        gear, what, minutes, "",
    )  # fmt: skip
    assert read_gear(write_gear(said)) == said


@pytest.mark.parametrize("typed", ["iodophor", "dried in the sun", "5 min, 10 min", "9000 h"])
def test_words_that_may_mean_something_else_are_asked_about(typed: str) -> None:
    said = read_gear(typed)
    assert said.question
    assert (said.gear, said.disinfectant, said.contact_min) == ("not said", "", None)
    if said.written:
        assert read_gear(said.written).gear == "disinfected"


def test_the_hazards_of_a_question_stand_beside_the_line() -> None:
    assert reminded(understand_fish("gill: flukes 3")) == ("gill_flukes", "skin_flukes")
    assert reminded(understand_fish("skin: costia ++; gill: gill flukes 2")) == ("gill_flukes",)
    assert reminded(understand_fish("koi 42 cm, thin")) == ()


WHOLE = koi(
    GILL, SKIN, Prep("fin clip", "tail", 40, 3), nth=2, mark="two spots", length_cm=42.0,
    length_kind="fork", weight_g=1200.0, weight_how="reckoned", condition="thin",
    behaviour=("clamped", "gasping"), signs=("gills_pale",), other="scale: missing; left",
    treated="cleaned, iodine", photos=("IMG_0012.jpg", "b.jpg"),
    by_eye=(Found("fish_louse", counted=3, note="tail"), Found("anchor_worm", counted=0)),
)  # fmt: skip


def test_a_fish_goes_through_the_form_unchanged() -> None:
    assert read_fish_form(fish_texts(WHOLE), 2) == WHOLE


def test_an_empty_form_says_that_nothing_was_looked_at() -> None:
    assert read_fish_form({}, 3) == ExamFish(nth=3)


def test_a_score_and_a_count_in_words() -> None:
    for found in (
        Found("costia", score=0), Found("costia", score=3, motile="yes"), Found("costia"),
        Found("costia", counted=0), Found("costia", counted=7, confidence="suspected"),
    ):  # fmt: skip
        assert read_found(found_texts(found), 5) == found


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        ({"length": "long"}, "length"),
        ({"length": "4 m"}, "length"),
        ({"weight": "1200"}, "weight_how"),
        ({"weight_how": "weighed"}, "weight"),
        ({"signs": "clamped, sad"}, "signs"),
        ({"signs": "42 cm"}, "signs"),
        ({"1.fields": "5"}, "1.kind"),
        ({"1.kind": "gill clip"}, "1.1.hazard"),
        ({"1.kind": "gill clip", "1.1.much": "23"}, "1.1.hazard"),
        ({"1.kind": "gill clip", "1.1.hazard": "costia", "1.1.much": "some"}, "1.1.much"),
        ({"1.kind": "gill clip", "1.1.hazard": "costia", "1.1.much": "4 per field"}, "1.1.much"),
        ({"1.kind": "gill clip", "1.fields": "0", "1.1.hazard": "nothing"}, "1.fields"),
        (
            {"1.kind": "gill clip", "1.1.hazard": "nothing", "1.2.hazard": "costia"},
            "1.1.hazard",
        ),
        (
            {"1.kind": "gill clip", "1.1.hazard": "costia", "1.2.hazard": "costia"},
            "1.2.hazard",
        ),
    ],
)
def test_a_fault_is_told_at_its_field(texts: dict[str, str], field: str) -> None:
    with pytest.raises(BadInput) as told:
        read_fish_form(texts, 1)
    assert told.value.field == field


def test_a_bare_number_is_in_the_unit_of_its_field() -> None:
    fish = read_fish_form({"length": "42,5", "weight": "1.2 kg", "weight_how": "weighed"}, 1)
    assert (fish.length_cm, fish.weight_g) == (42.5, 1200.0)


def test_what_is_seen_without_a_slide_is_by_the_eye() -> None:
    fish = read_fish_form({"1.kind": BY_EYE, "1.1.hazard": "fish_louse", "1.1.much": "3"}, 1)
    assert (fish.preparations, fish.by_eye) == ((), (Found("fish_louse", counted=3),))


def test_signs_are_words_of_the_list() -> None:
    assert read_signs(" clamped ,gasps") == (("clamped", "gasping"), ())


@given(st.text(max_size=40), st.sampled_from(["length", "weight", "signs", "1.1.much", "photos"]))
def test_any_text_is_read_or_told_at_a_field(text: str, name: str) -> None:
    texts = {"1.kind": "gill clip", "1.1.hazard": "costia", name: text}
    field: str | None = name
    try:
        read_fish_form(texts, 1)
    except BadInput as told:
        field = told.field
    assert field


@given(st.text(max_size=40))
def test_any_words_for_the_gear_are_read_or_asked_about(text: str) -> None:
    said = read_gear(text)
    assert said.question or read_gear(write_gear(said)) == said


def test_now_is_meant_where_nothing_is_said() -> None:
    found = read_occasion({"purpose": "routine"}, now=NOW, zone=ZONE, examiner="Ada Vet")
    assert (found.at, found.purpose, found.examiner) == (NOW, "routine", "Ada Vet")
    earlier = {"purpose": "routine", "on_day": "yesterday", "at_time": "16:20"}
    at = read_occasion(earlier, now=NOW, zone=ZONE, examiner="Ada Vet").at
    assert at == datetime(2026, 3, 13, 16, 20, tzinfo=UTC)
    assert NOW - at > timedelta(hours=15)


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        ({"purpose": ""}, "purpose"),
        ({"purpose": "routine", "on_day": "yesterday"}, "at_time"),
        ({"purpose": "routine", "at_time": "09:30"}, "at_time"),
        ({"purpose": "routine", "on_day": "2026-03-15"}, "on_day"),
        ({"purpose": "routine", "on_day": "soon"}, "on_day"),
    ],
)
def test_a_fault_of_the_occasion(texts: dict[str, str], field: str) -> None:
    with pytest.raises(BadInput) as told:
        read_occasion(texts, now=NOW, zone=ZONE)
    assert told.value.field == field


def test_unclear_gear_is_never_kept() -> None:
    said = read_occasion(
        {"purpose": "routine", "gear": "iodophor"}, now=NOW, zone=ZONE, examiner="Ada"
    )
    with pytest.raises(BadInput) as told:
        made_exam(said, (WHOLE,))
    assert told.value.field == "gear"
    clear = read_occasion(
        {"purpose": "routine", "gear": "iodophor 10 min"}, now=NOW, zone=ZONE, examiner="Ada"
    )
    assert made_exam(clear, (WHOLE,)).contact_min == 10.0

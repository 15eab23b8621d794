"""The line typed at the pond: what is understood, what is asked, and that nothing is lost."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.exams.line import answered, keep_in_note, understand_fish, write
from store.exams.line_words import SPECIES, words
from store.exams.values import ExamFish, Found, Prep
from store.facts.hazards import hazards
from store.facts.signs import signs


def test_a_fish_with_two_preparations() -> None:
    line = "koi 42 cm; gill 100x 5 fields: gill flukes 23, trichodina +; skin: costia 2 suspected"
    understood = understand_fish(f"{line}; thin, clamped")
    assert understood.doubts == ()
    assert understood.fish == ExamFish(
        species="koi",
        length_cm=42.0,
        condition="thin",
        behaviour=("clamped",),
        preparations=(
            Prep("gill clip", "", 100, 5, "", (
                Found("gill_flukes", counted=23), Found("trichodina", score=1))),
            Prep("skin scrape", "", None, None, "", (
                Found("costia", counted=2, confidence="suspected"),)),
        ),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("costia", Found("costia")),
        ("costia 0", Found("costia", counted=0)),
        ("no costia", Found("costia", counted=0)),
        ("costia none", Found("costia", counted=0)),
        ("Ichthyobodo necator +++", Found("costia", score=3)),
        ("ich score 2", Found("white_spot", score=2)),
        ("Dactylogyrus 12 motile", Found("gill_flukes", counted=12, motile="yes")),
        ("gyro 3?", Found("skin_flukes", counted=3, confidence="suspected")),
        ("trich ++ not motile (old slide)",
         Found("trichodina", score=2, motile="no", note="old slide")),
    ],
)  # fmt: skip
def test_a_finding_is_read(typed: str, found: Found) -> None:
    understood = understand_fish(f"skin: {typed}")
    assert understood.doubts == ()
    assert understood.fish.preparations == (Prep("skin scrape", found=(found,)),)


@pytest.mark.parametrize(
    ("line", "prep"),
    [
        ("gill: none", Prep("gill clip")),
        ("Gill biopsy 100× 5f: nothing", Prep("gill clip", "", 100, 5)),
        ("fin clip (tail) x40 1 field: clean", Prep("fin clip", "tail", 40, 1)),
        ("scrape: clear, note read late", Prep("skin scrape", note="read late")),
    ],
)
def test_a_slide_in_which_nothing_was_found(line: str, prep: Prep) -> None:
    understood = understand_fish(line)
    assert understood.doubts == ()
    assert understood.fish.preparations == (prep,)


@pytest.mark.parametrize(
    ("line", "asked", "answer"),
    [
        ("skin: flukes 3", "may be gill flukes or skin flukes", "skin: gill flukes 3"),
        ("skin: trichodyna ++", "Is it trichodina?", "skin: trichodina ++"),
        ("skin: fungus", "may be water mould or columnaris", "skin: water mould"),
        ("gill 100x 5 fields", "was nothing found in it?", "gill 100x 5 fields: nothing"),
        ("skin:", "Was nothing found", "skin: nothing"),
        ("gill 100x gill flukes 3", "A colon belongs", "gill 100x: gill flukes 3"),
        ("gill 40: nothing", "magnification or fields?", "gill 40x: nothing"),
        ("gill left 40x: nothing", "Is it the place?", "gill (left) 40x: nothing"),
        ("gill 5 fields: costia 2 a field", "2 × 5 = 10?", "gill 5 fields: costia 10"),
        ("skin: costia ++++", "from + to +++", "skin: costia +++"),
        ("koi 42", "has no unit", "koi 42 cm"),
        ("koi 420 cm", "is none of a pond", "koi 42 cm"),
        ("white spots", "may be white spot or white grains", "white spot"),
    ],
)
def test_a_doubt_is_asked_and_its_answer_goes_into_the_line(
    line: str, asked: str, answer: str
) -> None:
    understood = understand_fish(line)
    assert len(understood.doubts) == 1
    doubt = understood.doubts[0]
    assert asked in doubt.question
    assert answered(understood, doubt, doubt.answers[0]) == answer
    assert understand_fish(answer).doubts == ()


@pytest.mark.parametrize(
    "line",
    [
        "skin: costia 20+", "skin: costia >20", "skin: costia 2.5", "skin: costia 3 ++",
        "skin: costia +, costia ++", "skin: none, costia 2", "shovel 100x: costia",
        "koi carp, goldfish", "40 cm, 50 cm", "1 kg, 2 kg", "900 kg", "gill 40x 100x: nothing",
        "gill 0x: nothing", "skin: gasping", "koi blurb", "mark a; mark b", "photo",
    ],
)  # fmt: skip
def test_what_is_not_certain_is_no_finding(line: str) -> None:
    understood = understand_fish(line)
    assert understood.doubts
    again = understand_fish(keep_in_note(understood, understood.doubts[0]))
    assert understood.doubts[0].typed in again.fish.other


def test_lengths_and_weights_come_in_their_units() -> None:
    # 1 inch = 2.54 cm and 1 lb = 453.59237 g by definition.
    fish = understand_fish("koi 420 mm total 2.5 lb").fish
    assert (fish.length_cm, fish.length_kind) == (42.0, "total")
    assert fish.weight_g == pytest.approx(1133.980925)
    assert fish.weight_how == "weighed"
    fish = understand_fish('goldfish 10" fork, 1,2 kg reckoned').fish
    assert (fish.length_cm, fish.length_kind) == (25.4, "fork")
    assert (fish.weight_g, fish.weight_how) == (1200.0, "reckoned")


def test_a_clean_slide_is_never_made_of_words_that_were_not_understood() -> None:
    assert understand_fish("skin: costja").fish.preparations == ()


def test_every_name_of_a_hazard_and_every_sign_is_understood() -> None:
    for hazard in hazards().values():
        assert understand_fish(f"skin: {hazard.plain_name} 2").doubts == ()
        assert understand_fish(f"skin: {hazard.name} 2").doubts == (), hazard.name
    for sign in signs().values():
        for said in sign.also:
            fish = understand_fish(f"koi, {said}").fish
            assert sign.code in (*fish.behaviour, *fish.signs), said


TEXT = st.from_regex(r"[a-z]{1,8}( [a-z]{1,8})?", fullmatch=True)


@st.composite
def found(draw: st.DrawFn) -> tuple[Found, ...]:
    made = []
    for hazard in draw(st.lists(st.sampled_from(sorted(hazards())), unique=True, max_size=3)):
        counted = draw(st.none() | st.integers(0, 10_000))
        made.append(
            Found(
                hazard,
                counted,
                draw(st.none() | st.integers(0, 3)) if counted is None else None,
                draw(st.sampled_from(["yes", "no", "not looked"])),
                draw(st.sampled_from(["seen", "suspected"])),
                draw(st.just("") | TEXT),
            )
        )
    return tuple(made)


PREPS = st.builds(
    Prep,
    st.sampled_from(["skin scrape", "gill clip", "fin clip", "lesion edge", "other"]),
    st.just("") | TEXT,
    st.none() | st.integers(1, 1000),
    st.none() | st.integers(1, 50),
    st.just("") | TEXT,
    found(),
)


def _codes(kind: str) -> st.SearchStrategy[tuple[str, ...]]:
    codes = sorted(code for code, sign in signs().items() if sign.kind == kind)
    return st.lists(st.sampled_from(codes), unique=True, max_size=3).map(tuple)


FISH = st.builds(
    ExamFish,
    species=st.sampled_from(["", *SPECIES, "blue gill"]),
    mark=st.just("") | TEXT,
    length_cm=st.none() | st.floats(1.0, 150.0).map(lambda cm: round(cm, 1)),
    condition=st.sampled_from(["thin", "normal", "full", "not looked"]),
    behaviour=_codes("behaviour"),
    signs=_codes("sign"),
    other=st.just("") | TEXT,
    treated=st.just("") | TEXT,
    photos=st.lists(st.from_regex(r"IMG_[0-9]{4}\.jpg", fullmatch=True), max_size=2).map(tuple),
    preparations=st.lists(PREPS, max_size=3).map(tuple),
    by_eye=found(),
)


@given(FISH, st.none() | st.integers(1, 60_000))
@settings(max_examples=60, deadline=None)
def test_what_is_written_is_understood_as_the_same_fish(fish: ExamFish, grams: int | None) -> None:
    if grams is not None:
        fish = replace(fish, weight_g=float(grams), weight_how="weighed")
    if fish.length_cm is not None:
        fish = replace(fish, length_kind="fork")
    understood = understand_fish(write(fish))
    assert understood.doubts == ()
    assert understood.fish == fish


PIECES = st.sampled_from(
    [*sorted(words())[::7], "gill", "skin", "gill:", "skin 100x:", ":", ";", ",", ";", ",", "//",
     "23", "+", "++++", "5 fields", "2.5", ">20", "cm", "42 cm", "1 kg", "?", "none", "no", "(x)",
     "blurb", "costja", "flukes", "treated", "mark", "note", "motile", "100x", "(", ")"]
)  # fmt: skip


@given(st.lists(PIECES, max_size=10).map(" ".join))
@settings(max_examples=400, deadline=None)
def test_nothing_that_was_typed_is_lost(line: str) -> None:
    """With every doubt kept in the note, each number stands in the fish or in what was kept."""
    understood = understand_fish(line)
    for _ in range(60):
        for doubt in understood.doubts:
            assert understood.text[doubt.start : doubt.end] == doubt.typed
        if not understood.doubts:
            break
        understood = understand_fish(keep_in_note(understood, understood.doubts[0]))
    assert understood.doubts == ()
    told = f"{write(understood.fish)} {understood.echo}"
    for figure in re.findall(r"[0-9]+", line):
        assert figure in told, (line, told)


@given(st.text(max_size=40))
@settings(max_examples=200, deadline=None)
def test_no_text_breaks_it(line: str) -> None:
    understood = understand_fish(line)
    for doubt in understood.doubts:
        for answer in doubt.answers:
            understand_fish(answered(understood, doubt, answer))

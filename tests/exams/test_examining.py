"""Examinations entered, read back and corrected, on both databases."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any, get_args
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from store.exams.examinations import examination, examinations_of
from store.exams.examining import (
    add_finding,
    add_fish,
    correct_finding,
    entered_before,
    record_examination,
    strike_examination,
    strike_finding,
)
from store.exams.values import Confidence, Exam, ExamFish, Found, Motile, Prep
from store.facts.hazards import hazards
from store.facts.signs import signs
from tests.book.entries import NOW, add_pond, log_of
from tests.exams.looked_at import GILL, SKIN, enter, exam, koi


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act)
    return key


def test_everything_that_was_entered_is_read_back(book: Book, act: Act, pond: UUID) -> None:
    fish = koi(
        GILL, SKIN, mark="two spots", length_cm=42.0, length_kind="fork", weight_g=1200.0,
        weight_how="weighed", condition="thin", behaviour=("clamped", "gasping"),
        signs=("gills_pale",), other="missing scale", treated="cleaned, iodine",
        photos=("IMG_0012.jpg",), by_eye=(Found("fish_louse", counted=3),),
    )  # fmt: skip
    second = koi(Prep("fin clip", "tail", 40, 3), nth=2)
    what = exam(
        fish, second, purpose="losses", gear="disinfected", disinfectant="iodophor",
        contact_min=10.0, note="cold hands",
    )  # fmt: skip
    key = enter(book, act, pond, what)
    kept = examination(book, key)
    assert kept.exam == what
    assert (kept.pond_id, kept.entered_by, kept.entered_at) == (pond, "Ada Vet", NOW)
    assert kept.exam.hazards == ("gill_flukes", "costia", "fish_louse")
    assert [one.found.hazard for one in kept.fish[0].findings] == [
        "gill_flukes", "costia", "fish_louse",
    ]  # fmt: skip
    # A preparation without a finding says that nothing was found in it.
    assert kept.exam.fish[1].preparations[0].found == ()


def test_the_newest_stands_first(book: Book, act: Act, pond: UUID) -> None:
    old = enter(book, act, pond, exam(at=NOW - timedelta(days=9)))
    new = enter(book, act, pond)
    assert [one.id for one in examinations_of(book, pond)] == [new, old]
    assert examinations_of(book, add_pond(book, act)) == ()


def test_a_corrected_finding_keeps_the_first(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond)
    first = examination(book, key).fish[0].findings[0]
    with book.writing(act) as writing:
        new = correct_finding(
            writing, first.id, first.rev, replace(first.found, counted=32), "figures swapped"
        )
    kept = examination(book, key)
    assert [one.counted for _, one in kept.exam.fish[0].found] == [32, None]
    assert kept.finding(first.id).found.counted == 23
    assert kept.finding(first.id).struck_why == "figures swapped"
    assert (kept.finding(first.id).struck_by, kept.finding(first.id).stands) == ("Ada Vet", False)
    assert [one.id for one in kept.earlier(new)] == [first.id]
    assert [line.what for line in log_of(book, first.id)] == ["add", "strike"]
    with book.writing(act) as writing:
        third = correct_finding(writing, new, 1, Found("skin_flukes", counted=32), "live young")
    kept = examination(book, key)
    assert [one.found.counted for one in kept.earlier(third)] == [32, 23]
    # The correction stands where the first stood.
    assert kept.exam.hazards == ("skin_flukes", "costia")


def test_a_correction_is_refused_whole(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond)
    first = examination(book, key).fish[0].findings[0]
    for found, why, error in (
        (Found("costia"), " ", BadInput),
        (Found("plague"), "misread", BadInput),
        (Found("costia", counted=3, score=1), "misread", BadInput),
    ):
        with pytest.raises(error), book.writing(act) as writing:
            correct_finding(writing, first.id, first.rev, found, why)
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        correct_finding(writing, first.id, 7, Found("costia"), "misread")
    assert examination(book, key).exam == exam()
    with book.writing(act) as writing:
        strike_finding(writing, first.id, 1, "wrong slide")
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        correct_finding(writing, first.id, 2, Found("costia"), "again")
    assert examination(book, key).exam.hazards == ("costia",)


def test_more_is_added_to_an_examination(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond)
    fish = examination(book, key).fish[0]
    with book.writing(act) as writing:
        add_finding(writing, fish.id, Found("trichodina", score=1), fish.preparations[1].id)
        add_finding(writing, fish.id, Found("anchor_worm"))
        add_fish(writing, key, koi(GILL, nth=2))
    kept = examination(book, key).exam
    assert [one.hazard for one in kept.fish[0].preparations[1].found] == ["costia", "trichodina"]
    assert [one.hazard for one in kept.fish[0].by_eye] == ["anchor_worm"]
    assert len(kept.fish) == 2
    other = examination(book, key).fish[1].preparations[0].id
    with pytest.raises(BadInput, match="another fish"), book.writing(act) as writing:
        add_finding(writing, fish.id, Found("costia"), other)
    with pytest.raises(BadInput, match="fish 2 already"), book.writing(act) as writing:
        add_fish(writing, key, koi(nth=2))


def test_a_struck_examination_stays_readable(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond)
    with book.writing(act) as writing:
        strike_examination(writing, key, 1, "wrong pond")
    assert examinations_of(book, pond) == ()
    assert [one.struck_why for one in examinations_of(book, pond, struck=True)] == ["wrong pond"]
    assert examination(book, key).exam == exam()
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        add_fish(writing, key, koi(nth=2))


@pytest.mark.parametrize(
    ("what", "field"),
    [
        (replace(exam(), fish=()), "fish"),
        (exam(koi(), koi()), "fish"),
        (exam(at=NOW + timedelta(days=1)), "at"),
        (exam(examiner=" "), "examiner"),
        (exam(gear="own to the pond", contact_min=5.0), "contact_min"),
        (exam(koi(photos=("holiday/IMG_1.jpg",))), "photos"),
        (exam(koi(photos=("C:IMG_1.jpg",))), "photos"),
        (exam(koi(signs=("purple",))), "signs"),
        (exam(koi(behaviour=("gills_pale",))), "behaviour"),
        (exam(koi(weight_g=900.0)), "weight_g"),
        (exam(koi(weight_how="weighed")), "weight_g"),
        (exam(koi(by_eye=(Found("plague"),))), "hazard"),
        (exam(koi(by_eye=(Found("costia"), Found("costia")))), "hazard"),
        (exam(koi(by_eye=(Found("costia", counted=1, score=1),))), "score"),
        (exam(koi(by_eye=(Found("costia", score=4),))), "score"),
        (exam(koi(Prep("gill clip", fields=0))), "fields"),
        (exam(visit_id=UUID(int=1)), "visit"),
        (exam(course_id=UUID(int=1)), "course"),
    ],
)
def test_what_cannot_be_kept_is_refused_whole(
    sqlite_book: Book, act_of: Any, what: Exam, field: str
) -> None:
    act = act_of(sqlite_book)
    pond = add_pond(sqlite_book, act)
    with pytest.raises(BadInput) as refused:
        enter(sqlite_book, act, pond, what)
    assert refused.value.field == field
    assert examinations_of(sqlite_book, pond, struck=True) == ()


def test_no_examination_of_a_pond_that_is_not_there(book: Book, act: Act, pond: UUID) -> None:
    with pytest.raises(NotFound):
        enter(book, act, UUID(int=4))
    with book.writing(act) as writing:
        writing.strike("pond", pond, "filled in")
    with pytest.raises(NotFound):
        enter(book, act, pond)
    with pytest.raises(NotFound):
        examination(book, UUID(int=4))


def test_a_visit_belongs_to_its_pond(book: Book, act: Act, pond: UUID) -> None:
    other = add_pond(book, act)
    with book.writing(act) as writing:
        visits = {
            key: writing.add("visit", site_id=_site(writing, key), pond_id=key, on_day=NOW.date())
            for key in (pond, other)
        }
    enter(book, act, pond, exam(visit_id=visits[pond]))
    with pytest.raises(BadInput, match="not to this pond"):
        enter(book, act, pond, exam(visit_id=visits[other]))


def _site(writing: Any, pond: UUID) -> UUID:
    from sqlalchemy import select

    from store.book.tables import table

    ponds = table("pond").c
    site: UUID = writing.connection.execute(
        select(ponds.site_id).where(ponds.id == pond)
    ).scalar_one()
    return site


def test_the_same_examination_typed_twice_is_known(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond)
    again = exam(at=NOW + timedelta(minutes=20))
    known = entered_before(book, pond, again)
    assert known is not None
    assert known.id == key
    assert entered_before(book, pond, exam(at=NOW + timedelta(days=1))) is None
    assert entered_before(book, pond, exam(koi(GILL))) is None


TEXT = st.text(st.characters(codec="ascii", categories=["L", "N"]), max_size=12)
HAZARDS = st.sampled_from(sorted(hazards()))


@st.composite
def findings(draw: st.DrawFn) -> tuple[Found, ...]:
    made = []
    for hazard in draw(st.lists(HAZARDS, unique=True, max_size=3)):
        counted = draw(st.none() | st.integers(0, 1000))
        score = draw(st.none() | st.integers(0, 3)) if counted is None else None
        motile: Motile = draw(st.sampled_from(get_args(Motile)))
        sure: Confidence = draw(st.sampled_from(get_args(Confidence)))
        made.append(Found(hazard, counted, score, motile, sure, draw(TEXT)))
    return tuple(made)


PREPS = st.builds(
    Prep,
    st.sampled_from(["skin scrape", "gill clip", "fin clip", "lesion edge", "other"]),
    TEXT,
    st.none() | st.integers(1, 1000),
    st.none() | st.integers(1, 50),
    TEXT,
    findings(),
)


def _codes(kind: str) -> st.SearchStrategy[tuple[str, ...]]:
    codes = sorted(code for code, sign in signs().items() if sign.kind == kind)
    return st.lists(st.sampled_from(codes), unique=True, max_size=3).map(tuple)


FISH = st.builds(
    ExamFish,
    nth=st.just(1),
    species=TEXT,
    mark=TEXT,
    length_cm=st.none() | st.floats(1.0, 120.0),
    length_kind=st.sampled_from(["fork", "total", "not said"]),
    condition=st.sampled_from(["thin", "normal", "full", "not looked"]),
    behaviour=_codes("behaviour"),
    signs=_codes("sign"),
    other=TEXT,
    preparations=st.lists(PREPS, max_size=3).map(tuple),
    by_eye=findings(),
)


@given(fish=st.lists(FISH, min_size=1, max_size=3))
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_examination_is_read_back_as_entered(
    sqlite_book: Book, act_of: Any, fish: list[ExamFish]
) -> None:
    act = act_of(sqlite_book)
    what = exam(*(replace(one, nth=nth) for nth, one in enumerate(fish, start=1)))
    pond = add_pond(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        key = record_examination(writing, pond, what)
    assert examination(sqlite_book, key).exam == what

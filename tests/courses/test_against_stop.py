"""A dose that was given is logged by anybody, against a stop too; a vet answers afterwards."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

import pytest
from treated_ponds import add_carp_pond, at_noon, treat

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.against_stop import answer_open, open_stops, said_open
from store.courses.kept.course_page import course_page
from store.courses.kept.dose_log import log_dose, strike_given
from store.courses.kept.keeping import end_course, turn_course
from store.courses.kept.morning import morning_list, promises, watch_pond
from store.courses.kept.records import course
from store.courses.kept.under_way import under_way
from store.courses.planning.course import Caution
from store.errors import BadInput, NotAllowed, NotFound
from tests.book.entries import NOW

AIR = Caution("low_oxygen", "stop", "Oxygen 4.0 mg/L is too little.", "4.0 < 5")
ORFE = Caution("species", "stop", "Orfe die of it.")
MIND = Caution("gloves", "mind", "Wear gloves.")
TODAY = NOW.date()


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    return add_carp_pond(book, act, use="ornamental")


@pytest.fixture
def desk(book: Book, act: Act) -> Act:
    with book.writing(act) as writing:
        return Act(writing.add("staff", name="Bo Desk", role="receptionist"), NOW)


@pytest.fixture
def key(book: Book, act: Act, pond: UUID) -> UUID:
    """Three doses, the first of them due yesterday."""
    days = [TODAY + timedelta(days=place) for place in (-1, 6, 13)]
    return treat(book, act, pond, "trichlorfon", days, given=0)


def log(book: Book, act: Act, key: UUID, number: int, *cautions: Caution, **reasons: str) -> UUID:
    with book.writing(act) as writing:
        return log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=act.at, amount=9.0,
            amount_unit="g", water_change_percent=0.0, given_by="the owner", cautions=cautions,
            reasons=reasons,
        )  # fmt: skip


def said_now(book: Book, pond: UUID) -> list[tuple[str, str]]:
    return [
        (one.level, one.what)
        for one in watch_pond(book, pond, NOW).concerns
        if one.rule == "dose_against_stop"
    ]


def test_a_dose_against_a_stop_stands_until_a_vet_answers(
    book: Book, act: Act, desk: Act, key: UUID, pond: UUID
) -> None:
    log(book, desk, key, 1, AIR, MIND, gloves="read")
    found = course(book, key)
    assert [one.given.amount for one in found.log] == [9.0]
    assert [(one.code, one.reason, one.by, one.dose) for one in found.answered] == [
        ("low_oxygen", "", desk.by, (1, 1)), ("gloves", "read", desk.by, (1, 1)),
    ]  # fmt: skip
    says = "dose 1 was logged against a stop: a vet has not answered"
    assert said_now(book, pond) == [("act", says)]
    (line,) = morning_list(book, NOW).lines
    assert (line.level, line.what) == ("act", says)
    (row,) = under_way(book, NOW)
    assert (row.level, row.first and row.first.what) == ("act", says)
    waits = course_page(book, key, NOW).unanswered
    assert [said for _, said, _ in said_open(waits)] == [says]
    assert AIR.said in promises(found, TODAY)[0].of

    with pytest.raises(NotAllowed, match="Only a vet can answer"), book.writing(desk) as writing:
        answer_open(writing, key, "low_oxygen", "told to")
    with pytest.raises(BadInput, match="write the answer"), book.writing(act) as writing:
        answer_open(writing, key, "low_oxygen", "  ")
    with pytest.raises(NotFound), book.writing(act) as writing:
        answer_open(writing, key, "species", "none")
    assert said_now(book, pond) == [("act", says)]
    with book.writing(act) as writing:
        assert answer_open(writing, key, "low_oxygen", "aired since, all well") == 1
    found = course(book, key)
    assert open_stops(found) == ()
    last = found.answered[-1]
    assert (last.said, last.reason, last.by) == (
        "Oxygen 4.0 mg/L is too little. 4.0 < 5", "aired since, all well", act.by,
    )  # fmt: skip
    assert said_now(book, pond) == []
    with pytest.raises(NotFound), book.writing(act) as writing:
        answer_open(writing, key, "low_oxygen", "again")


def test_each_stop_and_each_dose_is_answered_for_itself(
    book: Book, act: Act, desk: Act, key: UUID
) -> None:
    log(book, desk, key, 1, AIR, ORFE)
    assert [said for _, said, _ in said_open(open_stops(course(book, key)))] == [
        "dose 1 was logged against 2 stops: a vet has not answered"
    ]
    with book.writing(act) as writing:
        answer_open(writing, key, "low_oxygen", "aired")
    assert [one.stop.code for one in open_stops(course(book, key))] == ["species"]
    # What was answered before one dose does not answer for the next.
    log(book, desk, key, 2, AIR)
    assert [(one.stop.code, one.number) for one in open_stops(course(book, key))] == [
        ("species", 1), ("low_oxygen", 2),
    ]  # fmt: skip


def test_a_dose_that_was_struck_through_waits_for_nobody(
    book: Book, act: Act, desk: Act, key: UUID, pond: UUID
) -> None:
    entry = log(book, desk, key, 1, AIR)
    with book.writing(desk) as writing:
        strike_given(writing, entry, 1, "the other pond")
    assert open_stops(course(book, key)) == ()
    assert said_now(book, pond) == []


@pytest.mark.parametrize("state", ["stopped", "completed"])
def test_the_end_of_the_course_answers_nothing(
    book: Book, act: Act, desk: Act, key: UUID, pond: UUID, state: str
) -> None:
    log(book, desk, key, 1, AIR)
    with book.writing(act) as writing:
        end_course(writing, key, 2, state, "fish gasped")  # type: ignore[arg-type]
    assert [level for level, _ in said_now(book, pond)] == ["act"]
    assert [one.course.id for one in under_way(book, NOW)] == [key]
    with book.writing(act) as writing:
        answer_open(writing, key, "low_oxygen", "it came to nothing")
    assert said_now(book, pond) == []
    assert under_way(book, NOW) == ()


def test_a_vet_answers_as_it_is_logged_and_nobody_else_does(
    book: Book, act: Act, desk: Act, key: UUID, pond: UUID
) -> None:
    with pytest.raises(BadInput, match="please write why"):
        log(book, act, key, 1, AIR)
    with pytest.raises(NotAllowed, match="against a stop"):
        log(book, desk, key, 1, AIR, low_oxygen="I was told to.")
    assert course(book, key).log == ()
    log(book, act, key, 1, AIR, low_oxygen="aired")
    assert open_stops(course(book, key)) == ()
    assert said_now(book, pond) == []
    with pytest.raises(NotAllowed, match="Only a vet"), book.writing(desk) as writing:
        turn_course(writing, key, course(book, key).rev)


def test_the_answer_waits_from_the_day_on_which_it_was_given(
    book: Book, act: Act, desk: Act, key: UUID
) -> None:
    yesterday = at_noon(TODAY - timedelta(days=1))
    with book.writing(desk) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, 1], given_at=yesterday, amount=9.0,
            amount_unit="g", water_change_percent=0.0, given_by="the owner", cautions=(AIR,),
        )  # fmt: skip
    (waits,) = [one for one in promises(course(book, key), TODAY) if one.kind == "answer"]
    assert waits.due == TODAY - timedelta(days=1)

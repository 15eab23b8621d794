"""What examinations leave open on the desk, on both databases: findings and laboratory results."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import about_of
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.exams import (
    FOUND_RULE,
    RESULT_DAYS,
    SEND_DAYS,
    from_findings,
    from_laboratory,
)
from store.diary.kept.due.gather.whereabouts import whereabouts
from store.exams.specimens import add_sample, report_result, sample, send_sample
from store.exams.values import Found
from store.watch.rulebook import change_rule
from tests.book.entries import NOW
from tests.diary.desk_entries import DAY, TODAY, Owned, own
from tests.exams.looked_at import SKIN, enter, exam, found_in, koi


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    return own(book, act)


def findings(book: Book, client: UUID | None = None) -> list[Promised]:
    return list(from_findings(book, whereabouts(book, client), TODAY, TODAY + 7 * DAY))


def results(book: Book, ahead: int = 7, client: UUID | None = None) -> list[Promised]:
    where = whereabouts(book, client)
    return list(from_laboratory(book, where, TODAY, TODAY + ahead * DAY))


def take(book: Book, act: Act, pond: UUID, **values: Any) -> UUID:
    said = {"label": "BH-1", "material": "gill", "laboratory": "North Laboratory"} | values
    with book.writing(act) as writing:
        return add_sample(writing, pond, **said)


def test_a_finding_waits_for_a_vet_from_its_day_on(book: Book, act: Act, owned: Owned) -> None:
    flukes = found_in("gill clip", Found("gill_flukes", counted=23))
    enter(book, act, owned.pond, exam(koi(flukes), at=NOW - 5 * DAY))
    (one,) = findings(book)
    day = TODAY - 5 * DAY
    assert (one.kind, one.needs, one.origin) == ("finding", "vet", "examination")
    assert (one.due_on, one.first_on, one.last_on) == (day, day, day + 2 * DAY)
    assert (about_of(one.about).key, about_of(one.about).code) == (owned.pond, "gill_flukes")
    assert one.promised_by == "Ada Vet"
    assert one.says == "gill flukes found, no answer yet"
    assert one.because.startswith("Found on 9 Mar 2026 by Ada Vet on 1 of 1 fish")


def test_each_hazard_is_a_line_and_a_suspicion_says_so(book: Book, act: Act, owned: Owned) -> None:
    flukes = found_in("gill clip", Found("gill_flukes", counted=23))
    enter(book, act, owned.pond, exam(koi(flukes, SKIN), at=NOW - DAY))
    by_code = {about_of(one.about).code: one for one in findings(book)}
    assert set(by_code) == {"gill_flukes", "costia"}
    assert by_code["costia"].because.startswith("Suspected on 13 Mar 2026")


def test_what_a_clean_look_answered_is_no_line(book: Book, act: Act, owned: Owned) -> None:
    flukes = found_in("gill clip", Found("gill_flukes", counted=23))
    enter(book, act, owned.pond, exam(koi(flukes), at=NOW - 5 * DAY))
    enter(book, act, owned.pond, exam(koi(found_in("gill clip")), at=NOW - DAY))
    assert findings(book) == []


def rest(book: Book, act: Act, pond: UUID, days: int = 9) -> None:
    with book.writing(act) as writing:
        writing.add(
            "rest", pond_id=pond, rule=FOUND_RULE, until_day=TODAY + days * DAY, reason="a few",
            level="act", value=5.0,
        )  # fmt: skip


def test_what_the_vet_put_to_rest_rests_until_more_is_found(
    book: Book, act: Act, owned: Owned
) -> None:
    flukes = found_in("gill clip", Found("gill_flukes", counted=23))
    enter(book, act, owned.pond, exam(koi(flukes), at=NOW - 5 * DAY))
    rest(book, Act(act.by, NOW + timedelta(minutes=1)), owned.pond)
    assert findings(book) == []
    costia = found_in("skin scrape", Found("costia", score=3))
    later = Act(act.by, NOW + timedelta(minutes=5))
    enter(book, later, owned.pond, exam(koi(costia), at=NOW))
    assert [about_of(one.about).code for one in findings(book)] == ["costia"]


def test_a_silenced_rule_leaves_no_line(book: Book, act: Act, owned: Owned) -> None:
    enter(book, act, owned.pond, exam(koi(found_in("gill clip", Found("gill_flukes", counted=23)))))
    assert findings(book)
    change_rule(book, act, FOUND_RULE, params={}, why="we keep another list", enabled=False)
    assert findings(book) == []


def test_only_ponds_of_the_client_that_is_wanted(book: Book, act: Act, owned: Owned) -> None:
    other = own(book, act, "Ferry Cottage")
    for pond in (owned.pond, other.pond):
        enter(book, act, pond, exam(koi(found_in("gill clip", Found("gill_flukes", counted=23)))))
        take(book, act, pond, taken_on=TODAY - 40 * DAY, sent_on=TODAY - 39 * DAY)
    assert {one.pond_id for one in findings(book)} == {owned.pond, other.pond}
    assert {one.pond_id for one in findings(book, other.client)} == {other.pond}
    assert {one.pond_id for one in results(book, client=other.client)} == {other.pond}


def test_a_result_is_asked_after_two_weeks(book: Book, act: Act, owned: Owned) -> None:
    sent = TODAY - 20 * DAY
    key = take(book, act, owned.pond, taken_on=sent - DAY, sent_on=sent, asked="KHV by PCR")
    (one,) = results(book)
    due = sent + RESULT_DAYS * DAY
    assert (one.due_on, one.first_on, one.last_on) == (due, due, due + 2 * DAY)
    assert (one.kind, one.needs, one.says) == ("laboratory", "call", "laboratory result awaited")
    assert about_of(one.about).key == key
    assert one.promised_by == "North Laboratory"
    assert one.because == (
        "Gill “BH-1” for KHV by PCR was sent to North Laboratory on 22 Feb 2026; a result is asked "
        "for after 14 days."
    )


def test_a_result_is_no_line_before_its_time_nor_after_its_report(
    book: Book, act: Act, owned: Owned
) -> None:
    key = take(book, act, owned.pond, taken_on=TODAY - 3 * DAY, sent_on=TODAY - 3 * DAY)
    assert results(book, ahead=10) == []
    assert len(results(book, ahead=11)) == 1
    with book.writing(act) as writing:
        report_result(writing, key, sample(book, key).rev, "not detected", TODAY)
    assert results(book, ahead=11) == []


def test_a_sample_that_lies_in_the_fridge_is_told(book: Book, act: Act, owned: Owned) -> None:
    key = take(book, act, owned.pond, taken_on=TODAY - 3 * DAY)
    (one,) = results(book)
    assert (one.says, one.due_on) == ("sample to be sent", TODAY - 3 * DAY + SEND_DAYS * DAY)
    assert one.because == "Gill “BH-1” was taken on 11 Mar 2026 and is not sent yet."
    with book.writing(act) as writing:
        send_sample(writing, key, sample(book, key).rev, TODAY)
    assert results(book) == []
    (later,) = results(book, ahead=RESULT_DAYS)
    assert about_of(later.about).key == key

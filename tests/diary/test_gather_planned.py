"""Which planned visit keeps a promise, on both databases."""

from __future__ import annotations

from datetime import date, time
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.due import Booked, Promised
from store.diary.kept.due.gather.planned import planned
from store.facts.follow_ups import follow_up_kinds
from tests.diary.desk_entries import DAY, TODAY, Owned, own, visit

KINDS = follow_up_kinds()
ABOUT = str(About("dose", UUID(int=7)))
ANYWAY = "a visit to this {} is planned within its days anyway"


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    return own(book, act, "Brook House", "Lower pond", "Upper pond")


def promised(owned: Owned, due_on: date, kind: str = "dose", **values: Any) -> Promised:
    of = KINDS[kind]
    given = {
        "about": ABOUT, "kind": kind, "client_id": owned.client, "site_id": owned.site,
        "pond_id": owned.pond, "says": "it", "because": "", "origin": "course", "promised_by": "",
        "promised_on": None, "due_on": due_on, "first_on": due_on - of.early_days * DAY,
        "last_on": due_on + of.late_days * DAY, "needs": of.needs,
    }  # fmt: skip
    return Promised(**(given | values))


def found(book: Book, one: Promised) -> tuple[Booked | None, str]:
    return planned(book, TODAY).for_promise(one)


def test_a_visit_booked_for_it_counts(book: Book, act: Act, owned: Owned) -> None:
    key = visit(book, act, owned, TODAY + DAY, ABOUT, pond=owned.pond)
    booked, anyway = found(book, promised(owned, TODAY))
    assert booked == Booked(key, TODAY + DAY, time(10, 30), "Ada Vet", in_window=True)
    assert anyway == ""


def test_booked_too_late_it_is_told_but_not_in_window(book: Book, act: Act, owned: Owned) -> None:
    visit(book, act, owned, TODAY + 2 * DAY, ABOUT, pond=owned.pond)
    booked, _ = found(book, promised(owned, TODAY))
    assert booked is not None
    assert not booked.in_window


def test_of_two_that_were_booked_the_one_that_fits_speaks(
    book: Book, act: Act, owned: Owned
) -> None:
    visit(book, act, owned, TODAY, ABOUT, pond=owned.pond)
    fits = visit(book, act, owned, TODAY + 5 * DAY, ABOUT, pond=owned.pond)
    booked, _ = found(book, promised(owned, TODAY + 5 * DAY))
    assert booked is not None
    assert (booked.visit_id, booked.in_window) == (fits, True)


@pytest.mark.parametrize("state", ["done", "cancelled"])
def test_a_closed_visit_keeps_nothing(book: Book, act: Act, owned: Owned, state: str) -> None:
    visit(book, act, owned, TODAY, ABOUT, pond=owned.pond, state=state)
    assert found(book, promised(owned, TODAY)) == (None, "")


def test_a_visit_that_lies_behind_keeps_nothing(book: Book, act: Act, owned: Owned) -> None:
    visit(book, act, owned, TODAY - DAY, ABOUT, pond=owned.pond)
    assert found(book, promised(owned, TODAY)) == (None, "")


def test_somebody_who_goes_there_anyway_counts_and_it_is_said(
    book: Book, act: Act, owned: Owned
) -> None:
    visit(book, act, owned, TODAY + DAY)
    booked, anyway = found(book, promised(owned, TODAY))
    assert booked is not None
    assert booked.in_window
    assert anyway == ANYWAY.format("site")
    nearer = visit(book, act, owned, TODAY, pond=owned.pond)
    booked, anyway = found(book, promised(owned, TODAY))
    assert booked is not None
    assert booked.visit_id == nearer
    assert anyway == ANYWAY.format("pond")


def test_a_visit_to_another_pond_of_the_site_does_not_count(
    book: Book, act: Act, owned: Owned
) -> None:
    visit(book, act, owned, TODAY, pond=owned.ponds[1])
    assert found(book, promised(owned, TODAY)) == (None, "")


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("dose", {"needs": "call"}),  # the owner gives it
        ("ring_back", {}),
        ("laboratory", {}),
        ("answer", {}),
        ("finding", {}),
        ("call_same_day", {"about": str(About("call", UUID(int=9)))}),
        ("concern", {"needs": "vet"}),  # a suspicion of a notifiable disease
    ],
)
def test_what_no_visit_keeps_waits_though_somebody_goes(
    book: Book, act: Act, owned: Owned, kind: str, values: dict[str, Any]
) -> None:
    visit(book, act, owned, TODAY, pond=owned.pond)
    assert found(book, promised(owned, TODAY, kind, **values)) == (None, "")


def test_what_is_late_is_kept_by_a_visit_within_the_days_it_bears(
    book: Book, act: Act, owned: Owned
) -> None:
    visit(book, act, owned, TODAY + 7 * DAY, pond=owned.pond)
    late_test = promised(owned, TODAY - 30 * DAY, "water_test")
    late_dose = promised(owned, TODAY - 30 * DAY, "dose")
    booked, _ = found(book, late_test)  # a week is borne
    assert booked is not None
    assert booked.in_window
    assert found(book, late_dose) == (None, "")  # a day


def test_a_call_knows_its_visit_by_its_note(book: Book, act: Act, owned: Owned) -> None:
    key = visit(book, act, owned, TODAY, pond=owned.ponds[1])
    with book.writing(act) as writing:
        call = writing.add(
            "call_note", client_id=owned.client, called_at=act.at, caller="Ina Marsh",
            urgency="same day", visit_id=key,
        )  # fmt: skip
    booked, anyway = found(
        book, promised(owned, TODAY, "call_same_day", about=str(About("call", call)))
    )
    assert booked is not None
    assert (booked.visit_id, booked.in_window, anyway) == (key, True, "")

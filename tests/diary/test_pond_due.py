"""What is due at one pond: by hand and on the desk, each promise once, worst first."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.weigh import desk_order
from store.diary.kept.calls.call_notes import note_call
from store.diary.kept.due.desk import due_of_client
from store.diary.kept.due.pond_due import due_of_pond
from store.diary.kept.promised.follow_ups import keep_day, promise
from tests.book.entries import NOW
from tests.diary.desk_entries import TODAY, Owned, own

DAY = timedelta(days=1)


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    return own(book, act)


def by_hand(book: Book, act: Act, owned: Owned, days: int, says: str, **values: Any) -> UUID:
    given: dict[str, Any] = {"client_id": owned.client, "pond_id": owned.pond, "kind": "visit"}
    with book.writing(act) as writing:
        return promise(writing, says=says, first_on=TODAY + days * DAY, **(given | values))


def said(book: Book, owned: Owned) -> list[str]:
    return [one.promised.says for one in due_of_pond(book, owned.pond, NOW)]


def test_what_is_for_this_pond_alone(book: Book, act: Act, owned: Owned) -> None:
    other = own(book, act, name="Other Row")
    by_hand(book, act, owned, 3, "look at the liner")
    by_hand(book, act, owned, 3, "ring about the bill", pond_id=None)
    by_hand(book, act, other, 3, "not here")
    assert said(book, owned) == ["look at the liner"]
    assert said(book, other) == ["not here"]


def test_what_repeats_speaks_once_and_goes_on_when_it_was_kept(
    book: Book, act: Act, owned: Owned
) -> None:
    by_hand(book, act, owned, 0, "weekly look", repeats="FREQ=WEEKLY")
    (line,) = due_of_pond(book, owned.pond, NOW)
    assert (line.promised.due_on, line.promised.repeats) == (TODAY, "every week on Sat")
    with book.writing(act) as writing:
        keep_day(writing, line.promised.about, TODAY)
    (line,) = due_of_pond(book, owned.pond, NOW)
    assert line.promised.due_on == TODAY + 7 * DAY


def test_by_hand_it_is_looked_a_year_ahead(book: Book, act: Act, owned: Owned) -> None:
    by_hand(book, act, owned, 200, "spring check", repeats="FREQ=YEARLY")
    by_hand(book, act, owned, 400, "too far to tell")
    assert said(book, owned) == ["spring check"]
    assert due_of_client(book, owned.client, NOW) == ()


def test_a_call_stands_in_the_order_of_the_desk(book: Book, act: Act, owned: Owned) -> None:
    by_hand(book, act, owned, 20, "look at the liner")
    with book.writing(act) as writing:
        note_call(
            writing, owned.client, pond_id=owned.pond, caller="Ina Marsh", said="koi gasping",
            advised="air on", next_step="somebody goes",
        )  # fmt: skip
    lines = due_of_pond(book, owned.pond, NOW)
    assert [one.promised.origin for one in lines] == ["call", "by hand"]
    assert list(lines) == sorted(lines, key=desk_order)
    # The same lines as in the picture of the client.
    assert set(lines) == set(due_of_client(book, owned.client, NOW))


def test_nothing_of_a_pond_that_was_struck_or_is_not_there(
    book: Book, act: Act, owned: Owned
) -> None:
    by_hand(book, act, owned, 3, "look at the liner")
    with book.writing(act) as writing:
        writing.strike("pond", owned.pond, "filled in")
    assert due_of_pond(book, owned.pond, NOW) == ()
    assert due_of_pond(book, uuid4(), NOW) == ()

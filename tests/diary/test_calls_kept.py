"""Calls that were taken: kept by a visit or by being closed, on the day that their urgency asks."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.kept_on_time import Tally
from store.diary.kept.calls.call_notes import close_call, reopen_call
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.score.promises_kept import promises_kept
from tests.diary.desk_entries import Owned, own

CALLED = date(2026, 3, 10)
NOW = datetime(2026, 3, 31, 12, tzinfo=UTC)


def at(act: Act, day: date, hour: int = 9) -> Act:
    return Act(act.by, datetime(day.year, day.month, day.day, hour, tzinfo=UTC))


def called(book: Book, act: Act, owned: Owned, urgency: str, **values: Any) -> Any:
    now = at(act, CALLED)
    with book.writing(now) as writing:
        return writing.add(
            "call_note", client_id=owned.client, called_at=now.at, caller="Ina Marsh",
            urgency=urgency, **values,
        )  # fmt: skip


def visited(book: Book, act: Act, owned: Owned, day: date, about: str = "") -> Any:
    with book.writing(at(act, day)) as writing:
        key = writing.add(
            "visit", site_id=owned.site, on_day=day, at_time=time(10), kind="call", state="done"
        )  # fmt: skip
        if about:
            writing.add(
                "visit_purpose", visit_id=key, about=about, kind="call_same_day", says="it",
                due_on=day, first_on=day, last_on=day,
            )  # fmt: skip
    return key


def numbers(book: Book, kind: str) -> tuple[int, int, int]:
    """On time, late, not kept."""
    tally = next(
        (one.whole for one in promises_kept(book, NOW, 2).kinds if one.kind == kind), Tally()
    )  # fmt: skip
    return tally.on_time, tally.late, tally.not_kept


@pytest.mark.parametrize(
    ("urgency", "kind", "good"),
    [("same day", "call_same_day", 0), ("next day", "call_next_day", 1),
     ("routine", "call_routine", 21)],
)  # fmt: skip
def test_the_last_good_day_of_each_urgency(
    book: Book, act: Act, urgency: str, kind: str, good: int
) -> None:
    """Days from the call: `early_days` to its day and `late_days` after, common practice."""
    owned = own(book, act)
    for days in (good, good + 1):
        key = called(book, act, owned, urgency)
        visited(book, act, owned, CALLED + timedelta(days=days), str(About("call", key)))
    called(book, act, owned, urgency)
    on_time, late, open_or_not = numbers(book, kind)
    assert (on_time, late) == (1, 1)
    assert open_or_not == (0 if CALLED + timedelta(days=good) >= NOW.date() else 1)


def test_closed_counts_from_the_day_of_closing(book: Book, act: Act) -> None:
    owned = own(book, act)
    first, second, third = (called(book, act, owned, "same day") for _ in range(3))
    for key, day in ((first, CALLED), (second, CALLED + timedelta(days=2)), (third, CALLED)):
        with book.writing(at(act, day, 15)) as writing:
            close_call(writing, key, 1, "Settled by telephone.")
    with book.writing(at(act, CALLED, 16)) as writing:
        reopen_call(writing, third, 2, "They rang again.")
    assert numbers(book, "call_same_day") == (1, 1, 1)


def test_a_note_that_was_closed_as_it_was_taken_asked_for_nothing(book: Book, act: Act) -> None:
    owned = own(book, act)
    called(book, act, owned, "routine", state="closed", closed_why="Nothing is left to be done.")
    assert promises_kept(book, NOW, 2).kinds == ()


def test_the_visit_that_the_call_names(book: Book, act: Act) -> None:
    owned = own(book, act)
    visit = visited(book, act, owned, CALLED)
    called(book, act, owned, "same day", visit_id=visit)
    assert numbers(book, "call_same_day") == (1, 0, 0)


def test_what_is_remembered_is_read_anew_after_a_writing(sqlite_book: Book, act: Act) -> None:
    owned = own(sqlite_book, act)
    key = called(sqlite_book, act, owned, "same day")
    assert numbers(sqlite_book, "call_same_day") == (0, 0, 1)
    visited(sqlite_book, act, owned, CALLED, str(About("call", key)))
    assert numbers(sqlite_book, "call_same_day") == (1, 0, 0)
    with sqlite_book.writing(act) as writing:
        writing.strike("client", owned.client, "They moved away.")
    assert promises_kept(sqlite_book, NOW, 2).kinds == ()


@pytest.mark.parametrize("name", ["pond", "site", "client"])
def test_follow_ups_of_what_was_struck_through_are_not_counted(
    sqlite_book: Book, act: Act, name: Any
) -> None:
    owned = own(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        for pond in (owned.pond, None):
            promise(
                writing, client_id=owned.client, site_id=owned.site, pond_id=pond, kind="ring",
                says="Ring", first_on=date(2026, 3, 16),
            )  # fmt: skip
    assert numbers(sqlite_book, "ring") == (0, 0, 2)
    with sqlite_book.writing(act) as writing:
        writing.strike(name, {"pond": owned.pond, "site": owned.site, "client": owned.client}[name],
                       "Gone.")  # fmt: skip
    assert numbers(sqlite_book, "ring") == ((0, 0, 1) if name == "pond" else (0, 0, 0))

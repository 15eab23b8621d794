"""What the tests of follow-ups promise by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import About
from store.diary.kept.promised.follow_ups import promise
from tests.book.entries import row_of

FIRST = date(2026, 3, 15)


def at(act: Act, day: date, hour: int = 9) -> Act:
    return Act(act.by, datetime(day.year, day.month, day.day, hour, tzinfo=UTC))


def owner_of(book: Book, pond: Any) -> Any:
    return row_of(book, "site", row_of(book, "pond", pond).site_id).client_id


def promised(book: Book, act: Act, pond: Any, **values: Any) -> Any:
    given = {
        "client_id": owner_of(book, pond), "pond_id": pond, "kind": "water_test",
        "says": "Test the water", "first_on": FIRST,
    }  # fmt: skip
    with book.writing(act) as writing:
        return promise(writing, **(given | values))


def named(key: Any, day: date = FIRST) -> str:
    return str(About("hand", key, day=day))

"""Whoever was slower reads what the other wrote, before saving again."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from store.book.act import Act
from store.book.book import Book
from store.errors import ChangedMeanwhile
from store.record.since import told_since

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def test_each_field_is_told_before_and_after(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        other = writing.add("staff", name="Bo Vet", role="vet")
        client = writing.add("client", name="Brook House", phone="1")
    with sqlite_book.writing(Act(other, NOW)) as writing:
        writing.change("client", client, 1, why="she married", name="Alder House", phone="")
        writing.change("client", client, 2, notes="a dog")
    with sqlite_book.writing(act) as writing, pytest.raises(ChangedMeanwhile) as told:
        writing.change("client", client, 1, name="Beech House")
    assert told.value.row == ("client", client, 1)
    assert told_since(sqlite_book, told.value).splitlines() == [
        "Bo Vet changed it (she married):",
        "  name: Brook House → Alder House",
        "  telephone: 1 → empty",
        "Bo Vet changed it:",
        "  notes: empty → a dog",
    ]
    assert told_since(sqlite_book, ChangedMeanwhile("Several rows.")) == ""

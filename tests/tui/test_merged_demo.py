"""What was entered as two and is merged says every morning what it would have said as one."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any
from uuid import UUID

from called import NOW
from sqlalchemy import insert, select, update

from store.book.act import Act
from store.book.book import Book
from store.book.keys import new_key
from store.book.merging import merge_clients as of_clients
from store.book.merging import merge_ponds as of_ponds
from store.book.merging import merge_sites as of_sites
from store.book.opening import open_book
from store.book.people import staff
from store.book.tables import table
from store.courses.kept.morning import morning_list
from store.diary.kept.due.desk import desk_list

POINTING: dict[Any, Any] = {
    "client": of_clients.POINTING,
    "site": of_sites.POINTING[:-1],
    "pond": (*of_ponds.POINTING, *((name, "pond_id") for name in of_ponds.LOGGED)),
}
MERGE: dict[Any, Any] = {
    "client": of_clients.merge_clients,
    "site": of_sites.merge_sites,
    "pond": of_ponds.merge_ponds,
}


def _part(book: Book, kind: Any, key: UUID) -> UUID:
    """A second record like one of the book, to which half of all that pointed at that one points.

    What is at rest goes with everything else, so that here no rest speaks again.
    """
    whole = table(kind)
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        row = connection.execute(select(whole).where(whole.c.id == key)).mappings().one()
        other = new_key(NOW)
        connection.execute(insert(whole).values({**row, "id": other}))
        for name, column in POINTING[kind]:
            of = table(name)
            if "id" not in of.c:
                continue
            rows = connection.execute(select(of.c.id).where(of.c[column] == key).order_by(of.c.id))
            for one in rows.scalars().all()[::2]:
                connection.execute(update(of).where(of.c.id == one).values({column: other}))
    return other


def _says(book: Book) -> tuple[list[str], list[str]]:
    return (
        sorted(map(repr, morning_list(book, NOW).lines)),
        sorted(map(repr, desk_list(book, NOW).lines)),
    )


def test_merged_they_say_what_one_would_have_said(own: Path) -> None:
    dice = random.Random(11)
    with open_book(own, now=NOW) as book:
        act = Act(staff(book)[0].id, NOW)
        before = _says(book)
        for kind, busy in (("client", "follow_up"), ("site", "visit"), ("pond", "course")):
            target: Any = table(busy)  # type: ignore[arg-type]
            of = target.c[f"{kind}_id"]
            with book.reading() as connection:
                keys = connection.execute(select(of).distinct().order_by(of)).scalars().all()
            key = dice.choice([one for one in keys if one is not None])
            other = _part(book, kind, key)
            assert _says(book) != before or kind != "pond"
            merged = MERGE[kind](book, act, key, other, "entered twice")
            assert sum(merged.moved.values()) > 0
            assert _says(book) == before, (kind, key)

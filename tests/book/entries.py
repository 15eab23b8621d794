"""What the tests of the book enter and look at again."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
"""The instant of the `act` that a test is given."""


def add_pond(book: Book, act: Act, **values: Any) -> Any:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        return writing.add("pond", site_id=site, **({"name": "Lower pond"} | values))


def row_of(book: Book, name: Any, key: Any) -> Any:
    target = table(name)
    with book.reading() as connection:
        return connection.execute(select(target).where(target.c.id == key)).one()


def log_of(book: Book, key: Any) -> list[Any]:
    change = table("change")
    with book.reading() as connection:
        query = select(change).where(change.c.row_id == key).order_by(change.c.rev)
        return list(connection.execute(query).all())

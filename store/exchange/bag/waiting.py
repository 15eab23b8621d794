"""How many rows wait for a choice, asked often: only rows of which a copy brought news are read."""

from __future__ import annotations

from typing import cast

from sqlalchemy import select

from store.book.book import Book
from store.book.copies.lineage import differences
from store.book.copies.steps import steps_of
from store.book.copies.together import groups
from store.book.tables import TableName, table
from store.exchange.bag.marks import came_back


def waiting(book: Book) -> int:
    """How many rows were changed on both sides to different things, and wait for a choice.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    int
        As many as `store.book.copies.choosing.unsettled` finds, where all that came in was
        unpacked; it looks through the lines of those copies alone, not through the whole log.
    """
    change, link = table("change"), table("change_link")
    with book.reading() as connection:
        copies = came_back(connection)
        if not copies:
            return 0
        brought = (
            select(change.c.table_name, change.c.row_id)
            .join_from(link, change, link.c.change_id == change.c.id)
            .where(link.c.copy.in_(copies))
            .distinct()
        )
        rows = {key: name for name, key in connection.execute(brought)}
        steps = steps_of(connection, sorted(rows))
    count = 0
    for key, name in rows.items():
        target = table(cast("TableName", name))
        count += "rev" in target.c and bool(differences(steps[key], groups(target)))
    return count

"""Whether an action was kept whose answer got lost on the way.

The line can break after the order to keep an action was sent and before the answer came. The server
knows what became of it: it numbers every transaction and remembers how it ended.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from sqlalchemy import Connection, Engine, select, text
from sqlalchemy.exc import DBAPIError

from store.book.act import Act
from store.book.tables import BookMetaRow, table

_STAMPS = "SELECT key, value{more} FROM book_meta WHERE key IN ('stamp', 'stamp.practice')"
_PLAIN = text(_STAMPS.format(more=", '' AS number, 0 AS process"))
_NUMBERED = text(
    _STAMPS.format(
        more=", CAST(pg_current_xact_id() AS text) AS number, pg_backend_pid() AS process"
    )
)
_STATE = text("SELECT pg_xact_status(CAST(CAST(:number AS text) AS xid8))")
_END = text("SELECT pg_terminate_backend(:process)")


@dataclass(frozen=True, slots=True)
class Mark:
    """By what an action that is about to be kept can be found again.

    Parameters
    ----------
    act
        Who, and when.
    stamp
        What the stamp of the book is once the action is kept.
    practice
        Whether it changed what the practice says of itself.
    number, process
        Of the transaction, and of the server's process that holds it; empty and 0 on SQLite, where
        no answer gets lost.
    """

    act: Act
    stamp: str
    practice: bool
    number: str
    process: int


def mark_of(connection: Connection, act: Act) -> Mark:
    """The mark of what a transaction has written, just before it is kept.

    Parameters
    ----------
    connection
        Inside the transaction; its stamp is written.
    act
        Who, and when.

    Returns
    -------
    Mark
        To be looked for with `was_kept`.
    """
    query = _NUMBERED if connection.dialect.name == "postgresql" else _PLAIN
    rows = {row.key: row for row in connection.execute(query)}
    own, practice = rows["stamp"], rows.get("stamp.practice")
    return Mark(
        act, own.value, practice is not None and practice.value == own.value,
        own.number, own.process,
    )  # fmt: skip


def was_kept(engine: Engine, mark: Mark) -> bool | None:
    """Whether an action was kept.

    A transaction that is still open belongs to a line that is no more: the server is told to end
    it, so that it holds up nobody, and is asked again.

    Parameters
    ----------
    engine
        On the database.
    mark
        The action.

    Returns
    -------
    bool or None
        None while the server has not finished with it.

    Raises
    ------
    SQLAlchemyError
        When the database cannot be asked.
    """
    with engine.connect() as connection:
        try:
            state = connection.execute(_STATE, {"number": mark.number}).scalar()
        except DBAPIError as error:
            if error.connection_invalidated or not getattr(error.orig, "sqlstate", None):
                raise
            connection.rollback()  # a number that this server has not given out yet
            state = None
        if state == "in progress":
            with suppress(DBAPIError):  # may be forbidden: then it ends when the server sees it
                connection.execute(_END, {"process": mark.process})
            return None
        if state is not None:
            return bool(state == "committed")
        # Another server stands there by now, or the number is very old: what is in the log counts.
        now = select(BookMetaRow.value).where(BookMetaRow.key == "stamp")
        if connection.execute(now).scalar() == mark.stamp:
            return True
        change = table("change")
        line = select(change.c.id).where(change.c.at == mark.act.at, change.c.by == mark.act.by)
        return connection.execute(line.limit(1)).first() is not None

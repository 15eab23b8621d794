"""How a database is connected to, so that every connection behaves the same."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, ExceptionContext, create_engine, event

from store.book.files.file_trouble import file_trouble
from store.book.kept_json import kept_json
from store.book.server.server_line import beginning, connecting
from store.errors import BookTrouble

Mode = Literal["rw", "bag", "ro", "network", "unlocked", "immutable"]


def sqlite_engine(
    path: Path, *, mode: Mode = "rw", patience_s: float = 5.0, keep_journal: bool = False
) -> Engine:
    """An engine on a file that exists.

    Readers begin deferred and cannot write; writers begin immediate, because a transaction that
    reads first and writes later fails at once, without waiting, when another has written between.
    Nothing is written into a file that another one has taken the place of meanwhile.

    Parameters
    ----------
    path
        The file.
    mode
        `rw`; `bag` to write a file that is carried about, in which all of it stands at any time;
        `ro`; `network` to write in a network folder, where memory is not shared; `unlocked`
        to read where locks do not hold; `immutable` for a file that nobody can write, without its
        side files.
    patience_s
        How long to wait for a lock [s].
    keep_journal
        Leave the way of journalling as it is, for looking at what may be no book.

    Returns
    -------
    Engine
        Not connected yet.
    """
    place = path.resolve()
    address = f"file:{quote(str(place))}?{_FLAGS[mode]}"

    def connect() -> sqlite3.Connection:
        # Transactions are begun below, not by the driver; the pool hands a connection to one
        # thread at a time.
        connection = sqlite3.connect(
            address, uri=True, timeout=patience_s, isolation_level=None, check_same_thread=False
        )
        try:
            if mode in ("network", "unlocked"):
                # Before the file is read for the first time: a connection that is alone with
                # the file keeps in its own memory what it else would share.
                connection.execute("PRAGMA locking_mode = EXCLUSIVE")
            for pragma in _PRAGMAS:
                connection.execute(f"PRAGMA {pragma}")
            if mode in ("network", "unlocked"):
                # A page that does not come over the network would end the program, were the
                # file mapped.
                connection.execute("PRAGMA mmap_size = 0")
            if not keep_journal and mode == "rw":
                connection.execute("PRAGMA journal_mode = WAL")
            elif not keep_journal and mode == "bag":
                connection.execute("PRAGMA journal_mode = DELETE")
            elif not keep_journal and mode == "network":
                _away_from_the_log_ahead(connection)
        except BaseException:
            connection.close()
            raise
        return connection

    engine = create_engine(
        "sqlite+pysqlite:///book", creator=connect, pool_size=5, json_deserializer=kept_json
    )
    numbered = mode in (
        "rw",
        "bag",
    )  # some network file systems give a file another number now and then
    opened: list[tuple[int, ...]] = []

    @event.listens_for(engine, "connect")
    def connected(_connection: Any, _record: Any) -> None:
        if not opened:
            opened.append(_which_file(place, numbered))

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("pondround_writes", False)
        if writes:
            _still_there(place, numbered, opened)
        connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN DEFERRED")

    @event.listens_for(engine, "commit")
    def commit(connection: Connection) -> None:
        if connection.get_execution_options().get("pondround_writes", False):
            _still_there(place, numbered, opened)

    @event.listens_for(engine, "handle_error")
    def failed(context: ExceptionContext) -> None:
        told = file_trouble(context.original_exception, path)
        if told is not None:
            raise told from context.original_exception

    return engine


def _which_file(place: Path, numbered: bool) -> tuple[int, ...]:
    """What tells a file from another one that takes its place."""
    try:
        found = place.stat()
    except OSError:
        return ()
    return (found.st_dev, found.st_ino) if numbered else (0,)


def _still_there(place: Path, numbered: bool, opened: list[tuple[int, ...]]) -> None:
    if opened and _which_file(place, numbered) != opened[0]:
        raise BookTrouble(
            f"The file {place} was removed, moved or replaced by another program while it was "
            "open; nothing was saved. Put it back where it was, or leave and open the book again.",
            title="The book is gone",
        )


def _away_from_the_log_ahead(connection: sqlite3.Connection) -> None:
    """To the journal that needs no shared memory, and no longer alone with the file."""
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA locking_mode = NORMAL")
    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()  # lets go of the file


_FLAGS: dict[Mode, str] = {
    "rw": "mode=rw",
    "bag": "mode=rw",
    "ro": "mode=ro",
    "network": "mode=rw",
    "unlocked": f"mode=ro&vfs={'win32' if os.name == 'nt' else 'unix'}-none",
    "immutable": "immutable=1",
}
_PRAGMAS = (
    "foreign_keys = ON",
    "recursive_triggers = ON",  # else INSERT OR REPLACE slips past the triggers on delete
    "synchronous = FULL",  # a saved test outlives a loss of power
    "cache_size = -32000",  # KiB
    "mmap_size = 268435456",
    "temp_store = MEMORY",
)


def postgres_engine(url: URL, *, patience_s: float = 5.0) -> Engine:
    """An engine on a PostgreSQL database.

    A dead line is seen within about 15 s at both ends: here, so that a person is told, and at the
    server, so that what was under way holds up nobody. What the address itself says of the
    connection (`sslmode`, `sslrootcert`, `connect_timeout`, `keepalives_idle` …) goes before.

    Parameters
    ----------
    url
        With the driver psycopg.
    patience_s
        How long to wait for a lock and for the server to answer [s].

    Returns
    -------
    Engine
        Not connected yet.
    """
    engine = create_engine(
        url,
        pool_size=5,
        pool_pre_ping=True,
        connect_args=connecting(url, patience_s),
        hide_parameters=True,
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: Any) -> None:
        connection.autocommit = True  # one way there and back, no transaction round it
        connection.execute(beginning(patience_s))
        connection.autocommit = False

    return engine

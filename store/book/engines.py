"""How a database is connected to, so that every connection behaves the same."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event


def sqlite_engine(path: Path, *, mode: str = "rw", patience_s: float = 5.0) -> Engine:
    """An engine on a file that exists.

    Readers begin deferred and cannot write; writers begin immediate, because a transaction that
    reads first and writes later fails at once, without waiting, when another has written between.

    Parameters
    ----------
    path
        The file.
    mode
        `rw`, `ro`, or `immutable` for a file that nobody can write, without its side files.
    patience_s
        How long to wait for a lock [s].

    Returns
    -------
    Engine
        Not connected yet.
    """
    flag = "immutable=1" if mode == "immutable" else f"mode={mode}"
    address = f"file:{quote(str(path.resolve()))}?{flag}"

    def connect() -> sqlite3.Connection:
        # Transactions are begun below, not by the driver; the pool hands a connection to one
        # thread at a time.
        connection = sqlite3.connect(
            address, uri=True, timeout=patience_s, isolation_level=None, check_same_thread=False
        )
        for pragma in _PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
        if mode == "rw":
            connection.execute("PRAGMA journal_mode = WAL")
        return connection

    engine = create_engine("sqlite+pysqlite:///book", creator=connect, pool_size=5)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("pondround_writes", False)
        connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN DEFERRED")

    return engine


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
    seconds = max(2, round(patience_s))  # libpq takes whole seconds and no less than two
    engine = create_engine(
        url, pool_size=5, pool_pre_ping=True, connect_args={"connect_timeout": seconds}
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = {round(patience_s * 1000)}")
        connection.commit()

    return engine

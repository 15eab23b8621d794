"""Which tables a book has, and bringing an older book up to date.

The number of the newest migration stands in `HEAD`, so that opening a book that is up to date needs
one short query and no Alembic.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

HEAD = 10
"""The number of the newest file under `migrations/versions`."""

MIGRATIONS = Path(__file__).with_name("migrations")
VERSIONS = (MIGRATIONS / "versions",)

APPLICATION_ID = 0x506F6E64
"""Written into the head of an SQLite file ("Pond"), so that other databases are not mistaken."""

_ONE_AT_A_TIME = 0x506F6E64


def number(connection: Connection) -> int | None:
    """The number of the book's tables.

    Parameters
    ----------
    connection
        Open on the database.

    Returns
    -------
    int or None
        None when the database holds no book. A number this version does not know is returned as
        it stands.
    """
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if found is None or not str(found).isdecimal():
        return None
    if connection.dialect.name == "sqlite":
        mark = connection.execute(text("PRAGMA application_id")).scalar()
        return int(found) if mark == APPLICATION_ID else None
    return int(found) if inspect(connection).has_table("book_meta") else None


def upgrade(engine: Engine, to: int | None = None) -> None:
    """Bring the tables to `HEAD`, or to an older number, in one transaction: all of it or nothing.

    Two programs that do so at once wait for each other. On SQLite foreign keys cannot be switched
    off inside a transaction, so a migration that rebuilds a parent table must keep its children.

    Parameters
    ----------
    engine
        Of a database that is empty or holds an older book.
    to
        The number of a migration; only where what an older version wrote has to be read.
    """
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", _escaped(MIGRATIONS))
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", "\n".join(map(_escaped, VERSIONS)))
    with (
        engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        sqlite = connection.dialect.name == "sqlite"
        if sqlite:
            connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
        else:
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_ONE_AT_A_TIME})"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head" if to is None else f"{to:04}")


def _escaped(path: Path) -> str:
    return str(path).replace("%", "%%")

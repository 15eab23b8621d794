"""The file or database itself: whether it can be read whole, and whether its tables are ours."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Index,
    MetaData,
    create_engine,
    inspect,
    text,
)
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import StaticPool

from store.book.columns import Base
from store.book.server.server_roles import own_name
from store.book.triggers import ONLY_ADDED_TO, REFUSAL, statements
from store.guard.found import BACKUP, Found, Progress

_SHAPE = (
    "The book works on, but is no longer guarded as it should be: bring the newest clean backup "
    "back, or ask whoever looks after the database."
)
_MOST = 5
_NOT_OURS = "alembic_version"
_NOT_ALLOWED = "42501"
"""What PostgreSQL says where this login may not see something, such as hashes of passphrases."""


def check_reading(connection: Connection, found: Found, *, quick: bool) -> None:
    """Read the whole file, or every table.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    quick
        Leave out what takes long.
    """
    found.told(Progress("the file itself"))
    if connection.dialect.name == "sqlite":
        pragma = "quick_check" if quick else "integrity_check"
        for (said,) in connection.execute(text(f"PRAGMA {pragma}(20)")).all():
            if said != "ok":
                found.fault("damaged", BACKUP, f"The file is damaged: {said:.300}")
        return
    for name in Base.metadata.tables:
        whole = "count(*)" if quick else "count(*), sum(length(t::text))"
        try:
            with connection.begin_nested():
                connection.execute(text(f'SELECT {whole} FROM "{name}" t')).one()
        except DBAPIError as error:
            if getattr(error.orig, "sqlstate", "") == _NOT_ALLOWED:
                continue
            said = str(error.orig).strip().partition("\n")[0]
            found.fault("damaged", BACKUP, f"The table {name} cannot be read: {said:.200}")
    if not quick:
        _amcheck(connection, found)


def _amcheck(connection: Connection, found: Found) -> None:
    """Indexes by the server's own means, where they are installed and allowed."""
    where = connection.execute(
        text(
            "SELECT quote_ident(n.nspname) FROM pg_extension e "
            "JOIN pg_namespace n ON n.oid = e.extnamespace WHERE e.extname = 'amcheck'"
        )
    ).scalar()
    if where is None:
        return
    indexes = connection.execute(
        text(
            "SELECT c.oid, c.relname FROM pg_class c JOIN pg_am a ON a.oid = c.relam "
            "WHERE c.relkind = 'i' AND a.amname = 'btree' AND c.relnamespace = "
            "current_schema()::regnamespace"
        )
    ).all()
    for oid, name in indexes:
        try:
            with connection.begin_nested():
                connection.execute(text(f"SELECT {where}.bt_index_check({int(oid)}::oid)"))
        except DBAPIError as error:
            if getattr(error.orig, "sqlstate", "") == _NOT_ALLOWED:
                return
            said = str(error.orig).strip().partition("\n")[0]
            found.fault("damaged", BACKUP, f"The index {name} is damaged: {said:.200}")


def check_keys(connection: Connection, found: Found) -> None:
    """Whether every row that is pointed at is there.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    """
    found.told(Progress("rows that point at others"))
    look = _dangling_in_file if connection.dialect.name == "sqlite" else _dangling_on_server
    for of, column, at, count in look(connection):
        rows = f"{count:,} rows of {of} point" if count != 1 else f"One row of {of} points"
        found.fault(
            "points nowhere", BACKUP,
            f"{rows} by {column} at a row of {at} that is not there.",
        )  # fmt: skip


def _fresh() -> MetaData:
    """The tables as the models say: making those of a server leaves its mark on what is made."""
    made = MetaData(naming_convention=Base.metadata.naming_convention)
    for one in Base.metadata.tables.values():
        one.to_metadata(made)
    return made


_Dangling = tuple[str, str, str, int]
"""A table, its column that points, the table it points at, and how many rows do so."""


def _dangling_in_file(connection: Connection) -> Iterator[_Dangling]:
    counted: Counter[tuple[str, int]] = Counter()
    for of, _row, _at, nth in connection.execute(text("PRAGMA foreign_key_check")):
        counted[of, nth] += 1
    for (of, nth), count in counted.items():
        keys = connection.execute(text(f'PRAGMA foreign_key_list("{of}")')).all()
        column, at = next((row[3], row[2]) for row in keys if row[0] == nth)
        yield of, column, at, count


def _dangling_on_server(connection: Connection) -> Iterator[_Dangling]:
    for of, target in Base.metadata.tables.items():
        parts = [
            f"SELECT '{one.name}', '{key.column.table.name}', count(*) FROM \"{of}\" a "
            f'WHERE "{one.name}" IS NOT NULL AND NOT EXISTS (SELECT 1 FROM '
            f'"{key.column.table.name}" b WHERE b."{key.column.name}" = a."{one.name}")'
            for one in target.columns
            for key in one.foreign_keys
        ]
        for column, at, count in (
            connection.execute(text(" UNION ALL ".join(parts))) if parts else ()
        ):
            if count:
                yield of, column, at, count


def check_shape(connection: Connection, found: Found) -> None:
    """Whether tables, constraints, indexes and triggers are those of this version.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    """
    found.told(Progress("tables and what guards them"))
    if connection.dialect.name == "sqlite":
        wanted, there = _wanted_sqlite(), dict(_pieces(connection))
    else:
        wanted, there = _wanted_postgres(), dict(_postgres(connection))
        _check_refusing(connection, found)
    for thing, piece in wanted.items():
        if thing not in there:
            kind, name = thing
            found.fault("shape", _SHAPE, f"The {kind} {name} is missing{_guards(kind, name)}.")
        elif there[thing] != piece:
            kind, name = thing
            differing = sorted(there[thing] ^ piece)
            found.fault(
                "shape", _SHAPE,
                f"The {kind} {name} is not as this version makes it{_guards(kind, name)}: "
                f"{'; '.join(differing[:_MOST]):.300}",
            )  # fmt: skip
    for kind, name in there.keys() - wanted.keys():
        if kind == "trigger" and name.endswith(own_name("")):
            continue  # of the roles, which are looked at by themselves
        found.remark(
            "shape", "If you know of it nothing is to be done.",
            f"There is a {kind} {name} that Pondround did not make.",
        )  # fmt: skip


def _guards(kind: str, name: str) -> str:
    return ", which keeps records from being rewritten" if kind == "trigger" else ""


_Thing = tuple[str, str]


def _pieces(connection: Connection) -> Iterator[tuple[_Thing, frozenset[str]]]:
    query = "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    for kind, name, of, told in connection.execute(text(query)).all():
        if of != _NOT_OURS and not name.startswith("sqlite_"):
            # A column that came later stands behind a comma, without a line feed.
            pieces = re.split(r",\s*\n|\n|, (?=\w+ [A-Z])", told)
            yield (kind, name), frozenset(piece.strip(" \t,()") for piece in pieces) - {""}


def _wanted_sqlite() -> dict[_Thing, frozenset[str]]:
    engine = create_engine("sqlite://", poolclass=StaticPool)
    try:
        with engine.begin() as connection:
            _fresh().create_all(connection)
            for statement in statements("sqlite"):
                connection.execute(text(statement))
            return dict(_pieces(connection))
    finally:
        engine.dispose()


def _wanted_postgres() -> dict[_Thing, frozenset[str]]:
    wanted: dict[_Thing, frozenset[str]] = {}
    for target in Base.metadata.tables.values():
        wanted["table", target.name] = frozenset(
            f"{one.name}{'' if one.nullable else ' not empty'}" for one in target.columns
        )
        # A server has a kind of its own for yes and no, which needs no check.
        yes_no = {f"ck_{one.table.name}_{one.name}" for one in target.c if _is_yes_no(one)}
        for one in target.constraints:
            if one.name and str(one.name) not in yes_no:
                wanted["constraint", _of(target.name, one.name)] = frozenset({"valid"})
        for index in target.indexes:
            if isinstance(index, Index):
                wanted["index", str(index.name)] = frozenset({"valid"})
    for name in ONLY_ADDED_TO:
        for event in ("update", "delete", "truncate"):
            wanted["trigger", f"tr_{name}_no_{event}"] = frozenset({"on"})
    return wanted


def _is_yes_no(column: Column[Any]) -> bool:
    return isinstance(column.type, Boolean)


def _of(table: str, name: object) -> str:
    return f"{name} of {table}"


def _postgres(connection: Connection) -> Iterator[tuple[_Thing, frozenset[str]]]:
    known = inspect(connection)
    for name in known.get_table_names():
        if name != _NOT_OURS:
            yield (
                ("table", name),
                frozenset(
                    f"{one['name']}{'' if one['nullable'] else ' not empty'}"
                    for one in known.get_columns(name)
                ),
            )
    for name, of, valid in connection.execute(text(_CONSTRAINTS)).all():
        if of != _NOT_OURS:
            yield ("constraint", _of(of, name)), frozenset({"valid" if valid else "not valid"})
    for name, of, valid in connection.execute(text(_INDEXES)).all():
        if of != _NOT_OURS:
            yield ("index", name), frozenset({"valid" if valid else "not valid"})
    for name, enabled in connection.execute(text(_TRIGGERS)).all():
        yield ("trigger", name), frozenset({"on" if enabled in ("O", "A") else "switched off"})


_HERE = "current_schema()::regnamespace"
_CONSTRAINTS = (
    "SELECT o.conname, c.relname, o.convalidated FROM pg_constraint o "
    "JOIN pg_class c ON c.oid = o.conrelid "
    f"WHERE o.connamespace = {_HERE} AND o.contype IN ('c', 'f', 'p', 'u')"
)
_INDEXES = (
    "SELECT i.relname, c.relname, x.indisvalid FROM pg_index x "
    "JOIN pg_class i ON i.oid = x.indexrelid JOIN pg_class c ON c.oid = x.indrelid "
    f"WHERE c.relnamespace = {_HERE} AND NOT EXISTS "
    "(SELECT 1 FROM pg_constraint o WHERE o.conindid = x.indexrelid AND o.contype IN ('p', 'u'))"
)
_TRIGGERS = (
    "SELECT t.tgname, t.tgenabled FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
    f"WHERE NOT t.tgisinternal AND c.relnamespace = {_HERE}"
)


def _check_refusing(connection: Connection, found: Found) -> None:
    """The function that the triggers call must still refuse."""
    body = connection.execute(
        text(
            "SELECT prosrc FROM pg_proc WHERE proname = 'refuse_rewriting' "
            f"AND pronamespace = {_HERE}"
        )
    ).scalar()
    if body is None or "RAISE EXCEPTION" not in body or REFUSAL not in body:
        found.fault(
            "shape", _SHAPE,
            "The function refuse_rewriting, which keeps records from being rewritten, does not "
            "refuse any more.",
        )  # fmt: skip

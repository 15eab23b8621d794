"""What the roles of a PostgreSQL server may do with a book, table by table, from `allowed`.

The roles hold against whoever speaks to the database by other means. The owner of the book, and a
superuser of the server, can still do everything: migrations, restoring and bringing copies together
are theirs. `store.book.server.server_script` makes SQL of this.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Literal, NamedTuple, cast

from sqlalchemy import Connection, text

from store.book.allowed import FREE, RECEPTIONIST, VETS_ALONE
from store.book.book import Book
from store.book.columns import Base
from store.book.tables import TableName, table
from store.book.triggers import ONLY_ADDED_TO
from store.errors import BadInput

Group = Literal["vet", "desk", "reader"]
GROUPS: tuple[Group, ...] = ("vet", "desk", "reader")
PREFIX = "pondround"
ALL = ("SELECT", "INSERT", "UPDATE", "DELETE", "TRUNCATE")
_PREFIX = re.compile(r"[a-z][a-z0-9_]{0,30}")
_LOGIN = re.compile(r"[A-Za-z][A-Za-z0-9._@-]{0,62}")
_VERSION = "alembic_version"
_HIDDEN = {"sign_in": ("passphrase",)}
"""Columns that no group reads."""
_RECKONED = ("logger_day", "air_day")
"""Reckoned anew from what is kept or brought in: the only tables of which rows are taken away."""
_BY_THE_OWNER = ("sign_in", _VERSION)
"""Tables that the owner alone writes."""
_LOCKED = ("course_dose",)
"""Tables of vets whose rows the desk holds fast while it logs a dose; a trigger keeps them whole.

PostgreSQL lets nobody lock a row who may not change a column of it.
"""
_STRIKING = ("struck_at", "struck_by", "struck_why", "rev", "changed_at", "changed_by")
NAMES = ("created_by", "changed_by", "struck_by", "by")
"""Columns that say who wrote a row."""
META = "book_meta"
"""What the book says of itself; its triggers let nobody lose the end of the chain."""


class Right(NamedTuple):
    """One thing that a group may do with a table, or with some columns of it; none means all."""

    group: Group
    table: str
    what: str
    columns: tuple[str, ...] = ()


def table_names() -> tuple[str, ...]:
    """All tables of a book at a server, that of the number of its tables among them."""
    return (*sorted(Base.metadata.tables), _VERSION)


def rights() -> tuple[Right, ...]:
    """Everything that the groups may do, by table.

    Returns
    -------
    tuple of Right
        What is not in it, nobody but the owner may do.
    """
    found: list[Right] = []
    for name in table_names():
        for group in GROUPS:
            found += _rights(group, name)
    return tuple(found)


def _rights(group: Group, name: str) -> Iterable[Right]:
    if name in _HIDDEN:
        seen = tuple(
            one.name
            for one in table(cast("TableName", name)).columns
            if one.name not in _HIDDEN[name]
        )
        yield Right(group, name, "SELECT", seen)
    else:
        yield Right(group, name, "SELECT")
    if group == "reader" or name in _BY_THE_OWNER:
        return
    if group == "desk" and (name == "staff" or name in VETS_ALONE):
        if name in _LOCKED:
            yield Right(group, name, "UPDATE", ("rev",))
        return
    yield Right(group, name, "INSERT")
    if name in ONLY_ADDED_TO:
        return
    if group == "desk" and name in FREE:
        yield Right(group, name, "UPDATE", _STRIKING)
    else:
        yield Right(group, name, "UPDATE")
    if name in _RECKONED:
        yield Right(group, name, "DELETE")


def watched_tables() -> tuple[str, ...]:
    """The tables whose rows a trigger looks at.

    It compares who wrote a row with the login, and what the book says of itself with the chain.
    """
    return tuple(
        name
        for name, one in sorted(Base.metadata.tables.items())
        if name == META or any(column in one.c for column in NAMES)
    )


def group_of(role: str) -> Group:
    """The group to which a person of a role of the staff belongs.

    Parameters
    ----------
    role
        As on the staff.
    """
    return "desk" if role == RECEPTIONIST else "vet"


def good_prefix(prefix: str) -> str:
    """What the names of the groups and functions begin with.

    Parameters
    ----------
    prefix
        Small letters, digits and underscores, a letter first.

    Raises
    ------
    BadInput
        It is something else.
    """
    if _PREFIX.fullmatch(prefix) is None or prefix.startswith("pg_"):
        raise BadInput(
            "The prefix of the roles has small letters, digits and underscores, a letter first, "
            "31 at the most, and does not begin with pg_."
        )
    return prefix


def good_login(login: str) -> str:
    """The name of a login, where it is one that stands unharmed in any statement.

    Parameters
    ----------
    login
        As it was typed.

    Raises
    ------
    BadInput
        It is something else.
    """
    if _LOGIN.fullmatch(login) is None or login.casefold().startswith("pg_"):
        raise BadInput(
            "A login has letters without accents, digits and any of . _ @ - , a letter first, 63 "
            "at the most, and does not begin with pg_. Nothing was changed.",
            field="login",
        )
    return login


def own_name(prefix: str) -> str:
    """Name of the trigger, and of its function, that lets nobody write in another's name.

    Parameters
    ----------
    prefix
        Of the groups.
    """
    return f"{prefix}_own_name"


_PRIVILEGES = text(
    """
    SELECT r.rolname AS role, t.name, p.what,
           has_table_privilege(r.oid, c.oid, p.what) AS whole,
           p.what IN ('SELECT', 'INSERT', 'UPDATE')
             AND has_any_column_privilege(r.oid, c.oid, p.what) AS part
    FROM pg_roles r, unnest(CAST(:tables AS text[])) AS t(name),
         unnest(CAST(:privileges AS text[])) AS p(what), pg_class c
    WHERE r.rolname = ANY(:roles) AND c.oid = to_regclass(t.name)
    """
)
_TRIGGERS = text(
    "SELECT c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
    "WHERE t.tgname = :name AND t.tgenabled IN ('O', 'A')"
)
_PEOPLE = text(
    "SELECT s.name, s.role, s.struck_at IS NOT NULL AS gone, i.login, r.oid IS NOT NULL AS there, "
    "COALESCE(pg_has_role(r.oid, v.oid, 'MEMBER'), false) AS vet, "
    "COALESCE(pg_has_role(r.oid, d.oid, 'MEMBER'), false) AS desk, "
    "COALESCE(r.rolsuper, false) AS super, r.oid = (SELECT relowner FROM pg_class "
    "WHERE oid = to_regclass('practice')) AS owner "
    "FROM sign_in i JOIN staff s ON s.id = i.staff_id LEFT JOIN pg_roles r ON r.rolname = i.login "
    "JOIN pg_roles v ON v.rolname = :vet JOIN pg_roles d ON d.rolname = :desk "
    "WHERE i.login <> '' ORDER BY s.name"
)


def prefix_there(book: Book) -> str | None:
    """The prefix with which the script of the roles was run in the database of a book.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    str or None
        None where it was never run, and for a book in a file.

    Raises
    ------
    BookTrouble
        The book cannot be read.
    """
    if book.engine.dialect.name != "postgresql":
        return None
    ending = own_name("")
    asked = text(
        "SELECT t.tgname FROM pg_trigger t WHERE t.tgrelid = to_regclass('change') "
        "AND right(t.tgname, length(:ending)) = :ending ORDER BY t.tgname LIMIT 1"
    )
    with book.reading() as connection:
        found = connection.execute(asked, {"ending": ending}).scalar()
    return None if found is None else str(found).removesuffix(ending)


def roles_missing(book: Book, prefix: str = PREFIX) -> tuple[str, ...]:
    """What the script of the roles would change, in sentences; nothing where it was never run.

    Parameters
    ----------
    book
        The book.
    prefix
        Of the groups.

    Returns
    -------
    tuple of str
        Empty for a book in a file.

    Raises
    ------
    BadInput
        A prefix that is none.
    BookTrouble
        The book cannot be read.
    """
    if book.engine.dialect.name != "postgresql":
        return ()
    groups: dict[Group, str] = {group: f"{good_prefix(prefix)}_{group}" for group in GROUPS}
    with book.reading() as connection:
        asked = text("SELECT rolname FROM pg_roles WHERE rolname = ANY(:names)")
        there = set(connection.execute(asked, {"names": list(groups.values())}).scalars())
        if not there:
            return ()
        gone = [name for name in groups.values() if name not in there]
        if gone:
            return (f"The role {', '.join(gone)} is not there: run “pondround roles” again.",)
        return (
            *_wrong_rights(connection, groups),
            *_no_triggers(connection, prefix),
            *_wrong_people(connection, groups),
        )


def _wrong_rights(connection: Connection, groups: Mapping[Group, str]) -> Iterable[str]:
    names = {role: group for group, role in groups.items()}
    wanted = {(one.group, one.table, one.what): one.columns for one in rights()}
    asked = {"tables": list(table_names()), "privileges": list(ALL), "roles": list(names)}
    for row in connection.execute(_PRIVILEGES, asked):
        columns = wanted.get((names[row.role], row.name, row.what))
        if columns is None and (row.whole or row.part):
            yield f"{row.role} may {row.what} {row.name}, which is not for it."
        elif columns == () and not row.whole:
            yield f"{row.role} may not {row.what} {row.name}."
        elif columns and (row.whole or not row.part):
            yield f"{row.role} may {row.what} other columns of {row.name} than it should."


def _no_triggers(connection: Connection, prefix: str) -> Iterable[str]:
    there = set(connection.execute(_TRIGGERS, {"name": own_name(prefix)}).scalars())
    for name in watched_tables():
        if name not in there:
            ill = "with what is not so" if name == META else "in another's name"
            yield f"Nothing keeps {name} from being written {ill}."


def _wrong_people(connection: Connection, groups: Mapping[Group, str]) -> Iterable[str]:
    asked = {"vet": groups["vet"], "desk": groups["desk"]}
    for row in connection.execute(_PEOPLE, asked):
        if row.super:
            yield f"{row.name} comes as {row.login}, a superuser, who may do anything."
        elif row.owner:
            continue  # may do everything, and is of every group that it made
        elif row.gone and (row.vet or row.desk):
            yield f"{row.name} is no longer on the staff, and {row.login} is still let in."
        elif not row.gone and not row.there:
            yield f"{row.name} comes as {row.login}, a role that the server does not have."
        elif not row.gone:
            wanted = group_of(row.role)
            if (row.vet, row.desk) != (wanted == "vet", wanted == "desk"):
                yield f"{row.login} is not of {groups[wanted]} alone, as {row.name} should be."

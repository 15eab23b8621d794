"""The record of changes over the whole book, newest first, some lines at a time.

A page costs no more in a book of a million lines than in one of a hundred. Lines are found by their
instant; what is asked for besides is looked for among so many lines at a time, and whoever asks is
told where to go on. The lines of one thing are found by the keys of all that hangs on it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    Select,
    String,
    and_,
    cast,
    false,
    func,
    or_,
    select,
    type_coerce,
)
from sqlalchemy.sql.elements import UnaryExpression
from sqlalchemy.sql.selectable import FromClause

from store.book.book import Book
from store.book.columns import Base
from store.book.tables import TableName, table
from store.book.told.hanging import hanging

Did = Literal["add", "change", "strike", "restore"]
LOOKED_AT = 4_000
"""Lines among which one question looks, where it asks for more than days and place."""
READ = 2_000
"""As many, where words are looked for in them."""
MOST_PLACES = 100
"""A word that more clients, sites and ponds are called by is not looked for among their names."""

_LONG = frozenset({"before", "after", "why"})


@dataclass(frozen=True, slots=True)
class Cursor:
    """Where a page ends: the next begins with the lines before this one."""

    at: datetime
    id: UUID


@dataclass(frozen=True, slots=True)
class Word:
    """A word that is looked for, and what the caller knows it to mean.

    `tables` are kinds of record that are called so, `did` what may have been done, `people` who is
    called so; reasons, names of places and values that were typed are looked through in any case.
    """

    text: str
    tables: tuple[str, ...] = ()
    did: tuple[str, ...] = ()
    people: tuple[UUID, ...] = ()


@dataclass(frozen=True, slots=True)
class Wish:
    """Which lines are wanted; all of them where nothing is said.

    `since` and `until` are calendar days of the practice, both included. `tables` are kinds of
    record; an empty tuple asks for none at all. `about` is a thing with all that hangs on it, `row`
    one row by itself.
    """

    by: UUID | None = None
    since: date | None = None
    until: date | None = None
    tables: tuple[str, ...] | None = None
    about: tuple[TableName, UUID] | None = None
    row: tuple[str, UUID] | None = None
    words: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log as it stands there: keys as text, days and instants as ISO 8601.

    `hash` is that of its link in the chain through the log, empty where it has none.
    """

    id: UUID
    at: datetime
    by: UUID
    by_name: str
    table: str
    row: UUID
    rev: int
    what: Did
    before: Mapping[str, Any]
    after: Mapping[str, Any]
    why: str
    hash: str


@dataclass(frozen=True, slots=True)
class RecordPage:
    """Some lines, newest first, and where to go on; `next` is None when there are no more.

    A page may hold fewer lines than were asked for, or none, and still have a next one: then so
    many lines were looked at in vain.
    """

    lines: tuple[Entry, ...]
    next: Cursor | None


def record(
    book: Book,
    wish: Wish,
    *,
    before: Cursor | None = None,
    limit: int = 50,
    look: int | None = None,
) -> RecordPage:
    """Some lines of the record of changes, newest first.

    Parameters
    ----------
    book
        The practice's book.
    wish
        Which lines are wanted.
    before
        Where the page before ended; None begins with the newest line.
    limit
        Lines of a page at the most.
    look
        Lines among which is looked at the most, where the wish asks for a person, a kind or words
        and for nothing that an index finds; None looks among `LOOKED_AT`, or `READ` for words.

    Returns
    -------
    RecordPage
        Lines of one action stand in the reverse of the order in which they were entered.
    """
    zone = book.zone
    with book.reading() as connection:
        return read_record(connection, zone, wish, before=before, limit=limit, look=look)


def read_record(
    connection: Connection,
    zone: ZoneInfo,
    wish: Wish,
    *,
    before: Cursor | None = None,
    limit: int = 50,
    look: int | None = None,
) -> RecordPage:
    """Some lines of the record of changes, asked within a reading.

    Parameters
    ----------
    connection
        Of a reading of the book.
    zone
        The practice's time zone.
    wish, before, limit, look
        As for `record`.

    Returns
    -------
    RecordPage
        As `record` gives it.
    """
    if wish.tables == ():
        return RecordPage((), None)
    change = table("change")
    within = _within(change, wish, zone, before)
    narrow = _narrow(change, wish)
    asked = _asked(connection, change, wish)
    end: Cursor | None = None
    if asked is None or narrow is not None:
        conditions = [one for one in (within, narrow, asked) if one is not None]
        found = select(change.c.id).where(*conditions).order_by(*_newest_first(change, narrow))
    else:
        look = look or (READ if wish.words else LOOKED_AT)
        columns = [one for one in change.c if wish.words or one.name not in _LONG]
        looked = select(*columns).where(within).order_by(*_newest_first(change)).limit(look)
        last = select(change.c.at, change.c.id).where(within).order_by(*_newest_first(change))
        row = connection.execute(last.offset(look - 1).limit(1)).one_or_none()
        end = None if row is None else Cursor(row.at, row.id)
        some = looked.subquery()
        asked = _asked(connection, some, wish)
        assert asked is not None
        found = select(some.c.id).where(asked).order_by(some.c.at.desc(), some.c.id.desc())
    keys = list(connection.execute(found.limit(limit + 1)).scalars())
    lines = _entries(connection, keys[:limit])
    if len(keys) > limit:
        end = Cursor(lines[-1].at, lines[-1].id)
    return RecordPage(lines, end)


def _newest_first(
    change: FromClause, narrow: ColumnElement[bool] | None = None
) -> tuple[UnaryExpression[Any], ...]:
    if narrow is None:
        return change.c.at.desc(), change.c.id.desc()
    # A sum is no column of an index: few lines are found by their row and then put in order,
    # rather than all lines walked through in order to find few.
    return (type_coerce(change.c.at, BigInteger) + 0).desc(), change.c.id.desc()


def _within(
    change: FromClause, wish: Wish, zone: ZoneInfo, before: Cursor | None
) -> ColumnElement[bool]:
    conditions = []
    if before is not None:
        conditions.append(change.c.at <= before.at)
        conditions.append(or_(change.c.at < before.at, change.c.id < before.id))
    if wish.since is not None:
        conditions.append(change.c.at >= _begin(wish.since, zone))
    if wish.until is not None:
        conditions.append(change.c.at < _begin(wish.until + timedelta(days=1), zone))
    return and_(True, *conditions)


def _begin(day: date, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone)


def _narrow(change: FromClause, wish: Wish) -> ColumnElement[bool] | None:
    conditions: list[ColumnElement[bool]] = []
    if wish.about is not None:
        name, key = wish.about
        conditions.append(change.c.row_id.in_(hanging({name: [key]})))
    if wish.row is not None:
        conditions += [change.c.row_id == wish.row[1], change.c.table_name == wish.row[0]]
    return and_(*conditions) if conditions else None


def _asked(connection: Connection, change: FromClause, wish: Wish) -> ColumnElement[bool] | None:
    conditions: list[ColumnElement[bool]] = []
    if wish.by is not None:
        conditions.append(change.c.by == wish.by)
    if wish.tables is not None:
        conditions.append(change.c.table_name.in_(wish.tables))
    conditions += [_says(connection, change, word) for word in wish.words]
    return and_(*conditions) if conditions else None


def _says(connection: Connection, change: FromClause, word: Word) -> ColumnElement[bool]:
    sqlite = connection.dialect.name == "sqlite"
    fits: list[ColumnElement[bool]] = [_has(change.c.why, word.text)]
    for values in (change.c.before, change.c.after):
        spelt = _in_json(word.text) if sqlite else (word.text,)
        fits += [_has(cast(values, String), one) for one in spelt]
    if word.tables:
        fits.append(change.c.table_name.in_(word.tables))
    if word.did:
        fits.append(change.c.what.in_(word.did))
    if word.people:
        fits.append(change.c.by.in_(word.people))
    places = places_called(connection, word.text)
    if places:
        fits.append(change.c.row_id.in_(hanging(places)))
    return or_(false(), *fits)


def _has(column: Any, text: str) -> ColumnElement[bool]:
    return func.lower(column).contains(text.lower(), autoescape=True)


def _in_json(text: str) -> tuple[str, ...]:
    """The text as SQLite has it within JSON, whose letters beyond ASCII stand as numbers."""
    spelt = {text, text.lower(), text.upper(), text.capitalize()}
    return tuple(sorted({json.dumps(one)[1:-1].lower() for one in spelt}))


def places_called(connection: Connection, text: str) -> dict[TableName, Sequence[UUID]]:
    """Clients, sites and ponds whose name holds a text.

    Parameters
    ----------
    connection
        Of a reading of the book.
    text
        Part of a name; capitals do not matter.

    Returns
    -------
    dict
        Keys by table; empty where more than `MOST_PLACES` are called so.
    """
    found: dict[TableName, Sequence[UUID]] = {}
    names: tuple[TableName, ...] = ("client", "site", "pond")
    for name in names:
        place = table(name)
        spelt = {text, text.lower(), text.capitalize()}
        called = or_(*(_has(place.c.name, one) | place.c.name.contains(one) for one in spelt))
        query = select(place.c.id).where(called).limit(MOST_PLACES + 1)
        keys = list(connection.execute(query).scalars())
        if keys:
            found[name] = keys
    return found if sum(map(len, found.values())) <= MOST_PLACES else {}


def _entries(connection: Connection, keys: Sequence[UUID]) -> tuple[Entry, ...]:
    if not keys:
        return ()
    found = {one.id: one for one in map(_entry, connection.execute(_whole(keys)))}
    return tuple(found[key] for key in keys)


def _whole(keys: Sequence[UUID]) -> Select[Any]:
    change, staff = table("change"), table("staff")
    columns = [
        change.c.id, change.c.at, change.c.by, staff.c.name, change.c.table_name, change.c.row_id,
        change.c.rev, change.c.what, change.c.before, change.c.after, change.c.why,
    ]  # fmt: skip
    link = Base.metadata.tables.get("change_link")
    source = change.outerjoin(staff, staff.c.id == change.c.by)
    if link is not None:
        columns.append(link.c.hash)
        source = source.outerjoin(link, link.c.change_id == change.c.id)
    return select(*columns).select_from(source).where(change.c.id.in_(keys))


def _entry(row: Any) -> Entry:
    key, at, by, name, table_name, row_id, rev, what, before, after, why, *link = row
    hashed = (link[0] if link else None) or ""
    return Entry(
        key, at, by, name or "", table_name, row_id, rev, what, before or {}, after or {}, why,
        hashed,
    )  # fmt: skip

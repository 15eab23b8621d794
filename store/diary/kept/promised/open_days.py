"""Every open day of what was promised by hand, read at once for the whole practice."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, Row, Select, String, and_, func, or_, select, type_coerce
from sqlalchemy.types import NullType

from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import Origin, Promised
from store.diary.desk.open_of_rule import OpenOfRule, open_of_rule
from store.diary.desk.rule_days import RuleDays
from store.diary.kept.promised.follow_up_values import reading_from
from store.errors import PondroundError
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said

MOST_BACK_DAYS = 3660
"""Days of a repeating promise that were missed longer ago do not speak any more [d]."""


@dataclass(frozen=True, slots=True)
class OpenDay(Promised):
    """An open day of a follow-up.

    `more_since` counts days that came after it and were not kept either; `moved_from` is the day of
    the rule where it was moved, `moved_why` the reason.
    """

    more_since: int = 0
    moved_from: date | None = None
    moved_why: str = ""


def open_days(
    source: Book | Connection, today: date, until: date, *, pond_id: UUID | None = None
) -> tuple[OpenDay, ...]:
    """Every open day of every open follow-up, by the day on which it stands.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    today
        The practice's calendar day.
    until
        The last day looked at.
    pond_id
        The one pond that is wanted; None for everything.

    Returns
    -------
    tuple of OpenDay
        Days ahead each for itself. Of a repeating one whose days came and were not kept the oldest
        speaks, with how many came since; the newest speaks too while its window is open. Nothing
        of a client, site or pond that was struck through: `resting` names those.

    Notes
    -----
    A rule that cannot be read (written by a newer program) is not passed over: its first day
    speaks, and says so.
    """
    with reading_from(source) as connection:
        query = _query(until, connection.dialect.name)
        if pond_id is not None:
            query = query.where(table("follow_up").c.pond_id == pond_id)
        rows = [_Line._make(row) for row in connection.execute(query)]
        moves = _moves(connection)
    rules = RuleDays(today - timedelta(days=MOST_BACK_DAYS), until)
    made = _Maker(rules)
    found: list[OpenDay] = []
    for row in rows:
        moved = moves.get(row.id, _NOT_MOVED)
        if row.repeats or moved:
            speaking = _speaking(row, moved, rules, today, until)
            found += [made.of(row, one, moved) for one in speaking]
        elif not row.closed and row.first_on <= until:
            # By far the most: promised once and never touched.
            found.append(made.of(row, OpenOfRule(row.first_on, row.first_on), moved))
    found.sort(key=lambda one: one.due_on)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Resting:
    """An open follow-up of which nothing falls due, since what it is for was struck through."""

    id: UUID
    client_id: UUID
    pond_id: UUID | None
    says: str
    why: str


def resting(source: Book | Connection, client_id: UUID | None = None) -> tuple[Resting, ...]:
    """Open follow-ups of which nothing falls due, since their place was struck through.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    client_id
        Of this client only.

    Returns
    -------
    tuple of Resting
        They fall due again when client, site or pond is restored.
    """
    rows, clients, ponds, sites = _tables()
    query = (
        _joined(
            rows.c.id, rows.c.client_id, rows.c.pond_id, rows.c.says,
            clients.c.struck_at.label("client_struck"), ponds.c.struck_at.label("pond_struck"),
            clients.c.struck_why.label("client_why"), ponds.c.struck_why.label("pond_why"),
            sites.c.struck_why.label("site_why"),
        )
        .where(
            or_(
                clients.c.struck_at.is_not(None),
                ponds.c.struck_at.is_not(None),
                sites.c.struck_at.is_not(None),
            )
        )
        .order_by(rows.c.first_on, rows.c.id)
    )  # fmt: skip
    if client_id is not None:
        query = query.where(rows.c.client_id == client_id)
    with reading_from(source) as connection:
        found = connection.execute(query).all()
    return tuple(
        Resting(row.id, row.client_id, row.pond_id, row.says, _struck_said(row)) for row in found
    )


def _struck_said(row: Row[Any]) -> str:
    if row.client_struck is not None:
        return f"The client was struck through: {row.client_why}"
    if row.pond_struck is not None:
        return f"The pond was struck through: {row.pond_why}"
    return f"The site was struck through: {row.site_why}"


def _tables() -> tuple[Any, Any, Any, Any]:
    return table("follow_up"), table("client"), table("pond"), table("site")


def _joined(*columns: Any) -> Select[Any]:
    """Open follow-ups with client, pond and the site where it stands now."""
    rows, clients, ponds, sites = _tables()
    place = or_(
        and_(ponds.c.id.is_not(None), sites.c.id == ponds.c.site_id),
        and_(ponds.c.id.is_(None), sites.c.id == rows.c.site_id),
    )
    return (
        select(*columns)
        .join_from(rows, clients, clients.c.id == rows.c.client_id)
        .outerjoin(ponds, ponds.c.id == rows.c.pond_id)
        .outerjoin(sites, place)
        .where(rows.c.state == "open", rows.c.struck_at.is_(None))
    )


class _Line(NamedTuple):
    """One follow-up as `_query` gives it; looking into a row by name takes ten times as long."""

    id: Any
    client_id: Any
    site_id: Any
    pond_id: Any
    kind: str
    says: str
    origin: Origin
    promiser: str
    promised_on: date
    first_on: date
    early_days: int
    late_days: int
    repeats: str
    closed: str | None


def _query(until: date, dialect: str) -> Select[Any]:
    """Open follow-ups that may speak, with the days of each that are closed as one text.

    Keys come as the database has them: most of them are never looked at.
    """
    rows, clients, ponds, sites = _tables()
    staff, days = table("staff"), table("follow_up_day")
    moved_here = select(days.c.follow_up_id).where(
        days.c.state == "open", days.c.moved_to <= until, days.c.struck_at.is_(None)
    )
    day = func.to_char(days.c.due_on, "YYYY-MM-DD") if dialect == "postgresql" else days.c.due_on
    closed = (
        select(func.aggregate_strings(type_coerce(day, String), " "))
        .where(
            days.c.follow_up_id == rows.c.id, days.c.state != "open", days.c.struck_at.is_(None)
        )
        .scalar_subquery()
    )  # fmt: skip
    keys = (rows.c.id, rows.c.client_id, sites.c.id, rows.c.pond_id)
    return (
        _joined(
            *(type_coerce(key, NullType()) for key in keys),
            rows.c.kind, rows.c.says, rows.c.origin, staff.c.name,
            rows.c.promised_on, rows.c.first_on, rows.c.early_days, rows.c.late_days,
            rows.c.repeats, closed,
        )
        .join(staff, staff.c.id == rows.c.promised_by)
        .where(
            clients.c.struck_at.is_(None),
            ponds.c.struck_at.is_(None),
            sites.c.struck_at.is_(None),
            or_(rows.c.first_on <= until, rows.c.id.in_(moved_here)),
        )
        .order_by(rows.c.first_on, rows.c.id)
    )  # fmt: skip


_Moved = Mapping[date, tuple[date, str]]
_NOT_MOVED: _Moved = {}


def _moves(connection: Connection) -> Mapping[Any, _Moved]:
    """By follow-up the open days that were moved, where to, and why."""
    days = table("follow_up_day")
    query = select(
        type_coerce(days.c.follow_up_id, NullType()), days.c.due_on, days.c.moved_to, days.c.why
    ).where(days.c.state == "open", days.c.moved_to.is_not(None), days.c.struck_at.is_(None))
    found: dict[Any, dict[date, tuple[date, str]]] = {}
    for key, due_on, moved_to, why in connection.execute(query):
        found.setdefault(key, {})[due_on] = (moved_to, why)
    return found


def _speaking(
    row: _Line, moved: _Moved, rules: RuleDays, today: date, until: date
) -> tuple[OpenOfRule, ...]:
    try:
        days = rules.of(row.repeats, row.first_on)
    except PondroundError:
        days = [row.first_on]
    closed = [date.fromisoformat(day) for day in row.closed.split()] if row.closed else []
    if closed and not moved:
        newest = max(closed)
        through = bisect_right(days, newest)
        if through == len(closed) and days and min(closed) >= days[0]:
            # All that came until the newest that is closed are closed: the usual case.
            days, closed = days[through:], []
    places = {day: to for day, (to, _why) in moved.items()}
    return open_of_rule(days, frozenset(closed), places, today, until, row.late_days)


class _Maker:
    """Makes open days out of rows; what many rows share is made once."""

    def __init__(self, rules: RuleDays) -> None:
        self._kinds = follow_up_kinds()
        self._rules = rules
        self._key = cache(_key)
        self._said = cache(self._said_by_rule)
        self._promised = cache(_promised)

    def of(self, row: _Line, one: OpenOfRule, moved: _Moved) -> OpenDay:
        key, due, more = self._key, one.due_on, one.more_since
        kind = self._kinds.get(row.kind)
        because = self._promised(row.promiser, row.promised_on, row.origin)
        moved_from, why = None, ""
        if one.rule_day in moved:
            moved_from, why = one.rule_day, moved[one.rule_day][1]
            because += f" Moved from {day_said(moved_from)} to {day_said(due)}: {why.rstrip('.')}."
        return OpenDay(
            about=str(About("hand", _key(row.id), day=one.rule_day)),
            kind=row.kind,
            client_id=key(row.client_id),
            site_id=None if row.site_id is None else key(row.site_id),
            pond_id=None if row.pond_id is None else key(row.pond_id),
            says=f"{row.says}, {one.more_said}" if more else row.says,
            because=f"{because} {one.passed_said}" if more else because,
            origin=row.origin,
            promised_by=row.promiser,
            promised_on=row.promised_on,
            due_on=due,
            first_on=due - timedelta(days=row.early_days),
            last_on=due + timedelta(days=row.late_days),
            needs="call" if kind is None else kind.needs,
            repeats=self._said(row.repeats, row.first_on) if row.repeats else "",
            more_since=more,
            moved_from=moved_from,
            moved_why=why,
        )

    def _said_by_rule(self, rule: str, first: date) -> str:
        try:
            return self._rules.said(rule, first)
        except PondroundError:
            return f"a rule that cannot be read here: {rule}"


def _key(value: Any) -> UUID:
    return value if isinstance(value, UUID) else UUID(bytes=value)


def _promised(by: str, on: date, origin: str) -> str:
    said = f"Promised by {by} on {day_said(on)}"
    return f"{said}." if origin == "by hand" else f"{said}, from: {origin}."

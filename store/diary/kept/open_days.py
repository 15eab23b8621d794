"""Every open day of what was promised by hand, read at once for the whole practice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, and_, or_, select

from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.desk.open_of_rule import OpenOfRule, open_of_rule
from store.diary.kept.follow_up_values import reading_from
from store.diary.times.repeats import days_of, repeat_of
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


def open_days(source: Book | Connection, today: date, until: date) -> tuple[OpenDay, ...]:
    """Every open day of every open follow-up, by the day on which it stands.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    today
        The practice's calendar day.
    until
        The last day looked at.

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
        rows = connection.execute(_query(until)).all()
        became = _became(connection)
    kinds = follow_up_kinds()
    rule_days = _expanded(until)
    found: list[OpenDay] = []
    for row in rows:
        closed, moved = became.get(row.id, _NOTHING)
        if not row.repeats and not moved:
            # By far the most: promised once and never touched.
            if closed or row.first_on > until:
                continue
            speaking: tuple[OpenOfRule, ...] = (OpenOfRule(row.first_on, row.first_on),)
            repeats = ""
        else:
            days, repeats = rule_days(row.repeats, row.first_on)
            places = {day: to for day, (to, _why) in moved.items()}
            speaking = open_of_rule(days, closed, places, today, until, row.late_days)
        kind = kinds.get(row.kind)
        needs = "call" if kind is None else kind.needs
        for one in speaking:
            moved_to, why = moved.get(one.rule_day, (None, ""))
            moved_from = one.rule_day if moved_to is not None else None
            due = one.due_on
            found.append(
                OpenDay(
                    str(About("hand", row.id, day=one.rule_day)),
                    row.kind,
                    row.client_id,
                    row.site_id,
                    row.pond_id,
                    f"{row.says}, {one.more_said}" if one.more_since else row.says,
                    _because(row, one, moved_from, why),
                    row.origin,
                    row.promiser,
                    row.promised_on,
                    due,
                    due - timedelta(days=row.early_days),
                    due + timedelta(days=row.late_days),
                    needs,
                    repeats,
                    more_since=one.more_since,
                    moved_from=moved_from,
                    moved_why=why,
                )
            )
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


def resting(source: Book | Connection) -> tuple[Resting, ...]:
    """Open follow-ups of which nothing falls due, since their place was struck through.

    Parameters
    ----------
    source
        The book, or the connection of an action.

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


def _query(until: date) -> Select[Any]:
    rows, clients, ponds, sites = _tables()
    staff, days = table("staff"), table("follow_up_day")
    moved_here = select(days.c.follow_up_id).where(
        days.c.state == "open", days.c.moved_to <= until, days.c.struck_at.is_(None)
    )
    return (
        _joined(
            rows.c.id, rows.c.client_id, sites.c.id.label("site_id"), rows.c.pond_id, rows.c.kind,
            rows.c.says, rows.c.origin, staff.c.name.label("promiser"), rows.c.promised_on,
            rows.c.first_on, rows.c.early_days, rows.c.late_days, rows.c.repeats,
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


_Became = tuple[set[date], dict[date, tuple[date, str]]]
_NOTHING: _Became = (set(), {})


def _became(connection: Connection) -> dict[UUID, _Became]:
    """By open follow-up the days of its rule that are closed, and where the others were moved."""
    days, rows = table("follow_up_day"), table("follow_up")
    query = (
        select(days.c.follow_up_id, days.c.due_on, days.c.moved_to, days.c.state, days.c.why)
        .join(rows, rows.c.id == days.c.follow_up_id)
        .where(
            days.c.struck_at.is_(None), rows.c.state == "open", rows.c.struck_at.is_(None)
        )
    )  # fmt: skip
    found: dict[UUID, _Became] = {}
    for key, due_on, moved_to, state, why in connection.execute(query):
        closed, moved = found.setdefault(key, (set(), {}))
        if state != "open":
            closed.add(due_on)
        elif moved_to is not None:
            moved[due_on] = (moved_to, why)
    return found


def _expanded(until: date) -> Callable[[str, date], tuple[tuple[date, ...], str]]:
    """Days of a rule up to a day, and the rule in words; each rule and first day read once."""

    @cache
    def of(rule: str, first: date) -> tuple[tuple[date, ...], str]:
        if not rule:
            return (first,), ""
        try:
            since = max(first, until - timedelta(days=MOST_BACK_DAYS))
            return days_of(rule, first, since, until), repeat_of(rule, first).said
        except PondroundError:
            return (first,), f"a rule that cannot be read here: {rule}"

    return of


def _because(row: Row[Any], one: OpenOfRule, moved_from: date | None, why: str) -> str:
    return " ".join(_reasons(row, one, moved_from, why))


def _reasons(row: Row[Any], one: OpenOfRule, moved_from: date | None, why: str) -> Iterator[str]:
    by = f"Promised by {row.promiser} on {day_said(row.promised_on)}"
    yield f"{by}." if row.origin == "by hand" else f"{by}, from: {row.origin}."
    if moved_from is not None:
        yield f"Moved from {day_said(moved_from)} to {day_said(one.due_on)}: {why.rstrip('.')}."
    if one.more_since:
        yield one.passed_said

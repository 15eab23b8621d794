"""Water tests that the plans of ponds asked for, and when they were taken."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select

from store.book.tables import table
from store.diary.desk.kept_on_time import Record, Stood
from store.errors import BadInput
from store.facts.follow_ups import follow_up_kinds
from store.water.plan import Season, due_on, read_seasons

_COLUMNS = ("test_every_days", "test_seasons")


@dataclass(frozen=True, slots=True)
class PlanFrom:
    """The plan of a pond from a day on."""

    since: date
    every_days: int | None
    seasons: tuple[Season, ...]


def water_tests_kept(
    connection: Connection, zone: ZoneInfo, since: date, today: date
) -> Iterator[Record]:
    """Every water test that a plan asked for.

    Parameters
    ----------
    connection
        A reading of the book.
    zone
        Of the practice, in which a test belongs to its calendar day.
    since
        Tests before this day are not looked at.
    today
        The practice's calendar day.

    Yields
    ------
    Record
        Of ponds that stand in the book. Each test makes the next one due by the plan that stood
        then; the record of changes tells of plans that were changed meanwhile.
    """
    ponds, tests = table("pond"), table("water_test")
    query = select(ponds.c.id, ponds.c.created_at, *(ponds.c[name] for name in _COLUMNS))
    rows = connection.execute(query.where(ponds.c.struck_at.is_(None))).all()
    plans = _plans(connection, zone, rows)
    begins = datetime.combine(since, time(), zone)
    taken: dict[UUID, list[date]] = {}
    query = (
        select(tests.c.pond_id, tests.c.taken_at)
        .where(
            tests.c.struck_at.is_(None), tests.c.taken_at >= begins,
            tests.c.pond_id.in_(select(ponds.c.id).where(ponds.c.struck_at.is_(None))),
        )
        .order_by(tests.c.taken_at)
    )  # fmt: skip
    for pond, at in connection.execute(query):
        if pond in plans:
            taken.setdefault(pond, []).append(at.astimezone(zone).date())
    for row in rows:
        if row.id in plans:
            entered = max(row.created_at.astimezone(zone).date(), since)
            yield from asked_tests(plans[row.id], taken.get(row.id, []), entered, today)


def asked_tests(
    plans: Sequence[PlanFrom], taken: Sequence[date], entered: date, today: date
) -> Iterator[Record]:
    """The tests that the plans of one pond asked for.

    Parameters
    ----------
    plans
        By the day from which they hold; never empty.
    taken
        The days of its tests, old to new.
    entered
        The day on which the pond was entered; without a test the plan counts from there.
    today
        The practice's calendar day.

    Yields
    ------
    Record
        A test that is taken before its window begins moves the next one and is no promise kept.
    """
    kind = follow_up_kinds()["water_test"]
    changes = [plan.since for plan in plans]
    days = sorted({*taken, entered}) if not taken or taken[0] > entered else sorted({*taken})
    for last, answer in zip(days, [*days[1:], None], strict=True):
        at = bisect_right(changes, last) - 1
        plan = plans[at] if at >= 0 else None
        due = None if plan is None else due_on(last, plan.every_days, plan.seasons)
        stood = [] if due is None else [Stood(last, due)]
        closed = None
        until = today if answer is None else answer
        for later in plans[at + 1 :]:
            if later.since > until:
                break
            due = due_on(last, later.every_days, later.seasons)
            if due is None:
                closed = later.since if stood else None
                continue
            closed = None
            stood.append(Stood(later.since, max(due, later.since)))
        if not stood:
            continue
        early = stood[-1].due_on - timedelta(days=kind.early_days)
        if answer is not None and answer < early:
            continue
        yield Record("water_test", tuple(stood), kind.late_days, answer, closed)


def _plans(
    connection: Connection, zone: ZoneInfo, rows: Sequence[Any]
) -> Mapping[UUID, tuple[PlanFrom, ...]]:
    """By pond its plans, from the record of changes; ponds that never had one are left out."""
    change = table("change").c
    query = (
        select(change.row_id, change.at, change.after)
        .where(change.table_name == "pond", change.what.in_(("add", "change")))
        .order_by(change.rev)
    )
    said: dict[UUID, list[tuple[date, dict[str, Any]]]] = {}
    for key, at, after in connection.execute(query):
        if after is not None and any(name in after for name in _COLUMNS):
            said.setdefault(key, []).append((at.astimezone(zone).date(), after))
    found: dict[UUID, tuple[PlanFrom, ...]] = {}
    for row in rows:
        values: dict[str, Any] = {}
        plans = []
        for on, after in said.get(row.id, []):
            values |= {name: after[name] for name in _COLUMNS if name in after}
            plans.append(_plan(on, values.get(_COLUMNS[0]), values.get(_COLUMNS[1])))
        if not plans:
            entered = row.created_at.astimezone(zone).date()
            plans = [_plan(entered, row.test_every_days, row.test_seasons)]
        if any(plan.every_days is not None or plan.seasons for plan in plans):
            found[row.id] = tuple(plans)
    return found


def _plan(since: date, every_days: int | None, seasons: Any) -> PlanFrom:
    try:
        read = read_seasons(seasons or [])
    except BadInput:
        read = ()
    return PlanFrom(since, every_days, read)

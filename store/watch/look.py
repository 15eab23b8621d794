"""Gathering what the rules look at, for the whole caseload or some ponds, in a few queries."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, func, or_, select, union_all

from store.book.columns import milliseconds
from store.book.some_rows import in_parts, rows_of
from store.book.tables import table
from store.errors import NotFound
from store.warmth.estimate import Ahead
from store.watch.found import OpenFinding
from store.watch.look_lost import read_losses
from store.watch.seen import DAY_MS, Circumstance, DayOf, LoggerDay, PondSeen, Promise
from store.water.kits_used import kits_used
from store.water.latest import (
    LOOK_BACK_DAYS,
    MOST_TESTS,
    NEWEST_TESTS,
    PACKED_TESTS,
    newest_tests,
)
from store.water.packed import PackedTest
from store.water.plan import read_seasons

LOGGER_DAYS_BACK = 60
LAST_HOURS = 48
EVENT_DAYS_BACK = 400
"""Events without an end are looked at for a little over a year."""


EstimatedOf = Mapping[UUID, Ahead] | Callable[[UUID], Ahead | None]
"""An estimate of each pond's temperature; none for a pond of which too little is known."""
GroundsOf = Callable[[UUID], Sequence[str]]
"""What the estimate of a pond rests on, in sentences."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a pond is and whose it is, as the lists show it."""

    pond: UUID
    pond_name: str
    site: str
    client: str
    town: str
    volume_l: float | None


@dataclass(frozen=True, slots=True)
class Caseload:
    """Every pond with what the rules may look at."""

    today: date
    places: Mapping[UUID, Place]
    seen: Mapping[UUID, PondSeen]


def look(
    connection: Connection,
    now: datetime,
    zone: ZoneInfo,
    *,
    pond: UUID | None = None,
    ponds: Collection[UUID] | None = None,
    newest: int = NEWEST_TESTS,
    back_days: int = LOOK_BACK_DAYS,
    treated: Mapping[UUID, frozenset[str]] | None = None,
    promised: Mapping[UUID, Sequence[Promise]] | None = None,
    found: Mapping[UUID, Sequence[OpenFinding]] | None = None,
    happened: Mapping[UUID, Sequence[Circumstance]] | None = None,
    estimated: EstimatedOf | None = None,
    grounds: GroundsOf | None = None,
) -> Caseload:
    """What the rules may look at, for all ponds that stand in the book, for one, or for some.

    Of ponds that are named all tests come whole; what it costs is in proportion to how many.

    Parameters
    ----------
    connection
        A reading connection of the book.
    now
        The present instant, with a time zone.
    zone
        The practice's time zone.
    pond
        The one pond that is wanted; None for all. It may be judged when the connection is closed.
    ponds
        Those that are wanted, where several are; one that is struck through is left out.
    newest
        How many tests of each pond, however old they are [tests].
    back_days
        Of how many days before today all tests are looked at [d].
    treated
        Ponds on a course, with the codes of the hazards it is against.
    promised
        Ponds on a course, with what of it is still due.
    found
        Ponds at which something was found that nothing has answered yet.
    happened
        What happened at ponds beside the events in the book, such as a hazard found there.
    estimated
        Estimates of the temperature, seen from today; None for none.
    grounds
        What they rest on, asked for only where one is told.

    Returns
    -------
    Caseload
        Places and what was seen, by the pond's key.

    Raises
    ------
    NotFound
        If one pond was asked for and is not in the book.
    """
    local_now = now.astimezone(zone)
    today = local_now.date()
    midnight = datetime.combine(today, time(), zone)
    midnight_ms = round(midnight.timestamp() * 1000)
    wanted = ponds if pond is None else [pond]
    rows = list(_ponds(connection, wanted))
    if pond is not None and not rows:
        raise NotFound("There is no such pond in the book, or it was struck through.")
    since_ms = midnight_ms - back_days * DAY_MS
    tests = newest_tests(
        connection,
        since_ms,
        newest,
        PACKED_TESTS if wanted is None else MOST_TESTS,
        None if wanted is None else [row.id for row in rows],
    )

    def whole(key: UUID) -> Sequence[PackedTest]:
        return newest_tests(connection, since_ms, newest, MOST_TESTS, [key])[key]

    loggers = _logger_days(connection, today, wanted)
    hours = _last_hours(connection, now, wanted) if loggers else {}
    events = _events(connection, today, wanted)
    losses = read_losses(connection, today, today, wanted)
    courses, promises = treated or {}, promised or {}
    findings, more = found or {}, happened or {}
    ahead_of = estimated.get if isinstance(estimated, Mapping) else estimated
    # Of one pond the kits are read now, since it is judged when the connection is closed; of the
    # caseload only for the few ponds at which a change or a trend is about to be told.
    own_kits = {} if pond is None else _kits(connection, pond, tests.get(pond, ()))
    day_of = DayOf(zone)
    places, seen = {}, {}
    for row in rows:
        key = row.id
        places[key] = Place(key, row.name, row.site, row.client, row.town, row.volume_l)
        seen[key] = PondSeen(
            pond=key,
            altitude_m=row.elevation_m or 0.0,
            indoor=row.indoor,
            every_days=row.test_every_days,
            seasons=read_seasons(row.test_seasons) if row.test_seasons else (),
            tests=tests.get(key, ()),
            local_day=day_of,
            local_hour=day_of.hour,
            midnight_ms=midnight_ms,
            added=day_of(round(row.created_at.timestamp() * 1000)),
            logger=loggers.get(key, {}),
            last_hours=hours.get(key, {}),
            circumstances=(*more.get(key, ()), *events.get(key, ())),
            found=findings.get(key, ()),
            treated=courses.get(key, frozenset()),
            promises=promises.get(key, ()),
            ahead=None if ahead_of is None else ahead_of(key),
            grounds=tuple if grounds is None else partial(grounds, key),
            losses=losses[key].on(today) if key in losses else None,
            kits=partial(_kits, connection, key, tests.get(key, ()))
            if pond is None
            else lambda: own_kits,
            whole=whole,
        )
    return Caseload(today, places, seen)


def see_whole(connection: Connection, some: Iterable[PondSeen]) -> None:
    """Read all readings of the tests that were looked at, of several ponds in one go.

    Parameters
    ----------
    connection
        The reading connection with which they were looked at.
    some
        Ponds of the caseload of which more is going to be asked than the newest tests.
    """
    partly = [seen for seen in some if not seen.is_whole]
    if not partly:
        return
    since_ms = partly[0].midnight_ms - LOOK_BACK_DAYS * DAY_MS
    ponds = [seen.pond for seen in partly]
    tests = newest_tests(connection, since_ms, packed=MOST_TESTS, ponds=ponds)
    for seen in partly:
        seen.see_whole(tests[seen.pond])


def _kits(connection: Connection, pond: UUID, tests: Sequence[PackedTest]) -> Mapping[int, object]:
    if not tests:
        return {}
    oldest = datetime.fromtimestamp(tests[-1].at_ms / 1000, UTC)
    return kits_used(connection, pond, oldest).get(pond, {})


def _ponds(connection: Connection, wanted: Collection[UUID] | None) -> Iterator[Any]:
    ponds, sites, clients = table("pond"), table("site"), table("client")
    query = (
        select(
            ponds.c.id,
            ponds.c.name,
            ponds.c.volume_l,
            ponds.c.indoor,
            ponds.c.test_every_days,
            ponds.c.test_seasons,
            ponds.c.created_at,
            sites.c.name.label("site"),
            sites.c.town,
            sites.c.elevation_m,
            clients.c.name.label("client"),
        )
        .join(sites, sites.c.id == ponds.c.site_id)
        .join(clients, clients.c.id == sites.c.client_id)
        .where(
            ponds.c.struck_at.is_(None), sites.c.struck_at.is_(None), clients.c.struck_at.is_(None)
        )
    )
    return rows_of(connection, query, ponds.c.id, wanted)


def _logger_days(
    connection: Connection, today: date, wanted: Collection[UUID] | None
) -> dict[UUID, dict[str, list[LoggerDay]]]:
    days = table("logger_day")
    query = (
        select(days.c.pond_id, days.c.parameter, days.c.day, days.c.mean, days.c.low, days.c.high)
        .where(days.c.day > today - timedelta(days=LOGGER_DAYS_BACK), days.c.day <= today)
        .order_by(days.c.pond_id, days.c.parameter, days.c.day.desc())
    )
    found: dict[UUID, dict[str, list[LoggerDay]]] = {}
    for row in rows_of(connection, query, days.c.pond_id, wanted):
        series = found.setdefault(row.pond_id, {}).setdefault(row.parameter, [])
        series.append(LoggerDay(row.day, row.mean, row.low, row.high))
    return found


def _last_hours(
    connection: Connection, now: datetime, wanted: Collection[UUID] | None
) -> dict[UUID, dict[str, list[tuple[int, float]]]]:
    values = table("logger_reading")
    first = now.astimezone(UTC) - timedelta(hours=LAST_HOURS)
    # Driven from the ponds that have a logger: a scan by instant would read every series.
    days = table("logger_day")
    loggers = (
        select(days.c.pond_id, days.c.parameter)
        .where(days.c.day >= first.date() - timedelta(days=1))
        .distinct()
    )
    found: dict[UUID, dict[str, list[tuple[int, float]]]] = {}
    for part in in_parts(wanted):
        some = loggers if part is None else loggers.where(days.c.pond_id.in_(part))
        recent = some.subquery()
        query = (
            select(values.c.pond_id, values.c.parameter, values.c.at, values.c.value)
            .join(
                recent,
                and_(
                    recent.c.pond_id == values.c.pond_id, recent.c.parameter == values.c.parameter
                ),
            )
            .where(values.c.at >= first, values.c.at <= now)
            .order_by(values.c.pond_id, values.c.parameter, values.c.at)
        )
        for row in connection.execute(query):
            at_ms = round(row.at.timestamp() * 1000)
            series = found.setdefault(row.pond_id, {}).setdefault(row.parameter, [])
            series.append((at_ms, row.value))
    return found


def _events(
    connection: Connection, today: date, wanted: Collection[UUID] | None
) -> dict[UUID, list[Circumstance]]:
    events = table("pond_event")
    query = select(
        events.c.pond_id,
        events.c.kind,
        events.c.on_day,
        events.c.until_day,
        events.c.hazard,
        events.c.at,
    ).where(
        events.c.struck_at.is_(None),
        events.c.on_day <= today,
        or_(
            events.c.until_day >= today,
            and_(
                events.c.until_day.is_(None),
                events.c.on_day >= today - timedelta(days=EVENT_DAYS_BACK),
            ),
        ),
    )
    query = query.order_by(events.c.on_day.desc())
    found: dict[UUID, list[Circumstance]] = {}
    for row in rows_of(connection, query, events.c.pond_id, wanted):
        at_ms = None if row.at is None else milliseconds(row.at)
        circumstance = Circumstance(row.kind, row.on_day, row.until_day, row.hazard or "", at_ms)
        found.setdefault(row.pond_id, []).append(circumstance)
    return found


def planned_visits(connection: Connection, today: date) -> dict[UUID, date]:
    """Next planned visit of every pond that has one.

    Parameters
    ----------
    connection
        A reading connection of the book.
    today
        The practice's calendar day; a visit planned for today counts.

    Returns
    -------
    dict
        Pond to day. A visit to a whole site counts for each of its ponds.
    """
    visits, ponds = table("visit"), table("pond")
    ahead = and_(
        visits.c.struck_at.is_(None), visits.c.state == "planned", visits.c.on_day >= today
    )
    of_pond = select(visits.c.pond_id.label("pond"), visits.c.on_day).where(
        ahead, visits.c.pond_id.is_not(None)
    )
    of_site = (
        select(ponds.c.id.label("pond"), visits.c.on_day)
        .join(visits, visits.c.site_id == ponds.c.site_id)
        .where(ahead, visits.c.pond_id.is_(None))
    )
    every = union_all(of_pond, of_site).subquery()
    query = select(every.c.pond, func.min(every.c.on_day)).group_by(every.c.pond)
    return {row[0]: row[1] for row in connection.execute(query)}

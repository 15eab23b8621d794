"""A pond as the rules would have seen it at the end of each of many days."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, or_, select

from store.book.columns import milliseconds
from store.book.tables import table
from store.watch.look import EVENT_DAYS_BACK, LAST_HOURS, LOGGER_DAYS_BACK, Caseload
from store.watch.look_lost import read_losses
from store.watch.lost import Losses
from store.watch.seen import DAY_MS, Circumstance, LoggerDay, PondSeen
from store.water.kits_used import kits_used
from store.water.latest import LOOK_BACK_DAYS, MOST_TESTS, NEWEST_TESTS
from store.water.packed import PackedTest
from store.water.past import span_of_tests

Hours = Mapping[str, list[tuple[int, float]]]


@dataclass(frozen=True, slots=True)
class Past:
    """What was known of each pond by when."""

    first: date
    last: date
    now_ms: int
    zone: ZoneInfo
    midnights_ms: tuple[int, ...]
    """Beginning of each day in the zone, in epoch milliseconds, and of the day after the last."""
    ponds: Mapping[UUID, PondSeen]
    """As they stand now, with their plan and altitude."""
    tests: Mapping[UUID, list[PackedTest]]
    logger: Mapping[UUID, Mapping[str, list[LoggerDay]]]
    hours: Mapping[UUID, Hours]
    events: Mapping[UUID, list[Circumstance]]
    losses: Mapping[UUID, Losses] = field(default_factory=dict)
    kits: Mapping[UUID, Mapping[int, object]] = field(default_factory=dict)
    """The kit of each test by its instant, where one is stated and was asked for."""

    def days_of(self, pond: UUID) -> Iterator[tuple[date, PondSeen]]:
        """Each day with what the rules would have seen at its end, from old to new.

        A pond begins on the day on which it was entered, tested or logged first. What is given is
        the same object with other contents from day to day: it is looked at before the next.
        """
        now = self.ponds[pond]
        tests = self.tests.get(pond, [])
        logger = {
            code: (days, [one.day for one in days])
            for code, days in self.logger.get(pond, {}).items()
        }
        hours = {
            code: (values, [at for at, _ in values])
            for code, values in self.hours.get(pond, {}).items()
        }
        events = self.events.get(pond, [])
        losses = self.losses.get(pond)
        begins = self._begins(now, tests, logger)
        newer = len(tests)  # how many tests lie after the day that is looked at
        seen: PondSeen | None = None
        for number in range(max(0, (begins - self.first).days), len(self.midnights_ms) - 1):
            day = self.first + timedelta(days=number)
            end_ms = min(self.midnights_ms[number + 1], self.now_ms + 1)
            before = newer
            while newer and tests[newer - 1].at_ms < end_ms:
                newer -= 1
            # Between two tests only those drop out that are too old to count.
            if seen is None or newer != before or logger or len(seen.tests) > NEWEST_TESTS:
                seen = replace(
                    now,
                    tests=tests[newer : _last_seen(tests, newer, self.midnights_ms[number])],
                    logger=_logged(logger, day),
                    _unpacked={} if seen is None or newer != before else seen._unpacked,
                    _daily=None,
                    kits=lambda: self.kits.get(pond, {}),
                )
            seen.midnight_ms = self.midnights_ms[number]
            seen.water = None
            seen.last_hours = _last_hours(hours, end_ms)
            seen.circumstances = [one for one in events if _held(one, day)]
            seen.losses = None if losses is None else losses.on(day)
            yield day, seen

    def _begins(
        self,
        now: PondSeen,
        tests: list[PackedTest],
        logger: Mapping[str, tuple[list[LoggerDay], list[date]]],
    ) -> date:
        known = [now.added]
        if tests:
            known.append(now.local_day(tests[-1].at_ms))
        known += [days[0] for _, days in logger.values()]
        return min(known)


def _last_seen(tests: list[PackedTest], newer: int, midnight_ms: int) -> int:
    """Behind the last of the tests that the morning list of a day would have read."""
    since_ms = midnight_ms - LOOK_BACK_DAYS * DAY_MS
    last = newer + NEWEST_TESTS
    while last < min(len(tests), newer + MOST_TESTS) and tests[last].at_ms >= since_ms:
        last += 1
    return last


def _logged(
    logger: Mapping[str, tuple[list[LoggerDay], list[date]]], day: date
) -> dict[str, list[LoggerDay]]:
    """The logger days that the morning list would have read, new to old."""
    found = {}
    oldest = day - timedelta(days=LOGGER_DAYS_BACK - 1)
    for code, (values, days) in logger.items():
        part = values[bisect_left(days, oldest) : bisect_left(days, day + timedelta(days=1))]
        if part:
            found[code] = part[::-1]
    return found


def _last_hours(
    hours: Mapping[str, tuple[list[tuple[int, float]], list[int]]], end_ms: int
) -> dict[str, list[tuple[int, float]]]:
    found = {}
    for code, (values, instants) in hours.items():
        first_ms = end_ms - LAST_HOURS * 3_600_000
        part = values[bisect_left(instants, first_ms) : bisect_left(instants, end_ms)]
        if part:
            found[code] = part
    return found


def _held(happened: Circumstance, day: date) -> bool:
    if happened.first > day:
        return False
    if happened.until is None:
        return (day - happened.first).days <= EVENT_DAYS_BACK
    return happened.until >= day


def read_past(
    connection: Connection,
    caseload: Caseload,
    first: date,
    now: datetime,
    zone: ZoneInfo,
    *,
    pond: UUID | None = None,
    hours: Collection[str] = (),
    kits: bool = False,
) -> Past:
    """What was known of the ponds of a caseload on each day from `first` until now.

    Parameters
    ----------
    connection
        A reading connection of the book.
    caseload
        The ponds, as they stand now.
    first
        The first day, in the practice's zone.
    now
        The present instant, with a time zone.
    zone
        The practice's time zone.
    pond
        The one pond of the caseload; None for all.
    hours
        Parameters of which the single values of a logger are wanted, not its days alone.
    kits
        Whether it is wanted with which kit each test was made.

    Returns
    -------
    Past
        For `Past.days_of`.
    """
    last = now.astimezone(zone).date()
    count = (last - first).days + 1
    midnights = [
        datetime.combine(first + timedelta(days=number), time(), zone)
        for number in range(count + 1)
    ]
    until = now.astimezone(UTC) + timedelta(milliseconds=1)
    return Past(
        first=first,
        last=last,
        now_ms=milliseconds(now),
        zone=zone,
        midnights_ms=tuple(round(midnight.timestamp() * 1000) for midnight in midnights),
        ponds=caseload.seen,
        tests=span_of_tests(connection, midnights[0].astimezone(UTC), until, pond),
        logger=_logger_days(connection, first, last, pond),
        hours=_hours(connection, midnights[0], now, hours, pond) if hours else {},
        events=_events(connection, first, last, pond),
        losses=read_losses(connection, first, last, None if pond is None else [pond]),
        kits=kits_used(connection, pond) if kits else {},
    )


def _logger_days(
    connection: Connection, first: date, last: date, pond: UUID | None
) -> dict[UUID, dict[str, list[LoggerDay]]]:
    days = table("logger_day").c
    query = (
        select(days.pond_id, days.parameter, days.day, days.mean, days.low, days.high)
        .where(days.day > first - timedelta(days=LOGGER_DAYS_BACK), days.day <= last)
        .order_by(days.pond_id, days.parameter, days.day)
    )
    if pond is not None:
        query = query.where(days.pond_id == pond)
    found: dict[UUID, dict[str, list[LoggerDay]]] = {}
    for key, parameter, *day in connection.execute(query):
        found.setdefault(key, {}).setdefault(parameter, []).append(LoggerDay(*day))
    return found


def _hours(
    connection: Connection,
    first: datetime,
    now: datetime,
    parameters: Collection[str],
    pond: UUID | None,
) -> dict[UUID, dict[str, list[tuple[int, float]]]]:
    values = table("logger_reading").c
    query = (
        select(values.pond_id, values.parameter, values.at, values.value)
        .where(
            values.at >= first - timedelta(hours=LAST_HOURS),
            values.at <= now,
            values.parameter.in_(sorted(parameters)),
        )
        .order_by(values.pond_id, values.parameter, values.at)
    )
    if pond is not None:
        query = query.where(values.pond_id == pond)
    found: dict[UUID, dict[str, list[tuple[int, float]]]] = {}
    for key, parameter, at, value in connection.execute(query):
        at_ms = round(at.timestamp() * 1000)
        found.setdefault(key, {}).setdefault(parameter, []).append((at_ms, value))
    return found


def _events(
    connection: Connection, first: date, last: date, pond: UUID | None
) -> dict[UUID, list[Circumstance]]:
    events = table("pond_event").c
    query = (
        select(
            events.pond_id, events.kind, events.on_day, events.until_day, events.hazard, events.at
        )
        .where(
            events.struck_at.is_(None),
            events.on_day <= last,
            or_(
                events.until_day >= first,
                events.until_day.is_(None)
                & (events.on_day >= first - timedelta(days=EVENT_DAYS_BACK)),
            ),
        )
        .order_by(events.on_day.desc())
    )
    if pond is not None:
        query = query.where(events.pond_id == pond)
    found: dict[UUID, list[Circumstance]] = {}
    for key, kind, on_day, until_day, hazard, at in connection.execute(query):
        at_ms = None if at is None else milliseconds(at)
        one = Circumstance(kind, on_day, until_day, hazard or "", at_ms)
        found.setdefault(key, []).append(one)
    return found

"""What the book holds that bears on the standing of its sites, in a few queries for all or some."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, func, select

from store.book.some_rows import rows_of
from store.book.tables import table
from store.exams.new_fish import CONTACT_DAYS
from store.facts.driving import driving
from store.watch.look_lost import read_losses
from store.watch.lost import Losses
from store.water.latest import newest_tests

_TEMPERATURE_DAYS = 14
"""So old a temperature still stands for the water of today; common practice [d]."""


@dataclass(frozen=True, slots=True)
class SitePond:
    """A pond, or a site without one, with whose it is."""

    site_id: UUID
    site: str
    client: str
    pond: UUID | None
    pond_name: str


@dataclass(frozen=True, slots=True)
class CourseOf:
    """A course that began, as far as it bears on the standing of its pond."""

    state: str
    hazards: tuple[str, ...]
    reason: str
    started_on: date
    ended_on: date | None


@dataclass(frozen=True, slots=True)
class SampleOf:
    """A sample at a laboratory."""

    hazard: str
    asked: str
    label: str
    laboratory: str
    result: str
    taken_on: date


@dataclass(frozen=True, slots=True)
class Came:
    """Fish that came: the day, how many where that was said, and the water of today [°C]."""

    on_day: date
    fish: int | None
    temp_c: float | None


@dataclass(frozen=True, slots=True)
class Records:
    """All of it by pond; `named` are hazards noted without an examination, each with its day."""

    ponds: tuple[SitePond, ...]
    examined: Mapping[UUID, date]
    courses: Mapping[UUID, Sequence[CourseOf]]
    samples: Mapping[UUID, Sequence[SampleOf]]
    named: Mapping[UUID, Sequence[tuple[str, date]]]
    came: Mapping[UUID, Sequence[Came]]
    losses: Mapping[UUID, Losses]


def read_records(
    connection: Connection, today: date, zone: ZoneInfo, sites: Collection[UUID] | None = None
) -> Records:
    """Everything that bears on the standing of the sites that stand in the book, or of some.

    Parameters
    ----------
    connection
        A reading connection of the book.
    today
        The practice's calendar day.
    zone
        Its time zone.
    sites
        Keys of the sites that are wanted; None for all.
    """
    there = _ponds(connection, sites)
    ponds = None if sites is None else [one.pond for one in there if one.pond is not None]
    named, came = _events(connection, today, ponds)
    temps = _temperatures(connection, list(came), today, zone)
    return Records(
        there,
        _examined(connection, zone, ponds),
        _courses(connection, ponds),
        _samples(connection, ponds),
        named,
        {
            pond: [Came(day, fish, temps.get(pond)) for day, fish in those]
            for pond, those in came.items()
        },
        read_losses(connection, today, today, ponds),
    )


def _ponds(connection: Connection, wanted: Collection[UUID] | None) -> tuple[SitePond, ...]:
    ponds, sites, clients = table("pond"), table("site"), table("client")
    of_site = and_(ponds.c.site_id == sites.c.id, ponds.c.struck_at.is_(None))
    query = (
        select(
            sites.c.id, sites.c.name, clients.c.name.label("client"), ponds.c.id.label("pond"),
            ponds.c.name.label("pond_name"),
        )
        .select_from(
            sites.join(clients, clients.c.id == sites.c.client_id).outerjoin(ponds, of_site)
        )
        .where(sites.c.struck_at.is_(None), clients.c.struck_at.is_(None))
    )  # fmt: skip
    return tuple(
        SitePond(row.id, row.name, row.client, row.pond, row.pond_name or "")
        for row in rows_of(connection, query, sites.c.id, wanted)
    )


def _examined(
    connection: Connection, zone: ZoneInfo, ponds: Collection[UUID] | None
) -> dict[UUID, date]:
    """The day on which fish of each pond were last examined, or sampled without a finding."""
    exams, samples = table("examination").c, table("lab_sample").c
    query = (
        select(exams.pond_id, func.max(exams.at))
        .where(exams.struck_at.is_(None))
        .group_by(exams.pond_id)
    )
    found = {
        pond: at.astimezone(zone).date()
        for pond, at in rows_of(connection, query, exams.pond_id, ponds)
    }
    clear = (
        select(samples.pond_id, func.max(samples.taken_on))
        .where(samples.struck_at.is_(None), samples.result == "not detected")
        .group_by(samples.pond_id)
    )
    for pond, day in rows_of(connection, clear, samples.pond_id, ponds):
        found[pond] = max(day, found.get(pond, day))
    return found


def _courses(connection: Connection, ponds: Collection[UUID] | None) -> dict[UUID, list[CourseOf]]:
    courses = table("course").c
    query = select(
        courses.pond_id, courses.state, courses.hazards, courses.reason, courses.started_on,
        courses.ended_on,
    ).where(courses.struck_at.is_(None), courses.started_on.is_not(None))  # fmt: skip
    found: dict[UUID, list[CourseOf]] = {}
    for row in rows_of(connection, query, courses.pond_id, ponds):
        one = CourseOf(row.state, tuple(row.hazards), row.reason, row.started_on, row.ended_on)
        found.setdefault(row.pond_id, []).append(one)
    return found


def _samples(connection: Connection, ponds: Collection[UUID] | None) -> dict[UUID, list[SampleOf]]:
    samples = table("lab_sample").c
    query = select(
        samples.pond_id, samples.hazard, samples.asked, samples.label, samples.laboratory,
        samples.result, samples.taken_on,
    ).where(samples.struck_at.is_(None))  # fmt: skip
    found: dict[UUID, list[SampleOf]] = {}
    for pond, *values in rows_of(connection, query, samples.pond_id, ponds):
        found.setdefault(pond, []).append(SampleOf(*values))
    return found


def _events(
    connection: Connection, today: date, ponds: Collection[UUID] | None
) -> tuple[dict[UUID, list[tuple[str, date]]], dict[UUID, list[tuple[date, int | None]]]]:
    """Hazards that were noted, and fish that came, within the days for which each counts."""
    events = table("pond_event").c
    back = {"hazard_seen": driving().named_days, "new_fish": int(CONTACT_DAYS)}
    query = select(
        events.pond_id, events.kind, events.on_day, events.hazard, events.amount
    ).where(
        events.struck_at.is_(None), events.kind.in_(list(back)), events.on_day <= today,
        events.on_day >= today - timedelta(days=max(back.values())),
    )  # fmt: skip
    named: dict[UUID, list[tuple[str, date]]] = {}
    came: dict[UUID, list[tuple[date, int | None]]] = {}
    for row in rows_of(connection, query, events.pond_id, ponds):
        if (today - row.on_day).days > back[row.kind]:
            continue
        if row.kind == "new_fish":
            fish = None if row.amount is None else round(row.amount)
            came.setdefault(row.pond_id, []).append((row.on_day, fish))
        elif row.hazard:
            named.setdefault(row.pond_id, []).append((row.hazard, row.on_day))
    return named, came


def _temperatures(
    connection: Connection, ponds: Sequence[UUID], today: date, zone: ZoneInfo
) -> dict[UUID, float]:
    """The newest temperature of some ponds, by logger or by test, where it is not too old [°C]."""
    if not ponds:
        return {}
    since = today - timedelta(days=_TEMPERATURE_DAYS)
    since_ms = round(datetime.combine(since, time(), zone).timestamp() * 1000)
    found: dict[UUID, tuple[date, float]] = {}
    for pond, tests in newest_tests(connection, since_ms, ponds=ponds).items():
        for at_ms, temp_c, _packed in tests:
            if at_ms >= since_ms and temp_c is not None:
                day = datetime.fromtimestamp(at_ms / 1000, zone).date()
                found[pond] = (day, temp_c)
                break
    days = table("logger_day").c
    logged: Any = (
        select(days.pond_id, days.day, days.mean)
        .where(days.parameter == "temperature_c", days.day >= since, days.day <= today)
        .order_by(days.day)
    )
    for pond, day, mean in rows_of(connection, logged, days.pond_id, ponds):
        if pond not in found or found[pond][0] <= day:
            found[pond] = (day, mean)
    return {pond: temp_c for pond, (_day, temp_c) in found.items()}

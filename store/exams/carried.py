"""What examinations tell the rules beside their findings: where a hazard was, and where it may go.

A hazard that was seen at a pond counts there as seen before. At ponds that the same person visited
afterwards on the same day it counts as carried, unless the gear was disinfected or belongs to its
pond.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, func, or_, select

from store.book.book import Book
from store.book.columns import milliseconds
from store.book.tables import table
from store.exams.remembered import remembered
from store.exams.values import CLEAN_GEAR
from store.text import day_said
from store.watch.kinds.window import NEW_FISH_DAYS
from store.watch.look import EVENT_DAYS_BACK
from store.watch.seen import SEEN_SAME_DAY, Circumstance

SEEN_HERE = "hazard_seen"
_RESTS_ON = ("examination", "examined_fish", "preparation", "exam_finding", "lab_sample", "visit",
             "pond", "site", "client", "staff", "practice")  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Look:
    """An examination, or a visit without one, of a pond on a day by a person."""

    pond: UUID
    day: date
    at: datetime | None
    by: str
    clean: bool


def seen_lately(
    book: Book, now: datetime, pond: UUID | None = None
) -> Mapping[UUID, tuple[Circumstance, ...]]:
    """Hazards seen at ponds, and carried to ponds visited on the same day, as circumstances.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    pond
        The one pond that is wanted; None for all.

    Returns
    -------
    Mapping
        By pond; the newest of each hazard and kind. Only what somebody was sure of counts.
    """
    today = now.astimezone(book.zone).date()
    every = remembered(book, "seen lately", _RESTS_ON, today, lambda: _gathered(book, now))
    if pond is None:
        return every
    return {pond: every[pond]} if pond in every else {}


def _gathered(book: Book, now: datetime) -> Mapping[UUID, tuple[Circumstance, ...]]:
    zone = book.zone
    today = now.astimezone(zone).date()
    with book.reading() as connection:
        back = today - timedelta(days=EVENT_DAYS_BACK)
        seen = _seen_here(connection, now - timedelta(days=EVENT_DAYS_BACK + 1))
        reported = _reported(connection, back)
        first = today - timedelta(days=NEW_FISH_DAYS)
        sources = [
            (_Look(row.pond_id, _day(row.at, zone), row.at, _folded(row.examiner), False), row)
            for row in _not_clean(connection, now - timedelta(days=NEW_FISH_DAYS + 1))
            if _day(row.at, zone) >= first
        ]
        looks = _looks(connection, first, now, zone) if sources else {}
        names = _names(connection, {look.pond for look, _ in sources}) if looks else {}
    found: dict[UUID, dict[tuple[str, str], Circumstance]] = {}

    def add(key: UUID, one: Circumstance) -> None:
        known = found.setdefault(key, {}).get((one.kind, one.hazard))
        if known is None or known.first < one.first:
            found[key][one.kind, one.hazard] = one

    for key, hazard, at in seen:
        if back <= (day := _day(at, zone)) <= today:
            add(key, Circumstance(SEEN_HERE, day, None, hazard, milliseconds(at)))
    for key, hazard, day in reported:
        add(key, Circumstance(SEEN_HERE, day, None, hazard))
    for source, row in sources:
        for look in looks.get((source.day, source.by), ()):
            if _carried(source, look):
                says = (
                    f"it was seen on {day_said(source.day)} at {names[source.pond]}, visited the "
                    f"same day by {row.examiner}, and no disinfection is written down"
                )
                add(look.pond, Circumstance(SEEN_SAME_DAY, look.day, None, row.hazard, None, says))
    return {key: tuple(them.values()) for key, them in found.items()}


def _carried(source: _Look, look: _Look) -> bool:
    """Whether the person of that day came from there to here; an hour not known may be later."""
    return (
        look.pond != source.pond
        and not look.clean
        and (look.at is None or source.at is None or look.at >= source.at)
    )


def _seen() -> tuple[Any, Any]:
    """Findings with their fish and examination, and when they stand and somebody was sure."""
    exams, fish, found = table("examination"), table("examined_fish"), table("exam_finding")
    preps = table("preparation")
    joined = (
        found.join(fish, fish.c.id == found.c.fish_id)
        .join(exams, exams.c.id == fish.c.examination_id)
        .outerjoin(preps, preps.c.id == found.c.preparation_id)
    )
    stand = and_(
        exams.c.struck_at.is_(None),
        fish.c.struck_at.is_(None),
        preps.c.struck_at.is_(None),
        found.c.struck_at.is_(None),
        found.c.confidence == "seen",
        or_(found.c.counted.is_(None), found.c.counted > 0),
        or_(found.c.score.is_(None), found.c.score > 0),
    )
    return joined, stand


def _seen_here(connection: Connection, since: datetime) -> list[tuple[UUID, str, datetime]]:
    """When each hazard was last seen at each pond."""
    exams, found = table("examination").c, table("exam_finding").c
    joined, stand = _seen()
    query = (
        select(exams.pond_id, found.hazard, func.max(exams.at))
        .select_from(joined)
        .where(stand, exams.at >= since)
        .group_by(exams.pond_id, found.hazard)
    )
    return [(key, hazard, at) for key, hazard, at in connection.execute(query)]


def _not_clean(connection: Connection, since: datetime) -> list[Any]:
    """Hazards seen where no disinfection was written down."""
    exams, found = table("examination").c, table("exam_finding").c
    joined, stand = _seen()
    query = (
        select(exams.pond_id, found.hazard, exams.at, exams.examiner)
        .select_from(joined)
        .where(stand, exams.at >= since, exams.gear.not_in(CLEAN_GEAR))
        .distinct()
    )
    return list(connection.execute(query).all())


def _reported(connection: Connection, first: date) -> list[Any]:
    samples = table("lab_sample").c
    query = select(samples.pond_id, samples.hazard, samples.taken_on).where(
        samples.struck_at.is_(None),
        samples.result == "detected",
        samples.hazard != "",
        samples.taken_on >= first,
    )
    return list(connection.execute(query).all())


def _looks(
    connection: Connection, first: date, now: datetime, zone: ZoneInfo
) -> dict[tuple[date, str], list[_Look]]:
    """Examinations and visits that were made, a visit only where no examination tells of it; by
    day and person."""
    exams = table("examination").c
    query = select(exams.pond_id, exams.at, exams.examiner, exams.gear).where(
        exams.struck_at.is_(None), exams.at >= now - timedelta(days=NEW_FISH_DAYS + 1)
    )
    looks = [
        _Look(key, _day(at, zone), at, _folded(by), gear in CLEAN_GEAR)
        for key, at, by, gear in connection.execute(query)
    ]
    examined = {(one.pond, one.day, one.by) for one in looks}
    visits, ponds, staff = table("visit"), table("pond"), table("staff")
    to = or_(
        visits.c.pond_id == ponds.c.id,
        and_(visits.c.pond_id.is_(None), visits.c.site_id == ponds.c.site_id),
    )
    made = (
        select(ponds.c.id, visits.c.on_day, visits.c.at_time, staff.c.name)
        .select_from(visits.join(ponds, to).join(staff, staff.c.id == visits.c.staff_id))
        .where(
            visits.c.struck_at.is_(None),
            visits.c.state == "done",
            visits.c.on_day >= first,
            ponds.c.struck_at.is_(None),
        )
    )
    for key, day, hour, name in connection.execute(made):
        if (key, day, _folded(name)) not in examined:
            at = None if hour is None else datetime.combine(day, hour, zone)
            looks.append(_Look(key, day, at, _folded(name), False))
    found: dict[tuple[date, str], list[_Look]] = {}
    for one in looks:
        found.setdefault((one.day, one.by), []).append(one)
    return found


def _names(connection: Connection, ponds: set[UUID]) -> dict[UUID, str]:
    pond, sites, clients = table("pond"), table("site"), table("client")
    query = (
        select(pond.c.id, clients.c.name, pond.c.name)
        .select_from(
            pond.join(sites, sites.c.id == pond.c.site_id).join(
                clients, clients.c.id == sites.c.client_id
            )
        )
        .where(pond.c.id.in_(ponds))
    )
    return {key: f"{client}, {name}" for key, client, name in connection.execute(query)}


def _day(at: datetime, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()

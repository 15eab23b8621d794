"""What examinations tell the rules beside their findings: where a hazard was, and where it may go.

A hazard that was seen at a pond counts there as seen before. At ponds that the same person visited
afterwards on the same day it counts as carried, unless the gear was disinfected or belongs to its
pond.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, or_, select

from store.book.book import Book
from store.book.columns import milliseconds
from store.book.tables import table
from store.exams.values import CLEAN_GEAR
from store.text import day_said
from store.watch.kinds.window import NEW_FISH_DAYS
from store.watch.look import EVENT_DAYS_BACK
from store.watch.seen import SEEN_SAME_DAY, Circumstance

SEEN_HERE = "hazard_seen"


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
) -> dict[UUID, tuple[Circumstance, ...]]:
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
    dict
        By pond; the newest of each hazard and kind. Only what somebody was sure of counts.
    """
    zone = book.zone
    today = now.astimezone(zone).date()
    with book.reading() as connection:
        back = today - timedelta(days=EVENT_DAYS_BACK)
        rows = [
            row
            for row in _seen_rows(connection, now - timedelta(days=EVENT_DAYS_BACK + 1))
            if back <= _day(row.at, zone) <= today
        ]
        reported = _reported(connection, back)
        sources = [
            (_Look(row.pond_id, _day(row.at, zone), row.at, _folded(row.examiner), False), row)
            for row in rows
            if row.gear not in CLEAN_GEAR and (today - _day(row.at, zone)).days <= NEW_FISH_DAYS
        ]
        first = today - timedelta(days=NEW_FISH_DAYS)
        looks = _looks(connection, first, now, zone) if sources else []
        names = _names(connection, {look.pond for look, _ in sources}) if looks else {}
    found: dict[UUID, dict[tuple[str, str], Circumstance]] = {}

    def add(key: UUID, one: Circumstance) -> None:
        if pond not in (None, key):
            return
        known = found.setdefault(key, {}).get((one.kind, one.hazard))
        if known is None or known.first < one.first:
            found[key][one.kind, one.hazard] = one

    for row in rows:
        day = _day(row.at, zone)
        add(row.pond_id, Circumstance(SEEN_HERE, day, None, row.hazard, milliseconds(row.at)))
    for key, hazard, day in reported:
        add(key, Circumstance(SEEN_HERE, day, None, hazard))
    for source, row in sources:
        for look in looks:
            if _carried(source, look):
                says = (
                    f"it was seen on {day_said(source.day)} at {names[source.pond]}, visited the "
                    f"same day by {row.examiner}, and no disinfection is written down"
                )
                add(look.pond, Circumstance(SEEN_SAME_DAY, look.day, None, row.hazard, None, says))
    return {key: tuple(them.values()) for key, them in found.items()}


def _carried(source: _Look, look: _Look) -> bool:
    """Whether the person came from there to here; where the hours are not known, it may be."""
    return (
        look.pond != source.pond
        and look.day == source.day
        and look.by == source.by
        and not look.clean
        and (look.at is None or source.at is None or look.at >= source.at)
    )


def _seen_rows(connection: Connection, since: datetime) -> list[Any]:
    exams, fish, found = table("examination"), table("examined_fish"), table("exam_finding")
    preps = table("preparation")
    joined = (
        found.join(fish, fish.c.id == found.c.fish_id)
        .join(exams, exams.c.id == fish.c.examination_id)
        .outerjoin(preps, preps.c.id == found.c.preparation_id)
    )
    query = (
        select(exams.c.pond_id, found.c.hazard, exams.c.at, exams.c.examiner, exams.c.gear)
        .select_from(joined)
        .where(
            exams.c.at >= since,
            exams.c.struck_at.is_(None),
            fish.c.struck_at.is_(None),
            preps.c.struck_at.is_(None),
            found.c.struck_at.is_(None),
            found.c.confidence == "seen",
            or_(found.c.counted.is_(None), found.c.counted > 0),
            or_(found.c.score.is_(None), found.c.score > 0),
        )
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


def _looks(connection: Connection, first: date, now: datetime, zone: ZoneInfo) -> list[_Look]:
    """Examinations and visits that were made, a visit only where no examination tells of it."""
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
    return looks


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

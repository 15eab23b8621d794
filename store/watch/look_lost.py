"""Gathering deaths, signs, head counts and named hazards, for the whole caseload or some ponds.

Deaths come from the counts of dead fish and from the older notes of the kind `fish_died`; head
counts from their own table. Ponds at which nothing of it was lately are not asked about further.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.some_rows import in_parts, rows_of
from store.book.tables import table
from store.facts.hazards import hazards
from store.watch.lost import LOST_DAYS_BACK, Died, Losses, Named, Shown
from store.watch.stock import Count, Move, MoveKind

EVENT_MOVES: Mapping[str, MoveKind] = {
    "fish_died": "died", "fish_removed": "removed", "new_fish": "added"
}  # fmt: skip
"""Kinds of events that change how many fish there are."""


@dataclass(slots=True)
class _Found:
    died: list[Died] = field(default_factory=list)
    shown: list[Shown] = field(default_factory=list)
    named: list[Named] = field(default_factory=list)
    counts: list[Count] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    stock: str = ""


def read_losses(
    connection: Connection, first: date, last: date, ponds: Collection[UUID] | None = None
) -> dict[UUID, Losses]:
    """Everything about dead fish that the rules may look at on the days from `first` to `last`.

    Parameters
    ----------
    connection
        A reading connection of the book.
    first, last
        Calendar days of the practice; what lies `LOST_DAYS_BACK` days before the first is read.
    ponds
        Keys of the ponds that are wanted; None for all.

    Returns
    -------
    dict
        Only ponds at which something died, showed a sign or was named in those days. Head counts
        and moves are those of all time.
    """
    since = first - timedelta(days=LOST_DAYS_BACK)
    found: dict[UUID, _Found] = {}
    _deaths(connection, since, last, ponds, found)
    _examined(connection, since, last, ponds, found)
    _named(connection, since, last, ponds, found)
    if found:
        _stocks(connection, list(found), found)
    return {
        key: Losses(
            tuple(sorted(one.died, key=lambda died: died.on_day, reverse=True)),
            tuple(one.shown),
            tuple(sorted(one.named, key=lambda named: named.on_day, reverse=True)),
            tuple(one.counts),
            tuple(one.moves),
            one.stock,
        )
        for key, one in found.items()
    }


def _at(found: dict[UUID, _Found], pond: UUID) -> _Found:
    return found.setdefault(pond, _Found())


def _deaths(
    connection: Connection,
    since: date,
    last: date,
    ponds: Collection[UUID] | None,
    found: dict[UUID, _Found],
) -> None:
    deaths, events = table("death_count").c, table("pond_event").c
    query: Any = select(
        deaths.pond_id, deaths.on_day, deaths.species, deaths.dead, deaths.signs
    ).where(deaths.struck_at.is_(None), deaths.on_day >= since, deaths.on_day <= last)
    for key, on_day, species, dead, signs in rows_of(connection, query, deaths.pond_id, ponds):
        _at(found, key).died.append(Died(on_day, species, dead, tuple(signs)))
    query = select(events.pond_id, events.on_day, events.amount).where(
        events.struck_at.is_(None), events.kind == "fish_died",
        events.on_day >= since, events.on_day <= last,
    )  # fmt: skip
    for key, on_day, amount in rows_of(connection, query, events.pond_id, ponds):
        _at(found, key).died.append(Died(on_day, "", None if amount is None else round(amount)))


def _examined(
    connection: Connection,
    since: date,
    last: date,
    ponds: Collection[UUID] | None,
    found: dict[UUID, _Found],
) -> None:
    fish, exams = table("examined_fish").c, table("examination").c
    begins = _instant_before(since)
    query: Any = (
        select(exams.pond_id, exams.at, fish.species, fish.signs, fish.behaviour)
        .join(table("examination"), exams.id == fish.examination_id)
        .where(fish.struck_at.is_(None), exams.struck_at.is_(None), exams.at >= begins)
    )
    for key, at, species, signs, behaviour in rows_of(connection, query, exams.pond_id, ponds):
        codes = (*signs, *behaviour)
        if codes and at.date() <= last:
            _at(found, key).shown.append(Shown(at.date(), species, codes))
    findings = table("exam_finding").c
    query = (
        select(exams.pond_id, exams.at, findings.hazard, findings.confidence)
        .join(table("examined_fish"), fish.id == findings.fish_id)
        .join(table("examination"), exams.id == fish.examination_id)
        .where(
            findings.struck_at.is_(None), fish.struck_at.is_(None), exams.struck_at.is_(None),
            exams.at >= begins, findings.hazard.in_(_notifiable()),
        )
    )  # fmt: skip
    for key, at, hazard, confidence in rows_of(connection, query, exams.pond_id, ponds):
        if at.date() <= last:
            named = Named(at.date(), hazard, f"{confidence} at an examination")
            _at(found, key).named.append(named)


def _named(
    connection: Connection,
    since: date,
    last: date,
    ponds: Collection[UUID] | None,
    found: dict[UUID, _Found],
) -> None:
    events, samples = table("pond_event").c, table("lab_sample").c
    query: Any = select(events.pond_id, events.on_day, events.hazard).where(
        events.struck_at.is_(None), events.kind == "hazard_seen",
        events.hazard.in_(_notifiable()), events.on_day >= since, events.on_day <= last,
    )  # fmt: skip
    for key, on_day, hazard in rows_of(connection, query, events.pond_id, ponds):
        _at(found, key).named.append(Named(on_day, hazard, "noted as seen at the pond"))
    query = select(samples.pond_id, samples.taken_on, samples.reported_on, samples.hazard).where(
        samples.struck_at.is_(None), samples.result == "detected",
        samples.hazard.in_(_notifiable()), samples.taken_on <= last,
    )  # fmt: skip
    for key, taken_on, reported_on, hazard in rows_of(connection, query, samples.pond_id, ponds):
        day = reported_on or taken_on
        if since <= day <= last:
            _at(found, key).named.append(Named(day, hazard, "a laboratory reported it detected"))


def _notifiable() -> list[str]:
    return [code for code, one in hazards().items() if one.notifiable]


def _instant_before(day: date) -> datetime:
    return datetime.combine(day - timedelta(days=1), time(), UTC)


def _stocks(connection: Connection, keys: Collection[UUID], found: dict[UUID, _Found]) -> None:
    for some in in_parts(keys):
        assert some is not None
        ponds = table("pond").c
        for key, species in connection.execute(
            select(ponds.id, ponds.species).where(ponds.id.in_(some))
        ):
            found[key].stock = species
        for key, count in read_counts(connection, some):
            found[key].counts.append(count)
        for key, move in read_moves(connection, some):
            found[key].moves.append(move)


def read_counts(connection: Connection, ponds: Collection[UUID]) -> list[tuple[UUID, Count]]:
    """The head counts of ponds that stand in the book, in the order in which they were entered.

    Parameters
    ----------
    connection
        A reading connection of the book.
    ponds
        Keys of ponds.
    """
    counts = table("head_count").c
    query = (
        select(counts.pond_id, counts.on_day, counts.species, counts.fish, counts.how)
        .where(counts.struck_at.is_(None), counts.pond_id.in_(list(ponds)))
        .order_by(counts.created_at, counts.id)
    )
    rows: list[Any] = list(connection.execute(query))
    return [(key, Count(*values)) for key, *values in rows]


def read_moves(
    connection: Connection, ponds: Collection[UUID], *, but: UUID | None = None
) -> list[tuple[UUID, Move]]:
    """Fish that died, left or came, by counts of the dead and by events, without those struck.

    A count of none is a move of no fish: somebody looked.

    Parameters
    ----------
    connection
        A reading connection of the book.
    ponds
        Keys of ponds.
    but
        An entry of dead fish that does not count, since it is about to be struck through.
    """
    deaths, events = table("death_count").c, table("pond_event").c
    wanted = list(ponds)
    query: Any = select(deaths.pond_id, deaths.on_day, deaths.dead, deaths.species).where(
        deaths.struck_at.is_(None), deaths.pond_id.in_(wanted)
    )
    if but is not None:
        query = query.where(deaths.id != but)
    rows: list[Any] = list(connection.execute(query))
    found = [(key, Move(on_day, "died", dead, species)) for key, on_day, dead, species in rows]
    query = select(events.pond_id, events.on_day, events.kind, events.amount).where(
        events.struck_at.is_(None), events.pond_id.in_(wanted),
        events.kind.in_(list(EVENT_MOVES)),
    )  # fmt: skip
    rows = list(connection.execute(query))
    found += [
        (key, Move(on_day, EVENT_MOVES[kind], None if amount is None else round(amount)))
        for key, on_day, kind, amount in rows
    ]
    return found

"""What became of visits lately, for a calendar that was handed out before.

A calendar file only says what is; whoever read the last one still shows a visit that has been
cancelled, moved behind its last day or given to somebody else. The record of changes knows them.

Sequence numbers count in twos. A visit that was given away leaves its first diary with the number
between: above all that this diary ever said of it, and below what the other diary says, so that
both can be read into one calendar, in any order, and the visit stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, func, select

from store.book.tables import table

CANCELLED_DAYS = 60
"""How long what was cancelled, moved away or given to another stays in the file [d]."""


@dataclass(frozen=True, slots=True)
class State:
    """How a visit stood at a time: with whom, where, on which day, and whether it was given up."""

    staff_id: UUID | None
    site_id: UUID
    on_day: date
    gone: bool


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose diary: a person's, a site's, or that of all where both are None."""

    staff_id: UUID | None
    site_id: UUID | None

    def holds(self, state: State) -> bool:
        """Whether a visit that stands so belongs into this diary."""
        return (self.staff_id is None or state.staff_id == self.staff_id) and (
            self.site_id is None or state.site_id == self.site_id
        )


@dataclass(frozen=True, slots=True)
class Revisions:
    """When a visit was made and last changed, and how often it was."""

    made_at: datetime
    changed_at: datetime
    changes: int


def revisions(connection: Connection, keys: Sequence[UUID]) -> dict[UUID, Revisions]:
    """How often visits were changed, with what was agreed for them: it only ever grows.

    Parameters
    ----------
    connection
        Within a reading.
    keys
        Of the visits.
    """
    visits, bookings = table("visit").c, table("booking").c
    found: dict[UUID, Revisions] = {}
    for part in _portions(keys):
        agreed = {
            key: (int(changes), at)
            for key, changes, at in connection.execute(
                select(bookings.visit_id, func.sum(bookings.rev), func.max(bookings.changed_at))
                .where(bookings.visit_id.in_(part))
                .group_by(bookings.visit_id)
            )
        }
        query = select(visits.id, visits.rev, visits.created_at, visits.changed_at)
        for key, rev, made_at, changed_at in connection.execute(query.where(visits.id.in_(part))):
            more, at = agreed.get(key, (1, changed_at))
            found[key] = Revisions(made_at, max(at, changed_at), rev + more - 2)
    return found


def changed_lately(connection: Connection, now: datetime) -> dict[UUID, tuple[State, ...]]:
    """For every visit changed within `CANCELLED_DAYS`: how it stands, then how it stood before.

    Parameters
    ----------
    connection
        Within a reading.
    now
        The present instant, with a time zone.
    """
    changed, visits = table("change").c, table("visit").c
    query = (
        select(changed.row_id, changed.before)
        .where(
            changed.table_name == "visit",
            changed.what != "add",
            changed.at >= now - timedelta(days=CANCELLED_DAYS),
        )
        .order_by(changed.row_id, changed.rev.desc())
    )
    befores: dict[UUID, list[Mapping[str, Any]]] = {}
    for key, before in connection.execute(query):
        befores.setdefault(key, []).append(before or {})
    found: dict[UUID, tuple[State, ...]] = {}
    for part in _portions(list(befores)):
        present = select(
            visits.id, visits.staff_id, visits.site_id, visits.on_day, visits.state,
            visits.struck_at,
        )  # fmt: skip
        for row in connection.execute(present.where(visits.id.in_(part))):
            gone = row.state == "cancelled" or row.struck_at is not None
            states = [State(row.staff_id, row.site_id, row.on_day, gone)]
            for before in befores[row.id]:
                states.append(_as_before(states[-1], before))
            found[row.id] = tuple(states)
    return found


def went_away(
    lately: Mapping[UUID, tuple[State, ...]], whose: Whose, first: date, last: date
) -> dict[UUID, date]:
    """Visits that stood on another day of a diary and are planned outside the days of its file.

    Parameters
    ----------
    lately
        From `changed_lately`.
    whose
        Whose diary.
    first, last
        The days of the file, both included.

    Returns
    -------
    dict
        Key of the visit to the day on which it stands now.
    """
    return {
        key: present.on_day
        for key, (present, *befores) in lately.items()
        if not present.gone
        and whose.holds(present)
        and not first <= present.on_day <= last
        and any(
            whose.holds(one) and one.on_day != present.on_day and one.on_day <= last
            for one in befores
        )
    }


@dataclass(frozen=True, slots=True)
class Gone:
    """A visit that stands in a diary no more, with its row, its client and how it is numbered."""

    row: Row[Any]
    sequence: int
    revisions: Revisions


def gone(
    connection: Connection, lately: Mapping[UUID, tuple[State, ...]], whose: Whose
) -> list[Gone]:
    """Visits that stood in a diary and were cancelled, struck through or given to another.

    Parameters
    ----------
    connection
        Within a reading.
    lately
        From `changed_lately`.
    whose
        Whose diary.

    Returns
    -------
    list of Gone
        By day; each row has the columns of the visit and the name of the `client`.
    """
    since = {key: back for key, states in lately.items() if (back := _gone_for(states, whose)) >= 0}
    visits, sites, clients = table("visit"), table("site"), table("client")
    known = revisions(connection, list(since))
    found: list[Gone] = []
    for part in _portions(list(since)):
        query = (
            select(visits, clients.c.name.label("client"))
            .join(sites, sites.c.id == visits.c.site_id)
            .join(clients, clients.c.id == sites.c.client_id)
            .where(visits.c.id.in_(part))
        )
        for row in connection.execute(query):
            own, back = known[row.id], since[row.id]
            number = sequence(own.changes - back) + (1 if back else 0)
            found.append(Gone(row, number, own))
    return sorted(found, key=lambda one: (one.row.on_day, one.row.id))


def sequence(changes: int) -> int:
    """The SEQUENCE of something that was changed so often; it leaves room for one between.

    Parameters
    ----------
    changes
        How often it was changed [count].
    """
    return 2 * changes


def _gone_for(states: Sequence[State], whose: Whose) -> int:
    """How many changes ago a visit stood in a diary last; 0 where it was given up in it, else -1
    where it still stands there or never did.
    """
    present, *befores = states
    if whose.holds(present):
        return 0 if present.gone else -1
    return next((back for back, one in enumerate(befores, 1) if whose.holds(one)), -1)


def _portions(keys: Sequence[UUID], size: int = 500) -> Iterator[Sequence[UUID]]:
    for start in range(0, len(keys), size):
        yield keys[start : start + size]


def _as_before(state: State, before: Mapping[str, Any]) -> State:
    """The state with what the log wrote down of it before a change."""
    if "staff_id" in before:
        named = before["staff_id"]
        state = replace(state, staff_id=None if named is None else UUID(str(named)))
    if "site_id" in before:
        state = replace(state, site_id=UUID(str(before["site_id"])))
    if "on_day" in before:
        state = replace(state, on_day=date.fromisoformat(str(before["on_day"])))
    return state

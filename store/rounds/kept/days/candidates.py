"""Visits that nobody has booked and that a day may hold: what the desk has due, site by site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from store.diary.desk.due import DeskList, DueLine
from store.diary.desk.weigh import weigh
from store.diary.kept.due.desk import UNKNOWN
from store.diary.kept.due.gather.whereabouts import Whereabouts
from store.facts.follow_ups import follow_up_kinds


@dataclass(frozen=True, slots=True)
class DueAt:
    """What is due at one site, and what all of it weighs on the day of the visit."""

    site_id: UUID
    lines: tuple[DueLine, ...]
    weight: float


def due_at(
    desk: DeskList, where: Whereabouts, day: date, *, booked_too: bool = True
) -> tuple[DueAt, ...]:
    """What a visit on a day could keep, site by site, heaviest first.

    Parameters
    ----------
    desk
        What is due, looked ahead to that day.
    where
        The places of the book.
    day
        The local day.
    booked_too
        Whether what is booked outside of its window counts as due.

    Returns
    -------
    tuple of DueAt
        What needs a visit, is not booked within its window, and whose window is open on that day or
        has passed. What names no place is left out where the client has several.
    """
    only, kinds = _only_sites(where), follow_up_kinds()
    found: dict[UUID, list[DueLine]] = {}
    for line in desk.lines:
        promised = line.promised
        if promised.needs != "visit" or promised.first_on > day:
            continue
        if line.booked is not None and (line.booked.in_window or not booked_too):
            continue
        place = where.line(promised)
        site = None if place is None else place.site_id
        if promised.pond_id is None and promised.site_id is None:
            site = only.get(promised.client_id)
        if site is not None:
            found.setdefault(site, []).append(line)

    def on_the_day(line: DueLine) -> float:
        if day == desk.today:
            return line.weight
        kind = kinds.get(line.promised.kind, kinds[UNKNOWN])
        return weigh(line.promised, kind, day).weight

    return tuple(
        sorted(
            (DueAt(site, tuple(of), sum(map(on_the_day, of))) for site, of in found.items()),
            key=lambda one: (-one.weight, one.lines[0].client.casefold(), one.site_id.bytes),
        )
    )


def booked_later(desk: DeskList, day: date) -> tuple[str, ...]:
    """Whose promises a visit on a day could keep, and are booked for a later one, too late.

    Parameters
    ----------
    desk
        What is due, looked ahead to that day.
    day
        The local day.

    Returns
    -------
    tuple of str
        Names of clients, heaviest first; each once.
    """
    late = (
        line.client
        for line in desk.lines
        if line.promised.needs == "visit" and line.promised.first_on <= day
        if line.booked is not None and not line.booked.in_window and line.booked.on_day > day
    )
    return tuple(dict.fromkeys(late))


def _only_sites(where: Whereabouts) -> Mapping[UUID, UUID]:
    """By client the site, of those who have but one."""
    found: dict[UUID, set[UUID]] = {}
    for site_id, line in where.sites.items():
        found.setdefault(line.client_id, set()).add(site_id)
    return {client: next(iter(sites)) for client, sites in found.items() if len(sites) == 1}

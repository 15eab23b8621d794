"""Visits that nobody has booked and that a day may hold: what the desk has due, site by site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from store.diary.desk.due import DeskList, DueLine
from store.diary.kept.due.gather.whereabouts import Whereabouts


@dataclass(frozen=True, slots=True)
class DueAt:
    """What is due at one site, heaviest first, and what it weighs together."""

    site_id: UUID
    lines: tuple[DueLine, ...]

    @property
    def weight(self) -> float:
        """All of it together, without a unit."""
        return sum(one.weight for one in self.lines)


def due_at(desk: DeskList, where: Whereabouts, day: date) -> tuple[DueAt, ...]:
    """What a visit on a day could keep, site by site, heaviest first.

    Parameters
    ----------
    desk
        What is due, looked ahead to that day.
    where
        The places of the book.
    day
        The local day.

    Returns
    -------
    tuple of DueAt
        What needs a visit, is not booked within its window, and whose window is open on that day or
        has passed. What names no place is left out where the client has several.
    """
    only = _only_sites(where)
    found: dict[UUID, list[DueLine]] = {}
    for line in desk.lines:
        promised = line.promised
        if promised.needs != "visit" or promised.first_on > day:
            continue
        if line.booked is not None and line.booked.in_window:
            continue
        place = where.line(promised)
        site = None if place is None else place.site_id
        if promised.pond_id is None and promised.site_id is None:
            site = only.get(promised.client_id)
        if site is not None:
            found.setdefault(site, []).append(line)
    return tuple(
        sorted(
            (DueAt(site, tuple(lines)) for site, lines in found.items()),
            key=lambda one: (-one.weight, one.lines[0].client.casefold(), one.site_id.bytes),
        )
    )


def _only_sites(where: Whereabouts) -> Mapping[UUID, UUID]:
    """By client the site, of those who have but one."""
    found: dict[UUID, set[UUID]] = {}
    for site_id, line in where.sites.items():
        found.setdefault(line.client_id, set()).add(site_id)
    return {client: next(iter(sites)) for client, sites in found.items() if len(sites) == 1}

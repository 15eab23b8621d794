"""Everybody's days with hours, leave, holidays and visits, as bookings ask for them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from store.book.tables import table
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import VetDay
from store.diary.kept.roster.days_off import DayOff, away_of, days_off
from store.diary.kept.roster.holiday_region import holidays
from store.diary.kept.roster.staff_hours import Roster, roster
from store.diary.kept.roster.way_home import WayHome, ways_home
from store.diary.kept.visits.visit_rows import read_visits
from store.travel.place import place_of

_BESIDE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Agenda:
    """All that stands between two days, read in one go."""

    zone: ZoneInfo
    staff: Roster
    absences: tuple[DayOff, ...]
    holidays: Mapping[date, str]
    visits: Mapping[date, tuple[Visiting, ...]]
    homes: Mapping[date, Mapping[UUID, WayHome]] = field(default_factory=dict)
    """Where days end that do not end where they began."""
    _by_person: dict[date, dict[UUID | None, list[Visiting]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def visits_on(self, day: date) -> tuple[Visiting, ...]:
        """Planned and done visits of a day, by their hour.

        Parameters
        ----------
        day
            The local day.
        """
        return self.visits.get(day, ())

    def day_of(self, staff_id: UUID | None, day: date) -> VetDay | None:
        """One person's day; None for somebody who does not work here.

        Parameters
        ----------
        staff_id
            Who; None is nobody's day, with the visits for which nobody is chosen.
        day
            The local day.
        """
        there = self.staff.on(day).get(staff_id) if staff_id is not None else None
        if staff_id is not None and there is None:
            return None
        home = self.homes.get(day, {}).get(staff_id) if staff_id is not None else None
        return VetDay(
            day=day,
            staff_id=staff_id,
            who="" if there is None else there.who,
            is_vet=there is None or there.is_vet,
            work=() if there is None else there.spells,
            usual="" if there is None else there.usual,
            hours_unknown="" if there is None else there.unknown,
            break_min=0 if there is None else there.break_min,
            start=None if there is None
            else place_of(there.start_latitude, there.start_longitude),
            start_place="" if there is None else there.start_place,
            away=away_of(self.absences, staff_id, day, self.zone),
            holiday=self.holidays.get(day, ""),
            visits=self._of(staff_id, day),
            near_visits=tuple(
                one
                for beside in (day - _BESIDE, day + _BESIDE)
                for one in self._of(staff_id, beside)
                if one.at_time is not None
            ),
            home_apart=home is not None,
            home=None if home is None else home.at,
            home_place="" if home is None else home.place,
        )  # fmt: skip

    def _of(self, staff_id: UUID | None, day: date) -> tuple[Visiting, ...]:
        found = self._by_person.get(day)
        if found is None:
            found = self._by_person[day] = defaultdict(list)
            for one in self.visits_on(day):
                found[one.staff_id].append(one)
        return tuple(found.get(staff_id, ()))


def agenda(
    connection: Connection,
    zone: ZoneInfo,
    first: date,
    last: date,
    states: Sequence[str] = ("planned", "done"),
) -> Agenda:
    """Read everything that stands between two days, and the visits of a day on either side.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        The practice's time zone.
    first, last
        Both days included.
    states
        Of the visits.
    """
    visits = table("visit").c
    there = read_visits(
        connection,
        visits.on_day >= first - _BESIDE,
        visits.on_day <= last + _BESIDE,
        visits.state.in_(states),
    )
    by_day: dict[date, list[Visiting]] = defaultdict(list)
    for one in there:
        by_day[one.on_day].append(one)
    return Agenda(
        zone,
        roster(connection),
        days_off(connection, first, last),
        holidays(connection, first, last),
        {day: tuple(of_day) for day, of_day in by_day.items()},
        _homes(connection, first, last),
    )


def _homes(
    connection: Connection, first: date, last: date
) -> Mapping[date, Mapping[UUID, WayHome]]:
    """By day; almost always it is the same on all of them."""
    before = ways_home(connection, first)
    after = before if first == last else ways_home(connection, last)
    days = [first + timedelta(days=step) for step in range((last - first).days + 1)]
    if before == after:
        return dict.fromkeys(days, before) if before else {}
    return {day: ways_home(connection, day) for day in days}

"""All that a day on the road is planned from, out of the book."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.courses.kept.morning import morning_list
from store.diary.booking.said import named
from store.diary.booking.values import Visiting
from store.diary.kept.due.desk import MOST_AHEAD_DAYS, desk_list
from store.diary.kept.due.gather.whereabouts import whereabouts
from store.diary.kept.roster.way_home import ways_home
from store.diary.kept.visits.agenda import Agenda, agenda
from store.diary.kept.visits.stops import stops
from store.diary.kept.visits.wishes import wish_for
from store.errors import BadInput, NotFound
from store.rounds.day.access import Access, access_on
from store.rounds.day.light import Light, light_on, middle_of
from store.rounds.day.stretched import stretched
from store.rounds.day.values import DayAsked, DayWish, Errand
from store.rounds.day.worth import worth_min
from store.rounds.kept.days.candidates import DueAt, booked_later, due_at
from store.rounds.kept.days.drivers import Drivers, clock_change_said, drivers_of
from store.rounds.kept.days.errands import (
    SiteRow,
    access_remarks,
    booked_errand,
    due_errand,
    few_named,
    site_rows,
    with_standing,
)
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.standing_values import SiteStanding
from store.rounds.kept.standing.wishes import hour_wishes
from store.rounds.solving.said import clock_said
from store.text import day_said
from store.travel.drive_times import drive_table
from store.travel.place import Place, place_of
from store.travel.ways import DriveTable, Stop, Travel, site_end, travel, way_between
from store.watch.concern import MorningList

FIRST_YEAR, LAST_YEAR = 1900, 2199
"""A day beyond them is a slip of the keyboard."""
LOOKED_AT = 40
"""So many sites of the desk are looked at for visits that may be added, the heaviest first."""


def day_asked(
    book: Book, wish: DayWish, now: datetime, morning: MorningList | None = None
) -> DayAsked:
    """All that a day is planned from.

    Parameters
    ----------
    book
        The practice's book.
    wish
        The day, and what is asked for.
    now
        The present instant, with a time zone.
    morning
        The morning list of this moment, where it is at hand.

    Returns
    -------
    DayAsked
        Errands in the order of the diary, those that may be added behind them, heaviest first. A
        day that lies behind adds none.

    Raises
    ------
    BadInput
        A day of another time than people keep books in.
    """
    if not FIRST_YEAR <= wish.day.year <= LAST_YEAR:
        raise BadInput(
            f"A round is planned for a day of the years {FIRST_YEAR} to {LAST_YEAR}.", field="date"
        )
    return _Asking(book, wish, now, morning).asked()


@dataclass(slots=True)
class _Chosen:
    """Sites of the desk that a day may hold, and why others are not among them."""

    due: list[DueAt]
    shut: list[str]
    far: list[str]
    suspect: list[str]
    later: Sequence[str] = ()


@dataclass(slots=True)
class _Asking:
    """One day, read step by step."""

    book: Book
    wish: DayWish
    now: datetime
    morning: MorningList | None
    later: tuple[str, ...] = ()
    """Whose promises are booked for a later day."""

    def asked(self) -> DayAsked:
        wish, zone = self.wish, self.book.zone
        with self.book.reading() as connection:
            found = agenda(connection, zone, wish.day, wish.day)
            homes = ways_home(connection, wish.day)
        planned = [one for one in found.visits_on(wish.day) if one.state == "planned"]
        ours = [one for one in planned if self._is_ours(one)]
        drivers = drivers_of(found, wish, homes, ours)
        booked = [one for one in ours if one.id not in wish.left]
        desk = self._due() if drivers.drivers else ()
        sites = list(dict.fromkeys([*(one.site_id for one in booked),
                                    *(one.site_id for one in desk)]))  # fmt: skip
        with self.book.reading() as connection:
            rows = site_rows(connection, [*sites, *wish.left, *wish.held])
        standings = site_standings(self.book, self.now, self.morning, sites=sites)
        table = drive_table(self.book)
        chosen = self._chosen(desk, rows, standings, booked, drivers, table)
        told = [booked_errand(one, rows.get(one.site_id), wish.day) for one in booked]
        added, lost = self._added(chosen.due, rows)
        told += added
        keys = {one.site_id for one, _access in told}
        hours = hour_wishes(self.book, self.now, keys, self.morning)
        errands = tuple(
            with_standing(one, standings.get(one.site_id), hours.get(one.site_id))
            for one, _access in told
        )
        ways = self._travel(errands, drivers, table)
        light = self._light(errands, ways)
        asked = DayAsked(
            wish, drivers.drivers, errands, ways,
            None if light is None else (light.rises, light.sets),
            (
                *self._when(drivers, planned, errands),
                *_holiday(found, wish.day),
                *drivers.remarks,
                *filter(None, [clock_change_said(drivers.drivers, wish, zone)]),
                *self._not_planned(found, planned, ours, rows),
                *access_remarks(told, wish.agreed),
                *(ways.remarks if errands else ()),
                *_aside(chosen), *lost, *_not_held(wish, errands, rows),
            ),
        )  # fmt: skip
        return stretched(asked, drivers.away)

    def _is_ours(self, visit: Visiting) -> bool:
        """Whether a visit belongs to those for whom the day is planned."""
        return not self.wish.staff or visit.staff_id is None or visit.staff_id in self.wish.staff

    def _due(self) -> tuple[DueAt, ...]:
        """What the desk has due, as much of it as is looked at."""
        wish, today = self.wish, self.book.today(self.now)
        ahead = (wish.day - today).days
        if ahead < 0 or (not wish.add_due and not wish.held):
            return ()
        if self.morning is None:
            self.morning = morning_list(self.book, self.now)
        listed = desk_list(
            self.book, self.now, ahead_days=min(ahead, MOST_AHEAD_DAYS), morning=self.morning
        )
        self.later = booked_later(listed, wish.day)
        found = due_at(listed, whereabouts(self.book), wish.day, booked_too=False)
        due = [one for one in found if one.site_id not in wish.left]
        held = [one for one in due if one.site_id in wish.held]
        rest = [one for one in due if one.site_id not in wish.held]
        return (*held, *(rest[:LOOKED_AT] if wish.add_due else ()))

    def _chosen(
        self, desk: Sequence[DueAt], rows: Mapping[UUID, SiteRow],
        standings: Mapping[UUID, SiteStanding], booked: Sequence[Visiting], drivers: Drivers,
        table: DriveTable,
    ) -> _Chosen:  # fmt: skip
        """The heaviest whose way is not longer than they are worth; suspects only where held."""
        chosen = _Chosen([], [], [], [], self.later)
        near = [
            *stops(self.book, [one.start for one in drivers.drivers], self.wish.day),
            *(_stop(one.site_id, one.client, one.latitude, one.longitude) for one in booked),
        ]
        more = self.wish.add_due
        for one in desk:
            row = rows.get(one.site_id)
            if row is None:
                continue
            held, standing = one.site_id in self.wish.held, standings.get(one.site_id)
            if not held and more <= 0:
                break
            if not held and not access_on(row.access_hours, self.wish.day).windows:
                chosen.shut.append(row.client)
                continue
            if not held and standing is not None and standing.standing == "suspect":
                chosen.suspect.append(row.client)
                continue
            here = _stop(one.site_id, row.client, row.latitude, row.longitude)
            ways = (way_between(start, here, table).planned_min for start in near)
            if not held and min(ways, default=0) > worth_min(one.weight):
                chosen.far.append(row.client)
                continue
            chosen.due.append(one)
            more -= not held
        return chosen

    def _added(
        self, due: Sequence[DueAt], rows: Mapping[UUID, SiteRow]
    ) -> tuple[list[tuple[Errand, Access]], list[str]]:
        """Errands of what is due, and sentences on what could not be made one."""
        made, lost = [], []
        for one in due:
            promised = [line.promised for line in one.lines]
            try:
                wish = wish_for(self.book, promised, site_id=one.site_id)
            except (BadInput, NotFound) as trouble:
                lost.append(f"{one.lines[0].client}: {trouble.message}")
                continue
            made.append(due_errand(one.site_id, rows[one.site_id], wish, one.weight, self.wish.day))
        return made, lost

    def _travel(self, errands: Sequence[Errand], drivers: Drivers, table: DriveTable) -> Travel:
        ends = [one.start for one in drivers.drivers]
        ends += [site_end(one.site_id) for one in errands]
        return travel((*stops(self.book, ends, self.wish.day), *drivers.homes), table)

    def _light(self, errands: Iterable[Errand], ways: Travel) -> Light | None:
        there = (place_of(one.latitude, one.longitude) for one in errands)
        places: list[Place] = [one for one in there if one is not None]
        middle = middle_of(places or [one.place for one in ways.stops if one.place is not None])
        return None if middle is None else light_on(middle, self.wish.day, self.book.zone)

    def _when(
        self, drivers: Drivers, planned: Sequence[Visiting], errands: Sequence[Errand]
    ) -> Iterator[str]:
        """How the day stands to the present."""
        local = self.now.astimezone(self.book.zone)
        day, today = self.wish.day, local.date()
        if day < today:
            behind = f"{day_said(day)} lies behind"
            if not planned:
                yield f"{behind} and holds no planned visit: there is nothing to plan."
            else:
                yield f"{behind}: it is planned as if it were to come, and nothing is added."
        elif day == today and errands and drivers.drivers:
            minute = local.hour * 60 + local.minute
            if minute > min(one.begins for one in drivers.drivers):
                yield (
                    f"It is {clock_said(minute)} now: the whole day is planned, also the hours "
                    "that lie behind."
                )
        elif day > today + timedelta(days=MOST_AHEAD_DAYS):
            yield f"{day_said(day)} is more than a year ahead; what falls due then is not known."

    def _not_planned(
        self, found: Agenda, planned: Sequence[Visiting], ours: Sequence[Visiting],
        rows: Mapping[UUID, SiteRow],
    ) -> Iterator[str]:  # fmt: skip
        """Visits of the day that are in no round, and why."""
        done = [one for one in found.visits_on(self.wish.day) if one.state == "done"]
        if done:
            were = "was" if len(done) == 1 else "were"
            yield f"{few_named([named(one) for one in done])} {were} visited already."
        others = [one for one in planned if one not in ours]
        if others:
            who = sorted({one.who for one in others if one.who})
            many = "1 visit" if len(others) == 1 else f"{len(others)} visits"
            yield f"{many} of {few_named(who)} on this day: not in this plan."
        left = [named(one) for one in ours if one.id in self.wish.left]
        left += [rows[one].client for one in self.wish.left if one in rows]
        if left:
            yield f"Left out as was asked: {few_named(sorted(left))}."


def _stop(key: UUID, name: str, latitude: float | None, longitude: float | None) -> Stop:
    return Stop(site_end(key), name, place_of(latitude, longitude))


def _holiday(found: Agenda, day: date) -> Iterator[str]:
    if name := found.holidays.get(day):
        yield f"{day_said(day)} is a public holiday: {name}."


def _not_held(
    wish: DayWish, errands: Sequence[Errand], rows: Mapping[UUID, SiteRow]
) -> Iterator[str]:
    """What was to be in the day in any case, and is not there to be planned."""
    there = {one.key for one in errands}
    lost = sorted(rows[key].client if key in rows else "a visit" for key in wish.held - there)
    if lost:
        yield (
            f"To be in it in any case, but neither due nor booked on this day: {few_named(lost)}."
        )


def _aside(chosen: _Chosen) -> Iterator[str]:
    if chosen.shut:
        yield f"Due, but one does not get in on this weekday: {few_named(chosen.shut)}."
    if chosen.far:
        yield (
            f"Due, but left aside, since the way there is longer than it is worth: "
            f"{few_named(chosen.far)}."
        )
    if chosen.suspect:
        yield (
            f"Due, but suspect of a notifiable disease and not added to other visits: "
            f"{few_named(chosen.suspect)}. A day of its own is better."
        )
    if chosen.later:
        yield (
            f"Due, but booked for a later day, when its window is closed: "
            f"{few_named(chosen.later)}. Move that visit rather than book another."
        )

"""A week ahead, out of the book: what is due and what is booked, spread over people and days.

Nothing is written: each visit is agreed with the client before it is booked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.courses.kept.morning import morning_list
from store.diary.booking.said import named
from store.diary.booking.values import Visiting, Wish
from store.diary.kept.due.desk import MOST_AHEAD_DAYS, desk_list
from store.diary.kept.due.gather.whereabouts import whereabouts
from store.diary.kept.roster.way_home import WayHome, ways_home
from store.diary.kept.visits.agenda import Agenda, agenda
from store.diary.kept.visits.stops import stops
from store.diary.kept.visits.wishes import wish_for
from store.errors import BadInput, NotFound
from store.rounds.day.access import Access
from store.rounds.day.stretched import stretched
from store.rounds.day.values import DayAsked, DayWish, Driver, Errand
from store.rounds.kept.days.candidates import due_at
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
from store.rounds.kept.days.week_due import DueGroup, booked_elsewhere, groups_of
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.standing_values import SiteStanding
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import Window
from store.rounds.week.plan import WEEK_EFFORT, check_wish, plan_week
from store.rounds.week.said import days_said, weekday_said
from store.rounds.week.values import WeekAsked, WeekPlan, WeekWish
from store.text import day_said
from store.travel.drive_times import drive_table
from store.travel.ways import DriveTable, Travel, site_end, travel
from store.watch.concern import MorningList

RESTS_ON = (
    "What a visit that nobody has booked is worth in driving follows from its weight on the desk; "
    "common practice.",
    "Until when it is borne: to the end of its window; once that has passed, the days of lateness "
    "that weigh as much again as its stake; common practice.",
    "On public holidays only what is booked there already is planned.",
    "Dawn and afternoon, where a site wants one, are looked at when the day itself is planned.",
)


def week_plan(
    book: Book,
    wish: WeekWish,
    now: datetime,
    *,
    effort: float = WEEK_EFFORT,
    halt: Halt | None = None,
    better: Callable[[WeekPlan], None] | None = None,
    morning: MorningList | None = None,
) -> WeekPlan:
    """A week with what is due and what is booked on its days.

    Parameters
    ----------
    book
        The practice's book; nothing is written to it.
    wish
        The days, and what is asked for.
    now
        The present instant, with a time zone.
    effort
        How much work the search may do; about seconds on common machines [-].
    halt
        Ends it early; the best so far is kept.
    better
        Is told of every better plan, in the thread that searches.
    morning
        The morning list of this moment, where it is at hand.

    Raises
    ------
    BadInput
        A week that lies behind, too far ahead, or has too few or too many days.
    """
    asked = week_asked(book, wish, now, morning)
    return plan_week(asked, effort=effort, halt=halt, better=better)


def week_asked(
    book: Book, wish: WeekWish, now: datetime, morning: MorningList | None = None
) -> WeekAsked:
    """All that a week is planned from.

    Parameters
    ----------
    book, wish, now, morning
        As for `week_plan`.

    Raises
    ------
    BadInput
        As for `week_plan`.
    """
    check_wish(wish)
    today = book.today(now)
    if wish.first < today:
        raise BadInput(
            f"{day_said(wish.first)} lies behind; a week ahead begins today or later.",
            field="first",
        )
    furthest = today + timedelta(days=MOST_AHEAD_DAYS)
    if wish.first > furthest or wish.last > furthest:
        raise BadInput("More than a year ahead it is not known what falls due.", field="first")
    return _Asking(book, wish, now, today, morning).asked()


@dataclass(slots=True)
class _Told:
    """Every errand with the day and the hours of access it was made for."""

    all: dict[UUID, Errand] = field(default_factory=dict)
    by_day: dict[date, list[Errand]] = field(default_factory=dict)
    access: dict[UUID, tuple[Errand, Access]] = field(default_factory=dict)
    closed: dict[UUID, str] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)

    def put(self, day: date | None, one: Errand, access: Access) -> None:
        self.all.setdefault(one.key, one)
        self.access.setdefault(one.key, (one, access))
        if day is not None:
            self.by_day.setdefault(day, []).append(one)


@dataclass(slots=True)
class _Asking:
    """One week, read step by step."""

    book: Book
    wish: WeekWish
    now: datetime
    today: date
    morning: MorningList | None

    @property
    def days(self) -> tuple[date, ...]:
        return tuple(self.wish.first + timedelta(days=n) for n in range(self.wish.days))

    def asked(self) -> WeekAsked:
        wish = self.wish
        with self.book.reading() as connection:
            found = agenda(connection, self.book.zone, wish.first, wish.last)
            homes = {day: ways_home(connection, day) for day in self.days}
        planned = {day: self._planned(found, day) for day in self.days}
        groups, behind = self._groups()
        sites = {one.site_id for of in planned.values() for one in of}
        sites |= {one.site_id for one in groups}
        with self.book.reading() as connection:
            rows = site_rows(connection, sites)
        standings = site_standings(self.book, self.now, self.morning, sites=sites)
        on_road = {day: self._drivers(found, day, homes[day], planned[day]) for day in self.days}
        told = _Told()
        for day in self.days:
            for visit in planned[day]:
                one, access = booked_errand(visit, rows.get(visit.site_id), day)
                told.put(day, with_standing(one, standings.get(one.site_id), None), access)
        for group in groups:
            self._spread(told, group, rows, standings, on_road, found)
        table = drive_table(self.book)
        asked = tuple(
            stretched(
                DayAsked(
                    DayWish(day, wish.staff, ordered=wish.ordered), on_road[day].drivers,
                    tuple(told.by_day.get(day, ())),
                    self._travel(tuple(told.all.values()), on_road[day], table, day),
                ),
                on_road[day].away,
            )
            for day in self.days
        )  # fmt: skip
        ways = max(asked, key=lambda one: len(one.travel.stops)).travel
        return WeekAsked(
            wish, self.today, tuple(told.all.values()), asked,
            {one.key: one.limit for one in groups if one.key in told.all},
            {day: name for day, name in found.holidays.items() if day in self.days and name},
            told.closed,
            tuple(
                dict.fromkeys(
                    (
                        *self._of_days(found, on_road, asked),
                        *access_remarks(told.access.values()),
                        *ways.remarks, *told.remarks, *booked_elsewhere(groups), *behind,
                    )
                )
            ),
            RESTS_ON,
        )  # fmt: skip

    def _planned(self, found: Agenda, day: date) -> list[Visiting]:
        staff = self.wish.staff
        return [
            one
            for one in found.visits_on(day)
            if one.state == "planned" and (not staff or one.staff_id in (None, *staff))
        ]

    def _drivers(
        self, found: Agenda, day: date, homes: Mapping[UUID, WayHome], planned: Sequence[Visiting]
    ) -> Drivers:
        """Who is on the road; on a public holiday only for what is booked there."""
        drivers = drivers_of(found, DayWish(day, self.wish.staff), homes, planned)
        if found.holidays.get(day):
            busy = {one.staff_id for one in planned}
            own = tuple(
                one for one in drivers.drivers if one.staff_id in busy or (planned and None in busy)
            )
            return replace(drivers, drivers=own)
        return drivers

    # What is due

    def _groups(self) -> tuple[list[DueGroup], list[str]]:
        """Visits that nobody has booked, heaviest first, and a sentence on those not looked at."""
        if self.morning is None:
            self.morning = morning_list(self.book, self.now)
        ahead = (self.wish.last - self.today).days
        listed = desk_list(self.book, self.now, ahead_days=ahead, morning=self.morning)
        due = due_at(listed, whereabouts(self.book), self.wish.last)
        every = sorted(
            (group for one in due for group in groups_of(one, self.wish, self.today)),
            key=lambda one: (-one.weight, one.named.casefold(), one.key.bytes),
        )
        most = self.wish.most_due
        rest = every[most:]
        if not rest:
            return every, []
        many = "1 visit" if len(rest) == 1 else f"{len(rest)} visits"
        are = "is" if len(rest) == 1 else "are"
        return every[:most], [
            f"{many} of less weight {are} not spread, since {most} at most were asked for: "
            f"{few_named([one.named for one in rest])}."
        ]

    def _spread(
        self,
        told: _Told,
        group: DueGroup,
        rows: Mapping[UUID, SiteRow],
        standings: Mapping[UUID, SiteStanding],
        on_road: Mapping[date, Drivers],
        found: Agenda,
    ) -> None:
        """A visit that nobody has booked on each day on which it may be."""
        row = rows.get(group.site_id)
        if row is None:
            return
        promised = [line.promised for line in group.lines]
        try:
            wish = wish_for(self.book, promised, site_id=group.site_id)
        except (BadInput, NotFound) as trouble:
            told.remarks.append(f"{group.named}: {trouble.message}")
            return
        open_days = [
            day for day in self.days
            if day >= group.limit.first_on and not found.holidays.get(day)
            and self._working(found, on_road[day], day)
        ]  # fmt: skip
        any_day = False
        for day in open_days:
            one, access = self._due(group, row, wish, day, standings)
            one = _in_hours(one, self._working(found, on_road[day], day))
            told.put(day if one.windows else None, one, access)
            any_day = any_day or bool(one.windows)
        if not any_day:
            one, access = self._due(group, row, wish, self.wish.first, standings)
            told.put(None, one, access)
            told.closed[one.key] = self._closed_said(one, group, row, bool(open_days))

    def _working(self, found: Agenda, drivers: Drivers, day: date) -> tuple[Driver, ...]:
        """Those on the road who work on that day, not only for what is booked all the same."""
        zone = self.book.zone
        own = ((one, found.day_of(one.staff_id, day)) for one in drivers.drivers)
        return tuple(one for one, there in own if there is not None and there.work_spans(zone))

    def _due(
        self,
        group: DueGroup,
        row: SiteRow,
        wish: Wish,
        day: date,
        standings: Mapping[UUID, SiteStanding],
    ) -> tuple[Errand, Access]:
        one, access = due_errand(group.site_id, row, wish, group.weight, day)
        one = with_standing(one, standings.get(group.site_id), None)
        if day == self.today:
            local = self.now.astimezone(self.book.zone)
            minute = local.hour * 60 + local.minute + 1
            later = (Window(max(each.opens, minute), each.closes) for each in one.windows)
            one = replace(one, windows=tuple(w for w in later if w.opens < w.closes))
        return replace(one, key=group.key), access

    def _closed_said(self, one: Errand, group: DueGroup, row: SiteRow, works: bool) -> str:
        when = days_said(max(group.limit.first_on, self.wish.first), self.wish.last)
        if not works:
            return (
                f"{one.name}: nobody is on the road {when}; on public holidays nothing is planned."
            )
        hours = " ".join(row.access_hours.split())
        return f"{one.name}: one does not get in on a working day {when} (“{hours}”)."

    # The rest

    def _travel(
        self, errands: Sequence[Errand], drivers: Drivers, table: DriveTable, day: date
    ) -> Travel:
        ends = [one.start for one in drivers.drivers]
        ends += [site_end(one.site_id) for one in errands]
        return travel((*stops(self.book, ends, day), *drivers.homes), table)

    def _of_days(
        self, found: Agenda, on_road: Mapping[date, Drivers], asked: Sequence[DayAsked]
    ) -> Iterator[str]:
        for day, own in zip(self.days, asked, strict=True):
            if name := found.holidays.get(day):
                yield f"{weekday_said(day)} is a public holiday: {name}."
            yield from on_road[day].remarks
            for usual, who in zip(on_road[day].drivers, own.drivers, strict=True):
                yield from usual.remarks
                for said in who.remarks[len(usual.remarks) :]:
                    yield f"{weekday_said(day)}, {said}"
            said = clock_change_said(
                on_road[day].drivers, DayWish(day, self.wish.staff), self.book.zone
            )
            if said:
                yield f"{weekday_said(day)}: {said}"
            done = [named(one) for one in found.visits_on(day) if one.state == "done"]
            if done:
                were = "was" if len(done) == 1 else "were"
                yield f"{few_named(done)} {were} visited on {weekday_said(day)} already."


def _in_hours(one: Errand, working: Sequence[Driver]) -> Errand:
    """A visit that nobody has booked, within working hours and for those who work."""
    begins, ends = min(who.begins for who in working), max(who.ends for who in working)
    own = (Window(max(each.opens, begins), min(each.closes, ends)) for each in one.windows)
    return replace(
        one, windows=tuple(each for each in own if each.opens < each.closes),
        vets=frozenset(who.staff_id for who in working),
    )  # fmt: skip

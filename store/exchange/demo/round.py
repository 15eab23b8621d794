"""A full day on the road of the demo practice, at which its round can be looked at.

Nine visits of both vets on the next day from Monday to Friday on which both work all their hours:
what stands in the diary already, visits moved to it from later days, and new ones, with two
infected sites and one suspect of a notifiable disease among them. Entered by the functions that
the screens use; so are the practice's own drive times, and promises near the way that nobody has
booked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff
from store.book.ponds import card
from store.diary.booking.values import DiaryDay, Visiting, Wish
from store.diary.desk.due import Promised
from store.diary.kept.due.desk import desk_list
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.visits.bookings import book_visit, move_visit, objections
from store.diary.kept.visits.diary import diary, visits_between
from store.diary.kept.visits.terms import set_terms
from store.diary.kept.visits.wishes import wish_for, wish_of, wish_of_visit
from store.exchange.plain.whose import PondNames
from store.rounds.kept.standing.stood import stood_on
from store.travel.drive_times import set_drive_time
from store.travel.ways import End, site_end, vet_end

VISITS = 9
"""So many visits are booked on the day of the round."""
_VET, _TRAVELLING, _DESK = "MB", "RK", "OS"
_LOOK_AHEAD = 30
"""So many days are searched for one on which both vets work [d]."""


@dataclass(frozen=True, slots=True)
class _Stop:
    """A visit of the round; `tries` are people and hours, the first against which nothing speaks.

    A visit to the site that is planned for another day is moved, else it is booked anew, with what
    was promised of `keeps`. `minutes` is its length [min], 0 the usual one. `prices` were agreed,
    and a consent form is to be signed.
    """

    pond: str
    kind: str
    tries: tuple[tuple[str, time | None], ...]
    note: str = ""
    whole_site: bool = False
    fixed: bool = False
    agreed_with: str = ""
    minutes: int = 0
    keeps: tuple[str, ...] = ()
    prices: str = ""
    put_late: bool = False


_STOPS = (
    _Stop(
        "FAL-1", "urgent call", ((_VET, time(16, 0)),), agreed_with="Mr Fallowmere", minutes=45,
        note="Koi still die: count, sample a dying one, nothing leaves the place.",
        prices="urgent call 140, two fish examined 60, laboratory as it charges",
    ),
    _Stop(
        "BRI-1", "examination", ((_TRAVELLING, time(12, 15)), (_TRAVELLING, time(11, 0))),
        fixed=True, agreed_with="the matron", minutes=45, keeps=("finding",),
        note="At a quarter past twelve, between the residents' dinner and the quiet hour.",
    ),
    _Stop(
        "QUA-1", "call", ((_VET, time(14, 15)), (_VET, time(13, 30))), agreed_with="Dr Quayne",
        keeps=("dose",), note="See that the third dose goes in as weighed.",
    ),
    _Stop("VEL-2", "call", ((_TRAVELLING, time(14, 0)), (_VET, time(13, 0))), put_late=True),
    _Stop("STI-1", "round", ((_TRAVELLING, None),), whole_site=True),
    _Stop(
        "QUI-1", "round", ((_TRAVELLING, time(8, 30)), (_VET, time(8, 15)), (_VET, None)),
        whole_site=True, agreed_with="Ms Dovrey",
    ),
    _Stop(
        "YAR-1", "water test",
        ((_TRAVELLING, time(7, 15)), (_TRAVELLING, time(7, 30)), (_TRAVELLING, None)),
        keeps=("water_test",), note="Key under the third pot.",
    ),
    _Stop(
        "MOR-1", "call", ((_VET, time(11, 15)), (_VET, time(10, 30)), (_VET, None)),
        agreed_with="Mrs Morvane", note="Carbonate hardness falls: look at the spring.",
    ),
    _Stop("HAR-2", "call", ((_VET, None),), note="Mrs Hartsgrave is at home all day."),
    _Stop("PEN-2", "call", ((_VET, time(9, 30)), (_VET, None)), note="The two from the show."),
    _Stop("OSK-1", "call", ((_TRAVELLING, None),), note="Measure the clay pit."),
    _Stop("PEL-1", "round", ((_TRAVELLING, None),), whole_site=True),
    _Stop("NET-1", "call", ((_VET, None),)),
)  # fmt: skip
"""The first of them that make the day full; those with the suspect and the infected come first."""

_NEAR = (
    ("HAR-1", "look_again", "gills, now that the filter is running again"),
    ("NET-1", "visit", "show the teacher what may be netted, and when"),
)
"""Promised for the day of the round, and booked by nobody: by pond, kind and words."""

_DRIVES = (
    ((_VET, "QUI-1", 4.0, 1.1), "walked and driven, the quay is one-way"),
    ((_VET, "FAL-1", 24.0, 11.9), "road works at Saltern bridge until summer"),
    ((_TRAVELLING, "STI-1", 8.0, 3.4), "driven at dawn, no tractor on the drove"),
    (("STI-1", "YAR-1", 9.0, 3.6), "along the drove, dry"),
    (("VEL-1", "QUA-1", 4.0, 1.3), "driven on a market day"),
    (("MOR-1", "HAR-2", 7.5, 3.9), "by the ford, dry"),
)
"""Ways that the practice has timed [min] and measured [km], with what they rest on."""


def round_day(book: Book, now: datetime) -> date:
    """The day of the demo practice's round.

    Parameters
    ----------
    book
        The book of the demo practice, with hours and leave of its people.
    now
        The present instant, with a time zone.

    Returns
    -------
    date
        The first day after today from Monday to Friday, no public holiday, on which both vets work
        and neither is away.
    """
    today = book.today(now)
    days: dict[date, list[DiaryDay]] = {}
    vets = {one.id for one in staff(book) if one.initials in {_VET, _TRAVELLING}}
    last = today + timedelta(days=_LOOK_AHEAD)
    for one in diary(book, today + timedelta(days=1), last):
        if one.staff_id in vets:
            days.setdefault(one.day, []).append(one)
    return next(
        (
            day
            for day, of in days.items()
            if day.weekday() < 5
            and all(one.work and not one.away and not one.holiday for one in of)
        ),
        today + timedelta(days=1),
    )


def add_round(book: Book, now: datetime) -> date:
    """Enter the visits of the round, the drive times, and what was promised near the way.

    Parameters
    ----------
    book
        The book of the demo practice, with all else that stands in it.
    now
        The present instant, with a time zone.

    Returns
    -------
    date
        The day of the round.
    """
    people = {one.initials: one.id for one in staff(book)}
    day, ponds = round_day(book, now), PondNames(book)
    _promise_near(book, ponds, people[_DESK], day, now)
    _time_drives(book, ponds, people, now)
    standing = visits_between(book, day, day)
    there, booked = {one.site_id: one for one in standing}, len(standing)
    today = book.today(now)
    later = {one.site_id: one for one in visits_between(book, today, today + timedelta(days=14))}
    promised = [one.promised for one in desk_list(book, now).lines]
    for one in _STOPS:
        if booked == VISITS:
            break
        site = card(book, ponds.one(one.pond)).site.id
        if (site in there) != one.put_late:
            continue
        moved = there.get(site) or later.get(site)
        made = _Making(book, now, people, day, moved, promised)
        booked += made.make(one, ponds.one(one.pond), site) and not one.put_late
    return day


@dataclass(frozen=True, slots=True)
class _Making:
    """One visit of the round in the making; `moved` is one that stands on another day."""

    book: Book
    now: datetime
    people: Mapping[str, UUID]
    day: date
    moved: Visiting | None
    promised: Sequence[Promised]

    def make(self, one: _Stop, pond: UUID, site: UUID) -> bool:
        """Book or move it for the first person and hour against which nothing speaks."""
        moved, act = self.moved, Act(self.people[_DESK], self.now)
        key = None if moved is None else moved.id
        wish = self._wish(one, pond, site) if moved is None else wish_of_visit(moved)
        sites = stood_on(self.book, self.now, self.day, self.day, site)
        for who, at in one.tries:
            asked = (self.day, at, self.people[who])
            spoken = objections(
                self.book, wish, *asked, self.now, visit_id=key, standings=sites
            )  # fmt: skip
            if spoken:
                continue
            with self.book.writing(act) as writing:
                if moved is None:
                    made = book_visit(writing, wish, *asked)
                    if one.prices:
                        set_terms(writing, made, one.prices, "to be signed")
                else:
                    why = "Beside the others of that day the way is short."
                    move_visit(writing, moved.id, moved.rev, *asked, why=why)
            return True
        return False

    def _wish(self, one: _Stop, pond: UUID, site: UUID) -> Wish:
        kept = [
            each
            for each in self.promised
            if each.pond_id == pond and each.kind in one.keeps and self._in_time(each)
        ]
        if kept:
            wish = wish_for(self.book, kept[:1])
        elif one.whole_site:
            wish = wish_of(self.book, site_id=site, kind=one.kind)
        else:
            wish = wish_of(self.book, pond_id=pond, kind=one.kind)
        return replace(
            wish, kind=one.kind, minutes=one.minutes or wish.minutes, fixed=one.fixed,
            agreed_with=one.agreed_with, note=one.note,
        )  # fmt: skip

    def _in_time(self, each: Promised) -> bool:
        """Whether it can be kept that day, or no day is left in which it could."""
        lost = each.last_on < self.book.today(self.now)
        return lost or each.first_on <= self.day <= each.last_on


def _promise_near(book: Book, ponds: PondNames, by: UUID, day: date, now: datetime) -> None:
    with book.writing(Act(by, now - timedelta(days=6))) as writing:
        for pond, kind, says in _NEAR:
            whose = card(book, ponds.one(pond))
            promise(
                writing, client_id=whose.client.id, kind=kind, says=says, first_on=day,
                site_id=whose.site.id, pond_id=ponds.one(pond),
            )  # fmt: skip


def _time_drives(book: Book, ponds: PondNames, people: Mapping[str, UUID], now: datetime) -> None:
    def end(name: str) -> End:
        if name in people:
            return vet_end(people[name])
        return site_end(card(book, ponds.one(name)).site.id)

    with book.writing(Act(people[_TRAVELLING], now - timedelta(days=33))) as writing:
        for (start, goal, minutes, km), source in _DRIVES:
            set_drive_time(writing, end(start), end(goal), minutes, km=km, source=source)

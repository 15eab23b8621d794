"""What the demo practice promised, whom it rang, when its people work and are away.

Entered by the functions that the screens use, every day counted back from today: promises that
repeat with what became of their days over the past months, one that slipped, calls that nobody
answered, a ring-back, a call that cannot wait, visits that are booked, leave of one vet and an
afternoon of the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.letterhead import set_practice_head
from store.book.people import staff
from store.book.ponds import card
from store.diary.desk.about import About
from store.diary.desk.due import Outcome
from store.diary.kept.calls.call_notes import note_call, take_call
from store.diary.kept.calls.call_values import NewCall
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_up_days import drop_day, keep_day
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.promised.open_days import open_days
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import book_visit, objections
from store.diary.kept.visits.proposing import propose
from store.diary.kept.visits.wishes import wish_for
from store.diary.times.repeats import days_of
from store.exchange.plain.whose import PondNames

_VET, _TRAVELLING, _DESK = "MB", "RK", "OS"
_HOURS = (
    (_VET, "Mon-Sat 08:00-18:00", 45, "The practice, Tarnhithe", 52.2131, -2.1158),
    (_TRAVELLING, "Mon-Sat 06:00-16:00", 30, "Rafe's yard, Quillmarsh", 52.2851, -2.1604),
    (_DESK, "Mon-Fri 08:00-17:00; Sat 09:00-12:00", 45, "", None, None),
)


@dataclass(frozen=True, slots=True)
class _Promise:
    """Something promised `said_ago` days before today, for the first time `first_in` days from it.

    `became` says of each day of the rule, from the first on, how many days late it was kept; None
    for one that was dropped.
    """

    pond: str
    kind: str
    says: str
    by: str
    said_ago: int
    first_in: int
    repeats: str = ""
    became: tuple[int | None, ...] = ()
    whole_client: bool = False
    note: str = ""


_PROMISES = (
    _Promise(
        "NET-1", "water_test", "water test with the children of the school", _DESK, 204, -196,
        "FREQ=WEEKLY;INTERVAL=4", (0, 1, 0, 5, 0, None, 2),
        note="Not in the holidays; the caretaker answers.",
    ),
    _Promise(
        "QUI-1", "visit", "atrium pool: look at fish, filter and coins", _VET, 170, -164,
        "FREQ=DAILY;INTERVAL=40", (2, 0, 12, 1),
    ),
    _Promise(
        "TRA-1", "ring", "how the fish feed since the filter was rebuilt", _TRAVELLING, 9, -4,
    ),
    _Promise(
        "OSK-1", "look_again", "ulcer on the largest tench", _VET, 21, -2,
    ),
    _Promise(
        "WIC-1", "ring", "what the son's tests of Saturday said", _DESK, 3, 0,
        whole_client=True,
    ),
    _Promise(
        "SUN-1", "look_again", "closed ulcer, before the koi go back", _VET, 12, 3,
    ),
    _Promise(
        "STI-1", "seasonal", "round before the season, both waters", _TRAVELLING, 340, -330,
        "FREQ=YEARLY;BYMONTH=3,10;BYMONTHDAY=15", (6, 3, 16),
    ),
    _Promise(
        "PEL-1", "water_test", "first of the month, all three waters", _DESK, 120, -100,
        "FREQ=MONTHLY;BYDAY=1MO", (0, 0, 9),
    ),
    _Promise(
        "BRI-1", "ring", "whether the care home feeds less now", _DESK, 40, -34,
        "FREQ=WEEKLY;INTERVAL=2;COUNT=6", (0, 0, 1),
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Rang:
    """A call to the client of a pond, so many hours before now."""

    pond: str
    hours_ago: float
    by: str
    outcome: Outcome
    note: str = ""
    ring_in: int | None = None
    ring_at: time | None = None


_RANG = (
    _Rang("VEL-1", 75.0, _DESK, "reached", "Sends photos of the gill covers by mail."),
    _Rang("YAR-1", 146.0, _DESK, "left word", "With the neighbour who has the key."),
    _Rang("OSK-1", 49.0, _DESK, "no answer"),
    _Rang("OSK-1", 26.0, _DESK, "no answer", "Let it ring for two minutes."),
    _Rang("WIC-1", 23.0, _DESK, "ring back", "Mother at work, home from five.", 0, time(17, 15)),
    _Rang("TRA-1", 5.0, _DESK, "left word", "On the machine."),
)


_SORES = {
    "caller": "the head gardener", "phone": "01632 960171", "fish": "orfe and rudd, about 80",
    "dead": "0", "sores": "yes, a red hole on two of them", "off_food": "no", "gasping": "no",
    "new_fish": "no", "temperature": "not known", "put_in": "nothing", "filter": "no filter here",
    "photo": "sends them tonight", "saw": "Two orfe with a sore behind the head, since Sunday.",
}  # fmt: skip
_BOOKED = (("SUN-1", "look_again"), ("OSK-1", "look_again"))
"""By pond and kind, the promises by hand for which the desk has booked the first slot proposed."""


def add_desk(book: Book, now: datetime) -> None:
    """Enter what the demo practice promised, whom it rang and who is away.

    Parameters
    ----------
    book
        The book of the demo practice, with its people, ponds and courses.
    now
        The present instant, with a time zone.
    """
    people = {one.initials: one.id for one in staff(book)}
    today = book.today(now)
    ponds = PondNames(book)
    with book.writing(Act(people[_DESK], now - timedelta(days=300))) as writing:
        for who, hours, rest, place, latitude, longitude in _HOURS:
            set_hours(
                writing, people[who], hours, today - timedelta(days=300), break_min=rest,
                start_place=place, start_latitude=latitude, start_longitude=longitude,
            )  # fmt: skip
    for one in _PROMISES:
        _promise(book, one, ponds.one(one.pond), people, now)
    for call in _RANG:
        pond = ponds.one(call.pond)
        with book.writing(Act(people[call.by], now - timedelta(hours=call.hours_ago))) as writing:
            log_attempt(
                writing, card(book, pond).client.id, call.outcome, pond_id=pond, note=call.note,
                ring_on=None if call.ring_in is None else today + timedelta(days=call.ring_in),
                ring_at=call.ring_at,
            )  # fmt: skip
    with book.writing(Act(people[_DESK], now - timedelta(days=20))) as writing:
        add_day_off(
            writing, people[_VET], today + timedelta(days=9), today + timedelta(days=11),
            says="course on fish pathology",
        )  # fmt: skip
        add_day_off(
            writing, people[_TRAVELLING], today + timedelta(days=2), today + timedelta(days=2),
            from_time=time(12), until_time=time(16), says="van to the garage",
        )  # fmt: skip
        set_holiday_region(writing, "GB", "ENG")
        set_practice_head(
            writing, practice="Tarnhithe Pond Practice", telephone="01632 960100",
            address="4 Sluice Street\nTarnhithe\nQV1 3AA", email="desk.tarnhithe@example.org",
        )  # fmt: skip
    _calls(book, ponds, people[_DESK], now)
    _bookings(book, ponds, people[_DESK], now)


def _calls(book: Book, ponds: PondNames, by: UUID, now: datetime) -> None:
    home, garden = ponds.one("BRI-1"), ponds.one("OST-1")
    with book.writing(Act(by, now - timedelta(days=9))) as writing:
        note_call(
            writing, card(book, home).client.id, pond_id=home, caller="the cook",
            said="Two fish rub on the stones since the weekend.",
            advised="Nothing into the pond; count who rubs, and ring if one stops feeding.",
        )  # fmt: skip
    with book.writing(Act(by, now - timedelta(hours=3))) as writing:
        whose = card(book, garden)
        take_call(
            writing,
            NewCall(_SORES, client_id=whose.client.id, site_id=whose.site.id, pond_id=garden),
        )


def _bookings(book: Book, ponds: PondNames, by: UUID, now: datetime) -> None:
    """The first slot against which nothing speaks, for some of what was promised."""
    today = book.today(now)
    open_now = open_days(book, today, today + timedelta(days=14))
    for pond, kind in _BOOKED:
        key = ponds.one(pond)
        wanted = [one for one in open_now if (one.pond_id, one.kind) == (key, kind)]
        if not wanted:
            continue
        wish = wish_for(book, wanted[:1])
        for slot in propose(book, wish, now).slots:
            asked = (slot.on_day, slot.at_time, slot.staff_id)
            if not objections(book, wish, *asked, now):
                with book.writing(Act(by, now)) as writing:
                    book_visit(writing, wish, *asked)
                break


def _promise(book: Book, one: _Promise, pond: UUID, people: dict[str, UUID], now: datetime) -> None:
    """The promise on the day it was made, then what became of its days, each on its own day."""
    today = book.today(now)
    whose = card(book, pond)
    first = today + timedelta(days=one.first_in)
    said = Act(people[one.by], now - timedelta(days=one.said_ago))
    with book.writing(said) as writing:
        key = promise(
            writing, client_id=whose.client.id, kind=one.kind, says=one.says, first_on=first,
            site_id=None if one.whole_client else whose.site.id,
            pond_id=None if one.whole_client else pond, repeats=one.repeats, note=one.note,
        )  # fmt: skip
    days = days_of(one.repeats, first, first, today)
    for day, late in zip(days, one.became, strict=False):
        _became(book, About("hand", key, day=day), day, late, people[one.by], now)


def _became(book: Book, about: About, day: date, late: int | None, by: UUID, now: datetime) -> None:
    on = min(day + timedelta(days=late or 0), book.today(now))
    then = min(datetime.combine(on, time(16, 0), book.zone), now)
    with book.writing(Act(by, then)) as writing:
        if late is None:
            drop_day(writing, str(about), "Nobody was there in the holidays.")
        else:
            keep_day(writing, str(about), on)

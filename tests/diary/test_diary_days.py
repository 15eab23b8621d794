"""The diary by day and person: hours, leave, holidays, load and what is free."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.practice import begin
from store.book.visits import close_visit, plan_visit
from store.diary.booking.values import DiaryDay
from store.diary.kept.roster.days_off import add_day_off, days_off, drop_day_off
from store.diary.kept.roster.holiday_region import holiday_region, holidays, set_holiday_region
from store.diary.kept.roster.staff_hours import USUAL, hours_on, set_hours
from store.diary.kept.roster.visit_lengths import visit_lengths
from store.diary.kept.visits.bookings import book_visit, wish_of
from store.diary.kept.visits.diary import diary, visiting, visits_between
from store.diary.times.hours import read_hours, spells_on
from store.diary.times.spell import MIDNIGHT, Spell
from store.errors import BadInput, NotAllowed, NotFound
from store.facts.follow_ups import visit_kinds
from tests.book.entries import NOW
from tests.diary.practice_round import MONDAY, WEDNESDAY, garden, person

NINE_TO_FIVE = (Spell(time(9), time(17)),)


def one_day(book: Book, day: date, **more: Any) -> DiaryDay:
    found = diary(book, day, day, **more)
    assert len(found) == 1
    return found[0]


# Working hours


def test_without_hours_the_usual_ones_stand_in_and_are_said(book: Book, act: Act) -> None:
    there = hours_on(book, WEDNESDAY)[act.by]
    assert (there.spells, there.usual, there.typed) == (NINE_TO_FIVE, USUAL, "")
    assert hours_on(book, date(2026, 3, 21))[act.by].spells == (), "no Saturday"
    usual = read_hours(USUAL.replace("–", "-"))
    for step in range(7):
        day = MONDAY + timedelta(days=step)
        assert spells_on(usual, day) == hours_on(book, day)[act.by].spells, "as it says"


def test_hours_hold_from_their_day_on_and_the_newest_say_counts(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        set_hours(writing, act.by, "Mon-Fri 8-12", MONDAY, break_min=15, start_place="the surgery",
                  start_latitude=52.0, start_longitude=0.1)  # fmt: skip
        set_hours(writing, act.by, "Sat 10-14", date(2026, 3, 20))
    assert hours_on(book, date(2026, 3, 15))[act.by].usual == USUAL
    there = hours_on(book, WEDNESDAY)[act.by]
    assert there.spells == (Spell(time(8), time(12)),)
    assert (there.break_min, there.start_place, there.start_latitude) == (15, "the surgery", 52.0)
    assert (there.typed, there.usual, there.from_day) == ("Mon-Fri 8-12", "", MONDAY)
    assert hours_on(book, date(2026, 3, 20))[act.by].spells == (), "a Friday under the new ones"
    assert hours_on(book, date(2026, 3, 21))[act.by].spells == (Spell(time(10), time(14)),)
    with book.writing(Act(act.by, NOW + timedelta(minutes=5))) as writing:
        set_hours(writing, act.by, "Mon-Fri 7-11", MONDAY)
    assert hours_on(book, WEDNESDAY)[act.by].spells == (Spell(time(7), time(11)),)


@pytest.mark.parametrize(
    ("hours", "more", "field"),
    [
        ("", {}, "hours"), ("  ", {}, "hours"), ("when the tide is out", {}, "hours"),
        ("Mon-Fri 9-17; when asked", {}, "hours"), ("Mon-Fri", {}, "hours"),
        ("Mon-Fri 9-17", {"start_latitude": 52.0}, "start_latitude"),
        ("Mon-Fri 9-17", {"start_latitude": 92.0, "start_longitude": 0.0}, "start_latitude"),
        ("Mon-Fri 9-17", {"break_min": 481}, "break_min"),
        ("Mon-Fri 9-17", {"break_min": -1}, "break_min"),
    ],
)  # fmt: skip
def test_hours_that_cannot_be_kept_are_refused_at_their_field(
    sqlite_book: Book, act: Act, hours: str, more: dict[str, Any], field: str
) -> None:
    with pytest.raises(BadInput) as caught, sqlite_book.writing(act) as writing:
        set_hours(writing, act.by, hours, MONDAY, **more)
    assert caught.value.field == field
    assert hours_on(sqlite_book, WEDNESDAY)[act.by].usual == USUAL


def test_nobody_has_no_hours(sqlite_book: Book, act: Act) -> None:
    desk = person(sqlite_book, act, "Tom Desk", "receptionist")
    with sqlite_book.writing(act) as writing:
        writing.strike("staff", desk, "left")
    assert list(hours_on(sqlite_book, WEDNESDAY)) == [act.by]
    with pytest.raises(NotFound, match="no such person"), sqlite_book.writing(act) as writing:
        set_hours(writing, desk, "Mon-Fri 9-17", MONDAY)


# Days off


def test_days_off_come_back_and_can_be_dropped(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        key = add_day_off(writing, act.by, MONDAY, WEDNESDAY, from_time=time(14), says="holiday")
        add_day_off(writing, None, date(2026, 12, 25), date(2026, 12, 25))
    found = days_off(book, WEDNESDAY, WEDNESDAY)
    assert [one.id for one in found] == [key]
    assert (found[0].first_day, found[0].last_day, found[0].from_time) == (
        MONDAY,
        WEDNESDAY,
        time(14),
    )
    assert days_off(book, date(2026, 3, 19), date(2026, 3, 19)) == ()
    assert len(days_off(book, MONDAY, date(2026, 12, 25))) == 2
    with pytest.raises(BadInput), book.writing(act) as writing:
        drop_day_off(writing, key, 1, "")
    with book.writing(act) as writing:
        drop_day_off(writing, key, 1, "the journey was called off")
    assert days_off(book, MONDAY, WEDNESDAY) == ()
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        drop_day_off(writing, key, 2, "again")


@pytest.mark.parametrize(
    ("first", "last", "hours", "field"),
    [
        (WEDNESDAY, MONDAY, {}, "last_day"),
        (MONDAY, MONDAY, {"from_time": time(14), "until_time": time(14)}, "until_time"),
        (MONDAY, MONDAY, {"from_time": time(14), "until_time": time(9)}, "until_time"),
    ],
)
def test_an_absence_does_not_end_before_it_begins(
    sqlite_book: Book, act: Act, first: date, last: date, hours: dict[str, time], field: str
) -> None:
    with pytest.raises(BadInput, match="before") as caught, sqlite_book.writing(act) as writing:
        add_day_off(writing, act.by, first, last, **hours)
    assert caught.value.field == field
    with sqlite_book.writing(act) as writing:
        assert add_day_off(
            writing, act.by, MONDAY, WEDNESDAY, from_time=time(14), until_time=time(9)
        ), "from Monday afternoon to Wednesday morning"


def test_leave_from_an_afternoon_to_a_morning_is_one_stretch(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        add_day_off(writing, act.by, MONDAY, WEDNESDAY, from_time=time(14), until_time=time(11),
                    says="congress")  # fmt: skip
    monday, tuesday, wednesday = diary(book, MONDAY, WEDNESDAY)
    assert (monday.work, monday.away) == (
        (Spell(time(9), time(14)),), "away from 14:00 to 24:00: congress",
    )  # fmt: skip
    assert (tuesday.work, tuesday.away, tuesday.work_min) == ((), "away: congress", 0)
    assert wednesday.away == "away from 00:00 to 11:00: congress"
    assert wednesday.free == (Spell(time(11), time(17)),)


# Public holidays


def test_the_country_of_the_practice_marks_until_a_region_is_chosen(book: Book, act: Act) -> None:
    assert holiday_region(book) == ("", "")
    assert holidays(book, date(2026, 1, 1), date(2026, 12, 31)) == {}
    with book.writing(act) as writing:
        set_holiday_region(writing, "GB", "SCT")
    assert holiday_region(book) == ("GB", "SCT")
    assert date(2026, 1, 2) in holidays(book, date(2026, 1, 1), date(2026, 1, 31))
    with book.writing(Act(act.by, NOW + timedelta(minutes=1))) as writing:
        set_holiday_region(writing, "United Kingdom", "ENG")
    assert holiday_region(book) == ("GB", "ENG")
    found = holidays(book, date(2026, 4, 1), date(2026, 4, 30))
    assert set(found) == {date(2026, 4, 3), date(2026, 4, 6)}
    assert one_day(book, date(2026, 4, 3)).holiday == found[date(2026, 4, 3)]
    for country, region, field in (("Nowhere Land", "", "country"), ("GB", "XX", "region")):
        with pytest.raises(BadInput) as caught, book.writing(act) as writing:
            set_holiday_region(writing, country, region)
        assert caught.value.field == field


def test_the_country_that_a_practice_stated_counts(tmp_path: Any) -> None:
    with open_book(tmp_path / "new.pondround", now=NOW, create=True) as book:
        act = begin(book, NOW, practice="Koi House", time_zone="Europe/Dublin", person="Ada Vet",
                    role="vet", country="Ireland")  # fmt: skip
        assert holiday_region(book) == ("IE", "")
        assert date(2026, 3, 17) in holidays(book, MONDAY, WEDNESDAY)
        with book.writing(act) as writing:
            set_holiday_region(writing, "")
        assert holiday_region(book) == ("", "")


# The diary


def test_a_day_with_its_visits_load_and_free_hours(book: Book, act: Act) -> None:
    at, other = garden(book, act, "Brook House"), garden(book, act, "Hill Farm")
    with book.writing(act) as writing:
        late = book_visit(writing, wish_of(book, pond_id=at.pond), WEDNESDAY, time(14), act.by)
        early = book_visit(writing, wish_of(book, pond_id=other.pond, kind="examination"), WEDNESDAY,
                           time(9), act.by)  # fmt: skip
        loose = plan_visit(writing, at.pond, WEDNESDAY, staff_id=act.by, kind="water test")
        gone = plan_visit(writing, at.pond, WEDNESDAY, at_time=time(11), staff_id=act.by)
        close_visit(writing, gone, 1, "cancelled", why="frost")
    day = one_day(book, WEDNESDAY)
    assert [one.id for one in day.visits] == [early, late, loose], "without an hour last"
    assert day.booked_min == 60 + 45 + 20
    assert day.work_min == 480
    assert day.free == (Spell(time(10), time(14)), Spell(time(14, 45), time(17)))
    assert (day.who, day.staff_id, day.away, day.holiday) == ("Ada Vet", act.by, "", "")


def test_who_stands_in_the_diary(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    ben, desk = (
        person(book, act, "Ben Vet", "travelling vet"),
        person(book, act, "Tom", "receptionist"),
    )
    assert [one.who for one in diary(book, MONDAY, MONDAY)] == ["Ada Vet", "Ben Vet"]
    with book.writing(act) as writing:
        test = wish_of(book, pond_id=at.pond, kind="water test")
        book_visit(writing, test, MONDAY, time(10), desk)
        plan_visit(writing, at.pond, WEDNESDAY)
    days = diary(book, MONDAY, WEDNESDAY)
    assert [(one.day, one.who) for one in days if one.day == MONDAY] == [
        (MONDAY, "Ada Vet"), (MONDAY, "Ben Vet"), (MONDAY, "Tom"),
    ]  # fmt: skip
    nobody = days[-1]
    assert (nobody.staff_id, nobody.who, len(nobody.visits), nobody.work) == (None, "", 1, ())
    assert [one.day for one in diary(book, MONDAY, WEDNESDAY, staff_id=ben)] == [
        MONDAY, MONDAY + timedelta(days=1), WEDNESDAY,
    ]  # fmt: skip
    assert [one.staff_id for one in visits_between(book, MONDAY, WEDNESDAY, staff_id=desk)] == [
        desk
    ]
    assert len(visits_between(book, MONDAY, WEDNESDAY, site_id=at.site)) == 2
    with pytest.raises(NotFound, match="no such person"):
        diary(book, MONDAY, MONDAY, staff_id=at.pond)


def test_the_visits_of_somebody_who_left_stay_in_sight(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    ben = person(book, act, "Ben Vet")
    with book.writing(act) as writing:
        book_visit(writing, wish_of(book, pond_id=at.pond), WEDNESDAY, time(10), ben)
        writing.strike("staff", ben, "left")
    assert [one.who for one in diary(book, WEDNESDAY, WEDNESDAY)] == ["Ada Vet", "Ben Vet"]
    left = one_day(book, WEDNESDAY, staff_id=ben)
    assert (len(left.visits), left.work, left.free, left.work_min) == (1, (), (), 0)
    assert left.away == "has left"
    assert [one.who for one in diary(book, MONDAY, MONDAY)] == ["Ada Vet"]


def test_a_practice_that_rests_is_said_for_everybody(book: Book, act: Act) -> None:
    person(book, act, "Ben Vet")
    with book.writing(act) as writing:
        add_day_off(writing, None, MONDAY, MONDAY, until_time=time(12), says="stocktaking")
    for day in diary(book, MONDAY, MONDAY):
        assert day.away == "practice closed from 00:00 to 12:00: stocktaking"
        assert day.work == (Spell(time(12), time(17)),)


def test_visits_that_are_struck_through_are_left_out(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    with book.writing(act) as writing:
        key = plan_visit(writing, at.pond, WEDNESDAY, staff_id=act.by)
        writing.strike("visit", key, "entered twice")
    assert one_day(book, WEDNESDAY).visits == ()
    with pytest.raises(NotFound, match="struck through"):
        visiting(book, key)


@pytest.mark.parametrize(
    ("zone", "day", "minutes"),
    [
        ("Europe/London", date(2026, 3, 29), 23 * 60), ("Europe/London", date(2026, 10, 25), 25 * 60),
        ("America/New_York", date(2026, 3, 8), 23 * 60), ("Pacific/Auckland", date(2026, 4, 5), 25 * 60),
        ("Australia/Lord_Howe", date(2026, 10, 4), 23 * 60 + 30),
        ("America/Santiago", date(2026, 9, 6), 23 * 60), ("Asia/Kathmandu", date(2028, 2, 29), 24 * 60),
        ("Pacific/Kiritimati", date(2026, 12, 31), 24 * 60), ("Pacific/Honolulu", date(2026, 3, 8), 24 * 60),
    ],
)  # fmt: skip
def test_a_day_of_work_is_as_long_as_the_clock_change_makes_it(
    tmp_path: Any, zone: str, day: date, minutes: int
) -> None:
    now = datetime(2026, 1, 2, 12, tzinfo=UTC)
    with open_book(tmp_path / "new.pondround", now=now, create=True) as book:
        act = begin(book, now, practice="P", time_zone=zone, person="Ada Vet", role="vet")
        at = garden(book, act, "Brook House")
        with book.writing(act) as writing:
            set_hours(writing, act.by, "daily 0-24", date(2026, 1, 1))
        with book.writing(act) as writing:
            book_visit(writing, wish_of(book, pond_id=at.pond), day, time(12), act.by, minutes=60)
        found = one_day(book, day)
        assert found.work_min == minutes
        assert found.free[0].ends == time(12)
        assert found.free[-1] == Spell(time(13), MIDNIGHT)
        assert visiting(book, found.visits[0].id).at_time == time(12), "noon is noon"
        around = diary(book, day - timedelta(days=1), day + timedelta(days=1))
        assert [len(one.visits) for one in around] == [0, 1, 0]


def test_every_kind_of_visit_has_a_length_and_its_reason(book: Book, act: Act) -> None:
    lengths = visit_lengths(book)
    assert set(lengths) == set(visit_kinds())
    assert all(5 <= minutes <= 1440 and why for minutes, why in lengths.values())

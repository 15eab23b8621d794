"""Booking, moving, cancelling and finishing visits, on both databases, and by two people at once."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.visits import plan_visit, visits_of
from store.diary.booking.values import Wish
from store.diary.desk.about import About
from store.diary.kept.promised.follow_ups import follow_up, promise
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.roster.visit_lengths import set_visit_length
from store.diary.kept.visits.bookings import (
    book_visit,
    cancel_visit,
    finish_visit,
    marks,
    move_visit,
    objections,
    propose,
    visit_history,
    wish_for,
    wish_of,
    wish_of_visit,
)
from store.diary.kept.visits.diary import visiting, visits_between
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from tests.book.entries import NOW, log_of, row_of
from tests.diary.practice_round import (
    MONDAY,
    TEN,
    WEDNESDAY,
    Garden,
    booked,
    dose_of,
    fields_of,
    garden,
    person,
)

ROOT = Path(__file__).parents[2]


# Booking


def test_a_visit_is_booked_with_all_that_was_agreed(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House", latitude=52.0, longitude=0.1, access_notes="green gate",
                address="2 Mill Lane\nUpper End", postcode="XX1 2YY", town="Millham")  # fmt: skip
    wish = wish_of(book, pond_id=at.pond, kind="course dose", purposes=(dose_of(at),))
    wish = Wish(
        wish.site_id, wish.pond_id, wish.kind, 50, wish.purposes, "Mr Reed", "ring first", True
    )
    key = booked(book, act, wish)
    found = visiting(book, key)
    assert (found.on_day, found.at_time, found.minutes, found.kind) == (
        WEDNESDAY, TEN, 50, "course dose",
    )  # fmt: skip
    assert (found.who, found.staff_id, found.state, found.rev) == ("Ada Vet", act.by, "planned", 1)
    assert (found.client, found.site, found.pond) == ("Brook House", "Garden", "Lower pond")
    assert found.address == "2 Mill Lane, Upper End, XX1 2YY"
    assert (found.town, found.access_notes, found.phone) == (
        "Millham",
        "green gate",
        "0300 555 0101",
    )
    assert (found.latitude, found.longitude) == (52.0, 0.1)
    assert (found.agreed_with, found.note, found.fixed) == ("Mr Reed", "ring first", True)
    assert found.purposes == wish.purposes
    assert found.in_spite == ""
    assert visits_of(book, at.pond)[0].id == key, "it is a visit like any other"
    assert wish_of_visit(found) == wish


def test_what_can_never_be_is_refused_at_its_field(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    desk = person(book, act, "Tom Desk", "receptionist")
    wish = wish_of(book, pond_id=at.pond, kind="examination")
    with book.writing(act) as writing:
        add_day_off(writing, act.by, MONDAY, MONDAY, says="holiday")
    cases: list[tuple[date, time | None, UUID, str, str]] = [
        (date(2026, 3, 13), TEN, act.by, "on_day", "lies behind"),
        (date(2026, 3, 14), time(7), act.by, "at_time", "lies behind"),
        (date(2026, 3, 29), time(1, 30), act.by, "at_time", "there is no 01:30"),
        (MONDAY, TEN, act.by, "staff_id", "away on 16 Mar 2026: holiday"),
        (WEDNESDAY, TEN, desk, "staff_id", "not entered as one"),
    ]
    for day, hour, who, field, says in cases:
        with pytest.raises(BadInput, match=says) as caught, book.writing(act) as writing:
            book_visit(writing, wish, day, hour, who, in_spite="it must be")
        assert caught.value.field == field
        assert "Nothing was saved" in caught.value.message
    assert visits_of(book, at.pond) == ()


def test_what_needs_a_reason_is_booked_with_one(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House", access_hours="Mon-Fri 14:00-16:00")
    wish = wish_of(book, pond_id=at.pond, kind="examination")
    with pytest.raises(BadInput, match="can be entered 14:00–16:00") as caught:
        booked(book, act, wish)
    assert caught.value.field == "at_time"
    assert "say why it goes all the same" in caught.value.message
    assert visits_of(book, at.pond) == ()
    with pytest.raises(BadInput):
        booked(book, act, wish, in_spite="   ")
    key = booked(book, act, wish, in_spite="the owner opens")
    assert visiting(book, key).in_spite == "the owner opens"
    assert booked(book, act, wish, at=time(14), day=MONDAY), "within the hours no reason is asked"


def test_an_overlap_names_the_other_visit_and_so_does_the_drive(book: Book, act: Act) -> None:
    near, far = garden(book, act, "Hill Farm"), garden(book, act, "Brook House")
    booked(book, act, wish_of(book, pond_id=near.pond, kind="examination"))
    wish = wish_of(book, pond_id=far.pond, kind="examination")
    with pytest.raises(BadInput, match="Hill Farm, Lower pond then, 10:00–11:00") as caught:
        booked(book, act, wish, at=time(10, 30))
    assert caught.value.field == "at_time"
    with pytest.raises(BadInput, match="is not known and put at 20 min: 10 min are left"):
        booked(book, act, wish, at=time(11, 10))
    assert booked(book, act, wish, at=time(11, 20))


def test_a_reason_answers_only_what_was_seen(book: Book, act: Act) -> None:
    at, other = garden(book, act, "Brook House"), garden(book, act, "Hill Farm")
    with book.writing(act) as writing:
        set_holiday_region(writing, "GB", "ENG")
    good_friday = date(2026, 4, 3)
    wish = wish_of(book, pond_id=at.pond, kind="examination")
    seen = objections(book, wish, good_friday, TEN, act.by, NOW)
    assert [one.code for one in seen] == ["holiday"]
    booked(book, act, wish_of(book, pond_id=other.pond), good_friday, in_spite="urgent")
    with pytest.raises(BadInput, match="Hill Farm") as caught:
        booked(book, act, wish, good_friday, in_spite="fish gasping", answered=seen)
    assert "came up since you looked" in caught.value.message
    assert caught.value.field == "at_time"
    now = objections(book, wish, good_friday, TEN, act.by, NOW)
    assert {one.code for one in now} == {"holiday", "clash"}
    assert booked(book, act, wish, good_friday, in_spite="both at once", answered=now)


def test_a_promise_is_not_booked_twice_unawares(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    wish = wish_of(book, pond_id=at.pond, kind="course dose", purposes=(dose_of(at),))
    first = booked(book, act, wish)
    with pytest.raises(BadInput, match="kept by the visit on 18 Mar 2026 at 10:00 already"):
        booked(book, act, wish, at=time(14))
    with book.writing(act) as writing:
        cancel_visit(writing, first, 1, "rain")
    assert booked(book, act, wish, at=time(14)), "what was cancelled keeps nothing"


def test_without_a_vet_or_an_hour_it_is_booked_and_marked(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    wish = wish_of(book, site_id=at.site)
    key = booked(book, act, wish, at=None, who=None)
    found = visiting(book, key)
    assert (found.at_time, found.staff_id, found.who, found.pond_id) == (None, None, "", None)
    said = marks(book, wish, WEDNESDAY, None, None, NOW)
    assert "No vet is chosen yet" in said[0]
    assert "Brook House, Garden is visited on that day already." in said
    assert marks(book, wish, WEDNESDAY, TEN, act.by, NOW)[0].startswith("No working hours are")


def test_places_that_are_not_there(book: Book, act: Act) -> None:
    at, other = garden(book, act, "Brook House"), garden(book, act, "Hill Farm")
    with pytest.raises(NotFound, match="no such site"):
        booked(book, act, Wish(uuid4(), None, "call", 45))
    with pytest.raises(NotFound, match="no such pond at this site"):
        booked(book, act, Wish(at.site, other.pond, "call", 45))
    with pytest.raises(NotFound, match="no such pond"):
        wish_of(book, pond_id=uuid4())
    with pytest.raises(BadInput, match="choose a pond or a site"):
        wish_of(book)
    with book.writing(act) as writing:
        writing.strike("site", at.site, "sold")
    with pytest.raises(NotFound, match="no such site"):
        propose(book, Wish(at.site, None, "call", 45), NOW)
    with pytest.raises(NotFound, match="no such person"):
        propose(book, wish_of(book, pond_id=other.pond), NOW, staff_id=uuid4())
    with pytest.raises(BadInput, match="does not work here") as caught:
        booked(book, act, wish_of(book, pond_id=other.pond), who=uuid4())
    assert caught.value.field == "staff_id"


def test_a_length_outside_its_bounds_is_refused(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    for wrong in (4, 1441):
        with pytest.raises(BadInput) as caught:
            booked(book, act, wish_of(book, pond_id=at.pond), minutes=wrong, in_spite="so be it")
        assert caught.value.field == "minutes"
    assert visits_of(book, at.pond) == (), "nothing half saved"


# Wishes


def test_the_length_is_that_of_the_kind_or_the_practice_s_own(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    assert wish_of(book, pond_id=at.pond, kind="examination").minutes == 60
    assert wish_of(book, pond_id=at.pond, kind="Examination ").minutes == 60
    assert wish_of(book, pond_id=at.pond, kind="filter talk").minutes == 45, "that of a call"
    with book.writing(act) as writing:
        set_visit_length(writing, "Examination", 75, "two vets")
        set_visit_length(writing, "filter talk", 25, "short")
    assert wish_of(book, pond_id=at.pond, kind="examination").minutes == 75
    assert wish_of(book, pond_id=at.pond, kind="filter talk").minutes == 25
    with book.writing(act) as writing:
        planned = plan_visit(writing, at.pond, WEDNESDAY, kind="examination")
    assert visiting(book, planned).minutes == 75, "planned without a booking"
    with pytest.raises(BadInput) as caught, book.writing(act) as writing:
        set_visit_length(writing, " ", 30, "why")
    assert caught.value.field == "kind"


def promised(at: Garden, **values: Any) -> Any:
    from store.diary.desk.due import Promised

    given = {
        "about": f"dose:{uuid4().hex}", "kind": "dose", "client_id": at.client, "site_id": at.site,
        "pond_id": at.pond, "says": "dose 2 of 3", "because": "", "origin": "course",
        "promised_by": "", "promised_on": None, "due_on": WEDNESDAY, "first_on": WEDNESDAY,
        "last_on": WEDNESDAY, "needs": "visit",
    }  # fmt: skip
    return Promised(**(given | values))


def test_promises_of_one_place_become_one_visit(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    with book.writing(act) as writing:
        second = writing.add("pond", site_id=at.site, name="Upper pond")
    one = wish_for(book, [promised(at), promised(at, kind="water_test", says="water test")])
    assert (one.pond_id, one.kind, one.minutes) == (at.pond, "course dose", 45)
    assert [each.says for each in one.purposes] == ["dose 2 of 3", "water test"]
    both = wish_for(book, [promised(at), promised(at, pond_id=second, kind="control")])
    assert (both.pond_id, both.kind, both.minutes) == (None, "course dose", 45 + 60)
    with_site = wish_for(book, [promised(at), promised(at, pond_id=None, kind="ring")])
    assert (with_site.pond_id, with_site.minutes) == (None, 45)
    alone = wish_for(book, [promised(at, pond_id=None, site_id=None, kind="ring")])
    assert (alone.site_id, alone.pond_id, alone.kind, alone.minutes) == (at.site, None, "call", 45)


def test_promises_of_different_places_are_not_one_visit(book: Book, act: Act) -> None:
    at, other = garden(book, act, "Brook House"), garden(book, act, "Hill Farm")
    with pytest.raises(BadInput, match="different places"):
        wish_for(book, [promised(at), promised(other)])
    with pytest.raises(BadInput, match="Nothing was chosen"):
        wish_for(book, [])
    with book.writing(act) as writing:
        lake = writing.add("site", client_id=at.client, name="Lake")
        lonely = writing.add("client", name="Nobody's Garden")
    with pytest.raises(BadInput, match="several places"):
        wish_for(book, [promised(at, pond_id=None, site_id=None)])
    assert wish_for(book, [promised(at, pond_id=None, site_id=None)], site_id=lake).site_id == lake
    assert wish_for(book, [promised(at)], site_id=lake).site_id == at.site, "it names its pond"
    with pytest.raises(NotFound, match="no such place of this client"):
        wish_for(book, [promised(at, pond_id=None, site_id=None)], site_id=other.site)
    with pytest.raises(NotFound, match="No garden or pond"):
        wish_for(book, [promised(at, client_id=lonely, pond_id=None, site_id=None)])


# Slots out of the book


def test_slots_out_of_the_book_fit_the_book(book: Book, act: Act) -> None:
    near = garden(book, act, "Hill Farm", latitude=52.0, longitude=0.0586)
    at = garden(book, act, "Brook House", latitude=52.0, longitude=0.0, access_hours="after 10:00")
    ben = person(book, act, "Ben Vet")
    with book.writing(act) as writing:
        set_hours(writing, ben, "Wed 9-13", MONDAY)
        add_day_off(writing, None, MONDAY, MONDAY, says="stocktaking")
    booked(book, act, wish_of(book, pond_id=near.pond, kind="examination"), who=ben)
    wish = wish_of(book, pond_id=at.pond, kind="examination")
    found = propose(book, wish, NOW)
    assert (found.slots[0].on_day, found.slots[0].at_time, found.slots[0].who) == (
        WEDNESDAY, time(11, 15), "Ben Vet",
    )  # fmt: skip
    assert found.slots[0].reasons[0] == "11 min (5.2 km) from Hill Farm at 10:00"
    assert all(one.on_day != MONDAY for one in found.slots)
    assert len({(one.on_day, one.staff_id) for one in found.slots}) == 3
    for slot in found.slots:
        assert objections(
            book, wish, slot.on_day, slot.at_time, slot.staff_id, NOW, minutes=slot.minutes
        ) == ()  # fmt: skip
        assert book.today(NOW) <= slot.on_day
    alone = propose(book, wish, NOW, staff_id=act.by, count=2)
    assert {one.who for one in alone.slots} == {"Ada Vet"}
    assert len(alone.slots) == 2


def test_a_visit_that_is_moved_does_not_stand_in_its_own_way(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    wish = wish_of(book, pond_id=at.pond, kind="course dose", purposes=(dose_of(at),))
    key = booked(book, act, wish, minutes=480, at=time(9))
    long = Wish(wish.site_id, wish.pond_id, wish.kind, 480, wish.purposes)
    fresh = propose(book, long, NOW)
    assert all(one.on_day != WEDNESDAY for one in fresh.slots)
    again = propose(book, long, NOW, visit_id=key)
    assert (again.slots[0].on_day, again.slots[0].marks) == (WEDNESDAY, ())
    assert objections(book, wish, WEDNESDAY, time(9), act.by, NOW, visit_id=key) == ()


# Moving, cancelling, finishing


def test_there_and_back_restores_and_the_record_keeps_both(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    ben = person(book, act, "Ben Vet")
    wish = wish_of(book, pond_id=at.pond, kind="examination")
    key = booked(book, act, wish)
    before = visiting(book, key)
    with book.writing(act) as writing:
        assert move_visit(writing, key, 1, MONDAY, time(15), ben, why="rain", minutes=90) == 2
    moved = visiting(book, key)
    assert (moved.on_day, moved.at_time, moved.who, moved.minutes) == (
        MONDAY,
        time(15),
        "Ben Vet",
        90,
    )
    with book.writing(act) as writing:
        move_visit(writing, key, 2, WEDNESDAY, TEN, act.by, why="sun", minutes=60)
    after = visiting(book, key)
    assert after.rev == 3
    assert {**fields_of(after), "rev": 1} == fields_of(before)
    said = [(one.what, one.why) for one in visit_history(book, key)]
    assert said.count(("change", "rain")) == 2, "the visit and its booking"
    assert said.count(("change", "sun")) == 2
    assert said.count(("add", "")) == 2
    day = next(
        one for one in visit_history(book, key) if one.why == "rain" and "on_day" in one.after
    )
    assert (day.before["on_day"], day.after["on_day"]) == ("2026-03-18", "2026-03-16")


def test_a_move_is_asked_everything_anew(book: Book, act: Act) -> None:
    at, other = garden(book, act, "Brook House"), garden(book, act, "Hill Farm")
    key = booked(book, act, wish_of(book, pond_id=at.pond, kind="examination"))
    booked(book, act, wish_of(book, pond_id=other.pond, kind="examination"), MONDAY)

    def move(rev: int, day: date, hour: time, **more: Any) -> int:
        with book.writing(act) as writing:
            return move_visit(writing, key, rev, day, hour, act.by, **({"why": "rain"} | more))

    with pytest.raises(BadInput, match="Hill Farm") as caught:
        move(1, MONDAY, TEN)
    assert caught.value.field == "at_time"
    with pytest.raises(BadInput, match="lies behind"):
        move(1, date(2026, 3, 2), TEN)
    with pytest.raises(BadInput) as caught:
        move(1, MONDAY, time(14), why=" ")
    assert caught.value.field == "why"
    assert move(1, WEDNESDAY, time(10, 30)) == 2, "half an hour later overlaps only itself"
    with pytest.raises(ChangedMeanwhile, match="Ada Vet changed this visit"):
        move(1, MONDAY, time(14))
    assert move(2, MONDAY, TEN, in_spite="a second pair of hands") == 3
    assert visiting(book, key).in_spite == "a second pair of hands"
    assert move(3, MONDAY, time(15)) == 4
    assert visiting(book, key).in_spite == "", "where nothing speaks against it no reason stands"


def test_a_visit_that_was_only_planned_can_be_moved_too(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    with book.writing(act) as writing:
        key = plan_visit(writing, at.pond, WEDNESDAY, kind="examination")
    with book.writing(act) as writing:
        move_visit(writing, key, 1, MONDAY, TEN, act.by, why="agreed")
    assert visiting(book, key).minutes == 60
    with book.writing(act) as writing:
        move_visit(writing, key, 2, MONDAY, TEN, act.by, why="longer", minutes=120)
    found = visiting(book, key)
    assert (found.minutes, found.rev) == (120, 2), "the length stands in its booking"
    assert [one.why for one in visit_history(book, key)].count("longer") == 1


def test_a_visit_missed_yesterday_can_be_moved_ahead(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    key = booked(book, act, wish_of(book, pond_id=at.pond))
    later = Act(act.by, NOW + timedelta(days=10))
    with book.writing(later) as writing:
        move_visit(writing, key, 1, date(2026, 3, 25), TEN, act.by, why="was missed")
    assert visiting(book, key).on_day == date(2026, 3, 25)


def test_another_person_takes_over_a_visit_whose_hour_has_come(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    ben = person(book, act, "Ben Vet")
    key = booked(book, act, wish_of(book, pond_id=at.pond))
    wish = wish_of_visit(visiting(book, key))
    late = Act(act.by, datetime(2026, 3, 18, 10, 20, tzinfo=UTC))
    assert objections(book, wish, WEDNESDAY, TEN, ben, late.at, visit_id=key) == ()
    assert objections(book, wish, WEDNESDAY, time(9), ben, late.at, visit_id=key)[0].code == "past"
    with book.writing(late) as writing:
        move_visit(writing, key, 1, WEDNESDAY, TEN, ben, why="Ada is held up", minutes=90)
    assert (visiting(book, key).who, visiting(book, key).minutes) == ("Ben Vet", 90)


def test_cancelling_needs_a_reason_and_closing_is_for_good(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    key = booked(book, act, wish_of(book, pond_id=at.pond))
    with pytest.raises(BadInput) as caught, book.writing(act) as writing:
        cancel_visit(writing, key, 1, "  ")
    assert caught.value.field == "why"
    with book.writing(act) as writing:
        cancel_visit(writing, key, 1, "the owner is away")
    found = visiting(book, key)
    assert (found.state, found.on_day, found.at_time) == ("cancelled", WEDNESDAY, TEN)
    assert visit_history(book, key)[0].why == "the owner is away"
    assert visits_between(book, MONDAY, WEDNESDAY) == ()
    assert visits_between(book, MONDAY, WEDNESDAY, states=("cancelled",)) == (found,)
    with pytest.raises(NotAllowed, match="cancelled already"), book.writing(act) as writing:
        move_visit(writing, key, 2, MONDAY, TEN, act.by, why="after all")
    with pytest.raises(NotAllowed, match="cancelled already"), book.writing(act) as writing:
        cancel_visit(writing, key, 2, "again")
    with pytest.raises(NotAllowed, match="cancelled already"), book.writing(act) as writing:
        finish_visit(writing, key, 2, date(2026, 3, 14))
    assert booked(book, act, wish_of(book, pond_id=at.pond)), "the hour is free again"


def test_a_visit_that_took_place_keeps_what_was_promised_by_hand(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    with book.writing(act) as writing:
        kept = promise(
            writing, client_id=at.client, pond_id=at.pond, kind="look_again",
            says="look at the ulcer", first_on=date(2026, 3, 14),
        )  # fmt: skip
        dropped = promise(
            writing, client_id=at.client, kind="visit", says="filter", first_on=date(2026, 3, 14),
            late_days=30,
        )  # fmt: skip
    by_hand = [
        dose_of(at, about=str(About("hand", one, day=date(2026, 3, 14))), kind="look_again")
        for one in (kept, dropped)
    ]
    wish = wish_of(book, pond_id=at.pond, purposes=(*by_hand, dose_of(at)))
    key = booked(book, act, wish)
    from store.diary.kept.promised.follow_ups import drop_day

    with book.writing(act) as writing:
        drop_day(writing, by_hand[1].about, "the filter is gone")
    later = Act(act.by, NOW + timedelta(days=5))
    with book.writing(later) as writing:
        assert finish_visit(writing, key, 1, WEDNESDAY, "healed") == 2
    done = visiting(book, key)
    assert (done.state, done.on_day, done.note) == ("done", WEDNESDAY, "healed")
    assert follow_up(book, kept).state == "ended", "a promise of one day ends with it"
    day = next(row for row in (row_of(book, "follow_up_day", one) for one in _day_keys(book, kept)))
    assert (day.state, day.kept_on, day.visit_id) == ("kept", WEDNESDAY, key)
    other = next(row_of(book, "follow_up_day", one) for one in _day_keys(book, dropped))
    assert other.state == "dropped", "what was said of it meanwhile stands"
    assert log_of(book, key)[-1].what == "change"


def _day_keys(book: Book, follow_up_id: UUID) -> list[UUID]:
    from sqlalchemy import select

    from store.book.tables import table

    days = table("follow_up_day").c
    with book.reading() as connection:
        return list(connection.scalars(select(days.id).where(days.follow_up_id == follow_up_id)))


def test_a_visit_cannot_have_taken_place_ahead(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    key = booked(book, act, wish_of(book, pond_id=at.pond))
    with pytest.raises(BadInput, match="lies ahead") as caught, book.writing(act) as writing:
        finish_visit(writing, key, 1)
    assert caught.value.field == "on_day"
    with book.writing(act) as writing:
        finish_visit(writing, key, 1, date(2026, 3, 14), "came early")
    assert visiting(book, key).on_day == date(2026, 3, 14)

"""A plan entered into the diary: what changes, in whatever order, and what is refused."""

from __future__ import annotations

import threading
from datetime import time
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.diary.booking.values import Wish
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import cancel_visit, visit_history
from store.diary.kept.visits.diary import visiting, visits_between
from store.errors import BadInput, ChangedMeanwhile, PondroundError
from store.rounds.day.plan import plan_day
from store.rounds.day.values import DayPlan, DayWish
from store.rounds.kept.days.agree import agree, agreeing
from store.rounds.kept.days.day import day_asked
from tests.book.entries import NOW
from tests.diary.hand_entries import promised
from tests.diary.practice_round import WEDNESDAY, Garden, booked, garden, person

HOME: dict[str, Any] = {
    "start_latitude": 52.0, "start_longitude": 0.1, "start_place": "the yard",
}  # fmt: skip


def from_the_yard(book: Book, act: Act) -> Book:
    """A book whose vet sets out from a known place."""
    with book.writing(act) as writing:
        set_hours(writing, act.by, "Mon-Fri 8-17", WEDNESDAY.replace(day=1), **HOME)
    return book


@pytest.fixture
def yard(sqlite_book: Book, act: Act) -> Book:
    """The same on SQLite alone."""
    return from_the_yard(sqlite_book, act)


def place(book: Book, act: Act, name: str, north: float, **values: Any) -> Garden:
    return garden(book, act, name, latitude=52.0 + north, longitude=0.1, **values)


def visit(book: Book, act: Act, at: Garden, hour: time | None, **more: Any) -> UUID:
    return booked(book, act, Wish(at.site, at.pond, "examination", 60), at=hour, **more)


def planned(book: Book, **wish: Any) -> DayPlan:
    return plan_day(day_asked(book, DayWish(WEDNESDAY, **wish), NOW))


def enter(book: Book, act: Act, plan: DayPlan, why: str = "the day's round") -> int:
    with book.writing(act) as writing:
        return agree(writing, plan, {one.key for one in agreeing(plan)}, why)


def test_what_is_as_agreed_changes_nothing(yard: Book, act: Act) -> None:
    visit(yard, act, place(yard, act, "Brook House", 0.1), time(10))
    plan = planned(yard)
    assert agreeing(plan) == ()
    assert enter(yard, act, plan) == 0


def test_a_visit_without_an_hour_gets_one_and_its_person(yard: Book, act: Act) -> None:
    key = visit(yard, act, place(yard, act, "Brook House", 0.1), None, who=None)
    plan = planned(yard)
    (one,) = agreeing(plan)
    assert (one.what, one.ring, one.phone) == ("hour", True, "0300 555 0101")
    assert "no hour was agreed; with Ada Vet, nobody was chosen" in one.says
    assert one.says.endswith("Ring 0300 555 0101.")
    assert enter(yard, act, plan) == 1
    found = visiting(yard, key)
    begins = plan.rounds[0].stops[0].begins
    assert (found.at_time, found.staff_id) == (time(begins // 60, begins % 60), act.by)
    assert found.in_spite == ""
    assert agreeing(planned(yard)) == ()


def test_only_the_person_changes_where_the_hour_stays(yard: Book, act: Act) -> None:
    key = visit(yard, act, place(yard, act, "Brook House", 0.1), time(10), who=None)
    (one,) = agreeing(planned(yard))
    assert (one.what, one.ring) == ("who", False)
    enter(yard, act, planned(yard))
    assert (visiting(yard, key).at_time, visiting(yard, key).staff_id) == (time(10), act.by)


def test_two_that_change_places_are_entered_and_both_moves_are_kept(book: Book, act: Act) -> None:
    yard = from_the_yard(book, act)
    # Booked at each other's hour: far first, since the near one closes late and the far one early.
    near = place(yard, act, "Near", 0.05, access_hours="daily 11:00-12:30")
    far = place(yard, act, "Far", 0.3, access_hours="daily 9:00-10:30")
    one = visit(yard, act, near, time(9, 15), in_spite="as asked")
    other = visit(yard, act, far, time(11, 15), in_spite="as asked")
    plan = planned(yard, agreed="free")
    assert [stop.errand.name for stop in plan.rounds[0].stops] == [
        "Far, Lower pond", "Near, Lower pond",
    ]  # fmt: skip
    assert [found.what for found in agreeing(plan)] == ["moved", "moved"]
    assert "in place of 11:15" in agreeing(plan)[0].says
    assert enter(yard, act, plan) == 2
    for key, stop in ((other, plan.rounds[0].stops[0]), (one, plan.rounds[0].stops[1])):
        found = visiting(yard, key)
        assert found.at_time == time(stop.begins // 60, stop.begins % 60)
        assert found.in_spite == ""
        assert any("the day's round" in change.why for change in visit_history(yard, key))
    assert agreeing(planned(yard, agreed="free")) == ()


def test_a_due_errand_becomes_a_visit_that_keeps_its_promise(yard: Book, act: Act) -> None:
    at = place(yard, act, "Brook House", 0.05)
    promised(yard, act, at.pond, kind="look_again", says="look again", first_on=WEDNESDAY)
    plan = planned(yard)
    (one,) = agreeing(plan)
    assert one.what == "new"
    assert "is new, at" in one.says
    assert "look again" in one.says
    assert enter(yard, act, plan) == 1
    (found,) = visits_between(yard, WEDNESDAY, WEDNESDAY)
    assert (found.pond_id, found.staff_id) == (at.pond, act.by)
    assert [each.says for each in found.purposes] == ["look again"]
    again = planned(yard)
    assert [stop.errand.booked for stop in again.rounds[0].stops] == [True]


def test_what_somebody_took_meanwhile_is_told_and_nothing_is_saved(yard: Book, act: Act) -> None:
    key = visit(yard, act, place(yard, act, "Brook House", 0.1), None)
    plan = planned(yard)
    other = place(yard, act, "Mill Lane", 0.2)
    visit(yard, act, other, time(9))
    with pytest.raises(BadInput, match="somebody booked Mill Lane, Lower pond at 09:00 with Ada"):
        enter(yard, act, plan)
    assert visiting(yard, key).at_time is None


def test_a_visit_that_was_changed_meanwhile_is_told(yard: Book, act: Act) -> None:
    key = visit(yard, act, place(yard, act, "Brook House", 0.1), None)
    other = visit(yard, act, place(yard, act, "Mill Lane", 0.2), time(15))
    plan = planned(yard)
    with yard.writing(act) as writing:
        cancel_visit(writing, other, visiting(yard, other).rev, "rang off")
    with pytest.raises(ChangedMeanwhile, match="Mill Lane, Lower pond has been changed"):
        enter(yard, act, plan)
    assert visiting(yard, key).at_time is None


def test_an_hour_that_was_left_to_another_visit_is_refused(yard: Book, act: Act) -> None:
    # Only the one that takes the other's hour is chosen, the other stays where it stands.
    near = place(yard, act, "Near", 0.05, access_hours="daily 11:00-12:30")
    far = place(yard, act, "Far", 0.3, access_hours="daily 9:00-10:30")
    one = visit(yard, act, near, time(9, 15), in_spite="as asked")
    other = visit(yard, act, far, time(11, 15), in_spite="as asked")
    plan = planned(yard, agreed="free")
    with (
        pytest.raises(BadInput, match=r"Far, Lower pond: .*Nothing was saved\.$"),
        yard.writing(act) as writing,
    ):
        agree(writing, plan, {other}, "the day's round")
    assert (visiting(yard, one).at_time, visiting(yard, other).at_time) == (
        time(9, 15), time(11, 15),
    )  # fmt: skip


def test_without_a_reason_or_with_a_stranger_nothing_is_saved(yard: Book, act: Act) -> None:
    visit(yard, act, place(yard, act, "Brook House", 0.1), None)
    plan = planned(yard)
    with pytest.raises(BadInput, match="say why"):
        enter(yard, act, plan, " ")
    with pytest.raises(BadInput, match="not in this plan"), yard.writing(act) as writing:
        agree(writing, plan, {UUID(int=9)}, "the day's round")


def test_people_change_where_they_are_free_to(yard: Book, act: Act) -> None:
    bram = person(yard, act, "Bram Vet")
    with yard.writing(act) as writing:
        set_hours(
            writing, bram, "Mon-Fri 8-17", WEDNESDAY.replace(day=1), start_latitude=53.0,
            start_longitude=0.1, start_place="the north",
        )  # fmt: skip
    key = visit(yard, act, place(yard, act, "Northern", 0.98), time(12))
    plan = planned(yard, agreed="free")
    (one,) = agreeing(plan)
    assert "with Bram Vet in place of Ada Vet" in one.says
    assert enter(yard, act, plan) == 1
    assert visiting(yard, key).staff_id == bram


def test_others_are_asked_again_of_hours_off(yard: Book, act: Act) -> None:
    key = visit(yard, act, place(yard, act, "Brook House", 0.1), None)
    plan = planned(yard)
    with yard.writing(act) as writing:
        add_day_off(writing, act.by, WEDNESDAY, WEDNESDAY, says="ill")
    with pytest.raises(BadInput, match="away"):
        enter(yard, act, plan)
    assert visiting(yard, key).at_time is None


def test_the_reason_stands_beside_what_speaks_against_the_day(yard: Book, act: Act) -> None:
    with yard.writing(act) as writing:
        set_holiday_region(writing, "IE")
    tuesday = WEDNESDAY.replace(day=17)
    key = visit(
        yard, act, place(yard, act, "Brook House", 0.1), None, day=tuesday, in_spite="as asked"
    )
    plan = plan_day(day_asked(yard, DayWish(tuesday), NOW))
    enter(yard, act, plan, "the day's round")
    assert visiting(yard, key).in_spite == "the day's round"


def test_beside_an_agreed_hour_that_is_planned_minutes_later_the_reason_is_kept(
    yard: Book, act: Act
) -> None:
    # The promise fits only if the visit that was agreed for ten begins some minutes later.
    at = place(yard, act, "Brook House", 0.05)
    kept = visit(yard, act, at, time(10))
    near = place(yard, act, "Next door", 0.051, access_hours="daily 8:30-10:05")
    promised(yard, act, near.pond, kind="look_again", says="look again", first_on=WEDNESDAY)
    with yard.writing(act) as writing:
        set_hours(writing, act.by, "Mon-Fri 8:45-17", WEDNESDAY.replace(day=2), **HOME)
    plan = planned(yard)
    moved = {stop.errand.name: stop.moved_min for one in plan.rounds for stop in one.stops}
    assert moved["Next door, Lower pond"] is None
    assert 0 < (moved["Brook House, Lower pond"] or 0) < 15
    assert [one.what for one in agreeing(plan)] == ["new"]
    assert enter(yard, act, plan) == 1
    assert visiting(yard, kept).at_time == time(10)
    new = next(one for one in visits_between(yard, WEDNESDAY, WEDNESDAY) if one.id != kept)
    assert new.in_spite == "the day's round"


def test_of_two_who_enter_one_plan_at_once_the_second_is_told(book_address: str) -> None:
    with open_book(book_address, now=NOW) as one, open_book(book_address, now=NOW) as other:
        act = Act(staff(one)[0].id, NOW)
        from_the_yard(one, act)
        keys = [
            visit(one, act, place(one, act, name, north), None)
            for name, north in (("Brook House", 0.1), ("Mill Lane", 0.2))
        ]
        plans = [planned(one), planned(other)]
        both = threading.Barrier(2)
        entered, told = list[int](), list[PondroundError]()

        def go(book: Book, plan: DayPlan) -> None:
            both.wait(10)
            try:
                entered.append(enter(book, act, plan))
            except PondroundError as trouble:
                told.append(trouble)

        threads = [
            threading.Thread(target=go, args=pair) for pair in zip((one, other), plans, strict=True)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
        assert entered == [2]
        assert [type(trouble) for trouble in told] == [ChangedMeanwhile]
        hours = {stop.errand.key: stop.begins for stop in plans[0].rounds[0].stops}
        for key in keys:
            at = visiting(other, key).at_time
            assert at is not None
            assert 60 * at.hour + at.minute == hours[key]
            assert visiting(other, key).rev == 2

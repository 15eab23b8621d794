"""A week out of the book, on both databases: who works, who gets in, what is due and booked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import func, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import book_visit, wish_of
from store.errors import BadInput
from store.rounds.kept.days.week import RESTS_ON, week_asked, week_plan
from store.rounds.solving.problem import INFECTED
from store.rounds.week.plan import plan_week
from store.rounds.week.values import Limit, WeekAsked, WeekPlan, WeekWish
from tests.book.entries import NOW
from tests.diary.hand_entries import promised
from tests.diary.practice_round import MONDAY, Garden, garden, person
from tests.rounds.standing_ponds import FLUKES, looked

DAY = timedelta(days=1)
WEEK = WeekWish(MONDAY)
HERE = {"latitude": 51.5, "longitude": -0.1}


@pytest.fixture
def practice(book: Book, act: Act) -> Book:
    """One vet who works from Monday to Friday, eight to five, from a place that is known."""
    with book.writing(act) as writing:
        set_hours(writing, act.by, "Mon-Fri 8-17", MONDAY - 30 * DAY, start_place="the surgery",
                  start_latitude=51.5, start_longitude=-0.12)  # fmt: skip
    return book


def place(book: Book, act: Act, name: str, north: float = 0.0, **site: Any) -> Garden:
    """A garden so many hundredths of a degree to the north, 1.1 km each."""
    return garden(book, act, name, latitude=51.5 + north / 100, longitude=-0.1, **site)


def due(book: Book, act: Act, at: Garden, day: date, kind: str = "look_again", **more: Any) -> UUID:
    then = Act(act.by, act.at - 60 * DAY)
    key: UUID = promised(book, then, at.pond, kind=kind, says=f"Look {day}", first_on=day, **more)
    return key


def book_it(
    book: Book, act: Act, at: Garden, day: date, hour: time | None = time(10), **more: Any
) -> UUID:
    who = more.pop("who", act.by)
    with book.writing(act) as writing:
        return book_visit(writing, wish_of(book, pond_id=at.pond), day, hour, who, **more)


def at_site(plan: WeekPlan, at: Garden) -> list[date]:
    return [line.day for line in plan.lines if line.errand.site_id == at.site]


def limit_of(asked: WeekAsked, at: Garden) -> Limit:
    (key,) = [one.key for one in asked.errands if one.site_id == at.site]
    return asked.limits[key]


def rows(book: Book) -> Iterator[int]:
    with book.reading() as connection:
        for name in ("change", "visit", "visit_purpose", "booking"):
            yield connection.execute(select(func.count()).select_from(table(name))).scalar_one()


def test_due_and_booked_visits_are_spread_and_nothing_is_written(practice: Book, act: Act) -> None:
    booked = place(practice, act, "Mill", 30)
    near, far = place(practice, act, "Near Mill", 28), place(practice, act, "South", -7)
    key = book_it(practice, act, booked, MONDAY + 2 * DAY)
    due(practice, act, near, MONDAY + DAY)
    due(practice, act, far, MONDAY + 3 * DAY)
    before = list(rows(practice))
    plan = week_plan(practice, WEEK, NOW)
    assert list(rows(practice)) == before
    assert at_site(plan, booked) == at_site(plan, near) == [MONDAY + 2 * DAY]
    (there,) = at_site(plan, far)
    assert (
        MONDAY + 2 * DAY <= there <= MONDAY + 4 * DAY
    )  # from a day early on, while somebody works
    (line,) = [one for one in plan.lines if one.errand.booked]
    assert line.errand.key == key
    assert abs(line.stop.begins - 600) <= 15
    other = next(one for one in plan.lines if one.errand.site_id == near.site)
    assert other.errand.phone == "0300 555 0101"
    assert other.errand.purposes[0].says == f"Look {MONDAY + DAY}"
    assert other.late_days == -2
    assert other.errand.kind == "examination"
    assert plan.asked.rests_on == RESTS_ON


def test_what_is_late_bears_its_tolerance_and_comes_first(practice: Book, act: Act) -> None:
    late, soon = place(practice, act, "Late", 20), place(practice, act, "Soon", 3)
    key = place(practice, act, "Friday Mill", 21)
    book_it(practice, act, key, MONDAY + 4 * DAY)
    due(practice, act, late, MONDAY - 9 * DAY)
    due(practice, act, soon, MONDAY + DAY)
    asked = week_asked(practice, WEEK, NOW)
    limit = limit_of(asked, late)
    # Its window closed on 10 March; 3 days of lateness weigh as much again, from Saturday 14th on.
    assert (limit.last_on, limit.until) == (MONDAY - 6 * DAY, MONDAY + DAY)
    assert "its window closed on 10 Mar 2026; to 17 Mar 2026 it is borne" in limit.said
    assert limit_of(asked, soon).until == limit_of(asked, soon).last_on == MONDAY + 4 * DAY
    plan = plan_week(asked)
    (day,) = at_site(plan, late)
    assert day <= MONDAY + DAY
    (line,) = [one for one in plan.lines if one.errand.site_id == late.site]
    assert line.late_days == (day - (MONDAY - 6 * DAY)).days
    assert not line.widened


def test_hours_of_access_hold_on_each_weekday(practice: Book, act: Act) -> None:
    only = place(practice, act, "Thursdays", 5, access_hours="Thu 14:00-16:00")
    never = place(practice, act, "Sundays", 5, access_hours="Sun only")
    for one in (only, never):
        due(practice, act, one, MONDAY + 2 * DAY)
    plan = week_plan(practice, WEEK, NOW)
    assert at_site(plan, only) == [MONDAY + 3 * DAY]
    (line,) = plan.lines
    assert 840 <= line.stop.begins <= line.stop.ends <= 960
    (left,) = plan.left_out
    assert left.says.startswith("Sundays, Lower pond: one does not get in on a working day from ")
    assert left.says.endswith("(“Sun only”).")


def test_leave_holidays_and_days_off_are_kept(practice: Book, act: Act) -> None:
    """17 March is a public holiday in Ireland; on Monday and from Thursday on the vet is away."""
    one, there = place(practice, act, "Mill", 5), place(practice, act, "Booked", 9)
    with practice.writing(act) as writing:
        set_holiday_region(writing, "IE")
        add_day_off(writing, act.by, MONDAY, MONDAY, says="a course")
        add_day_off(writing, act.by, MONDAY + 3 * DAY, MONDAY + 6 * DAY)
    due(practice, act, one, MONDAY)
    plan = week_plan(practice, WEEK, NOW)
    assert at_site(plan, one) == [MONDAY + 2 * DAY]
    said = " ".join(plan.remarks)
    assert "Tue 17 Mar 2026 is a public holiday: " in said
    assert "is away on 16 Mar 2026: a course" in said
    assert plan.asked.holidays.keys() == {MONDAY + DAY}
    # What is booked on the holiday stays there, and nothing is put beside it.
    book_it(practice, act, there, MONDAY + DAY, in_spite="the owner is at home only then")
    plan = week_plan(practice, WEEK, NOW)
    assert at_site(plan, there) == [MONDAY + DAY]
    assert at_site(plan, one) == [MONDAY + 2 * DAY]


def test_a_day_on_which_one_only_goes_for_what_is_booked_gets_nothing_more(
    practice: Book, act: Act
) -> None:
    """On Saturday nobody works, but a visit was booked there all the same, with a reason."""
    saturday = MONDAY + 5 * DAY
    booked, near = place(practice, act, "Mill", 30), place(practice, act, "Near Mill", 29)
    early = place(practice, act, "Early", 3)
    book_it(practice, act, booked, saturday, in_spite="the owner is at home only then")
    book_it(practice, act, early, MONDAY + DAY, time(6, 30), in_spite="before the shop opens")
    due(practice, act, near, saturday - DAY)
    plan = week_plan(practice, WEEK, NOW)
    assert at_site(plan, booked) == [saturday]
    assert at_site(plan, early) == [MONDAY + DAY]
    assert at_site(plan, near) != [saturday]
    for line in plan.lines:
        if not line.errand.booked:
            assert 480 <= line.stop.begins <= line.stop.ends <= 1020
    assert any(
        one.startswith("Tue 17 Mar 2026, Ada Vet: Early, Lower pond at 06:30 lies outside of the")
        for one in plan.remarks
    )


def test_where_nobody_works_in_its_days_that_is_told(practice: Book, act: Act) -> None:
    one = place(practice, act, "Mill", 5)
    with practice.writing(act) as writing:
        add_day_off(writing, act.by, MONDAY, MONDAY + 9 * DAY)
    due(practice, act, one, MONDAY)
    plan = week_plan(practice, WEEK, NOW)
    assert plan.lines == ()
    assert [left.says for left in plan.left_out] == [
        "Mill, Lower pond: nobody is on the road from Mon 16 Mar 2026 to Sun 22 Mar 2026; on "
        "public holidays nothing is planned."
    ]


def test_today_only_what_is_left_of_it_is_given_away(practice: Book, act: Act) -> None:
    monday = datetime(2026, 3, 16, 15, 20, tzinfo=NOW.tzinfo)
    one = place(practice, act, "Mill", 5)
    due(practice, act, one, MONDAY - 8 * DAY)
    book_it(practice, act, place(practice, act, "Morning", 4), MONDAY, time(9))
    plan = week_plan(practice, WEEK, monday)
    for line in plan.lines:
        if line.day == MONDAY and not line.errand.booked:
            assert line.stop.begins > 15 * 60 + 20
    assert at_site(plan, one)


def test_lines_of_a_site_whose_days_meet_are_one_visit(practice: Book, act: Act) -> None:
    at = place(practice, act, "Mill", 5)
    due(practice, act, at, MONDAY + DAY)
    due(practice, act, at, MONDAY + 2 * DAY)
    due(practice, act, at, MONDAY - 20 * DAY, "visit")
    asked = week_asked(practice, WEEK, NOW)
    (one,) = asked.errands
    assert len(one.purposes) == 3
    limit = asked.limits[one.key]
    assert (limit.first_on, limit.until) == (MONDAY + DAY, MONDAY + 4 * DAY)
    assert limit.last_on == MONDAY - 13 * DAY  # the first of its windows that closed
    other = place(practice, act, "Barn", 5)
    due(practice, act, other, MONDAY - 9 * DAY)
    due(practice, act, other, MONDAY + 5 * DAY)
    asked = week_asked(practice, WEEK, NOW)
    apart = [one for one in asked.errands if one.site_id == other.site]
    assert len(apart) == len({one.key for one in apart}) == 2
    assert [len(one.purposes) for one in apart] == [1, 1]


def test_only_the_heaviest_are_spread_where_few_are_asked_for(practice: Book, act: Act) -> None:
    for nth in range(4):
        due(practice, act, place(practice, act, f"Site {nth}", nth), MONDAY - (9 + nth) * DAY)
    asked = week_asked(practice, WeekWish(MONDAY, most_due=2), NOW)
    assert [one.name for one in asked.errands] == ["Site 3, Lower pond", "Site 2, Lower pond"]
    assert (
        "2 visits of less weight are not spread, since 2 at most were asked for: Site 1 and Site 0."
        in asked.remarks
    )
    assert week_asked(practice, WeekWish(MONDAY, most_due=0), NOW).errands == ()


def test_a_booking_outside_of_its_window_is_to_be_moved_not_doubled(
    practice: Book, act: Act
) -> None:
    from store.diary.kept.due.desk import desk_list
    from store.diary.kept.visits.bookings import wish_for

    at = place(practice, act, "Mill", 5)
    due(practice, act, at, MONDAY + DAY)
    (line,) = desk_list(practice, NOW).lines
    with practice.writing(act) as writing:
        book_visit(writing, wish_for(practice, [line.promised]), MONDAY + 10 * DAY, None, act.by,
                   in_spite="not before")  # fmt: skip
    asked = week_asked(practice, WEEK, NOW)
    assert (
        "Mill: something of it is booked for Thu 26 Mar 2026, outside of its window; move that "
        "visit rather than book another." in asked.remarks
    )


def test_standings_and_people_come_from_the_book(practice: Book, act: Act) -> None:
    sick, other = place(practice, act, "Sick", 4), place(practice, act, "Well", 6)
    looked(practice, act, sick.pond, 2, FLUKES)
    for one in (sick, other):
        book_it(practice, act, one, MONDAY, None)
    bram = person(practice, act, "Bram")
    asked = week_asked(practice, WEEK, NOW)
    levels = {one.site_id: (one.level, one.disinfect_min) for one in asked.errands}
    assert levels[sick.site] == (INFECTED, 20)
    assert levels[other.site][0] == 1
    assert {who.staff_id for _nth, who in asked.vet_days} == {act.by, bram}
    plan = plan_week(asked)
    assert [line.errand.site_id for line in plan.lines] == [other.site, sick.site]
    alone = week_asked(practice, WeekWish(MONDAY, staff=(bram,)), NOW)
    assert alone.errands == ()
    assert {who.staff_id for _nth, who in alone.vet_days} == {bram}


def test_weeks_that_cannot_be_asked_for(practice: Book) -> None:
    with pytest.raises(BadInput, match="lies behind"):
        week_asked(practice, WeekWish(date(2026, 3, 13)), NOW)
    with pytest.raises(BadInput, match="5 to 7 days"):
        week_asked(practice, WeekWish(MONDAY, 9), NOW)
    with pytest.raises(BadInput, match="More than a year ahead"):
        week_asked(practice, WeekWish(date(2027, 3, 14)), NOW)
    plan = week_plan(practice, WEEK, NOW)
    assert "Nothing is due or booked in these days." in plan.remarks

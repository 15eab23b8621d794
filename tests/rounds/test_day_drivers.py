"""Who drives on a day: hours, breaks, leave, where a round begins and ends."""

from __future__ import annotations

from datetime import date, time

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.way_home import set_way_home
from store.rounds.day.plan import plan_day
from store.travel.ways import home_end, vet_end
from tests.diary.practice_round import WEDNESDAY, person
from tests.rounds.book_days import DAY, FIRST, asked, hours, place, says, visit


def test_a_driver_has_hours_break_and_place(book: Book, act: Act) -> None:
    hours(book, act, "Mon-Fri 9-17", break_min=30)
    (one,) = asked(book).drivers
    assert (one.begins, one.ends, one.break_min) == (540, 1020, 30)
    assert (one.break_from, one.break_until) == (705, 855)
    assert (one.start, one.home) == (vet_end(act.by), vet_end(act.by))
    assert (one.start_said, one.home_said) == ("the yard", "the yard")
    assert any("a break of 30 min that begins from 11:45 to 14:15" in said for said in one.remarks)


def test_two_spells_become_a_break_of_exactly_the_gap(sqlite_book: Book, act: Act) -> None:
    hours(sqlite_book, act, "Mon-Fri 8-12, 14-18", break_min=30)
    (one,) = asked(sqlite_book).drivers
    assert (one.begins, one.ends) == (480, 1080)
    assert (one.break_min, one.break_from, one.break_until) == (120, 720, 720)


def test_leave_in_the_middle_is_a_break_and_leave_through_the_day_no_driver(
    sqlite_book: Book, act: Act
) -> None:
    hours(sqlite_book, act, "Mon-Fri 8-17")
    with sqlite_book.writing(act) as writing:
        add_day_off(
            writing, act.by, WEDNESDAY, WEDNESDAY, from_time=time(10), until_time=time(13),
            says="dentist",
        )  # fmt: skip
        add_day_off(writing, act.by, WEDNESDAY + DAY, WEDNESDAY + DAY, says="holiday")
    (one,) = asked(sqlite_book).drivers
    assert (one.break_from, one.break_until, one.break_min) == (600, 600, 180)
    assert any("dentist" in said and "is left" in said for said in one.remarks)
    found = asked(sqlite_book, WEDNESDAY + DAY)
    assert found.drivers == ()
    assert says(found, "Ada Vet is away on 19 Mar 2026: holiday.")


def test_two_gaps_hold_one_break_and_the_other_is_told(sqlite_book: Book, act: Act) -> None:
    hours(sqlite_book, act, "Mon-Fri 8-10, 11-13, 15-18")
    found = asked(sqlite_book)
    assert (found.drivers[0].break_from, found.drivers[0].break_min) == (780, 120)
    assert says(found, "Ada Vet is also off 10:00 to 11:00")


def test_usual_hours_are_told_and_so_is_a_day_off(sqlite_book: Book, act: Act) -> None:
    assert says(asked(sqlite_book), "No working hours are entered for Ada Vet")
    sunday = asked(sqlite_book, date(2026, 3, 22))
    assert sunday.drivers == ()
    assert says(sunday, "Ada Vet does not work on Sundays; no working hours are entered")


def test_only_those_who_are_asked_for_with_their_own_visits(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    bram = person(book, act, "Bram Vet")
    hours(book, act, "Mon-Fri 8-17")
    hours(book, act, "Mon-Fri 8-17", bram)
    mine = visit(book, act, place(book, act), time(10))
    visit(book, act, place(book, act, "Mill Lane"), time(10), who=bram)
    nobody = visit(book, act, place(book, act, "Reed Cottage"), None, who=None)
    found = asked(book, staff=(act.by,))
    assert [one.who for one in found.drivers] == ["Ada Vet"]
    assert {one.key for one in found.errands} == {mine, nobody}
    assert says(found, "1 visit of Bram Vet on this day: not in this plan.")
    assert len(asked(book).drivers) == 2


def test_who_is_no_vet_drives_only_with_visits(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    desk = person(book, act, "Cleo Desk", "receptionist")
    hours(book, act, "Mon-Fri 8-17", desk)
    assert [one.who for one in asked(book).drivers] == ["Ada Vet"]
    visit(book, act, place(book, act), time(10), who=desk, kind="water test")
    found = asked(book)
    assert [(one.who, one.is_vet) for one in found.drivers] == [
        ("Ada Vet", True), ("Cleo Desk", False),
    ]  # fmt: skip


def test_the_way_home_may_lead_elsewhere(book: Book, act: Act) -> None:
    hours(book, act, "Mon-Fri 8-17")
    visit(book, act, place(book, act), time(10))
    with book.writing(act) as writing:
        set_way_home(writing, act.by, "the harbour", FIRST, latitude=52.2, longitude=0.1)
    found = asked(book)
    (one,) = found.drivers
    assert (one.home, one.home_said) == (home_end(act.by), "the harbour")
    plan = plan_day(found)
    assert plan.rounds[0].way_home is not None
    assert plan.rounds[0].way_home.basis == "reckoned"


def test_a_start_or_end_without_a_place_is_told(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    visit(book, act, place(book, act), time(10))
    with book.writing(act) as writing:
        set_way_home(writing, act.by, "the harbour", FIRST)
    found = asked(book)
    assert says(found, "Where Ada Vet's start lies is not known")
    assert says(found, "Where the end of Ada Vet's day lies is not known")
    assert not plan_day(found).left_out


def test_what_was_booked_outside_of_the_hours_stretches_them(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 9-17")
    visit(book, act, place(book, act), time(18), in_spite="the owner works until six")
    found = asked(book)
    assert found.drivers[0].ends > 19 * 60
    assert says(found, "at 18:00 lies outside of the working hours, with a reason")
    assert not plan_day(found).left_out
    sunday = date(2026, 3, 22)
    visit(book, act, place(book, act, "Mill Lane"), time(11), day=sunday, in_spite="gasping fish")
    found = asked(book, sunday)
    assert says(found, "Ada Vet does not work on Sundays. What was booked all the same is planned.")
    assert not plan_day(found).left_out


def test_the_drive_home_from_a_visit_at_the_end_of_the_hours_is_reckoned_with(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 9-17")
    visit(book, act, place(book, act), time(16), in_spite="as asked")
    found = asked(book)
    assert says(
        found, "Ada Vet: The drive to or from Brook House, Lower pond at 16:00 lies outside"
    )
    plan = plan_day(found)
    assert not plan.left_out
    assert plan.rounds[0].back > 17 * 60
    assert asked(book, agreed="free").drivers[0].ends == 17 * 60


def test_who_is_away_for_a_part_of_the_day_is_not_called_back(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 9-17")
    visit(book, act, place(book, act), time(16), in_spite="as asked")
    with book.writing(act) as writing:
        add_day_off(writing, act.by, WEDNESDAY, WEDNESDAY, from_time=time(15), says="ill")
    found = asked(book)
    assert found.drivers[0].ends == 15 * 60
    assert [one.why for one in plan_day(found).left_out] == ["alone"]


def test_a_change_of_the_clock_in_working_hours_is_told(sqlite_book: Book, act: Act) -> None:
    hours(sqlite_book, act, "daily 0-9")
    assert says(asked(sqlite_book, date(2026, 3, 29)), "The clock goes forward on this day")
    assert says(asked(sqlite_book, date(2026, 10, 25)), "The clock goes back on this day")
    assert not says(asked(sqlite_book, date(2026, 3, 28)), "The clock goes")

"""All that a day is planned from: which visits, what is due, what is not known."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.due.desk import desk_list
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.visits.bookings import book_visit, finish_visit
from store.diary.kept.visits.diary import visiting
from store.diary.kept.visits.wishes import wish_for
from store.exams.values import Found
from store.rounds.day.plan import plan_day
from store.rounds.solving.problem import MUST_COST, Window
from store.travel.drive_times import set_drive_time
from store.travel.ways import site_end, vet_end
from tests.book.entries import NOW
from tests.diary.desk_entries import sample
from tests.diary.hand_entries import promised
from tests.diary.practice_round import MONDAY, WEDNESDAY, garden
from tests.rounds.book_days import DAY, asked, hours, place, says, visit
from tests.rounds.standing_ponds import FLUKES, looked

KHV = Found("khv", score=2)


# --- visits ---------------------------------------------------------------------------------------


def test_a_visit_with_its_access_standing_and_telephone(book: Book, act: Act) -> None:
    at = place(book, act, access_hours="Mon-Fri 9-12")
    looked(book, act, at.pond, 3, FLUKES)
    key = visit(book, act, at, time(10))
    (one,) = asked(book).errands
    assert (one.key, one.site_id, one.pond_ids, one.name) == (
        key, at.site, (at.pond,), "Brook House, Lower pond",
    )  # fmt: skip
    assert one.windows == (Window(540, 720),)
    assert one.hours_said == "09:00 to 12:00 (“Mon-Fri 9-12”)"
    assert (one.level, one.standing, one.disinfect_min) == (2, "infected", 20)
    assert one.standing_said.startswith("infected: Lower pond, gill flukes found on 11 Mar 2026")
    assert (one.skip_cost, one.phone, one.booked) == (MUST_COST, "0300 555 0101", True)


@pytest.mark.parametrize(
    ("typed", "windows", "said"),
    [
        ("", (Window(480, 1140),), "No hours of access are stated for Brook House, Lower pond"),
        ("ring first", (Window(0, 1440),), "“ring first” was not understood: no limit is taken."),
        ("Mon-Fri 9-12 in term", (Window(540, 720),), "“in term” was not understood."),
        ("Sat 9-12", (), ""),
        ("any time", (Window(0, 1440),), ""),
    ],
)
def test_hours_of_access_and_what_is_not_known_of_them(
    sqlite_book: Book, act: Act, typed: str, windows: tuple[Window, ...], said: str
) -> None:
    hours(sqlite_book, act, "Mon-Fri 8-17")
    visit(sqlite_book, act, place(sqlite_book, act, access_hours=typed), None, in_spite="as asked")
    found = asked(sqlite_book)
    assert found.errands[0].windows == windows
    assert says(found, said) if said else not says(found, "access")


def test_hours_of_access_matter_less_where_an_hour_was_agreed(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 8-17")
    visit(book, act, place(book, act), time(10))
    assert not says(asked(book), "No hours of access")
    assert says(asked(book, agreed="free"), "No hours of access")
    shut = place(book, act, "Mill Lane", access_hours="Mon-Fri 14-16")
    visit(book, act, shut, time(12), in_spite="the owner is there")
    assert says(
        asked(book),
        "Mill Lane, Lower pond is agreed at 12:00, outside of its hours of access, 14:00 to 16:00 (“Mon-Fri 14-16”)",
    )


def test_a_public_holiday_is_told_and_on_a_day_off_nothing_is_added(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    with book.writing(act) as writing:
        set_holiday_region(writing, "IE")
    tuesday, sunday = date(2026, 3, 17), date(2026, 3, 22)
    assert says(asked(book, tuesday), "17 Mar 2026 is a public holiday: ")
    at = place(book, act, north=0.05)
    promised(book, act, at.pond, kind="look_again", says="look again", first_on=sunday)
    found = asked(book, sunday)
    assert (found.drivers, found.errands) == ((), ())


def test_what_was_done_already_is_told_and_not_planned(sqlite_book: Book, act: Act) -> None:
    hours(sqlite_book, act, "daily 0-24")
    today = NOW.date()
    key = visit(sqlite_book, act, place(sqlite_book, act), time(8), day=today)
    with sqlite_book.writing(Act(act.by, NOW + timedelta(hours=4))) as writing:
        finish_visit(writing, key, visiting(sqlite_book, key).rev)
    found = asked(sqlite_book, today, NOW + timedelta(hours=4))
    assert found.errands == ()
    assert says(found, "Brook House, Lower pond was visited already.")


def test_what_is_not_to_be_in_it_is_left_out(sqlite_book: Book, act: Act) -> None:
    key = visit(sqlite_book, act, place(sqlite_book, act), time(10))
    found = asked(sqlite_book, left=frozenset({key}))
    assert found.errands == ()
    assert says(found, "Left out as was asked: Brook House, Lower pond.")


def test_a_place_that_is_not_known_is_told_and_planned(sqlite_book: Book, act: Act) -> None:
    hours(sqlite_book, act, "Mon-Fri 8-17")
    visit(sqlite_book, act, garden(sqlite_book, act, "Brook House"), time(10))
    found = asked(sqlite_book)
    assert says(found, "Where Brook House, Garden lies is not known")
    assert not plan_day(found).left_out
    assert found.light is not None  # the yard is known


def test_dawn_is_wished_for_where_oxygen_is_the_concern(sqlite_book: Book, act: Act) -> None:
    at = place(sqlite_book, act)
    sample(sqlite_book, act, at.pond, NOW - DAY, "12C pH 7.6 TAN 0.05 NO2 0.02 KH 7 DO 4.1 Cl 120")
    visit(sqlite_book, act, at, None)
    (one,) = asked(sqlite_book, add_due=0).errands
    assert one.slot == "dawn"
    assert "Read the oxygen at dawn" in one.slot_said


def test_the_practices_own_drives_are_taken(book: Book, act: Act) -> None:
    at = place(book, act)
    visit(book, act, at, time(10))
    with book.writing(act) as writing:
        set_drive_time(writing, vet_end(act.by), site_end(at.site), 7.0, source="driven")
    way = plan_day(asked(book)).rounds[0].stops[0].way
    assert (way.minutes, way.basis) == (7, "table")


# --- the day itself -------------------------------------------------------------------------------


def test_today_says_what_hour_it_is_and_a_day_behind_adds_nothing(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    hours(book, act, "daily 6-17")
    at = place(book, act)
    today = NOW.date()
    visit(book, act, at, time(10), day=today)
    assert says(asked(book, today), "It is 07:30 now")
    later = NOW + 3 * DAY
    assert says(asked(book, today, later), "14 Mar 2026 lies behind: it is planned as if")
    empty = asked(book, today - DAY, later)
    assert says(empty, "13 Mar 2026 lies behind and holds no planned visit")
    assert empty.errands == ()


def test_a_day_without_anything_is_a_sentence(sqlite_book: Book, act: Act) -> None:
    plan = plan_day(asked(sqlite_book))
    assert "No visit is to be planned on this day." in plan.remarks


# --- what is due ----------------------------------------------------------------------------------


def test_what_is_due_is_one_errand_a_site_with_its_worth(book: Book, act: Act) -> None:
    hours(book, act, "Mon-Fri 8-17")
    at = place(book, act, north=0.05)
    promised(book, act, at.pond, kind="look_again", says="look again", first_on=WEDNESDAY)
    promised(book, act, at.pond, kind="seasonal", says="test", first_on=WEDNESDAY)
    (one,) = asked(book).errands
    assert (one.key, one.visit, one.name) == (at.site, None, "Brook House, Lower pond")
    assert (one.weight, one.skip_cost) == (6.0, 60)
    assert one.worth_said == "weight 6 × 10 min = worth 60 min of driving"
    assert {each.says for each in one.purposes} == {"look again", "test"}
    assert [len(each.stops) for each in plan_day(asked(book)).rounds] == [1]
    assert asked(book, add_due=0).errands == ()
    assert asked(book, left=frozenset({at.site})).errands == ()


def test_what_is_booked_in_its_window_or_not_open_yet_is_not_due(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    at = place(book, act, north=0.05)
    promised(book, act, at.pond, kind="look_again", says="look again", first_on=WEDNESDAY + 9 * DAY)
    assert asked(book).errands == ()
    other = place(book, act, "Mill Lane", 0.06)
    promised(book, act, other.pond, kind="look_again", says="look", first_on=WEDNESDAY)
    visit(book, act, other, time(10), day=WEDNESDAY + DAY)
    assert asked(book).errands == ()


def test_what_is_booked_too_late_is_not_booked_once_more(sqlite_book: Book, act: Act) -> None:
    """Its window is closed when it is visited: due all the same, and one visit keeps it."""
    book = sqlite_book
    hours(book, act, "Mon-Fri 8-17")
    at = place(book, act, north=0.05)
    long_ago = Act(act.by, NOW - 41 * DAY)
    promised(book, long_ago, at.pond, kind="look_again", says="look again",
             first_on=NOW.date() - 40 * DAY)  # fmt: skip
    (line,) = desk_list(book, NOW, ahead_days=9).lines
    assert [one.booked for one in asked(book).errands] == [False]
    with book.writing(act) as writing:
        wish = wish_for(book, [line.promised])
        key = book_visit(writing, wish, WEDNESDAY, time(10), act.by, in_spite="none was free")
    assert [one.key for one in asked(book).errands] == [key]
    assert not says(asked(book), "booked for a later day")
    found = asked(book, WEDNESDAY - DAY)
    assert found.errands == ()
    assert says(found, "Due, but booked for a later day, when its window is closed: Brook House.")
    assert asked(book, WEDNESDAY + DAY).errands == ()


def test_only_so_many_the_heaviest_first_and_what_is_held_comes_anyway(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 8-17")
    sites = []
    for nth, kinds in enumerate((["seasonal"], ["look_again"], ["look_again", "seasonal"])):
        at = place(book, act, f"Site {nth}", 0.02 + nth / 1000)
        for kind in kinds:
            promised(book, act, at.pond, kind=kind, says=kind, first_on=WEDNESDAY)
        sites.append(at.site)
    assert [one.key for one in asked(book, add_due=2).errands] == [sites[2], sites[1]]
    held = asked(book, add_due=1, held=frozenset({sites[0]}))
    assert [one.key for one in held.errands] == [sites[0], sites[2]]
    none = asked(book, add_due=0, held=frozenset({sites[0]}))
    assert [one.key for one in none.errands] == [sites[0]]
    other = place(book, act, "Reed Cottage", 0.05)
    gone = asked(book, held=frozenset({other.site}))
    assert says(gone, "neither due nor booked on this day: Reed Cottage.")


def test_what_is_too_far_shut_or_suspect_is_left_aside_and_told(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 8-17")
    for name, north, more in (
        ("Far", 2.0, {}), ("Shut", 0.01, {"access_hours": "Sat 9-12"}), ("Suspect", 0.01, {}),
    ):  # fmt: skip
        at = place(book, act, name, north, **more)
        promised(book, act, at.pond, kind="seasonal", says="test", first_on=WEDNESDAY)
        if name == "Suspect":
            looked(book, act, at.pond, 3, KHV)
    found = asked(book)
    assert found.errands == ()
    assert says(found, "longer than it is worth: Far.")
    assert says(found, "does not get in on this weekday: Shut.")
    assert says(found, "suspect of a notifiable disease and not added to other visits: Suspect.")


def test_the_same_asked_twice_is_the_same_plan(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    hours(book, act, "Mon-Fri 8-17", break_min=30)
    for nth in range(5):
        visit(book, act, place(book, act, f"Site {nth}", 0.03 * nth), None, day=MONDAY)
    first, second = plan_day(asked(book, MONDAY)), plan_day(asked(book, MONDAY))
    assert first.rounds == second.rounds
    assert first.remarks == second.remarks

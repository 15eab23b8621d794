"""Bookings out of the book keep clean sites before sick ones, and drives by the practice's table."""

from __future__ import annotations

from datetime import date, time
from uuid import UUID, uuid4

import pytest
from standing_ponds import FLUKES, looked, own

from store.book.act import Act
from store.book.book import Book
from store.diary.booking.values import Wish
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.roster.way_home import set_way_home
from store.diary.kept.visits.bookings import (
    book_visit,
    cancel_visit,
    marks,
    move_visit,
    objections,
    propose,
)
from store.errors import BadInput
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.stood import sites_on, stood, stood_on
from store.travel.drive_times import set_drive_time
from store.travel.ways import site_end, vet_end
from tests.book.entries import NOW

WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 3, day) for day in (18, 19, 20))


def wish(site: UUID, minutes: int = 60) -> Wish:
    return Wish(site, None, "examination", minutes)


def two_sites(book: Book, act: Act) -> tuple[UUID, UUID]:
    """A clean one and an infected one."""
    clean, clean_pond = own(book, act, "Brook House")
    sick, sick_pond = own(book, act, "Hill Farm")
    looked(book, act, clean_pond, 20)
    looked(book, act, sick_pond, 5, FLUKES)
    return clean, sick


def test_a_standing_is_that_of_the_rounds(book: Book, act: Act) -> None:
    clean, sick = two_sites(book, act)
    found, every = stood(book, NOW, [clean, sick, uuid4()]), site_standings(book, NOW)
    assert set(found) == {clean, sick}
    assert [found[one].level for one in (clean, sick)] == [0, 2]
    assert [found[one].word for one in (clean, sick)] == ["clean", "infected"]
    for key, one in found.items():
        assert (one.said, one.disinfect_min) == (every[key].said, every[key].disinfect_min)
    assert stood(book, NOW, []) == {}


def test_the_sites_of_a_day_are_those_of_its_visits(book: Book, act: Act) -> None:
    clean, sick = two_sites(book, act)
    with book.writing(act) as writing:
        key = book_visit(writing, wish(sick), WEDNESDAY, time(10), act.by)
    assert sites_on(book, WEDNESDAY, WEDNESDAY) == {sick}
    assert sites_on(book, THURSDAY, FRIDAY) == frozenset()
    assert set(stood_on(book, NOW, WEDNESDAY, WEDNESDAY, clean)) == {clean, sick}
    assert set(stood_on(book, NOW, THURSDAY, THURSDAY, clean)) == {clean}
    with book.writing(act) as writing:
        cancel_visit(writing, key, 1, "rain")
    assert sites_on(book, WEDNESDAY, WEDNESDAY) == frozenset()


def test_a_clean_pond_behind_a_sick_one_is_told_refused_and_booked_with_a_reason(
    book: Book, act: Act
) -> None:
    clean, sick = two_sites(book, act)
    with book.writing(act) as writing:
        first = book_visit(writing, wish(sick), WEDNESDAY, time(10), act.by)
    sites = stood_on(book, NOW, WEDNESDAY, WEDNESDAY, clean)
    asked = (wish(clean), WEDNESDAY, time(13), act.by)
    assert objections(book, *asked, NOW) == (), "nobody asked for the order"
    (one,) = objections(book, *asked, NOW, standings=sites)
    assert (one.code, one.bars) == ("order", "reason")
    assert "Hill Farm, Garden at 10:00 is infected: Lower pond, " in one.says
    assert "an hour before 10:00, or another day" in one.says
    with (
        pytest.raises(BadInput, match="say why it goes all the same"),
        book.writing(act) as writing,
    ):
        book_visit(writing, *asked, standings=sites)
    with pytest.raises(BadInput, match="came up since"), book.writing(act) as writing:
        book_visit(writing, *asked, in_spite="x", answered=(), standings=sites)
    with book.writing(act) as writing:
        key = book_visit(writing, *asked, in_spite="own boots", answered=(one,), standings=sites)
    early = objections(book, wish(clean), WEDNESDAY, time(8), act.by, NOW, visit_id=key,
                       standings=sites)  # fmt: skip
    assert [each.code for each in early] == ["hours"], "before it nothing but the hour is wrong"
    with pytest.raises(BadInput, match="clean goes before infected"), book.writing(act) as writing:
        move_visit(writing, first, 1, WEDNESDAY, time(9), act.by, why="earlier", standings=sites)
    (known,) = [
        each
        for each in marks(book, wish(sick), THURSDAY, None, act.by, NOW, standings=sites)
        if "disinfecting" in each
    ]
    assert known.endswith("20 min of disinfecting follow the visit.")


def test_slots_keep_to_the_order(book: Book, act: Act) -> None:
    clean, sick = two_sites(book, act)
    with book.writing(act) as writing:
        set_hours(writing, act.by, "Wed-Thu 9-17", date(2026, 1, 1))
        book_visit(writing, wish(sick), WEDNESDAY, time(9), act.by)
        book_visit(writing, wish(sick), THURSDAY, time(14), act.by)
    sites = stood_on(book, NOW, WEDNESDAY, FRIDAY, clean)
    long = wish(clean, 240)
    assert {one.on_day for one in propose(book, long, NOW, count=9).slots} >= {WEDNESDAY, THURSDAY}
    kept = propose(book, long, NOW, count=9, standings=sites)
    assert WEDNESDAY not in {one.on_day for one in kept.slots}
    assert all(one.at_time < time(14) for one in kept.slots if one.on_day == THURSDAY)
    assert "Hours that break the order from clean to infected are left out." in kept.said


def test_the_practice_s_table_is_read_out_of_the_book(book: Book, act: Act) -> None:
    clean, sick = two_sites(book, act)
    with book.writing(act) as writing:
        set_drive_time(writing, site_end(sick), site_end(clean), 55, km=48.0)
        book_visit(writing, wish(sick), WEDNESDAY, time(10), act.by)
    (one,) = objections(book, wish(clean), WEDNESDAY, time(11, 30), act.by, NOW)
    assert "the drive from there takes 55 min by the practice's table" in one.says
    with pytest.raises(BadInput, match="55 min by the practice's table"):  # noqa: SIM117
        with book.writing(act) as writing:
            book_visit(writing, wish(clean), WEDNESDAY, time(11, 30), act.by)
    slots = propose(book, wish(clean), NOW, count=40).slots
    (beside,) = [each for each in slots if each.on_day == WEDNESDAY and each.at_time > time(11)][:1]
    assert (beside.added_min, beside.added_km, beside.rests_on) == (55, 48.0, "table")
    assert "adds 55 min (48 km, the practice's table) to that day's way" in beside.reasons


def test_where_a_day_ends_elsewhere_the_way_there_counts(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden", latitude=52.0, longitude=0.0)
        set_hours(writing, act.by, "Wed-Fri 9-17", date(2026, 1, 1), start_place="next door",
                  start_latitude=52.0, start_longitude=0.0)  # fmt: skip
        set_way_home(writing, act.by, "the sister's", THURSDAY, latitude=52.1, longitude=0.0)
    (late,) = objections(book, wish(site), THURSDAY, time(15, 45), act.by, NOW)
    assert "the drive home from Brook House, Garden takes about 21 min" in late.says
    assert objections(book, wish(site), WEDNESDAY, time(15, 45), act.by, NOW) == ()
    with book.writing(act) as writing:
        set_drive_time(writing, vet_end(act.by), site_end(site), 0)
    assert objections(book, wish(site), WEDNESDAY, time(9), act.by, NOW) == (), "no time at all"

"""A sheet of the practice's own drives, from the file to everything that drives by it."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.booking.slots import Slot
from store.diary.booking.values import Wish
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import book_visit, propose
from store.exchange.plain.drive_times_csv import read_drive_times, save_drive_times
from store.rounds.day.plan import plan_day
from store.rounds.day.values import DayPlan, DayWish
from store.rounds.kept.days.day import day_asked
from store.rounds.kept.sheets.sheet import day_sheet
from tests.book.entries import NOW

MONDAY = date(2026, 3, 16)
SAID = "the practice's table of 14 Mar 2026"
Sites = tuple[UUID, UUID, UUID]


@pytest.fixture
def sites(book: Book, act: Act) -> Sites:
    """Brook House and Hill Farm 0.1° of latitude apart, and Mere Farm, nobody knows where."""
    with book.writing(act) as writing:
        found = []
        for name, latitude in (("Brook House", 52.1), ("Hill Farm", 52.2), ("Mere Farm", None)):
            client = writing.add("client", name=name)
            longitude = None if latitude is None else 0.0
            found.append(
                writing.add(
                    "site", client_id=client, name="Garden", latitude=latitude, longitude=longitude
                )
            )
        set_hours(
            writing, act.by, "Mon 9-17", date(2026, 1, 1), start_place="The practice, Mill Lane",
            start_latitude=52.0, start_longitude=0.0,
        )  # fmt: skip
    return found[0], found[1], found[2]


def bring(book: Book, act: Act, folder: Path, *rows: str) -> None:
    path = folder / "drives.csv"
    path.write_text("\n".join(["from,to,minutes,km,note", *rows, ""]), encoding="utf-8")
    plan = read_drive_times(path, book)
    assert not plan.refused
    save_drive_times(book, act, plan)


def booked(book: Book, act: Act, site: UUID, hour: int) -> None:
    with book.writing(act) as writing:
        book_visit(writing, Wish(site, None, "call", 60), MONDAY, time(hour), act.by)


def slot(book: Book, site: UUID) -> Slot:
    return propose(book, Wish(site, None, "call", 60), NOW, first=MONDAY, count=1).slots[0]


def planned(book: Book) -> DayPlan:
    return plan_day(day_asked(book, DayWish(MONDAY, add_due=0), NOW))


def test_what_a_file_says_is_driven_and_told(
    book: Book, act: Act, sites: Sites, tmp_path: Path
) -> None:
    brook, hill, _mere = sites
    bring(
        book, act, tmp_path, "practice,Brook House,33,30,", '"Brook House, Garden",Hill Farm,7,4,'
    )
    booked(book, act, brook, 10)
    booked(book, act, hill, 12)
    plan = planned(book)
    (one,) = plan.rounds
    assert [(stop.way.basis, stop.way.planned_min) for stop in one.stops] == [
        ("table", 33), ("table", 7),
    ]  # fmt: skip
    assert one.way_home is not None
    assert one.way_home.basis == "reckoned", "nobody timed the way back from Hill Farm"
    sheet = day_sheet(book, plan, act.by, NOW)
    assert [stop.way for stop in sheet.stops] == [
        f"33 min, 30.0 km; {SAID}, given for the practice", f"7 min, 4.0 km; {SAID}",
    ]  # fmt: skip


def test_what_a_slot_adds_by_the_table(book: Book, act: Act, sites: Sites, tmp_path: Path) -> None:
    """Practice to Hill Farm and back 2 × 30; by Brook House 33 + 7 + 30: it adds 10 min."""
    brook, hill, _mere = sites
    rows = ("practice,Brook House,33,,", "Brook House,Hill Farm,7,,", "practice,Hill Farm,30,,")
    bring(book, act, tmp_path, *rows)
    booked(book, act, hill, 12)
    found = slot(book, brook)
    assert found.on_day == MONDAY
    assert found.added_min == 33 + 7 - 30


def test_what_a_slot_adds_where_ways_are_reckoned(book: Book, act: Act, sites: Sites) -> None:
    """0.2° are 22.2 km straight, 28.9 by road: 10 min + 23.9 km at 55 km/h, 36.08, up to 37 min.

    0.1° take 21 min (see `tests/travel`). By Brook House 21 + 21 in place of 37: it adds 5 min.
    """
    brook, hill, _mere = sites
    booked(book, act, hill, 12)
    assert slot(book, brook).added_min == 21 + 21 - 37


def test_what_a_slot_adds_where_a_place_is_not_known(book: Book, act: Act, sites: Sites) -> None:
    """Nobody knows where Mere Farm lies: no number is made up."""
    _brook, hill, mere = sites
    booked(book, act, hill, 12)
    found = slot(book, mere)
    assert found.added_min is None

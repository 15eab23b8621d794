"""The practice's own drive times, on both databases: the newest of each way is in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy.exc import IntegrityError

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.stops import stops, travel_between
from store.errors import BadInput, NotFound, PondroundError
from store.travel.drive_times import drive_table, drive_times, set_drive_time
from store.travel.ways import PRACTICE, End, site_end, vet_end
from tests.book.entries import NOW, log_of

DAY = date(2026, 3, 16)


@dataclass(frozen=True)
class Ends:
    brook: End
    mere: End
    ada: End


@pytest.fixture
def ends(book: Book, act: Act) -> Ends:
    with book.writing(act) as writing:
        client = writing.add("client", name="Ann Oak")
        brook = writing.add(
            "site", client_id=client, name="Brook House", latitude=52.1, longitude=0.0
        )
        mere = writing.add("site", client_id=client, name="Ann Oak")
    return Ends(site_end(brook), site_end(mere), vet_end(staff(book)[0].id))


def state(book: Book, act: Act, start: End, goal: End, minutes: float, **values: Any) -> UUID:
    with book.writing(act) as writing:
        return set_drive_time(writing, start, goal, minutes, **values)


def later(act: Act, minutes: int) -> Act:
    return Act(act.by, act.at + timedelta(minutes=minutes))


def test_the_newest_is_in_force_and_the_older_stays(book: Book, act: Act, ends: Ends) -> None:
    first = state(book, act, ends.ada, ends.brook, 20, km=17.5, source="driven  on a market day")
    (one,) = drive_times(book)
    assert (one.start, one.goal, one.minutes, one.km) == (ends.ada, ends.brook, 20, 17.5)
    assert one.said == "entered by Ada Vet on 14 Mar 2026: driven on a market day"
    second = state(book, later(act, 5), ends.ada, ends.brook, 15)
    (one,) = drive_times(book)
    assert (one.id, one.minutes, one.km, one.source) == (second, 15, None, "stated by hand")
    assert [change.what for change in log_of(book, first)] == ["add"]


def test_what_is_struck_brings_back_what_was_before(book: Book, act: Act, ends: Ends) -> None:
    state(book, act, ends.ada, ends.brook, 20)
    wrong = state(book, later(act, 5), ends.ada, ends.brook, 2)
    with book.writing(later(act, 6)) as writing:
        writing.strike("drive_time", wrong, "a slip of the key")
    assert [one.minutes for one in drive_times(book)] == [20]


def test_each_direction_by_itself(book: Book, act: Act, ends: Ends) -> None:
    state(book, act, ends.ada, ends.brook, 20)
    state(book, later(act, 1), PRACTICE, ends.mere, 0)
    ways = travel_between(book, [ends.ada, ends.brook, PRACTICE, ends.mere], DAY)
    assert ways.way(ends.brook, ends.ada).minutes == 20
    assert ways.way(ends.brook, ends.ada).said.endswith(", given for the way back")
    assert ways.way(ends.mere, PRACTICE).minutes == 0
    state(book, later(act, 2), ends.brook, ends.ada, 35)
    ways = travel_between(book, [ends.ada, ends.brook], DAY)
    assert ways.way(ends.brook, ends.ada).minutes == 35
    assert ways.way(ends.ada, ends.brook).minutes == 20


def test_the_table_of_the_arithmetic(book: Book, act: Act, ends: Ends) -> None:
    state(book, act, ends.mere, ends.brook, 7.5, km=3.0)
    driven = drive_table(book)[ends.mere, ends.brook]
    assert (driven.minutes, driven.km) == (7.5, 3.0)
    assert (ends.brook, ends.mere) not in drive_table(book)


@pytest.mark.parametrize("minutes", [-1, 1441, float("nan")])
def test_minutes_out_of_bounds(book: Book, act: Act, ends: Ends, minutes: float) -> None:
    with pytest.raises(BadInput):
        state(book, act, ends.ada, ends.brook, minutes)
    assert drive_times(book) == ()


def test_what_cannot_be_a_way(book: Book, act: Act, ends: Ends) -> None:
    with pytest.raises(BadInput, match="takes no time"):
        state(book, act, ends.ada, ends.ada, 5)
    with pytest.raises(NotFound, match="no such site"):
        state(book, act, ends.ada, site_end(UUID(int=1)), 5)
    with pytest.raises(NotFound, match="no such person"):
        state(book, act, vet_end(UUID(int=1)), ends.brook, 5)
    with book.writing(act) as writing:
        writing.strike("site", ends.mere.key, "sold")  # type: ignore[arg-type]
    with pytest.raises(NotFound):
        state(book, act, ends.ada, ends.mere, 5)
    assert drive_times(book) == ()


def test_the_database_keeps_an_end_whole(book: Book, act: Act, ends: Ends) -> None:
    """A site without its key, or the practice with one, is refused by the table itself."""
    good = {
        "from_kind": "practice", "to_kind": "site", "to_site_id": ends.brook.key, "minutes": 5,
        "source": "x",
    }  # fmt: skip
    for bad in (
        {"from_kind": "site"}, {"from_site_id": ends.mere.key}, {"to_kind": "vet"},
        {"to_staff_id": ends.ada.key},
    ):  # fmt: skip
        with pytest.raises((PondroundError, IntegrityError)), book.writing(act) as writing:
            writing.add("drive_time", **(good | bad))
    assert drive_times(book) == ()


def test_stops_have_names_and_places(book: Book, act: Act, ends: Ends) -> None:
    with book.writing(act) as writing:
        set_hours(
            writing, act.by, "Mon-Fri 9-17", NOW.date(), start_place="4 Mill Lane",
            start_latitude=52.0, start_longitude=0.0,
        )  # fmt: skip
    found = stops(book, [ends.ada, ends.brook, ends.mere, PRACTICE, ends.brook], DAY)
    assert [one.name for one in found] == [
        "Ada Vet's start (4 Mill Lane)", "Ann Oak, Brook House", "Ann Oak", "Test practice",
    ]  # fmt: skip
    assert [one.place is None for one in found] == [False, False, True, True]
    ways = travel_between(book, [ends.ada, ends.brook, ends.mere], DAY)
    assert ways.way(ends.ada, ends.brook).said == "reckoned: 11.1 km straight × 1.3 at 43 km/h"
    assert ways.way(ends.ada, ends.mere).minutes is None
    assert len(ways.remarks) == 1


def test_who_has_no_start_on_the_day_has_no_place(book: Book, act: Act, ends: Ends) -> None:
    (one,) = stops(book, [ends.ada], DAY)
    assert (one.name, one.place) == ("Ada Vet's start", None)


def test_a_stop_that_is_not_there(book: Book, ends: Ends) -> None:
    for end in (site_end(UUID(int=1)), vet_end(UUID(int=1))):
        with pytest.raises(NotFound):
            stops(book, [ends.brook, end], DAY)

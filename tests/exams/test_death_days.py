"""Dead fish by the day, as the page of a pond lists them."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.exams.death_days import DeathDay, death_days
from store.exams.deaths import NewDeaths, correct_deaths, deaths_of, record_deaths
from tests.book.entries import NOW, add_pond

TODAY = NOW.date()
D = timedelta(days=1)


def enter(book: Book, act: Act, pond: UUID, ago: int, dead: int, kind: str = "koi",
          signs: tuple[str, ...] = (), note: str = "") -> UUID:  # fmt: skip
    with book.writing(act) as writing:
        new = NewDeaths(TODAY - ago * D, dead, kind, signs=signs, note=note)
        key = record_deaths(writing, pond, new, sure=True).key
    assert key is not None
    return key


def days(book: Book, pond: UUID, *, struck: bool = False) -> tuple[DeathDay, ...]:
    return death_days(deaths_of(book, pond, struck=struck))


def test_the_kinds_of_a_day_add_up_and_every_sign_is_named_once(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    enter(book, act, pond, 2, 2, "koi", ("sunken_eyes",), "morning")
    enter(book, act, pond, 2, 1, "Koi", ("sunken_eyes", "gills_mottled"), "evening")
    enter(book, act, pond, 2, 1, "")
    (one,) = days(book, pond)
    assert (one.on_day, one.dead, one.beside) == (TODAY - 2 * D, 4, "morning evening")
    assert one.says.startswith("3 koi, 1 fish dead; ")
    assert one.says.casefold().count("sunken") == 1


def test_days_with_none_between_deaths_stand_in_one_line(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    for ago, dead in ((9, 0), (7, 1), (6, 0), (5, 0), (3, 0), (2, 2), (1, 0)):
        enter(book, act, pond, ago, dead)
    assert [(one.on_day, one.first, one.days, one.dead) for one in days(book, pond)] == [
        (TODAY - 1 * D, TODAY - 1 * D, 1, 0),
        (TODAY - 2 * D, TODAY - 2 * D, 1, 2),
        (TODAY - 3 * D, TODAY - 6 * D, 3, 0),
        (TODAY - 7 * D, TODAY - 7 * D, 1, 1),
        (TODAY - 9 * D, TODAY - 9 * D, 1, 0),
    ]
    assert days(book, pond)[2].says == "none found dead on 3 days"


def test_none_beside_dead_of_one_day_is_no_day_without_dead(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    enter(book, act, pond, 1, 2, "koi")
    enter(book, act, pond, 1, 0, "goldfish")
    (one,) = days(book, pond)
    assert one.says == "2 koi dead"


def test_what_was_struck_through_stands_by_itself_with_its_reason(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    key = enter(book, act, pond, 1, 5)
    with book.writing(act) as writing:
        correct_deaths(writing, key, 1, "a slip", NewDeaths(TODAY - D, 2, "koi"), sure=True)
    assert [one.dead for one in days(book, pond)] == [2]
    both = days(book, pond, struck=True)
    assert {(one.dead, one.struck, one.beside) for one in both} == {
        (2, False, ""), (5, True, "a slip"),
    }  # fmt: skip

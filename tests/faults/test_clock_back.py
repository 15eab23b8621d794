"""The clock goes back an hour, and zones change, between one writing and the next."""

from __future__ import annotations

import random
import time
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.book.practice import practice
from store.book.tables import table
from store.book.told.history import history
from store.water.water_tests import NewTest, correct_test, list_tests, save_test, strike_test
from tests.faults.hands import a_test, first_pond, reading, whole

NOW = datetime(2026, 3, 14, 11, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_a_clock_that_goes_back_refuses_nothing_and_loses_no_order(book_address: str) -> None:
    dice = random.Random(3)
    with open_book(book_address, now=NOW) as book:
        by, pond = staff(book)[0].id, first_pond(book)
        rev, keys = 1, []
        lines = []
        for nth in range(40):
            now = NOW + timedelta(seconds=nth) - (HOUR if nth % 2 else timedelta())
            act = Act(by, now)
            with book.writing(act) as writing:
                rev = writing.change("pond", pond, rev, volume_l=float(nth + 2))
            new = a_test(dice, NOW - timedelta(minutes=nth))
            keys.append(save_test(book, act, pond, new))
            lines.append(["test", str(keys[-1]), str(len(new.readings))])
        # Entered at eleven, corrected and struck by a clock that says ten.
        back = Act(by, NOW - HOUR)
        test = save_test(book, Act(by, NOW), pond, NewTest(NOW, (reading("ph", 7.0),)))
        right = correct_test(
            book, back, test, 1, NewTest(NOW, (reading("ph", 7.1),)), "typed wrongly"
        )
        strike_test(book, back, right, 1, "of another pond")
        log = history(book, "pond", pond)
        assert [line.rev for line in log] == list(range(rev, 0, -1))
        assert [line.after["volume_l"] for line in log] == [float(n) for n in range(41, 0, -1)]
        assert len(set(keys)) == len(keys)
        with book.reading() as connection:
            ids = connection.execute(select(table("change").c.id)).scalars().all()
        assert len(set(ids)) == len(ids)
    whole(book_address, lines)


def test_today_is_the_practices_day_whatever_the_machine_says(
    book_address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    late = datetime(2026, 3, 14, 23, 30, tzinfo=UTC)  # the clock of London; noon in Auckland
    with open_book(book_address, now=NOW) as book:
        by, pond = staff(book)[0].id, first_pond(book)
        try:
            for zone in ("Pacific/Auckland", "America/Los_Angeles", "UTC"):
                monkeypatch.setenv("TZ", zone)
                time.tzset()
                assert book.today(late) == date(2026, 3, 14)
                save_test(book, Act(by, late), pond, a_test(random.Random(1), late))
        finally:
            monkeypatch.delenv("TZ")
            time.tzset()
        _move(book, by, "Pacific/Auckland")
        assert book.today(late) == date(2026, 3, 15)
        save_test(book, Act(by, late), pond, a_test(random.Random(1), late))
        _move(book, by, "America/Los_Angeles")
        assert book.today(late) == date(2026, 3, 14)
        assert {one.taken_at for one in list_tests(book, pond)} == {late}, "instants do not move"
    with open_book(book_address, now=NOW) as book:
        assert book.today(late) == date(2026, 3, 14)
        assert book.zone.key == "America/Los_Angeles"
    whole(book_address, [])


def _move(book: Book, by: object, zone: str) -> None:
    found = practice(book)
    assert found is not None
    with book.writing(Act(by, NOW)) as writing:  # type: ignore[arg-type]
        writing.change("practice", found.id, found.rev, time_zone=zone)


@pytest.mark.parametrize("what", ["rule", "letterhead"])
def test_what_was_said_last_holds(sqlite_book: Book, what: str) -> None:
    from store.book.letterhead import practice_head, set_practice_head
    from store.watch.rulebook import change_rule, changes_of, published

    by = staff(sqlite_book)[0].id
    code = next(iter(published()))
    for clock, on in ((NOW, False), (NOW - HOUR, True)):
        at = sqlite_book.moment(clock)
        if what == "rule":
            change_rule(sqlite_book, Act(by, at), code, params={}, enabled=on, why="tried")
        else:
            with sqlite_book.writing(Act(by, at)) as writing:
                set_practice_head(writing, practice="P", telephone=f"{on:d}")
    if what == "rule":
        assert changes_of(sqlite_book, code)[0].enabled
    else:
        head = practice_head(sqlite_book)
        assert head is not None
        assert head.telephone == "1"

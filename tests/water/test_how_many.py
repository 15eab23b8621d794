"""How many tests a pond has, on every database the book may lie on."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.water.how_many import count_tests
from store.water.water_tests import NewTest, list_tests, save_test, strike_test


def test_tests_of_one_pond_are_counted_as_they_are_listed(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        site = writing.add("site", client_id=writing.add("client", name="Brook"), name="garden")
        pond, other = (writing.add("pond", site_id=site, name=name) for name in ("one", "two"))
    assert count_tests(book, pond) == 0
    keys = [
        save_test(book, act, pond, NewTest(act.at - timedelta(days=day), (), note="seen"))
        for day in range(7)
    ]
    save_test(book, act, other, NewTest(act.at, (), note="seen"))
    strike_test(book, act, keys[2], 1, "another pond")
    for struck in (False, True):
        listed = list_tests(book, pond, 100, struck=struck)
        assert count_tests(book, pond, struck=struck) == len(listed) == 6 + struck
    assert count_tests(book, UUID(int=1)) == 0

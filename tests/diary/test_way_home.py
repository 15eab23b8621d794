"""Where a day on the road ends, if that is not where it began."""

from __future__ import annotations

from datetime import date
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.roster.way_home import set_way_home, ways_home
from store.errors import BadInput, NotFound
from store.travel.place import Place

FIRST, LATER = date(2026, 3, 1), date(2026, 3, 10)


def test_the_newest_that_has_begun_is_in_force_and_an_empty_one_ends_it(
    book: Book, act: Act
) -> None:
    assert ways_home(book, LATER) == {}
    with book.writing(act) as writing:
        set_way_home(writing, act.by, "the harbour", FIRST, latitude=53.0, longitude=-1.7)
    with book.writing(act) as writing:
        set_way_home(writing, act.by, "  the  mill ", LATER)
    assert act.by not in ways_home(book, date(2026, 2, 28))
    harbour = ways_home(book, FIRST)[act.by]
    assert (harbour.place, harbour.at) == ("the harbour", Place(53.0, -1.7))
    mill = ways_home(book, LATER)[act.by]
    assert (mill.place, mill.at) == ("the mill", None)
    with book.writing(act) as writing:
        set_way_home(writing, act.by, "", LATER)
    assert ways_home(book, LATER) == {}
    assert ways_home(book, FIRST)[act.by] == harbour


def test_half_a_place_or_nobody_is_refused(book: Book, act: Act) -> None:
    with pytest.raises(BadInput, match="latitude and its longitude"), book.writing(act) as writing:
        set_way_home(writing, act.by, "the harbour", FIRST, latitude=53.0)
    with pytest.raises(BadInput, match="in words"), book.writing(act) as writing:
        set_way_home(writing, act.by, " ", FIRST, latitude=53.0, longitude=-1.7)
    with pytest.raises(NotFound), book.writing(act) as writing:
        set_way_home(writing, UUID(int=5), "the harbour", FIRST)
    assert ways_home(book, LATER) == {}

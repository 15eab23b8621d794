"""Whose pond a row of a foreign file is of, where one is given for the whole file."""

from __future__ import annotations

import pytest
from sheets import add_ponds

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.columns.said import Said
from store.exchange.named.ponds_asked import PondsAsked, Whose


def test_no_record_goes_to_the_pond_of_another_client(sqlite_book: Book, act: Act) -> None:
    _, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    with sqlite_book.writing(act) as writing:
        other = writing.add("client", name="Weir Cottage")
        site = writing.add("site", client_id=other, name="Garden")
        theirs = writing.add("pond", site_id=site, name="Mill pool", code="W-1")
    given = PondsAsked(sqlite_book, Said(), theirs)
    with pytest.raises(BadInput, match=r"of Brook House, and the pond given .* Weir Cottage, Mill"):
        given.of(Whose(client="Brook House"), 2)
    with pytest.raises(BadInput, match="another pond than the one given"):
        given.of(Whose(pond="Upper pond"), 3)
    assert given.of(Whose(client="weir  cottage"), 4) == theirs
    assert given.of(Whose(client="W. Cottager"), 5) == theirs, "a name that the book does not know"
    assert PondsAsked(sqlite_book, Said(), lower).of(Whose(client="Brook House"), 2) == lower
    asking = PondsAsked(sqlite_book, Said())
    assert asking.of(Whose(client="Brook House"), 2) is None
    (question,) = asking.questions
    assert [answer.value for answer in question.answers] == ["P-2", "P-1", "ignore"]

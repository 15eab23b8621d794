"""A pond of the book, found while a part of its name is typed."""

from __future__ import annotations

from store.book.act import Act
from store.book.book import Book
from tui.screens.exchange.plan_answer import ponds_like


def test_the_likeliest_pond_stands_first_since_enter_takes_it(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        for client, code in (("Abelwick Gardens", "GAR-1"), ("Wickham family", "WIC-1")):
            site = writing.add("site", client_id=writing.add("client", name=client), name="Home")
            writing.add("pond", site_id=site, name="Pond", code=code)
    # By client Abelwick comes first, and its name holds what is typed as well.
    assert [one.code for one in ponds_like(sqlite_book, "")] == ["GAR-1", "WIC-1"]
    for typed in ("wick", "WIC-1", "wic"):
        assert ponds_like(sqlite_book, typed)[0].code == "WIC-1", typed

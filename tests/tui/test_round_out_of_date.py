"""What a round rests on: what somebody else enters meanwhile makes its plan out of date."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from diary_on_screen import MONDAY, TODAY, Practice, add_practice

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import card
from store.book.writing import Writing
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.roster.way_home import set_way_home
from tui.screens.rounds.round_work import basis, changed_since


def promised(book: Book, writing: Writing, practice: Practice) -> None:
    whose = card(book, practice.bound)
    promise(
        writing, client_id=whose.client.id, kind="visit", says="look at the net", first_on=MONDAY,
        site_id=whose.site.id, pond_id=practice.bound,
    )  # fmt: skip


def home_elsewhere(_book: Book, writing: Writing, practice: Practice) -> None:
    set_way_home(writing, practice.ada, "the sister's", TODAY, latitude=52.1, longitude=0.0)


@pytest.mark.parametrize("entered", [promised, home_elsewhere])
def test_a_promise_and_another_way_home_are_told(
    sqlite_book: Book, act: Act, entered: Callable[[Book, Writing, Practice], None]
) -> None:
    practice = add_practice(sqlite_book, act)
    before = basis(sqlite_book, MONDAY)
    assert changed_since(sqlite_book, MONDAY, before) == ""
    with sqlite_book.writing(act) as writing:
        entered(sqlite_book, writing, practice)
    assert changed_since(sqlite_book, MONDAY, before)
    assert not changed_since(sqlite_book, MONDAY, basis(sqlite_book, MONDAY))

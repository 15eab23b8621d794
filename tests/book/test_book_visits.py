"""Visits: planned, done, cancelled."""

from __future__ import annotations

from datetime import date, time, timedelta
from uuid import uuid4

import pytest
from entries import add_pond

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import pond
from store.book.told.history import history
from store.book.visits import close_visit, plan_visit, visits_of
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound

TODAY = date(2026, 3, 14)


def test_a_visit_is_planned_and_done(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    with book.writing(act) as writing:
        planned = plan_visit(
            writing, key, TODAY, at_time=time(9, 30), staff_id=act.by, kind="scrape", note="gate"
        )
        later = plan_visit(writing, key, TODAY + timedelta(days=7))
    found = visits_of(book, key)
    assert [each.id for each in found] == [later, planned]
    assert (found[1].state, found[1].at_time, found[1].staff_id, found[1].site_id) == (
        "planned", time(9, 30), act.by, pond(book, key).site_id,
    )  # fmt: skip
    with book.writing(act) as writing:
        close_visit(writing, planned, 1, "done", note="2 flukes per clip")
        close_visit(writing, later, 1, "cancelled", why="frost")
    closed, done = visits_of(book, key)
    assert (done.state, done.note, done.on_day) == ("done", "gate\n2 flukes per clip", TODAY)
    assert closed.state == "cancelled"
    assert history(book, "visit", later)[0].why == "frost"


def test_a_visit_to_the_whole_site_belongs_to_each_of_its_ponds(book: Book, act: Act) -> None:
    one, other = add_pond(book, act), add_pond(book, act, name="Elsewhere")
    with book.writing(act) as writing:
        writing.add("visit", site_id=pond(book, one).site_id, on_day=TODAY)
    assert len(visits_of(book, one)) == 1
    assert visits_of(book, other) == ()


def test_a_visit_done_on_another_day(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    with book.writing(act) as writing:
        ahead = plan_visit(writing, key, TODAY + timedelta(days=2))
    with pytest.raises(BadInput, match="lies ahead"), book.writing(act) as writing:
        close_visit(writing, ahead, 1, "done")
    with book.writing(act) as writing:
        close_visit(writing, ahead, 1, "done", on_day=TODAY)
    assert visits_of(book, key)[0].on_day == TODAY


def test_what_cannot_be_planned_or_closed(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    with pytest.raises(BadInput, match="lies behind"), book.writing(act) as writing:
        plan_visit(writing, key, TODAY - timedelta(days=1))
    with pytest.raises(NotFound), book.writing(act) as writing:
        plan_visit(writing, uuid4(), TODAY)
    with book.writing(act) as writing:
        visit = plan_visit(writing, key, TODAY)
    with pytest.raises(BadInput, match="why it is cancelled"), book.writing(act) as writing:
        close_visit(writing, visit, 1, "cancelled", why=" ")
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        close_visit(writing, visit, 7, "done")
    with pytest.raises(NotFound), book.writing(act) as writing:
        close_visit(writing, uuid4(), 1, "done")
    with book.writing(act) as writing:
        close_visit(writing, visit, 1, "done")
    with pytest.raises(NotAllowed, match="done already"), book.writing(act) as writing:
        close_visit(writing, visit, 2, "cancelled", why="x")

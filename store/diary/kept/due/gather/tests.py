"""Water tests that the plans of ponds ask for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.whereabouts import Whereabouts
from store.exams.remembered import remembered
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said
from store.water.plan import Season, due_on, interval_days, read_seasons

_RESTS_ON = ("water_test", "client", "site", "pond", "practice")


def from_test_plans(book: Book, where: Whereabouts, today: date, until: date) -> Iterator[Promised]:
    """The next water test of every pond that has a plan.

    Parameters
    ----------
    book
        The practice's book.
    where
        The ponds that are wanted.
    today
        The practice's calendar day.
    until
        The last day on which a window may begin.

    Yields
    ------
    Promised
        By the season's interval; a pond that was never tested counts from the day on which it was
        entered.
    """
    if where.client_id is not None:
        yield from _asked(book, where, until)
        return
    yield from remembered(
        book, "water tests due", _RESTS_ON, until, lambda: tuple(_asked(book, where, until))
    )


def _asked(book: Book, where: Whereabouts, until: date) -> Iterator[Promised]:
    kind = follow_up_kinds()["water_test"]
    zone = book.zone
    ponds, tests = table("pond").c, table("water_test")
    newest = tests.alias("newest")
    last = (
        select(newest.c.taken_at)
        .where(newest.c.pond_id == ponds.id, newest.c.struck_at.is_(None))
        .order_by(newest.c.taken_at.desc())
        .limit(1)
        .correlate(table("pond"))
        .scalar_subquery()
    )
    query = select(
        ponds.id, ponds.test_every_days, ponds.test_seasons, ponds.created_at, last.label("last_at")
    ).where(ponds.struck_at.is_(None))  # fmt: skip
    if where.client_id is not None:
        query = query.where(ponds.id.in_(list(where.ponds)))
    with book.reading() as connection:
        rows = connection.execute(query).all()
    for row in rows:
        place = where.ponds.get(row.id)
        if place is None or not (row.test_every_days or row.test_seasons):
            continue
        seasons = read_seasons(row.test_seasons) if row.test_seasons else ()
        begun = (row.last_at or row.created_at).astimezone(zone).date()
        due = due_on(begun, row.test_every_days, seasons)
        if due is None or due - timedelta(days=kind.early_days) > until:
            continue
        every = _every(due, row.test_every_days, seasons)
        before = (
            f"The pond was entered on {day_said(begun)} and never tested."
            if row.last_at is None
            else f"The last test was on {day_said(begun)}."
        )
        yield Promised(
            about=str(About("test", row.id)),
            kind="water_test",
            client_id=place.client_id,
            site_id=place.site_id,
            pond_id=row.id,
            says="water test",
            because=f"Test plan: {every}. {before}",
            origin="test plan",
            promised_by="",
            promised_on=None,
            due_on=due,
            first_on=due - timedelta(days=kind.early_days),
            last_on=due + timedelta(days=kind.late_days),
            needs=kind.needs,
            repeats=every,
        )


def _every(due: date, every_days: int | None, seasons: Sequence[Season]) -> str:
    days = interval_days(due, every_days, seasons)
    if days == 1:
        return "every day"
    return f"every {days} days" + (" in this season" if seasons else "")

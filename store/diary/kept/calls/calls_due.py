"""What open calls promise, until their visit took place or they are closed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import columns_of, made_of
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.calls.call_values import KINDS, CallNote, RaisedStep
from store.facts.call_questions import URGENCIES, Urgency
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said


def calls_due(book: Book, today: date) -> tuple[Promised, ...]:
    """What open calls promise: one each, the most urgent first.

    Parameters
    ----------
    book
        The book.
    today
        The practice's calendar day; calls of a day ahead are left out.

    Returns
    -------
    tuple of Promised
        Named by `About("call", key)`. A call for the same day is due on its day, one for the next
        day on the day after, one without haste within the weeks that its kind allows; none begins
        before its call. One that was raised by hand counts from the day on which it was raised, and
        is never due later than before. A call whose visit is planned is given too, for the desk to
        say so; one whose visit took place, by what the visit was booked for or as the call names
        it, is done.
    """
    notes, staff = table("call_note"), table("staff")
    clients = table("client")
    query = (
        select(*columns_of(CallNote, "call_note"), staff.c.name)
        .join(staff, staff.c.id == notes.c.created_by)
        .join(clients, clients.c.id == notes.c.client_id)
        .where(notes.c.state == "open", notes.c.struck_at.is_(None), clients.c.struck_at.is_(None))
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
        done = _visited(connection) if rows else frozenset()
    zone = book.zone
    found = []
    for row in rows:
        note, by = made_of(CallNote, row[:-1]), row[-1]
        called_on = note.called_at.astimezone(zone).date()
        about = str(About("call", note.id))
        if called_on <= today and about not in done and note.visit_id not in done:
            found.append(_promised(note, about, by, called_on))
    return tuple(sorted(found, key=lambda one: (_rank(one), one.due_on, one.about)))


def _promised(note: CallNote, about: str, by: str, called_on: date) -> Promised:
    kind = follow_up_kinds()[KINDS[note.urgency]]
    due, last = call_days(note.urgency, called_on, note.raised)
    because = f"{note.caller} called on {day_said(called_on)}."
    if note.urgent_by:
        because += f" {note.urgent_by[0]}"
    assert note.client_id is not None
    return Promised(
        about=about, kind=kind.code, client_id=note.client_id, site_id=note.site_id,
        pond_id=note.pond_id, says=note.says, because=because, origin="call", promised_by=by,
        promised_on=called_on, due_on=due, first_on=called_on,
        last_on=last, needs="call" if note.short else kind.needs,
    )  # fmt: skip


def call_days(
    urgency: Urgency, called_on: date, raised: Sequence[RaisedStep] = ()
) -> tuple[date, date]:
    """The day on which a call falls due, and the last day on which it is answered in time.

    Parameters
    ----------
    urgency
        As it stands now.
    called_on
        The local day of the call.
    raised
        How it was raised by hand: each step counts from its own day.

    Examples
    --------
    >>> called = date(2026, 3, 10)
    >>> step = RaisedStep("routine", "same day", date(2026, 3, 12))
    >>> call_days("same day", called, (step,)) == (step.on, step.on)
    True
    >>> call_days("same day", called) == (called, called)
    True
    """
    stood = [(called_on, raised[0].before if raised else urgency)]
    stood += [(max(called_on, step.on), step.to) for step in raised]
    dues, lasts = [], []
    for day, each in stood:
        kind = follow_up_kinds()[KINDS[each]]
        dues.append(day + timedelta(days=kind.early_days))
        lasts.append(dues[-1] + timedelta(days=kind.late_days))
    return min(dues), min(lasts)


def _rank(one: Promised) -> int:
    return next(place for place, urgency in enumerate(URGENCIES) if KINDS[urgency] == one.kind)


def _visited(connection: Any) -> frozenset[object]:
    """Names of calls whose visit took place, and the keys of those visits."""
    purposes, visits = table("visit_purpose"), table("visit")
    query = (
        select(purposes.c.about, visits.c.id)
        .join(visits, visits.c.id == purposes.c.visit_id)
        .where(
            visits.c.state == "done", visits.c.struck_at.is_(None),
            purposes.c.struck_at.is_(None), purposes.c.about.like("call:%"),
        )
    )  # fmt: skip
    named = {about for about, _visit in connection.execute(query)}
    notes = table("call_note")
    linked = (
        select(visits.c.id)
        .join(notes, notes.c.visit_id == visits.c.id)
        .where(visits.c.state == "done", visits.c.struck_at.is_(None))
    )
    return frozenset(named | {key for (key,) in connection.execute(linked)})

"""The desk: everything that was promised and is due, late or near, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.find import find
from store.diary.desk.due import DeskList, DueLine, Promised
from store.diary.desk.weigh import desk_order, weigh
from store.diary.kept.calls.call_notes import calls_due
from store.diary.kept.due.gather.concerns import from_concerns
from store.diary.kept.due.gather.courses import from_courses
from store.diary.kept.due.gather.exams import from_findings, from_laboratory
from store.diary.kept.due.gather.planned import planned
from store.diary.kept.due.gather.rung import Rung, from_ring_backs, rung
from store.diary.kept.due.gather.tests import from_test_plans
from store.diary.kept.due.gather.whereabouts import Whereabouts, whereabouts
from store.diary.kept.promised.open_days import OpenDay, open_days
from store.errors import BadInput
from store.exams.remembered import remembered
from store.facts.follow_ups import follow_up_kinds
from store.text import joined
from store.watch.concern import MorningList

AHEAD_DAYS = 7
CLIENT_AHEAD_DAYS = 60
"""How far ahead the picture of one client looks, who is on the telephone now [d]."""
MOST_AHEAD_DAYS = 366
UNKNOWN = "visit"
"""The kind whose numbers stand in for those of a kind that is not known here."""
_HAND_RESTS_ON = ("follow_up", "follow_up_day", "client", "site", "pond", "staff")
WELL_SOUGHT = 0.85
"""From this score of the search on a line fits by the beginning of a word, or by a number [-]."""
_ALL = 1 << 30


def desk_list(
    book: Book,
    now: datetime,
    *,
    ahead_days: int = AHEAD_DAYS,
    morning: MorningList | None = None,
) -> DeskList:
    """Everything that is due, late or near, over all clients, worst first.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    ahead_days
        How far ahead it is looked for what falls due, 0 to 366 [d]; what can be done today, since
        its window is open, is shown in any case.
    morning
        The morning list of this moment where it is at hand, so that it is not reckoned twice.

    Returns
    -------
    DeskList
        What is booked within its window stands behind all that is not. `overdue`, `today_due` and
        `ahead` count what is not booked: windows that have passed, that are open today, and that
        begin later; with `booked` they add up to the lines.

    Raises
    ------
    BadInput
        A number of days that cannot be.
    """
    if not 0 <= ahead_days <= MOST_AHEAD_DAYS:
        raise BadInput(
            f"The desk looks 0 to {MOST_AHEAD_DAYS} days ahead, not {ahead_days}.",
            field="ahead_days",
        )
    today = book.today(now)
    lines = _lines(book, now, ahead_days, whereabouts(book), morning)
    return _counted(now, today, lines)


def due_of_client(
    book: Book,
    client_id: UUID,
    now: datetime,
    *,
    ahead_days: int = CLIENT_AHEAD_DAYS,
    morning: MorningList | None = None,
) -> tuple[DueLine, ...]:
    """Everything that one client was promised, worst first.

    Parameters
    ----------
    book
        The practice's book.
    client_id
        Key of the client.
    now
        The present instant, with a time zone.
    ahead_days
        As for `desk_list` [d].
    morning
        The morning list of this moment where it is at hand; else the rules look at the client's
        ponds one by one.

    Returns
    -------
    tuple of DueLine
        Empty for a client that is struck through or not in the book.
    """
    return _lines(book, now, ahead_days, whereabouts(book, client_id), morning)


def sought(book: Book, listed: DeskList, text: str) -> tuple[DueLine, ...]:
    """The lines of the desk whose client or pond fits what was typed.

    Parameters
    ----------
    book
        The practice's book.
    listed
        The desk.
    text
        Part of a name, pond, street, town or telephone number, misspelt too; empty for all.

    Returns
    -------
    tuple of DueLine
        Lines that fit by the beginning of a word or a number first, each part in the order of the
        desk.
    """
    if not text.strip():
        return listed.lines
    ponds: dict[UUID, float] = {}
    clients: dict[UUID, float] = {}
    owners: dict[UUID, float] = {}
    for one in find(book, text, limit=_ALL):  # best first
        if one.pond_id is None:
            clients[one.client_id] = one.score
        else:
            ponds[one.pond_id] = one.score
            owners.setdefault(one.client_id, one.score)
    well, fairly = [], []
    for line in listed.lines:
        promised = line.promised
        of_pond = (
            owners.get(promised.client_id, 0.0)
            if promised.pond_id is None
            else ponds.get(promised.pond_id, 0.0)
        )
        score = max(clients.get(promised.client_id, 0.0), of_pond)
        if score >= WELL_SOUGHT:
            well.append(line)
        elif score > 0.0:
            fairly.append(line)
    return (*well, *fairly)


def _promised(
    book: Book,
    now: datetime,
    today: date,
    until: date,
    where: Whereabouts,
    calls: Rung,
    morning: MorningList | None,
) -> Iterator[Promised]:
    """Everything that is promised in windows that have begun by a day, from every source."""
    yield from _by_hand(book, today, until)
    yield from calls_due(book, today)
    yield from from_ring_backs(book, where, calls, until)
    yield from from_courses(book, where, today, until)
    yield from from_findings(book, where, today, until)
    yield from from_laboratory(book, where, today, until)
    yield from from_test_plans(book, where, today, until)
    yield from from_concerns(book, where, now, morning)


def _by_hand(book: Book, today: date, until: date) -> tuple[OpenDay, ...]:
    """The open days of follow-ups, remembered until one of them is written to."""
    # As far ahead as the picture of a client looks, so that it and the desk share one reading, and
    # windows that open long before their day are seen.
    last = max(until, today + timedelta(days=CLIENT_AHEAD_DAYS))
    return remembered(
        book, "open days", _HAND_RESTS_ON, (today, last), lambda: open_days(book, today, last)
    )


def _lines(
    book: Book,
    now: datetime,
    ahead_days: int,
    where: Whereabouts,
    morning: MorningList | None,
) -> tuple[DueLine, ...]:
    today = book.today(now)
    until, calls = today + timedelta(days=ahead_days), rung(book, today)
    promised = _promised(book, now, today, until, where, calls, morning)
    return due_lines(book, now, promised, where, until)


def due_lines(
    book: Book, now: datetime, promised: Iterable[Promised], where: Whereabouts, until: date
) -> tuple[DueLine, ...]:
    """Promises as lines of the desk: weighed, with whom to ring and what is booked, worst first.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    promised
        From any source.
    where
        The places that are wanted; what is promised elsewhere is left out.
    until
        The last day; what falls due later is left out, unless its window is open today.
    """
    today, zone, kinds = book.today(now), book.zone, follow_up_kinds()
    at = now.astimezone(zone).time()
    visits, calls = planned(book, today), rung(book, today)
    lines = []
    for one in promised:
        place = where.line(one)
        if place is None or (one.due_on > until and one.first_on > today):
            continue
        attempts, last_attempt = calls.of(one.client_id)
        back = calls.back.get(one.client_id)
        ring_on, ring_at = (None, None) if back is None else (back.ring_on, back.ring_at)
        kind = kinds.get(one.kind, kinds[UNKNOWN])  # a newer program may know more kinds
        weighed = weigh(one, kind, today, at=at, ring_at=ring_at)
        booked, anyway = visits.for_promise(one)
        lines.append(
            DueLine(
                promised=one,
                client=place.client,
                site=place.site if one.site_id is not None else "",
                pond=place.pond if one.pond_id is not None else "",
                town=place.town,
                phone=place.phone,
                phone2=place.phone2,
                late_days=weighed.late_days,
                weight=weighed.weight,
                weighed=joined((weighed.weighed, anyway)),
                attempts=attempts,
                last_attempt=last_attempt,
                ring_on=ring_on,
                ring_at=ring_at,
                booked=booked,
            )
        )
    return tuple(sorted(lines, key=desk_order))


def _counted(now: datetime, today: date, lines: Iterable[DueLine]) -> DeskList:
    lines = tuple(lines)
    booked = [one for one in lines if one.booked is not None and one.booked.in_window]
    others = [one for one in lines if one.booked is None or not one.booked.in_window]
    overdue = sum(one.late_days > 0 for one in others)
    ahead = sum(one.promised.first_on > today for one in others)
    return DeskList(now, today, lines, overdue, len(others) - overdue - ahead, ahead, len(booked))

"""What the morning list says needs somebody today, beside what other lines of the desk say."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date, datetime, timedelta
from typing import get_args
from uuid import UUID
from weakref import WeakKeyDictionary

from store.book.book import Book
from store.book.tables import TableName
from store.courses.kept.morning import morning_list, watch_pond
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.whereabouts import Whereabouts, whereabouts
from store.facts.follow_ups import follow_up_kinds
from store.facts.rules import rules
from store.text import day_said
from store.watch.concern import Concern, MorningLine, MorningList
from store.watch.rulebook import rulebook

_FRESH = timedelta(minutes=15)
SAID_KINDS = frozenset({"promise", "finding", "overdue"})
"""Kinds of rule that speak of what stands on the desk in a line of its own."""


def from_concerns(
    book: Book, where: Whereabouts, now: datetime, morning: MorningList | None
) -> Iterator[Promised]:
    """The worst concern of each pond that stands at `act` and is not at rest.

    Parameters
    ----------
    book
        The practice's book.
    where
        The ponds that are wanted.
    now
        The present instant, with a time zone.
    morning
        The morning list of this moment, where it is known. Of one client it is not needed: the
        rules look at each pond, or the last desk is remembered.

    Yields
    ------
    Promised
        Without what courses, findings and test plans promise in lines of their own. Its window is
        today and tomorrow: `act` asks for somebody now.
    """
    if where.client_id is None or morning is not None:
        found = _over_all(book, now, morning)
        _KEPT[book] = (book.stamp(*_rests_on()), now, found)
    elif (kept := _remembered(book, now)) is not None:
        found = kept
    else:
        said, today = _said_elsewhere(book), book.today(now)
        found = tuple(
            one for pond in where.ponds for one in _looked_at(book, where, now, today, pond, said)
        )
    yield from (one for one in found if one.pond_id in where.ponds)


_KEPT: WeakKeyDictionary[Book, tuple[str, datetime, tuple[Promised, ...]]] = WeakKeyDictionary()
"""Thrown away without loss: what the last desk said of all ponds, for the client who rings now."""
_OF_THE_DESK: frozenset[str] = frozenset(
    {
        "follow_up", "follow_up_day", "contact_attempt", "booking", "visit_purpose", "visit_length",
        "working_hours", "day_off", "holiday_region", "call_note", "change", "book_meta",
    }
)  # fmt: skip
"""Tables that no alert rule looks at."""


def _rests_on() -> tuple[str, ...]:
    return tuple(sorted(set(get_args(TableName)) - _OF_THE_DESK))


def _remembered(book: Book, now: datetime) -> tuple[Promised, ...] | None:
    """What the last desk of this hour said, where nothing was written since that rules look at."""
    kept = _KEPT.get(book)
    if kept is None or abs(now - kept[1]) > _FRESH or book.today(now) != book.today(kept[1]):
        return None
    return kept[2] if kept[0] == book.stamp(*_rests_on()) else None


def _said_elsewhere(book: Book) -> frozenset[str]:
    return frozenset(one.code for one in rulebook(book).practice if one.kind in SAID_KINDS)


def _over_all(book: Book, now: datetime, morning: MorningList | None) -> tuple[Promised, ...]:
    where, said = whereabouts(book), _said_elsewhere(book)
    listed = morning_list(book, now) if morning is None else morning
    found: list[Promised] = []
    for line in listed.lines:
        if line.level != "act":
            break  # worst first
        if line.pond not in where.ponds:
            continue
        if line.rule not in said:
            found.append(_of_line(line, where, listed.today))
        elif line.concerns > 1:
            found.extend(_looked_at(book, where, now, listed.today, line.pond, said))
    return tuple(found)


def _looked_at(
    book: Book,
    where: Whereabouts,
    now: datetime,
    today: date,
    pond: UUID,
    said: Collection[str],
) -> Iterator[Promised]:
    """The worst concern of one pond that no other line speaks of."""
    concerns = watch_pond(book, pond, now).concerns
    acts = [one for one in concerns if one.level == "act" and one.rule not in said]
    if acts:
        yield _of_concern(acts[0], pond, where, today, len(concerns) - 1)


def _of_line(line: MorningLine, where: Whereabouts, today: date) -> Promised:
    said = _since(line.since, line.or_earlier, line.concerns - 1)
    return _promised(line.pond, line.rule, line.what, said, line.severity, where, today)


def _of_concern(one: Concern, pond: UUID, where: Whereabouts, today: date, more: int) -> Promised:
    said = _since(one.since, one.or_earlier, more)
    return _promised(pond, one.rule, one.what, said, one.severity, where, today)


def _since(since: date | None, or_earlier: bool, more: int) -> str:
    day = "" if since is None else f" since {day_said(since)}{' or earlier' if or_earlier else ''}"
    also = "" if not more else f"; {more} more concern{'s' if more > 1 else ''} at this pond"
    return f"Act on the morning list{day}{also}."


def _promised(
    pond: UUID,
    rule: str,
    what: str,
    because: str,
    severity: float,
    where: Whereabouts,
    today: date,
) -> Promised:
    kind, place = follow_up_kinds()["concern"], where.ponds[pond]
    fact = rules().get(rule)
    # Nobody but a vet says more of a notifiable disease.
    suspicion = fact is not None and fact.kind == "suspicion"
    return Promised(
        about=str(About("concern", pond, rule)),
        kind="concern",
        client_id=place.client_id,
        site_id=place.site_id,
        pond_id=pond,
        says=what,
        because=because,
        origin="alert rule",
        promised_by="",
        promised_on=None,
        due_on=today,
        first_on=today,
        last_on=today + timedelta(days=round(kind.tolerance_days)),
        needs="vet" if suspicion else kind.needs,
        severity=max(1.0, severity),
    )

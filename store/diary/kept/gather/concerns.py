"""What the morning list says needs somebody today, beside what other lines of the desk say."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.courses.kept.morning import morning_list, watch_pond
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.gather.whereabouts import Whereabouts
from store.facts.follow_ups import follow_up_kinds
from store.facts.rules import rules
from store.text import day_said
from store.watch.concern import Concern, MorningLine, MorningList
from store.watch.rulebook import rulebook

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
        The morning list of this moment, where it is known; of one client it is not needed.

    Yields
    ------
    Promised
        Without what courses, findings and test plans promise in lines of their own. Its window is
        today and tomorrow: `act` asks for somebody now.
    """
    said = frozenset(one.code for one in rulebook(book).practice if one.kind in SAID_KINDS)
    if morning is None and where.client_id is not None:
        today = book.today(now)
        for pond in where.ponds:
            yield from _looked_at(book, where, now, today, pond, said)
        return
    listed = morning_list(book, now) if morning is None else morning
    for line in listed.lines:
        if line.level != "act":
            break  # worst first
        if line.pond not in where.ponds:
            continue
        if line.rule not in said:
            yield _of_line(line, where, listed.today)
        elif line.concerns > 1:
            yield from _looked_at(book, where, now, listed.today, line.pond, said)


def _looked_at(
    book: Book,
    where: Whereabouts,
    now: datetime,
    today: date,
    pond: UUID,
    said: Collection[str],
) -> Iterator[Promised]:
    """The worst concern of one pond that no other line speaks of."""
    acts = [
        one
        for one in watch_pond(book, pond, now).concerns
        if one.level == "act" and one.rule not in said
    ]
    if acts:
        yield _of_concern(acts[0], pond, where, today, len(acts) - 1)


def _of_line(line: MorningLine, where: Whereabouts, today: date) -> Promised:
    or_earlier = " or earlier" if line.or_earlier else ""
    since = "" if line.since is None else f" since {day_said(line.since)}{or_earlier}"
    more = line.concerns - 1
    also = "" if not more else f"; {more} more concern{'s' if more > 1 else ''} at this pond"
    said = f"Act on the morning list{since}{also}."
    return _promised(line.pond, line.rule, line.what, said, line.severity, where, today)


def _of_concern(one: Concern, pond: UUID, where: Whereabouts, today: date, more: int) -> Promised:
    or_earlier = " or earlier" if one.or_earlier else ""
    since = "" if one.since is None else f" since {day_said(one.since)}{or_earlier}"
    also = "" if not more else f"; {more} more at this pond"
    said = f"Act on the morning list{since}{also}."
    return _promised(pond, one.rule, one.what, said, one.severity, where, today)


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

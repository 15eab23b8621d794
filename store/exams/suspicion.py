"""What is suspected at a pond, with the contacts that the authority will ask for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.events import events
from store.facts.dead_fish import Saying, sayings
from store.facts.hazards import hazards
from store.text import day_said
from store.watch.kinds.suspicion import suspected_by
from store.watch.look import look
from store.watch.rulebook import read_rulebook
from store.watch.suspected import Suspected

CONTACT_DAYS = 60
"""Over how many days contacts are asked for; common practice, rounded up from the 52 days of Yuasa
et al. 2008 [d]."""
_CONTACTS = {"new_fish": "fish came", "fish_removed": "fish left"}


@dataclass(frozen=True, slots=True)
class ContactLine:
    """Fish that came or left: the day, what happened, how many where that was said, the note."""

    on_day: date
    says: str
    fish: int | None
    note: str

    @property
    def said(self) -> str:
        """In one line, such as `6 fish came on 29 May 2026: from a show`."""
        many = f"{self.fish} " if self.fish is not None else ""
        return f"{many}{self.says} on {day_said(self.on_day)}" + (
            f": {self.note}" if self.note else ""
        )


@dataclass(frozen=True, slots=True)
class SuspectedHere:
    """A suspicion with its name, the sentences that stop everything, and the contacts."""

    name: str
    found: Suspected
    stop: tuple[Saying, ...]
    contacts: tuple[ContactLine, ...]

    @property
    def head(self) -> str:
        """The strongest words there are, as a suspicion."""
        if self.found.level == "act":
            return f"STOP: {self.name} is suspected"
        return f"{self.name}: something speaks for it, and not enough for a suspicion"


def suspicions(book: Book, pond_id: UUID, now: datetime) -> tuple[SuspectedHere, ...]:
    """The notifiable diseases for which something speaks at a pond, `act` first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        No such pond, or it was struck through.
    """
    with book.reading() as connection:
        caseload = look(connection, now, book.zone, pond=pond_id)
        rules = read_rulebook(connection, book.zone).of(pond_id)
    seen, today = caseload.seen[pond_id], caseload.today
    found = []
    for rule in rules:
        if rule.kind != "suspicion" or not rule.enabled:
            continue
        one = suspected_by(rule, seen, today)
        if one is not None:
            act = one.level == "act"
            found.append(
                SuspectedHere(
                    hazards()[rule.hazard].plain_name,
                    one,
                    sayings("stop") if act else (),
                    contacts(book, pond_id, today),
                )
            )
    return tuple(sorted(found, key=lambda one: (one.found.level != "act", -one.found.points)))


def contacts(
    book: Book, pond_id: UUID, today: date, days: int = CONTACT_DAYS
) -> tuple[ContactLine, ...]:
    """Fish that came to a pond or left it lately, newest first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    today
        The practice's calendar day.
    days
        How far back [d].
    """
    since = today - timedelta(days=days)
    return tuple(
        ContactLine(
            one.on_day, _CONTACTS[one.kind], None if one.amount is None else round(one.amount),
            one.note,
        )
        for one in events(book, pond_id, since=since)
        if one.kind in _CONTACTS and since <= one.on_day <= today
    )  # fmt: skip

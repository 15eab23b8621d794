"""Withdrawals and medicines that somebody wrote down for a pond beside the courses of this book.

They come from a medicine book or a vet's word, with a last day or without one, and nothing is
reckoned of them: the day that was written holds. A medicine of which nobody wrote how long its fish
must wait has no day, as an agent of a course has none where nothing is known of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.days import typed_day
from store.book.tables import table
from store.courses.food.needs import NO_MEDICINE
from store.courses.kept.given_agents import AgentGiven
from store.errors import BadInput
from store.facts.agents import agents
from store.facts.withdrawal import Bar, withdrawal_facts
from store.text import day_said, plain

KIND = "not_for_eating"
"""The kind of event that says so."""
GIVEN = "medicine_given"
"""The kind of event of a medicine beside the courses."""
NEEDS_WORDS = MappingProxyType(
    {GIVEN: "what was given, how much and of which batch", KIND: "who said so, and because of what"}
)
"""What the note must say of events that say nothing without one."""
BESIDE_DAYS = 365
"""So long a medicine without the end of a withdrawal keeps its pond without a day [d]; common
practice."""
_MONTH_NAMED = re.compile("jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec")
_NOT_GIVEN = re.compile(r"\b(?:no|not|never|without|instead of|rather than|free of|kein|ohne) $")
"""Words before the name of a substance that was not given."""
_SHOWN = 60
_TELLING = 4
"""A first word of fewer letters does not tell one product from another."""


@dataclass(frozen=True, slots=True)
class Written:
    """From which day on fish are not for eating, and the last such day; None where none is said."""

    on_day: date
    until: date | None
    note: str

    @property
    def free_from(self) -> date | None:
        """The first day on which fish are free; None where no day can be given."""
        return None if self.until is None else self.until + timedelta(days=1)

    @property
    def said(self) -> str:
        """In one sentence."""
        end = "no last day is written" if self.until is None else f"until {day_said(self.until)}"
        what = f": {self.note.strip().rstrip('.')}" if self.note.strip() else ""
        return f"Written down as not for eating from {day_said(self.on_day)}, {end}{what}."

    def runs(self, day: date) -> bool:
        """Whether it holds on a day.

        Parameters
        ----------
        day
            The calendar day.
        """
        return self.on_day <= day and (self.until is None or day <= self.until)


def written_withdrawals(book: Book, pond: UUID | None = None) -> dict[UUID, tuple[Written, ...]]:
    """What was written down, the latest end first; struck entries left out.

    Parameters
    ----------
    book
        The practice's book.
    pond
        The one pond that is wanted; None for all.
    """
    events = table("pond_event").c
    query = (
        select(events.pond_id, events.on_day, events.until_day, events.note)
        .where(events.kind == KIND, events.struck_at.is_(None))
        .order_by(events.on_day, events.id)
    )
    if pond is not None:
        query = query.where(events.pond_id == pond)
    found: dict[UUID, list[Written]] = {}
    with book.reading() as connection:
        for key, on_day, until, note in connection.execute(query):
            found.setdefault(key, []).append(Written(on_day, until, note))
    return {
        key: tuple(sorted(those, key=lambda one: -(one.until or date.max).toordinal()))
        for key, those in found.items()
    }


@dataclass(frozen=True, slots=True)
class Beside:
    """A medicine that was given beside the courses, as its note has it."""

    on_day: date
    note: str

    @property
    def name(self) -> str:
        """What was given, as far as the note says it first."""
        return " ".join(self.note.partition(":")[0].split())[:_SHOWN] or "a medicine"

    def is_named_in(self, text: str, *, whole: bool = False) -> bool:
        """Whether other words name the same medicine: by its whole name, or by its first word.

        Parameters
        ----------
        text
            A note, or the name of an agent.
        whole
            Its first word is not enough: another strength or form may have another withdrawal.
        """
        words, wanted = _folded(text), _folded(self.note.partition(":")[0])
        if whole:
            return bool(wanted) and f" {wanted} " in f" {words} "
        first = wanted.split()[0] if wanted else ""
        telling = first if len(first) >= _TELLING and not first.isdigit() else wanted
        return bool(telling) and f" {telling} " in f" {words} "


def medicines_beside(book: Book, pond: UUID | None = None) -> dict[UUID, tuple[Beside, ...]]:
    """Medicines noted beside the courses, newest first; struck entries left out.

    Parameters
    ----------
    book
        The practice's book.
    pond
        The one pond that is wanted; None for all.
    """
    events = table("pond_event").c
    query = (
        select(events.pond_id, events.on_day, events.note)
        .where(events.kind == GIVEN, events.struck_at.is_(None))
        .order_by(events.on_day.desc(), events.id)
    )
    if pond is not None:
        query = query.where(events.pond_id == pond)
    found: dict[UUID, list[Beside]] = {}
    with book.reading() as connection:
        for key, on_day, note in connection.execute(query):
            found.setdefault(key, []).append(Beside(on_day, note))
    return {key: tuple(those) for key, those in found.items()}


def without_end(
    beside: Sequence[Beside],
    written: Sequence[Written],
    given: Iterable[AgentGiven],
    today: date,
) -> tuple[Beside, ...]:
    """Medicines of the last year of which nobody wrote how long the fish must wait.

    Parameters
    ----------
    beside
        Of one pond.
    written
        Its withdrawals. One of the same day answers for a medicine that it names, or for all where
        it names none of them; one of a later day for those that it names in full, as the last of
        several doses decides.
    given
        What was given under courses; the same agent within its days is reckoned there.
    today
        The practice's calendar day.
    """
    courses = tuple(given)

    def answered(one: Beside) -> bool:
        if _is_no_medicine(one) or any(_is_of(one, each) for each in courses):
            return True
        same_day = [each for each in beside if each.on_day == one.on_day]
        for each in written:
            same_day_named = each.on_day == one.on_day and one.is_named_in(each.note)
            later = each.on_day > one.on_day and one.is_named_in(each.note, whole=True)
            if same_day_named or later:
                return True
            names_none = not any(other.is_named_in(each.note) for other in same_day)
            if each.on_day == one.on_day and names_none:
                return True
        return False

    since = today - timedelta(days=BESIDE_DAYS)
    return tuple(one for one in beside if since <= one.on_day <= today and not answered(one))


def barred_beside(beside: Iterable[Beside]) -> tuple[Bar, ...]:
    """Substances in the notes of medicines after which fish may never be food.

    Parameters
    ----------
    beside
        Of one pond, however long ago.

    Examples
    --------
    >>> [one.code for one in barred_beside([Beside(date(2026, 5, 4), "Malachite green: 2 g")])]
    ['malachite_green']
    """
    notes = [_folded(one.note) for one in beside]
    return tuple(
        bar
        for bar in withdrawal_facts().bars.values()
        if any(_names(note, name) for name in bar.names for note in notes)
    )


def _names(note: str, code: str) -> bool:
    """Whether a folded note names a substance, also as other languages spell it, and not as none.

    One word is found by all but its last letter, as in `metronidazol`; malachite by its beginning.
    """
    words = _folded(code)
    wanted = "malachit" if code == "malachite_green" else re.escape(words)
    if " " not in words:
        wanted = re.escape(words[:-1])
    found = re.finditer(rf"\b{wanted}", note)
    return any(_NOT_GIVEN.search(note[: one.start()]) is None for one in found)


def typed_end(text: str, on_day: date, today: date) -> date:
    """The last day of a withdrawal as typed: it lies on or after the first day.

    Parameters
    ----------
    text
        As for `typed_day`; a day without a year is the nearest from the first day on.
    on_day
        The first day.
    today
        The practice's calendar day.

    Raises
    ------
    BadInput
        No day; or a distance or weekday that may be counted from either day.

    Examples
    --------
    >>> str(typed_end("20 Nov", date(2025, 11, 1), date(2025, 11, 26)))
    '2025-11-20'
    >>> str(typed_end("3 Feb", date(2025, 11, 26), date(2025, 11, 26)))
    '2026-02-03'
    """
    field = "until_day"
    found = typed_day(text, today, ahead=True, field=field)
    from_first = typed_day(text, on_day, ahead=True, field=field)
    if found == from_first or text.strip().casefold() in ("today", "tomorrow", "yesterday"):
        return found
    if _MONTH_NAMED.search(text.casefold()) is None:
        raise BadInput(
            "This may be counted from the first day or from today. Please write the last day as a "
            "date. Nothing was saved.",
            field=field,
        )
    return from_first


def _is_of(one: Beside, given: AgentGiven) -> bool:
    """Whether a course gave it within its days, so that it is reckoned there."""
    if not given.first_day <= one.on_day <= given.last_day:
        return False
    shelf = "" if given.shelf is None else given.shelf.name
    name = _folded(one.note.partition(":")[0])
    named = (_folded(each) for each in (given.agent, given.name))
    return any(f" {each} " in f" {name} " for each in named if each) or one.is_named_in(
        f"{given.name} {shelf}"
    )


def _is_no_medicine(one: Beside) -> bool:
    """Salt, vitamins and what takes chlorine away: nobody wrote a withdrawal for them."""
    name = _folded(one.note.partition(":")[0])
    return any(
        name == _folded(word)
        for agent in agents().values()
        if agent.family in NO_MEDICINE
        for word in (agent.code, agent.plain_name)
    )


def _folded(text: str) -> str:
    return " ".join(re.sub(r"[^\w]+|_", " ", plain(text).casefold()).split())

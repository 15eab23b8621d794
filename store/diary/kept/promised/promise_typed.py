"""A promise as it is typed into a form: what was understood of it, and how it is kept."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client
from store.book.days import typed_day
from store.book.people import staff
from store.book.tables import table
from store.diary.kept.promised.follow_ups import promise
from store.diary.times.repeats import Repeat, next_of
from store.diary.times.repeats_said import DAYS
from store.diary.times.repeats_typed import typed_repeat
from store.errors import BadInput, NotFound
from store.facts.follow_ups import BY_HAND, FollowUpKind, follow_up_kinds
from store.text import day_said, plain

SHOWN_DAYS = 5
"""How many of the next days are shown [d]."""
_WHOLE = re.compile(r"([0-9]{1,4}) ?(?:d|days?)?")


@dataclass(frozen=True, slots=True)
class PromiseAsked:
    """What the form of a promise chooses from; keys are texts, as a form hands them back.

    `ponds` holds the ponds that stand in the book, `kinds` what can be promised by hand, `people`
    who works here.
    """

    client: str
    ponds: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    people: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PromiseTyped:
    """What was understood of a promise.

    `days` are the first days on which it falls due, `more` whether others follow. The window runs
    from `early_days` before to `late_days` after each of them [d].
    """

    kind: FollowUpKind
    first_on: date
    repeat: Repeat | None
    early_days: int
    late_days: int
    days: tuple[date, ...]
    more: bool

    @property
    def days_said(self) -> str:
        """The days in a sentence, with the rule where it repeats."""
        listed = ", ".join(f"{DAYS[day.weekday()]} {day_said(day)}" for day in self.days)
        goes_on = ", and so on" if self.more else ""
        if self.repeat is None:
            return f"Once: {listed}."
        said = self.repeat.said[:1].upper() + self.repeat.said[1:]
        return f"{said}: {listed}{goes_on}."

    @property
    def window_said(self) -> str:
        """From when to when the first of them is kept in time, in a sentence."""
        first = self.first_on - timedelta(days=self.early_days)
        last = self.first_on + timedelta(days=self.late_days)
        if first == last:
            return "In time is the day itself."
        return f"In time is the first from {day_said(first)} to {day_said(last)}."


def promise_asked(book: Book, client_id: UUID) -> PromiseAsked:
    """What the form of a promise to a client chooses from.

    Parameters
    ----------
    book
        The practice's book.
    client_id
        Key of the client.

    Raises
    ------
    NotFound
        No such client, or it was struck through.
    """
    owner = client(book, client_id)
    if owner.struck_at is not None:
        raise NotFound("This client was struck through; nothing can be promised to it.")
    ponds, sites = table("pond").c, table("site").c
    query = (
        select(ponds.id, ponds.name, sites.name)
        .join_from(table("pond"), table("site"), sites.id == ponds.site_id)
        .where(
            sites.client_id == client_id, ponds.struck_at.is_(None), sites.struck_at.is_(None)
        )
        .order_by(sites.name, ponds.name, ponds.id)
    )  # fmt: skip
    with book.reading() as connection:
        rows = connection.execute(query).all()
    many = len({site for _key, _pond, site in rows}) > 1
    known = follow_up_kinds()
    return PromiseAsked(
        owner.name,
        tuple((str(key), f"{pond}, {site}" if many else pond) for key, pond, site in rows),
        tuple((code, known[code].label) for code in BY_HAND),
        tuple((str(one.id), one.name) for one in staff(book)),
    )


def promise_typed(texts: Mapping[str, str], today: date) -> PromiseTyped:
    """What was understood of the texts of a form.

    Parameters
    ----------
    texts
        `kind`, `first_on`, `repeats`, `early_days`, `late_days`, by the name of the field; those
        left out are empty.
    today
        The practice's calendar day.

    Returns
    -------
    PromiseTyped
        With the next days that it gives.

    Raises
    ------
    BadInput
        At its field: no kind, no day or one that is none or lies behind, a repeat that is not
        understood, a window that is no number of days.
    """
    kind = follow_up_kinds().get(texts.get("kind", ""))
    if kind is None:
        raise BadInput("Please choose what was promised.", field="kind")
    if not texts.get("first_on", "").strip():
        raise BadInput(
            "Please say the first day, such as Mon, 2 weeks or 12 Dec.", field="first_on"
        )
    first = typed_day(texts["first_on"], today, ahead=True, field="first_on")
    if first < today:
        raise BadInput(
            f"{day_said(first)} lies behind; only a day from today on can be promised.",
            field="first_on",
        )
    repeat = typed_repeat(texts.get("repeats", ""), first)
    rule = "" if repeat is None else repeat.rule
    days = [first]
    while len(days) <= SHOWN_DAYS and (after := next_of(rule, first, days[-1])) is not None:
        days.append(after)
    early = _days(texts.get("early_days", ""), kind.early_days, "early_days")
    late = _days(texts.get("late_days", ""), kind.late_days, "late_days")
    return PromiseTyped(
        kind, first, repeat, early, late, tuple(days[:SHOWN_DAYS]), len(days) > SHOWN_DAYS
    )


def save_promise(book: Book, act: Act, client_id: UUID, texts: Mapping[str, str]) -> UUID:
    """Promise what was typed.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    client_id
        Key of the client.
    texts
        As `promise_typed` takes them, with `pond_id`, `says`, `promised_by` and `note`.

    Returns
    -------
    UUID
        Key of the follow-up.

    Raises
    ------
    BadInput, NotFound
        As for `promise_typed` and `store.diary.kept.promised.follow_ups.promise`.
    """
    typed = promise_typed(texts, book.today(act.at))
    pond, by = texts.get("pond_id", ""), texts.get("promised_by", "")
    with book.writing(act) as writing:
        return promise(
            writing,
            client_id=client_id,
            pond_id=UUID(pond) if pond else None,
            kind=typed.kind.code,
            says=texts.get("says", ""),
            first_on=typed.first_on,
            early_days=typed.early_days,
            late_days=typed.late_days,
            repeats="" if typed.repeat is None else typed.repeat.rule,
            promised_by=UUID(by) if by else None,
            note=texts.get("note", ""),
        )


def _days(text: str, usual: int, field: str) -> int:
    said = " ".join(plain(text).casefold().split())
    if not said:
        return usual
    found = _WHOLE.fullmatch(said)
    if found is None or int(found[1]) > 366:
        raise BadInput(
            f"“{plain(text.strip()):.20}” is no number of days from 0 to 366. Leave it empty for "
            f"the usual {usual}.",
            field=field,
        )
    return int(found[1])

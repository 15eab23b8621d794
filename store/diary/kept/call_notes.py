"""Calls as they were taken, in the book: new calls by the sheet, short notes, what is still open.

A call that is open stands on the desk until the visit that answers it took place, or somebody
closes it with a reason. What was advised stands with it. A caller who is not in the book becomes a
client with a site, and a pond where anything of one was told: a call without a client could not
stand on the desk.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, tzinfo
from types import MappingProxyType
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import Kept, columns_of, made_of, read_all, read_one
from store.book.tables import table
from store.book.writing import Writing
from store.diary.calling.sheet import Told, told
from store.diary.calling.triage import Triage, triage
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.callers import enter_caller, settled
from store.errors import BadInput, NotAllowed
from store.facts.call_questions import URGENCIES, Urgency, questions
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said

KINDS: Mapping[Urgency, str] = MappingProxyType(
    {
        "same day": "call_same_day",
        "next day": "call_next_day",
        "routine": "call_routine",
    }
)
"""The kind of follow-up that an open call is, by its urgency."""
SAID, NEXT = "said", "next"
"""Answers of a short note: what was said, and what comes next."""
NOTHING_NEXT = "Nothing is left to be done."
"""Why a short note without a next step is closed at once."""
_LONGEST_SAYS = 200


@dataclass(frozen=True, slots=True)
class CallNote(Kept):
    """A call as it was taken; `answers` are texts as typed, by question.

    `urgency` and `urgent_by` are what was reckoned when it was saved; `advised` what the caller was
    told. `visit_id` is the visit that answered it, where somebody named one.
    """

    client_id: UUID | None
    site_id: UUID | None
    pond_id: UUID | None
    called_at: datetime
    caller: str
    phone: str
    urgency: Urgency
    urgent_by: list[str]
    answers: dict[str, Any]
    advised: list[str]
    note: str
    state: Literal["open", "closed"]
    closed_why: str
    visit_id: UUID | None

    @property
    def short(self) -> bool:
        """Whether it is a note of four fields and not a whole sheet."""
        return SAID in self.answers

    @property
    def texts(self) -> dict[str, str]:
        """The answers of the sheet, by code of the question."""
        return {code: str(text) for code, text in self.answers.items() if code in questions()}

    @property
    def said(self) -> str:
        """The call in one line, such as `call of Ina Marsh, same day: fish gasp`."""
        return f"call of {self.caller}, {self.urgency}: {self.says}"

    @property
    def says(self) -> str:
        """What it was about, in a few words."""
        if self.short:
            return _shortened(str(self.answers.get(NEXT) or self.answers[SAID]))
        causes = [one.partition(". ")[0] for one in self.urgent_by]
        seen = str(self.answers.get("saw", "")).strip()
        return _shortened("; ".join(causes) or seen or "a new call")


@dataclass(frozen=True, slots=True)
class NewCall:
    """A call about to be kept: answers as typed, and whom it is about where that is known.

    `advised` is said beside what stands under the question `told`; the sheet leaves it empty.
    """

    answers: Mapping[str, str]
    client_id: UUID | None = None
    site_id: UUID | None = None
    pond_id: UUID | None = None
    called_at: datetime | None = None
    note: str = ""
    advised: tuple[str, ...] = field(default=())


def take_call(writing: Writing, call: NewCall) -> UUID:
    """Keep a call; a caller who is not in the book is entered with site and pond.

    Parameters
    ----------
    writing
        The action of the person who took it.
    call
        What was told.

    Returns
    -------
    UUID
        Key of the call note.

    Raises
    ------
    BadInput
        Without a name; a call that lies ahead; a pond or site of somebody else; an answer to a
        question that there is none of. `field` is the code of the question.
    NotFound
        No such client, site or pond.
    """
    for code in call.answers:
        if code not in questions():
            raise BadInput(f"“{code:.40}” is no question of a call. Nothing was saved.")
    answers = {code: text.strip() for code, text in call.answers.items() if text.strip()}
    caller = answers.get("caller", "")
    if not caller:
        raise BadInput("Please say who called. Nothing was saved.", field="caller")
    at = _called_at(writing, call.called_at)
    one = told(answers, now=at, zone=writing.book.zone)
    if call.client_id is None and call.site_id is None and call.pond_id is None:
        whom = enter_caller(writing, one, at.astimezone(writing.book.zone).date())
    else:
        whom = settled(writing, call.client_id, call.site_id, call.pond_id)
    found = triage(one)
    free = answers.get("told", "")
    unlisted = [f"As typed: {free}"] if free and not one.advised else []
    return writing.add(
        "call_note",
        client_id=whom.client_id,
        site_id=whom.site_id,
        pond_id=whom.pond_id,
        called_at=at,
        caller=caller,
        phone=answers.get("phone", ""),
        urgency=found.urgency,
        urgent_by=[each.sentence for each in found.raised],
        answers=answers,
        advised=[*one.advised, *unlisted, *call.advised],
        note=call.note,
    )


def note_call(
    writing: Writing,
    client_id: UUID,
    *,
    caller: str,
    said: str,
    advised: str,
    next_step: str = "",
    site_id: UUID | None = None,
    pond_id: UUID | None = None,
    called_at: datetime | None = None,
) -> UUID:
    """Keep a short note of a call with an existing client, so that no advice goes unrecorded.

    Parameters
    ----------
    writing
        The action of the person.
    client_id
        Key of the client.
    caller
        Who called.
    said
        What was said.
    advised
        What was advised; `nothing` where nothing was.
    next_step
        What comes next; with it the call stays open on the desk, without it it is closed.
    site_id, pond_id
        What it is about, where that was said.
    called_at
        When, if not now.

    Returns
    -------
    UUID
        Key of the call note.

    Raises
    ------
    BadInput
        A field without which the note says nothing; a pond or site of somebody else.
    NotFound
        No such client, site or pond.

    Notes
    -----
    What was said is read as on the sheet: signs that make a call urgent make the note urgent.
    """
    for name, text, ask in (
        ("caller", caller, "who called"),
        ("said", said, "what was said"),
        ("advised", advised, "what was advised, or that nothing was"),
    ):
        if not text.strip():
            raise BadInput(f"Please write {ask}. Nothing was saved.", field=name)
    at = _called_at(writing, called_at)
    whom = settled(writing, client_id, site_id, pond_id)
    found = triage(told({"saw": said}, now=at, zone=writing.book.zone))
    open_still = bool(next_step.strip())
    return writing.add(
        "call_note",
        client_id=whom.client_id,
        site_id=whom.site_id,
        pond_id=whom.pond_id,
        called_at=at,
        caller=caller.strip(),
        urgency=found.urgency,
        urgent_by=[each.sentence for each in found.raised],
        answers={SAID: said.strip(), NEXT: next_step.strip()},
        advised=[advised.strip()],
        state="open" if open_still else "closed",
        closed_why="" if open_still else NOTHING_NEXT,
    )


def close_call(
    writing: Writing, key: UUID, rev: int, why: str, *, visit_id: UUID | None = None
) -> int:
    """Close a call with a reason; it stays readable.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The call, as the person saw it.
    why
        The reason; never empty.
    visit_id
        The visit that answered it, where there was one.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        It is closed already, or struck through.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    if not why.strip():
        raise BadInput("Please say why it is closed. Nothing was changed.", field="why")
    if _row(writing, key).state == "closed":
        raise NotAllowed("This call is closed already; it was left as it is.")
    values: dict[str, Any] = {"state": "closed", "closed_why": why.strip()}
    if visit_id is not None:
        values["visit_id"] = visit_id
    return writing.change("call_note", key, rev, why, **values)


def reopen_call(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Put a closed call back on the desk.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The call, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        It is open.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    if not why.strip():
        raise BadInput("Please say why it is opened again. Nothing was changed.", field="why")
    if _row(writing, key).state == "open":
        raise NotAllowed("This call is open; it was left as it is.")
    return writing.change("call_note", key, rev, why, state="open", closed_why="")


def _row(writing: Writing, key: UUID) -> Any:
    notes = table("call_note").c
    row = writing.connection.execute(select(notes.state).where(notes.id == key)).first()
    if row is None:
        # The sentence is that of every record that is not there.
        return read_one(writing.book, CallNote, "call_note", key)
    return row


def _called_at(writing: Writing, at: datetime | None) -> datetime:
    if at is None:
        return writing.act.at
    if at > writing.act.at:
        raise BadInput("This call lies ahead. Nothing was saved.", field="called_at")
    return at


# --- reading -------------------------------------------------------------------------------------


def call_note(book: Book, key: UUID) -> CallNote:
    """One call, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the call.

    Raises
    ------
    NotFound
        There is no such call.
    """
    return read_one(book, CallNote, "call_note", key)


def call_notes(
    book: Book,
    *,
    open: bool = True,  # noqa: A002
    client_id: UUID | None = None,
    pond_id: UUID | None = None,
    struck: bool = False,
) -> tuple[CallNote, ...]:
    """Calls, the newest first.

    Parameters
    ----------
    book
        The book.
    open
        Those alone that are open; False gives all.
    client_id, pond_id
        Of one client, or of one pond.
    struck
        Also those that were struck through.
    """
    columns = table("call_note").c
    conditions = []
    if open:
        conditions.append(columns.state == "open")
    if client_id is not None:
        conditions.append(columns.client_id == client_id)
    if pond_id is not None:
        conditions.append(columns.pond_id == pond_id)
    return read_all(
        book, CallNote, "call_note", *conditions,
        order_by=(columns.called_at.desc(), columns.id.desc()), struck=struck,
    )  # fmt: skip


def told_in(note: CallNote, zone: tzinfo) -> tuple[Told, Triage]:
    """What was told in a call, understood anew, and how urgent that is.

    Parameters
    ----------
    note
        The call; a short note is read by what was said.
    zone
        The practice's zone.
    """
    answers = {"saw": str(note.answers[SAID])} if note.short else note.texts
    one = told(answers, now=note.called_at, zone=zone)
    return one, triage(one)


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
        before its call. A call whose visit is planned is given too, for the desk to say so; one
        whose visit took place, by what the visit was booked for or as the call names it, is done.
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
    due = called_on + timedelta(days=kind.early_days)
    because = f"{note.caller} called on {day_said(called_on)}."
    if note.urgent_by:
        because += f" {note.urgent_by[0]}"
    assert note.client_id is not None
    return Promised(
        about=about, kind=kind.code, client_id=note.client_id, site_id=note.site_id,
        pond_id=note.pond_id, says=note.says, because=because, origin="call", promised_by=by,
        promised_on=called_on, due_on=due, first_on=called_on,
        last_on=due + timedelta(days=kind.late_days), needs="call" if note.short else kind.needs,
    )  # fmt: skip


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


def _shortened(text: str) -> str:
    said = " ".join(text.split())
    return said if len(said) <= _LONGEST_SAYS else said[: _LONGEST_SAYS - 1].rstrip() + "…"

"""Calls as they were taken, in the book: new calls by the sheet, short notes, what is still open.

A call that is open stands on the desk until the visit that answers it took place, or somebody
closes it with a reason. What was advised stands with it. A caller who is not in the book becomes a
client with a site, and a pond where anything of one was told: a call without a client could not
stand on the desk.
"""

from __future__ import annotations

from datetime import datetime, tzinfo
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import read_all, read_one
from store.book.tables import table
from store.book.writing import Writing
from store.diary.calling.sheet import Told, told
from store.diary.calling.triage import Triage, triage
from store.diary.kept.calls.call_urgency import raise_call, raised_while_taken
from store.diary.kept.calls.call_values import KINDS, NEXT, NOTHING_NEXT, SAID, CallNote, NewCall
from store.diary.kept.calls.callers import enter_caller, settled
from store.diary.kept.calls.calls_due import calls_due
from store.errors import BadInput, NotAllowed
from store.facts.call_questions import questions

__all__ = [
    "KINDS",
    "CallNote",
    "NewCall",
    "call_note",
    "call_notes",
    "calls_due",
    "close_call",
    "note_call",
    "raise_call",
    "reopen_call",
    "take_call",
    "told_in",
]


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
        question that there is none of; raised by hand without a reason. `field` is the code of the
        question, `raised_to` or `raised_why`.
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
    raised = raised_while_taken(writing, call, found, at)
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
        urgency=raised.urgency,
        urgent_by=raised.urgent_by,
        answers=answers | raised.steps,
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

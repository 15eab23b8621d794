"""The urgency of a call raised by hand above what was reckoned: with a reason, and never lowered.

What was told makes a call urgent by itself. Somebody who hears the caller may know more: then the
call is raised, the reason stands first among what makes it urgent, and the desk goes by it. There
is no way down: what was reckoned stands for what was told, and answers are not taken back.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.rows import read_one
from store.book.tables import table
from store.book.writing import Writing
from store.diary.calling.triage import Triage
from store.diary.kept.calls.call_values import RAISED, CallNote, NewCall
from store.errors import BadInput, NotAllowed
from store.facts.call_questions import URGENCIES, Urgency
from store.text import day_said


@dataclass(frozen=True, slots=True)
class Urgent:
    """What a call is kept with: its urgency, the sentences that say why, the steps by hand."""

    urgency: Urgency
    urgent_by: list[str]
    steps: dict[str, Any]


def above(urgency: Urgency) -> tuple[Urgency, ...]:
    """What is more urgent than this, the next step first.

    Parameters
    ----------
    urgency
        Of a call.

    Examples
    --------
    >>> above("routine"), above("same day")
    (('next day', 'same day'), ())
    """
    return tuple(reversed(URGENCIES[: URGENCIES.index(urgency)]))


def raised_while_taken(writing: Writing, call: NewCall, found: Triage, at: datetime) -> Urgent:
    """The urgency of a call that is about to be kept, raised by hand where somebody did.

    Parameters
    ----------
    writing
        The action of the person who took it.
    call
        What was told, and what it was raised to.
    found
        What was reckoned of it.
    at
        When the call was.

    Returns
    -------
    Urgent
        The more urgent of both. A reason that was given is kept in any case.

    Raises
    ------
    BadInput
        Raised without a reason, or to something that is no urgency.
    """
    told = [each.sentence for each in found.raised]
    to = call.raised_to
    if to is None:
        return Urgent(found.urgency, told, {})
    _refuse(to, call.raised_why, "raised_to", "raised_why", "saved")
    on = at.astimezone(writing.book.zone).date()
    if to not in above(found.urgency):
        return Urgent(found.urgency, [*told, _sentence(writing, call.raised_why, to, on)], {})
    said = _sentence(writing, call.raised_why, to, on, found.urgency)
    return Urgent(to, [said, *told], {RAISED: [_step(found.urgency, to, on)]})


def raise_call(writing: Writing, key: UUID, rev: int, to: Urgency, why: str) -> int:
    """Raise the urgency of an open call by hand.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The call, as the person saw it.
    to
        More urgent than it is.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    BadInput
        No reason, or no such urgency.
    NotAllowed
        It is as urgent already, or more; it is closed, or struck through.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    _refuse(to, why, "urgency", "why", "changed")
    notes = table("call_note").c
    query = select(notes.urgency, notes.urgent_by, notes.answers, notes.state)
    row = writing.connection.execute(query.where(notes.id == key)).first()
    if row is None:
        # The sentence is that of every record that is not there.
        return read_one(writing.book, CallNote, "call_note", key).rev
    if row.state == "closed":
        raise NotAllowed("This call is closed; it was left as it is. Open it again first.")
    if to not in above(row.urgency):
        raise NotAllowed(
            f"This call is {row.urgency} already. It can be raised and never lowered; it was left "
            "as it is."
        )
    on = writing.book.today(writing.act.at)
    return writing.change(
        "call_note", key, rev, why,
        urgency=to,
        urgent_by=[_sentence(writing, why, to, on, row.urgency), *row.urgent_by],
        answers=row.answers
        | {RAISED: [*row.answers.get(RAISED, ()), _step(row.urgency, to, on)]},
    )  # fmt: skip


def _refuse(to: str, why: str, to_field: str, why_field: str, done: str) -> None:
    if to not in URGENCIES:
        raise BadInput(
            f"A call is {', '.join(URGENCIES)}, not “{to:.40}”. Nothing was {done}.",
            field=to_field,
        )
    if not why.strip():
        raise BadInput(f"Please say why it is more urgent. Nothing was {done}.", field=why_field)


def _step(before: Urgency, to: Urgency, on: date) -> dict[str, str]:
    return {"from": before, "to": to, "on": on.isoformat()}


def _sentence(
    writing: Writing, why: str, to: Urgency, on: date, before: Urgency | None = None
) -> str:
    """The reason, then who raised it, as it is kept with the call."""
    staff = table("staff").c
    by = writing.connection.execute(select(staff.name).where(staff.id == writing.act.by)).scalar()
    reason = " ".join(why.split()).rstrip(".")
    start = "" if before is None else f" from {before}"
    return (
        f"{reason[:1].upper()}{reason[1:]}. Raised by hand{start} to {to} by {by} on "
        f"{day_said(on)}."
    )

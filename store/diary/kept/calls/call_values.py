"""A call as plain values: as it stands in the book, and about to be kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Literal
from uuid import UUID

from store.book.rows import Kept
from store.facts.call_questions import Urgency, questions
from store.text import joined

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
RAISED = "raised"
"""Beside the answers: the steps by which somebody raised the urgency by hand."""
NOTHING_NEXT = "Nothing is left to be done."
"""Why a short note without a next step is closed at once."""
_LONGEST_SAYS = 200


@dataclass(frozen=True, slots=True)
class RaisedStep:
    """The urgency of a call was raised by hand, on a day of the practice's calendar."""

    before: Urgency
    to: Urgency
    on: date


def raised_steps(answers: Mapping[str, Any]) -> tuple[RaisedStep, ...]:
    """The steps by which the urgency of a call was raised by hand, as they followed each other.

    Parameters
    ----------
    answers
        Of the call, as they stand in the book.
    """
    return tuple(
        RaisedStep(one["from"], one["to"], date.fromisoformat(one["on"]))
        for one in answers.get(RAISED, ())
    )


@dataclass(frozen=True, slots=True)
class CallNote(Kept):
    """A call as it was taken; `answers` are texts as typed, by question.

    `urgency` and `urgent_by` are what was reckoned when it was saved, and what somebody raised it
    to by hand since, with the reason; `advised` what the caller was told. `visit_id` is the visit
    that answered it, where somebody named one.
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
    def raised(self) -> tuple[RaisedStep, ...]:
        """How its urgency was raised by hand; empty where it stands as it was reckoned."""
        return raised_steps(self.answers)

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
        return _shortened(joined(causes) or seen or "a new call")


@dataclass(frozen=True, slots=True)
class NewCall:
    """A call about to be kept: answers as typed, and whom it is about where that is known.

    `advised` is said beside what stands under the question `told`; the sheet leaves it empty.
    `raised_to` is an urgency above what is reckoned, for the reason `raised_why`; where more is
    reckoned by then, that stands and the reason stands with it.
    """

    answers: Mapping[str, str]
    client_id: UUID | None = None
    site_id: UUID | None = None
    pond_id: UUID | None = None
    called_at: datetime | None = None
    note: str = ""
    advised: tuple[str, ...] = field(default=())
    raised_to: Urgency | None = None
    raised_why: str = ""


def _shortened(text: str) -> str:
    said = " ".join(text.split())
    return said if len(said) <= _LONGEST_SAYS else said[: _LONGEST_SAYS - 1].rstrip() + "…"

"""What is due: one line of the desk, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal
from uuid import UUID

from store.facts.follow_ups import Needs

Origin = Literal["by hand", "course", "examination", "test plan", "alert rule", "call"]
Outcome = Literal["reached", "left word", "no answer", "ring back"]
OUTCOMES: tuple[Outcome, ...] = ("reached", "left word", "no answer", "ring back")


@dataclass(frozen=True, slots=True)
class Attempt:
    """A client was rung; `by` is the initials or name of who rang, `about` what it was about."""

    id: UUID
    client_id: UUID
    pond_id: UUID | None
    about: str
    at: datetime
    by: str
    outcome: Outcome
    ring_on: date | None
    ring_at: time | None
    note: str


@dataclass(frozen=True, slots=True)
class Booked:
    """The planned visit that is to keep a promise; `in_window` tells whether its day fits."""

    visit_id: UUID
    on_day: date
    at_time: time | None
    who: str
    in_window: bool


@dataclass(frozen=True, slots=True)
class Promised:
    """Something that was promised, wherever it stands in the book, before it is weighed.

    Its window runs from `first_on` to `last_on`, both days included. `kind` is a code of
    `store.facts.follow_ups`. `says` is what was promised in a few words, `because` where it comes
    from in a sentence, `repeats` its rule in words. `promised_by` is a name, empty where nobody but
    a plan says so. `needs` is who keeps it; a dose that the owner gives needs a call.
    """

    about: str
    kind: str
    client_id: UUID
    site_id: UUID | None
    pond_id: UUID | None
    says: str
    because: str
    origin: Origin
    promised_by: str
    promised_on: date | None
    due_on: date
    first_on: date
    last_on: date
    needs: Needs
    repeats: str = ""
    severity: float = 1.0
    """How far beyond its limit a concern is (1 is at the limit); 1 for all else."""


@dataclass(frozen=True, slots=True)
class DueLine:
    """One promise on the desk, with whom to ring and how heavy it weighs.

    `late_days` counts from the last day of the window; below zero while days are left [d]. `weight`
    orders the list, `weighed` is its arithmetic with the numbers put in.
    """

    promised: Promised
    client: str
    site: str
    pond: str
    town: str
    phone: str
    phone2: str
    late_days: int
    weight: float
    weighed: str
    attempts: int
    last_attempt: Attempt | None
    ring_on: date | None
    ring_at: time | None
    booked: Booked | None

    @property
    def where(self) -> str:
        """Client and pond in one phrase, the pond left out where it says nothing new."""
        if not self.pond or self.pond == self.client:
            return self.client
        return f"{self.client}, {self.pond}"


@dataclass(frozen=True, slots=True)
class DeskList:
    """Everything that is due or near, worst first, and how much is not shown.

    `lines` holds what is due, late, to be rung back today, or falls due within the days looked
    ahead; what is booked within its window stands behind all that is not.
    """

    now: datetime
    today: date
    lines: tuple[DueLine, ...]
    overdue: int
    today_due: int
    ahead: int
    booked: int

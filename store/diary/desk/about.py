"""What an attempt, a booking or a tick is about: one short text that names a promise for good.

Promises stand in many tables, or in none where they are reckoned (a water test that is due). Their
name is made of the kind of thing and the keys of its rows, so that two copies of a book agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from store.errors import BadInput

Thing = Literal[
    "dose", "control", "answer", "turn", "finding", "concern", "sample", "test", "hand", "call",
    "ring", "ask",
]  # fmt: skip
THINGS: tuple[Thing, ...] = (
    "dose", "control", "answer", "turn", "finding", "concern", "sample", "test", "hand", "call",
    "ring", "ask",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class About:
    """A promise by its name.

    `key` is that of the dose (`dose`, `answer`), the course (`control`, `turn`), the pond
    (`finding`, `concern`, `test`, and `ask` for a thermometer reading), the sample, the follow-up
    (`hand`), the call note or the client (`ring`). `code` is the rule or hazard of a `concern` or
    `finding`; `day` the day that the rule of a `hand` follow-up gives.
    """

    thing: Thing
    key: UUID
    code: str = ""
    day: date | None = None

    def __str__(self) -> str:
        parts = [self.thing, self.key.hex]
        if self.day is not None:
            parts.append(self.day.isoformat())
        if self.code:
            parts.append(self.code)
        return ":".join(parts)


def about_of(text: str) -> About:
    """The promise that a text names.

    Parameters
    ----------
    text
        As `str(About)` writes it.

    Raises
    ------
    BadInput
        It names none.

    Examples
    --------
    >>> key = UUID(int=7)
    >>> about_of(str(About("hand", key, day=date(2026, 3, 2)))).day
    datetime.date(2026, 3, 2)
    >>> about_of(str(About("concern", key, "no_air"))).code
    'no_air'
    """
    thing, _colon, rest = text.partition(":")
    key, _colon, rest = rest.partition(":")
    known = next((one for one in THINGS if one == thing), None)
    try:
        if known is None:
            raise ValueError(thing)
        day = date.fromisoformat(rest) if known == "hand" else None
        return About(known, UUID(hex=key), "" if day is not None else rest, day)
    except ValueError as error:
        raise BadInput(f"“{text:.60}” names nothing that was promised.") from error

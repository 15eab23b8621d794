"""Who does something to the book, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class Act:
    """One person at one instant: every row that is written carries both.

    Parameters
    ----------
    by
        Key of the member of staff.
    at
        The instant, with a time zone.

    Raises
    ------
    BadInput
        If the instant has no time zone.
    """

    by: UUID
    at: datetime

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise BadInput("The time of an entry needs a time zone; nothing was saved.")

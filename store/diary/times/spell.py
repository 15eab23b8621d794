"""A stretch of one local day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time

MIDNIGHT = time(23, 59)
"""Stands for the end of the day, which has no hour of its own."""


def minute_of(at: time) -> int:
    """Minutes since the beginning of the day, 1440 for `MIDNIGHT` [min].

    Parameters
    ----------
    at
        Local time of day; seconds are cut off.
    """
    return 1440 if (at.hour, at.minute) == (23, 59) else at.hour * 60 + at.minute


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of one local day, from `begins` to before `ends`; `MIDNIGHT` ends the day."""

    begins: time
    ends: time

    @property
    def minutes(self) -> int:
        """Its length by the clock on the wall [min]."""
        return minute_of(self.ends) - minute_of(self.begins)

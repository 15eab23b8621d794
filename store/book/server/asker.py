"""Whoever asks the store, and can wait for a database that does not answer.

A question that has saved something cannot be asked again from its beginning: it would save that
twice. What comes after the saving waits in its place instead, by what the asker says.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass

from store.errors import NoAnswer


@dataclass(eq=False, slots=True)
class Asker:
    """One question, asked in one thread.

    Parameters
    ----------
    waits
        Called with the trouble in the thread of the question; it comes back when it is time to try
        again, with False when nobody waits any more.
    """

    waits: Callable[[NoAnswer], bool]
    reached: int = 0
    """How many times the database answered."""
    kept: int = 0
    """How many actions were saved."""


ASKER: ContextVar[Asker | None] = ContextVar("asker", default=None)
"""Who asks; None where nobody waits, on the command line for example."""


def waits(trouble: NoAnswer) -> bool:
    """Wait until it is time to try again; False at once where nobody waits.

    Parameters
    ----------
    trouble
        Why it has to be tried again.

    Returns
    -------
    bool
        Whether to try again.
    """
    asker = ASKER.get()
    return asker is not None and asker.waits(trouble)


def was_reached() -> None:
    """The database answered."""
    asker = ASKER.get()
    if asker is not None:
        asker.reached += 1


def was_kept() -> None:
    """An action was saved."""
    asker = ASKER.get()
    if asker is not None:
        asker.kept += 1


def has_kept() -> bool:
    """Whether the question saved something already."""
    asker = ASKER.get()
    return asker is not None and asker.kept > 0

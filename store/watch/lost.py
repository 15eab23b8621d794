"""What the rules see of the deaths at a pond: who died when, with which signs, out of how many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from store.watch.stock import Count, Move

LOST_DAYS_BACK = 60
"""How far back deaths and signs are looked at: contacts are asked for over as long [d]."""


class Died(NamedTuple):
    """Fish that were found dead on a day; `dead` None is a number that nobody said."""

    on_day: date
    species: str
    dead: int | None
    signs: tuple[str, ...] = ()

    @property
    def least(self) -> int:
        """At least so many [count]: a death without a number is one."""
        return 1 if self.dead is None else self.dead


class Shown(NamedTuple):
    """Signs on a fish that was examined, by the codes of `store.facts.signs`."""

    on_day: date
    species: str
    signs: tuple[str, ...]


class Named(NamedTuple):
    """A hazard that somebody named at the pond: at an examination, in a note, by a laboratory."""

    on_day: date
    hazard: str
    how: str
    """In words, such as `suspected at an examination`."""


@dataclass(frozen=True, slots=True)
class Losses:
    """Everything about dead fish at one pond; newest first.

    `stock` is the pond's list of fish as typed. Counts of none stand in `died` too: somebody
    looked.
    """

    died: tuple[Died, ...] = ()
    shown: tuple[Shown, ...] = ()
    named: tuple[Named, ...] = ()
    counts: tuple[Count, ...] = ()
    moves: tuple[Move, ...] = ()
    stock: str = ""

    def on(self, day: date) -> Losses | None:
        """The same as it was known at the end of a day; None where nothing was.

        Parameters
        ----------
        day
            The calendar day.
        """
        since = day - timedelta(days=LOST_DAYS_BACK)
        found = Losses(
            tuple(one for one in self.died if since <= one.on_day <= day),
            tuple(one for one in self.shown if since <= one.on_day <= day),
            tuple(one for one in self.named if since <= one.on_day <= day),
            tuple(one for one in self.counts if one.on_day <= day),
            tuple(one for one in self.moves if one.on_day <= day),
            self.stock,
        )
        return found if found.died or found.shown or found.named else None

    def deaths(self, since: date, until: date) -> tuple[Died, ...]:
        """The entries of at least one dead fish from a day to another, both included.

        Parameters
        ----------
        since, until
            Calendar days.
        """
        return tuple(one for one in self.died if since <= one.on_day <= until and one.least)


def number(died: Sequence[Died]) -> int:
    """How many fish died at least [count].

    Parameters
    ----------
    died
        Entries of deaths.
    """
    return sum(one.least for one in died)


def per_day(died: Sequence[Died]) -> dict[date, int]:
    """How many died at least on each day that has an entry, old to new [count].

    Parameters
    ----------
    died
        Entries of deaths; those of none count as a day on which somebody looked.
    """
    found: dict[date, int] = {}
    for one in sorted(died, key=lambda one: one.on_day):
        found[one.on_day] = found.get(one.on_day, 0) + one.least
    return found

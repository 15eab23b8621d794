"""Dead fish that the book has already: the same entry passed over, one like it asked about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.tables import table
from store.exams.deaths import NewDeaths
from store.text import day_said
from store.watch.stock import key_of

Like = tuple[UUID, date, str, int]
"""Pond, day, kind and number: what makes an entry like another."""
Key = tuple[UUID, NewDeaths]
"""All that is kept: what makes two entries the same."""


@dataclass(frozen=True, slots=True)
class PlannedDeaths:
    """Dead fish that a row would bring; `called` is how the file calls the pond."""

    line: int
    pond: UUID
    deaths: NewDeaths
    called: str = ""
    nth: int = 1
    """Which of the entries that are the same it is within the file, from 1."""

    @property
    def words(self) -> str:
        """The entry in one line, as it was understood."""
        one = self.deaths
        many = f"{one.dead:,} {one.species or 'fish'} dead" if one.dead else (
            f"no {one.species or 'fish'} dead"
        )  # fmt: skip
        if one.length_low_cm is None:
            return many
        low, high = one.length_low_cm, one.length_high_cm
        return f"{many}, {low:g} cm" if low == high else f"{many}, {low:g} to {high:g} cm"

    @property
    def key(self) -> Key:
        """What makes it the same as another."""
        return self.pond, self.deaths

    @property
    def like(self) -> Like:
        """What makes it like another."""
        return like(self.pond, self.deaths)


@dataclass(slots=True)
class There:
    """Entries of the book on the days of a file, those struck through on purpose as well.

    `events` has the older notes of dead fish, in a sentence each.
    """

    same: Counter[Key] = field(default_factory=Counter)
    alike: Counter[Like] = field(default_factory=Counter)
    events: dict[tuple[UUID, date], str] = field(default_factory=dict)


@dataclass(slots=True)
class Sorted:
    """What of a file is new, how much is in the book, and what is like something in the book."""

    fresh: list[PlannedDeaths] = field(default_factory=list)
    doubted: list[tuple[PlannedDeaths, str]] = field(default_factory=list)
    """With the sentence that says why."""
    already: int = 0


def like(pond: UUID, deaths: NewDeaths) -> Like:
    """Pond, day, kind and number of an entry.

    Parameters
    ----------
    pond
        Key of the pond.
    deaths
        The entry.
    """
    return pond, deaths.on_day, key_of(deaths.species), deaths.dead


def entries_there(connection: Connection, items: Sequence[PlannedDeaths]) -> There:
    """What the book has on the days of a file.

    Parameters
    ----------
    connection
        A connection of the book, reading or writing.
    items
        The entries that a file would bring.
    """
    entries, events = table("death_count").c, table("pond_event").c
    days: dict[UUID, set[date]] = {}
    for one in items:
        days.setdefault(one.pond, set()).add(one.deaths.on_day)
    found = There()
    for pond, wanted in days.items():
        first, last = min(wanted), max(wanted)
        query = select(
            entries.on_day, entries.dead, entries.species, entries.length_low_cm,
            entries.length_high_cm, entries.signs, entries.note,
        ).where(entries.pond_id == pond, entries.on_day.between(first, last))  # fmt: skip
        for on_day, dead, species, low, high, signs, note in connection.execute(query):
            known = NewDeaths(on_day, dead, species, low, high, tuple(signs), note)
            found.same[pond, known] += 1
            found.alike[like(pond, known)] += 1
        old = select(events.on_day, events.amount).where(
            events.pond_id == pond, events.kind == "fish_died", events.struck_at.is_(None),
            events.on_day >= first, events.on_day <= last,
        )  # fmt: skip
        for on_day, amount in connection.execute(old):
            died = "fish died" if amount is None else f"{amount:.0f} fish died"
            found.events[pond, on_day] = (
                f"An event of {day_said(on_day)} says that {died}, and counts too."
            )
    return found


def sorted_out(items: Sequence[PlannedDeaths], there: There) -> Sorted:
    """Which entries are new, which are there, and which may be.

    Parameters
    ----------
    items
        The entries of a file, in its order.
    there
        What the book has.
    """
    found = Sorted()
    free = Counter(there.alike)
    left = []
    for one in items:
        if one.nth <= there.same[one.key]:
            found.already += 1
            free[one.like] -= 1
        else:
            left.append(one)
    for one in left:
        event = there.events.get((one.pond, one.deaths.on_day), "")
        if free[one.like] > 0:
            free[one.like] -= 1
            if not one.deaths.dead:
                found.already += 1
                continue
            said = f"{one.words} of {day_said(one.deaths.on_day)} are in the book already."
            found.doubted.append((one, said))
        elif event and one.deaths.dead:
            found.doubted.append((one, event))
        else:
            found.fresh.append(one)
    return found

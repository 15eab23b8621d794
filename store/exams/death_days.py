"""Dead fish by the day, as the page of a pond lists them among everything else that happened."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from uuid import UUID

from store.exams.deaths import DeathCount
from store.facts.signs import signs as known_signs
from store.watch.stock import key_of


@dataclass(frozen=True, slots=True)
class DeathDay:
    """The dead of one day, or a run of entries in which somebody looked and found none.

    `says` is a line in words; `beside` the notes, or why it was struck through. `days` counts the
    days of such a run, from `first` to `on_day`; `by` is who made the newest of the entries.
    """

    on_day: date
    first: date
    days: int
    dead: int
    says: str
    beside: str
    by: UUID | None
    struck: bool = False


def death_days(entries: Iterable[DeathCount]) -> tuple[DeathDay, ...]:
    """Entries of dead fish day by day, newest first; entries of none between two deaths as one.

    Parameters
    ----------
    entries
        Of one pond, from `deaths_of`; those struck through stay by themselves.

    Returns
    -------
    tuple of DeathDay
        Within a day the kinds are added up, and every sign is named once.
    """
    kept = sorted(entries, key=lambda one: (one.on_day, one.created_at, one.id), reverse=True)
    found = [_struck(one) for one in kept if one.struck_at is not None]
    days = [
        (day, list(of))
        for day, of in groupby(
            (one for one in kept if one.struck_at is None), key=lambda one: one.on_day
        )
    ]
    for some, run in groupby(days, key=lambda day: any(one.dead for one in day[1])):
        if some:
            found += [_died(day, of) for day, of in run]
        else:
            found.append(_none([one for _, of in run for one in of]))
    return tuple(sorted(found, key=lambda one: (one.on_day, not one.struck), reverse=True))


def _died(day: date, of: list[DeathCount]) -> DeathDay:
    """A day on which fish died; an entry of none beside them says nothing more."""
    dead = [one for one in of if one.dead]
    return DeathDay(
        day, day, 1, sum(one.dead for one in dead), _said(dead), _notes(of), dead[0].created_by
    )


def _none(of: list[DeathCount]) -> DeathDay:
    first, last = of[-1].on_day, of[0].on_day
    days = len({one.on_day for one in of})
    says = "none found dead" if days == 1 else f"none found dead on {days} days"
    return DeathDay(last, first, days, 0, says, _notes(of), of[0].created_by)


def _struck(one: DeathCount) -> DeathDay:
    says = _said([one]) if one.dead else "none found dead"
    return DeathDay(one.on_day, one.on_day, 1, one.dead, says, one.struck_why, one.created_by, True)


def _said(dead: list[DeathCount]) -> str:
    """The kinds with their numbers, and all signs, such as `2 koi dead; eyes sunken`."""
    kinds: dict[str, tuple[str, int]] = {}
    for one in reversed(dead):
        name, so_far = kinds.get(key_of(one.species), (one.species.strip() or "fish", 0))
        kinds[key_of(one.species)] = (name, so_far + one.dead)
    many = ", ".join(f"{number:,} {name}" for name, number in kinds.values())
    known = known_signs()
    codes = dict.fromkeys(code for one in reversed(dead) for code in one.signs)
    seen = ", ".join(known[code].words if code in known else code for code in codes)
    return f"{many} dead" + (f"; {seen}" if seen else "")


def _notes(of: list[DeathCount]) -> str:
    return " ".join(one.note.strip() for one in reversed(of) if one.note.strip())

"""When a withdrawal is likely to be over, by estimate of the water to come.

It frees no fish: until when they must not be eaten is said by `store.courses.kept.withdrawal_of`
alone, from what was measured and the colder water that may follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from store.book.book import Book
from store.text import day_said
from store.warmth.dates import FAR_DAYS, TOGETHER, Reached, last_of, onwards, reached, said
from store.warmth.kept.estimates import estimates_far

if TYPE_CHECKING:
    from store.courses.food.needs import Met
    from store.courses.kept.withdrawal_of import AgentWithdrawal, PondWithdrawal
    from store.warmth.estimate import Ahead

HOLDS = "it frees no fish"
"""Said with every such date."""
STILL_DUE = "Counted from the last dose that was given: each still to come begins the count again."


@dataclass(frozen=True, slots=True)
class LikelyFree:
    """From which day the fish of a pond are likely to be free, and what that rests on.

    `free` are first days after every sum is met, never before the day it is. `says` is one
    sentence, `rests_on` several.
    """

    free: Reached
    says: str
    rests_on: tuple[str, ...]


def likely_free(
    book: Book, found: Sequence[PondWithdrawal], now: datetime
) -> dict[UUID, LikelyFree]:
    """When the fish of some ponds are likely to be free, by estimate.

    Parameters
    ----------
    book
        The practice's book.
    found
        Ponds from `withdrawal_of` or `withdrawals`.
    now
        The present instant, with a time zone.

    Returns
    -------
    dict
        Key of a pond to its days. Only of ponds that wait for a sum of degree-days and for nothing
        that has no day, and of which there is an estimate; empty where no fit is at hand.

    Notes
    -----
    Measured water counts as for the rule; after the newest reading the pond's estimate goes on.
    """
    waiting = [one for one in found if _waits(one)]
    if not waiting:
        return {}
    far = estimates_far(book, (one.card.pond.id for one in waiting), now, FAR_DAYS)
    if far is None:
        return {}
    from store.warmth.words import grounds
    from store.watch.warmth_told import names_of

    answers = {}
    for one in waiting:
        key = one.card.pond.id
        ahead, estimate = far.ahead(key), far.told(key)
        if ahead is None or estimate is None:
            continue
        free = last_of(_all(one, ahead))
        if free is None:
            continue
        free = free.not_before(one.today)
        with book.reading() as connection:
            names = names_of(connection, (each.pond for each in estimate.neighbours))
        measured = max((each.water.newest or date.min for each in one.agents), default=date.min)
        until = f"Measured until {day_said(measured)}. " if measured > date.min else ""
        season, *others = grounds(estimate, names)
        day = "" if free.expected is None else f"Expected on {day_said(free.expected)}. "
        rests_on = (f"{day}{until}{season}", *others, TOGETHER)
        if any(each.given.still_due for each in one.agents):
            rests_on = (STILL_DUE, *rests_on)
        answers[key] = LikelyFree(free, _says(free, one.today), rests_on)
    return answers


def _says(free: Reached, today: date) -> str:
    if free.expected is not None and free.expected <= today:
        return (
            "By estimate the sum may be met by now; only measured water frees fish: read the "
            "temperature."
        )
    return f"Likely free {said(free)} by estimate; {HOLDS}."


def _waits(one: PondWithdrawal) -> bool:
    """Whether a day is missing that a sum of degree-days alone would give."""
    if one.use != "food" or one.barred or one.beside or one.state not in {"running", "no day"}:
        return False
    if any(each.free_from is None for each in one.written):
        return False
    left = _open(one)
    return any(got.need.kind == "degree-days" for got in left) and all(
        got.need.amount is not None for got in left
    )


def _open(one: PondWithdrawal) -> list[Met]:
    """The conditions that the record does not meet yet and that the fish wait for."""
    return [got for agent in one.agents for got in agent.met if got.need.binds and not got.over]


def _all(one: PondWithdrawal, ahead: Ahead) -> list[Reached]:
    until = date.fromordinal(ahead.first + len(ahead.means_c) - 1)
    days = [each.free_from for each in one.written if each.free_from is not None]
    found = [Reached(day, day, day, until) for day in days]
    for agent in one.agents:
        found += [
            _free(agent, got, ahead, until)
            for got in agent.met
            if got.need.binds and got.need.amount is not None
        ]
    return found


def _free(agent: AgentWithdrawal, got: Met, ahead: Ahead, until: date) -> Reached:
    if got.need.kind != "degree-days" or got.over:
        return Reached(got.late, got.late, got.late, until)
    water = agent.water
    path = onwards(water.known_c, water.last_dose.toordinal() + 1, ahead)
    return reached(path, got.need.amount or 0.0).later(1)

"""What is said when fish leave a pond that was treated: who receives them must know."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from store.courses.kept.withdrawal_of import LEAVES, AgentWithdrawal, PondWithdrawal
from store.text import day_said

__all__ = ["LEAVES", "Leaving", "leaving"]


@dataclass(frozen=True, slots=True)
class Leaving:
    """What is said; `stops` where the entry must name whom it was told to."""

    stops: bool
    said: str


def leaving(found: PondWithdrawal, on_day: date) -> Leaving | None:
    """What must be said when fish leave a pond on a day; None where nothing stands against it.

    Parameters
    ----------
    found
        The pond, from `withdrawal_of`.
    on_day
        The calendar day on which they leave or left.

    Returns
    -------
    Leaving or None
        A stop where the fish are not for eating on that day, or nobody said whether they may be;
        for a pond declared ornamental a reminder that does not stop.
    """
    treated = [one for one in found.agents if one.given.first_day <= on_day]
    written = [one for one in found.written if one.runs(on_day)]
    beside = [one for one in found.beside if one.on_day <= on_day]
    barred_here = found.barred and found.use == "food"
    if not treated and not written and not beside and not barred_here:
        return None
    given = [
        f"{one.given.name}, last {'fed' if one.given.fed else 'given'} "
        f"{day_said(one.given.last_day)}"
        for one in treated
        if found.use != "food" or _waits(one, on_day)
    ]
    names = ", ".join(
        [
            *given,
            *(one.note or "as written down" for one in written),
            *(f"{one.name} on {day_said(one.on_day)}" for one in beside),
        ]
    )
    if found.use == "ornamental":
        return Leaving(
            False,
            f"These fish were treated ({names}) and are declared ornamental: never for eating, "
            "also not where they go. Say it to whoever receives them.",
        )
    if found.use == "not asked":
        return Leaving(
            True,
            f"These fish were treated ({names}), and nobody has said whether they may be eaten. "
            "Ask the owner, and say it to whoever receives them; local law decides.",
        )
    if found.barred:
        bars = ", ".join(one.substance for one in found.barred)
        return Leaving(
            True,
            f"Not for eating, ever: {bars} was given. Say it to whoever receives them; local law "
            "decides.",
        )
    waiting = [one for one in treated if _waits(one, on_day)]
    free = [*(one.late for one in waiting), *(one.free_from for one in written),
            *(None for _ in beside)]  # fmt: skip
    if not free:
        return None
    days = [one for one in free if one is not None]
    until = f"before {day_said(max(days))}" if len(days) == len(free) else "until a vet says so"
    return Leaving(
        True,
        f"Not for eating {until}: {names}. Say it to whoever receives them; local law decides.",
    )


def _waits(one: AgentWithdrawal, on_day: date) -> bool:
    if not any(need.binds for need in one.needs):
        return False
    return one.late is None or on_day < one.late

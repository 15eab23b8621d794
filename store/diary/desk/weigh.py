"""How heavy a promise weighs on the desk: what hangs on it, times how late it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, time

from store.diary.desk.due import DueLine, Promised
from store.facts.follow_ups import FollowUpKind
from store.water.given import figures

AHEAD_DAYS = 7.0
"""So many days before its day a promise weighs half of what it does on it; common practice,
without a source [d]."""
RING_NOW = 4.0
"""How many times its stake a ring-back weighs once its hour has come: somebody waits beside the
telephone; common practice, without a source [-]."""
_DAY_MIN = 1440


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a promise weighs.

    `late_days` counts from the last day of its window, below zero while days are left [d];
    `weight` orders the desk, without a unit; `weighed` is its arithmetic with the numbers put in.
    """

    late_days: int
    weight: float
    weighed: str


def weigh(
    promised: Promised,
    kind: FollowUpKind,
    today: date,
    *,
    at: time | None = None,
    ring_at: time | None = None,
) -> Weighed:
    """How heavy a promise weighs, by what hangs on it and how late it is.

    Beyond its window it weighs stake × (1 + late days ÷ tolerance days); from its day to the end of
    the window the stake; before its day stake ÷ (1 + days ahead ÷ 7). A concern weighs once more
    for each doubling beyond its limit: × (1 + log2 severity). What bears less than a day weighs
    more by each hour of its last day. A ring-back whose hour has come weighs four times its stake,
    and more by each day. All of it is common practice.

    Parameters
    ----------
    promised
        The promise.
    kind
        What hangs on its kind.
    today
        The practice's calendar day.
    at
        The practice's time of day; None counts as the end of the day.
    ring_at
        The hour at which the client is to be rung back; None where none was said, and the hour
        has come with its day.

    Returns
    -------
    Weighed
        A later day never weighs less; neither does a kind with more at stake and no smaller share
        of it lost a day.

    Examples
    --------
    >>> from store.facts.follow_ups import follow_up_kinds
    >>> from uuid import UUID
    >>> day = date(2026, 3, 10)
    >>> dose = Promised("dose:0", "dose", UUID(int=1), None, None, "dose 2 of 3", "", "course", "",
    ...                 None, day, day, date(2026, 3, 11), "visit")
    >>> weigh(dose, follow_up_kinds()["dose"], date(2026, 3, 13)).weighed
    'dose of a course: stake 8 × (1 + 2 d late ÷ 1 d) = 24'
    """
    late, ahead = (today - promised.last_on).days, (promised.due_on - today).days
    stake, bears = figures(kind.stake), figures(kind.tolerance_days)
    if kind.code == "ring_back" and _has_come(promised.due_on, today, at, ring_at):
        waited = max(late, 0)
        weight = kind.stake * (RING_NOW + waited / kind.tolerance_days)
        said = f"stake {stake} × ({RING_NOW:g}, its hour has come, + {waited} d ÷ {bears} d)"
    elif late == 0 and kind.tolerance_days < 1.0:
        gone = 1.0 if at is None else (60 * at.hour + at.minute) / _DAY_MIN
        weight = kind.stake * (1.0 + gone / kind.tolerance_days)
        said = f"stake {stake} × (1 + {figures(gone, 2)} of its last day gone ÷ {bears} d)"
    elif late > 0:
        weight = kind.stake * (1.0 + late / kind.tolerance_days)
        said = f"stake {stake} × (1 + {late} d late ÷ {bears} d)"
    elif ahead > 0:
        weight = kind.stake / (1.0 + ahead / AHEAD_DAYS)
        said = f"stake {stake} ÷ (1 + {ahead} d ahead ÷ {AHEAD_DAYS:g} d)"
    else:
        weight, said = kind.stake, f"stake {stake}, within its window"
    if promised.severity > 1.0:
        weight *= 1.0 + math.log2(promised.severity)
        said += f" × (1 + log2 {figures(promised.severity)}), its severity (1 is at the limit)"
    return Weighed(late, weight, f"{kind.label}: {said} = {figures(weight)}")


def _has_come(day: date, today: date, at: time | None, ring_at: time | None) -> bool:
    if day != today:
        return day < today
    return at is None or ring_at is None or at >= ring_at


def last_fitting(promised: Promised, kind: FollowUpKind, today: date) -> int:
    """How many days from today a visit still fits a promise.

    Parameters
    ----------
    promised
        The promise.
    kind
        What hangs on its kind.
    today
        The practice's calendar day.

    Returns
    -------
    int
        To the end of its window; once that has passed, the days of lateness that count as much
        again as its stake, at least one [d].
    """
    left = (promised.last_on - today).days
    return left if left >= 0 else max(1, math.ceil(kind.tolerance_days))


def desk_order(line: DueLine) -> tuple[bool, float, date, str, str, str]:
    """Where a line stands: what is booked within its window behind, else the heaviest first.

    Parameters
    ----------
    line
        The line.
    """
    booked = line.booked is not None and line.booked.in_window
    return (
        booked, -line.weight, line.promised.due_on, line.client.casefold(), line.pond.casefold(),
        line.promised.about,
    )  # fmt: skip

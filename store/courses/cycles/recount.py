"""From which day on a count after a course shows more than grown parasites killed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.courses.cycles.coverage import covers
from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.hazards import hazards
from store.facts.life_cycles import life_cycles
from store.text import day_said


@dataclass(frozen=True, slots=True)
class Recount:
    """The day after which everything that the last dose did not reach has shown itself.

    `after` is None where nothing outlives a dose, or where it cannot be reckoned; `known` tells the
    two apart, and `said` says it in words.
    """

    hazard: str
    after: date | None
    known: bool
    said: str
    arithmetic: str
    source: str
    standing: Standing | None
    remarks: tuple[str, ...]


def recount(hazard: str, last_dose: date, temps_c: float | Sequence[float | None]) -> Recount:
    """After which day to count again, from the life cycle at the pond's temperatures.

    Parameters
    ----------
    hazard
        Code of the hazard.
    last_dose
        Day of the last dose that was given.
    temps_c
        Daily mean water temperatures from that day on, None for a missing day; the last one stands
        for the days that follow. Empty where none is known [°C].

    Returns
    -------
    Recount
        The day on which the last egg laid until the last dose may have hatched, or a whole cycle
        is over, by the longest that the published points allow.

    Notes
    -----
    It is the end that `covers` reckons for one dose on that day: what hatches later was laid after
    the course.

    Examples
    --------
    >>> recount("gill_flukes", date(2026, 5, 3), 20.0).said
    'Gill flukes lay eggs that outlive a dose: count again after 11 May 2026.'
    """
    name = hazards()[hazard].plain_name.capitalize()
    cycle = life_cycles().get(hazard)
    if cycle is None:
        return _unknown(hazard, f"{name}: no timing by temperature is published.")
    if cycle.timing == "none":
        said = f"{name}: nothing that outlives a dose is waited for."
        return Recount(hazard, None, True, said, "", cycle.source, cycle.standing, ())
    if isinstance(temps_c, Sequence) and not any(one is not None for one in temps_c):
        return _unknown(
            hazard,
            f"{name}: no water temperature is known since the last dose, so that the day of the "
            "next hatch cannot be reckoned.",
        )
    try:
        found = covers((0.0,), hazard, temps_c)
    except BadInput as trouble:
        return _unknown(
            hazard, f"{trouble.message} From which day a count tells more is not known."
        )
    if found.end_day is None:
        return _unknown(hazard, f"{name}: how long it takes is not published.")
    after = last_dose + timedelta(math.ceil(found.end_day - 1e-9))
    why = (
        "lay eggs that outlive a dose"
        if cycle.timing == "eggs"
        else "have stages that outlive a dose"
    )
    if not name.endswith("s") or name.endswith("ss"):
        why = why.replace("lay ", "lays ", 1).replace("have ", "has ", 1)
    return Recount(
        hazard, after, True, f"{name} {why}: count again after {day_said(after)}.",
        found.arithmetic, found.source, found.standing, found.remarks[:-1],
    )  # fmt: skip


def _unknown(hazard: str, said: str) -> Recount:
    return Recount(hazard, None, False, said, "", "", None, ())

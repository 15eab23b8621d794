"""How long fish that came are kept apart and watched: as long as deaths came after contact."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from store.text import day_said
from store.watch.suspected import days_to_death

HAZARD = "khv"
CONTACT_DAYS = 60.0
"""So long where the water is colder than anything published (common practice) [d]."""


@dataclass(frozen=True, slots=True)
class NewFishWatch:
    """Until when new fish are watched, in a few words and in full with the publication."""

    until: date
    short: str
    said: str


def watch_new_fish(on_day: date, temp_c: float | None) -> NewFishWatch | None:
    """Until when fish that came on a day may still fall ill of koi herpesvirus.

    Parameters
    ----------
    on_day
        The calendar day on which they came.
    temp_c
        The water [°C]; None where it is not known, then every published point counts.

    Returns
    -------
    NewFishWatch or None
        The most days of the published points on both sides of the temperature; None where nothing
        is published.

    Notes
    -----
    It is the longest time to deaths that was seen, and no proof of health: fish infected in the
    cold fall ill when it warms.

    Examples
    --------
    >>> watch_new_fish(date(2026, 5, 1), 23.0).until
    datetime.date(2026, 5, 21)
    """
    spans = days_to_death(HAZARD, temp_c, temp_c, CONTACT_DAYS)
    if spans is None:
        return None
    until = on_day + timedelta(days=ceil(spans.high_days))
    where = "temperature not known" if temp_c is None else f"{temp_c:.1f} °C now"
    return NewFishWatch(
        until,
        f"keep apart until {day_said(until)}",
        f"Keep them apart and watch for koi herpesvirus until {day_said(until)} ({where}): from "
        f"contact to deaths {spans.said} ({spans.source}). Fish infected in the cold fall ill when "
        "it warms, and a quarantine tank needs a ripe filter and its ammonia measured daily "
        "(common practice).",
    )

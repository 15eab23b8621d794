"""Why a thermometer reading is asked for, in sentences and with its arithmetic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from store.diary.desk.ask import Undecided
from store.text import day_said, joined
from store.warmth.estimate import EstimatedDay
from store.warmth.words import in_words
from store.watch.kinds.window_ahead import percent
from store.water.given import figures

NAMED = 2
"""So many windows are named in the sentence."""


def band_said(low_c: float, high_c: float) -> str:
    """A band of temperature in words.

    Parameters
    ----------
    low_c, high_c
        Its ends [°C]; one may be infinite.

    Examples
    --------
    >>> band_said(15.0, 28.0), band_said(15.0, math.inf)
    ('15 to 28 °C', 'from 15 °C')
    """
    if math.isinf(low_c):
        return f"up to {high_c:g} °C"
    return f"from {low_c:g} °C" if math.isinf(high_c) else f"{low_c:g} to {high_c:g} °C"


def because(
    day: EstimatedDay,
    undecided: Sequence[Undecided],
    waits: str,
    last_on: date | None,
    last_c: float | None,
    today: date,
) -> str:
    """Why a reading is asked for: the estimate, the last reading, the windows with their chances.

    Parameters
    ----------
    day
        The estimate of today.
    undecided
        The windows that it leaves open, what is worth most first; `NAMED` of them are named.
    waits
        Which course waits for the temperature; empty for none.
    last_on, last_c
        The newest day that was measured, and its mean [°C].
    today
        The practice's calendar day.
    """
    said = [f"By estimate {in_words(day)}; {_said_last(last_on, last_c, today)}."]
    windows = [_said_window(one, today) for one in undecided[:NAMED]]
    more = len(undecided) - NAMED
    if more > 0:
        windows.append(f"and of {more} more")
    if windows:
        said.append(f"Chance of lying in the window of {joined(windows)}.")
    if waits:
        said.append(f"A course waits for the water's temperature: {waits.rstrip('.')}.")
    return " ".join(said)


def _said_window(one: Undecided, today: date) -> str:
    when = "today" if one.on_day == today else f"on {day_said(one.on_day)}"
    band = joined((one.band, one.weighs))
    return f"{one.name} ({band}) {when} {percent(100.0 * one.chance)}"


def _said_last(last_on: date | None, last_c: float | None, today: date) -> str:
    if last_on is None or last_c is None:
        return "nobody has read it lately"
    days = (today - last_on).days
    ago = "yesterday" if days == 1 else f"{days} days ago"
    return f"last read {ago}, {last_c:.1f} °C"


def weighed(worth: float, undecided: Sequence[Undecided], waiting: float) -> str:
    """The arithmetic of what a reading is worth, with the numbers put in.

    Parameters
    ----------
    worth
        All of it [-].
    undecided
        The windows that an estimate leaves open.
    waiting
        The part for a course that waits for the temperature [-].
    """
    parts = [
        f"{one.name} {_least(one.chance)} × {figures(one.weight)} = {figures(one.worth, 2)}"
        for one in undecided
    ]
    if waiting > 0.0:
        parts.append(f"course 0.5 × {figures(2.0 * waiting)} = {figures(waiting, 2)}")
    return f"{joined(parts)}; together {figures(worth, 2)}"


def _least(chance: float) -> str:
    said = percent(100.0 * chance)
    return said if chance <= 0.5 else f"(1 − {said})"

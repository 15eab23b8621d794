"""Which days are searched for a slot, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.diary.booking.said import said_window
from store.diary.booking.values import Purpose
from store.text import day_said

HORIZON_DAYS = 28
"""How far is searched where no window says how far [d]."""
BEYOND_DAYS = 14
"""How far behind a window is searched where it has no free hour [d]."""


@dataclass(frozen=True, slots=True)
class Search:
    """The days that are searched, both included.

    `first` to `last` are searched; up to `furthest` what lies between is only proposed where
    nothing before it is free. `window` are the first and last day of the promises, None without
    any; `due_on` the day that was promised and `aim_on` the searched day nearest to it. `is_later`
    tells that the search begins behind today without a window asking for it. `said` are sentences.
    """

    first: date
    last: date
    furthest: date
    window: tuple[date, date] | None
    due_on: date | None
    aim_on: date | None
    is_later: bool
    said: tuple[str, ...]


def searched(purposes: Sequence[Purpose], today: date, first: date | None = None) -> Search:
    """The days to search for a visit that is to keep some promises.

    Parameters
    ----------
    purposes
        The promises; all windows are to hold. Where they share no day, the one that closes first
        counts.
    today
        The practice's calendar day.
    first
        Search from this day on; None from today.

    Returns
    -------
    Search
        Never a day before today. A window that has closed is searched from now on as if there were
        none, and this is said.

    Examples
    --------
    >>> found = searched((), date(2026, 2, 10))
    >>> str(found.first), str(found.last)
    ('2026-02-10', '2026-03-10')
    """
    begin = max(today, first or today)
    later = begin > today
    free_end = begin + timedelta(days=HORIZON_DAYS)
    if not purposes:
        said = f"Looked from {day_said(begin)} to {day_said(free_end)}."
        return Search(begin, free_end, free_end, None, None, None, later, (said,))
    told: list[str] = []
    window = max(one.first_on for one in purposes), min(one.last_on for one in purposes)
    leading = min(purposes, key=lambda one: (one.last_on, one.first_on))
    if window[0] > window[1]:
        others = [one.says for one in purposes if not _share(one, leading)]
        told.append(
            f"The windows of “{leading.says}” and “{'”, “'.join(others) or 'the others'}” share no "
            f"day; the one that closes first counts, {said_window(leading)}."
        )
        window = leading.first_on, leading.last_on
    due = leading.due_on
    promised = min(max(due, window[0]), window[1])
    if window[1] < begin:
        told.append(
            f"“{leading.says}” was to be kept by {day_said(window[1])}. Looked from "
            f"{day_said(begin)} to {day_said(free_end)}."
        )
        return Search(begin, free_end, free_end, window, due, begin, later, tuple(told))
    around = timedelta(days=HORIZON_DAYS)
    start = max(begin, window[0], promised - around)
    last = min(window[1], max(promised, start) + around)
    to = f"from {day_said(start)} to {day_said(last)}" if start < last else f"on {day_said(start)}"
    told.append(f"Looked {to}{_said_within(window, start, last)}.")
    furthest, aim = last + timedelta(days=BEYOND_DAYS), max(promised, start)
    later = later and start == begin
    return Search(start, last, furthest, window, due, aim, later, tuple(told))


def _said_within(window: tuple[date, date], first: date, last: date) -> str:
    """The window beside the days that are searched, told once for all that is proposed."""
    if window == (first, last):
        return f", the {'day' if first == last else 'days'} on which it counts as kept"
    return f"; it counts as kept from {day_said(window[0])} to {day_said(window[1])}"


def _share(one: Purpose, other: Purpose) -> bool:
    return one.first_on <= other.last_on and other.first_on <= one.last_on

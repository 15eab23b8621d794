"""How a departure from the season fades, and what is known of it on a day from readings of others.

A departure is told in units of its pond's usual departure. Two departures go together as

    likeness of the two ponds x (0.45 exp(-days / 4) + 0.55 exp(-days / 45)),

a quick part that lives as long as a spell of weather and a slow one that lives for weeks. The best
guess from any readings, with its spread, is then a weighted sum of them (simple kriging, see
Cressie, Statistics for Spatial Data, 1993, section 3.2, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from store.warmth.values import Floats, Marks, Whole

QUICK_SHARE, QUICK_DAYS = 0.45, 4.0
SLOW_SHARE, SLOW_DAYS = 0.55, 45.0
"""By the replay of 32 open series of daily water temperature; see the check beside the tests."""
OWN_BACK_DAYS, OWN_MOST, OWN_THIN = 64, 12, 4
OTHER_BACK_DAYS, OTHER_MOST, OTHER_THIN = 30, 5, 1
"""Readings that are used: from so many days back, at most so many, the newest first; between two
lies at least a day and this fraction (a fourth, a whole) of the nearer one's age."""
NEAREST_BACK_DAYS = 7
"""How old a neighbour's newest reading may be where thousands of readings are held against it."""
_LEAST_NOISE = 0.02
_ROWS = 1024


class Known(NamedTuple):
    """Readings to guess from, a row for each guess; unused places are not marked."""

    departure: Floats
    """In units of the usual departure of its pond, shape (guesses, readings)."""
    day: Whole
    slot: Whole
    """0 for the pond itself, 1 and more for its neighbours in their order."""
    noise: Floats
    """Variance of the reading in the same units squared."""
    marked: Marks


def fades(days: Floats) -> Floats:
    """How much two departures of one pond so many days apart go together, 0 to 1.

    Parameters
    ----------
    days
        Days between them, of either sign.
    """
    import numpy as np

    apart = np.abs(days)
    return np.asarray(
        QUICK_SHARE * np.exp(-apart / QUICK_DAYS) + SLOW_SHARE * np.exp(-apart / SLOW_DAYS)
    )


def _table(most: int) -> Floats:
    import numpy as np

    return fades(np.arange(most + 1, dtype=float))


def last_known(marked: Marks) -> Whole:
    """For every pond and day the newest day up to it that is marked; far in the past for none.

    Parameters
    ----------
    marked
        Days with a reading that may be used, shape (ponds, days).
    """
    import numpy as np

    places = np.where(marked, np.arange(marked.shape[1]), -(10**6))
    return np.maximum.accumulate(places, 1)


def chosen(last: Whole, pond: Whole, day: Whole, back_days: int, most: int, thin: int) -> Whole:
    """The newest readings up to a day; of a pond with many, further apart the older they are.

    Where all of them are used, one more cannot make an estimate less certain.

    Parameters
    ----------
    last
        From `last_known`.
    pond, day
        Of each guess: which pond, and seen from which day; index into `last`.
    back_days, most, thin
        From how many days back [d], how many readings, and how they are thinned out where there
        are more: between two lies at least a day and one part in `thin` of the nearer one's age.

    Returns
    -------
    array
        Days, -1 for none; shape (guesses, most).
    """
    every = _picked(last, pond, day, back_days, most, 0)
    many = every[:, -1] >= 0
    if most > 1 and many.any():
        every[many] = _picked(last, pond[many], day[many], back_days, most, thin)
    return every


def _picked(last: Whole, pond: Whole, day: Whole, back_days: int, most: int, thin: int) -> Whole:
    import numpy as np

    found = np.full((len(pond), most), -1, dtype=np.int64)
    upto = day
    for at in range(most):
        newest = np.where(upto >= 0, last[pond, np.maximum(upto, 0)], -1)
        found[:, at] = np.where(newest >= day - back_days, newest, -1)
        apart = (day - newest) // thin if thin else 0
        upto = np.where(found[:, at] >= 0, newest - 1 - apart, -1)
    return found


def gathered(
    departure: Floats,
    noise: Floats,
    last: Whole,
    pond: Whole,
    day: Whole,
    neighbours: Whole,
    *,
    own_last: Whole | None = None,
    own_noise: Floats | None = None,
    hidden_days: int = 0,
    own: bool = True,
    nearest: bool = False,
) -> Known:
    """What is known for each guess, seen from its day.

    Parameters
    ----------
    departure, noise
        By pond and day, in units of the usual departure.
    last
        From `last_known` of the readings that may be used.
    pond, day
        Of each guess.
    neighbours
        Of every pond its neighbours, -1 for none; shape (ponds, neighbours).
    own_last
        From `last_known` of the readings that may be used of the pond itself; None for the same.
    own_noise
        As `noise`, where readings are believed more of the pond itself; None for the same.
    hidden_days
        The pond's own readings of so many days up to the day are not looked at.
    own
        Whether its own readings are looked at.
    nearest
        Whether only the newest reading of each neighbour is looked at, of a week.
    """
    import numpy as np

    days, ponds, slots = [], [], []
    if own:
        mine = last if own_last is None else own_last
        days.append(chosen(mine, pond, day - hidden_days, OWN_BACK_DAYS, OWN_MOST, OWN_THIN))
        ponds.append(np.repeat(pond[:, None], OWN_MOST, 1))
        slots.append(np.zeros_like(days[-1]))
    back_days, most = (NEAREST_BACK_DAYS, 1) if nearest else (OTHER_BACK_DAYS, OTHER_MOST)
    for at in range(neighbours.shape[1]):
        other = neighbours[pond, at]
        found = chosen(last, np.maximum(other, 0), day, back_days, most, OTHER_THIN)
        days.append(np.where((other >= 0)[:, None], found, -1))
        ponds.append(np.repeat(np.maximum(other, 0)[:, None], most, 1))
        slots.append(np.full_like(found, at + 1))
    if not days:
        empty = np.zeros((len(pond), 0))
        return Known(empty, empty.astype(int), empty.astype(int), empty, empty.astype(bool))
    when, who, slot = np.concatenate(days, 1), np.concatenate(ponds, 1), np.concatenate(slots, 1)
    marked = when >= 0
    at_day = np.maximum(when, 0)
    uncertain = noise[who, at_day]
    if own_noise is not None:
        uncertain = np.where(slot == 0, own_noise[who, at_day], uncertain)
    return Known(
        np.where(marked, departure[who, at_day], 0.0),
        when,
        slot,
        np.where(marked, np.maximum(uncertain, _LEAST_NOISE), 1.0),
        marked,
    )


def guess(known: Known, pond: Whole, likeness: Floats, targets: Whole) -> tuple[Floats, Floats]:
    """The departure on some days, and its variance, from what is known.

    Parameters
    ----------
    known
        From `gathered`.
    pond
        Of each guess.
    likeness
        Of every pond the likeness of itself and its neighbours to one another, a positive definite
        matrix; shape (ponds, slots, slots).
    targets
        Days to guess, shape (guesses, days).

    Returns
    -------
    tuple of array
        Departure and variance in units of the usual departure, shape (guesses, days). With nothing
        known the departure is 0 and the variance 1.
    """
    import numpy as np

    mean = np.zeros(targets.shape)
    variance = np.ones(targets.shape)
    if not known.marked.any():
        return mean, variance
    diagonal = np.arange(known.day.shape[1])
    seen = np.where(known.marked, known.day, 0)
    most = 0
    if known.marked.any():
        newest = max(int(seen.max()), int(targets.max()))
        most = newest - min(int(known.day[known.marked].min()), int(targets.min()))
    table = _table(most)
    for first in range(0, len(pond), _ROWS):
        rows = slice(first, first + _ROWS)
        marked, slot, who = known.marked[rows], known.slot[rows], pond[rows]
        day = np.where(marked, known.day[rows], known.day[rows].max(1, keepdims=True))
        day = np.where(day < 0, targets[rows, :1], day)
        both = marked[:, :, None] & marked[:, None, :]
        between = table[np.abs(day[:, :, None] - day[:, None, :])]
        between *= likeness[who[:, None, None], slot[:, :, None], slot[:, None, :]]
        between *= both
        between[:, diagonal, diagonal] = np.where(marked, 1.0 + known.noise[rows], 1.0)
        towards = table[np.abs(day[:, :, None] - targets[rows, None, :])]
        towards *= (likeness[who[:, None], 0, slot] * marked)[:, :, None]
        weights = np.linalg.solve(between, towards)
        mean[rows] = np.einsum("nkh,nk->nh", weights, known.departure[rows])
        variance[rows] = 1.0 - (weights * towards).sum(1)
    return mean, np.maximum(variance, 1e-6)

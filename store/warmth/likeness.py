"""Which ponds have gone together, and how closely: whose reading says something of whose water.

The likeness of two ponds is how their departures went together, leaning on what two ponds so far
apart are like where few days are shared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from store.warmth.departure import fades

if TYPE_CHECKING:
    from store.warmth.values import Floats, Marks, Trait, Whole

EARTH_KM = 6371.0
NEAR, REACH_KM = 0.8, 800.0
"""Two ponds at one place, and how far apart it falls to a third of that; by the same 32 series,
whose likeness was 0.8 within 50 km, 0.5 at 350 km, 0.4 at 750 km."""
NOT_PLACED = 0.4
"""Where one of two ponds has no coordinates; common practice of this project."""
BEFOREHAND = 12.0
"""What is known beforehand weighs as much as so many separate readings; by the replay."""
ACROSS_DAYS = 3
"""Readings up to so many days apart are compared, since ponds are rarely read on the same day."""
NEIGHBOURS = 6
LEAST = 0.25
"""Ponds less alike than that say nothing of each other."""
MOST = 0.98
_FIRMEST = 0.05
_LIMIT = 4.0


class Likeness(NamedTuple):
    """Neighbours of every pond, most alike first."""

    neighbours: Whole
    """Index of each, -1 for none; shape (ponds, NEIGHBOURS)."""
    matrix: Floats
    """Of the pond itself and its neighbours to one another; shape (ponds, 1 + NEIGHBOURS, same)."""
    alike: Floats
    """Of all ponds to one another."""
    separate: Floats
    """On how many separate readings each rests."""


def beforehand(traits: Sequence[Trait]) -> Floats:
    """How alike ponds are expected to be by where they lie, shape (ponds, ponds).

    Parameters
    ----------
    traits
        Of the ponds; latitude and longitude are looked at.
    """
    import numpy as np

    nan = math.nan
    latitude = np.radians([nan if one.latitude is None else one.latitude for one in traits])
    longitude = np.radians([nan if one.longitude is None else one.longitude for one in traits])
    across = latitude[:, None] - latitude[None, :]
    along = longitude[:, None] - longitude[None, :]
    half = (
        np.sin(across / 2) ** 2
        + np.cos(latitude)[:, None] * np.cos(latitude)[None, :] * np.sin(along / 2) ** 2
    )
    km = 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return np.where(np.isnan(km), NOT_PLACED, NEAR * np.exp(-km / REACH_KM))


def likeness(
    departure: Floats, counts: Floats, expected: Floats, apart: Marks, alone: Marks
) -> Likeness:
    """Neighbours by how departures went together.

    Parameters
    ----------
    departure
        In units of each pond's usual departure, NaN where a day has none or a doubtful one; shape
        (ponds, days).
    counts
        How much each reading counts, from `store.warmth.season.counts_of`.
    expected
        From `beforehand`.
    apart
        Ponds that no other may lean on, and that lean on no other.
    alone
        Ponds without a season of their own: others do not lean on them.

    Returns
    -------
    Likeness
        Ponds of equal likeness stand in the order of the ponds.
    """
    import numpy as np

    known = ~np.isnan(departure)
    there = _short(known)
    value = _short(np.where(known, np.clip(departure, -_LIMIT, _LIMIT), 0.0))
    fade = _short(fades(np.arange(-ACROSS_DAYS, ACROSS_DAYS + 1, dtype=float)))
    together = value @ _spread(value, fade).T
    shared = there @ _spread(there, fade * fade).T
    separate = _short(np.where(known, counts, 0.0)) @ _around(there).T
    separate = (separate + separate.T) / 2.0
    measured = (together + together.T) / np.maximum(shared + shared.T, 1e-6)
    alike = (separate * measured + BEFOREHAND * expected) / (separate + BEFOREHAND)
    alike = np.clip(alike, -MOST, MOST)
    alike[apart] = 0.0
    alike[:, apart] = 0.0
    np.fill_diagonal(alike, 1.0)
    order = alike.copy()
    order[:, alone] = -1.0
    np.fill_diagonal(order, -1.0)
    first = np.argsort(-np.round(order, 9), 1, kind="stable")[:, :NEIGHBOURS]
    close = np.take_along_axis(order, first, 1) >= LEAST
    neighbours = np.where(close, first, -1)
    if neighbours.shape[1] < NEIGHBOURS:
        none = np.full((len(alike), NEIGHBOURS - neighbours.shape[1]), -1)
        neighbours = np.concatenate([neighbours, none], 1)
    return Likeness(neighbours, _firm(alike, neighbours), alike, separate)


def _short(values: Floats | Marks) -> Floats:
    """In single precision: half the memory and time for thousands of ponds."""
    found: Any = values.astype("float32")
    return cast("Floats", found)


def _spread(values: Floats, fade: Floats) -> Floats:
    """Every day with its days around it, each by its share."""
    import numpy as np

    around = len(fade) // 2
    wide = np.pad(values, ((0, 0), (around, around)))
    total = np.zeros_like(values)
    for at, share in enumerate(fade):
        total += share * wide[:, at : at + values.shape[1]]
    return total


def _around(there: Floats) -> Floats:
    """1 on every day with a reading not further off than `ACROSS_DAYS`."""
    import numpy as np

    total = np.cumsum(np.pad(there, ((0, 0), (ACROSS_DAYS + 1, ACROSS_DAYS))), 1)
    width = 2 * ACROSS_DAYS + 1
    return _short(total[:, width:] - total[:, :-width] > 0.5)


def _firm(alike: Floats, neighbours: Whole) -> Floats:
    """The likeness among each pond and its neighbours, made a matrix that some ponds could have."""
    import numpy as np

    own = np.arange(len(alike))[:, None]
    group = np.concatenate([own, neighbours], 1)
    at = np.maximum(group, 0)
    matrix = alike[at[:, :, None], at[:, None, :]]
    there = group >= 0
    matrix = np.where(there[:, :, None] & there[:, None, :], matrix, 0.0)
    places = np.arange(matrix.shape[1])
    matrix[:, places, places] = 1.0
    values, vectors = np.linalg.eigh(matrix)
    firm = (vectors * np.maximum(values, _FIRMEST)[:, None, :]) @ vectors.transpose(0, 2, 1)
    size = np.sqrt(firm[:, places, places])
    return np.asarray(firm / size[:, :, None] / size[:, None, :])

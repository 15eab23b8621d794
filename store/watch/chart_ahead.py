"""The part of a pond's chart that nobody has read: the days since the last reading and to come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from store.warmth.estimate import Doubt, Estimate

_NOON = time(12)


@dataclass(frozen=True, slots=True)
class EstimatedSeries:
    """A pond's temperature by estimate [°C], a day each at noon, old to new.

    Four in five lie between a low and its high. Times are the practice's local time without a zone,
    as those of every series. None of it was measured.
    """

    times: tuple[datetime, ...]
    means: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]


def estimated_series(
    estimate: Estimate | None, doubts: Sequence[Doubt] = ()
) -> EstimatedSeries | None:
    """The days of an estimate on which the pond has no reading of its own, or a doubted one.

    Parameters
    ----------
    estimate
        Of the pond; None where there is none.
    doubts
        Of the same pond, old to new. Where its newest reading is doubted, the days of that run are
        shown as well, so that what was read stands beside what was to be expected.

    Returns
    -------
    EstimatedSeries or None
        None without an estimate.
    """
    if estimate is None:
        return None
    known = estimate.own_last_on or date.min
    if estimate.own_doubted and doubts:
        known = min(known, date.fromordinal(doubts[-1].first.toordinal() - 1))
    days = [one for one in estimate.days if one.day > known]
    return EstimatedSeries(
        tuple(datetime.combine(one.day, _NOON) for one in days),
        tuple(one.mean_c for one in days),
        tuple(one.low_c for one in days),
        tuple(one.high_c for one in days),
    )

"""When a sum that the water makes day by day is met: the expected day, and between which days.

The errors of the days to come go together: weather that is warmer than told stays so for a while,
and a season that is told too warm is so throughout. How far they go together is not known, so they
are taken to go together entirely: the warm path lies above the mean on every day by the same share
of its spread, the cold path below. That is the cautious assumption; independent errors would cancel
in a sum and make the days look surer than they are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from store.text import day_said
from store.warmth.ahead import COLDEST_C, WARMEST_C
from store.warmth.estimate import EIGHTY, Ahead

FAR_DAYS = 366
"""So far ahead such days are looked for; beyond two weeks it is mostly the season [d]."""
TOGETHER = (
    "Errors of the days to come are taken to go together, so that they do not cancel in the sum; "
    "four in five such dates hold."
)
"""What the spread of a date means, for a page or a paper."""

Rate = Callable[[float], float | None]
"""What a day at a temperature [°C] adds to a sum; None where nothing is known, as nothing."""


@dataclass(frozen=True, slots=True)
class Path:
    """The water day by day from `first` on: as measured, then as estimated [°C].

    The three are the same where a day was measured, and None where nothing is known of it.
    """

    first: int
    """Ordinal of the first day."""
    low_c: tuple[float | None, ...]
    mean_c: tuple[float | None, ...]
    high_c: tuple[float | None, ...]


class Reached(NamedTuple):
    """The day on which a sum is met; None where it is not met by `until`.

    Four in five lie from `earliest` to `latest`.
    """

    earliest: date | None
    expected: date | None
    latest: date | None
    until: date
    """The last day that was looked at."""

    def later(self, days: int) -> Reached:
        """The same so many days later, such as the day after the sum is met."""
        early, expected, late = (
            None if one is None else one + timedelta(days) for one in self._days()
        )
        return Reached(early, expected, late, self.until)

    def not_before(self, day: date) -> Reached:
        """The same with every day before another moved to it, since what is over is known."""
        early, expected, late = (None if one is None else max(one, day) for one in self._days())
        return Reached(early, expected, late, self.until)

    def _days(self) -> tuple[date | None, ...]:
        return self.earliest, self.expected, self.latest


def degree_days(temp_c: float) -> float:
    """What a day adds to a sum of degree-days above 0 °C [°C x days].

    Parameters
    ----------
    temp_c
        The day's mean [°C].
    """
    return max(0.0, temp_c)


def onwards(measured_c: Sequence[float | None], first: int, ahead: Ahead) -> Path:
    """The measured water of a pond, carried on by what is estimated.

    Parameters
    ----------
    measured_c
        Daily means from `first` on, None for a day without one; may end before today or be empty
        [°C].
    first
        Ordinal of the first day.
    ahead
        The pond's estimate by day.

    Returns
    -------
    Path
        From `first` to the last day of the estimate. A measured day is never replaced. A day
        without one takes the estimate with its spread; one that lies before the estimate begins
        is not known.
    """
    last = ahead.first + len(ahead.means_c) - 1
    low: list[float | None] = []
    mean: list[float | None] = []
    high: list[float | None] = []
    for at, day in enumerate(range(first, last + 1)):
        read = measured_c[at] if at < len(measured_c) else None
        if read is not None or day < ahead.first:
            low.append(read)
            mean.append(read)
            high.append(read)
            continue
        mean_c, spread_c = ahead.at(day)
        low.append(_water(mean_c - EIGHTY * spread_c))
        mean.append(_water(mean_c))
        high.append(_water(mean_c + EIGHTY * spread_c))
    return Path(first, tuple(low), tuple(mean), tuple(high))


def reached(path: Path, need: float, rate: Rate = degree_days) -> Reached:
    """When the days of a path add up to what is needed.

    Parameters
    ----------
    path
        The water from the first day that counts.
    need
        The sum to be met [°C x days for degree-days, 1 for a whole stage]; at 0 it is met on the
        day before the first.
    rate
        What a day adds at a temperature: `degree_days`, or the share of a stage's development.

    Returns
    -------
    Reached
        With a rate that never falls as the water warms, the warm path gives the earliest day and
        the cold one the latest, and a wider spread never narrows the two. With any other rate the
        earliest and the latest of the three paths are told.

    Examples
    --------
    >>> steady = Ahead(739_000, 739_000, [10.0] * 40, [1.0] * 40)
    >>> found = reached(onwards((), 739_000, steady), 100.0)
    >>> found.expected.toordinal() - 739_000, (found.latest - found.earliest).days
    (9, 3)
    """
    until = date.fromordinal(path.first + len(path.mean_c) - 1)
    days = [_met(path.first, one, need, rate) for one in (path.low_c, path.mean_c, path.high_c)]
    known = [one for one in days if one is not None]
    return Reached(
        min(known, default=None),
        days[1],
        max(known) if len(known) == len(days) else None,
        until,
    )


def last_of(those: Iterable[Reached]) -> Reached | None:
    """The last of several sums that must all be met; None where there are none.

    Parameters
    ----------
    those
        One for each sum.
    """
    found = tuple(those)
    if not found:
        return None
    return Reached(
        _last([one.earliest for one in found]),
        _last([one.expected for one in found]),
        _last([one.latest for one in found]),
        min(one.until for one in found),
    )


def said(found: Reached) -> str:
    """The days in words: `between 27 May and 2 Jun 2026`.

    Parameters
    ----------
    found
        The days.

    Returns
    -------
    str
        To be followed by `by estimate` or the like; never a single day where the spread has more.
    """
    early, late = found.earliest, found.latest
    if early is None:
        return f"not by {day_said(found.until)}"
    if late is None:
        return f"not before {day_said(early)}, and perhaps not by {day_said(found.until)}"
    if early == late:
        return f"on {day_said(early)}"
    begins = day_said(early)
    if early.year == late.year:
        begins = begins.rsplit(" ", 1)[0]
    return f"between {begins} and {day_said(late)}"


def _last(days: Sequence[date | None]) -> date | None:
    known = [one for one in days if one is not None]
    return max(known) if len(known) == len(days) else None


def _water(temp_c: float) -> float:
    return min(max(temp_c, COLDEST_C), WARMEST_C)


def _met(first: int, temps_c: Sequence[float | None], need: float, rate: Rate) -> date | None:
    if need <= 0.0:
        return date.fromordinal(first - 1)
    total = 0.0
    for day, temp_c in enumerate(temps_c, first):
        total += 0.0 if temp_c is None else rate(temp_c) or 0.0
        if total >= need * (1.0 - 1e-9):
            return date.fromordinal(day)
    return None

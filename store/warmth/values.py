"""Plain values of the room: what goes into a fit, and what comes out of it.

Days are ordinals of the proleptic calendar (`date.toordinal`). Temperatures are of the water, one
a pond and day. Ponds stand in the order of their keys, so that the order in which they came cannot
change a number.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Whole = NDArray[np.int64]
    Marks = NDArray[np.bool_]


class Value(NamedTuple):
    """One pond's temperature of one day."""

    pond: UUID
    day: int
    """Ordinal of the calendar day in the practice's zone."""
    temp_c: float
    noise_c: float
    """Standard deviation of what was read about the mean of the day's water [°C]."""


@dataclass(frozen=True, slots=True)
class Trait:
    """What is known of a pond without its readings; None where nobody typed it."""

    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    depth_m: float | None = None
    volume_l: float | None = None
    shade: float | None = None
    """Share of the day in shade, 0 to 1."""
    air: bool = False
    """Whether it is no pond but a series of air temperatures: ponds lean on it, it on none."""
    apart: str = ""
    """Why its water does not follow the weather (`indoor`, `heated`); empty where it does."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Temperatures of ponds by day; NaN where a day has none."""

    ponds: tuple[UUID, ...]
    first_day: int
    temp_c: Floats
    """[°C], shape (ponds, days)."""
    noise_c: Floats
    """[°C], in step with the temperatures."""

    @property
    def days(self) -> int:
        """How many days the grid spans."""
        return int(self.temp_c.shape[1])

    def until(self, day: int) -> Grid:
        """The same ponds up to a day, its last: what came after is left out, a day on which
        nothing was read is empty."""
        import numpy as np

        last = max(day - self.first_day + 1, 0)
        more = ((0, 0), (0, max(last - self.days, 0)))
        temp_c, noise_c = (
            np.pad(one[:, :last], more, constant_values=np.nan)
            for one in (self.temp_c, self.noise_c)
        )
        return Grid(self.ponds, self.first_day, temp_c, noise_c)


def grid_of(values: Sequence[Value], ponds: Sequence[UUID], first_day: int, last_day: int) -> Grid:
    """Values laid out by pond and day; of a pond and day with several, the least uncertain counts.

    Parameters
    ----------
    values
        In any order; what lies outside the days or the ponds is left out.
    ponds
        Each once, in any order.
    first_day, last_day
        The days of the grid, both ends included, as ordinals.

    Returns
    -------
    Grid
        Ponds in the order of their keys.
    """
    import numpy as np

    order = tuple(sorted(set(ponds)))
    place = {pond: at for at, pond in enumerate(order)}
    shape = (len(order), max(last_day - first_day + 1, 0))
    temp_c, noise_c = np.full(shape, np.nan), np.full(shape, np.inf)
    for pond, day, temp, noise in values:
        at, when = place.get(pond), day - first_day
        if at is not None and 0 <= when < shape[1] and noise < noise_c[at, when]:
            temp_c[at, when], noise_c[at, when] = temp, noise
    noise_c[np.isnan(temp_c)] = np.nan
    return Grid(order, first_day, temp_c, noise_c)


def traits_in_order(ponds: Sequence[UUID], traits: Mapping[UUID, Trait]) -> tuple[Trait, ...]:
    """The traits of the ponds of a grid; a pond without any is one of which nothing is known.

    Parameters
    ----------
    ponds
        The ponds of the grid, in their order.
    traits
        By pond.
    """
    nothing = Trait()
    return tuple(traits.get(pond, nothing) for pond in ponds)

"""What a chart over time shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one kind, in the unit in which they are shown.

    Times are local and without a zone, so that the days on the axis are the practice's days. A
    value that is no number breaks the line.
    """

    label: str
    unit: str
    times: tuple[datetime, ...]
    values: tuple[float, ...]
    decimals: int = 1

    def __post_init__(self) -> None:
        if len(self.times) != len(self.values):
            raise ValueError("A series needs a time for every value.")


@dataclass(frozen=True, slots=True)
class Fan:
    """What nobody has read: day by day a mean and the edges of its interval, by estimate.

    In the unit of the first series; times are local and without a zone, old to new.
    """

    times: tuple[datetime, ...]
    means: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]

    def __post_init__(self) -> None:
        if not len(self.times) == len(self.means) == len(self.lows) == len(self.highs):
            raise ValueError("A fan needs a mean and both edges for every time.")


@dataclass(frozen=True, slots=True)
class Limit:
    """A line across the chart, in the unit of the first series."""

    value: float
    label: str


@dataclass(frozen=True, slots=True)
class Band:
    """A range across the chart, in the unit of the first series, for example a hazard's window."""

    low: float
    high: float
    label: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that happened: a dose, a water change, new fish."""

    time: datetime
    label: str


@dataclass(frozen=True, slots=True)
class ChartData:
    """One or two series over a stretch of time, with what gives them meaning.

    The second series has a scale of its own at the right. The forecast goes on from the first
    series, on its scale, and is drawn dimmer; the fan stands beside it in whiskers, never as a
    line. Where `now` lies before the end, an upright line says so. No line is drawn across more
    than `gap_days` without a reading.
    """

    series: tuple[Series, ...]
    start: datetime
    end: datetime
    limits: tuple[Limit, ...] = ()
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    forecast: Series | None = None
    fan: Fan | None = None
    now: datetime | None = None
    gap_days: float = 21.0
    empty: str = "No reading yet."
    """What to do when there is none, in a sentence."""

    def __post_init__(self) -> None:
        if len(self.series) > 2:
            raise ValueError("A chart shows two series at most.")
        if self.start >= self.end:
            raise ValueError("A chart needs an end after its start.")

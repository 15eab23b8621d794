"""What the watch tells: a concern of one pond, and the morning list made of them.

Plain values, loaded without the book, so that a screen can name them before the first record is
read. Every sentence and number that a screen shows about a concern stands here already.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from store.watch.levels import Level


@dataclass(frozen=True, slots=True)
class Concern:
    """One thing about one pond that a rule speaks of."""

    rule: str
    """Code of the rule, for example `ammonia_un_ionised` or `window_gill_flukes`."""
    level: Level
    what: str
    """One clause with its number and unit, at most 34 characters where possible."""
    title: str
    """The rule in words, for example `Un-ionised ammonia`."""
    since: date | None
    """First day of the unbroken run of readings that broke the rule, in the practice's zone."""
    parameter: str
    """The measured or derived code whose series belongs beside this line, or an empty string."""
    value: float | None
    unit: str
    severity: float
    """How far beyond its limit, for ordering within a level (1 is at the limit)."""
    arithmetic: tuple[str, ...]
    """The reckoning, one step a line, with its numbers put in."""
    readings: tuple[str, ...]
    """The readings it rests on, each with its day, and what was typed where that differs."""
    source: str
    """The publication as one line, or that there is none, or that the value is the practice's."""
    standing: str
    remarks: tuple[str, ...]
    """Validity, doubts about the readings, what was not measured."""
    advice: str
    """What to do next, in one or two sentences; the vet decides."""
    or_earlier: bool = False
    """Whether `since` is only the first day known: none of the readings looked at ends the run."""
    stays_in: str = ""
    """Name of the hazard in whose temperature window the pond has stayed, with the temperature in
    `value` where it was measured; empty for everything else."""
    by_estimate: bool = False
    """Whether it rests on an estimate of the water, which nobody has measured; `value` is then the
    chance in percent."""


@dataclass(frozen=True, slots=True)
class Resting:
    """A concern put to rest until a day, with the reason."""

    rule: str
    until: date
    reason: str
    by: str


@dataclass(frozen=True, slots=True)
class Spark:
    """A short series with the scale on which it is to be drawn.

    `values` run from old to new. The foot and head of the scale are the calm and the limit of the
    parameter, not the series' own smallest and largest: a harmless line looks flat. `over` tells
    for each value whether it lies beyond the limit.
    """

    values: tuple[float, ...]
    foot: float
    head: float
    over: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class MorningLine:
    """One pond on the morning list."""

    pond: UUID
    client: str
    site: str
    pond_name: str
    town: str
    level: Level
    what: str
    concerns: int
    """How many concerns stand at this pond, this one included."""
    rule: str
    since: date | None
    last_test: datetime | None
    last_test_day: date | None
    age_days: int | None
    spark: Spark | None
    next_visit: date | None
    severity: float
    resting: int
    """Concerns at this pond that are at rest."""
    or_earlier: bool = False
    """Whether `since` is only the first day known: the list looks less far back than the pond's
    page, and none of the tests it looks at ends the run."""

    @property
    def where(self) -> str:
        """Client and pond in one phrase, the pond left out where it says nothing new."""
        if not self.pond_name or self.pond_name == self.client:
            return self.client
        return f"{self.client}, {self.pond_name}"


@dataclass(frozen=True, slots=True)
class MorningList:
    """Every pond that needs somebody, worst first, and the number of those that do not."""

    now: datetime
    today: date
    practice: str
    lines: tuple[MorningLine, ...]
    """All ponds, worst first; a calm one has the level `calm`."""
    act: int
    watch: int
    unknown: int
    calm: int
    resting: int
    """Ponds that would speak, but whose every concern is at rest."""

    @property
    def total(self) -> int:
        """Number of ponds looked at."""
        return len(self.lines)


@dataclass(frozen=True, slots=True)
class PondWatch:
    """All that the watch has to say of one pond."""

    pond: UUID
    level: Level
    concerns: tuple[Concern, ...]
    at_rest: tuple[tuple[Concern, Resting], ...]
    notes: tuple[Concern, ...]
    """Calm findings: windows in which the pond has stayed, milder limits, events some days ago."""

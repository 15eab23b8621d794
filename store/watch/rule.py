"""A rule as it is in force at one pond, and what it found there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import inf
from typing import NamedTuple, Protocol

from store.facts.rule_numbers import limit
from store.watch.concern import Concern
from store.watch.levels import Level
from store.watch.seen import PondSeen

Said = Callable[[PondSeen, int, Sequence[str]], str]
"""The readings of one test in words: of the pond, of the test at that index, of those codes."""


class Limits(NamedTuple):
    """The limits of a level, outwards from what is good; infinite where there is none."""

    calm_below: float
    watch_below: float
    act_below: float
    calm_above: float
    watch_above: float
    act_above: float
    good_low: float
    """The innermost lower limit: from here up to `good_high` nothing is said."""
    good_high: float

    @classmethod
    def of(cls, params: Mapping[str, float | str]) -> Limits:
        """The limits among the numbers of a rule, whatever their unit."""
        low = [_or(limit(params, f"{level}_below"), -inf) for level in ("calm", "watch", "act")]
        high = [_or(limit(params, f"{level}_above"), inf) for level in ("calm", "watch", "act")]
        return cls(low[0], low[1], low[2], high[0], high[1], high[2], max(low), min(high))

    def judge(self, value: float) -> Finding | None:
        """The worst limit that a value has broken; a value on the limit itself is still good."""
        if self.good_low <= value <= self.good_high:
            return None
        if value > self.good_high:
            if value > self.act_above:
                return _too_high("act", "act_above", value, self.act_above)
            if value > self.watch_above:
                return _too_high("watch", "watch_above", value, self.watch_above)
            return _too_high("calm", "calm_above", value, self.calm_above)
        if value < self.act_below:
            return _too_low("act", "act_below", value, self.act_below)
        if value < self.watch_below:
            return _too_low("watch", "watch_below", value, self.watch_below)
        return _too_low("calm", "calm_below", value, self.calm_below)


def _too_high(level: Level, which: str, value: float, edge: float) -> Finding:
    return Finding(level, value / edge if edge > 0.0 else 1.0 + value, value, edge, which)


def _too_low(level: Level, which: str, value: float, edge: float) -> Finding:
    beyond = 1.0 - value / edge if edge > 0.0 else edge - value
    return Finding(level, 1.0 + beyond, value, edge, which)


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


class Backing(NamedTuple):
    """What one number of a rule rests on."""

    source: str
    standing: str
    note: str

    @property
    def own(self) -> bool:
        """Whether the practice set it, for all its ponds or for one."""
        return self.standing.endswith("'s own")


class Began(NamedTuple):
    """Since when something holds."""

    day: date
    or_earlier: bool = False
    """Whether no reading before that day shows that it did not hold already: it is the first day
    known of it among the readings looked at."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One alert rule with the numbers in force at a pond."""

    code: str
    kind: str
    title: str
    parameter: str
    hazard: str
    params: Mapping[str, float | str]
    limits: Limits
    trusted_days: float
    """For how many days the readings that it rests on are believed."""
    backing: Mapping[str, Backing]
    """By the name of the number; the rule's own source stands under the empty name."""
    advice: str
    cautions: tuple[str, ...]
    preconditions: tuple[str, ...] = ()
    """Circumstances that raise the level of a window, by their codes."""
    notifiable: bool = False
    enabled: bool = True
    changed: str = ""
    """Who changed it for the practice or the pond, when and why; empty for the published rule."""

    def number(self, name: str, otherwise: float = 0.0) -> float:
        """A number of the rule by its whole name."""
        value = self.params.get(name, otherwise)
        return value if isinstance(value, float) else otherwise

    def rests_on(self, which: str) -> Backing:
        """What the number whose name begins with `which` rests on, else what the rule rests on."""
        if which:
            for name, backing in self.backing.items():
                if name.startswith(which):
                    return backing
        return self.backing[""]


class Finding(NamedTuple):
    """A rule that speaks at a pond; cheap, since thousands are looked for every morning.

    A finding of the level `calm` is a note on the pond's page and does not reach the list.
    """

    level: Level
    severity: float
    """How far beyond the limit, 1 at the limit itself; orders concerns of one level."""
    value: float
    limit: float
    which: str = ""
    """Beginning of the name of the number that was broken."""
    test: int = -1
    """The test it rests on (0 is the newest), -1 where it rests on no single test."""
    since: date | None = None
    variant: str = ""
    """Which of the rule's cases it is, for the wording."""
    or_earlier: bool = False
    """Whether `since` is only the first day known."""

    @property
    def began(self) -> Began | None:
        """Since when, as far as the finding itself knows."""
        return None if self.since is None else Began(self.since, self.or_earlier)


class Kind(Protocol):
    """How one kind of rule looks at a pond, and how it speaks of what it found."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """What the rule finds at the pond today; None when it has nothing to say."""

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """The finding in one clause with its number and unit."""

    def series(self, rule: Rule) -> str:
        """Code of the measured or derived series that belongs beside the finding."""

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """Foot and head on which that series is drawn: what is calm, and the limit."""

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """First day of the unbroken run in which the rule spoke, as far as the tests at hand go."""

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The finding with everything that a person may ask about it."""

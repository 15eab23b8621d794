"""A rule as it is in force at one pond, and what it found there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple, Protocol

from store.watch.concern import Concern
from store.watch.levels import Level
from store.watch.seen import PondSeen

Said = Callable[[PondSeen, int, Sequence[str]], str]
"""The readings of one test in words: of the pond, of the test at that index, of those codes."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One alert rule with the numbers in force at a pond."""

    code: str
    kind: str
    title: str
    parameter: str
    """Measured or derived code that the rule looks at; for a window the code of its hazard."""
    params: Mapping[str, float]
    source: str
    standing: str
    advice: str
    cautions: str = ""
    enabled: bool = True
    changed: str = ""
    """Who changed it for the practice or the pond, when and why; empty for the published rule."""
    raised_by: tuple[str, ...] = field(default=())
    """Circumstances that raise the level of a window, by their codes."""


class Finding(NamedTuple):
    """A rule that speaks at a pond; cheap, since thousands are looked for every morning."""

    level: Level
    severity: float
    """How far beyond the limit, 1 at the limit itself; orders concerns of one level."""
    value: float
    limit: float
    index: int = -1
    """The test it rests on (0 is the newest), -1 where it rests on no single test."""
    since: date | None = None
    variant: str = ""
    """Which of the rule's cases it is, for the wording."""


class Kind(Protocol):
    """How one kind of rule looks at a pond, and how it speaks of what it found."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """What the rule finds at the pond today; None when it has nothing to say."""

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """The finding in one clause with its number and unit."""

    def series(self, rule: Rule) -> str:
        """Code of the measured or derived series that belongs beside the finding."""

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """First day of the unbroken run in which the rule spoke."""

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The finding with everything that a person may ask about it."""

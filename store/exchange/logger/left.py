"""What was left out of a logger's file or doubted, counted by reason, the first of each listed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

LISTED = 5

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "missing": "missing values left out",
        "event": "rows without a value in which the logger says what happened to it",
        "nothing": "values left out that a probe sends when it measures nothing",
        "impossible": "values left out that water cannot have",
        "marked": "values left out that the logger itself marks as bad",
        "lifted": (
            "values doubted: a jump and a jump back, as when a logger is lifted out of the water; "
            "they are left out unless --lifted keep is said"
        ),
        "jump": "jumps of the temperature without a way back, kept as they are",
        "twice": "rows of the same instant as the row before, of which the first counts",
        "other": "of them with another value than the first",
        "again": "further values of an instant that the file has already; the first counts",
        "backward": "rows on which the logger's clock stepped back",
        "ahead": "rows left out whose time lies ahead",
        "noon": "rows with a day and no time, taken as of noon",
        "skipped": (
            "rows left out in the hour over which the clock went forward; a logger that keeps one "
            "clock all year needs its offset in the file, as 01:30+00:00, or --clock +00:00"
        ),
        "doubled": "rows in an hour that the clock showed twice, told apart by their order",
        "refused": "rows that cannot be read, or only in part",
    }
)


@dataclass(frozen=True, slots=True)
class First:
    """One of the first rows that were left out for a reason."""

    line: int
    text: str
    """The row as it stands in the file, or what is known of it."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A reason, how often it was met, and where first."""

    reason: str
    """A key of `SENTENCES`."""
    n: int
    first: tuple[First, ...]

    @property
    def sentence(self) -> str:
        """The count with its reason, as a sentence."""
        return f"{self.n} {SENTENCES[self.reason]}."


@dataclass(slots=True)
class Tally:
    """Counts while a file is read."""

    n: dict[str, int] = field(default_factory=dict)
    first: dict[str, list[First]] = field(default_factory=dict)

    def add(self, reason: str, number: int, lines: Sequence[int], texts: Sequence[str]) -> None:
        """Count rows of one reason and keep the first of them.

        Parameters
        ----------
        reason
            A key of `SENTENCES`.
        number
            How many.
        lines, texts
            Of the first of them, `LISTED` at the most.
        """
        if number <= 0:
            return
        self.n[reason] = self.n.get(reason, 0) + number
        found = [First(line, text) for line, text in zip(lines, texts, strict=True)]
        both = dict.fromkeys((*self.first.get(reason, ()), *found))
        self.first[reason] = sorted(both, key=lambda one: one.line)[:LISTED]

    def all(self) -> Iterator[LeftOut]:
        """Every reason that was met, in the order of `SENTENCES`."""
        for reason in SENTENCES:
            if self.n.get(reason):
                yield LeftOut(reason, self.n[reason], tuple(self.first.get(reason, ())))

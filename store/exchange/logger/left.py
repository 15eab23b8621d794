"""What was left out of a logger's file or doubted, counted by reason, the first of each listed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from store.exchange.logger.spool import Spool

LISTED = 5
NO_TIME = -(2**62)
"""Stands for the instant of a row whose time is not known [ms]."""
LEFT = np.dtype(
    [("at", "<i8"), ("reason", "<i2"), ("column", "<i2"), ("when", "<i8"), ("value", "<f8")]
)
"""A row that was left out or doubted: `at` is its line, `when` its instant [ms], `column` the place
among the columns of values or -1, `value` in the stored unit, for a gap its length [ms]."""

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
        "jump": "jumps of the temperature without a way back, kept all the same",
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
        "gap": "gaps without a value, longer than three of the logger's steps",
        "refused": "rows that cannot be read, or only in part",
    }
)
_MANY = re.compile(r"\b(?:values|rows|jumps|gaps)\b")
REASONS = tuple(SENTENCES)
WORDS: Mapping[str, str] = MappingProxyType(
    {
        "missing": "no value", "event": "what happened to the logger",
        "nothing": "a probe that measures nothing", "impossible": "water cannot have it",
        "marked": "the logger marks it as bad", "lifted": "out of the water, it seems",
        "jump": "a jump without a way back, kept", "twice": "the instant of the row before",
        "other": "the same instant, another value", "again": "an instant that stands there already",
        "backward": "the clock stepped back, kept", "ahead": "its time lies ahead",
        "noon": "no time of day, taken as of noon", "skipped": "an hour that no clock showed",
        "doubled": "an hour shown twice, kept", "gap": "a gap before this row",
        "refused": "cannot be read",
    }
)  # fmt: skip
"""The same in a few words."""
_NOT_LISTED = frozenset({"noon"})
"""A day without a time may be every row, and is kept."""


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
        said = SENTENCES[self.reason]
        if self.n == 1:
            said = _MANY.sub(lambda found: found[0][:-1], said, count=1).replace(
                "they are", "it is"
            )
        return f"{self.n:,} {said}."


@dataclass(slots=True)
class Tally:
    """Counts while a file is read."""

    n: dict[str, int] = field(default_factory=dict)
    first: dict[str, list[First]] = field(default_factory=dict)
    listed: Spool = field(default_factory=lambda: Spool(LEFT))
    """Every one of them, of the type `LEFT`."""
    refused: Spool = field(default_factory=lambda: Spool(LEFT))
    """Every row that cannot be read, or only in part."""

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
        known = self.first.get(reason, [])
        if len(known) >= LISTED and min(lines) > known[-1].line:
            return
        found = [First(line, text) for line, text in zip(lines, texts, strict=True)]
        both = dict.fromkeys((*known, *found))
        self.first[reason] = sorted(both, key=lambda one: one.line)[:LISTED]

    def keep(
        self,
        reason: str,
        lines: ArrayLike,
        *,
        column: int = -1,
        when: ArrayLike = NO_TIME,
        value: ArrayLike = np.nan,
    ) -> None:
        """Keep rows of one reason, all of them, beside the memory.

        Parameters
        ----------
        reason
            A key of `SENTENCES`.
        lines
            Their lines in the file.
        column
            The place among the columns of values, -1 for the row as a whole.
        when
            Their instants [ms].
        value
            In the stored unit, for a gap its length [ms].
        """
        if reason in _NOT_LISTED:
            return
        table = np.zeros(np.size(lines), LEFT)
        table["at"], table["reason"], table["column"] = lines, REASONS.index(reason), column
        table["when"], table["value"] = when, value
        (self.refused if reason == "refused" else self.listed).append(table)

    def all(self) -> Iterator[LeftOut]:
        """Every reason that was met, in the order of `SENTENCES`."""
        for reason in SENTENCES:
            if self.n.get(reason):
                yield LeftOut(reason, self.n[reason], tuple(self.first.get(reason, ())))

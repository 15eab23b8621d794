"""What a row is, out of all lines that were ever written of it, in whichever copy of the book.

Every line says which newest lines of its row its writer saw. So the lines of a row form a graph,
and what the row holds follows from the set of lines alone: for each column the line that was
written last, where one line comes after another that it saw; where neither saw the other, the
later by the clock, then by key. Two copies that hold the same lines therefore hold the same rows,
whatever came first. Where neither saw the other and they say different things, a person is asked;
until then the later one stands.

References
----------
Lamport 1978, Time, Clocks, and the Ordering of Events in a Distributed System, Communications of
the ACM 21(7): what happened before, told by what was seen and never by the clock. Shapiro et al.
2011, Conflict-Free Replicated Data Types, SSS 2011: states that grow as sets meet in one state.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from store.book.copies.chain import Line

Groups = Mapping[str, tuple[str, ...]]
"""For every column those that are taken together with it."""


@dataclass(frozen=True, slots=True)
class Step:
    """A line of the log, and the newest lines of the same row that its writer saw."""

    line: Line
    seen: frozenset[UUID]


@dataclass(frozen=True, slots=True)
class Stand:
    """What a row holds: values as the log keeps them, by column; columns never named are absent."""

    values: Mapping[str, Any]
    rev: int
    created_at: datetime
    created_by: UUID
    changed_at: datetime
    changed_by: UUID


@dataclass(frozen=True, slots=True)
class Side:
    """One of several lines that did not see each other, and what the columns were after it."""

    line: Line
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Difference:
    """Columns that say different things on several sides; `before` is what all of them saw."""

    columns: tuple[str, ...]
    before: Mapping[str, Any]
    sides: tuple[Side, ...]


def stand(steps: Iterable[Step], groups: Groups) -> Stand:
    """What a row holds.

    Parameters
    ----------
    steps
        All lines of the row, in any order, the one that added it among them.
    groups
        By column those that are taken together with it; a column left out stands alone.

    Returns
    -------
    Stand
        The same for the same set of lines.

    Raises
    ------
    ValueError
        No line added the row.
    """
    graph = _Graph(steps, groups)
    added = next((one.line for one in graph.steps if one.line.what == "add"), None)
    if added is None:
        raise ValueError("a row without the line that added it")
    newest = max((graph.steps[at].line for at in graph.heads()), key=_later)
    return Stand(graph.values(), len(graph.steps), added.at, added.by, newest.at, newest.by)


def differences(steps: Iterable[Step], groups: Groups) -> tuple[Difference, ...]:
    """Where a row was changed on several sides that did not see each other, to different things.

    Parameters
    ----------
    steps
        All lines of the row.
    groups
        As for `stand`.

    Returns
    -------
    tuple of Difference
        In the order of the columns' names; empty where all is agreed.
    """
    graph = _Graph(steps, groups)
    if len(graph.heads()) < 2:
        return ()
    found = []
    for columns in sorted(set(graph.groups_named())):
        sides = graph.newest(columns, graph.whole)
        if len(sides) < 2:
            continue
        at = [graph.of_group(columns, graph.below[one]) for one in sides]
        if all(one == at[0] for one in at):
            continue
        shared = graph.whole
        for one in sides:
            shared &= graph.below[one]
        found.append(Difference(
            columns, graph.of_group(columns, shared),
            tuple(
                Side(graph.steps[one].line, values) for one, values in zip(sides, at, strict=True)
            ),
        ))  # fmt: skip
    return tuple(found)


def heads(steps: Iterable[Step]) -> tuple[UUID, ...]:
    """The lines that no other line of the row has seen.

    Parameters
    ----------
    steps
        All lines of the row.
    """
    listed = tuple(steps)
    seen = {key for one in listed for key in one.seen}
    return tuple(sorted(one.line.id for one in listed if one.line.id not in seen))


def _later(line: Line) -> tuple[datetime, UUID]:
    return line.at, line.id


class _Graph:
    """The lines of one row; sets of them are numbers with a bit for each."""

    def __init__(self, steps: Iterable[Step], groups: Groups) -> None:
        self.steps: Sequence[Step] = tuple(sorted(steps, key=lambda one: _later(one.line)))
        self._groups = groups
        self.whole = (1 << len(self.steps)) - 1
        self._at = {one.line.id: at for at, one in enumerate(self.steps)}
        self.below: dict[int, int] = {}
        for at in range(len(self.steps)):
            self._reach(at)

    def _reach(self, start: int) -> None:
        """What lies below a line, itself among it; without recursion: rows have long lives."""
        waiting = [start]
        while waiting:
            at = waiting[-1]
            under = [self._at[key] for key in self.steps[at].seen if key in self._at]
            missing = [one for one in under if one not in self.below]
            if missing:
                waiting += missing
                continue
            waiting.pop()
            mask = 1 << at
            for one in under:
                mask |= self.below[one]
            self.below[at] = mask

    def heads(self) -> list[int]:
        """Lines that lie below no other."""
        covered = 0
        for at, mask in self.below.items():
            covered |= mask & ~(1 << at)
        return [at for at in range(len(self.steps)) if not covered >> at & 1]

    def groups_named(self) -> list[tuple[str, ...]]:
        """The groups of columns that any line names."""
        return [self._group(name) for one in self.steps for name in one.line.after or ()]

    def _group(self, name: str) -> tuple[str, ...]:
        return self._groups.get(name, (name,))

    def newest(self, columns: tuple[str, ...], within: int) -> list[int]:
        """The lines of a set that name one of the columns and lie below no other such."""
        naming = [
            at
            for at, one in enumerate(self.steps)
            if within >> at & 1 and any(name in columns for name in one.line.after or ())
        ]
        covered = 0
        for at in naming:
            covered |= self.below[at] & ~(1 << at)
        return [at for at in naming if not covered >> at & 1]

    def of_group(self, columns: tuple[str, ...], within: int) -> dict[str, Any]:
        """What the columns of a group hold after the lines of a set."""
        found: dict[str, Any] = {}
        missing = set(columns)
        while missing and (newest := self.newest(columns, within)):
            at = max(newest)  # they are sorted by the clock, then by key
            after = self.steps[at].line.after or {}
            for name in sorted(missing & set(after)):
                found[name] = after[name]
                missing.discard(name)
            within = self.below[at] & ~(1 << at)
        return found

    def values(self) -> dict[str, Any]:
        """What all columns hold that any line names."""
        if len(self.heads()) == 1 and all(len(one.seen) < 2 for one in self.steps):
            found: dict[str, Any] = {}
            order = sorted(self.below, key=lambda at: self.below[at].bit_count())
            for at in order:
                found |= self.steps[at].line.after or {}
            return found
        found = {}
        for columns in set(self.groups_named()):
            found |= self.of_group(columns, self.whole)
        return found

"""What a check finds, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Level = Literal["fault", "remark"]
MOST_OF_A_KIND = 25
"""So many findings of one kind are told one by one; of the others it is said how many they are."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it should be.

    `fault` says that the book is damaged or was altered outside Pondround, `remark` that something
    is worth a look. `kind` is a word for programs.
    """

    level: Level
    kind: str
    said: str
    to_do: str


@dataclass(frozen=True, slots=True)
class Report:
    """What a check found: faults first; how much was looked at, by what it is."""

    findings: tuple[Finding, ...]
    looked_at: Mapping[str, int]
    chain: str

    @property
    def clean(self) -> bool:
        """Whether there is no fault; remarks may be there."""
        return all(one.level != "fault" for one in self.findings)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a check is: what is looked at, `done` of `whole` things; 0 where nobody knows."""

    what: str
    done: int = 0
    whole: int = 0


Told = Callable[[Progress], None]


def quiet(progress: Progress) -> None:
    """Tell nobody.

    Parameters
    ----------
    progress
        How far it is.
    """


@dataclass(slots=True)
class Found:
    """Findings as they come up.

    Parameters
    ----------
    told
        Is told how far the check is.
    """

    told: Told = quiet
    findings: list[Finding] = field(default_factory=list)
    looked_at: Counter[str] = field(default_factory=Counter)
    chain: str = ""
    _kinds: Counter[tuple[Level, str]] = field(default_factory=Counter)
    _last: dict[tuple[Level, str], str] = field(default_factory=dict)

    def add(self, level: Level, kind: str, to_do: str, said: Callable[[], str] | str) -> None:
        """Keep a finding; the words are only made where it is told.

        Parameters
        ----------
        level, kind, to_do
            As in `Finding`.
        said
            The words, or what gives them.
        """
        self._kinds[level, kind] += 1
        if self._kinds[level, kind] <= MOST_OF_A_KIND:
            words = said if isinstance(said, str) else said()
            self.findings.append(Finding(level, kind, words, to_do))
            self._last[level, kind] = to_do

    def fault(self, kind: str, to_do: str, said: Callable[[], str] | str) -> None:
        """A fault, see `add`."""
        self.add("fault", kind, to_do, said)

    def remark(self, kind: str, to_do: str, said: Callable[[], str] | str) -> None:
        """A remark, see `add`."""
        self.add("remark", kind, to_do, said)

    def report(self) -> Report:
        """All that was found."""
        more = [
            Finding(
                level, kind, f"{count - MOST_OF_A_KIND:,} more of the same kind.",
                self._last[level, kind],
            )
            for (level, kind), count in self._kinds.items()
            if count > MOST_OF_A_KIND
        ]  # fmt: skip
        order: dict[Any, int] = {"fault": 0, "remark": 1}
        listed = sorted([*self.findings, *more], key=lambda one: order[one.level])
        return Report(tuple(listed), dict(self.looked_at), self.chain)


BACKUP = "Keep this file as it is and go on with the newest backup that is clean."
"""What to do where the file itself is damaged."""
OUTSIDE = (
    "Somebody wrote past Pondround. Compare with the newest backup; enter what is right anew, so "
    "that it has a line in the record."
)
"""What to do where records were altered."""

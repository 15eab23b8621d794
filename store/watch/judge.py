"""All rules over one pond: what speaks, what is put to rest, what stands first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from store.watch.kinds import KINDS
from store.watch.levels import ORDER, Level
from store.watch.rule import Finding, Rule
from store.watch.seen import PondSeen

Spoken = tuple[Rule, Finding]

STALE_KIND = "stale"
WORSE = 1.1
"""A concern at rest returns when it is this many times as far beyond its limit as it was then."""


@dataclass(frozen=True, slots=True)
class Rest:
    """A concern at rest, with what it was when it was put to rest."""

    rule: str
    until: date
    reason: str
    by: str
    level: Level
    severity: float | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rules found at one pond; each part worst first."""

    speaking: tuple[Spoken, ...]
    at_rest: tuple[tuple[Rule, Finding, Rest], ...]
    notes: tuple[Spoken, ...]

    @property
    def level(self) -> Level:
        """Level of the pond."""
        return self.speaking[0][1].level if self.speaking else "calm"


CALM = Verdict((), (), ())


def judge(
    rules: Iterable[Rule], seen: PondSeen, today: date, rests: Mapping[str, Rest] | None = None
) -> Verdict:
    """What the rules find at a pond.

    Parameters
    ----------
    rules
        The rules in force there.
    seen
        The pond.
    today
        The practice's calendar day.
    rests
        Concerns put to rest there, by rule.

    Returns
    -------
    Verdict
        What speaks, what is at rest and what is only noted, each worst first. A pond whose tests
        are all too old is `unknown`; what else still speaks there (an event, a logger) comes with
        it.
    """
    found: list[Spoken] = []
    for rule in rules:
        if rule.enabled:
            finding = KINDS[rule.kind].find(rule, seen, today)
            if finding is not None:
                found.append((rule, finding))
    if not found:
        return CALM
    if any(rule.kind == STALE_KIND for rule, _ in found):
        found = [one for one in found if one[0].kind != "overdue"]
    found.sort(key=_place)
    speaking, at_rest, notes = [], [], []
    for rule, finding in found:
        if finding.level == "calm":
            notes.append((rule, finding))
            continue
        rest = rests.get(rule.code) if rests else None
        if rest is not None and _rests(rest, finding, today):
            at_rest.append((rule, finding, rest))
        else:
            speaking.append((rule, finding))
    return Verdict(tuple(speaking), tuple(at_rest), tuple(notes))


def _place(one: Spoken) -> tuple[int, float]:
    return ORDER[one[1].level], -one[1].severity


def _rests(rest: Rest, finding: Finding, today: date) -> bool:
    if today >= rest.until or ORDER[finding.level] < ORDER[rest.level]:
        return False
    return rest.severity is None or finding.severity <= WORSE * rest.severity

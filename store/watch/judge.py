"""All rules over one pond: what speaks, what is put to rest, what stands first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from math import inf
from typing import NamedTuple

from store.watch.kinds import KINDS
from store.watch.kinds.levels import LevelKind
from store.watch.kinds.reading import ReadingKind
from store.watch.kinds.window import WindowKind, WindowRule, find_windows, window_rule
from store.watch.levels import ORDER, Level
from store.watch.rule import Finding, Rule
from store.watch.seen import DAY_MS, PondSeen

Spoken = tuple[Rule, Finding]

LEVEL = LevelKind()
STALE_KIND = "stale"
AFTER_EVENTS = frozenset({"event", "signs", "corrections", "feeding"})
"""Kinds that have nothing to say at a pond at which nothing happened."""
FOUND = "finding"
"""The kind that speaks only where an examination found something."""
AFTER_LOSSES = frozenset({"losses", "suspicion"})
"""Kinds that have nothing to say at a pond at which nothing died and no sign was seen."""
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
    made_ms: int = 0
    """When it was put to rest, in epoch milliseconds."""


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


class _ReadingRule(NamedTuple):
    kind: ReadingKind
    needs: frozenset[str]
    trusted_days: float
    rule: Rule
    only_these: bool
    """Whether nothing but a believed test with all it needs can make it speak."""


class _LevelRule(NamedTuple):
    code: str
    good_low: float
    good_high: float
    trusted_days: float
    rule: Rule


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Rules that are not silenced, sorted by how they can be asked cheaply."""

    levels: tuple[_LevelRule, ...]
    readings: tuple[_ReadingRule, ...]
    windows: tuple[WindowRule, ...]
    changes: tuple[Rule, ...]
    changes_days: float
    """How far back a change can matter; two tests within it, or a logger, are needed."""
    events: tuple[Rule, ...]
    promises: tuple[Rule, ...]
    losses: tuple[Rule, ...]
    found: tuple[Rule, ...]
    others: tuple[Rule, ...]


def rule_set(rules: Iterable[Rule]) -> RuleSet:
    """Rules sorted for looking at many ponds; silenced ones are left out.

    Parameters
    ----------
    rules
        Rules in force in one place.
    """
    levels, readings, windows = [], [], []
    rest: dict[str, list[Rule]] = {
        group: [] for group in ("rate", "events", "promise", "losses", FOUND, "")
    }
    for rule in rules:
        if not rule.enabled:
            continue
        kind = KINDS[rule.kind]
        days = rule.trusted_days
        if isinstance(kind, LevelKind):
            good = rule.limits.good_low, rule.limits.good_high
            levels.append(_LevelRule(rule.parameter, *good, days, rule))
        elif isinstance(kind, ReadingKind) and len(kind.needs(rule)) > 1:
            only_these = type(kind).find is ReadingKind.find
            needs = frozenset(kind.needs(rule))
            readings.append(_ReadingRule(kind, needs, days, rule, only_these))
        elif isinstance(kind, WindowKind):
            windows.append(window_rule(rule))
        else:
            group = "events" if rule.kind in AFTER_EVENTS else rule.kind
            group = "losses" if rule.kind in AFTER_LOSSES else group
            rest.get(group, rest[""]).append(rule)
    return RuleSet(
        tuple(levels),
        tuple(readings),
        tuple(windows),
        tuple(rest["rate"]),
        max((rule.number("counts_days") for rule in rest["rate"]), default=0.0) + 1.0,
        tuple(rest["events"]),
        tuple(rest["promise"]),
        tuple(rest["losses"]),
        tuple(rest[FOUND]),
        tuple(rest[""]),
    )


def _findings(rules: RuleSet, seen: PondSeen, today: date) -> list[Spoken]:
    """What `Kind.find` of every rule finds; most rules at most ponds are passed without a call."""
    found = _of_readings(rules, seen, today)
    found.extend(find_windows(rules.windows, seen, today))
    others = rules.others
    if seen.circumstances:
        others += rules.events
    if seen.promises:
        others += rules.promises
    if seen.losses is not None:
        others += rules.losses
    if seen.found:
        others += rules.found
    if seen.last_hours or (
        len(seen.tests) > 1 and seen.tests[1].at_ms >= seen.oldest_ms(rules.changes_days)
    ):
        others += rules.changes
    for rule in others:
        finding = KINDS[rule.kind].find(rule, seen, today)
        if finding is not None:
            found.append((rule, finding))
    return found


def _of_readings(rules: RuleSet, seen: PondSeen, today: date) -> list[Spoken]:
    found: list[Spoken] = []
    tests = seen.tests
    newest = seen.values(0) if tests else {}
    # Ages of the newest test and of the one before it: what neither can answer needs no asking.
    age = (seen.midnight_ms - tests[0].at_ms) / DAY_MS if tests else inf
    before = (seen.midnight_ms - tests[1].at_ms) / DAY_MS if len(tests) > 1 else inf
    for code, good_low, good_high, days, rule in rules.levels:
        if code not in seen.logger:
            value = newest.get(code)
            if age > days or (
                before > days or seen.lacks(code, seen.oldest_ms(days))
                if value is None
                else good_low <= value <= good_high
            ):
                continue
        finding = LEVEL.find(rule, seen, today)
        if finding is not None:
            found.append((rule, finding))
    measured = newest.keys()
    for kind, needs, days, rule, only_these in rules.readings:
        finding = None
        if age <= days and needs <= measured:
            finding = kind.judge(rule, seen, newest)
            finding = None if finding is None else finding._replace(test=0)
        elif not only_these or (age <= days and before <= days):
            finding = kind.find(rule, seen, today)
        if finding is not None:
            found.append((rule, finding))
    return found


def judge(
    rules: RuleSet, seen: PondSeen, today: date, rests: Mapping[str, Rest] | None = None
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
    found = _findings(rules, seen, today)
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
        if rest is not None and _rests(rest, rule, finding, seen, today):
            at_rest.append((rule, finding, rest))
        else:
            speaking.append((rule, finding))
    return Verdict(tuple(speaking), tuple(at_rest), tuple(notes))


def _place(one: Spoken) -> tuple[int, float]:
    return ORDER[one[1].level], -one[1].severity


def _rests(rest: Rest, rule: Rule, finding: Finding, seen: PondSeen, today: date) -> bool:
    if rule.kind == FOUND and any(one.entered_ms > rest.made_ms for one in seen.found):
        return False  # what was found since was not known when it was put to rest
    if today >= rest.until or ORDER[finding.level] < ORDER[rest.level]:
        return False
    return rest.severity is None or finding.severity <= WORSE * rest.severity

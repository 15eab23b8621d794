"""Rules that one water test answers alone: the common part of their looking and speaking."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from datetime import date

from store.watch.concern import Concern
from store.watch.levels import Level
from store.watch.rule import Finding, Rule, Said
from store.watch.seen import PondSeen

Values = Mapping[str, float]


class ReadingKind(ABC):
    """A rule over the readings of one test; each kind of it says what it needs and how it judges.

    The newest trusted test that holds every ingredient is judged. Ingredients are never mixed
    from different tests: a pH of Monday says nothing of the ammonia of Friday.
    """

    @abstractmethod
    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Codes of the readings without which a test cannot be judged."""

    @abstractmethod
    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """The finding on one test that holds every ingredient; None when it is calm."""

    @abstractmethod
    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """The finding in one clause with its number and unit."""

    @abstractmethod
    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The reckoning with its numbers put in, one step a line."""

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """What limits the answer: ranges of validity, what was not measured."""
        return ()

    def series(self, rule: Rule) -> str:
        """Code of the series that belongs beside the finding."""
        return rule.parameter

    @abstractmethod
    def unit(self, rule: Rule) -> str:
        """Unit of the finding's value."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The finding on the newest trusted test that holds every ingredient."""
        needs = self.needs(rule)
        for index in range(seen.trusted):
            values = seen.values(index)
            if all(code in values for code in needs):
                found = self.judge(rule, seen, values)
                return None if found is None else found._replace(index=index)
        return None

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """Day of the oldest test in the unbroken run that broke the rule."""
        if finding.since is not None or finding.index < 0:
            return finding.since
        needs = self.needs(rule)
        first = finding.index
        for index in range(finding.index + 1, len(seen.tests)):
            values = seen.values(index)
            if not all(code in values for code in needs):
                continue
            if self.judge(rule, seen, values) is None:
                break
            first = index
        return seen.day(first)

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The finding with everything that a person may ask about it."""
        readings: tuple[str, ...] = ()
        if finding.index >= 0:
            readings = (said(seen, finding.index, self.needs(rule)),)
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=self.since(rule, seen, finding),
            parameter=self.series(rule),
            unit=self.unit(rule),
            arithmetic=self.arithmetic(rule, seen, finding),
            readings=readings,
            remarks=self.remarks(rule, seen, finding),
        )


def concern(
    rule: Rule,
    finding: Finding,
    *,
    what: str,
    since: date | None,
    parameter: str,
    unit: str,
    arithmetic: tuple[str, ...],
    readings: tuple[str, ...],
    remarks: tuple[str, ...] = (),
) -> Concern:
    """A concern made of a rule, its finding and the words of its kind."""
    if rule.changed:
        remarks = (*remarks, rule.changed)
    advice = f"{rule.advice} {rule.cautions}".strip()
    return Concern(
        rule=rule.code,
        level=finding.level,
        what=what,
        title=rule.title,
        since=since,
        parameter=parameter,
        value=finding.value,
        unit=unit,
        severity=finding.severity,
        arithmetic=arithmetic,
        readings=readings,
        source=rule.source,
        standing=rule.standing,
        remarks=remarks,
        advice=advice,
    )


def above(value: float, watch: float | None, act: float | None) -> tuple[Level, float, float] | None:
    """Level, broken limit and severity of a value that may be too high; None when it is calm."""
    if act is not None and value > act:
        return "act", act, _times(value, act)
    if watch is not None and value > watch:
        return "watch", watch, _times(value, watch)
    return None


def below(value: float, watch: float | None, act: float | None) -> tuple[Level, float, float] | None:
    """Level, broken limit and severity of a value that may be too low; None when it is calm."""
    if act is not None and value < act:
        return "act", act, 2.0 - value / act if act > 0.0 else 1.0 + act - value
    if watch is not None and value < watch:
        return "watch", watch, 2.0 - value / watch if watch > 0.0 else 1.0 + watch - value
    return None


def _times(value: float, limit: float) -> float:
    return value / limit if limit > 0.0 else 1.0 + value

"""Rules that one water test answers alone: the common part of their looking and speaking."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from datetime import date

from store.watch.concern import Concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen

Values = Mapping[str, float]


class ReadingKind(ABC):
    """A rule over the readings of one test; each kind of it says what it needs and how it judges.

    The newest test that holds every ingredient and is young enough to be believed is judged.
    Ingredients are never mixed from different tests: a pH of Monday says nothing of the ammonia of
    Friday.
    """

    @abstractmethod
    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Codes of the readings without which a test cannot be judged."""

    @abstractmethod
    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """The finding on one test that holds every ingredient; None when there is none."""

    @abstractmethod
    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """The finding in one clause with its number and unit."""

    @abstractmethod
    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The reckoning with its numbers put in, one step a line."""

    @abstractmethod
    def unit(self, rule: Rule) -> str:
        """Unit of the finding's value."""

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """What limits the answer: ranges of validity, what was not measured."""
        return ()

    def series(self, rule: Rule) -> str:
        """Code of the series that belongs beside the finding."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """From the calm side to the limit that was broken, or from the limit to the calm side."""
        if finding.which.endswith("below"):
            return finding.limit, finding.limit * 2.0
        return 0.0, finding.limit

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The finding on the newest believed test that holds every ingredient."""
        needs = self.needs(rule)
        oldest_ms = seen.oldest_ms(rule.trusted_days)
        for index, test in enumerate(seen.tests):
            if test.at_ms < oldest_ms:
                return None
            if all(seen.has(index, code) for code in needs):
                found = self.judge(rule, seen, seen.values(index))
                return None if found is None else found._replace(test=index)
        return None

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the oldest test in the unbroken run that broke the rule at all.

        Where none of the tests at hand ends the run it may have begun earlier.
        """
        if finding.since is not None or finding.test < 0:
            return finding.began
        needs = self.needs(rule)
        first = finding.test
        for index in range(finding.test + 1, len(seen.tests)):
            if not all(seen.has(index, code) for code in needs):
                continue
            found = self.judge(rule, seen, seen.values(index))
            if found is None or (found.level == "calm") != (finding.level == "calm"):
                return Began(seen.day(first))
            first = index
        return Began(seen.day(first), or_earlier=True)

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The finding with everything that a person may ask about it."""
        readings: tuple[str, ...] = ()
        if finding.test >= 0:
            readings = (said(seen, finding.test, self.needs(rule)),)
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
    since: Began | None,
    parameter: str,
    unit: str,
    arithmetic: tuple[str, ...],
    readings: tuple[str, ...],
    remarks: tuple[str, ...] = (),
    stays_in: str = "",
) -> Concern:
    """A concern made of a rule, its finding and the words of its kind.

    Parameters
    ----------
    rule
        The rule as it is in force.
    finding
        What it found.
    what
        The finding in one clause with its number and unit.
    since
        First day of the unbroken run in which the rule spoke; None when not known.
    parameter
        Code of the series that belongs beside it.
    unit
        Unit of the finding's value.
    arithmetic
        The reckoning with its numbers put in, one step a line.
    readings
        The readings it rests on, in words.
    remarks
        What limits the answer; cautions of the rule follow them.
    stays_in
        Name of the hazard in whose window the pond has stayed.
    """
    backing = rule.rests_on(finding.which)
    # Who changed a number, when and why, is its source: it is not said twice.
    said = [*remarks, backing.note, *rule.cautions, "" if backing.own else rule.changed]
    return Concern(
        rule=rule.code,
        level=finding.level,
        what=what,
        title=rule.title,
        since=None if since is None else since.day,
        parameter=parameter,
        value=finding.value,
        unit=unit,
        severity=finding.severity,
        arithmetic=arithmetic,
        readings=readings,
        source=backing.source,
        standing=backing.standing,
        remarks=tuple(remark for remark in said if remark),
        advice=rule.advice,
        or_earlier=since is not None and since.or_earlier,
        stays_in=stays_in,
    )

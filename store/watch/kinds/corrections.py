"""Corrections of the water that follow one another too closely: test, correct, counter-correct."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from store.facts.rules import ADDITIONS, CORRECTIONS
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import Circumstance, PondSeen

_HOUR_MS = 3_600_000


class _Stacked(NamedTuple):
    """Two corrections of one sort, the second soon after the first."""

    first: Circumstance
    second: Circumstance
    hours: float | None
    """None where the hours are not known and both were done on one day."""


class CorrectionsKind:
    """Two corrections closer than `watch_below_hours`, or many within `counted_days`.

    A water change and what is put in with it are one correction: changes are held against changes,
    additions against additions. Where the hour is not known, two of one day are too close.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Watch for `told_days` after two that were stacked; a note of the number of them."""
        done = _done(rule, seen, today)
        if len(done) < 2:
            return None
        stacked = _stacked(rule, done, today)
        if stacked is not None:
            edge = rule.number("watch_below_hours")
            hours = stacked.hours
            return Finding(
                "watch",
                1.0 if hours is None or edge <= 0.0 else 2.0 - hours / edge,
                -1.0 if hours is None else hours,
                edge,
                "watch_below_hours",
                -1,
                stacked.second.first,
                "one day" if hours is None else "stacked",
            )
        many = rule.number("calm_from_corrections")
        if len(done) < many:
            return None
        first = min(one.first for one in done)
        return Finding(
            "calm", len(done) / many, len(done), many, "calm_from_corrections", -1, first, "many"
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `2 corrections within 5 h`."""
        if finding.variant == "many":
            return f"{finding.value:.0f} corrections in {rule.number('counted_days'):.0f} days"
        if finding.variant == "one day":
            return "2 corrections on one day"
        return f"2 corrections within {finding.value:.0f} h"

    def series(self, rule: Rule) -> str:
        """What is being corrected is not known: the temperature, against which all is read."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return 0.0, 30.0

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the second of the two, or of the first of many."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """All corrections of the last days, and the interval that was too short."""
        done = _done(rule, seen, today)
        listed = ", ".join(f"{CORRECTIONS[one.kind]} {one.first}" for one in done)
        changes = sum(one.kind not in ADDITIONS for one in done)
        arithmetic = [
            listed,
            f"{_many(changes, 'water change')} and {_many(len(done) - changes, 'addition')} within "
            f"{rule.number('counted_days'):.0f} days",
        ]
        if finding.variant == "one day":
            arithmetic.append(f"two on one day; at least {finding.limit:.0f} h between them")
        elif finding.variant == "stacked":
            arithmetic.append(
                f"{finding.value:.1f} h between two; at least {finding.limit:.0f} h between them"
            )
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="corrections" if finding.variant == "many" else "h",
            arithmetic=tuple(arithmetic),
            readings=(said(seen, 0, ()),) if seen.tests else (),
        )


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _done(rule: Rule, seen: PondSeen, today: date) -> list[Circumstance]:
    """The corrections that count, old to new."""
    days = rule.number("counted_days")
    found = [
        one
        for one in seen.circumstances
        if one.kind in CORRECTIONS and 0 <= (today - one.first).days < days
    ]
    return sorted(found, key=lambda one: (one.first, one.at_ms or 0))


def _stacked(rule: Rule, done: Sequence[Circumstance], today: date) -> _Stacked | None:
    """The newest two of one sort that are too close, while they are told."""
    edge, told = rule.number("watch_below_hours"), rule.number("told_days")
    found: _Stacked | None = None
    for additions in (False, True):
        sort = [one for one in done if (one.kind in ADDITIONS) == additions]
        for first, second in pairwise(sort):
            if (today - second.first).days > told:
                continue
            hours = None
            if first.at_ms is not None and second.at_ms is not None:
                hours = (second.at_ms - first.at_ms) / _HOUR_MS
            close = first.first == second.first if hours is None else hours < edge
            if close and edge > 0.0 and (found is None or second.first >= found.second.first):
                found = _Stacked(first, second, hours)
    return found

"""What was promised to a pond: the doses of a course, and the look afterwards that proves it."""

from __future__ import annotations

from datetime import date

from store.facts.rules import PROMISES
from store.text import day_said
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.levels import Level
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen, Promise

_DOSE = (
    "",
    "Read the temperature, pH and oxygen before a dose; the cautions are asked again.",
)
"""What is remarked beside a dose, and beside nothing else."""


class PromisedKind:
    """A promise of the kind `promise` that is due within `watch_ahead_days`, or late.

    From `act_late_days` on it is `act`. Of several the one due first speaks, and the others are
    counted.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The promise that is due first, once its day is near enough."""
        first = _first(rule, seen)
        if first is None:
            return None
        late = (today - first.due).days
        if late < -rule.number("watch_ahead_days"):
            return None
        from_late = rule.number("act_late_days")
        level: Level = "act" if late >= from_late else "watch"
        which = "act_late_days" if level == "act" else "watch_ahead_days"
        # A day late weighs as much as a reading a tenth beyond its limit: a course slips fast.
        severity = 1.0 + 0.1 * max(late - from_late, 0.0)
        return Finding(level, severity, float(late), from_late, which, -1, first.due)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `dose 2 of 3 is 2 d late`."""
        first = _first(rule, seen)
        name = PROMISES[str(rule.params["promise"])] if first is None else first.says
        late = round(finding.value)
        if first is not None and first.kind == "answer":
            return name
        if late == 0:
            return f"{name} due today"
        return f"{name} is {late} d late" if late > 0 else f"{name} due in {-late} d"

    def series(self, rule: Rule) -> str:
        """The temperature, by which a course is timed."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return 0.0, 30.0

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """The day on which it is due."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """What was promised, for which day, by whom, and what else is promised."""
        first = _first(rule, seen)
        assert first is not None
        others = sorted((one for one in seen.promises if one is not first), key=lambda one: one.due)
        planned = f"{first.says} was planned for"
        falls = f"; {first.says} falls to the {first.share}"
        if first.kind == "answer":
            planned, falls = "it was given on", ""
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="days",
            arithmetic=(
                f"{planned} {day_said(first.due)}: {day_said(today)} − "
                f"{day_said(first.due)} = {finding.value:.0f} days late; "
                f"act from {finding.limit:.0f}",
                *(f"then {one.says} on {day_said(one.due)} ({one.share})" for one in others),
            ),
            readings=(f"Course: {first.of.rstrip('.')}{falls}.",),
            remarks=tuple(said for said in (_DOSE[first.kind == "dose"], first.beside) if said),
        )


def _first(rule: Rule, seen: PondSeen) -> Promise | None:
    own = [one for one in seen.promises if one.kind == rule.params["promise"]]
    return min(own, key=lambda one: one.due, default=None)

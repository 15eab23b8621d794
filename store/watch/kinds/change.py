"""Rules of change: falling steadily towards a floor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from store.facts.rule_numbers import limit
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.rule_words import said_limit
from store.watch.seen import DAY_MS, PondSeen
from store.water.parameters import PARAMETERS
from store.water.trends import days_to_floor, theil_sen

FAR = 4.0
"""How many times its floor a falling parameter may stand and still be looked at."""


class FallingKind:
    """A parameter that falls steadily and reaches its floor within days.

    The slope is the median of all pairwise slopes over the tests of the last `over_days`, at least
    `least_readings` of them; tests made with different kits are not paired.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Days until the floor is reached at the present slope, when they are few."""
        if not seen.tests or seen.tests[0].at_ms < seen.oldest_ms(rule.trusted_days):
            return None
        floor = limit(rule.params, "floor") or 0.0
        newest = seen.values(0).get(rule.parameter)
        if newest is None or not floor < newest < FAR * floor:
            # Far above its floor it has weeks, and most histories need not be unpacked; below it
            # the rule on the level speaks.
            return None
        if not _seems_to_fall(rule, seen, newest - floor):
            return None
        found = self._slope(rule, seen)
        if found is None:
            return None
        last_ms, last, per_day = found
        days = days_to_floor(last, per_day, floor)
        if days is None:
            return None
        days = max(0.0, days - (today - seen.local_day(last_ms)).days)
        for level, which in (("act", "act_days_to_floor"), ("watch", "watch_days_to_floor")):
            few = rule.number(which, -1.0)
            if days <= few:
                severity = 1.0 + (few - days) / few
                return Finding("act" if level == "act" else "watch", severity, days, few, which, 0)
        return None

    def _slope(self, rule: Rule, seen: PondSeen) -> tuple[int, float, float] | None:
        first = seen.tests[0].at_ms - rule.number("over_days") * DAY_MS
        history = [(at, value) for at, value in seen.history(rule.parameter) if at >= first]
        if len(history) < rule.number("least_readings"):
            return None
        kits = [seen.kit(at) for at, _ in history]
        slope = theil_sen(_days(history), [value for _, value in history], kits)
        if slope is None or slope.per_day >= 0.0:
            return None
        return history[-1][0], history[-1][1], slope.per_day

    def _kits(self, rule: Rule, seen: PondSeen) -> int:
        """How many kits the tests of the slope were made with, those not stated as one."""
        first = seen.tests[0].at_ms - rule.number("over_days") * DAY_MS
        return len({seen.kit(at) for at, _ in seen.history(rule.parameter) if at >= first})

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `KH falling, 12 d to 1.1 dKH`."""
        parameter = PARAMETERS[rule.parameter]
        floor = parameter.shown_with_unit(limit(rule.params, "floor") or 0.0)
        return f"{parameter.short} falling, {max(finding.value, 0.0):.0f} d to {floor}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """From the floor up to where the rule begins to look."""
        floor = limit(rule.params, "floor") or 0.0
        return floor, FAR * floor

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """First day of the history that the slope rests on, as far as the tests at hand go."""
        first = seen.tests[0].at_ms - rule.number("over_days") * DAY_MS
        for at, _ in seen.history(rule.parameter):
            if at >= first:
                return Began(seen.local_day(at), or_earlier=seen.tests[-1].at_ms >= first)
        return None

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """Slope, floor and the division."""
        parameter = PARAMETERS[rule.parameter]
        found = self._slope(rule, seen)
        assert found is not None
        last_ms, last, per_day = found
        floor = limit(rule.params, "floor") or 0.0
        week = 7.0 * per_day / parameter.per_shown
        remarks = ["A straight line is drawn on; a water change or dosing ends it."]
        if self._kits(rule, seen) > 1:
            remarks.append(
                "The tests are of two kits or batches, or of one that is not stated: only tests "
                "of one kit are paired."
            )
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=self.since(rule, seen, finding),
            parameter=rule.parameter,
            unit="days",
            arithmetic=(
                f"median slope of all pairs of tests: {week:+.2f} {parameter.shown_unit} a week",
                f"({parameter.shown(last)} − {parameter.shown_with_unit(floor)}) ÷ {-week:.2f} "
                f"{parameter.shown_unit} a week × 7 days a week − "
                f"{(today - seen.local_day(last_ms)).days} days since = {finding.value:.0f} days "
                f"until {said_limit(rule.parameter, floor)}",
            ),
            readings=(said(seen, 0, (rule.parameter,)),),
            remarks=tuple(remarks),
        )


def _seems_to_fall(rule: Rule, seen: PondSeen, above_floor: float) -> bool:
    """Whether any of the three tests before shows a quarter of the fall that would be told.

    Spares unpacking the whole history of the many ponds whose reading stays where it was.
    """
    told = above_floor / max(rule.number("watch_days_to_floor"), 1.0)
    newest = seen.values(0)[rule.parameter]
    for place in range(1, min(4, len(seen.tests))):
        before = seen.values(place).get(rule.parameter)
        passed = (seen.tests[0].at_ms - seen.tests[place].at_ms) / DAY_MS
        if before is not None and passed > 0.0 and (before - newest) / passed >= 0.25 * told:
            return True
    return False


def _days(history: Sequence[tuple[int, float]]) -> list[float]:
    start = history[0][0]
    return [(at - start) / DAY_MS for at, _ in history]

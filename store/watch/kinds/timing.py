"""Rules of time: a test that is due, readings too old to say anything."""

from __future__ import annotations

from datetime import date, timedelta

from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen
from store.water.plan import due_on, interval_days


class StaleKind:
    """The last test is too old: the pond is `unknown`.

    Too old is older than `default_days`, or than `after_intervals` of the pond's own test plan
    where that is longer.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Unknown, where the newest test is too old or there is none."""
        limit = _believed_days(rule, seen, today)
        if not seen.tests:
            waited = (today - seen.added).days
            return Finding(
                "unknown",
                2.0 + waited / limit,
                waited,
                limit,
                "default_days",
                -1,
                seen.added,
                "never",
            )
        if seen.tests[0].at_ms >= seen.oldest_ms(limit):
            return None
        last = seen.day(0)
        age = (today - last).days
        return Finding("unknown", age / limit, age, limit, "default_days", 0, last)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `no test for 41 days`."""
        if finding.variant == "never":
            return "never tested"
        return f"no test for {finding.value:.0f} days"

    def series(self, rule: Rule) -> str:
        """The temperature, against which everything else is read."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return _YEAR_C

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the last test, or on which the pond was entered."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The age of the last test beside the age that is believed."""
        if finding.variant == "never":
            arithmetic = f"entered {finding.value:.0f} days ago, no test yet; {_plan(seen, today)}"
        else:
            arithmetic = (
                f"last test {finding.value:.0f} days ago; a test is believed for "
                f"{finding.limit:.0f} days ({_plan(seen, today)})"
            )
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="days",
            arithmetic=(arithmetic,),
            readings=(said(seen, 0, ()),) if finding.test == 0 else (),
            remarks=("Old readings do not speak: the rules that rest on them are silent.",),
        )


_YEAR_C = (0.0, 30.0)


def _believed_days(rule: Rule, seen: PondSeen, today: date) -> float:
    every = interval_days(today, seen.every_days, seen.seasons) or 0
    return max(rule.number("default_days"), rule.number("after_intervals") * every)


def _plan(seen: PondSeen, today: date) -> str:
    every = interval_days(today, seen.every_days, seen.seasons)
    return "no test plan" if every is None else f"tested every {every} days by its plan"


class OverdueKind:
    """The test plan's day has passed by more than `grace_days`.

    Without a plan the rule counts `default_interval_days`; `watch_after_intervals` stretches or
    shortens every interval.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Watch, once the test is late; silent at a pond that was never tested."""
        if not seen.tests:
            return None
        last = seen.day(0)
        if seen.seasons:
            due = due_on(last, seen.every_days, seen.seasons)
            if due is None:
                return None
            planned = max(1, (due - last).days)
        else:
            planned = seen.every_days or int(rule.number("default_interval_days"))
        due = last + timedelta(days=round(planned * rule.number("watch_after_intervals")))
        late = (today - due).days
        if late <= rule.number("grace_days"):
            return None
        return Finding("watch", late / planned, late, planned, "watch_after_intervals", 0, due)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `test 5 days late`."""
        return f"test {finding.value:.0f} days late"

    def series(self, rule: Rule) -> str:
        """The temperature, against which everything else is read."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return _YEAR_C

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day on which the test was due."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """When the test was due by the plan."""
        age = (today - seen.day(0)).days
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="days",
            arithmetic=(
                f"last test {age} days ago − {finding.limit:.0f} days between tests "
                f"({_plan(seen, today)}) = {finding.value:.0f} days late; "
                f"{rule.number('grace_days'):.0f} of grace",
            ),
            readings=(said(seen, 0, ()),),
        )

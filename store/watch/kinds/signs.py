"""Signs seen at a pond on single days, joined before they become a kill."""

from __future__ import annotations

from datetime import date

from store.facts.rules import SIGNS
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import Circumstance, PondSeen


class SignsKind:
    """So many different signs of low oxygen within a few days.

    Each is easily passed over by itself; the same sign seen twice counts once.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Watch, from `watch_from_signs` different signs within the last `within_days`."""
        signs = _signs(rule, seen, today)
        wanted = rule.number("watch_from_signs")
        if len(signs) < wanted:
            return None
        since = min(one.first for one in signs.values())
        return Finding(
            "watch", len(signs) / wanted, len(signs), wanted, "watch_from_signs", -1, since
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `3 signs of low oxygen`."""
        return f"{finding.value:.0f} signs of low oxygen"

    def series(self, rule: Rule) -> str:
        """What the signs speak of."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """Oxygen from little to enough."""
        return 4.0, 12.0

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the first of them."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """Which signs, each with its day, and the last oxygen that was read."""
        signs = sorted(_signs(rule, seen, today).items(), key=lambda one: one[1].first)
        listed = ", ".join(f"{SIGNS[code]} ({one.first})" for code, one in signs)
        last = seen.newest_with(rule.parameter)
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=rule.parameter,
            unit="signs",
            arithmetic=(
                listed,
                f"{finding.value:.0f} different signs within {rule.number('within_days'):.0f} "
                f"days; told from {finding.limit:.0f}",
            ),
            readings=() if last is None else (said(seen, last, (rule.parameter,)),),
            remarks=("No oxygen was read here lately.",) if last is None else (),
        )


def _signs(rule: Rule, seen: PondSeen, today: date) -> dict[str, Circumstance]:
    """The newest of each sign within the days that count."""
    found: dict[str, Circumstance] = {}
    for one in seen.circumstances:
        if one.kind in SIGNS and 0 <= (today - one.first).days <= rule.number("within_days"):
            known = found.get(one.kind)
            if known is None or one.first > known.first:
                found[one.kind] = one
    return found

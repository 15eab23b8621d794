"""What the microscope, the eye or a laboratory found, until a course or another look answers it."""

from __future__ import annotations

from datetime import date

from store.facts.hazards import hazards
from store.facts.sources import cite_with_standing
from store.text import day_said
from store.watch.concern import Concern
from store.watch.found import OpenFinding
from store.watch.kinds.reading import concern
from store.watch.levels import ORDER, Level
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen
from store.water.given import figures

_WEIGHTS = {"act": 2.0, "watch": 1.0, "unknown": 1.0, "calm": 0.25}
"""How much each finding adds to the severity: one more always makes a concern at rest return."""


def level_of(rule: Rule, one: OpenFinding) -> Level:
    """What a finding asks for: `calm` is a note on the pond's page.

    Parameters
    ----------
    rule
        Of the kind `finding`, as it is in force.
    one
        The finding.
    """
    hazard = hazards()[one.hazard]
    if one.heavy and not one.suspected:
        return "act"
    if hazard.few_are_normal and _few(rule, one):
        return "calm"
    if one.suspected:
        return "watch"
    return hazard.found_level


def _few(rule: Rule, one: OpenFinding) -> bool:
    """Whether all that is known says that there were few; without a number nothing says it."""
    if one.per_field is None and one.score is None:
        return False
    few = one.per_field is None or one.per_field <= rule.number("few_per_field")
    return few and (one.score is None or one.score <= rule.number("few_score"))


class FindingKind:
    """Hazards found at a pond that neither a course nor a later look of the same kind has answered.

    Of several the worst speaks and the others are counted.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The worst of them; `since` is the newest examination, so that a rest does not hide it."""
        ordered = _ordered(rule, seen)
        if not ordered:
            return None
        level = level_of(rule, ordered[0])
        severity = sum(_WEIGHTS[level_of(rule, one)] for one in ordered)
        newest = max(one.on_day for one in ordered)
        return Finding(level, severity, float(len(ordered)), 0.0, "", -1, newest, ordered[0].hazard)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `gill flukes, heavy, and 1 more`."""
        ordered = _ordered(rule, seen)
        said = _clause(ordered[0]) if ordered else hazards()[finding.variant].plain_name
        return said if len(ordered) < 2 else f"{said}, and {len(ordered) - 1} more"

    def series(self, rule: Rule) -> str:
        """The temperature, by which a course would be timed."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return 0.0, 30.0

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """The first day on which the worst of them was found unanswered."""
        ordered = _ordered(rule, seen)
        return Began(ordered[0].first) if ordered else finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """What was found on which fish, what would answer it, and what each hazard asks for."""
        ordered = _ordered(rule, seen)
        remarks = []
        for one in ordered:
            hazard = hazards()[one.hazard]
            source = cite_with_standing(hazard.source, hazard.standing)
            remarks.append(f"{hazard.plain_name.capitalize()}: {hazard.response} ({source})")
            if hazard.few_are_normal:
                remarks.append(hazard.cautions[0])
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=self.since(rule, seen, finding),
            parameter=self.series(rule),
            unit="hazards",
            arithmetic=tuple(_reckoned(rule, one, today) for one in ordered),
            readings=tuple(
                f"{day_said(one.on_day)}, {one.by}: {place}"
                for one in ordered
                for place in one.places
            ),
            remarks=tuple(dict.fromkeys(remarks)),
        )


def _ordered(rule: Rule, seen: PondSeen) -> list[OpenFinding]:
    """The worst first, and of one level the newest."""
    return sorted(
        seen.found,
        key=lambda one: (ORDER[level_of(rule, one)], -one.on_day.toordinal(), one.hazard),
    )


def _clause(one: OpenFinding) -> str:
    name = hazards()[one.hazard].plain_name
    if one.suspected:
        return f"{name} suspected"
    if one.heavy:
        return f"{name}, heavy"
    return f"{name} still found" if one.after_course else f"{name} found"


def _reckoned(rule: Rule, one: OpenFinding, today: date) -> str:
    name = hazards()[one.hazard].plain_name
    sure = " (suspected)" if one.suspected else ""
    parts = [f"{name}{sure} on {one.fish} of {one.of} fish" if one.of else f"{name}{sure}"]
    if one.per_field is not None:
        parts.append(f"at most {figures(one.per_field)} a field")
    if one.score is not None:
        parts.append(f"at most {one.score} of 3")
    if hazards()[one.hazard].few_are_normal and _few(rule, one):
        parts.append(
            f"few are up to {figures(rule.number('few_per_field'))} a field or "
            f"{figures(rule.number('few_score'))} of 3"
        )
    if one.heavy:
        parts.append(f"{one.heavy}: a heavy burden")
    if one.after_course:
        parts.append(f"after {one.after_course}")
    days = (today - one.first).days
    parts.append(
        f"not answered since {day_said(one.first)}, {days} {'day' if days == 1 else 'days'}"
    )
    return "; ".join(parts)

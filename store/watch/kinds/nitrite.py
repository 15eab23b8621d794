"""Nitrite in the light of chloride: chloride keeps nitrite out of the gills."""

from __future__ import annotations

from store.watch.kinds.reading import ReadingKind, Values
from store.watch.rule import Finding, Rule
from store.watch.seen import PondSeen
from store.water.nitrite import SOURCE as CHLORIDE_SOURCE
from store.water.nitrite import chloride_to_add_mg_l

RATIO = "least_chloride_to_nitrite"


class NitriteKind(ReadingKind):
    """Nitrite above its limit: `watch`; `act` where chloride does not shield the gills.

    That is so when the chloride of the same test is less than `least_chloride_to_nitrite` times the
    nitrite, or when chloride is not known and nitrite is above the harder limit. Enough chloride
    never silences the rule: the published ratio is for catfish.
    """

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Nitrite alone; chloride is looked at where it was measured."""
        return ("nitrite_mg_l",)

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """The nitrite level, raised by too little chloride."""
        nitrite = values["nitrite_mg_l"]
        limits = rule.limits
        if nitrite <= limits.watch_above:
            return None
        times = nitrite / limits.watch_above
        chloride = values.get("chloride_mg_l")
        if chloride is None:
            if nitrite > limits.act_above:
                return Finding(
                    "act", times, nitrite, limits.act_above, "act_above", variant="no chloride"
                )
            return Finding(
                "watch", times, nitrite, limits.watch_above, "watch_above", variant="no chloride"
            )
        wanted = rule.number(RATIO) * nitrite
        if chloride < wanted:
            times *= 2.0 - chloride / wanted
            return Finding("act", times, nitrite, limits.watch_above, RATIO, variant="little")
        return Finding(
            "watch", times, nitrite, limits.watch_above, "watch_above", variant="shielded"
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `nitrite 0.60 mg/L, Cl 2:1`."""
        chloride = seen.values(finding.test).get("chloride_mg_l")
        if chloride is None:
            return f"nitrite {finding.value:.2f} mg/L > {finding.limit:.2f}"
        return f"nitrite {finding.value:.2f} mg/L, Cl {chloride / finding.value:.0f}:1"

    def series(self, rule: Rule) -> str:
        """Nitrite."""
        return "nitrite_mg_l"

    def unit(self, rule: Rule) -> str:
        """Milligrams of the NO2 ion a litre."""
        return "mg/L NO2"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The limit, the ratio, and the chloride that is wanting."""
        nitrite = finding.value
        steps = [f"nitrite {nitrite:.2f} mg/L NO2 is above {finding.limit:.2f} mg/L"]
        chloride = seen.values(finding.test).get("chloride_mg_l")
        if chloride is not None:
            wanted = rule.number(RATIO)
            steps.append(
                f"chloride {chloride:.0f} mg/L ÷ nitrite {nitrite:.2f} mg/L = "
                f"{chloride / nitrite:.1f} : 1; "
                f"wanted {wanted:.0f} : 1 ({CHLORIDE_SOURCE})"
            )
            to_add = chloride_to_add_mg_l(nitrite, chloride, wanted)
            steps.append(
                f"{wanted:.0f} × {nitrite:.2f} mg/L − {chloride:.0f} mg/L = {to_add:.0f} mg/L Cl "
                "wanting"
            )
        return tuple(steps)

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """What was not measured, and what the ratio rests on."""
        if finding.variant == "no chloride":
            return ("Chloride was not measured in this test: how much it shields is not known.",)
        return ("The ratio is on the NO2 ion and was found with catfish, not with koi.",)

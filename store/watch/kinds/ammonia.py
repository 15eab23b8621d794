"""Ammonia: the un-ionised part against its limit, the total against the criteria of the water."""

from __future__ import annotations

from store.watch.kinds.reading import ReadingKind, Values
from store.watch.rule import Finding, Rule
from store.watch.seen import PondSeen
from store.water.ammonia import (
    ammonia_remarks,
    ph_at_limit,
    tan_at_limit,
    un_ionised_fraction,
)
from store.water.criteria import (
    acute_arithmetic,
    acute_tan_mg_l,
    chronic_arithmetic,
    chronic_tan_mg_l,
    criteria_remarks,
)
from store.water.molar import NH3_PER_N

INGREDIENTS = ("tan_mg_l", "ph", "temperature_c")


class UnIonisedKind(ReadingKind):
    """Un-ionised ammonia against a limit as NH3 (`watch`) and one as N (`act`).

    Emerson's fresh-water fraction is used in salted ponds too: salt lowers the true figure, so the
    rule errs on the cautious side.
    """

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Total ammonia, pH and temperature of one test."""
        return INGREDIENTS

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Total ammonia times the un-ionised fraction at that pH and temperature."""
        nh3_n = values["tan_mg_l"] * un_ionised_fraction(values["ph"], values["temperature_c"])
        limits = rule.limits
        if nh3_n > limits.act_above:
            return Finding("act", nh3_n / limits.act_above, nh3_n, limits.act_above, "act_above")
        watch_above = limits.watch_above / NH3_PER_N
        if nh3_n > watch_above:
            return Finding("watch", nh3_n / watch_above, nh3_n, watch_above, "watch_above")
        return None

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `NH3-N 0.11 mg/L > 0.05`."""
        return f"NH3-N {fine(finding.value)} mg/L > {fine(finding.limit)}"

    def series(self, rule: Rule) -> str:
        """Un-ionised ammonia as N."""
        return "nh3_n_mg_l"

    def unit(self, rule: Rule) -> str:
        """Milligrams of nitrogen a litre."""
        return "mg/L N"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """TAN times fraction, and the total ammonia that would be within the limit."""
        values = seen.values(finding.test)
        tan, ph, warm = (values[code] for code in INGREDIENTS)
        fraction = un_ionised_fraction(ph, warm)
        allowed = tan_at_limit(finding.limit, ph, warm)
        basis = (
            "" if finding.level == "act" else (f" ({finding.limit * NH3_PER_N:.3g} mg/L as NH3)")
        )
        return (
            f"TAN {tan:.2f} mg/L as N × {100.0 * fraction:.2f} % un-ionised at pH {ph:.1f} and "
            f"{warm:.1f} °C = {fine(finding.value)} mg/L NH3-N; limit "
            f"{fine(finding.limit)} mg/L{basis}",
            f"At this pH and temperature the limit allows {fine(allowed)} mg/L TAN",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and what the afternoon would do to a morning's reading."""
        values = seen.values(finding.test)
        tan, ph, warm = (values[code] for code in INGREDIENTS)
        remarks = list(ammonia_remarks(ph, warm))
        limit = rule.limits.act_above
        if finding.level != "act":
            reached = ph_at_limit(tan, warm, limit)
            if reached is not None and reached > ph:
                remarks.append(
                    f"At pH {reached:.1f} the same total ammonia would stand at {fine(limit)} "
                    "mg/L NH3-N; pH often rises until the late afternoon, which was not measured."
                )
        return tuple(remarks)


class CriterionKind(ReadingKind):
    """Total ammonia against the acute and chronic fresh-water criteria at that pH and warmth."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Total ammonia, pH and temperature of one test."""
        return INGREDIENTS

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Above the acute criterion: act; above the chronic one: watch."""
        tan, ph, warm = values["tan_mg_l"], values["ph"], values["temperature_c"]
        chronic = chronic_tan_mg_l(ph, warm) * rule.limits.watch_above
        if tan <= chronic:
            return None
        acute = acute_tan_mg_l(ph, warm) * rule.limits.act_above
        if tan > acute:
            return Finding("act", tan / acute, tan, acute, "act_above", variant="acute")
        return Finding("watch", tan / chronic, tan, chronic, "watch_above", variant="chronic")

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `TAN 2.10 mg/L > 0.78 chronic`."""
        return f"TAN {finding.value:.2f} mg/L > {fine(finding.limit)} {finding.variant}"

    def series(self, rule: Rule) -> str:
        """Total ammonia as N."""
        return "tan_mg_l"

    def unit(self, rule: Rule) -> str:
        """Milligrams of nitrogen a litre."""
        return "mg/L N"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The criterion's formula with pH and temperature put in."""
        values = seen.values(finding.test)
        ph, warm = values["ph"], values["temperature_c"]
        formula = acute_arithmetic if finding.variant == "acute" else chronic_arithmetic
        return (
            formula(ph, warm),
            f"TAN {finding.value:.2f} mg/L as N is above the {finding.variant} criterion of "
            f"{fine(finding.limit)} mg/L",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and over which time the criterion is meant."""
        values = seen.values(finding.test)
        span = "one hour" if finding.variant == "acute" else "30 days"
        return (
            *criteria_remarks(values["ph"], values["temperature_c"]),
            f"The criterion is an average over {span}; this is one reading. It protects the most "
            "sensitive fresh-water animals and is a benchmark, not a target for a pond.",
        )


def fine(value: float) -> str:
    """A concentration of ammonia with as many digits as its size needs, everywhere the same.

    Parameters
    ----------
    value
        The concentration [mg/L].

    Examples
    --------
    >>> fine(0.01645), fine(0.05), fine(1.5)
    ('0.016', '0.05', '1.50')
    """
    return f"{value:.3f}" if value < 0.1 and round(value, 2) != round(value, 3) else f"{value:.2f}"

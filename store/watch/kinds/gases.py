"""Dissolved gases reckoned from a test: oxygen as a share of saturation, free carbon dioxide."""

from __future__ import annotations

from store.water.carbonate import co2_remarks, free_co2_mg_l
from store.water.oxygen import oxygen_remarks, saturation_mg_l
from store.watch.kinds.reading import ReadingKind, Values, above, below
from store.watch.rule import Finding, Rule
from store.watch.seen import PondSeen


class SaturationKind(ReadingKind):
    """Oxygen in percent of saturation, with the altitude of the site and the salt of the water."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Oxygen and temperature of one test."""
        return ("oxygen_mg_l", "temperature_c")

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Too little or too much of saturation."""
        saturation = saturation_mg_l(
            values["temperature_c"], values.get("salinity_g_l", 0.0), seen.altitude_m
        )
        percent = 100.0 * values["oxygen_mg_l"] / saturation
        params = rule.params
        low = below(percent, params.get("watch_below"), params.get("act_below"))
        high = above(percent, params.get("watch_above"), params.get("act_above"))
        found = low or high
        if found is None:
            return None
        level, limit, severity = found
        return Finding(level, severity, percent, limit)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `oxygen 52 % of saturation, limit 60`."""
        return f"oxygen {finding.value:.0f} % saturation, limit {finding.limit:.0f}"

    def series(self, rule: Rule) -> str:
        """Percent saturation, reckoned."""
        return "oxygen_saturation_percent"

    def unit(self, rule: Rule) -> str:
        """Percent of saturation."""
        return "%"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Measured oxygen divided by saturation at that temperature, salt and altitude."""
        values = seen.values(finding.index)
        salt = values.get("salinity_g_l", 0.0)
        saturation = saturation_mg_l(values["temperature_c"], salt, seen.altitude_m)
        return (
            f"saturation at {values['temperature_c']:.1f} °C, {salt:.1f} g/L salt and "
            f"{seen.altitude_m:.0f} m = {saturation:.2f} mg/L",
            f"100 × {values['oxygen_mg_l']:.1f} ÷ {saturation:.2f} = {finding.value:.0f} %; "
            f"limit {finding.limit:.0f} %",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and the hour of the day."""
        values = seen.values(finding.index)
        return (
            *oxygen_remarks(values["temperature_c"], values.get("salinity_g_l", 0.0)),
            "Oxygen is lowest at dawn; a reading by day does not show the night.",
        )


class CarbonDioxideKind(ReadingKind):
    """Free carbon dioxide from alkalinity, pH and temperature."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Alkalinity, pH and temperature of one test."""
        return ("alkalinity_mg_l", "ph", "temperature_c")

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Too much free carbon dioxide."""
        carbon_dioxide = free_co2_mg_l(
            values["alkalinity_mg_l"], values["ph"], values["temperature_c"]
        )
        found = above(carbon_dioxide, rule.params.get("watch_above"), rule.params.get("act_above"))
        if found is None:
            return None
        level, limit, severity = found
        return Finding(level, severity, carbon_dioxide, limit)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `CO2 34 mg/L, limit 20`."""
        return f"CO2 {finding.value:.0f} mg/L, limit {finding.limit:.0f}"

    def series(self, rule: Rule) -> str:
        """Free carbon dioxide, reckoned."""
        return "co2_mg_l"

    def unit(self, rule: Rule) -> str:
        """Milligrams a litre."""
        return "mg/L"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The ingredients and the result."""
        values = seen.values(finding.index)
        return (
            f"alkalinity {values['alkalinity_mg_l']:.0f} mg/L CaCO3 × 44.01/50.04 × 10^(pK1 − pH) "
            f"at pH {values['ph']:.1f} and {values['temperature_c']:.1f} °C = "
            f"{finding.value:.0f} mg/L; limit {finding.limit:.0f}",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and what an error of the pH does."""
        values = seen.values(finding.index)
        return (
            *co2_remarks(values["ph"], values["temperature_c"]),
            "An error of 0.1 in pH changes this figure by a quarter.",
        )

"""Dissolved gases reckoned from a test: oxygen as a share of saturation, free carbon dioxide."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from store.watch.concern import Concern
from store.watch.hours import by_day
from store.watch.kinds.reading import ReadingKind, Values
from store.watch.rule import Finding, Rule, Said
from store.watch.seen import PondSeen
from store.water.carbonate import co2_remarks, free_co2_mg_l
from store.water.oxygen import oxygen_remarks, saturation_mg_l

WARM = "temperature_c"
MEASURED = "oxygen_percent"


class SaturationKind(ReadingKind):
    """Oxygen in percent of saturation, measured, or reckoned with altitude and salt.

    A rule of this kind on the temperature speaks of warm nights: the water is above its limit, and
    no reading of the early morning has shown enough oxygen. Its `calm_` limit notes that the oxygen
    of the last days was taken at other hours only.
    """

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Oxygen and temperature of one test; the temperature alone for warm nights."""
        return (WARM,) if rule.parameter == WARM else ("oxygen_mg_l", WARM)

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """On the newest believed test with a percentage."""
        if rule.parameter == WARM:
            return self._warm_night(rule, seen, today)
        oldest_ms = seen.oldest_ms(rule.trusted_days)
        for index, test in enumerate(seen.tests):
            if test.at_ms < oldest_ms:
                return None
            values = seen.values(index)
            if MEASURED in values or ("oxygen_mg_l" in values and WARM in values):
                found = self.judge(rule, seen, values)
                return None if found is None else found._replace(test=index)
        return None

    def _warm_night(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        daily = seen.daily_temperatures()
        if not daily or today.toordinal() - daily[-1][0] > rule.trusted_days:
            return None
        found = rule.limits.judge(daily[-1][1])
        if found is None:
            return None
        oldest_ms = seen.oldest_ms(rule.number("dawn_counts_days"))
        enough = rule.number("enough_mg_l")
        before = rule.number("dawn_before_hour")
        last = -1
        for index, test in enumerate(seen.tests):
            if test.at_ms < oldest_ms:
                break
            oxygen = seen.values(index).get("oxygen_mg_l")
            if oxygen is None:
                continue
            if oxygen >= enough and seen.local_hour(test.at_ms) < before:
                return None
            last = index if last < 0 else last
        if found.level == "calm" and last < 0:
            return None
        return found._replace(test=last, since=date.fromordinal(daily[-1][0]), variant="warm")

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Too little or too much of saturation; the measured percentage where there is one."""
        measured = values.get(MEASURED)
        if measured is not None:
            found = rule.limits.judge(measured)
            return None if found is None else found._replace(variant="measured")
        salt = values.get("salinity_g_l", 0.0)
        saturation = saturation_mg_l(values[WARM], salt, seen.altitude_m)
        return rule.limits.judge(100.0 * values["oxygen_mg_l"] / saturation)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `oxygen 52 % < 60`."""
        if finding.variant == "warm":
            night = "no dawn oxygen" if finding.level == "calm" else "warm night"
            return f"{finding.value:.1f} °C, {night}"
        beyond = ">" if finding.which.endswith("above") else "<"
        return f"oxygen {finding.value:.0f} % {beyond} {finding.limit:.0f}"

    def series(self, rule: Rule) -> str:
        """Percent saturation, reckoned; the temperature for warm nights."""
        return WARM if rule.parameter == WARM else "oxygen_saturation_percent"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """Between 100 % and the limit."""
        if finding.variant == "warm":
            return finding.limit - 10.0, finding.limit
        return (finding.limit, 100.0) if finding.limit < 100.0 else (100.0, finding.limit)

    def unit(self, rule: Rule) -> str:
        """Percent of saturation, or the temperature's."""
        return "°C" if rule.parameter == WARM else "%"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Measured oxygen divided by saturation at that temperature, salt and altitude."""
        if finding.variant == "warm":
            full = saturation_mg_l(finding.value, 0.0, seen.altitude_m)
            return (
                f"the water is at {finding.value:.1f} °C, above {finding.limit:.1f} °C, and holds "
                f"no more than {full:.1f} mg/L of oxygen from the air",
            )
        if finding.variant == "measured":
            return (f"measured {finding.value:.0f} % of saturation; limit {finding.limit:.0f} %",)
        values = seen.values(finding.test)
        salt = values.get("salinity_g_l", 0.0)
        saturation = saturation_mg_l(values[WARM], salt, seen.altitude_m)
        return (
            f"saturation at {values[WARM]:.1f} °C, {salt:.1f} g/L salt and "
            f"{seen.altitude_m:.0f} m = {saturation:.2f} mg/L",
            f"100 × {values['oxygen_mg_l']:.1f} mg/L ÷ {saturation:.2f} mg/L = "
            f"{finding.value:.0f} %; limit {finding.limit:.0f} %",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and the hour of the day."""
        if finding.variant == "warm":
            silent = "No reading taken at dawn of the last days shows enough oxygen."
            if finding.test < 0:
                return (silent,)
            oxygen = seen.values(finding.test)["oxygen_mg_l"]
            hour = seen.local_hour(seen.tests[finding.test].at_ms)
            return (
                silent,
                f"The last one was {oxygen:.1f} mg/L. {by_day(hour, finding.value)}".strip(),
            )
        values = seen.values(finding.test)
        said = by_day(seen.local_hour(seen.tests[finding.test].at_ms), values.get(WARM))
        remarks = (said,) if said else ()
        if finding.variant == "measured":
            return remarks
        return (*oxygen_remarks(values[WARM], values.get("salinity_g_l", 0.0)), *remarks)

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """As for every reading; for warm nights the last oxygen stands beside it."""
        told = super().tell(rule, seen, finding, said, today)
        if finding.variant != "warm" or finding.test < 0:
            return told
        return replace(told, readings=(said(seen, finding.test, ("oxygen_mg_l",)),))


class CarbonDioxideKind(ReadingKind):
    """Free carbon dioxide from alkalinity, pH and temperature."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """Alkalinity, pH and temperature of one test."""
        return ("alkalinity_mg_l", "ph", "temperature_c")

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """Too much free carbon dioxide."""
        return rule.limits.judge(
            free_co2_mg_l(values["alkalinity_mg_l"], values["ph"], values["temperature_c"])
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `CO2 34 mg/L > 20`."""
        return f"CO2 {finding.value:.0f} mg/L > {finding.limit:.0f}"

    def series(self, rule: Rule) -> str:
        """Free carbon dioxide, reckoned."""
        return "co2_mg_l"

    def unit(self, rule: Rule) -> str:
        """Milligrams a litre."""
        return "mg/L"

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The ingredients and the result."""
        values = seen.values(finding.test)
        return (
            f"alkalinity {values['alkalinity_mg_l']:.0f} mg/L CaCO3 × 44.01/50.04 × 10^(pK1 − pH) "
            f"at pH {values['ph']:.1f} and {values['temperature_c']:.1f} °C = "
            f"{finding.value:.0f} mg/L; limit {finding.limit:.0f} mg/L",
        )

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """Validity, and what an error of the pH does."""
        values = seen.values(finding.test)
        return (*co2_remarks(values["ph"], values["temperature_c"]),)

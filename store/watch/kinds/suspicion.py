"""A notifiable disease is suspected: by signs, water, deaths and the fish that came."""

from __future__ import annotations

from datetime import date
from math import isfinite

from store.facts.dead_fish import sayings
from store.facts.hazards import hazards
from store.text import day_said
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.lost import number
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen
from store.watch.suspected import Settings, Suspected, suspect, windows_said

FOREMOST = 10.0
"""Severity from which a suspicion stands before everything else of its level."""


def settings_of_suspicion(rule: Rule) -> Settings:
    """The numbers of a rule of the kind `suspicion`.

    Parameters
    ----------
    rule
        As it is in force.
    """
    return Settings(
        deaths_days=round(rule.number("deaths_days")),
        signs_days=round(rule.number("signs_days")),
        contact_days=round(rule.number("contact_days")),
        named_days=round(rule.number("named_days")),
        watch_points=round(rule.number("watch_from_points")),
        act_points=round(rule.number("act_from_points")),
        well_deaths=round(rule.number("well_from_deaths")),
    )


def suspected_by(rule: Rule, seen: PondSeen, today: date) -> Suspected | None:
    """What the rule suspects at a pond, with all that speaks for it and against it.

    Parameters
    ----------
    rule
        Of the kind `suspicion`.
    seen
        The pond.
    today
        The practice's calendar day.
    """
    if seen.losses is None:
        return None
    return suspect(hazards()[rule.hazard], seen, today, settings_of_suspicion(rule))


class SuspicionKind:
    """`act` from `act_from_points`, `watch` from `watch_from_points`; see `suspect`."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The suspicion, foremost of its level."""
        found = suspected_by(rule, seen, today)
        if found is None:
            return None
        act = found.level == "act"
        which = "act_from_points" if act else "watch_from_points"
        return Finding(
            found.level,
            (FOREMOST if act else 1.0) + found.points,
            float(found.points),
            rule.number(which),
            which,
            -1,
            found.since,
            "act" if act else "watch",
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `STOP: koi herpesvirus disease?`."""
        name = hazards()[rule.hazard].plain_name
        return f"STOP: {name}?" if finding.variant == "act" else f"{name} possible"

    def series(self, rule: Rule) -> str:
        """The temperature."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """From well below the widest published band to its lower end."""
        band = hazards()[rule.hazard].widest
        low = 15.0 if band is None or not isfinite(band[0]) else band[0]
        return low - 8.0, low

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the first death that counts, or of what was named first."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """What speaks for it and against it, what is to be done, and what must not be."""
        found = suspected_by(rule, seen, today)
        assert found is not None
        hazard = hazards()[rule.hazard]
        stop = tuple(one.says for one in sayings("stop")) if found.level == "act" else ()
        remarks = [*stop, *(f"Against it: {one}" for one in found.against)]
        if found.spans is not None:
            remarks.append(f"From contact to deaths: {found.spans.said} ({found.spans.source}).")
        remarks.append(f"Published windows: {windows_said(hazard)}.")
        remarks.append(_contacts_said(found, rule))
        remarks += [one.says for one in sayings("apart")]
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="points",
            arithmetic=(
                *(one.removesuffix(".") for one in found.for_it),
                _water_said(found).removesuffix("."),
                f"{found.points} points; told from {rule.number('watch_from_points'):.0f}, act "
                f"from {rule.number('act_from_points'):.0f}",
            ),
            readings=(f"{number(found.deaths)} dead by the entries of the pond",)
            if found.deaths
            else (),
            remarks=tuple(one for one in remarks if one),
        )


def _water_said(found: Suspected) -> str:
    low, high = found.band
    band = f"{low:g} to {high:g} °C" if isfinite(low) else f"up to {high:g} °C"
    if found.temp_c is None or found.temp_on is None:
        return f"No temperature is known of these days: the widest published band is {band}."
    inside = "inside" if found.where == "inside" else "outside"
    return (
        f"Daily mean {found.temp_c:.1f} °C on {day_said(found.temp_on)}; the days before the "
        f"deaths and since lie {inside} the widest published band, {band}."
    )


def _contacts_said(found: Suspected, rule: Rule) -> str:
    days = rule.number("contact_days")
    words = {"new_fish": "fish came", "fish_removed": "fish left"}
    listed = "; ".join(f"{words[one.kind]} on {day_said(one.on_day)}" for one in found.contacts)
    return (
        f"Contacts of the last {days:.0f} days: {listed or 'none is entered'}. Ask for every fish, "
        "net and water that was swapped, lent or shown."
    )

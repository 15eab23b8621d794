"""The alert rules as they are before a practice changes them.

A rule is a kind, what it looks at, and its numbers (`params`), each with the unit in its name and
its own source and standing (`backing`). What each kind does with its numbers:

============  ======================================================================================
kind          its numbers
============  ======================================================================================
`level`       `calm_`, `watch_`, `act_` + `below_` or `above_` + unit: the level of the latest
              reading of `parameter`. A value on the limit itself is still good.
`oxygen`      As `level`, on measured percent or, where only mg/L was measured, on percent reckoned
              from it. With `parameter` temperature: speaks when the water is above the limit,
              unless a reading taken before `dawn_before_hour` within the last `dawn_counts_days`
              was at least `enough_mg_l`; above `calm_above_c` a note where oxygen was taken, but
              at other hours.
`rate`        `watch_change_above_`, `act_change_above_` + unit: the greatest change of `parameter`
              between two readings at most 24 hours apart, within the last `counts_days`. With
              `morning_from_hour`, `midday_from_hour`, `afternoon_from_hour` and `night_from_hour`
              only readings of like hours are compared, and a fall by daylight.
`slope`       Theil-Sen slope of `parameter` over the last `over_days`, from at least
              `least_readings`; days until `floor_` is reached, against `watch_days_to_floor` and
              `act_days_to_floor`.
`ammonia`     Un-ionised ammonia of one test against `watch_above_nh3_mg_l` (as NH3) and
              `act_above_nh3_n_mg_l` (as N); the basis is part of the limit.
`criterion`   Total ammonia as a share of the chronic and the acute criterion at the pH and
              temperature of the same test.
`nitrite`     Above `watch_above_mg_l` (as NO2) `watch`; then `act` when the chloride of the same
              test is less than `least_chloride_to_nitrite` times the nitrite, or when chloride is
              not known and nitrite is above `act_above_mg_l`.
`co2`         As `level`, on free carbon dioxide of one test.
`overdue`     Days since the last test against `watch_after_intervals` times the interval of the
              pond's plan, or `default_interval_days` without one; `grace_days` are let pass.
`stale`       A reading older than `<parameter>_days`, else `default_days`, is no longer trusted.
              The pond is `unknown` when its newest test is older than `default_days`, or than
              `after_intervals` of its own test plan where that is longer.
`window`      The temperature window of a hazard, see `store.watch.windows`. There is one such rule
              for every hazard with a window, made here from the facts on hazards.
`event`       For `watch_hours`, `watch_days` or `calm_days` after the event `event` at a pond.
`signs`       From `watch_from_signs` different events of `SIGNS` within the last `within_days`.
`corrections` Two events of `CORRECTIONS` closer than `watch_below_hours`, told for `told_days`;
              a note from `calm_from_corrections` of them within `counted_days`.
`promise`     What a course promises as `promise`: due within `watch_ahead_days`, and `act` when it
              is `act_late_days` late.
`losses`      Fish that died within the last `within_days`: from `watch_from_deaths` of them and,
              where the stock is known, `watch_from_percent` of it; `act_` likewise. Fewer are a
              note. One level more while the water lies in the widest published window of a
              notifiable disease. See `store.watch.kinds.losses`.
`suspicion`   A notifiable disease `hazard`: points, of which `watch_from_points` are told and
              `act_from_points` are a suspicion, from deaths of the last `deaths_days`, signs of the
              last `signs_days`, fish that came within `contact_days` and other fish that are well
              beside `well_from_deaths` dead ones; a hazard named counts for `named_days`. See
              `store.watch.suspected`.
`finding`     What examinations found and nothing has answered, see `store.watch.kinds.finding`. Of
              a hazard of which a few are normal, up to `few_per_field` and `few_score` are a note.
`feeding`     While feeding is stopped: the mean of the last `mean_days` against `calm_above_c`,
              from at least `least_values` days with a value.
============  ======================================================================================
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.hazards import FILE as HAZARDS_FILE
from store.facts.hazards import Hazard, hazards
from store.facts.ranges import UNITS
from store.facts.rule_numbers import (
    LEVEL_KINDS,
    NEEDS_PARAMETER,
    PARAMS,
    check_needed,
    check_order,
    unit_suffix,
)
from store.facts.sources import source_standings

FILE = "rules.toml"
WINDOW_PREFIX = "window_"

EVENTS: Mapping[str, str] = MappingProxyType(
    {
        "filter_disturbed": "filter washed, rebuilt or stopped",
        "plants_killed": "algicide given, or plants and algae died",
        "new_fish": "new fish came in",
        "topped_up": "topped up or refilled from the mains",
        "power_cut": "power cut, or pump stopped",
    }
)
"""The events at a pond that a rule can speak after, in words."""

SIGNS: Mapping[str, str] = MappingProxyType(
    {
        "sign_gasping": "fish gasp at the surface",
        "sign_at_inlet": "fish crowd at inlet or margin",
        "sign_off_feed": "fish leave their feed",
        "sign_listless": "fish hang listless",
        "sign_water_turned": "water turned brown or smells",
    }
)
"""The events at a pond that are signs of low oxygen, in words."""

CORRECTIONS: Mapping[str, str] = MappingProxyType(
    {
        "water_changed": "water changed",
        "salt_added": "salt added",
        "buffer_added": "buffer added",
    }
)
"""The events at a pond that correct its water, in words; what binds chlorine goes with the water
that came in."""
ADDITIONS = frozenset({"salt_added", "buffer_added"})
"""Those of the corrections that put something in."""

PROMISES: Mapping[str, str] = MappingProxyType(
    {
        "dose": "a dose of a course",
        "turn": "a course to be planned anew",
        "control": "the control examination of a course",
        "answer": "a vet's answer to a dose that was logged against a stop",
    }
)
"""What a course promises, in words."""


@dataclass(frozen=True, slots=True)
class Backing:
    """What one number of a rule rests on, and why it was chosen where that is not plain."""

    source: str
    standing: Standing
    note: str


@dataclass(frozen=True, slots=True)
class RuleFact:
    """One alert rule with its default numbers; see the top of this file for what they mean."""

    code: str
    kind: str
    title: str
    parameter: str | None
    hazard: str | None
    params: Mapping[str, float | str]
    backing: Mapping[str, Backing]
    source: str
    standing: Standing
    advice: str
    cautions: tuple[str, ...]


def _number(entry: Entry, name: str, file_standings: Mapping[str, Standing],
            default: Backing) -> tuple[float | str | None, Backing]:  # fmt: skip
    """One number of a rule: bare, or a small table with a source of its own."""
    if isinstance(entry.raw(name), Mapping):
        part = entry.part(name)
        if part is not None:
            value = part.number("value", low=0.0, high=10000.0)
            source, standing = part.backing(file_standings)
            note = part.text("note", needed=False)
            part.finish()
            return value, Backing(source, standing, note)
    if name == "event":
        return entry.choice(name, EVENTS), default
    if name == "promise":
        return entry.choice(name, PROMISES), default
    return entry.number(name, low=0.0, high=10000.0), default


def _rule(entry: Entry, standings: Mapping[str, Standing],
          known: Mapping[str, Hazard]) -> RuleFact:  # fmt: skip
    kind = entry.choice("kind", PARAMS)
    parameter = entry.choice("parameter", UNITS, needed=kind in NEEDS_PARAMETER) or None
    hazard = entry.choice("hazard", known, needed=kind == "suspicion") or None
    if kind == "suspicion" and hazard is not None and not known[hazard].notifiable:
        entry.fault("hazard", "is not notifiable")
    source, standing = entry.backing(standings)
    note = entry.text("note", needed=False)
    default = Backing(source, standing, note)
    unit = unit_suffix(parameter) if parameter else "mg_l" if kind == "co2" else "[a-z_0-9]+"
    allowed = re.compile(PARAMS.get(kind, "").replace("{unit}", unit))
    params: dict[str, float | str] = {}
    backing: dict[str, Backing] = {}
    part = entry.part("params")
    if part is not None:
        for name in part.fields():
            value, rests_on = _number(part, name, standings, default)
            if kind and not allowed.fullmatch(name):
                part.fault(name, f"is not a number of a rule of the kind {kind!r} on {parameter}")
            elif value is not None:
                params[name] = value
                backing[name] = rests_on
        if kind in LEVEL_KINDS:
            check_order(entry, params)
        check_needed(entry, kind, params)
    rule = RuleFact(
        code=entry.name,
        kind=kind,
        title=entry.text("title"),
        parameter=parameter,
        hazard=hazard,
        params=MappingProxyType(params),
        backing=MappingProxyType(backing),
        source=source,
        standing=standing,
        advice=entry.text("advice"),
        cautions=entry.texts("cautions", needed=False),
    )
    entry.finish()
    return rule


def _window_rule(shared: RuleFact, hazard: Hazard) -> RuleFact:
    """The rule on the window of one hazard: the shared settings, the hazard's own numbers."""
    window = hazard.window
    own: dict[str, float | str] = {}
    if window is not None:
        numbers = {
            "low_c": window.low_c,
            "high_c": window.high_c,
            "margin_c": window.margin_c,
            "needs_fall_c": window.needs_fall_c,
        }
        own = {name: value for name, value in numbers.items() if value is not None}
        if window.needs_fall_c is not None:
            own["fall_hours"] = window.fall_hours
            own["fall_counts_days"] = window.fall_counts_days
    backing = {name: Backing(hazard.source, hazard.standing, hazard.window_note) for name in own}
    return RuleFact(
        code=WINDOW_PREFIX + hazard.code,
        kind="window",
        title=f"{hazard.plain_name}: {shared.title}",
        parameter="temperature_c",
        hazard=hazard.code,
        params=MappingProxyType(own | dict(shared.params)),
        backing=MappingProxyType(backing | dict(shared.backing)),
        source=hazard.source,
        standing=hazard.standing,
        advice=hazard.response,
        cautions=hazard.cautions,
    )


def read_rules(
    raw: Mapping[str, Any], standings: Mapping[str, Standing], known: Mapping[str, Hazard]
) -> tuple[dict[str, RuleFact], list[Finding]]:
    """Every good rule of the tables of a file, with one for each window of a hazard, and what is
    wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.
    known
        Every hazard by its code.

    Returns
    -------
    tuple of dict and list
        Rules by code, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, RuleFact] = {}
    for entry in entries(FILE, raw, findings):
        before = len(findings)
        rule = _rule(entry, standings, known)
        if len(findings) > before:
            continue
        if rule.kind == "window":
            for hazard in known.values():
                if hazard.window is not None and not hazard.watched_by:
                    made = _window_rule(rule, hazard)
                    found[made.code] = made
        else:
            found[rule.code] = rule
    findings.extend(
        Finding(
            HAZARDS_FILE,
            hazard.code,
            "watched_by",
            f"there is no good rule {hazard.watched_by!r}",
        )
        for hazard in known.values()
        if hazard.watched_by and hazard.watched_by not in found
    )
    return found, findings


@cache
def rules() -> Mapping[str, RuleFact]:
    """Every rule by its code, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_rules(file_tables(FILE), source_standings(), hazards())
    refuse(findings)
    return MappingProxyType(found)

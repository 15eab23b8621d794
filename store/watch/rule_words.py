"""The numbers of a rule in words: what each is called, in which unit, and all in one clause."""

from __future__ import annotations

from collections.abc import Mapping

from store.watch.rule import Rule
from store.water.parameters import PARAMETERS

_SUFFIXES = (
    ("_chloride_to_nitrite", "× the nitrite"), ("_least_values", "days with a value"),
    ("least_values", "days with a value"), ("least_readings", "readings"),
    ("change_above_c", "°C in 24 h"), ("change_above_ph", "pH units in 24 h"),
    ("_us_cm", "µS/cm"), ("_chance", "of one"), ("_signs", "signs"),
    ("_corrections", "corrections"), ("_deaths", "dead fish"), ("_points", "points"),
    ("_per_field", "per field"), ("_score", "of +++"),
    ("_c_per_day", "°C a day"), ("_nh3_n_mg_l", "mg/L NH3-N"), ("_nh3_mg_l", "mg/L NH3"),
    ("_chronic_share", "× the chronic criterion"), ("_acute_share", "× the acute criterion"),
    ("_intervals", "× the interval"), ("_to_floor", "days"), ("_days", "days"), ("_hours", "h"),
    ("_hour", "h"), ("_percent", "%"), ("_mg_l", "mg/L"), ("_g_l", "g/L"), ("_ph", ""),
    ("_c", "°C"),
)  # fmt: skip
"""How the name of a number ends, and the unit this means; the longer endings first."""

_LABELS: Mapping[str, str] = {
    "low_c": "window from", "high_c": "window to", "margin_c": "left beyond a margin of",
    "needs_fall_c": "only after a fall of", "fall_hours": "fall within",
    "fall_counts_days": "fall counts for", "entered_within_days": "counts as entered for",
    "heading_within_days": "looks ahead by", "watch_days": "watched for",
    "left_within_days": "counts as left for", "trend_days": "trend over the last",
    "trend_least_values": "trend from at least",
    "trend_least_c_per_day": "least trend", "max_gap_days": "a gap parts beyond",
    "stale_after_days": "temperature believed for", "cold_below_c": "cold is below",
    "cold_within_days": "cold within the last", "rising_least_c_per_day": "least rise in spring",
    "fresh_days": "measured outside holds for", "estimate_chance": "by estimate from a chance of",
    "counts_days": "told for", "over_days": "slope over the last",
    "least_readings": "from at least", "watch_days_to_floor": "watch, days to the floor",
    "act_days_to_floor": "act, days to the floor", "default_days": "readings believed for",
    "after_intervals": "or, if longer, for", "watch_after_intervals": "late after",
    "default_interval_days": "without a plan, every", "grace_days": "let pass",
    "watch_hours": "watched for", "calm_days": "noted for", "dawn_before_hour": "dawn ends at",
    "dawn_counts_days": "dawn reading counts for", "enough_mg_l": "enough oxygen at dawn",
    "least_chloride_to_nitrite": "least chloride",
    "watch_from_signs": "watch, from", "within_days": "seen within",
    "calm_from_corrections": "note, from", "watch_below_hours": "watch, closer than",
    "watch_ahead_days": "watch, ahead by", "act_late_days": "act, late by",
    "well_from_deaths": "others well counts from", "deaths_days": "deaths of the last",
    "signs_days": "signs of the last", "contact_days": "contacts of the last",
    "named_days": "a name counts for",
    "few_per_field": "few are, up to", "few_score": "few are, up to a score of",
    "told_days": "told for", "counted_days": "counted over the last",
    "mean_days": "mean of the last",
    "least_values": "from at least",
    "morning_from_hour": "morning begins at", "midday_from_hour": "midday begins at",
    "afternoon_from_hour": "afternoon begins at", "night_from_hour": "night begins at",
}  # fmt: skip

_DEGREES = frozenset({"dKH", "dGH"})
"""Units of a list that stand beside the one in which a limit was published."""


def unit_of(name: str, parameter: str = "") -> str:
    """The unit of a number of a rule, from its name.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.
    parameter
        What the rule looks at, which says as what a concentration is counted; empty for none.

    Returns
    -------
    str
        Empty for a pH, which has none.

    Examples
    --------
    >>> unit_of("act_above_nh3_n_mg_l"), unit_of("watch_days"), unit_of("act_above_ph")
    ('mg/L NH3-N', 'days', '')
    >>> unit_of("watch_above_mg_l", "nitrite_mg_l")
    'mg/L NO2'
    """
    unit = next((unit for ending, unit in _SUFFIXES if name.endswith(ending)), "")
    known = PARAMETERS.get(parameter)
    if unit == "mg/L" and known is not None and known.shown_unit not in _DEGREES:
        return known.unit if known.unit.startswith("mg/L") else unit
    return unit


def parameter_of(rule: Rule) -> str:
    """The parameter whose limits a rule holds; empty where it holds those of none.

    Parameters
    ----------
    rule
        The rule, whichever numbers are in force.
    """
    return rule.parameter or ("nitrite_mg_l" if rule.kind == "nitrite" else "")


def said_number(name: str, value: float, parameter: str = "", *, both: bool = True) -> str:
    """A number of a rule with its unit; alkalinity and hardness also in degrees.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.
    value
        The number [the unit in its name].
    parameter
        What the rule looks at; empty for none.
    both
        Whether the unit in which readings are listed stands beside the published one.

    Examples
    --------
    >>> said_number("watch_below_mg_l", 75.0, "alkalinity_mg_l")
    '75 mg/L (4.2 dKH)'
    >>> said_number("watch_above_ph", 8.5, "ph"), said_number("fall_hours", 24.0)
    ('pH 8.5', '24 h')
    """
    unit = unit_of(name, parameter)
    if not unit:
        return f"pH {value:g}" if name.endswith("_ph") else f"{value:g}"
    known = PARAMETERS.get(parameter)
    degrees = both and unit == "mg/L" and known is not None and known.shown_unit in _DEGREES
    also = f" ({known.shown_with_unit(value)})" if known is not None and degrees else ""
    return f"{value:g} {unit}{also}"


def label_of(name: str) -> str:
    """What a number of a rule is called.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.

    Examples
    --------
    >>> label_of("watch_change_above_c"), label_of("tan_mg_l_days"), label_of("low_c")
    ('watch, change above', 'total ammonia as N believed for', 'window from')
    """
    if name in _LABELS:
        return _LABELS[name]
    if name.endswith("_days") and name.removesuffix("_days") in PARAMETERS:
        return f"{PARAMETERS[name.removesuffix('_days')].label} believed for"
    for level in ("calm", "watch", "act"):
        for side in ("change_above", "above", "below"):
            if name.startswith(f"{level}_{side}"):
                spoken = "note" if level == "calm" else level
                return f"{spoken}, {side.replace('_', ' ')}"
    if name.startswith("floor_"):
        return "floor"
    return name.replace("_", " ")


def said_limit(parameter: str, value: float) -> str:
    """A limit as readings are listed, with the published unit beside it where that is another.

    Parameters
    ----------
    parameter
        Code of the parameter.
    value
        The limit [the stored unit of the parameter].

    Examples
    --------
    >>> said_limit("alkalinity_mg_l", 75.0), said_limit("chlorine_mg_l", 0.002)
    ('4.2 dKH (75 mg/L CaCO3)', '0.002 mg/L')
    """
    known = PARAMETERS[parameter]
    said = f"{known.shown_limit(value)} {known.shown_unit}".strip()
    return said if known.per_shown == 1.0 else f"{said} ({value:g} {known.unit})"


def in_one_clause(rule: Rule) -> str:
    """The numbers of a rule that speak, in one clause for a list.

    Parameters
    ----------
    rule
        The rule as it is in force.

    Examples
    --------
    >>> from store.watch.rulebook import published
    >>> in_one_clause(published()["ph_range"])
    'watch below pH 6.7, above pH 8.5; act below pH 6, above pH 9'
    """
    if rule.kind == "window":
        low, high = rule.params.get("low_c"), rule.params.get("high_c")
        if isinstance(low, float) and isinstance(high, float):
            band = f"{low:g} to {high:g} °C"
        else:
            band = f"from {low:g} °C" if isinstance(low, float) else f"up to {high:g} °C"
        fall = rule.params.get("needs_fall_c")
        return f"{band}, after a fall of {fall:g} °C" if isinstance(fall, float) else band
    if rule.kind == "finding":
        few = said_number("few_per_field", rule.number("few_per_field"))
        return f"act on a heavy burden; few are up to {few}"
    clauses = []
    for level in ("calm", "watch", "act"):
        sides = [
            (name, value)
            for name, value in rule.params.items()
            if name.startswith(f"{level}_") and isinstance(value, float)
        ]
        if sides:
            said = ", ".join(_side(rule, level, name, value) for name, value in sides)
            clauses.append(f"{'note' if level == 'calm' else level} {said}")
    if not clauses:
        days = rule.number("default_days")
        clauses.append(f"after {days:g} days, some readings sooner")
    return "; ".join(clauses)


def _side(rule: Rule, level: str, name: str, value: float) -> str:
    number = said_number(name, value, parameter_of(rule))
    rest = name.removeprefix(f"{level}_")
    for start, said in (
        ("from_", "from"), ("change_above", "by more than"),
        ("below_hours", "closer than"),
        ("ahead_days", "ahead by"), ("late_days", "late by"),
        ("above", "above"), ("below", "below"),
        ("days_to_floor", "within"), ("after_intervals", "after"), ("days", "for"),
        ("hours", "for"),
    ):  # fmt: skip
        if rest.startswith(start):
            return f"{said} {number}"
    return number

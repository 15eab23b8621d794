"""The numbers of a rule in words: what each is called, in which unit, and all in one clause."""

from __future__ import annotations

from collections.abc import Mapping

from store.watch.rule import Rule
from store.water.parameters import PARAMETERS

_SUFFIXES = (
    ("_us_cm", "µS/cm"), ("_signs", "signs"), ("_corrections", "corrections"),
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
    "trend_least_values": "trend from at least [days with a value]",
    "trend_least_c_per_day": "least trend", "max_gap_days": "a gap parts beyond",
    "stale_after_days": "temperature believed for", "cold_below_c": "cold is below",
    "cold_within_days": "cold within the last", "rising_least_c_per_day": "least rise in spring",
    "counts_days": "told for", "over_days": "slope over the last",
    "least_readings": "from at least [readings]", "watch_days_to_floor": "watch, days to the floor",
    "act_days_to_floor": "act, days to the floor", "default_days": "readings believed for",
    "after_intervals": "or, if longer, for", "watch_after_intervals": "late after",
    "default_interval_days": "without a plan, every", "grace_days": "let pass",
    "watch_hours": "watched for", "calm_days": "noted for", "dawn_before_hour": "dawn ends at",
    "dawn_counts_days": "dawn reading counts for", "enough_mg_l": "enough oxygen at dawn",
    "least_chloride_to_nitrite": "least chloride to nitrite",
    "watch_from_signs": "watch, from", "within_days": "seen within",
    "calm_from_corrections": "note, from", "watch_below_hours": "watch, closer than",
    "told_days": "told for", "counted_days": "counted over the last",
    "mean_days": "mean of the last",
    "least_values": "from at least [days with a value]",
    "morning_from_hour": "morning begins at", "midday_from_hour": "midday begins at",
    "afternoon_from_hour": "afternoon begins at", "night_from_hour": "night begins at",
}  # fmt: skip

_NO_UNIT = frozenset(
    {"least_values", "least_chloride_to_nitrite", "trend_least_values", "least_readings"}
)


def unit_of(name: str) -> str:
    """The unit of a number of a rule, from its name.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.

    Examples
    --------
    >>> unit_of("act_above_nh3_n_mg_l"), unit_of("watch_days"), unit_of("act_above_ph")
    ('mg/L NH3-N', 'days', '')
    """
    if name in _NO_UNIT:
        return ""
    return next((unit for ending, unit in _SUFFIXES if name.endswith(ending)), "")


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
    'watch below 6.7, above 8.5; act below 6, above 9'
    """
    if rule.kind == "window":
        low, high = rule.params.get("low_c"), rule.params.get("high_c")
        if isinstance(low, float) and isinstance(high, float):
            band = f"{low:g} to {high:g} °C"
        else:
            band = f"from {low:g} °C" if isinstance(low, float) else f"up to {high:g} °C"
        fall = rule.params.get("needs_fall_c")
        return f"{band}, after a fall of {fall:g} °C" if isinstance(fall, float) else band
    clauses = []
    for level in ("calm", "watch", "act"):
        sides = [
            (name, value)
            for name, value in rule.params.items()
            if name.startswith(f"{level}_") and isinstance(value, float)
        ]
        if sides:
            said = ", ".join(_side(name.removeprefix(f"{level}_"), value) for name, value in sides)
            clauses.append(f"{'note' if level == 'calm' else level} {said}")
    if not clauses:
        days = rule.number("default_days")
        clauses.append(f"after {days:g} days, some readings sooner")
    units = {
        unit_of(name) for name, value in rule.params.items() if name.startswith(("watch_", "act_"))
    }
    unit = units.pop() if len(units) == 1 else ""
    return f"{'; '.join(clauses)} {unit}".strip()


def _side(rest: str, value: float) -> str:
    for start, said in (
        ("from_signs", "from"), ("from_corrections", "from"), ("change_above", "by more than"),
        ("above", "above"), ("below", "below"),
        ("days_to_floor", "within"), ("after_intervals", "after"), ("days", "for"),
        ("hours", "for"),
    ):  # fmt: skip
        if rest.startswith(start):
            return f"{said} {value:g}"
    return f"{value:g}"

"""What the numbers of each kind of rule may be called, which it needs, and in which order.

A number's name ends in its unit. What each kind does with them stands in `store.facts.rules`.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from store.facts.entry import Entry
from store.facts.ranges import UNITS

_LIMIT = r"(?:calm|watch|act)_(?:below|above)_{unit}"
PARAMS: Mapping[str, str] = MappingProxyType(
    {
        "level": _LIMIT,
        "oxygen": _LIMIT + "|dawn_before_hour|dawn_counts_days|enough_mg_l",
        "rate": "(?:watch|act)_change_above_{unit}|counts_days"
        "|(?:morning|midday|afternoon|night)_from_hour",
        "slope": "floor_{unit}|over_days|least_readings|watch_days_to_floor|act_days_to_floor",
        "ammonia": "watch_above_nh3_mg_l|act_above_nh3_n_mg_l",
        "criterion": "watch_above_chronic_share|act_above_acute_share",
        "nitrite": "watch_above_mg_l|act_above_mg_l|least_chloride_to_nitrite",
        "co2": _LIMIT,
        "overdue": "watch_after_intervals|default_interval_days|grace_days",
        "stale": "default_days|after_intervals|(?:" + "|".join(UNITS) + ")_days",
        "window": "entered_within_days|heading_within_days|watch_days|left_within_days"
        "|trend_days|trend_least_values|trend_least_c_per_day|max_gap_days|stale_after_days"
        "|cold_below_c|cold_within_days|rising_least_c_per_day|fresh_days|estimate_chance",
        "event": "event|watch_hours|watch_days|calm_days",
        "signs": "watch_from_signs|within_days",
        "corrections": "counted_days|calm_from_corrections|watch_below_hours|told_days",
        "feeding": "calm_above_c|mean_days|least_values",
        "promise": "promise|watch_ahead_days|act_late_days",
        "finding": "few_per_field|few_score",
        "losses": "within_days|(?:watch|act)_from_(?:deaths|percent)",
        "suspicion": "(?:deaths|signs|contact|named)_days|(?:watch|act)_from_points"
        "|well_from_deaths",
    }
)
"""What the numbers of each kind may be called."""

BOUNDS: Mapping[str, tuple[float, float]] = MappingProxyType({"estimate_chance": (0.5, 1.0)})
"""Between which ends a number must lie, where it cannot be any; a chance is a share of 1."""

LEVEL_KINDS = frozenset({"level", "oxygen", "co2"})
"""Kinds whose numbers are limits of a level."""
NEEDS_PARAMETER = frozenset({"level", "oxygen", "rate", "slope"})
"""Kinds that look at one parameter, which must be named."""
_SUFFIXES = ("us_cm", "mg_l", "g_l", "percent", "ph", "c")


def unit_suffix(parameter: str) -> str:
    """The unit as it stands at the end of a number's name (`mg_l` for `oxygen_mg_l`).

    Parameters
    ----------
    parameter
        Code of a parameter.

    Returns
    -------
    str
        Empty for a parameter whose name ends in no unit known here.

    Examples
    --------
    >>> unit_suffix("oxygen_mg_l"), unit_suffix("ph"), unit_suffix("temperature_c")
    ('mg_l', 'ph', 'c')
    """
    for suffix in _SUFFIXES:
        if parameter == suffix or parameter.endswith("_" + suffix):
            return suffix
    return ""


def limit(params: Mapping[str, float | str], which: str) -> float | None:
    """The number whose name begins with `which`, whatever its unit; None when there is none.

    Parameters
    ----------
    params
        The numbers of a rule, its defaults or those in force [the unit in each name].
    which
        The beginning of the name without the unit, such as `watch_above`.

    Examples
    --------
    >>> limit({"watch_above_c": 28.0}, "watch_above")
    28.0
    >>> limit({"watch_above_c": 28.0}, "act_above") is None
    True
    """
    for name, value in params.items():
        if name.startswith(which + "_") and isinstance(value, float):
            return value
    return None


def check_order(entry: Entry, params: Mapping[str, float | str]) -> None:
    """Note limits that do not go outwards in the order calm, watch, act.

    Parameters
    ----------
    entry
        The rule, on which a fault is noted.
    params
        Its numbers [the unit in each name].
    """
    for side, sign in (("below", -1.0), ("above", 1.0)):
        found = [
            value for level in ("calm", "watch", "act")
            if (value := limit(params, f"{level}_{side}")) is not None
        ]  # fmt: skip
        if [sign * value for value in found] != sorted({sign * value for value in found}):
            entry.fault(f"params {side}", "the limits must go outwards from calm over watch to act")
    lows = [float(value) for name, value in params.items() if "_below_" in name]
    highs = [float(value) for name, value in params.items() if "_above_" in name]
    if lows and highs and max(lows) >= min(highs):
        entry.fault("params", "a lower limit lies at or above an upper one")


def check_needed(entry: Entry, kind: str, params: Mapping[str, float | str]) -> None:
    """Note what a kind cannot do without and has not.

    Parameters
    ----------
    entry
        The rule, on which a fault is noted.
    kind
        Its kind.
    params
        Its numbers [the unit in each name].
    """
    needed: dict[str, tuple[str, ...]] = {
        "rate": ("counts_days",),
        "slope": ("floor", "over_days", "least_readings", "watch_days_to_floor"),
        "ammonia": ("watch_above", "act_above"),
        "criterion": ("watch_above", "act_above"),
        "nitrite": ("watch_above", "act_above", "least_chloride_to_nitrite"),
        "overdue": ("watch_after_intervals", "default_interval_days"),
        "stale": ("default_days",),
        "event": ("event",),
        "signs": ("watch_from_signs", "within_days"),
        "corrections": tuple(PARAMS["corrections"].split("|")),
        "feeding": tuple(PARAMS["feeding"].split("|")),
        "promise": tuple(PARAMS["promise"].split("|")),
        "finding": tuple(PARAMS["finding"].split("|")),
        "window": tuple(PARAMS["window"].split("|")),
        "losses": (
            "within_days",
            "watch_from_deaths",
            "act_from_deaths",
            "watch_from_percent",
            "act_from_percent",
        ),
        "suspicion": (
            "deaths_days",
            "signs_days",
            "contact_days",
            "named_days",
            "watch_from_points",
            "act_from_points",
            "well_from_deaths",
        ),
    }
    for name in needed.get(kind, ()):
        if not any(one == name or one.startswith(name + "_") for one in params):
            entry.fault(f"params {name}", "is missing")
    for name, (low, high) in BOUNDS.items():
        value = params.get(name)
        if isinstance(value, float) and not low <= value <= high:
            entry.fault(f"params {name}", f"must lie between {low:g} and {high:g}")
    bands = [name for name in params if name.endswith("_from_hour")]
    if bands and len(bands) < 4:
        entry.fault("params", "morning, midday, afternoon and night go together")
    if kind in LEVEL_KINDS and not any("_above_" in one or "_below_" in one for one in params):
        entry.fault("params", "a rule on a level needs at least one limit")

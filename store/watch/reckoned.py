"""Measured and derived series out of the tests that a rule sees."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from store.watch.seen import PondSeen
from store.water.ammonia import un_ionised_fraction
from store.water.carbonate import free_co2_mg_l
from store.water.nitrite import chloride_ratio
from store.water.oxygen import saturation_mg_l

Values = Mapping[str, float]


def _nh3_n(values: Values, altitude_m: float) -> float:
    return values["tan_mg_l"] * un_ionised_fraction(values["ph"], values["temperature_c"])


def _co2(values: Values, altitude_m: float) -> float:
    return free_co2_mg_l(values["alkalinity_mg_l"], values["ph"], values["temperature_c"])


def _percent(values: Values, altitude_m: float) -> float:
    salt = values.get("salinity_g_l", 0.0)
    saturation = saturation_mg_l(values["temperature_c"], salt, altitude_m)
    return 100.0 * values["oxygen_mg_l"] / saturation


def _ratio(values: Values, altitude_m: float) -> float | None:
    return chloride_ratio(values["nitrite_mg_l"], values["chloride_mg_l"])


DERIVED: Mapping[str, Callable[[Values, float], float | None]] = {
    "nh3_n_mg_l": _nh3_n,
    "co2_mg_l": _co2,
    "oxygen_saturation_percent": _percent,
    "chloride_to_nitrite": _ratio,
}
"""Derived codes that a rule or a sparkline asks for, from the readings of one test."""


def series_of(seen: PondSeen, code: str, newest: int) -> list[float]:
    """The last values of a measured or derived series, old to new.

    Parameters
    ----------
    seen
        The pond.
    code
        A parameter's code or one of `DERIVED`.
    newest
        How many tests are looked at [tests].

    Returns
    -------
    list of float
        In the stored unit of the code; a test that lacks an ingredient is left out.
    """
    if code == "temperature_c":  # stands beside the packed readings
        temperatures = [test.temperature_c for test in seen.tests[:newest]]
        return [value for value in reversed(temperatures) if value is not None]
    reckon = DERIVED.get(code)
    found = []
    for index in range(min(newest, len(seen.tests)) - 1, -1, -1):
        values = seen.values(index)
        if reckon is None:
            value = values.get(code)
        else:
            try:
                value = reckon(values, seen.altitude_m)
            except KeyError:
                continue
        if value is not None:
            found.append(value)
    return found

"""What follows from the readings of one water test, with the arithmetic written out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from store.water import ammonia as _ammonia
from store.water import criteria as _criteria
from store.water.ammonia import ammonia, un_ionised_fraction_salted
from store.water.carbonate import co2
from store.water.conductivity import salt_by_conductivity
from store.water.given import figures
from store.water.nitrite import SOURCE as NITRITE_SOURCE
from store.water.nitrite import chloride_ratio
from store.water.oxygen import oxygen
from store.water.parameters import PARAMETERS

SALT_WORTH_SAYING_G_L = 0.5
"""Salinity from which the salt's effect on NH3 is told, g/L: the top of usual fresh water."""


@dataclass(frozen=True, slots=True)
class Derived:
    """One value that was reckoned from readings; `value` is None where it cannot be, and the
    remarks say what is missing."""

    code: str
    label: str
    value: float | None
    unit: str
    decimals: int
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def derive(values: Mapping[str, float], altitude_m: float = 0.0) -> dict[str, Derived]:
    """Every derived value of one water test.

    Parameters
    ----------
    values
        Readings of the same moment by parameter code [stored unit of each parameter]. pH and
        temperature of another time of day must not be put in: both swing within hours.
    altitude_m
        Height of the pond above the sea [m].

    Returns
    -------
    dict[str, Derived]
        By code, always all of these six: `nh3_n_mg_l` [mg/L N], `co2_mg_l` [mg/L],
        `oxygen_saturation_percent` [%], `chloride_to_nitrite` [mg per mg NO2], `acute_tan_mg_l`
        and `chronic_tan_mg_l` [mg/L TAN as N]. Where conductivity was measured and salinity was
        not, also `salinity_by_conductivity_g_l` [g/L].

    Raises
    ------
    BadInput
        A reading that cannot exist.

    Notes
    -----
    Un-ionised ammonia is reckoned without the salt, the cautious way, as the alert rules do; in a
    salted pond a remark gives the figure with it.

    Examples
    --------
    >>> found = derive({"tan_mg_l": 1.2, "ph": 8.9, "temperature_c": 28.5})
    >>> round(found["nh3_n_mg_l"].value, 3), found["co2_mg_l"].value
    (0.438, None)
    """
    found: tuple[Derived, ...] = (
        _nh3(values),
        _co2(values),
        _saturation(values, altitude_m),
        _chloride_to_nitrite(values),
        _acute(values),
        _chronic(values),
    )
    if "conductivity_us_cm" in values and "salinity_g_l" not in values:
        found += (_salt(values["conductivity_us_cm"]),)
    return {entry.code: entry for entry in found}


def _nh3(values: Mapping[str, float]) -> Derived:
    label, unit = "un-ionised ammonia", "mg/L NH3-N"
    missing = _missing(values, "tan_mg_l", "ph", "temperature_c")
    if missing:
        return _cannot("nh3_n_mg_l", label, unit, 3, missing)
    tan_mg_l, ph, temperature_c = values["tan_mg_l"], values["ph"], values["temperature_c"]
    answer = ammonia(tan_mg_l, "n", ph, temperature_c)
    remarks = answer.remarks
    salinity_g_l = values.get("salinity_g_l", 0.0)
    if salinity_g_l >= SALT_WORTH_SAYING_G_L:
        salted = tan_mg_l * un_ionised_fraction_salted(ph, temperature_c, salinity_g_l)
        remarks += (
            (
                f"The cautious figure, without the salt; with {figures(salinity_g_l)} g/L salt it "
                f"is {figures(salted)} mg/L NH3-N ({_ammonia.SALT_SOURCE})."
            ),
        )
    return Derived(
        "nh3_n_mg_l",
        label,
        answer.nh3_n_mg_l,
        unit,
        3,
        answer.arithmetic,
        answer.source,
        remarks,
    )


def _co2(values: Mapping[str, float]) -> Derived:
    label, unit = "free carbon dioxide", "mg/L"
    missing = _missing(values, "alkalinity_mg_l", "ph", "temperature_c")
    if missing:
        return _cannot("co2_mg_l", label, unit, 1, missing)
    answer = co2(values["alkalinity_mg_l"], values["ph"], values["temperature_c"])
    return Derived(
        "co2_mg_l",
        label,
        answer.co2_mg_l,
        unit,
        1,
        answer.arithmetic,
        answer.source,
        answer.remarks,
    )


def _saturation(values: Mapping[str, float], altitude_m: float) -> Derived:
    label = "oxygen saturation"
    missing = _missing(values, "oxygen_mg_l", "temperature_c")
    if missing:
        return _cannot("oxygen_saturation_percent", label, "%", 0, missing)
    answer = oxygen(
        values["temperature_c"],
        values.get("salinity_g_l", 0.0),
        altitude_m,
        values["oxygen_mg_l"],
    )
    return Derived(
        "oxygen_saturation_percent",
        label,
        answer.percent,
        "%",
        0,
        answer.arithmetic,
        answer.source,
        answer.remarks,
    )


def _chloride_to_nitrite(values: Mapping[str, float]) -> Derived:
    code, label = "chloride_to_nitrite", "chloride to nitrite"
    missing = _missing(values, "nitrite_mg_l", "chloride_mg_l")
    if missing:
        return _cannot(code, label, "", 1, missing)
    nitrite_mg_l, chloride_mg_l = values["nitrite_mg_l"], values["chloride_mg_l"]
    ratio = chloride_ratio(nitrite_mg_l, chloride_mg_l)
    if ratio is None:
        return Derived(
            code, label, None, "", 1, "", NITRITE_SOURCE, ("There is no nitrite, so no ratio.",)
        )
    arithmetic = (
        f"chloride {figures(chloride_mg_l)} / nitrite {figures(nitrite_mg_l)} mg/L NO2 = "
        f"{figures(ratio)}"
    )
    return Derived(code, label, ratio, "", 1, arithmetic, NITRITE_SOURCE, ())


def _acute(values: Mapping[str, float]) -> Derived:
    label, unit = "acute criterion of total ammonia", "mg/L TAN as N"
    missing = _missing(values, "ph", "temperature_c")
    if missing:
        return _cannot("acute_tan_mg_l", label, unit, 2, missing)
    answer = _criteria.criteria(values["ph"], values["temperature_c"])
    arithmetic = _criteria.acute_arithmetic(values["ph"], values["temperature_c"])
    return Derived(
        "acute_tan_mg_l",
        label,
        answer.acute_tan_mg_l,
        unit,
        2,
        arithmetic,
        answer.source,
        answer.remarks,
    )


def _chronic(values: Mapping[str, float]) -> Derived:
    label, unit = "chronic criterion of total ammonia", "mg/L TAN as N"
    missing = _missing(values, "ph", "temperature_c")
    if missing:
        return _cannot("chronic_tan_mg_l", label, unit, 2, missing)
    answer = _criteria.criteria(values["ph"], values["temperature_c"])
    arithmetic = _criteria.chronic_arithmetic(values["ph"], values["temperature_c"])
    return Derived(
        "chronic_tan_mg_l",
        label,
        answer.chronic_tan_mg_l,
        unit,
        2,
        arithmetic,
        answer.source,
        answer.remarks,
    )


def _salt(conductivity_us_cm: float) -> Derived:
    answer = salt_by_conductivity(conductivity_us_cm)
    return Derived(
        "salinity_by_conductivity_g_l",
        "salt by conductivity",
        answer.salinity_g_l,
        "g/L",
        2,
        answer.arithmetic,
        answer.source,
        answer.remarks,
    )


def _missing(values: Mapping[str, float], *codes: str) -> tuple[str, ...]:
    return tuple(PARAMETERS[code].label for code in codes if code not in values)


def _cannot(code: str, label: str, unit: str, decimals: int, missing: tuple[str, ...]) -> Derived:
    named = " and ".join((", ".join(missing[:-1]), missing[-1])) if missing[1:] else missing[0]
    remark = f"Cannot be reckoned: no {named} in the same test."
    return Derived(code, label, None, unit, decimals, "", "", (remark,))

"""Units converted at the door: what was typed becomes the one unit a thing is stored in.

Every factor is an exact definition or follows from molar masses; none is a rounded rule of thumb.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from store.errors import BadInput
from store.water.ammonia import PER_N as AMMONIA_PER_N
from store.water.given import ZERO_CELSIUS_K, given
from store.water.measures import (
    GRAIN_MG,
    IMPERIAL_GALLON_L,
    US_GALLON_L,
    spelt,
    unknown_unit,
)
from store.water.molar import (
    BICARBONATE_PER_CACO3,
    CACO3_G_MOL,
    CACO3_MG_PER_MEQ,
    CHLORIDE_G_MOL,
    N_G_MOL,
    NO2_PER_N,
    NO3_PER_N,
)
from store.water.parameters import CACO3_PER_DEGREE_MG_L, PARAMETERS

_MG_L = {
    "mg/l": 1.0,
    "ppm": 1.0,
    "g/m3": 1.0,
    "g/l": 1000.0,
    "ug/l": 0.001,
    "ppb": 0.001,
}  # ppm and ppb by weight in fresh water, where a litre weighs a kilogram
_HARDNESS = _MG_L | {
    "d": CACO3_PER_DEGREE_MG_L,
    "dh": CACO3_PER_DEGREE_MG_L,
    "meq/l": CACO3_MG_PER_MEQ,
    "mval/l": CACO3_MG_PER_MEQ,
    "clark": GRAIN_MG / IMPERIAL_GALLON_L,
    "e": GRAIN_MG / IMPERIAL_GALLON_L,
    "eh": GRAIN_MG / IMPERIAL_GALLON_L,
    "fh": 10.0,
    "f": 10.0,
    "grain/usgal": GRAIN_MG / US_GALLON_L,
    "gpg": GRAIN_MG / US_GALLON_L,
}
_PARTS_PER_THOUSAND = {
    "g/l": 1.0,
    "ppt": 1.0,
    "‰": 1.0,
    "psu": 1.0,
    "g/kg": 1.0,
    "kg/m3": 1.0,
    "%": 10.0,
    "mg/l": 0.001,
    "ppm": 0.001,
}

# Per parameter: what one of the unit is in the stored unit. A molar unit needs no form; it stands
# in _MOLAR. One mmol/L of alkalinity is one of acid taken up, that is one meq; one mmol/L of
# hardness is one of calcium, that is two.
_UNITS: Mapping[str, Mapping[str, float]] = {
    "ph": {"": 1.0, "ph": 1.0},
    "tan_mg_l": _MG_L,
    "nitrite_mg_l": _MG_L,
    "nitrate_mg_l": _MG_L,
    "alkalinity_mg_l": _HARDNESS | {"dkh": CACO3_PER_DEGREE_MG_L},
    "hardness_mg_l": _HARDNESS | {"dgh": CACO3_PER_DEGREE_MG_L},
    "oxygen_mg_l": _MG_L,
    "oxygen_percent": {"%": 1.0, "%sat": 1.0},
    "salinity_g_l": _PARTS_PER_THOUSAND,
    "chloride_mg_l": _MG_L,
    "chlorine_mg_l": _MG_L,
    "conductivity_us_cm": {"us/cm": 1.0, "us": 1.0, "ms/cm": 1000.0, "ms": 1000.0, "ds/m": 1000.0},
}
_MOLAR: Mapping[str, float] = {
    "tan_mg_l": N_G_MOL,
    "nitrite_mg_l": N_G_MOL * NO2_PER_N,
    "nitrate_mg_l": N_G_MOL * NO3_PER_N,
    "alkalinity_mg_l": CACO3_MG_PER_MEQ,
    "hardness_mg_l": CACO3_G_MOL,
    "chloride_mg_l": CHLORIDE_G_MOL,
}
_MOLAR_UNITS = {"mmol/l": 1.0, "umol/l": 0.001}

_FORMS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "tan_mg_l": MappingProxyType({form: 1.0 / per for form, per in AMMONIA_PER_N.items()}),
        "nitrite_mg_l": MappingProxyType({"no2": 1.0, "n": NO2_PER_N}),
        "nitrate_mg_l": MappingProxyType({"no3": 1.0, "n": NO3_PER_N}),
        "alkalinity_mg_l": MappingProxyType({"caco3": 1.0, "hco3": 1.0 / BICARBONATE_PER_CACO3}),
    }
)
_FORM_MUST_BE_SAID = frozenset({"tan_mg_l", "nitrite_mg_l", "nitrate_mg_l"})


def forms_of(parameter_code: str) -> Mapping[str, float]:
    """The chemical forms a kit may report, with what one of each is in the stored form.

    Parameters
    ----------
    parameter_code
        A code of `store.water.parameters`.

    Returns
    -------
    Mapping[str, float]
        Form to factor [mg stored form per mg form]; empty where a parameter has one form only.

    Examples
    --------
    >>> {form: round(factor, 4) for form, factor in forms_of("nitrite_mg_l").items()}
    {'no2': 1.0, 'n': 3.2845}
    """
    return _FORMS.get(parameter_code, MappingProxyType({}))


def units_of(parameter_code: str) -> tuple[str, ...]:
    """The units that can be typed for a parameter, as they are spelt inside.

    Parameters
    ----------
    parameter_code
        A code of `store.water.parameters`.
    """
    if parameter_code == "temperature_c":
        return ("°C", "°F", "K")
    molar = tuple(_MOLAR_UNITS) if parameter_code in _MOLAR else ()
    return tuple(unit for unit in _UNITS[parameter_code] if unit) + molar


def is_molar(unit: str) -> bool:
    """Whether a unit counts molecules (mmol/L), so that the chemical form does not matter.

    Parameters
    ----------
    unit
        The unit as typed.
    """
    return spelt(unit) in _MOLAR_UNITS


def to_stored(parameter_code: str, value: float, unit: str = "", form: str | None = None) -> float:
    """A reading in the unit it is stored in.

    Parameters
    ----------
    parameter_code
        A code of `store.water.parameters`.
    value
        The number typed [in the typed unit].
    unit
        The unit typed; empty for the unit in which the parameter is shown (KH in degrees).
    form
        Chemical form of the number, a key of `forms_of`. Ammonia, nitrite and nitrate must say
        it; alkalinity without one is CaCO3. A molar unit (mmol/L) needs none.

    Returns
    -------
    float
        The value [stored unit of the parameter].

    Raises
    ------
    BadInput
        An unknown unit or form, a form that was not said, or a value that is not a number.

    Examples
    --------
    >>> round(to_stored("temperature_c", 66.0, "F"), 2)
    18.89
    >>> round(to_stored("alkalinity_mg_l", 4.0, "dKH"), 1)
    71.4
    >>> round(to_stored("tan_mg_l", 1.5, "ppm", "nh4"), 3)
    1.165
    """
    parameter = PARAMETERS[parameter_code]
    given(value, parameter.label)
    name = spelt(unit) or spelt(parameter.shown_unit)
    if parameter_code == "temperature_c":
        return _temperature_c(value, name, unit)
    if name in _MOLAR_UNITS and parameter_code in _MOLAR:
        return value * _MOLAR_UNITS[name] * _MOLAR[parameter_code]
    factor = _UNITS[parameter_code].get(name)
    if factor is None:
        raise unknown_unit(parameter.label, unit, units_of(parameter_code))
    return value * factor * _form_factor(parameter_code, form)


def stored_range(parameter_code: str, value: float, unit: str = "") -> tuple[float, float]:
    """The lowest and highest stored value of a reading whose chemical form nobody knows.

    Parameters
    ----------
    parameter_code
        A code of `store.water.parameters`.
    value
        The number typed [in the typed unit].
    unit
        The unit typed; empty for the unit in which the parameter is shown.

    Returns
    -------
    tuple[float, float]
        Lowest and highest [stored unit]; equal where only one form exists.

    Examples
    --------
    >>> low, high = stored_range("tan_mg_l", 1.5, "mg/L")
    >>> round(low, 3), high
    (1.165, 1.5)
    """
    forms: tuple[str | None, ...] = tuple(forms_of(parameter_code)) or (None,)
    values = [to_stored(parameter_code, value, unit, form) for form in forms]
    return min(values), max(values)


def temperature_change_c(difference: float, unit: str) -> float:
    """A change of temperature in °C; the 32 of Fahrenheit belongs to temperatures, not changes.

    Parameters
    ----------
    difference
        The change typed [°C, K or °F].
    unit
        Its unit.

    Returns
    -------
    float
        The change [°C].

    Raises
    ------
    BadInput
        The unit is no unit of temperature.

    Examples
    --------
    >>> temperature_change_c(9.0, "°F")
    5.0
    """
    name = spelt(unit)
    if name in {"c", "k"}:
        return difference
    if name == "f":
        return difference * 5.0 / 9.0
    raise unknown_unit("change of temperature", unit, ("°C", "°F"))


def _temperature_c(value: float, name: str, unit: str) -> float:
    if name == "c":
        return value
    if name == "f":
        return (value - 32.0) * 5.0 / 9.0
    if name == "k":
        return value - ZERO_CELSIUS_K
    raise unknown_unit("temperature", unit, units_of("temperature_c"))


def _form_factor(parameter_code: str, form: str | None) -> float:
    forms = forms_of(parameter_code)
    if form is None and parameter_code not in _FORM_MUST_BE_SAID:
        return 1.0
    factor = forms.get((form or "").casefold())
    if factor is None:
        label = PARAMETERS[parameter_code].label.split(" as ")[0]
        if not forms:
            raise BadInput(f"{label.capitalize()} has no chemical form to choose.", field="form")
        raise BadInput(
            f"The kit's form of the {label} must be known: say {' or '.join(forms)}.", field="form"
        )
    return factor

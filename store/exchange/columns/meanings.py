"""What a person can say that a column of a sheet of water tests is, and in which unit."""

from __future__ import annotations

from store.exchange.columns.question import Answer
from store.water.parameters import PARAMETERS

_WORD = {
    "temperature_c": "temperature", "ph": "pH", "tan_mg_l": "ammonia", "nitrite_mg_l": "nitrite",
    "nitrate_mg_l": "nitrate", "alkalinity_mg_l": "alkalinity", "hardness_mg_l": "hardness",
    "oxygen_mg_l": "dissolved oxygen", "oxygen_percent": "oxygen saturation",
    "salinity_g_l": "salinity", "chloride_mg_l": "chloride", "chlorine_mg_l": "chlorine",
    "conductivity_us_cm": "conductivity",
}  # fmt: skip
_UNITS = {
    "temperature_c": ("°C", "°F"),
    "ph": (),
    "tan_mg_l": ("mg/L", "mg/L as N", "mg/L as NH3", "mg/L as NH4", "µmol/L"),
    "nitrite_mg_l": ("mg/L", "mg/L as NO2", "mg/L as N", "µmol/L"),
    "nitrate_mg_l": ("mg/L", "mg/L as NO3", "mg/L as N", "mmol/L"),
    "alkalinity_mg_l": ("dKH", "mg/L CaCO3", "mmol/L", "meq/L"),
    "hardness_mg_l": ("dGH", "mg/L CaCO3", "mmol/L"),
    "oxygen_mg_l": ("mg/L",),
    "oxygen_percent": ("%",),
    "salinity_g_l": ("g/L", "%", "ppm"),
    "chloride_mg_l": ("mg/L", "g/L"),
    "chlorine_mg_l": ("mg/L",),
    "conductivity_us_cm": ("µS/cm", "mS/cm"),
}
_BY_KIT = frozenset({"tan_mg_l", "nitrite_mg_l", "nitrate_mg_l"})
_ROLES = (
    ("date", "the day"), ("time", "the time of day"), ("taken_at", "day and time"),
    ("pond", "the pond"), ("client", "the client"), ("note", "a note"),
    ("place", "where in the pond"), ("by", "who took the test"),
    ("parameter", "what was measured, a row each"), ("value", "the value, a row each"),
    ("unit", "the unit, a row each"),
)  # fmt: skip


def meanings() -> tuple[Answer, ...]:
    """Everything that a column can be: first what is measured, then the rest, then nothing.

    Of what is measured the value is the parameter's code, for `units_of`; of the rest it goes into
    `Shape.columns` as it is.
    """
    measured = [Answer(code, PARAMETERS[code].label) for code in _WORD]
    rest = [Answer(role, label) for role, label in _ROLES]
    return (*measured, *rest, Answer("ignore", "nothing: do not read it"))


def units_of(code: str) -> tuple[Answer, ...]:
    """The units in which the cells of a column may be; the value goes into `Shape.columns`.

    Parameters
    ----------
    code
        Of the parameter; for any other meaning there is one answer, the meaning itself.

    Examples
    --------
    >>> [one.value for one in units_of("temperature_c")]
    ['temperature °C', 'temperature °F']
    >>> units_of("note")[0].value
    'note'
    """
    if code not in _WORD:
        return (Answer(code, code),)
    word = _WORD[code]
    return tuple(
        Answer(f"{word} {unit}", f"{unit}, as the kit of the pond reports it"
               if unit == "mg/L" and code in _BY_KIT else unit)
        for unit in _UNITS[code]
    ) or (Answer(word, PARAMETERS[code].label),)  # fmt: skip

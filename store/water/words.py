"""The words people write for parameters and units, and what each of them stands for.

A chemical formula or an added `-N` says in which form a kit reports; a plain word (`ammonia`,
`TAN`) does not. Names of things that ponds have but a water test does not keep (`PO4`, `air temp`)
are listed too, so that their number is never taken for that of a neighbour.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Name:
    """What a word stands for; `parameter` is empty for things that a water test does not keep."""

    parameter: str
    form: str = ""
    """The form the word itself states: `n`, `nh3`, `nh4`, `no2`, `no3`, or nothing."""
    unit: str = ""
    """The unit the word itself states (`C 19.5`)."""
    stated: bool = False
    """The form is beyond doubt (`NO2-N`), whatever the kit of the pond is."""
    weak: bool = False
    """Also an everyday word: left over without a number it is no surprise."""
    loose: bool = False
    """Used in degrees by some and in mg/L by others (`alkalinity`, unlike `KH`)."""


def _key(phrase: str) -> str:
    """The phrase without case, spaces, dots and underscores: `NO2 - N` and `no2-n` are one."""
    return re.sub(r"[\s._]+", "", phrase).lower()


_ROWS: tuple[tuple[str, Name], ...] = (
    ("temp,temperature,water temp,water temperature,pond temp,pond temperature,wtemp,tmp",
     Name("temperature_c")),
    ("water,t", Name("temperature_c", weak=True)),
    ("°c,℃", Name("temperature_c", unit="°C", weak=True)),
    ("°f,℉", Name("temperature_c", unit="°F", weak=True)),
    ("ph", Name("ph")),
    ("tan,ammonia,ammonium,amm,total ammonia,ammonia total,nh3/nh4,nh4/nh3,nh3/nh4+,nh4+/nh3,"
     "nh3+nh4,nh4+nh3,nh3/4,nh3 & nh4", Name("tan_mg_l")),
    ("nh3", Name("tan_mg_l", form="nh3")),
    ("nh4,nh4+", Name("tan_mg_l", form="nh4")),
    ("nh3-n,nh3n,nh4-n,nh4+-n,nh4n,n-nh3,n-nh4,tan-n,ammonia-n,ammonium-n,ammonia nitrogen,"
     "ammonium nitrogen,total ammonia nitrogen", Name("tan_mg_l", form="n", stated=True)),
    ("nitrite,nitrites", Name("nitrite_mg_l")),
    ("no2,no2-", Name("nitrite_mg_l", form="no2")),
    ("no2-n,no2--n,no2n,n-no2,nitrite-n,nitrite nitrogen",
     Name("nitrite_mg_l", form="n", stated=True)),
    ("nitrate,nitrates", Name("nitrate_mg_l")),
    ("no3,no3-", Name("nitrate_mg_l", form="no3")),
    ("no3-n,no3--n,no3n,n-no3,nitrate-n,nitrate nitrogen",
     Name("nitrate_mg_l", form="n", stated=True)),
    ("kh,dkh,carbonate hardness", Name("alkalinity_mg_l")),
    ("alk,alkalinity,total alkalinity,tot alk,talk", Name("alkalinity_mg_l", loose=True)),
    ("gh,dgh,general hardness", Name("hardness_mg_l")),
    ("hardness,total hardness", Name("hardness_mg_l", loose=True)),
    ("d.o.,oxy,o2,oxygen,dissolved oxygen,dissolved o2", Name("oxygen_mg_l")),
    ("do", Name("oxygen_mg_l", weak=True)),
    ("do%,do %,o2%,o2 %,do sat,o2 sat,do saturation,oxygen saturation,oxygen sat,oxygen %,% sat,"
     "% saturation,saturation", Name("oxygen_percent")),
    ("salt,sal,salinity,nacl", Name("salinity_g_l")),
    ("cl,cl-,chloride,chlorides", Name("chloride_mg_l")),
    ("cl2,chlorine,free chlorine,total chlorine,free cl2,total cl2,tot chlorine,free cl,total cl",
     Name("chlorine_mg_l")),
    ("ec,cond,conductivity,electrical conductivity,conductance", Name("conductivity_us_cm")),
    ("air,air temp,air temperature,outside temp,ambient,ambient temp,room temp,po4,phosphate,"
     "phosphates,tds,orp,redox,co2,carbon dioxide,chloramine,chloramines,iron,"
     "copper,calcium,calcium hardness,ca hardness,magnesium,potassium,silica,silicate,turbidity,"
     "secchi,free ammonia,unionised ammonia,un-ionised ammonia,un-ionized ammonia,"
     "unionized ammonia,toxic ammonia,free nh3,unionised nh3,un-ionised nh3,uia,water change,"
     "water changes,water changed,water added,water level,wc,volume,flow,depth,feed,food",
     Name("", weak=True)),
)  # fmt: skip
_NAMES: Mapping[str, Name] = MappingProxyType(
    {_key(phrase): name for phrases, name in _ROWS for phrase in phrases.split(",")}
)


def name_of(phrase: str) -> Name | None:
    """What a phrase stands for, or nothing.

    Parameters
    ----------
    phrase
        As typed, in any case (`Water temp.`, `no2-n`, `NO₂⁻`).

    Returns
    -------
    Name or None
        None when the phrase is no name of a parameter.

    Examples
    --------
    >>> name_of("NH4-N").form
    'n'
    """
    return _NAMES.get(_key(phrase.translate(LOOKALIKES)))


# One character for one, so that places in the text stay the same.
LOOKALIKES = {
    **{0x2080 + digit: str(digit) for digit in range(10)},
    0x207A: "+", 0x207B: "-", 0x2212: "-", 0x2010: "-", 0x2011: "-", 0x2013: "-", 0x2014: "-",
    0x00BA: "°", 0x02DA: "°", 0x03BC: "µ", 0x00A0: " ", 0x2007: " ", 0x2009: " ", 0x202F: " ",
    0x2044: "/", 0xFF1A: ":", 0xFF1D: "=",
}  # fmt: skip
"""Subscripts, minus signs, dashes, degree signs and spaces that only look different."""


def _any(phrases: list[str]) -> str:
    """A pattern for any of the phrases, longest first; a space in one may be left out or dotted."""
    longest_first = sorted(phrases, key=len, reverse=True)
    return "|".join(
        r"[ ._]{0,2}".join(re.escape(part) for part in phrase.split()) for phrase in longest_first
    )


_NO_LETTER = r"(?![^\W\d_])"

NAME = re.compile(
    rf"(?:{_any([phrase for phrases, _ in _ROWS for phrase in phrases.split(',')])}|(?-i:[CF]))"
    + _NO_LETTER,
    re.IGNORECASE,
)
"""A name of a parameter, at a place where a word may begin; not followed by a letter."""

_FORMS = {
    "n": "n", "nh3-n": "n", "nh4-n": "n", "nh4+-n": "n", "no2-n": "n", "no3-n": "n",
    "nitrogen": "n", "nh3": "nh3", "nh4": "nh4", "nh4+": "nh4", "no2": "no2", "no2-": "no2",
    "no3": "no3", "no3-": "no3", "caco3": "caco3", "hco3": "hco3", "hco3-": "hco3",
}  # fmt: skip
AS_FORM = re.compile(
    rf"[ ]{{0,2}}\(?[ ]?as[ ]{{1,2}}(?P<form>{_any(list(_FORMS))}){_NO_LETTER}(?![0-9])\)?",
    re.IGNORECASE,
)
"""`as NH3`, `(as N)`: after a name or after a number."""
BARE_FORM = re.compile(rf"[ -]?(?P<form>(?-i:N)|CaCO3|HCO3){_NO_LETTER}(?![0-9])", re.IGNORECASE)
"""`N` or `CaCO3` behind a unit (`mg/L CaCO3`)."""


def form_of(word: str) -> str:
    """The form that a word after `as` stands for.

    Parameters
    ----------
    word
        As typed, found by `AS_FORM` or `BARE_FORM`.

    Returns
    -------
    str
        `n`, `nh3`, `nh4`, `no2`, `no3`, `caco3` or `hco3`.
    """
    return _FORMS[word.lower()]


_PER_L = r"[ ]?(?:/|per|·|\.)[ ]?(?:l|dm3|litre|liter)|[ ]?l-1|l"
_PER_CM = r"[ ]?(?:/|per)[ ]?cm|[ ]?cm-1"
_GALLONS = r"[ ]?gal"
_UNIT_ROWS = (
    ("°C", r"(?:(?:°|Â°|\*|deg(?:rees?)?\.?)[ ]?)?C(?:elsius|entigrade)?|℃"),
    ("°F", r"(?:(?:°|Â°|\*|deg(?:rees?)?\.?)[ ]?)?F(?:ahrenheit)?|℉"),
    ("dKH", r"°?[ ]?dKH|°[ ]?KH"),
    ("dGH", r"°?[ ]?dGH|°[ ]?GH"),
    ("°dH", r"°?[ ]?dH|german[ ]degrees?|degrees?[ ]german"),
    ("°Clark", r"°[ ]?e|°?[ ]?clark|english[ ]degrees?"),
    ("°fH", r"°?[ ]?fH|french[ ]degrees?"),
    ("gpg", r"gpg|grains?(?:[ ]?(?:per|/)[ ]?us[ ]?gal(?:lon)?)?"),
    ("meq/L", rf"(?:meq|mval)(?:{_PER_L})"),
    ("mmol/L", rf"mmol(?:{_PER_L})"),
    ("µmol/L", rf"[uµ]mol(?:{_PER_L})"),
    ("µg/L", rf"(?:[uµ]|mc)g(?:{_PER_L})"),
    ("mg/L", rf"mg(?:{_PER_L})"),
    ("g/L", r"g[ ]?(?:/|per)[ ]?(?:l|litre|liter)"),
    ("g/m3", r"g[ ]?/[ ]?m(?:3|³)"),
    ("kg/m3", r"kg[ ]?/[ ]?m(?:3|³)"),
    ("g/kg", r"g[ ]?/[ ]?kg"),
    ("µS/cm", rf"[uµ]S(?!{_GALLONS})(?:{_PER_CM})?"),
    ("mS/cm", rf"(?:mS|dS[ ]?/[ ]?m)(?:{_PER_CM})?"),
    ("ppm", r"ppm"),
    ("ppb", r"ppb"),
    ("ppt", r"ppt"),
    ("‰", r"‰"),
    ("psu", r"psu"),
    ("%", r"%"),
    ("drops", r"drops?"),
    ("°", r"°|deg(?:rees?)?"),
)
# Units of other things. A number with one of them is never a reading of ours: `salt 5 kg`.
_OTHER_UNITS = (
    r"kg|g|mg|lbs?|oz|ml|l|lit(?:re|er)s?|(?:us|uk|imp)?[ ]?gal(?:lon)?s?|m|cm|mm|m2|m3|m²|m³|ft|"
    r"bags?|tubs?|cups?|scoops?|(?:tea|table)?spoons?|tsp|tbsp|buckets?|days?|hours?|hrs?|mins?|"
    r"minutes?|weeks?|months?|years?|yrs?|mV|NTU|h?Pa|kPa|mbar|mmHg|k?W|x"
)
UNIT = re.compile(
    "[ ]{0,2}(?:"
    + "|".join(f"(?P<u{place}>{pattern})" for place, (_, pattern) in enumerate(_UNIT_ROWS))
    + f"|(?P<other>{_OTHER_UNITS})){_NO_LETTER}",
    re.IGNORECASE,
)
"""A unit behind a number; `unit_of` tells which."""


def unit_of(found: re.Match[str]) -> str:
    """The unit in the one spelling of ours.

    Parameters
    ----------
    found
        A match of `UNIT`.

    Returns
    -------
    str
        For example `°F`, `mg/L`; `other` for units no parameter of ours has.
    """
    group = found.lastgroup
    return "other" if group is None or group == "other" else _UNIT_ROWS[int(group[1:])][0]


_DEGREES = ("°dH", "°Clark", "°fH", "gpg", "meq/L", "mmol/L", "mg/L", "ppm", "g/m3", "°", "drops")
_MASS = ("mg/L", "ppm", "µg/L", "ppb", "g/m3")
UNITS_OF: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "temperature_c": ("°C", "°F", "°"),
        "ph": (),
        "tan_mg_l": (*_MASS, "mmol/L", "µmol/L"),
        "nitrite_mg_l": (*_MASS, "mmol/L", "µmol/L"),
        "nitrate_mg_l": (*_MASS, "mmol/L", "µmol/L"),
        "alkalinity_mg_l": ("dKH", *_DEGREES),
        "hardness_mg_l": ("dGH", *_DEGREES),
        "oxygen_mg_l": _MASS,
        "oxygen_percent": ("%",),
        "salinity_g_l": ("g/L", "ppt", "‰", "psu", "g/kg", "kg/m3", "%", "mg/L", "ppm"),
        "chloride_mg_l": (*_MASS, "g/L", "mmol/L"),
        "chlorine_mg_l": _MASS,
        "conductivity_us_cm": ("µS/cm", "mS/cm"),
    }
)
"""The units a parameter may be typed in; the first is taken where none is typed (pH has none)."""

NAMED_BY_UNIT: Mapping[str, str] = MappingProxyType(
    {
        "°C": "temperature_c",
        "°F": "temperature_c",
        "dKH": "alkalinity_mg_l",
        "dGH": "hardness_mg_l",
        "ppt": "salinity_g_l",
        "‰": "salinity_g_l",
        "psu": "salinity_g_l",
        "µS/cm": "conductivity_us_cm",
        "mS/cm": "conductivity_us_cm",
    }
)
"""Units that say by themselves what was measured: `19.5C`, `4 dKH`, `3 ppt`, `450 uS`."""

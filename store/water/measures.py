"""Lengths, volumes and masses in the units people type, and how a unit's spelling is read."""

from __future__ import annotations

import re
from collections.abc import Mapping

from store.errors import BadInput
from store.text import plain
from store.water.given import given

GRAIN_MG = 64.79891
"""A grain; exact, NIST SP 811."""
US_GALLON_L = 3.785411784
"""A US liquid gallon; exact, NIST SP 811."""
IMPERIAL_GALLON_L = 4.54609
"""A UK gallon; exact, Weights and Measures Act 1985."""

_FOOT_M = 0.3048
_ACRE_FOOT_L = 43_560.0 * _FOOT_M**3 * 1000.0
_POUND_G = 453.59237

# Exact definitions, NIST SP 811.
_LITRES = {
    "l": 1.0, "ml": 0.001, "m3": 1000.0, "cm3": 0.001, "hl": 100.0,
    "usgal": US_GALLON_L, "ukgal": IMPERIAL_GALLON_L, "impgal": IMPERIAL_GALLON_L,
    "imperialgal": IMPERIAL_GALLON_L,
    "ft3": 28.316846592, "cuft": 28.316846592, "in3": 0.016387064, "yd3": 764.554857984,
    "acreft": _ACRE_FOOT_L, "acrefoot": _ACRE_FOOT_L, "acrefeet": _ACRE_FOOT_L,
}  # fmt: skip
_METRES = {
    "m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0,
    "ft": _FOOT_M, "foot": _FOOT_M, "feet": _FOOT_M, "yd": 0.9144,
    "in": 0.0254, "inch": 0.0254, "inches": 0.0254,
}  # fmt: skip
_GRAMS = {
    "g": 1.0, "kg": 1000.0, "mg": 0.001, "t": 1e6,
    "lb": _POUND_G, "lbs": _POUND_G, "oz": 28.349523125, "grain": GRAIN_MG / 1000.0,
}  # fmt: skip

_SPELLINGS = (
    ("µ", "u"), ("μ", "u"), ("º", "°"), ("˚", "°"), ("degrees", "°"), ("degree", "°"),
    ("°", ""), ("³", "3"), ("^3", "3"), ("cubicmetre", "m3"), ("cubicfoot", "ft3"),
    ("cubicfeet", "ft3"), ("gallons", "gal"), ("gallon", "gal"), ("gals", "gal"),
    ("litres", "l"), ("litre", "l"), ("liters", "l"), ("liter", "l"),
    ("u.s.", "us"), ("u.k.", "uk"), (".", ""), (" ", ""), ("-", ""),
)  # fmt: skip


def spelt(unit: str) -> str:
    """A unit's name as the tables spell it: small letters, no blanks, no degree sign.

    Parameters
    ----------
    unit
        The unit as typed.

    Examples
    --------
    >>> spelt("US gallons"), spelt("°C"), spelt("µg/L")
    ('usgal', 'c', 'ug/l')
    """
    text = unit.strip().casefold()
    for old, new in _SPELLINGS:
        text = text.replace(old, new)
    return text


def to_litres(value: float, unit: str = "L") -> float:
    """A volume in litres.

    Parameters
    ----------
    value
        The number typed [in the typed unit].
    unit
        Litres, cubic metres or feet, US or UK gallons, acre-feet; empty for litres.

    Returns
    -------
    float
        The volume [L].

    Raises
    ------
    BadInput
        An unknown unit, or gallons that do not say whether US or UK.

    Examples
    --------
    >>> round(to_litres(5000.0, "US gal")), round(to_litres(5000.0, "UK gallons"))
    (18927, 22730)
    """
    if spelt(unit) == "gal":
        raise BadInput(
            "Gallons come in two sizes, 3.785 L (US) and 4.546 L (UK): say USgal or UKgal.",
            field="volume",
        )
    return _by_table(value, unit or "L", _LITRES, "volume", ("L", "m3", "USgal", "UKgal", "ft3"))


def to_metres(value: float, unit: str = "m") -> float:
    """A length in metres.

    Parameters
    ----------
    value
        The number typed [in the typed unit].
    unit
        Metres, centimetres, feet, inches; empty for metres.

    Returns
    -------
    float
        The length [m].

    Raises
    ------
    BadInput
        An unknown unit.
    """
    return _by_table(value, unit or "m", _METRES, "length", ("m", "cm", "ft", "in"))


def to_grams(value: float, unit: str = "g") -> float:
    """A mass in grams.

    Parameters
    ----------
    value
        The number typed [in the typed unit].
    unit
        Grams, kilograms, pounds, ounces; empty for grams.

    Returns
    -------
    float
        The mass [g].

    Raises
    ------
    BadInput
        An unknown unit.
    """
    return _by_table(value, unit or "g", _GRAMS, "mass", ("g", "kg", "lb", "oz"))


_QUANTITY = re.compile(
    r"\s*([+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*?)\s*"
)


def quantity(text: str, name: str) -> tuple[float, str]:
    """The number and the unit of one typed quantity; decimal point or comma.

    Parameters
    ----------
    text
        What was typed, such as `66F`, `0,5` or `5000 USgal`.
    name
        The word for it in the sentence of an error.

    Returns
    -------
    tuple[float, str]
        The number [in the typed unit] and the unit as typed, which may be empty.

    Raises
    ------
    BadInput
        There is no number, or one that can be read in two ways (1,500).

    Examples
    --------
    >>> quantity("66F", "temperature"), quantity("0,5", "total ammonia")
    ((66.0, 'F'), (0.5, ''))
    """
    match = _QUANTITY.fullmatch(text)
    if match is None or re.match(r"[.,\d]", match[2]):
        raise BadInput(
            f"The {name} \N{LEFT DOUBLE QUOTATION MARK}{plain(text)[:40]}"
            "\N{RIGHT DOUBLE QUOTATION MARK} is not a number with a unit. Please type one number, "
            "such as 7.4 or 66F.",
            field=name,
        )
    number = match[1]
    if re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", number):
        raise BadInput(
            f"The {name} {number} can be read as {number.replace(',', '.')} or as "
            f"{number.replace(',', '')}: please type it without the comma.",
            field=name,
        )
    return given(float(number.replace(",", ".")), name), match[2]


def typed_step(text: str) -> float:
    """One step of the last digit typed: what a display that showed this could tell apart.

    Parameters
    ----------
    text
        A quantity as typed.

    Returns
    -------
    float
        The step [unit as typed].

    Examples
    --------
    >>> typed_step("0.40%"), typed_step("3"), typed_step("0,5 g/L")
    (0.01, 1.0, 0.1)
    """
    digits = re.search(r"[.,]([0-9]+)", text)
    return float(f"1e-{len(digits[1])}") if digits else 1.0


def _by_table(
    value: float, unit: str, table: Mapping[str, float], name: str, shown: tuple[str, ...]
) -> float:
    given(value, name)
    factor = table.get(spelt(unit))
    if factor is None:
        raise unknown_unit(name, unit, shown)
    return value * factor


def unknown_unit(name: str, unit: str, known: tuple[str, ...]) -> BadInput:
    """The sentence for a unit that a thing cannot have.

    Parameters
    ----------
    name
        The thing that was measured.
    unit
        The unit as typed.
    known
        The units it may have.
    """
    if not known:
        return BadInput(f"The {name} has no unit; please leave {plain(unit)[:20]} out.", field=name)
    return BadInput(
        f"The unit {plain(unit)[:20]} is not known for the {name}. It may be {', '.join(known)}.",
        field=name,
    )

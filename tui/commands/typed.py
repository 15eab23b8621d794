"""What is typed at the command line for a treatment course, turned into numbers of one unit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from datetime import date

from store.errors import BadInput
from store.text import plain

# What a bath dose may be typed in, as factors to mg/L; microlitres are another thing altogether.
DOSE_MG_L = {"": 1.0, "mg/l": 1.0, "ppm": 1.0, "g/m3": 1.0, "ug/l": 0.001, "g/l": 1000.0,
              "ppt": 1000.0}  # fmt: skip
DOSE_UL_L = {"ul/l": 1.0, "ml/m3": 1.0, "ml/l": 1000.0}
DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "h": 1.0 / 24.0, "w": 7.0, "weeks": 7.0}
HOURS = {"": 1.0, "h": 1.0, "hours": 1.0, "min": 1.0 / 60.0, "d": 24.0, "days": 24.0}
PERCENT = {"": 1.0, "%": 1.0, "%w/w": 1.0, "%w/v": 1.0}
DENSITY = {"": 1.0, "g/ml": 1.0, "kg/l": 1.0, "kg/m3": 0.001, "g/l": 0.001}
PER_KG_FEED = {"": 1.0, "mg/kg": 1.0, "ppm": 1.0, "g/kg": 1000.0, "g/t": 1.0}
PER_KG_FISH = {"": 1.0, "mg/kg": 1.0, "mg/kg/d": 1.0, "mg/kg/day": 1.0, "g/kg": 1000.0}
DEGREE_DAYS = {"": 1.0, "dd": 1.0, "cd": 1.0}


def in_unit(text: str, name: str, factors: Mapping[str, float]) -> float:
    """A quantity times the factor of its unit; a unit that has none is refused."""
    from store.water.measures import quantity, spelt, unknown_unit

    value, unit = quantity(text, name)
    factor = factors.get(spelt(unit))
    if factor is None:
        raise unknown_unit(name, unit, tuple(one for one in factors if one))
    return value * factor


def litres(text: str, name: str = "volume") -> float:
    """A volume [L]."""
    from store.water.measures import quantity, to_litres

    return to_litres(*quantity(text, name))


def kilograms(text: str, name: str) -> float:
    """A weight in kilograms, which a bare number is taken for [kg]."""
    from store.water.measures import quantity, to_grams

    value, unit = quantity(text, name)
    return to_grams(value, unit or "kg") / 1000.0


def whole(text: str, name: str) -> int:
    """A whole number, with or without a word for days."""
    value = in_unit(text, name, {"": 1.0, "d": 1.0, "days": 1.0})
    if value != int(value):
        raise BadInput(f"The {name} must be a whole number.", field=name)
    return int(value)


def temperature(text: str) -> float:
    """A temperature, °C unless it says F [°C]."""
    from store.water.measures import quantity
    from store.water.units import to_stored

    value, unit = quantity(text, "temperature")
    return to_stored("temperature_c", value, unit)


def salinity(text: str, name: str) -> float:
    """A salinity, g/L unless it says % or ppm [g/L]."""
    from store.water.measures import quantity
    from store.water.units import to_stored

    value, unit = quantity(text, name)
    return to_stored("salinity_g_l", value, unit)


def day(text: str, name: str) -> date:
    """A calendar day, written year-month-day."""
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
        with suppress(ValueError):
            return date.fromisoformat(text.strip())
    raise BadInput(
        f"The {name} \N{LEFT DOUBLE QUOTATION MARK}{plain(text)[:20]}"
        "\N{RIGHT DOUBLE QUOTATION MARK} is not a day; please write it as 2026-05-03.",
        field=name,
    )

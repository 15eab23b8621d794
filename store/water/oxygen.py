"""How much oxygen water holds when it is saturated with air, and how full a reading is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from store.water.given import ZERO_CELSIUS_K, figures, given, given_temperature, outside

SOURCE = (
    "Benson & Krause 1984, Limnol. Oceanogr. 29:620-632, as given in APHA Standard Methods 4500-O"
)
ALTITUDE_SOURCE = "air pressure by ICAO Standard Atmosphere, Doc 7488"


def saturation_mg_l(
    temperature_c: float, salinity_g_l: float = 0.0, altitude_m: float = 0.0
) -> float:
    """The oxygen in water saturated with moist air, at the pressure usual at that altitude.

    ln C = -139.34411 + 1.575701e5/T - 6.642308e7/T^2 + 1.243800e10/T^3 - 8.621949e11/T^4
    - S (0.017674 - 10.754/T + 2140.7/T^2), then Cp = C P (1 - Pw/P)(1 - theta P) /
    ((1 - Pw)(1 - theta)). Nothing is checked; `oxygen` is the checked way.

    Parameters
    ----------
    temperature_c
        Water temperature [°C].
    salinity_g_l
        Salt in the water [g/L]; g/L is taken for g/kg, which differs by under 1 % in ponds.
    altitude_m
        Height of the pond above the sea [m].

    Returns
    -------
    float
        Oxygen at saturation [mg/L].

    Notes
    -----
    For 0-40 °C, salinity 0-40 g/kg. The weather moves air pressure, and the saturation with it, by
    about 3 % either way. A barometer that shows pressure reduced to sea level must not be used.

    Examples
    --------
    >>> round(saturation_mg_l(20.0), 3), round(saturation_mg_l(20.0, altitude_m=1000.0), 2)
    (9.092, 8.04)

    References
    ----------
    Benson & Krause 1984, Limnol. Oceanogr. 29:620-632, eq. 24 and 32 in the form of APHA 4500-O;
    theta and Pw as in APHA 4500-O (from memory).
    """
    kelvin = temperature_c + ZERO_CELSIUS_K
    per_t = 1.0 / kelvin
    at_sea_level = math.exp(
        -139.34411
        + per_t * (1.575701e5 + per_t * (-6.642308e7 + per_t * (1.243800e10 - per_t * 8.621949e11)))
        - salinity_g_l * (0.017674 + per_t * (-10.754 + per_t * 2140.7))
    )
    if altitude_m == 0.0:
        return at_sea_level
    pressure_atm = standard_pressure_atm(altitude_m)
    vapour_atm = math.exp(11.8571 + per_t * (-3840.70 - per_t * 216961.0))
    theta = 0.000975 - 1.426e-5 * temperature_c + 6.436e-8 * temperature_c * temperature_c
    return at_sea_level * (
        (pressure_atm - vapour_atm)
        * (1.0 - theta * pressure_atm)
        / ((1.0 - vapour_atm) * (1.0 - theta))
    )


def standard_pressure_atm(altitude_m: float) -> float:
    """The usual air pressure at an altitude, P = (1 - 2.25577e-5 h)^5.25588.

    Parameters
    ----------
    altitude_m
        Height above the sea [m].

    Returns
    -------
    float
        Pressure [atm].

    Notes
    -----
    For the lowest 11 km of the air.

    References
    ----------
    International Civil Aviation Organization, Manual of the ICAO Standard Atmosphere, Doc 7488.
    """
    return math.pow(1.0 - 2.25577e-5 * altitude_m, 5.25588)


@dataclass(frozen=True, slots=True)
class Oxygen:
    """Saturation at one temperature, salinity and altitude; percent where a reading is given."""

    saturation_mg_l: float
    percent: float | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def oxygen(
    temperature_c: float,
    salinity_g_l: float = 0.0,
    altitude_m: float = 0.0,
    oxygen_mg_l: float | None = None,
) -> Oxygen:
    """Oxygen at saturation and the percentage a reading is of it, checked and with remarks.

    Parameters
    ----------
    temperature_c
        Water temperature [°C].
    salinity_g_l
        Salt in the water [g/L].
    altitude_m
        Height of the pond above the sea [m].
    oxygen_mg_l
        Measured dissolved oxygen [mg/L]; None where only the saturation is wanted.

    Returns
    -------
    Oxygen
        Saturation [mg/L] and percentage [%].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Notes
    -----
    For 0-40 °C and salinity 0-40 g/kg; outside, the value comes with a remark.

    Examples
    --------
    >>> answer = oxygen(27.0, oxygen_mg_l=5.0)
    >>> round(answer.saturation_mg_l, 2), round(answer.percent)
    (7.97, 63)

    References
    ----------
    Benson & Krause 1984, Limnol. Oceanogr. 29:620-632; APHA Standard Methods 4500-O.
    """
    given_temperature(temperature_c)
    given(salinity_g_l, "salinity", "g/L", low=0.0, high=350.0)
    given(altitude_m, "altitude", "m", low=-450.0, high=9000.0)
    saturation = saturation_mg_l(temperature_c, salinity_g_l, altitude_m)
    place = f"{figures(temperature_c)} °C"
    if salinity_g_l:
        place += f", {figures(salinity_g_l)} g/L salt"
    if altitude_m:
        place += f", {figures(altitude_m)} m ({standard_pressure_atm(altitude_m):.3f} atm)"
    arithmetic = f"saturation at {place} = {figures(saturation)} mg/L"
    percent = None
    if oxygen_mg_l is not None:
        given(oxygen_mg_l, "dissolved oxygen", "mg/L", low=0.0, high=1e6)
        percent = 100.0 * oxygen_mg_l / saturation
        arithmetic += (
            f"; 100 × {figures(oxygen_mg_l)} / {figures(saturation)} = {figures(percent)} %"
        )
    return Oxygen(
        saturation_mg_l=saturation,
        percent=percent,
        arithmetic=arithmetic,
        source=f"{SOURCE}; {ALTITUDE_SOURCE}" if altitude_m else SOURCE,
        remarks=oxygen_remarks(temperature_c, salinity_g_l),
    )


def oxygen_remarks(temperature_c: float, salinity_g_l: float) -> tuple[str, ...]:
    """What must be said of the saturation formula here; nothing inside its range.

    Parameters
    ----------
    temperature_c
        Water temperature [°C].
    salinity_g_l
        Salt in the water [g/L].
    """
    return outside(
        temperature_c,
        0.0,
        40.0,
        f"{figures(temperature_c)} °C is outside the 0-40 °C of the saturation formula: take the "
        "value as a guide.",
    ) + outside(
        salinity_g_l,
        0.0,
        40.0,
        f"{figures(salinity_g_l)} g/L salt is outside the 0-40 g/L of the saturation formula: take "
        "the value as a guide.",
    )

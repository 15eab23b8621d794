"""How much free carbon dioxide is in the water, from alkalinity, pH and temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

from store.water.given import (
    ZERO_CELSIUS_K,
    figures,
    given,
    given_ph,
    given_temperature,
    outside,
)
from store.water.molar import CACO3_MG_PER_MEQ, CO2_G_MOL

SOURCE = (
    "first dissociation constant of carbonic acid by Plummer & Busenberg 1982, "
    "Geochim. Cosmochim. Acta 46:1011-1040; method as in Tucker 1984 and SRAC 468"
)
_CO2_PER_CACO3 = CO2_G_MOL / CACO3_MG_PER_MEQ


def carbonic_acid_pk1(temperature_c: float) -> float:
    """The first dissociation constant of carbonic acid in fresh water, as pK1.

    pK1 = 356.3094 + 0.06091964 T - 21834.37/T - 126.8339 log10 T + 1684915/T^2.

    Parameters
    ----------
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        pK1 [-].

    Notes
    -----
    For 0-90 °C. Coefficients from memory; the value at 25 °C, 6.352, is the printed one.

    Examples
    --------
    >>> round(carbonic_acid_pk1(25.0), 3)
    6.352

    References
    ----------
    Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011-1040.
    """
    kelvin = temperature_c + ZERO_CELSIUS_K
    return (
        356.3094
        + 0.06091964 * kelvin
        - 21834.37 / kelvin
        - 126.8339 * math.log10(kelvin)
        + 1684915.0 / (kelvin * kelvin)
    )


def free_co2_mg_l(alkalinity_mg_l: float, ph: float, temperature_c: float) -> float:
    """The free carbon dioxide of fresh water.

    CO2 = 44.0095/50.0435 x alkalinity x 10^(pK1 - pH), all alkalinity taken as bicarbonate.
    Nothing is checked; `co2` is the checked way.

    Parameters
    ----------
    alkalinity_mg_l
        Total alkalinity, what a KH kit measures [mg/L as CaCO3].
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        Free CO2 [mg/L].

    Notes
    -----
    For pH 6.0-8.3. The water's minerals lower the true figure by 3 to 11 %; a pH meter wrong by
    0.1 moves it by 26 %.

    Examples
    --------
    >>> round(free_co2_mg_l(50.0, 6.8, 25.0), 1)
    15.7

    References
    ----------
    Tucker 1984; SRAC Publication 468; Plummer & Busenberg 1982.
    """
    return float(_CO2_PER_CACO3 * alkalinity_mg_l * 10.0 ** (carbonic_acid_pk1(temperature_c) - ph))


@dataclass(frozen=True, slots=True)
class Co2:
    """Free carbon dioxide at one alkalinity, pH and temperature."""

    co2_mg_l: float
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def co2(alkalinity_mg_l: float, ph: float, temperature_c: float) -> Co2:
    """Free carbon dioxide, checked and with its remarks.

    Parameters
    ----------
    alkalinity_mg_l
        Total alkalinity, what a KH kit measures [mg/L as CaCO3].
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    Co2
        Free CO2 [mg/L].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Notes
    -----
    For pH 6.0-8.3 and 0-40 °C; outside, the value comes with a remark.

    References
    ----------
    Tucker 1984; SRAC Publication 468; Plummer & Busenberg 1982.
    """
    given(alkalinity_mg_l, "alkalinity", "mg/L CaCO3", low=0.0, high=1e6)
    given_ph(ph)
    given_temperature(temperature_c)
    value = free_co2_mg_l(alkalinity_mg_l, ph, temperature_c)
    pk1 = carbonic_acid_pk1(temperature_c)
    return Co2(
        co2_mg_l=value,
        arithmetic=f"pK1 at {figures(temperature_c)} °C = {pk1:.4f}; 44.0095/50.0435 × "
        f"{figures(alkalinity_mg_l)} mg/L CaCO3 × 10^({pk1:.4f} - {figures(ph)}) = "
        f"{figures(value)} mg/L CO2",
        source=SOURCE,
        remarks=co2_remarks(ph, temperature_c),
    )


def co2_remarks(ph: float, temperature_c: float) -> tuple[str, ...]:
    """What must be said of the CO2 formula here; nothing inside its range.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    """
    remarks = outside(
        temperature_c,
        0.0,
        40.0,
        f"{figures(temperature_c)} °C is outside the 0-40 °C of the CO2 formula: take the value "
        "as a guide.",
    )
    if ph > 8.3:
        remarks += (
            (
                f"pH {figures(ph)} is above 8.3, outside the formula's pH 6.0-8.3: part of the "
                "alkalinity is carbonate, so there is less CO2 than reckoned, next to none."
            ),
        )
    elif ph < 6.0:
        remarks += (
            (
                f"pH {figures(ph)} is below 6.0, outside the formula's pH 6.0-8.3: take the value "
                "as a guide."
            ),
        )
    return remarks

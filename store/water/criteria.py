"""How much total ammonia the US EPA's 2013 criteria allow at a pH and temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

from store.water.given import figures, given_ph, given_temperature, outside

SOURCE = (
    "US EPA 2013, Aquatic life ambient water quality criteria for ammonia - freshwater, "
    "EPA-822-R-13-001"
)


def acute_tan_mg_l(ph: float, temperature_c: float, salmonids: bool = False) -> float:
    """The total ammonia that must not be exceeded for longer than an hour.

    Salmonids absent: 0.7249 (0.0114/(1+10^(7.204-pH)) + 1.6181/(1+10^(pH-7.204)))
    x MIN(51.93, 23.12 x 10^(0.036(20-T))). Salmonids present: the lesser of the same with
    23.12 x 10^(0.036(20-T)) alone, and 0.275/(1+10^(7.204-pH)) + 39.0/(1+10^(pH-7.204)).
    Nothing is checked; `criteria` is the checked way.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    salmonids
        True where trout or salmon (genus Oncorhynchus) live in the water.

    Returns
    -------
    float
        Criterion maximum concentration, one-hour average [mg/L TAN as N].

    Notes
    -----
    For pH 6.5-9.0 and 0-30 °C. 51.93 is from memory; the printed values at 10 °C bear it out.

    Examples
    --------
    >>> round(acute_tan_mg_l(7.0, 20.0), 1)
    16.8

    References
    ----------
    US EPA 2013, EPA-822-R-13-001, criterion statement.
    """
    low_ph = 1.0 / (1.0 + math.pow(10.0, 7.204 - ph))
    high_ph = 1.0 / (1.0 + math.pow(10.0, ph - 7.204))
    by_ph = 0.7249 * (0.0114 * low_ph + 1.6181 * high_ph)
    by_temperature = 23.12 * math.pow(10.0, 0.036 * (20.0 - temperature_c))
    if salmonids:
        return min(0.275 * low_ph + 39.0 * high_ph, by_ph * by_temperature)
    return by_ph * min(51.93, by_temperature)


def chronic_tan_mg_l(ph: float, temperature_c: float) -> float:
    """The total ammonia that must not be exceeded as an average of 30 days.

    0.8876 (0.0278/(1+10^(7.688-pH)) + 1.1994/(1+10^(pH-7.688)))
    x 2.126 x 10^(0.028(20-MAX(T,7))). Nothing is checked; `criteria` is the checked way.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        Criterion continuous concentration, 30-day rolling average [mg/L TAN as N].

    Notes
    -----
    For pH 6.5-9.0 and 0-30 °C.

    Examples
    --------
    >>> round(chronic_tan_mg_l(7.0, 20.0), 2)
    1.89

    References
    ----------
    US EPA 2013, EPA-822-R-13-001, criterion statement.
    """
    by_ph = 0.0278 / (1.0 + math.pow(10.0, 7.688 - ph)) + 1.1994 / (
        1.0 + math.pow(10.0, ph - 7.688)
    )
    by_temperature = 2.126 * math.pow(10.0, 0.028 * (20.0 - max(temperature_c, 7.0)))
    return 0.8876 * by_ph * by_temperature


@dataclass(frozen=True, slots=True)
class Criteria:
    """The criteria at one pH and temperature, all as total ammonia nitrogen.

    `four_day_tan_mg_l` is the highest average of 4 days within the 30, 2.5 times the chronic one.
    """

    acute_tan_mg_l: float
    chronic_tan_mg_l: float
    four_day_tan_mg_l: float
    salmonids: bool
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def criteria(ph: float, temperature_c: float, salmonids: bool = False) -> Criteria:
    """The EPA criteria for total ammonia, checked and with their remarks.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    salmonids
        True where trout or salmon (genus Oncorhynchus) live in the water.

    Returns
    -------
    Criteria
        Acute, chronic and four-day criterion [mg/L TAN as N].

    Raises
    ------
    BadInput
        A pH or temperature that cannot exist.

    Notes
    -----
    For pH 6.5-9.0 and 0-30 °C; outside, the formula's value comes with a remark. The criteria
    protect wild mussels and snails as well as fish: a benchmark of a regulator, not a pond target.

    References
    ----------
    US EPA 2013, EPA-822-R-13-001.
    """
    given_ph(ph)
    given_temperature(temperature_c)
    acute = acute_tan_mg_l(ph, temperature_c, salmonids)
    chronic = chronic_tan_mg_l(ph, temperature_c)
    return Criteria(
        acute_tan_mg_l=acute,
        chronic_tan_mg_l=chronic,
        four_day_tan_mg_l=2.5 * chronic,
        salmonids=salmonids,
        arithmetic=f"{acute_arithmetic(ph, temperature_c, salmonids)}; "
        f"{chronic_arithmetic(ph, temperature_c)}",
        source=SOURCE,
        remarks=criteria_remarks(ph, temperature_c),
    )


def criteria_remarks(ph: float, temperature_c: float) -> tuple[str, ...]:
    """What must be said of the criteria at this pH and temperature; nothing inside their range.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    """
    return outside(
        temperature_c,
        0.0,
        30.0,
        f"{figures(temperature_c)} °C is outside the 0-30 °C of the EPA criteria: the formula is "
        "carried on as a guide.",
    ) + outside(
        ph,
        6.5,
        9.0,
        f"pH {figures(ph)} is outside the pH 6.5-9.0 of the EPA criteria: the formula is carried "
        "on as a guide.",
    )


def acute_arithmetic(ph: float, temperature_c: float, salmonids: bool = False) -> str:
    """The acute criterion's arithmetic with its numbers put in.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    salmonids
        True where trout or salmon (genus Oncorhynchus) live in the water.
    """
    ph_text, t_text = figures(ph), figures(temperature_c)
    bracket = f"0.7249 × (0.0114/(1+10^(7.204-{ph_text})) + 1.6181/(1+10^({ph_text}-7.204)))"
    warm = f"23.12 × 10^(0.036 × (20-{t_text}))"
    value = figures(acute_tan_mg_l(ph, temperature_c, salmonids))
    if salmonids:
        cold = f"0.275/(1+10^(7.204-{ph_text})) + 39.0/(1+10^({ph_text}-7.204))"
        return f"acute = min({cold}, {bracket} × {warm}) = {value} mg/L TAN as N"
    return f"acute = {bracket} × min(51.93, {warm}) = {value} mg/L TAN as N"


def chronic_arithmetic(ph: float, temperature_c: float) -> str:
    """The chronic criterion's arithmetic with its numbers put in.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    """
    ph_text, t_text = figures(ph), figures(max(temperature_c, 7.0))
    return (
        f"chronic = 0.8876 × (0.0278/(1+10^(7.688-{ph_text})) + 1.1994/(1+10^({ph_text}-7.688)))"
        f" × 2.126 × 10^(0.028 × (20-{t_text})) = "
        f"{figures(chronic_tan_mg_l(ph, temperature_c))} mg/L TAN as N"
    )

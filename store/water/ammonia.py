"""How much of the total ammonia is un-ionised NH3, the part that harms fish."""

from __future__ import annotations

import math
from dataclasses import dataclass

from store.errors import BadInput
from store.water.given import (
    ZERO_CELSIUS_K,
    figures,
    given,
    given_ph,
    given_temperature,
    outside,
)
from store.water.molar import NACL_G_MOL, NH3_PER_N, NH4_PER_N

SOURCE = (
    "Emerson, Russo, Lund & Thurston 1975, Aqueous ammonia equilibrium calculations, "
    "J. Fish. Res. Board Can. 32:2379-2383"
)
SALT_SOURCE = "activity of NH4+ after Davies 1962, Ion Association, Butterworths (from memory)"
PER_N: dict[str, float] = {"n": 1.0, "nh3": NH3_PER_N, "nh4": NH4_PER_N}
"""Milligrams in the form that hold one milligram of nitrogen."""
FORM_NAMES: dict[str, str] = {"n": "N", "nh3": "NH3", "nh4": "NH4"}

SALT_RANGE_I = 0.1
"""Ionic strength up to which the salt correction was checked, mol/L."""
_SALT_RANGE_G_L = SALT_RANGE_I * NACL_G_MOL


def ammonium_pka(temperature_c: float) -> float:
    """The pKa of ammonium in fresh water, pKa = 0.09018 + 2729.92 / T (Emerson 1975).

    Parameters
    ----------
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        The pKa [-]; 9.2463 at 25 °C.

    Notes
    -----
    For 0-30 °C. The paper reckons T as °C + 273.2; 273.15 is used here, which changes the
    fraction by less than 0.4 %.

    References
    ----------
    Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383.
    """
    return 0.09018 + 2729.92 / (temperature_c + ZERO_CELSIUS_K)


def un_ionised_fraction(ph: float, temperature_c: float) -> float:
    """The share of total ammonia that is un-ionised NH3 in fresh water.

    f = 1 / (1 + 10^(pKa - pH)). It is a share of molecules: the product with total ammonia stays
    in the form (N, NH3, NH4) of the total. Nothing is checked; `ammonia` is the checked way.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        Share between 0 and 1 [-].

    Notes
    -----
    For 0-30 °C and pH 6-10, zero salinity. Salt lowers the share, so that in a salted pond this
    figure errs on the cautious side.

    Examples
    --------
    >>> round(un_ionised_fraction(8.0, 24.0), 4)
    0.0502

    References
    ----------
    Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383.
    """
    return 1.0 / (1.0 + math.pow(10.0, 0.09018 + 2729.92 / (temperature_c + ZERO_CELSIUS_K) - ph))


def ionic_strength_mol_l(salinity_g_l: float) -> float:
    """The ionic strength of a pond salted with sodium chloride.

    Parameters
    ----------
    salinity_g_l
        Salt in the water, all taken as NaCl [g/L].

    Returns
    -------
    float
        Ionic strength [mol/L].

    Notes
    -----
    The minerals of hard tap water give more ionic strength for the same mass than NaCl does; left
    out, they leave the share of NH3 a little high, on the cautious side.
    """
    return salinity_g_l / NACL_G_MOL


def un_ionised_fraction_salted(ph: float, temperature_c: float, salinity_g_l: float) -> float:
    """The share of total ammonia that is un-ionised NH3 in a pond salted with NaCl.

    Emerson's pKa is raised by -log10 of the activity coefficient of NH4+ (Davies):
    log10 g = -A (sqrt(I)/(1 + sqrt(I)) - 0.3 I). pH is an activity, as a meter shows it.

    Parameters
    ----------
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    salinity_g_l
        Salt in the water, taken as NaCl [g/L].

    Returns
    -------
    float
        Share between 0 and 1 [-], never above that in fresh water.

    Notes
    -----
    Checked for I up to 0.1 mol/L (5.8 g/L NaCl) against a full equilibrium model (PHREEQC): it
    lies within 0.5 % to 0.01 mol/L, 3 % above at 0.05, 7 % above at 0.1, so that it takes off
    rather too little than too much. Beyond 5.8 g/L the correction of 5.8 g/L is kept.

    References
    ----------
    Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379-2383; Davies 1962, Ion Association.
    """
    strength = min(ionic_strength_mol_l(salinity_g_l), SALT_RANGE_I)
    root = math.sqrt(strength)
    debye_a = _debye_huckel_a(temperature_c)
    shift = debye_a * (root / (1.0 + root) - 0.3 * strength)
    return 1.0 / (1.0 + math.pow(10.0, ammonium_pka(temperature_c) + shift - ph))


def _debye_huckel_a(temperature_c: float) -> float:
    # 1.82e6 (e T)^-1.5 after Stumm & Morgan 1996, Aquatic Chemistry; the dielectric constant e of
    # water after Malmberg & Maryott 1956, J. Res. Natl. Bur. Stand. 56:1-8. Both from memory;
    # together they give the well-known 0.51 at 25 °C.
    t = temperature_c
    dielectric = 87.740 - 0.40008 * t + 9.398e-4 * t * t - 1.410e-6 * t * t * t
    return 1.82e6 / math.pow(dielectric * (t + ZERO_CELSIUS_K), 1.5)


def tan_at_limit(limit_nh3_n_mg_l: float, ph: float, temperature_c: float) -> float:
    """The total ammonia at which un-ionised ammonia reaches a limit.

    Parameters
    ----------
    limit_nh3_n_mg_l
        Limit of un-ionised ammonia [mg/L as N].
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].

    Returns
    -------
    float
        Total ammonia nitrogen [mg/L as N].

    Examples
    --------
    >>> round(tan_at_limit(0.05, 8.9, 28.5), 3)
    0.137
    """
    return limit_nh3_n_mg_l / un_ionised_fraction(ph, temperature_c)


def ph_at_limit(tan_mg_l: float, temperature_c: float, limit_nh3_n_mg_l: float) -> float | None:
    """The pH at which the same total ammonia would reach a limit of un-ionised ammonia.

    Parameters
    ----------
    tan_mg_l
        Total ammonia nitrogen [mg/L as N].
    temperature_c
        Water temperature [°C].
    limit_nh3_n_mg_l
        Limit of un-ionised ammonia [mg/L as N].

    Returns
    -------
    float or None
        The pH [pH]; None where even all of the ammonia as NH3 stays at or below the limit, or
        where the limit is not above zero.

    Examples
    --------
    >>> round(ph_at_limit(1.2, 21.5, 0.05), 2)
    7.99
    """
    if limit_nh3_n_mg_l <= 0.0 or tan_mg_l <= limit_nh3_n_mg_l:
        return None
    return ammonium_pka(temperature_c) - math.log10(tan_mg_l / limit_nh3_n_mg_l - 1.0)


@dataclass(frozen=True, slots=True)
class Ammonia:
    """Un-ionised ammonia at one pH and temperature.

    `fraction`, `nh3_n_mg_l` and `nh3_mg_l` heed the salt where a salinity was given;
    `fraction_fresh` and `nh3_n_fresh_mg_l` never do, and are the cautious figures.
    """

    fraction: float
    tan_mg_l: float
    nh3_n_mg_l: float
    nh3_mg_l: float
    fraction_fresh: float
    nh3_n_fresh_mg_l: float
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def ammonia(
    tan: float,
    form: str,
    ph: float,
    temperature_c: float,
    salinity_g_l: float = 0.0,
) -> Ammonia:
    """Un-ionised ammonia from a reading of total ammonia, checked and with its remarks.

    Parameters
    ----------
    tan
        Total ammonia as the kit reads it [mg/L in the given form].
    form
        What the kit's milligrams are: "n" (nitrogen), "nh3" or "nh4".
    ph
        pH of the water [pH].
    temperature_c
        Water temperature [°C].
    salinity_g_l
        Salt in the water, taken as NaCl [g/L]; above zero the share is corrected for it.

    Returns
    -------
    Ammonia
        The share [-], total and un-ionised ammonia [mg/L as N], un-ionised ammonia [mg/L as NH3].

    Raises
    ------
    BadInput
        A number that cannot exist, or an unknown form.

    Notes
    -----
    Emerson's formula holds for 0-30 °C and pH 6-10; outside, the value comes with a remark.

    Examples
    --------
    >>> answer = ammonia(1.2, "n", 8.9, 28.5)
    >>> round(answer.fraction, 4), round(answer.nh3_n_mg_l, 3)
    (0.3652, 0.438)

    References
    ----------
    Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383.
    """
    if form not in PER_N:
        raise BadInput(
            "The form of the ammonia is not known: say n, nh3 or nh4, as the kit's leaflet does.",
            field="form",
        )
    given(tan, "total ammonia", "mg/L", low=0.0, high=1e6)
    given_ph(ph)
    given_temperature(temperature_c)
    given(salinity_g_l, "salinity", "g/L", low=0.0, high=350.0)
    tan_mg_l = tan / PER_N[form]
    fresh = un_ionised_fraction(ph, temperature_c)
    salted = salinity_g_l > 0.0
    fraction = un_ionised_fraction_salted(ph, temperature_c, salinity_g_l) if salted else fresh
    nh3_n_mg_l = tan_mg_l * fraction
    nh3_n_fresh_mg_l = tan_mg_l * fresh
    return Ammonia(
        fraction=fraction,
        tan_mg_l=tan_mg_l,
        nh3_n_mg_l=nh3_n_mg_l,
        nh3_mg_l=nh3_n_mg_l * NH3_PER_N,
        fraction_fresh=fresh,
        nh3_n_fresh_mg_l=nh3_n_fresh_mg_l,
        arithmetic=_arithmetic(
            tan, form, ph, temperature_c, salinity_g_l=salinity_g_l, fraction=fraction
        ),
        source=f"{SOURCE}; {SALT_SOURCE}" if salted else SOURCE,
        remarks=ammonia_remarks(ph, temperature_c)
        + _salt_remarks(salinity_g_l, nh3_n_fresh_mg_l, fresh),
    )


def ammonia_remarks(ph: float, temperature_c: float) -> tuple[str, ...]:
    """What must be said of Emerson's formula at this pH and temperature; nothing inside its range.

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
        f"{figures(temperature_c)} °C is outside the 0-30 °C of Emerson's formula: take the share "
        "of NH3 as a guide.",
    ) + outside(
        ph,
        6.0,
        10.0,
        f"pH {figures(ph)} is outside the pH 6-10 of Emerson's formula: take the share of NH3 as "
        "a guide.",
    )


def _salt_remarks(salinity_g_l: float, fresh_mg_l: float, fresh: float) -> tuple[str, ...]:
    if salinity_g_l <= 0.0:
        return ()
    remarks: tuple[str, ...] = (
        (
            f"Reckoned for {figures(salinity_g_l)} g/L of salt. Without the salt, which is the "
            f"cautious figure, it is {figures(fresh_mg_l)} mg/L NH3-N (share {figures(fresh)})."
        ),
    )
    return remarks + outside(
        salinity_g_l,
        0.0,
        _SALT_RANGE_G_L,
        f"The salt correction was checked to {_SALT_RANGE_G_L:.1f} g/L; its size there is used "
        "for this saltier water.",
    )


def _arithmetic(
    tan: float,
    form: str,
    ph: float,
    temperature_c: float,
    *,
    salinity_g_l: float,
    fraction: float,
) -> str:
    pka = ammonium_pka(temperature_c)
    tan_mg_l = tan / PER_N[form]
    total = (
        ""
        if form == "n"
        else f"{figures(tan)} mg/L {FORM_NAMES[form]} / {figures(PER_N[form])} = "
        f"{figures(tan_mg_l)} mg/L N; "
    )
    salt = f", raised for {figures(salinity_g_l)} g/L salt" if salinity_g_l > 0.0 else ""
    effective_pka = ph + math.log10(1.0 / fraction - 1.0) if salinity_g_l > 0.0 else pka
    return (
        f"{total}pKa = 0.09018 + 2729.92 / ({figures(temperature_c)} + 273.15){salt} = "
        f"{effective_pka:.4f}; share = 1 / (1 + 10^({effective_pka:.4f} - {figures(ph)})) = "
        f"{figures(fraction)}; {figures(tan_mg_l)} mg/L N × {figures(fraction)} = "
        f"{figures(tan_mg_l * fraction)} mg/L NH3-N"
    )

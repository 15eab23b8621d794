"""Salt reckoned from conductivity, as cheap pens do it: with one factor, which is shown.

A meter counts every ion. The minerals of the water itself are read as salt, and the factor of
common salt is not the same at every strength.
"""

from __future__ import annotations

from dataclasses import dataclass

from store.water.given import figures, given

SALT_G_PER_MS = 0.5
"""Grams of common salt a litre for each mS/cm at 25 °C; common practice. By the conductivity of
pure sodium chloride it is 0.49 at 0.6 g/L, 0.53 at 3 g/L and 0.55 at 6 g/L."""
SOURCE = "common practice, without a published source"
STRONG_US_CM = 6000.0
"""From here on the factor is clearly too small."""


@dataclass(frozen=True, slots=True)
class SaltByConductivity:
    """Salinity that a conductivity would mean if all of it were common salt."""

    salinity_g_l: float
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def salt_by_conductivity(conductivity_us_cm: float) -> SaltByConductivity:
    """The salinity that a conductivity would mean if all of it were common salt.

    Parameters
    ----------
    conductivity_us_cm
        As a meter that corrects to 25 °C shows it [µS/cm].

    Returns
    -------
    SaltByConductivity
        In g/L, with the factor in the arithmetic.

    Raises
    ------
    BadInput
        A conductivity that cannot be.

    Examples
    --------
    >>> salt_by_conductivity(450.0).arithmetic
    '450 µS/cm × 0.5 g/L for each 1000 µS/cm = 0.225 g/L'
    """
    given(conductivity_us_cm, "conductivity", "µS/cm", low=0.0, high=200_000.0)
    salinity_g_l = conductivity_us_cm / 1000.0 * SALT_G_PER_MS
    remarks: tuple[str, ...] = (
        "Reckoned as if all of it were common salt: the minerals of fresh water count as well, so "
        "compare with the source water.",
    )
    if conductivity_us_cm > STRONG_US_CM:
        remarks += (
            f"Above {STRONG_US_CM:.0f} µS/cm the fixed factor shows up to a tenth too little salt.",
        )
    return SaltByConductivity(
        salinity_g_l,
        f"{figures(conductivity_us_cm)} µS/cm × {SALT_G_PER_MS:g} g/L for each 1000 µS/cm = "
        f"{figures(salinity_g_l)} g/L",
        SOURCE,
        remarks,
    )

"""How much to weigh or measure out for a bath, and what it makes if the volume is wrong.

Holds for a whole pond, a holding tank and a dip alike: only the volume and the dose differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from store.courses.baths.weighing import Measured, Unit, measured
from store.errors import BadInput
from store.water.given import figures, given

Basis = Literal["w/w", "w/v", "product"]
"""What the strength means, and what the dose is a dose of.

`w/w`: the dose is of the active substance, the strength is its share by weight. `w/v`: likewise,
the strength is grams in 100 mL. `product`: the dose is of the product as it comes out of the
bottle, whatever its strength; so formalin is dosed, the 37 % solution counted as if it were pure.
"""
BASES: tuple[Basis, ...] = ("w/w", "w/v", "product")

SOURCE = (
    "from memory, believed to stand in: Masser & Jensen 1991, Calculating Treatments for Ponds and "
    "Tanks, SRAC Publication 410"
)
HIGHEST_DOSE_MG_L = 350_000.0
"""More than a saturated brine holds: a dose above it is a slip of the decimal point [mg/L]."""
HIGHEST_DENSITY_G_ML = 3.0
"""No liquid product is denser; 1090 typed for 1.09 is caught [g/mL]."""


@dataclass(frozen=True, slots=True)
class Amount:
    """What to weigh or measure out, and what follows from the bounds of the volume.

    `out` is the amount in the unit it is measured in; `mass_g` is the same by weight, None for a
    liquid without a density. `at_low` and `at_high` are the amounts for the least and the greatest
    volume. `lowest_dose` and `highest_dose` are what `out` makes of the dose in the greatest and in
    the least volume, in the unit of the dose. `active_mg_l` is the active substance in the dose.
    """

    out: Measured
    mass_g: float | None
    dose: float
    dose_unit: Literal["mg/L", "uL/L"]
    active_mg_l: float | None
    at_low: Measured | None
    at_high: Measured | None
    lowest_dose: float
    highest_dose: float
    arithmetic: str
    source: str
    remarks: tuple[str, ...]

    @property
    def grams(self) -> float | None:
        """The exact amount where it is weighed [g]; None for a liquid."""
        return self.out.exact if self.out.unit == "g" else None

    @property
    def millilitres(self) -> float | None:
        """The exact amount where it is a liquid [mL]; None for a powder."""
        return self.out.exact if self.out.unit == "mL" else None


def bath_amount(
    dose_mg_l: float,
    volume_l: float,
    *,
    strength_percent: float = 100.0,
    basis: Basis = "w/w",
    density_g_ml: float | None = None,
    low_l: float | None = None,
    high_l: float | None = None,
) -> Amount:
    """The amount of a product that brings a volume of water to a dose by weight.

    Grams of active substance = mg/L x L / 1000; grams of product = that / (strength / 100), with
    strength by weight; mL of product = grams of product / density, or, with strength by volume,
    grams of active substance x 100 / strength.

    Parameters
    ----------
    dose_mg_l
        Concentration wanted: of the active substance, or of the product where `basis` says so
        [mg/L].
    volume_l
        Water to be treated [L].
    strength_percent
        Active substance in the product; with basis `product` it only tells how much active
        substance the dose holds [% w/w, or g in 100 mL with basis `w/v`].
    basis
        What the strength and the dose mean.
    density_g_ml
        Density of a liquid product [g/mL]; None for a powder. Not needed with basis `w/v`.
    low_l, high_l
        The least and the greatest that the volume may be [L]; None where it is taken as sure.

    Returns
    -------
    Amount
        Grams, or millilitres for a liquid; exact, and rounded down once to a step of the scale.

    Raises
    ------
    BadInput
        A number that cannot exist, a strength over 100 %, bounds that do not hold the volume.

    Notes
    -----
    It is the amount that the arithmetic gives: whether the water bears it stands elsewhere.

    Examples
    --------
    >>> bath_amount(0.5, 30_000.0, strength_percent=98.0).out.said
    '15.3 g'
    >>> bath_amount(25.0, 5000.0, basis="product", density_g_ml=1.09).out.said
    '114 mL'

    References
    ----------
    Masser & Jensen 1991, Calculating Treatments for Ponds and Tanks, SRAC Publication 410 (from
    memory).
    """
    given(dose_mg_l, "dose", "mg/L", above=0.0, high=HIGHEST_DOSE_MG_L)
    strength = given(strength_percent, "strength", "%", above=0.0, high=100.0) / 100.0
    if density_g_ml is not None:
        given(density_g_ml, "density", "g/mL", above=0.0, high=HIGHEST_DENSITY_G_ML)
    if basis not in BASES:
        raise BadInput("The strength is by weight (w/w), by volume (w/v) or of the product.",
                       field="basis")  # fmt: skip
    _check_volume(volume_l, low_l, high_l)

    dosed_g = dose_mg_l * volume_l / 1000.0
    steps = [f"{figures(dose_mg_l)} mg/L × {figures(volume_l)} L / 1000 = {figures(dosed_g)} g"]
    of_dose = 1.0 if basis == "product" else strength
    unit: Unit = "g"
    mass_g: float | None
    if basis == "w/v":
        unit, per_litre = "mL", dose_mg_l / 1000.0 / strength
        mass_g = None if density_g_ml is None else per_litre * volume_l * density_g_ml
        steps.append(
            f"{figures(dosed_g)} g / {figures(strength_percent)} g × 100 mL = "
            f"{figures(per_litre * volume_l)} mL"
        )
    else:
        mass_g = dosed_g / of_dose
        per_litre = dose_mg_l / 1000.0 / of_dose
        if of_dose != 1.0:
            steps.append(f"{figures(dosed_g)} g / {figures(of_dose)} = {figures(mass_g)} g product")
        if density_g_ml is not None:
            unit, per_litre = "mL", per_litre / density_g_ml
            steps.append(
                f"{figures(mass_g)} g / {figures(density_g_ml)} g/mL = "
                f"{figures(per_litre * volume_l)} mL"
            )
    product = basis == "product"
    return _amount(
        per_litre, unit, dose_mg_l, "mg/L", volume_l, low_l, high_l, mass_g,
        active_mg_l=dose_mg_l * strength if product else dose_mg_l,
        steps=steps,
        remarks=_of_product(strength_percent) if product else (),
    )  # fmt: skip


def bath_by_volume(
    dose_ul_l: float,
    volume_l: float,
    *,
    strength_percent: float = 100.0,
    density_g_ml: float | None = None,
    low_l: float | None = None,
    high_l: float | None = None,
) -> Amount:
    """The amount of a liquid product for a dose by volume: microlitres of product in a litre.

    mL = uL/L x L / 1000. One uL/L is one mL in a cubic metre; it is not one mg/L unless the product
    has the density of water.

    Parameters
    ----------
    dose_ul_l
        Product wanted in the water [uL/L].
    volume_l
        Water to be treated [L].
    strength_percent
        Active substance in the product, only to tell how much of it the dose holds [% w/w].
    density_g_ml
        Density of the product [g/mL]; None where it is not known.
    low_l, high_l
        The least and the greatest that the volume may be [L]; None where it is taken as sure.

    Returns
    -------
    Amount
        Millilitres, exact and rounded down once. The active substance [mg/L] is None without a
        density.

    Raises
    ------
    BadInput
        A number that cannot exist, a strength over 100 %, bounds that do not hold the volume.

    Examples
    --------
    >>> bath_by_volume(25.0, 5000.0).out.said
    '125 mL'
    """
    given(dose_ul_l, "dose", "µL/L", above=0.0, high=1e6)
    given(strength_percent, "strength", "%", above=0.0, high=100.0)
    if density_g_ml is not None:
        given(density_g_ml, "density", "g/mL", above=0.0, high=HIGHEST_DENSITY_G_ML)
    _check_volume(volume_l, low_l, high_l)
    millilitres = dose_ul_l * volume_l / 1000.0
    dense = density_g_ml is not None
    return _amount(
        dose_ul_l / 1000.0, "mL", dose_ul_l, "uL/L", volume_l, low_l, high_l,
        mass_g=millilitres * density_g_ml if density_g_ml is not None else None,
        active_mg_l=dose_ul_l * density_g_ml * strength_percent / 100.0
        if density_g_ml is not None
        else None,
        steps=[
            f"{figures(dose_ul_l)} µL/L × {figures(volume_l)} L / 1000 = {figures(millilitres)} mL"
        ],
        remarks=_of_product(strength_percent)
        + (() if dense else ("Without a density the mg/L of active substance are not known.",)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Replacement:
    """The dose that makes good what a water change took: `dose_mg_l` on the whole volume."""

    dose_mg_l: float
    replaced_l: float
    arithmetic: str
    remarks: tuple[str, ...]


def replacement_dose(dose_mg_l: float, change_percent: float, volume_l: float) -> Replacement:
    """The dose that restores a concentration after part of the water was replaced.

    A change of a share f takes the share f of what is in the water; f x dose, reckoned on the whole
    volume, puts it back.

    Parameters
    ----------
    dose_mg_l
        Concentration that was there before the change [mg/L].
    change_percent
        Water that was replaced [% of the volume].
    volume_l
        Volume of the pond [L].

    Returns
    -------
    Replacement
        The dose to add, on the whole volume [mg/L], and the water replaced [L].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Examples
    --------
    >>> replacement_dose(2.0, 25.0, 10_000.0).dose_mg_l
    0.5
    """
    given(dose_mg_l, "dose", "mg/L", above=0.0, high=HIGHEST_DOSE_MG_L)
    given(change_percent, "water change", "%", low=0.0, high=100.0)
    given(volume_l, "volume", "L", above=0.0, high=1e12)
    share = change_percent / 100.0
    return Replacement(
        dose_mg_l=dose_mg_l * share,
        replaced_l=volume_l * share,
        arithmetic=f"{figures(dose_mg_l)} mg/L × {figures(change_percent)} / 100 = "
        f"{figures(dose_mg_l * share)} mg/L on the whole volume, in place of "
        f"{figures(volume_l * share)} L replaced",
        remarks=(
            "It makes good the dilution alone. What has broken down or been taken up is not known "
            "from it, and must not be made good unmeasured.",
        ),
    )


def _check_volume(volume_l: float, low_l: float | None, high_l: float | None) -> None:
    given(volume_l, "volume", "L", above=0.0, high=1e12)
    if low_l is not None:
        given(low_l, "least volume", "L", above=0.0, high=volume_l)
    if high_l is not None:
        given(high_l, "greatest volume", "L", low=volume_l, high=1e12)


def _of_product(strength_percent: float) -> tuple[str, ...]:
    if strength_percent == 100.0:
        return ("The dose is of the product as it comes out of the bottle.",)
    return (
        (
            "The dose is of the product as it comes out of the bottle: its strength of "
            f"{figures(strength_percent)} % does not change the amount."
        ),
    )


def _amount(
    per_litre: float,
    unit: Unit,
    dose: float,
    dose_unit: Literal["mg/L", "uL/L"],
    volume_l: float,
    low_l: float | None,
    high_l: float | None,
    mass_g: float | None,
    *,
    active_mg_l: float | None,
    steps: list[str],
    remarks: tuple[str, ...],
) -> Amount:
    out = measured(per_litre * volume_l, unit)
    if out.measured and out.measured != out.exact:
        short = (
            f"{figures(out.short_percent, 2)} % less" if out.short_percent > 5e-4 else "the same"
        )
        steps.append(f"measured out as {out.said}, {short}")
    shown = "µL/L" if dose_unit == "uL/L" else dose_unit
    at_low = None if low_l is None else measured(per_litre * low_l, unit)
    at_high = None if high_l is None else measured(per_litre * high_l, unit)
    highest = dose if low_l is None else dose * (volume_l / low_l)
    lowest = dose if high_l is None else dose * (volume_l / high_l)
    if at_low is not None and low_l is not None and low_l < volume_l:
        remarks += (
            (
                f"If there are only {figures(low_l)} L, {out.said} makes {figures(highest)} "
                f"{shown}, not {figures(dose)}: {at_low.said} is the amount for the least "
                "volume."
            ),
        )
    if at_high is not None and high_l is not None and high_l > volume_l:
        remarks += (
            (
                f"If there are {figures(high_l)} L, it makes {figures(lowest)} {shown}; "
                f"{at_high.said} is the amount for the greatest volume."
            ),
        )
    return Amount(
        out=out,
        mass_g=mass_g,
        dose=dose,
        dose_unit=dose_unit,
        active_mg_l=active_mg_l,
        at_low=at_low,
        at_high=at_high,
        lowest_dose=lowest,
        highest_dose=highest,
        arithmetic="; ".join(steps),
        source=SOURCE,
        remarks=remarks + out.remarks,
    )

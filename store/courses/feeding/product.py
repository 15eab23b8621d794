"""What is weighed or measured out of a product for so much active substance in feed."""

from __future__ import annotations

from typing import Literal

from store.courses.baths.weighing import Measured, measured
from store.water.given import figures, given

Basis = Literal["w/w", "w/v", "product"]


def product_for(
    active_mg: float, strength_percent: float, basis: Basis, density_g_ml: float | None
) -> tuple[Measured, str]:
    """The product that holds so much active substance, rounded down once to what a scale shows.

    A strength in g per 100 mL gives millilitres, a strength by weight grams, and millilitres where
    the density is known. Where the dose is of the product itself, the product is the dose.

    Parameters
    ----------
    active_mg
        Active substance, or product where the dose is of it [mg].
    strength_percent
        Strength of the product [% w/w, or g in 100 mL].
    basis
        What the strength is of; `product` where the dose is of the product itself.
    density_g_ml
        Density of a product that is measured in millilitres [g/mL]; None where it is weighed.

    Returns
    -------
    tuple of Measured and str
        Grams or millilitres, and the arithmetic.

    Raises
    ------
    BadInput
        A number that cannot exist, or a strength over 100 %.

    Examples
    --------
    >>> out, said = product_for(420.0, 50.0, "w/w", None)
    >>> out.exact, out.unit, said
    (0.84, 'g', '420 mg / 1000 / 0.5 = 0.84 g')
    >>> product_for(420.0, 10.0, "w/v", None)[0].said
    '4.2 mL'
    """
    given(active_mg, "active substance", "mg", above=0.0, high=1e15)
    given(strength_percent, "strength", "%", above=0.0, high=100.0)
    if density_g_ml is not None:
        given(density_g_ml, "density", "g/mL", low=0.1, high=20.0)
    share = 1.0 if basis == "product" else strength_percent / 100.0
    said = f"{figures(active_mg)} mg / 1000"
    if share != 1.0:
        said += f" / {figures(share)}"
    amount = active_mg / 1000.0 / share
    in_ml = basis == "w/v" or density_g_ml is not None
    if basis != "w/v" and density_g_ml is not None:
        amount /= density_g_ml
        said += f" / {figures(density_g_ml)} g/mL"
    unit: Literal["g", "mL"] = "mL" if in_ml else "g"
    return measured(amount, unit), f"{said} = {figures(amount)} {unit}"

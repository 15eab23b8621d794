"""Nitrite in the light of chloride: the ratio that shields the gills, and the salt it takes."""

from __future__ import annotations

from dataclasses import dataclass

from store.errors import BadInput
from store.water.given import figures, given
from store.water.molar import CHLORIDE_PER_SALT, NO2_PER_N

SOURCE = "SRAC Publication 462 (Durborow, Crosby & Brunson 1997), Nitrite in fish ponds; catfish"
PER_N: dict[str, float] = {"n": 1.0, "no2": NO2_PER_N}
"""Milligrams in the form that hold one milligram of nitrogen."""
INSURANCE_CHLORIDE_MG_L = 100.0
"""Chloride that SRAC 462 keeps in catfish ponds as insurance, mg/L."""
# Far below what any kit or laboratory sees; keeps the ratio a finite number.
_NO_NITRITE_MG_L = 1e-6


def chloride_ratio(nitrite_mg_l: float, chloride_mg_l: float) -> float | None:
    """How many times the nitrite the chloride is, by weight.

    Parameters
    ----------
    nitrite_mg_l
        Nitrite [mg/L as the NO2 ion].
    chloride_mg_l
        Chloride [mg/L].

    Returns
    -------
    float or None
        Chloride to nitrite [mg per mg NO2]; None where there is no nitrite (under 1e-6 mg/L).
    """
    return chloride_mg_l / nitrite_mg_l if nitrite_mg_l >= _NO_NITRITE_MG_L else None


def chloride_to_add_mg_l(nitrite_mg_l: float, chloride_mg_l: float, ratio: float = 10.0) -> float:
    """The chloride to add for a wanted ratio, never below zero.

    Parameters
    ----------
    nitrite_mg_l
        Nitrite [mg/L as the NO2 ion].
    chloride_mg_l
        Chloride that is there [mg/L].
    ratio
        Wanted chloride to nitrite [mg per mg NO2].

    Returns
    -------
    float
        Chloride to add [mg/L].
    """
    return max(0.0, ratio * nitrite_mg_l - chloride_mg_l)


@dataclass(frozen=True, slots=True)
class Nitrite:
    """Nitrite and chloride of one pond; `chloride_needed_mg_l` is what is still to be added."""

    nitrite_mg_l: float
    ratio: float | None
    chloride_target_mg_l: float
    chloride_needed_mg_l: float
    salt_g: float | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def nitrite(
    nitrite: float,
    form: str,
    chloride_mg_l: float,
    volume_l: float | None = None,
    ratio: float = 10.0,
) -> Nitrite:
    """Chloride to nitrite, and the salt that brings it to a ratio; checked and with remarks.

    Parameters
    ----------
    nitrite
        Nitrite as the kit reads it [mg/L in the given form].
    form
        What the kit's milligrams are: "no2" (the ion) or "n" (nitrogen).
    chloride_mg_l
        Chloride that is there [mg/L].
    volume_l
        Volume of the pond [L]; None where it is not known, then no salt is reckoned.
    ratio
        Wanted chloride to nitrite, on the nitrite ion [mg per mg NO2].

    Returns
    -------
    Nitrite
        Nitrite [mg/L as NO2], ratio [mg per mg NO2], chloride wanted and to add [mg/L], pure
        salt NaCl [g], which is zero where the ratio is met.

    Raises
    ------
    BadInput
        A number that cannot exist, or an unknown form.

    Notes
    -----
    The ratio was found for catfish. It stands on the nitrite ion, the cautious reading: 10:1 on
    nitrite nitrogen would be only 3:1 on the ion.

    Examples
    --------
    >>> round(nitrite(2.0, "no2", 5.0, 15_000.0).salt_g, 1)
    370.9

    References
    ----------
    Durborow, Crosby & Brunson 1997, Nitrite in fish ponds, SRAC Publication 462.
    """
    if form not in PER_N:
        raise BadInput(
            "The form of the nitrite is not known: say no2 or n, as the kit's leaflet does.",
            field="form",
        )
    given(nitrite, "nitrite", "mg/L", low=0.0, high=1e6)
    given(chloride_mg_l, "chloride", "mg/L", low=0.0, high=1e6)
    given(ratio, "ratio", low=0.0, high=1000.0)
    nitrite_mg_l = nitrite * NO2_PER_N / PER_N[form]
    target_mg_l = ratio * nitrite_mg_l
    needed_mg_l = chloride_to_add_mg_l(nitrite_mg_l, chloride_mg_l, ratio)
    salt_g = None
    if volume_l is not None:
        given(volume_l, "volume", "L", above=0.0, high=1e12)
        salt_g = needed_mg_l * volume_l / CHLORIDE_PER_SALT / 1000.0
    return Nitrite(
        nitrite_mg_l=nitrite_mg_l,
        ratio=chloride_ratio(nitrite_mg_l, chloride_mg_l),
        chloride_target_mg_l=target_mg_l,
        chloride_needed_mg_l=needed_mg_l,
        salt_g=salt_g,
        arithmetic=_arithmetic(nitrite, form, chloride_mg_l, volume_l, ratio),
        source=SOURCE,
        remarks=_remarks(nitrite_mg_l, chloride_mg_l, needed_mg_l, volume_l),
    )


def _remarks(
    nitrite_mg_l: float, chloride_mg_l: float, needed_mg_l: float, volume_l: float | None
) -> tuple[str, ...]:
    remarks: tuple[str, ...] = ()
    if chloride_ratio(nitrite_mg_l, chloride_mg_l) is None:
        remarks += ("There is no nitrite, so there is no ratio.",)
    elif chloride_mg_l + needed_mg_l < INSURANCE_CHLORIDE_MG_L:
        remarks += (
            (
                f"SRAC 462 keeps at least {INSURANCE_CHLORIDE_MG_L:.0f} mg/L chloride in catfish "
                "ponds as insurance; this is less."
            ),
        )
    if needed_mg_l > 0.0:
        remarks += (
            (
                "Pure salt (NaCl) is meant. Take zeolite out of the filter first: salt frees the "
                "ammonia it holds (common practice)."
            ),
        )
        if volume_l is None:
            remarks += ("The volume is not known, so the salt cannot be reckoned.",)
    return remarks


def _arithmetic(
    nitrite: float, form: str, chloride_mg_l: float, volume_l: float | None, ratio: float
) -> str:
    nitrite_mg_l = nitrite * NO2_PER_N / PER_N[form]
    needed_mg_l = chloride_to_add_mg_l(nitrite_mg_l, chloride_mg_l, ratio)
    shown, chloride = figures(nitrite_mg_l), figures(chloride_mg_l)
    parts = []
    if form == "n":
        parts.append(f"{figures(nitrite)} mg/L N × {NO2_PER_N:.4f} = {shown} mg/L NO2")
    present = chloride_ratio(nitrite_mg_l, chloride_mg_l)
    if present is not None:
        parts.append(f"chloride {chloride} / nitrite {shown} = {figures(present)}")
    target = figures(ratio * nitrite_mg_l)
    parts.append(f"wanted {figures(ratio)} × {shown} = {target} mg/L chloride")
    if needed_mg_l == 0.0:
        parts.append(f"{chloride} mg/L is there, nothing to add")
    else:
        parts.append(f"{target} - {chloride} = {figures(needed_mg_l)} mg/L to add")
        if volume_l is not None:
            salt_g = needed_mg_l * volume_l / CHLORIDE_PER_SALT / 1000.0
            parts.append(
                f"{figures(needed_mg_l)} mg/L × {figures(volume_l)} L / "
                f"{CHLORIDE_PER_SALT:.5f} / 1000 = {figures(salt_g)} g salt"
            )
    return "; ".join(parts)

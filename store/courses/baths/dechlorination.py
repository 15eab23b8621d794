"""Thiosulfate for chlorine in tap water, and the ammonia that chloramine leaves."""

from __future__ import annotations

from dataclasses import dataclass

from store.facts.entry import Standing
from store.facts.sources import cite
from store.water.given import figures, given
from store.water.molar import CHLORIDE_G_MOL, N_G_MOL

THIOSULFATE_PER_CHLORINE = 7.4
"""Pentahydrate for each mg of chlorine (Piper 1982, p. 283) [mg per mg Cl2]."""
STOICHIOMETRIC = 7.0
"""Two molecules for each of chlorine, the bare least [mg per mg Cl2]."""
N_PER_MONOCHLORAMINE_CHLORINE = N_G_MOL / (2.0 * CHLORIDE_G_MOL)
"""Nitrogen that monochloramine frees for each mg of chlorine it is read as [mg N per mg Cl2]."""


@dataclass(frozen=True, slots=True)
class Dechlorination:
    """Thiosulfate for the water that is added; ammonia only where the chlorine is chloramine."""

    grams: float
    least_g: float
    ammonia_n_mg_l: float
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def thiosulfate(chlorine_mg_l: float, volume_l: float, *, chloramine: bool) -> Dechlorination:
    """Sodium thiosulfate pentahydrate that takes the chlorine out of added water.

    Parameters
    ----------
    chlorine_mg_l
        Total chlorine of the water that is added [mg/L as Cl2].
    volume_l
        The water that is added, not the pond [L].
    chloramine
        Whether the supplier uses chloramine, taken as monochloramine.

    Returns
    -------
    Dechlorination
        Pentahydrate by the published ratio and by bare stoichiometry [g]; ammonia freed [mg/L as
        N].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Examples
    --------
    >>> round(thiosulfate(0.8, 10_000.0, chloramine=False).grams, 1)
    59.2
    >>> round(thiosulfate(3.0, 10_000.0, chloramine=True).ammonia_n_mg_l, 3)
    0.593

    References
    ----------
    Piper et al. 1982, Fish Hatchery Management, p. 283: 5.6 g for a US gallon at 200 mg/L.
    """
    given(chlorine_mg_l, "chlorine", "mg/L", low=0.0, high=1000.0)
    given(volume_l, "volume", "L", above=0.0, high=1e12)
    grams = chlorine_mg_l * volume_l * THIOSULFATE_PER_CHLORINE / 1000.0
    ammonia = chlorine_mg_l * N_PER_MONOCHLORAMINE_CHLORINE if chloramine else 0.0
    remarks: tuple[str, ...] = (
        "For the water that is added, each time anew; not for the volume of the pond.",
    )
    if ammonia > 0.0:
        remarks += (
            f"Monochloramine leaves {figures(ammonia)} mg/L of ammonia (as N) in the added water, "
            "which thiosulfate does not bind.",
        )
    return Dechlorination(
        grams,
        chlorine_mg_l * volume_l * STOICHIOMETRIC / 1000.0,
        ammonia,
        f"{figures(chlorine_mg_l)} mg/L × {figures(volume_l)} L × "
        f"{figures(THIOSULFATE_PER_CHLORINE)} / 1000 = {figures(grams)} g pentahydrate",
        cite("piper_1982"),
        "published",
        remarks,
    )

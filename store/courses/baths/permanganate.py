"""Potassium permanganate by the demand of the water: jars first, then the dose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from store.courses.baths.conditional import PublishedDose, WaterDose
from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing
from store.water.given import figures, given

PERMANGANATE_POND_MG_L = 2.0
"""The common rate in ponds (UF/IFAS FA032), raised where the water uses more up [mg/L]."""
PERMANGANATE_FACTOR = 2.5
"""Dose for each mg/L of 15-minute demand (Tucker & Boyd, from memory) [-]."""
PERMANGANATE_MOST_DEMAND_MG_L = 12.0
"""The strongest jar of the published series; beyond it nothing is published [mg/L]."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What the water uses up within 15 minutes: at least `demand_mg_l`, less than `below_mg_l`."""

    demand_mg_l: float
    below_mg_l: float
    arithmetic: str
    source: str
    standing: Standing


def permanganate_demand(decoloured: Mapping[float, bool]) -> Demand:
    """The permanganate demand of pond water, from jars of rising strength after 15 minutes.

    The demand is the strength of the strongest jar that has lost its colour.

    Parameters
    ----------
    decoloured
        Strength of each jar of 1 L of pond water [mg/L], and whether its colour is gone after 15
        minutes.

    Returns
    -------
    Demand
        The strongest jar that lost its colour, 0 where none did, and the weakest that kept it
        [mg/L].

    Raises
    ------
    BadInput
        Fewer than two jars, a strength outside 0-12 mg/L, a stronger jar that lost its colour
        where a weaker kept it, or no jar that kept it.

    Examples
    --------
    >>> permanganate_demand({1.0: True, 2.0: True, 3.0: False, 4.0: False}).demand_mg_l
    2.0

    References
    ----------
    Tucker & Boyd 1977, Trans. Am. Fish. Soc. 106:481-488 (from memory).
    """
    for strength in decoloured:
        given(strength, "jar", "mg/L", above=0.0, high=PERMANGANATE_MOST_DEMAND_MG_L)
    if len(decoloured) < 2:
        raise BadInput(
            "The demand test needs at least two jars of different strength.", field="jar"
        )
    gone = [strength for strength, lost in decoloured.items() if lost]
    kept = [strength for strength, lost in decoloured.items() if not lost]
    if not kept:
        raise BadInput(
            f"Every jar lost its colour, up to {figures(max(gone))} mg/L: the demand is higher. "
            "Set up stronger jars, or clean the pond first.",
            field="jar",
        )
    demand, below = max(gone, default=0.0), min(kept)
    if demand > below:
        raise BadInput(
            f"The jar of {figures(demand)} mg/L lost its colour and that of {figures(below)} mg/L "
            "kept it, which cannot be: set the jars up again.",
            field="jar",
        )
    return Demand(
        demand,
        below,
        (
            f"strongest jar without colour after 15 minutes: {figures(demand)} mg/L"
            if gone
            else "no jar lost its colour within 15 minutes"
        )
        + f"; weakest that kept it: {figures(below)} mg/L",
        cite_with_standing("tucker_boyd_1977", "from memory"),
        "from memory",
    )


def permanganate_by_demand(demand_mg_l: float) -> WaterDose:
    """Permanganate for a pond: 2.5 times the 15-minute demand, and 2 mg/L where that is less.

    Parameters
    ----------
    demand_mg_l
        The 15-minute demand, see `permanganate_demand` [mg/L].

    Returns
    -------
    WaterDose
        mg/L of potassium permanganate.

    Raises
    ------
    BadInput
        A demand below zero, or above the 12 mg/L of the published series.

    Examples
    --------
    >>> permanganate_by_demand(3.0).dose_mg_l, permanganate_by_demand(0.0).dose_mg_l
    (7.5, 2.0)

    References
    ----------
    Tucker & Boyd 1977 (from memory); Lazur, UF/IFAS FA032: 2 mg/L in ponds.
    """
    given(demand_mg_l, "demand", "mg/L", low=0.0, high=PERMANGANATE_MOST_DEMAND_MG_L)
    by_demand = PERMANGANATE_FACTOR * demand_mg_l
    dose = max(by_demand, PERMANGANATE_POND_MG_L)
    raised = by_demand > PERMANGANATE_POND_MG_L
    statements = [
        PublishedDose(
            PERMANGANATE_POND_MG_L, PERMANGANATE_POND_MG_L,
            "common rate in ponds, more where organic matter uses it up", "ufifas_fa032",
            "published",
        )
    ]  # fmt: skip
    if demand_mg_l > 0.0:
        statements.append(
            PublishedDose(
                by_demand, by_demand, "by the demand test", "tucker_boyd_1977", "from memory"
            )
        )
    statements.sort(key=lambda one: one.high_mg_l)
    source: tuple[str, Standing] = (
        ("tucker_boyd_1977", "from memory") if raised else ("ufifas_fa032", "published")
    )
    remarks: tuple[str, ...] = (
        "The colour should last 8-12 h and no longer (from memory, Tucker & Boyd): peroxide or "
        "thiosulfate ends it.",
        "It kills algae, and oxygen then falls: air on through the night (UF/IFAS FA032).",
    )
    if raised:
        remarks = (
            f"Most of it goes to mud and leaves: {figures(dose)} mg/L in clean water would be an "
            "overdose. Clean first where that can be done, test again, and give it in parts "
            "(common practice).",
            *remarks,
        )
    return WaterDose(
        dose,
        tuple(statements),
        f"{figures(PERMANGANATE_FACTOR)} × {figures(demand_mg_l)} = {figures(by_demand)} mg/L"
        + ("" if raised else f"; at least {figures(PERMANGANATE_POND_MG_L)} mg/L"),
        cite_with_standing(*source),
        source[1],
        remarks,
    )

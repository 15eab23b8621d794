"""The most of an agent where the pond's own water sets the dose: copper, chloramine-T,
permanganate, salt.
"""

from __future__ import annotations

from dataclasses import dataclass

from store.courses.baths.conditional import (
    CHLORAMINE_T_ROWS,
    WaterDose,
    chloramine_t_by_ph,
    copper_by_alkalinity,
)
from store.courses.baths.permanganate import permanganate_by_demand
from store.courses.planning.course import PondWater, StepWish
from store.errors import BadInput
from store.facts.agent import Route
from store.water.given import figures

MG_IN_G = 1000.0


@dataclass(frozen=True, slots=True)
class WaterMost:
    """The most that the water bears, as weight of product; None where no rule goes by the water."""

    dose_mg_l: float | None
    remarks: tuple[str, ...]


def most_by_water(route: Route, wish: StepWish, water: PondWater) -> WaterMost:
    """The most that a published rule gives for this water.

    Where the reading that the rule needs is missing, or the rule refuses the water, the most is
    that for the water that bears least; the refusal is told.

    Parameters
    ----------
    route
        The published statement that the step follows.
    wish
        The step as wished.
    water
        The pond's water; a holding tank is taken to be filled from it.

    Returns
    -------
    WaterMost
        mg/L of product, and the arithmetic in words.

    Raises
    ------
    BadInput
        The pond already holds as much salt as is published.
    """
    if route.rule == "copper_by_alkalinity":
        if water.alkalinity_mg_l is None:
            return WaterMost(
                route.dose_low,
                ("The alkalinity sets the dose of copper: measure it first. Until then the most is "
                 f"{figures(route.dose_low or 0.0)} mg/L, as for the softest water.",),
            )  # fmt: skip
        try:
            return _of(copper_by_alkalinity(water.alkalinity_mg_l, water.hardness_mg_l))
        except BadInput as refusal:
            return WaterMost(route.dose_low, (refusal.message,))
    if route.rule == "chloramine_t_by_ph":
        least = CHLORAMINE_T_ROWS[0]
        if water.ph is None:
            return WaterMost(
                least[1],
                ("pH and hardness set the dose of chloramine-T: measure them first. Until then the "
                 f"most is {figures(least[1])} mg/L, as for pH {figures(least[0])}.",),
            )  # fmt: skip
        try:
            return _of(chloramine_t_by_ph(water.ph, water.hardness_mg_l))
        except BadInput as refusal:
            return WaterMost(least[1], (refusal.message,))
    if route.rule == "permanganate_by_demand":
        if wish.demand_mg_l is None:
            return WaterMost(
                None,
                ("What the water itself uses up sets the dose of permanganate: do a demand test, "
                 "and plan again with its result.",),
            )  # fmt: skip
        return _of(permanganate_by_demand(wish.demand_mg_l))
    if route.rule == "salt_to_target" and route.code == "pond_bath":
        return _salt(route, water)
    return WaterMost(None, ())


def _of(found: WaterDose) -> WaterMost:
    return WaterMost(
        found.dose_mg_l,
        (f"This water sets the dose: {found.arithmetic} ({found.source}).", *found.remarks),
    )


def _salt(route: Route, water: PondWater) -> WaterMost:
    published_mg_l = route.dose_high * (MG_IN_G if route.unit == "g/L" else 1.0)
    if water.salinity_g_l is None:
        return WaterMost(
            None,
            ("What salt is in the water already is not known: measure it before each dose, for "
             "salt stays when water evaporates.",),
        )  # fmt: skip
    room_mg_l = published_mg_l - water.salinity_g_l * MG_IN_G
    if room_mg_l <= 0.0:
        raise BadInput(
            f"The water holds {figures(water.salinity_g_l)} g/L of salt already, and "
            f"{figures(published_mg_l / MG_IN_G)} g/L is the most that is published for this. "
            "Change water first, or measure again.",
            field="dose",
            title="Salt enough already",
        )
    return WaterMost(
        room_mg_l,
        (
            f"The water holds {figures(water.salinity_g_l)} g/L already: "
            f"{figures(published_mg_l / MG_IN_G)} - {figures(water.salinity_g_l)} = "
            f"{figures(room_mg_l / MG_IN_G)} g/L may be added in all.",
        ),
    )

"""Salt that is to come to a salinity: what goes in first, and what a water change asks for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from store.courses.baths.amount import Amount
from store.courses.baths.salt_target import three_forms
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.limits import MG_IN_G
from store.errors import BadInput
from store.facts.agent import Agent, Route
from store.facts.bathing import bath_rules
from store.facts.sources import cite_with_standing
from store.water.given import figures


@dataclass(frozen=True, slots=True)
class SaltWish:
    """A wish for salt with what it adds: `wish` has the first dose, `later` that of the others.

    Both are what is added [mg/L]; `said` tells it in words.
    """

    wish: StepWish
    later: float
    said: tuple[str, ...]


def salt_wish(wish: StepWish, route: Route, water: PondWater) -> SaltWish:
    """What a wish for salt adds, in the water as it is.

    Parameters
    ----------
    wish
        The step as wished; `to_reach` tells that its dose is a salinity to come to.
    route
        The published statement that it follows.
    water
        The pond's water.

    Returns
    -------
    SaltWish
        Of every other agent, and of salt that is added each time, the dose as it is.

    Raises
    ------
    BadInput
        A salinity to come to while the one that is there is not known, or is as high already; or
        a second dose though no water change takes anything of the first.

    Notes
    -----
    After a water change only what it took of the salt that was given is replaced: what the pond had
    before came with its water, and may come with it again. Each dose is asked anew against the
    salinity that is measured then.
    """
    if route.rule != "salt_to_target" or wish.unit != "mg/L" or wish.volume_l is not None:
        return SaltWish(wish, wish.dose, ())
    present = water.salinity_g_l
    if not wish.to_reach:
        ends = (present or 0.0) + wish.dose * wish.doses / MG_IN_G
        there = "the salt that is there is not known" if present is None else (
            f"with the {figures(present)} g/L that are there"
        )  # fmt: skip
        return SaltWish(
            wish, wish.dose,
            (f"Each dose adds {three_forms(wish.dose / MG_IN_G)}; all of them come to "
             f"{three_forms(ends)}, {there}, if no water is changed.",),
        )  # fmt: skip
    if present is None:
        raise BadInput(
            "What salt is in the water already is not known: measure it first, or choose to add "
            "the dose as it is.",
            field="dose",
        )
    wanted = wish.dose / MG_IN_G
    first = wish.dose - present * MG_IN_G
    if first <= 0.0:
        raise BadInput(
            f"The water holds {figures(present)} g/L of salt already, and {figures(wanted)} g/L is "
            "wanted: there is nothing to add.",
            field="dose",
        )
    share = wish.water_change_percent / 100.0
    if wish.doses > 1 and share == 0.0:
        raise BadInput(
            "Salt stays in the water: without a water change a second dose would add to the first. "
            "Type a water change or one dose, or choose to add the dose each time.",
            field="water change",
        )
    later = first * share
    said = [
        f"Wanted {three_forms(wanted)}: {figures(wanted)} - {figures(present)} = "
        f"{figures(first / MG_IN_G)} g/L go in first."
    ]
    if wish.doses > 1:
        said.append(
            f"Later doses replace only what the water change took of it: "
            f"{figures(first / MG_IN_G)} × {figures(share)} = {figures(later / MG_IN_G)} g/L. The "
            "amount is asked again against the salinity that is measured then."
        )
    return SaltWish(replace(wish, dose=first), later, tuple(said))


def said_beside(agent: Agent, out: Amount) -> tuple[str, ...]:
    """What stands beside every amount: by weight too, that nothing is kept mixed, where it goes.

    Parameters
    ----------
    agent
        What is given.
    out
        The amount of one dose.
    """
    said = []
    if out.out.unit == "mL" and out.mass_g is not None:
        said.append(
            f"{out.out.said} of it weigh {figures(out.mass_g, 3)} g: mL and g are not the same."
        )
    rules = {one.code: one for one in bath_rules()}
    mixed, water = rules["one_agent"], rules["discharge"]
    said.append(
        f"{agent.plain_name.capitalize()}: {mixed.says[:1].lower()}{mixed.says[1:].rstrip('.')} "
        f"({cite_with_standing(mixed.source, mixed.standing)})."
    )
    said.append(
        f"{water.says} Where it may go, local law decides "
        f"({cite_with_standing(water.source, water.standing)})."
    )
    return tuple(said)

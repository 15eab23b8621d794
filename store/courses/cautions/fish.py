"""Cautions about the fish and the people: sensitive species, food, handling, the law."""

from __future__ import annotations

from collections.abc import Sequence

from store.courses.baths.conditional import HARD_FROM_MG_L
from store.courses.cautions.fitting import Look
from store.courses.cautions.said import caution
from store.courses.cautions.sensitive import groups_of, meant
from store.courses.cautions.water import SOFT_ALKALINITY_MG_L
from store.courses.food.withdrawal_due import barred, due
from store.courses.planning.course import Caution, CautionLevel, Plan
from store.facts.agent import LOCAL_LAW
from store.facts.withdrawal import withdrawal_facts
from store.water.given import figures

CARE = "Care"
"""A statement that begins so asks for care; the others say that it is not borne."""


def species_cautions(seen: Look) -> list[Caution]:
    """Fish and other life of the stock list that a publication warns of with this agent.

    Parameters
    ----------
    seen
        The step.
    """
    found = []
    stock = seen.water.species
    for told in seen.agent.species_not:
        if not stock.strip():
            groups = groups_of(told.says)
            if groups:
                found.append(
                    caution(
                        "species_unknown",
                        "mind",
                        f"{seen.name}: what lives in the pond is not written down. Ask for "
                        f"{', '.join(groups)}: {told.says}",
                        "no stock list",
                        told.source,
                        told.standing,
                    )
                )
            continue
        names = meant(told.says, stock, soft=_soft(seen))
        if names:
            level: CautionLevel = "mind" if told.says.startswith(CARE) else "stop"
            found.append(
                caution(
                    "species",
                    level,
                    f"{seen.name}: the stock list names {', '.join(names)}. {told.says}",
                    f"stock list: {stock.strip()[:200]}",
                    told.source,
                    told.standing,
                )
            )
    return found


def _soft(seen: Look) -> bool | None:
    water = seen.water
    if "soft_water" in water.things:
        return True
    if water.alkalinity_mg_l is None and water.hardness_mg_l is None:
        return None
    return (water.alkalinity_mg_l is not None and water.alkalinity_mg_l < SOFT_ALKALINITY_MG_L) or (
        water.hardness_mg_l is not None and water.hardness_mg_l < HARD_FROM_MG_L
    )


def food_cautions(
    plan: Plan, use: str, given_agents: Sequence[str], *, at_dose: bool = False
) -> list[Caution]:
    """Whether the fish may be eaten: asked, never assumed; and agents that bar it for ever.

    Parameters
    ----------
    plan
        The plan.
    use
        What is known of the pond: "ornamental", "food" or "not asked".
    given_agents
        Codes of agents that the pond had before.
    at_dose
        True just before a dose, when the withdrawal has been answered at the start of the course.
    """
    codes = list(dict.fromkeys(one.agent for one in plan.steps))
    found = []
    for bar in barred([*codes, *given_agents]):
        if use == "ornamental":
            said = (
                f"The pond is declared ornamental, and after {bar.substance} it stays so for good."
            )
        elif use == "food":
            said = f"Fish of this pond are food, and {bar.substance} bars them from it for good."
        else:
            said = (
                "Nobody has said whether fish of this pond may be eaten, and after "
                f"{bar.substance} they never may."
            )
        found.append(
            caution(
                f"barred_{bar.code}",
                "mind" if use == "ornamental" else "stop",
                f"{said} {bar.says}",
                "no number of degree-days lifts it",
                bar.source,
                bar.standing,
            )
        )
    level: CautionLevel = "mind" if at_dose else "stop"
    if use == "food":
        least = due(True)
        found.append(
            caution(
                "food",
                level,
                "Fish of this pond are food: write down the withdrawal period, from the label or "
                f"by the law for use outside it. {_labels(codes)}Where the product is not "
                "authorised for any animal that gives food it is at least "
                f"{figures(least.degree_days or 0.0)} degree-days after the last dose. {LOCAL_LAW}",
                least.arithmetic + _days(plan, least.degree_days),
                least.source,
                least.standing,
            )
        )
    elif use == "ornamental":
        if not at_dose:
            none = due(False)
            found.append(
                caution("ornamental", "mind", " ".join(none.remarks), none.arithmetic,
                        none.source, none.standing)
            )  # fmt: skip
    else:
        found.append(
            caution(
                "food_not_asked",
                level,
                "Say whether fish of this pond may be eaten. Koi are carp, which is food: a pond "
                "that is not declared ornamental counts as food fish. It is asked and never "
                "assumed.",
                "no declaration is written down",
            )
        )
    return found


def _labels(codes: Sequence[str]) -> str:
    labels = [
        f"{one.product}, {one.species}: {figures(one.days)} d"
        for code in codes
        for one in withdrawal_facts().labels.values()
        if one.code == code or one.code.startswith(f"{code}_")
    ]
    return f"Labels on record: {'; '.join(labels)}. " if labels else ""


def _days(plan: Plan, degree_days: float | None) -> str:
    temp_c = plan.water.temperature_c
    if temp_c is None or temp_c <= 0.0 or degree_days is None:
        return ""
    return (
        f"; at {figures(temp_c)} °C throughout {figures(degree_days)} / {figures(temp_c)} = "
        f"{figures(degree_days / temp_c, 3)} days"
    )


def people_cautions(plan: Plan, codes: Sequence[str], *, law: bool = True) -> list[Caution]:
    """What protects the people who handle the agents, and where the law is named.

    Parameters
    ----------
    plan
        The plan.
    codes
        Codes of the agents.
    law
        Whether the legal statements are told too.
    """
    found = []
    for code in dict.fromkeys(codes):
        agent = plan.formulary[code]
        name = agent.plain_name[:1].upper() + agent.plain_name[1:]
        if agent.handling:
            found.append(
                caution(
                    f"handling_{code}",
                    "mind",
                    f"{name}, for people: {' '.join(agent.handling)}",
                    source=agent.source,
                    standing=agent.standing,
                )
            )
        if law:
            found += [
                caution(f"law_{code}", "mind", f"{name}: {told.says} {LOCAL_LAW}",
                        source=told.source, standing=told.standing)
                for told in agent.legal
            ]  # fmt: skip
    if law and plan.steps and not any(one.code.startswith("law_") for one in found):
        found.append(caution("law", "mind", LOCAL_LAW))
    return found

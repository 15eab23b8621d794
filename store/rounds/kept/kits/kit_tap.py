"""Dechlorinator for a water change: for the water that is added, by what the tap holds."""

from __future__ import annotations

from collections.abc import Mapping

from store.book.ponds import PondCard
from store.courses.baths.dechlorination import thiosulfate
from store.courses.baths.weighing import measured
from store.courses.kept.course_page import DoseLine
from store.courses.planning.course import Product
from store.facts.agent import Agent
from store.facts.numbers import Number
from store.rounds.kit.values import Portion
from store.water.given import figures

DECHLORINATOR = "sodium_thiosulfate"
_TREATED = "carbon"
_BOUND = "dechlor"
_MAINS = ("mains", "tap", "town", "city", "chlor")
LOOSE = "Weighed at the pond, for the water that is added, by the test at the tap."


def comes_chlorinated(found: PondCard) -> bool:
    """Whether chlorine may come in with the water that is added; what is not known is prepared for.

    Parameters
    ----------
    found
        The pond with its site.
    """
    source = found.pond.source_water.casefold()
    supply = found.site.water_supply.casefold()
    if _TREATED in source:
        return False
    text = source or supply
    return not text or any(word in text for word in _MAINS)


def tap_portion(
    line: DoseLine,
    found: PondCard,
    dose: Portion,
    formulary: Mapping[str, Agent],
    tap_chlorine: Number,
) -> Portion | None:
    """Thiosulfate for the water change of a dose; None where no chlorine comes in.

    Parameters
    ----------
    line
        The dose with its water change.
    found
        The pond with its site.
    dose
        Its portion.
    formulary
        Agents by code.
    tap_chlorine
        What is taken for the chlorine of the tap, for packing alone [mg/L].
    """
    agent = formulary.get(DECHLORINATOR)
    litres = line.step.volume_l * line.planned.water_change_percent / 100.0
    if agent is None or litres <= 0.0 or not comes_chlorinated(found):
        return None
    supply = f"{found.site.water_supply} {found.pond.source_water}".casefold()
    made = thiosulfate(tap_chlorine.value, litres, chloramine="chloramine" in supply)
    out = measured(made.grams, "g")
    remarks = list(made.remarks)
    if _BOUND in supply:
        remarks.insert(0, "It is said to be dechlorinated: ask by whom, and test it.")
    if not supply.strip():
        remarks.insert(0, "Where its water comes from is not entered.")
    return Portion(
        key=f"tap:{dose.key}",
        agent=DECHLORINATOR,
        name=agent.plain_name,
        product=Product(),
        amount=out.measured,
        unit="g",
        pond_id=dose.pond_id,
        pond=dose.pond,
        stop=dose.stop,
        dose=f"for a change of {figures(line.planned.water_change_percent)} % of the water",
        said=(
            f"{figures(line.planned.water_change_percent)} % of {figures(line.step.volume_l)} L "
            f"are {figures(litres)} L: {made.arithmetic}, weighed as {out.said}"
        ),
        rests_on=f"{made.source}; {figures(tap_chlorine.value)} mg/L of chlorine are taken where "
        "nobody has measured the tap, common practice",
        remarks=tuple(remarks),
        loose=LOOSE,
    )

"""The oxygen that an agent itself takes from the water, reckoned through before it is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from store.errors import BadInput
from store.facts.agents import agent_by_code
from store.facts.entry import Standing
from store.facts.sources import cite, cite_with_standing
from store.water.given import figures, given, given_temperature

STRESS_MG_L = 3.0
"""Below it fish suffer, below 2 mg/L some species die (Texas A&M AgriLife Extension) [mg/L]."""
GOOD_MG_L = 5.0
"""The least for koi and goldfish (Jepson 2001) [mg/L]."""
WARM_FROM_C = 24.0
"""From here the ponds of Rowland 2006 lost more than the rule says [°C]."""


@dataclass(frozen=True, slots=True)
class OxygenTakenByDose:
    """What a dose takes and leaves, before fish, plants and mud have breathed.

    `level` is "stop" where the pond begins under the published least or would end under 3 mg/L,
    "mind" where it would end under 5 mg/L, else "". `left_mg_l` is never below zero.
    """

    taken_mg_l: float
    left_mg_l: float
    low_h: float
    high_h: float
    level: Literal["stop", "mind", ""]
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def oxygen_taken(
    code: str, dose_mg_l: float, oxygen_mg_l: float, temperature_c: float | None = None
) -> OxygenTakenByDose:
    """The oxygen that a dose takes out of the water, and what it leaves.

    Formalin: 1 mg/L of oxygen for each 5 mg/L, within 30-36 hours.

    Parameters
    ----------
    code
        Code of an agent that takes oxygen, such as "formalin".
    dose_mg_l
        The dose, counted as the publication counts it: formalin as the 37 % product [mg/L].
    oxygen_mg_l
        Oxygen in the water before the dose [mg/L].
    temperature_c
        Water temperature [°C]; None where it is not known.

    Returns
    -------
    OxygenTakenByDose
        Oxygen taken and left [mg/L], and within how long [h].

    Raises
    ------
    BadInput
        A number that cannot exist, or an agent of which no such figure is published.
    NotFound
        There is no agent by that code.

    Notes
    -----
    The rule is for the agent alone. In green ponds of 24-27 °C 30 mg/L took oxygen from 10.1-11.9
    to 3.0-3.3 mg/L, where the rule says 6 mg/L (Rowland 2006).

    Examples
    --------
    >>> answer = oxygen_taken("formalin", 20.0, 5.0, 27.0)
    >>> answer.taken_mg_l, answer.left_mg_l, answer.level
    (4.0, 1.0, 'stop')

    References
    ----------
    Piper et al. 1982, Fish Hatchery Management, p. 276; Francis-Floyd, UF/IFAS VM-77.
    """
    agent = agent_by_code(code)
    given(dose_mg_l, "dose", "mg/L", above=0.0, high=1e5)
    given(oxygen_mg_l, "oxygen", "mg/L", low=0.0, high=60.0)
    if temperature_c is not None:
        given_temperature(temperature_c)
    rule = agent.oxygen_taken
    if rule is None:
        raise BadInput(
            f"How much oxygen {agent.plain_name} takes is not published. Air the pond, and measure "
            "the oxygen at dawn.",
            field="agent",
        )
    taken = dose_mg_l * rule.mg_per_mg
    left = max(0.0, oxygen_mg_l - taken)
    least = max((one.least_oxygen_mg_l or 0.0 for one in agent.routes), default=0.0)
    remarks: list[str] = []
    level: Literal["stop", "mind", ""] = ""
    if oxygen_mg_l < least:
        level = "stop"
        remarks.append(
            f"Not with less than {figures(least)} mg/L of oxygen ({cite('merck_2019')})."
        )
    if left < STRESS_MG_L:
        level = "stop"
        remarks.append(
            f"{figures(left)} mg/L would be left: below {figures(STRESS_MG_L)} mg/L fish suffer, "
            f"below 2 mg/L some die ({cite('aquaplant_tamu')})."
        )
    elif left < GOOD_MG_L:
        level = level or "mind"
        remarks.append(
            f"{figures(left)} mg/L would be left; koi and goldfish want {figures(GOOD_MG_L)} mg/L "
            f"or more ({cite('jepson_2001')})."
        )
    remarks.append(
        "Fish, plants and mud breathe besides: air strongly, and measure at dawn for two days."
    )
    if temperature_c is None or temperature_c >= WARM_FROM_C:
        remarks.append(
            "In green ponds of 24-27 °C 30 mg/L of formalin brought oxygen from 10.1-11.9 down to "
            f"3.0-3.3 mg/L, more than this rule says ({cite('rowland_2006')})."
        )
    per = 1.0 / rule.mg_per_mg
    return OxygenTakenByDose(
        taken,
        left,
        rule.low_h,
        rule.high_h,
        level,
        f"{figures(dose_mg_l)} mg/L / {figures(per)} = {figures(taken)} mg/L oxygen within "
        f"{figures(rule.low_h)}-{figures(rule.high_h)} h; {figures(oxygen_mg_l)} - "
        f"{figures(taken)} = {figures(oxygen_mg_l - taken)} mg/L",
        cite_with_standing(rule.source, rule.standing),
        rule.standing,
        tuple(remarks),
    )

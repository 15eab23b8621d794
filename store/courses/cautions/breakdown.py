"""Cautions about what an organophosphate turns into, and the hour at which it is given."""

from __future__ import annotations

from store.courses.baths.half_life import trichlorfon_bounds, trichlorfon_half_life
from store.courses.cautions.fitting import Look
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution
from store.errors import BadInput
from store.facts.entry import Standing
from store.water.given import figures, said_minutes

PH_WITHIN_H = 2.0
"""Before an organophosphate the pH is measured within so many hours; common practice [h]."""
ALKALINE_PH = 8.0
"""From here an organophosphate breaks down within hours in warm water; see the half-lives."""
FAST_H = 24.0
"""A half-life under a day is said with a warning; common practice [h]."""
ORGANOPHOSPHATE = "organophosphate"


def breakdown_cautions(seen: Look, *, at_dose: bool) -> list[Caution]:
    """An organophosphate: how fast it turns into something worse, and the hour to give it.

    Parameters
    ----------
    seen
        The step.
    at_dose
        True just before a dose.
    """
    if seen.agent.family != ORGANOPHOSPHATE:
        return []
    water = seen.water
    worse = next((one for one in seen.agent.interactions if one.code == "high_ph"), None)
    found: list[Caution] = []
    if water.ph is not None and water.temperature_c is not None:
        says, arithmetic, source, standing, fast = _how_fast(seen, water.ph, water.temperature_c)
        if not source and worse is not None:  # nothing published bounds it there
            source, standing = worse.source, worse.standing
        if fast:
            why = f" {worse.why}" if worse is not None else ""
            found.append(
                caution(
                    "breaks_down",
                    "mind",
                    f"{seen.name}: at pH {figures(water.ph)} and {figures(water.temperature_c)} °C "
                    f"{says}{why} Give it early in the morning, when pH and temperature are "
                    "lowest; never a larger dose to make up for it; and do not count on it "
                    "lasting until the next one.",
                    arithmetic,
                    source,
                    standing,
                )
            )
    age_h = None if water.age_days is None else water.age_days * 24.0
    late = water.ph is not None and (age_h is None or age_h > PH_WITHIN_H)
    if late or water.ph is None or not at_dose:
        age = (
            "" if age_h is None or water.ph is None
            else f" The readings are {said_minutes(age_h * 60.0)} old."
        )  # fmt: skip
        found.append(
            caution(
                "ph_hour",
                "mind",
                f"{seen.name}: early in the morning, with the pH measured within "
                f"{figures(PH_WITHIN_H)} h before each dose.{age}",
                "" if water.ph is None else f"pH {figures(water.ph)}",
            )
        )
    return found


def _how_fast(seen: Look, ph: float, temp_c: float) -> tuple[str, str, str, Standing, bool]:
    if seen.agent.code != "trichlorfon":
        says = "how fast it breaks down is not in the formulary."
        return says, "", seen.agent.source, seen.agent.standing, ph >= ALKALINE_PH
    bounds = trichlorfon_bounds(ph, temp_c)
    try:
        answer = trichlorfon_half_life(ph, temp_c)
    except BadInput:
        fast = ph >= ALKALINE_PH or (bounds.high_h is not None and bounds.high_h < FAST_H)
        points = "; ".join(
            f"{one.printed} at pH {figures(one.ph)}, {figures(one.temp_c)} °C"
            for one in bounds.points
        )
        return (
            "no half-life can be given between published points. " + bounds.says,
            points,
            bounds.source,
            bounds.standing,
            fast,
        )
    worse = " ".join(one for one in answer.remarks if "dichlorvos" in one)
    return (
        f"half of it is gone within about {said_minutes(answer.half_life_h * 60.0)}.",
        f"{answer.arithmetic}. {worse}".strip(),
        answer.source,
        answer.standing,
        answer.half_life_h < FAST_H or ph >= ALKALINE_PH,
    )

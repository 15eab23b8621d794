"""Cautions about readings: those that a dose rests on, and that are missing or too old."""

from __future__ import annotations

from store.courses.cautions.breakdown import ORGANOPHOSPHATE
from store.courses.cautions.fitting import Look
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution, CautionLevel
from store.water.given import figures, said_minutes

PLAN_OLD_DAYS = 3.0
"""Readings that a course is planned on should not be older; common practice [d]."""
DOSE_OLD_DAYS = 1.0
"""Nor those before a dose: pH and oxygen swing within the day; common practice [d]."""


def _needed(seen: Look) -> list[tuple[str, float | None, str, bool]]:
    """Readings that the step rests on: name, reading, why, and whether the dose itself does."""
    water, agent, routes = seen.water, seen.agent, seen.routes
    rules = {one.rule for one in routes}
    codes = {one.code for one in agent.interactions}
    phosphate = agent.family == ORGANOPHOSPHATE
    found = []
    if agent.oxygen_taken or "low_oxygen" in codes or any(one.least_oxygen_mg_l for one in routes):
        why = "it takes oxygen" if agent.oxygen_taken else "oxygen falls after it"
        found.append(("oxygen", water.oxygen_mg_l, why, False))
    warm = any(one.temp_low_c is not None or one.temp_high_c is not None for one in routes)
    if warm or phosphate or agent.oxygen_taken:
        found.append(("temperature", water.temperature_c, "it has limits of temperature", False))
    by_ph = "chloramine_t_by_ph" in rules
    if phosphate or by_ph or any(one.ph_low or one.ph_high for one in routes):
        why = "the dose follows it" if by_ph else "a high pH turns it into something worse"
        found.append(("pH", water.ph, why, by_ph))
    by_alkalinity = "copper_by_alkalinity" in rules
    if by_alkalinity or any(one.alkalinity_low_mg_l for one in routes):
        found.append(("alkalinity", water.alkalinity_mg_l, "the dose follows it", by_alkalinity))
    if "salt_to_target" in rules and seen.in_pond:
        found.append(("salinity", water.salinity_g_l, "salt stays in the water", True))
    return found


def reading_cautions(seen: Look, *, at_dose: bool) -> list[Caution]:
    """Readings that a step rests on and that are missing or old.

    Parameters
    ----------
    seen
        The step.
    at_dose
        True just before a dose: then a reading that is missing stops it.
    """
    needed = _needed(seen)
    first = seen.routes[0]
    found = []
    for name, reading, why, dose_rests in needed:
        if reading is None:
            level: CautionLevel = "stop" if at_dose or dose_rests else "mind"
            found.append(
                caution(
                    f"missing_{name.lower()}",
                    level,
                    f"{seen.name}: the {name} is not known, and {why}. Measure it before the dose.",
                    "no reading",
                    first.source,
                    first.standing,
                )
            )
    if not any(reading is not None for _, reading, _, _ in needed):
        return found
    limit = DOSE_OLD_DAYS if at_dose else PLAN_OLD_DAYS
    age = seen.water.age_days
    if age is None:
        found.append(
            caution(
                "age_unknown",
                "mind",
                f"{seen.name}: how old the readings are is not known. Measure anew.",
                f"should be at most {said_minutes(limit * 1440.0)} old",
            )
        )
    elif age > limit:
        found.append(
            caution(
                "old_readings",
                "mind",
                f"{seen.name}: the oldest of the readings was taken "
                f"{said_minutes(age * 1440.0)} ago. Measure anew: pH and oxygen swing within a "
                "day.",
                f"{figures(age)} d, should be at most {figures(limit)} d",
            )
        )
    return found

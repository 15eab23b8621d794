"""Cautions about the volume: what a dose comes to where the water is more or less than planned."""

from __future__ import annotations

from store.courses.cautions.dose import DEVIATION, SLACK, highest_allowed
from store.courses.cautions.fitting import Bound, Look, backed
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution, PlannedDose
from store.facts.entry import Standing
from store.water.given import figures

SURE_WITHIN = 0.20
"""How far the volume may be out before numbers are shown at both ends; common practice [-]."""


def volume_cautions(seen: Look, dose: PlannedDose | None = None) -> list[Caution]:
    """What the dose comes to at both ends of the volume, where that is not sure.

    Parameters
    ----------
    seen
        The step.
    dose
        The dose that is due; None for the highest of the step.
    """
    if not seen.is_bath or not seen.in_pond:
        return []
    water, step = seen.water, seen.step
    highest = highest_allowed(seen, at_dose=dose is not None)
    asked = max(seen.doses) if dose is None else dose.dose
    amount = dose if dose is not None else max(step.doses, key=lambda one: one.dose, default=None)
    found = []
    if abs(step.volume_l / water.volume_l - 1.0) > DEVIATION:
        real = asked * step.volume_l / water.volume_l
        over = highest is not None and real > highest.value * SLACK
        found.append(
            caution(
                "volume_changed",
                "stop" if over else "mind",
                f"{seen.name}: the amount is for {figures(step.volume_l)} L, and the pond has "
                f"{figures(water.volume_l)} L now: it would come to {figures(real)} {seen.unit}"
                + _over(highest, seen, over=over),
                f"{figures(asked)} {seen.unit} × {figures(step.volume_l)} L / "
                f"{figures(water.volume_l)} L = {figures(real)} {seen.unit}",
                *_of(highest, over=over),
            )
        )
    wide = (
        water.volume_high_l / water.volume_l - 1.0 > SURE_WITHIN * SLACK
        or 1.0 - water.volume_low_l / water.volume_l > SURE_WITHIN * SLACK
    )
    if wide:
        most = asked * step.volume_l / water.volume_low_l
        least = asked * step.volume_l / water.volume_high_l
        over = highest is not None and most > highest.value * SLACK
        weighed = ""
        if amount is not None:
            share = water.volume_low_l / step.volume_l
            weighed = (
                f"; {figures(amount.amount)} {amount.amount_unit} × "
                f"{figures(share)} = {figures(amount.amount * share)} {amount.amount_unit} for the "
                "least volume"
            )
        found.append(
            caution(
                "volume_unsure",
                "stop" if over else "mind",
                f"{seen.name}: the volume is not sure. In {figures(water.volume_low_l)} L the "
                f"amount makes {figures(most)} {seen.unit}, in {figures(water.volume_high_l)} L "
                f"{figures(least)} {seen.unit}" + _over(highest, seen, over=over),
                f"{figures(asked)} × {figures(step.volume_l)} / {figures(water.volume_low_l)} = "
                f"{figures(most)}; / {figures(water.volume_high_l)} = {figures(least)} "
                f"{seen.unit}{weighed}",
                *_of(highest, over=over),
            )
        )
    return found


def _over(highest: Bound | None, seen: Look, *, over: bool) -> str:
    if not over or highest is None:
        return ". Measure the volume again before it is given."
    return (
        f", above the {figures(highest.value)} {seen.unit} that is the most ({highest.says}). "
        "Measure the volume, or give the amount for the least."
    )


def _of(highest: Bound | None, *, over: bool) -> tuple[str, Standing]:
    if over and highest is not None:
        return backed(highest.source, highest.standing), highest.standing
    return "common_practice", "common practice"

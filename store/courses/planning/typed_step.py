"""The texts of one step of a course, understood: each fault is told at its field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import get_args

from store.courses.baths.weighing import refuse_household
from store.courses.planning.course import Basis, Product, Share, StepWish
from store.courses.planning.route import FRESH
from store.errors import BadInput
from store.text import plain
from store.water.measures import quantity, spelt, to_litres, unknown_unit

SALT_AGENT = "salt"
POND_BATH = "pond_bath"

_DOSE: Mapping[str, tuple[str, float]] = {
    "mg/l": ("mg/L", 1.0), "g/m3": ("mg/L", 1.0), "g/l": ("mg/L", 1000.0), "ug/l": ("mg/L", 1e-3),
    "ul/l": ("uL/L", 1.0), "ml/m3": ("uL/L", 1.0), "ml/l": ("uL/L", 1000.0),
}  # fmt: skip
_SALT_DOSE: Mapping[str, tuple[str, float]] = {
    "%": ("mg/L", 10_000.0), "percent": ("mg/L", 10_000.0), "ppt": ("mg/L", 1000.0),
    "‰": ("mg/L", 1000.0), "kg/m3": ("mg/L", 1000.0),
}  # fmt: skip
"""Of salt alone: 0.3 % is 3 g in a litre, 3 ppt as much."""
_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0}
_HOURS = {"h": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "minutes": 1 / 60, "d": 24.0,
          "day": 24.0, "days": 24.0}  # fmt: skip
_PERCENT = {"": 1.0, "%": 1.0, "percent": 1.0}
_DENSITY = {"": 1.0, "g/ml": 1.0, "kg/l": 1.0, "g/cm3": 1.0}


@dataclass(frozen=True, slots=True)
class TypedStep:
    """The texts of one step; `by` is who types, empty where that is not known yet."""

    texts: Mapping[str, str]
    place: int
    by: str = ""

    def text(self, name: str) -> str:
        """What stands in a field, without blanks around it."""
        return text_of(self.texts, f"{self.place}.{name}")

    def bad(self, name: str, says: str) -> BadInput:
        """A fault at a field of this step."""
        step = f"Step {self.place}: " if self.place > 1 else ""
        return BadInput(f"{step}{says}", field=f"{self.place}.{name}")

    def typed(self, name: str, called: str) -> tuple[float, str] | None:
        """Number and unit, None where nothing stands there."""
        text = self.text(name)
        if not text:
            return None
        try:
            refuse_household(text)
            return quantity(text, called)
        except BadInput as trouble:
            raise self.bad(name, trouble.message) from trouble

    def number(self, name: str, called: str, units: Mapping[str, float]) -> float | None:
        """The number in the unit that `units` count in."""
        found = self.typed(name, called)
        if found is None:
            return None
        factor = units.get(spelt(found[1]))
        if factor is None:
            shown = tuple(dict.fromkeys(unit for unit in units if unit))
            raise self.bad(name, unknown_unit(called, found[1], shown).message)
        return found[0] * factor

    def whole(self, name: str, called: str, units: Mapping[str, float]) -> int | None:
        """A whole number, in the unit that `units` count in."""
        value = self.number(name, called, units)
        if value is None:
            return None
        if value != int(value):
            raise self.bad(name, f"The {called} must be a whole number.")
        return int(value)


def text_of(texts: Mapping[str, str], name: str) -> str:
    """What stands in a field, harmless and without blanks around it.

    Parameters
    ----------
    texts
        As typed, by name.
    name
        Of the field.
    """
    return plain(texts.get(name, "")).strip()


def step_wish(step: TypedStep) -> StepWish:
    """What is wished for one step.

    Parameters
    ----------
    step
        Its texts.

    Returns
    -------
    StepWish
        As `store.courses.planning.plan.plan_course` takes it.

    Raises
    ------
    BadInput
        What is missing or cannot be understood, at its field.
    """
    if not step.text("agent"):
        raise step.bad("agent", "Choose what is given.")
    if not step.text("route"):
        raise step.bad("route", "Choose how it is given.")
    dose, unit = _dose(step)
    wish = StepWish(
        agent=step.text("agent"),
        route=step.text("route"),
        dose=dose,
        unit=unit,
        product=_product(step),
        exposure_h=step.number("exposure", "time of the bath", _HOURS),
        demand_mg_l=step.number("demand", "demand", {"": 1.0, "mg/l": 1.0}),
        interval_days=step.whole("interval", "interval", _DAYS),
        water_change_percent=step.number("change", "water change", _PERCENT) or 0.0,
        change_before_first=step.text("change_first") == "yes",
        to_reach=step.text("agent") == SALT_AGENT
        and step.text("route") == POND_BATH
        and step.text("salt") != "add",
    )
    doses = step.whole("doses", "number of doses", {"": 1.0, "doses": 1.0, "x": 1.0, "×": 1.0})
    gap = step.whole("gap", "days after the step before", _DAYS)
    half_life_h, half_life_why = _half_life(step)
    wish = replace(wish, half_life_h=half_life_h, half_life_why=half_life_why)
    for share in get_args(Share):
        if share == step.text("share"):
            wish = replace(wish, share=share)
    if doses is not None:
        wish = replace(wish, doses=doses)
    if gap is not None:
        wish = replace(wish, gap_days=gap)
    if wish.route in FRESH:
        wish = replace(wish, volume_l=_tank_l(step))
    return wish


def _dose(step: TypedStep) -> tuple[float, str]:
    found = step.typed("dose", "dose")
    if found is None:
        raise step.bad("dose", "How much? Type the dose with its unit, such as 0.25 mg/L.")
    unit = spelt(found[1])
    known = _DOSE
    if step.text("agent") == SALT_AGENT:
        known = {**_DOSE, **_SALT_DOSE}
    elif unit in _SALT_DOSE:
        raise step.bad(
            "dose", f"“{found[1]}” is said of salt alone; of all else it can be meant in three "
            "ways. Type mg/L, g/L or µL/L.",
        )  # fmt: skip
    if unit == "ppm":
        raise step.bad("dose", "ppm can be by weight or by volume: type mg/L or µL/L.")
    if unit not in known:
        says = f"“{found[1]}” is not" if found[1] else "Without a unit it is not"
        raise step.bad("dose", f"{says} a dose of a bath: type mg/L, g/L, µL/L or mL/m3.")
    name, factor = known[unit]
    return found[0] * factor, name


def _product(step: TypedStep) -> Product:
    strength = step.number("strength", "strength", _PERCENT)
    density = step.number("density", "density", _DENSITY)
    basis = step.text("basis")
    product = Product(step.text("product"), 100.0 if strength is None else strength,
                      density_g_ml=density)  # fmt: skip
    for known in get_args(Basis):
        if known == basis:
            return replace(product, basis=known)
    if strength is not None and strength != 100.0:
        raise step.bad(
            "basis", "The strength is known: say whether it is by weight, by volume, or whether "
            "the dose is of the product itself.",
        )  # fmt: skip
    return product


def _half_life(step: TypedStep) -> tuple[float | None, str]:
    """A half-life that somebody types stands with its name and with where it is from."""
    hours = step.number("half_life", "half-life", {"": 1.0, **_HOURS})
    if hours is None:
        return None, ""
    source = step.text("half_life_from")
    if not source:
        raise step.bad(
            "half_life_from", "Where is this half-life from? Type the label, the paper or who "
            "measured it; or leave the half-life empty.",
        )  # fmt: skip
    return hours, f"typed by {step.by}, from {source}" if step.by else f"as typed, from {source}"


def _tank_l(step: TypedStep) -> float | None:
    found = step.typed("volume", "volume")
    if found is None:
        return None
    if not found[1]:
        raise step.bad("volume", "In which unit? Type it as 200 L, 1.5 m3 or 50 USgal.")
    try:
        return to_litres(*found)
    except BadInput as trouble:
        raise step.bad("volume", trouble.message) from trouble

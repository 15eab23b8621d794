"""What a vet types for a course, understood: texts to wishes, each fault told at its field.

Texts come under the names of `GENERAL`, and for each step under its place and a name of `OF_STEP`,
such as `2.dose`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import get_args

from store.courses.planning.course import Basis, Product, Share, StepWish
from store.courses.planning.plan import BadStep
from store.courses.planning.route import BATHS, FRESH
from store.errors import BadInput
from store.facts.agent import ROUTES, Agent, Route
from store.facts.agents import agents
from store.facts.hazards import hazards
from store.text import plain
from store.water.given import figures
from store.water.measures import quantity, spelt, to_litres, unknown_unit

MOST_STEPS = 2
"""So many agents one after another are asked for; more are another course [count]."""
GENERAL = ("hazard", "other_hazard", "reason", "first_day", "note")
OF_STEP = (
    "agent", "route", "dose", "doses", "interval", "change", "change_first", "product", "strength",
    "basis", "density", "exposure", "volume", "demand", "share", "gap",
)  # fmt: skip
BASES: Mapping[Basis, str] = {
    "product": "product, as it comes",
    "w/w": "active, % by weight",
    "w/v": "active, g in 100 mL",
}
"""Of what the dose is an amount, and how the strength is told."""
SHARES: Mapping[Share, str] = {"practice": "the practice", "owner": "the owner"}

_FIELDS = {
    "unit": "dose", "water change": "change", "hazards": "hazard", "first day": "first_day",
    "least volume": "volume", "greatest volume": "volume",
}  # fmt: skip
_DOSE: Mapping[str, tuple[str, float]] = {
    "mg/l": ("mg/L", 1.0), "g/m3": ("mg/L", 1.0), "g/l": ("mg/L", 1000.0), "ug/l": ("mg/L", 1e-3),
    "ul/l": ("uL/L", 1.0), "ml/m3": ("uL/L", 1.0), "ml/l": ("uL/L", 1000.0),
}  # fmt: skip
_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0}
_HOURS = {"h": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "minutes": 1 / 60, "d": 24.0,
          "day": 24.0, "days": 24.0}  # fmt: skip
_PERCENT = {"": 1.0, "%": 1.0, "percent": 1.0}
_DENSITY = {"": 1.0, "g/ml": 1.0, "kg/l": 1.0, "g/cm3": 1.0}


@dataclass(frozen=True, slots=True)
class Wished:
    """What was typed, understood; ready for `store.courses.planning.plan.plan_course`."""

    wishes: tuple[StepWish, ...]
    hazards: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Published:
    """What the formulary says of an agent and a route, for the hints of a form."""

    routes: tuple[str, ...]
    dose: str
    product: str
    exposure: str
    every: str
    by_demand: bool
    in_tank: bool
    of_product: bool


def bath_agents() -> tuple[tuple[str, str], ...]:
    """The agents that have a bath published: code and plain name, by name."""
    found = [
        (code, one.plain_name)
        for code, one in agents().items()
        if any(route.code in BATHS for route in one.routes)
    ]
    return tuple(sorted(found, key=lambda pair: pair[1].casefold()))


def bath_routes() -> tuple[tuple[str, str], ...]:
    """The routes of a bath: code and words."""
    return tuple((code, ROUTES[code]) for code in BATHS)


def published(agent_code: str, route_code: str) -> Published | None:
    """What is published for an agent given by a route.

    Parameters
    ----------
    agent_code
        Code of the agent.
    route_code
        Code of the route, or empty: then that of the agent's first bath.

    Returns
    -------
    Published or None
        None for an agent that is not in the formulary or has no such bath.
    """
    agent = agents().get(agent_code)
    if agent is None:
        return None
    baths = [one for one in agent.routes if one.code in BATHS]
    codes = tuple(dict.fromkeys(one.code for one in baths))
    found = [one for one in baths if one.code == (route_code or next(iter(codes), ""))]
    if not found:
        return Published(codes, "", "", "", "", by_demand=False, in_tank=False, of_product=False)
    hours = sorted({one.exposure_h for one in found if one.exposure_h is not None})
    every = next((one.repeat_days for one in found if one.repeat_days is not None), None)
    return Published(
        routes=codes,
        dose="; ".join(dict.fromkeys(_said_dose(one) for one in found)),
        product=_said_forms(agent),
        exposure=", ".join(f"{figures(one, 2)} h" for one in hours),
        every="" if every is None else _span(*every, "d"),
        by_demand=any(one.rule == "permanganate_by_demand" for one in found),
        in_tank=found[0].code in FRESH,
        of_product=all(one.basis == "product" for one in found),
    )


def _said_dose(route: Route) -> str:
    basis = {"product": " (product)", "active": " (active)"}.get(route.basis, "")
    unit = route.unit.replace("uL", "µL")
    if route.dose_low is None:
        said = f"up to {figures(route.dose_high)} {unit}"
    else:
        said = _span(route.dose_low, route.dose_high, unit)
    return f"{said}{basis}"


def _span(low: float, high: float, unit: str) -> str:
    return f"{figures(low)} {unit}" if low == high else f"{figures(low)}–{figures(high)} {unit}"


def _said_forms(agent: Agent) -> str:
    said = []
    for one in agent.forms:
        if one.active_percent is not None:
            said.append(f"{figures(one.active_percent)} %")
        if one.density_g_ml is not None:
            said.append(f"{figures(one.density_g_ml)} g/mL")
    return ", ".join(said)


def wished(texts: Mapping[str, str], steps: int) -> Wished:
    """The wishes in the texts of a form.

    Parameters
    ----------
    texts
        As typed, by name.
    steps
        How many steps the form shows.

    Returns
    -------
    Wished
        Without a reason in words, the hazards are the reason.

    Raises
    ------
    BadInput
        A text that is missing or cannot be understood, at its field.

    Examples
    --------
    >>> texts = {"hazard": "costia", "1.agent": "formalin", "1.route": "pond_bath",
    ...          "1.dose": "20 µL/L", "1.doses": "1", "1.basis": "product"}
    >>> wish = wished(texts, 1).wishes[0]
    >>> wish.dose, wish.unit, wish.doses, wish.interval_days
    (20.0, 'uL/L', 1, None)
    """
    found = tuple(
        dict.fromkeys(code for name in ("hazard", "other_hazard") if (code := _text(texts, name)))
    )
    reason = _text(texts, "reason")
    wishes = tuple(_wish(_Step(texts, place)) for place in range(1, steps + 1))
    if not found and not reason:
        raise BadInput(
            "Say why the course is given: a hazard that was found, or a reason in words.",
            field="reason",
        )
    if not reason:
        reason = ", ".join(hazards()[code].plain_name for code in found if code in hazards())
    return Wished(wishes, found, reason)


def at_field(trouble: BadInput) -> BadInput:
    """The same sentence under the name that the field has in the form.

    Parameters
    ----------
    trouble
        From `wished`, `plan_course` or the book.
    """
    name = trouble.field or ""
    name = _FIELDS.get(name, name)
    if name in OF_STEP:
        place = trouble.place if isinstance(trouble, BadStep) else 1
        name = f"{place}.{name}"
    return BadInput(trouble.message, field=name, title=trouble.title)


@dataclass(frozen=True, slots=True)
class _Step:
    """The texts of one step."""

    texts: Mapping[str, str]
    place: int

    def text(self, name: str) -> str:
        return _text(self.texts, f"{self.place}.{name}")

    def bad(self, name: str, says: str) -> BadInput:
        step = f"Step {self.place}: " if self.place > 1 else ""
        return BadInput(f"{step}{says}", field=f"{self.place}.{name}")

    def typed(self, name: str, called: str) -> tuple[float, str] | None:
        text = self.text(name)
        if not text:
            return None
        try:
            return quantity(text, called)
        except BadInput as trouble:
            raise self.bad(name, trouble.message) from trouble

    def number(self, name: str, called: str, units: Mapping[str, float]) -> float | None:
        found = self.typed(name, called)
        if found is None:
            return None
        factor = units.get(spelt(found[1]))
        if factor is None:
            shown = tuple(dict.fromkeys(unit for unit in units if unit))
            raise self.bad(name, unknown_unit(called, found[1], shown).message)
        return found[0] * factor

    def whole(self, name: str, called: str, units: Mapping[str, float]) -> int | None:
        value = self.number(name, called, units)
        if value is None:
            return None
        if value != int(value):
            raise self.bad(name, f"The {called} must be a whole number.")
        return int(value)


def _text(texts: Mapping[str, str], name: str) -> str:
    return plain(texts.get(name, "")).strip()


def _wish(step: _Step) -> StepWish:
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
    )
    doses = step.whole("doses", "number of doses", {"": 1.0, "doses": 1.0, "x": 1.0, "×": 1.0})
    gap = step.whole("gap", "days after the step before", _DAYS)
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


def _dose(step: _Step) -> tuple[float, str]:
    found = step.typed("dose", "dose")
    if found is None:
        raise step.bad("dose", "How much? Type the dose with its unit, such as 0.25 mg/L.")
    unit = spelt(found[1])
    if unit == "ppm":
        raise step.bad("dose", "ppm can be by weight or by volume: type mg/L or µL/L.")
    if unit not in _DOSE:
        says = f"“{found[1]}” is not" if found[1] else "Without a unit it is not"
        raise step.bad("dose", f"{says} a dose of a bath: type mg/L, g/L, µL/L or mL/m3.")
    name, factor = _DOSE[unit]
    return found[0] * factor, name


def _product(step: _Step) -> Product:
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


def _tank_l(step: _Step) -> float | None:
    found = step.typed("volume", "volume")
    if found is None:
        return None
    if not found[1]:
        raise step.bad("volume", "In which unit? Type it as 200 L, 1.5 m3 or 50 USgal.")
    try:
        return to_litres(*found)
    except BadInput as trouble:
        raise step.bad("volume", trouble.message) from trouble

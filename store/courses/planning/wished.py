"""What a vet types for a course, understood: texts to wishes, each fault told at its field.

Texts come under the names of `GENERAL`, and for each step under its place and a name of `OF_STEP`,
such as `2.dose`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from store.courses.planning.course import Basis, Share, StepWish
from store.courses.planning.plan import BadStep
from store.courses.planning.route import BATHS, FRESH, published_first
from store.courses.planning.typed_step import TypedStep, step_wish, text_of
from store.errors import BadInput
from store.facts.agent import ROUTES, Agent, Route
from store.facts.agents import agents
from store.facts.entry import OWN
from store.facts.hazards import hazards
from store.water.given import figures

MOST_STEPS = 4
"""So many agents one after another are asked for; more are another course [count]."""
GENERAL = ("hazard", "other_hazard", "reason", "first_day", "level", "note", "steps")
OF_STEP = (
    "agent", "route", "dose", "salt", "doses", "interval", "change", "change_first", "half_life",
    "half_life_from", "shelf", "product", "strength", "basis", "density", "exposure", "volume",
    "demand", "share", "gap",
)  # fmt: skip
BASES: Mapping[Basis, str] = {
    "product": "product, as it comes",
    "w/w": "active, % by weight",
    "w/v": "active, g in 100 mL",
}
"""Of what the dose is an amount, and how the strength is told."""
SHARES: Mapping[Share, str] = {"practice": "the practice", "owner": "the owner"}
SALT: Mapping[str, str] = {"reach": "what to come to", "add": "what to add each time"}
"""Of salt alone: whether the dose is the salinity that is wanted, or what goes in each time."""

_FIELDS = {
    "unit": "dose", "water change": "change", "hazards": "hazard", "first day": "first_day",
    "least volume": "volume", "greatest volume": "volume", "half-life": "half_life",
}  # fmt: skip


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
    is_salt: bool
    own: str = ""
    """The practice's own doses beside what is published; empty where it has set none."""


def bath_agents(formulary: Mapping[str, Agent] | None = None) -> tuple[tuple[str, str], ...]:
    """The agents that have a bath in the formulary: code and plain name, by name.

    Parameters
    ----------
    formulary
        Agents by code; None for the published ones.
    """
    found = [
        (code, one.plain_name)
        for code, one in (agents() if formulary is None else formulary).items()
        if any(route.code in BATHS for route in one.routes)
    ]
    return tuple(sorted(found, key=lambda pair: pair[1].casefold()))


def bath_routes() -> tuple[tuple[str, str], ...]:
    """The routes of a bath: code and words."""
    return tuple((code, ROUTES[code]) for code in BATHS)


def published(
    agent_code: str, route_code: str, formulary: Mapping[str, Agent] | None = None
) -> Published | None:
    """What is published for an agent given by a route.

    Parameters
    ----------
    agent_code
        Code of the agent.
    route_code
        Code of the route, or empty: then that of the agent's first bath.
    formulary
        Agents by code; None for the published ones.

    Returns
    -------
    Published or None
        None for an agent that is not in the formulary or has no such bath.
    """
    agent = (agents() if formulary is None else formulary).get(agent_code)
    if agent is None:
        return None
    baths = [one for one in agent.routes if one.code in BATHS]
    codes = tuple(dict.fromkeys(one.code for one in baths))
    found = [one for one in baths if one.code == (route_code or next(iter(codes), ""))]
    if not found:
        return Published(
            codes, "", "", "", "", by_demand=False, in_tank=False, of_product=False, is_salt=False
        )
    own = [one for one in found if one.standing == OWN]
    found = list(published_first(found))
    hours = sorted({one.exposure_h for one in found if one.exposure_h is not None})
    every = next((one.repeat_days for one in found if one.repeat_days is not None), None)
    return Published(
        routes=codes,
        dose="; ".join(dict.fromkeys(_said_dose(one) for one in found if one.standing != OWN)),
        product=_said_forms(agent),
        exposure=", ".join(f"{figures(one, 2)} h" for one in hours),
        every="" if every is None else _span(*every, "d"),
        by_demand=any(one.rule == "permanganate_by_demand" for one in found),
        in_tank=found[0].code in FRESH,
        of_product=all(one.basis == "product" for one in found),
        is_salt=any(one.rule == "salt_to_target" for one in found) and found[0].code not in FRESH,
        own="; ".join(dict.fromkeys(_said_dose(one) for one in own)),
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


def wished(texts: Mapping[str, str], steps: int, *, by: str = "") -> Wished:
    """The wishes in the texts of a form.

    Parameters
    ----------
    texts
        As typed, by name.
    steps
        How many steps the form shows.
    by
        Who types, for what stands in nobody else's name; empty while it is not known.

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
        dict.fromkeys(code for name in ("hazard", "other_hazard") if (code := text_of(texts, name)))
    )
    reason = text_of(texts, "reason")
    wishes = tuple(step_wish(TypedStep(texts, place, by)) for place in range(1, steps + 1))
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

"""Which published way of giving an agent a step follows, and the most that is published for it.

An agent can have several doses under one route, by temperature, time or parasite. The one that fits
the course is taken; where several fit, the lowest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.limits import most_by_water
from store.errors import BadInput
from store.facts.agent import ROUTES, Agent, OtherDose, Route
from store.facts.agents import agents
from store.facts.entry import OWN
from store.facts.sources import cite_with_standing
from store.water.given import figures

BATHS = ("pond_bath", "tank_bath", "dip", "egg_bath")
"""Routes by which an agent gets into water that a plan can reckon."""
FRESH = ("tank_bath", "dip", "egg_bath")
"""Routes whose water is thrown away after a bath of some hours."""
OWN_STRENGTH = 1.1
"""A strength up to a tenth above that of a form in the formulary is taken for that form [-]."""


@dataclass(frozen=True, slots=True)
class Most:
    """The highest dose published for a step, in its own unit; None where none is known."""

    dose: float | None
    remarks: tuple[str, ...]


def wished_agent(code: str, formulary: Mapping[str, Agent] | None = None) -> Agent:
    """The agent of a step, by its code.

    Parameters
    ----------
    code
        Code of the agent, such as `formalin`.
    formulary
        Agents by code; None for the published ones.

    Raises
    ------
    BadInput
        There is no such agent.
    """
    found = (agents() if formulary is None else formulary).get(code)
    if found is None:
        raise BadInput(f"There is no agent {code!r} in the formulary.", field="agent")
    return found


def chosen_route(
    agent: Agent,
    code: str,
    *,
    hazards: Collection[str] = (),
    temperature_c: float | None = None,
    exposure_h: float | None = None,
) -> Route:
    """The published statement that fits a course best: by temperature, parasite and time.

    A dose of the practice's own is taken only where nothing is published for the route.

    Parameters
    ----------
    agent
        The agent.
    code
        Code of the route, such as `pond_bath`.
    hazards
        Codes of the hazards of the course.
    temperature_c
        Water temperature [°C]; None where it is not known.
    exposure_h
        How long the bath shall last [h]; None for as long as it does.

    Returns
    -------
    Route
        The best fit; where several fit alike, that with the lowest dose.

    Raises
    ------
    BadInput
        The agent has no such route, or it is not a bath.

    Examples
    --------
    >>> formalin = wished_agent("formalin")
    >>> chosen_route(formalin, "tank_bath", temperature_c=24.0, exposure_h=1.0).dose_high
    150.0
    >>> chosen_route(formalin, "tank_bath", temperature_c=24.0).dose_high
    25.0
    """
    if code not in BATHS:
        named = ROUTES.get(code, "")
        raise BadInput(
            f"{named.capitalize()} is not a bath: a plan of baths cannot hold it."
            if named
            else f"There is no route {code!r}. Baths are: {', '.join(BATHS)}.",
            field="route",
        )
    found = [one for one in agent.routes if one.code == code]
    if not agent.routes:
        raise BadInput(
            f"The practice has set no dose of {agent.plain_name} yet. A vet sets one in the "
            "formulary.",
            field="route",
        )
    if not found:
        there = ", ".join(dict.fromkeys(ROUTES[one.code] for one in agent.routes))
        raise BadInput(
            f"For {agent.plain_name} no {ROUTES[code]} is published. In the formulary: {there}.",
            field="route",
        )

    def unfit(one: Route) -> tuple[bool, bool, int, float]:
        low, high = one.temp_low_c, one.temp_high_c
        wrong = temperature_c is not None and (
            (low is not None and temperature_c < low) or (high is not None and temperature_c > high)
        )
        other = bool(hazards) and not set(one.hazards) & set(hazards)
        return wrong, other, _untimely(one, exposure_h), one.dose_high

    return min(published_first(found), key=unfit)


def published_first(routes: Iterable[Route]) -> tuple[Route, ...]:
    """The published among some statements, or those of the practice's own where none is.

    Parameters
    ----------
    routes
        Statements of one route.
    """
    every = tuple(routes)
    return tuple(one for one in every if one.standing != OWN) or every


def own_dose_for(
    agent: Agent, wish: StepWish, *, hazards: Collection[str], temperature_c: float | None
) -> Route | None:
    """The practice's own dose within whose range a wished dose lies.

    Parameters
    ----------
    agent
        The agent.
    wish
        The step as wished.
    hazards
        Codes of the hazards of the course.
    temperature_c
        Water temperature [°C]; None where it is not known.

    Returns
    -------
    Route or None
        The best fit; None where no own dose goes so far, or it is meant for other water.
    """

    def in_range(one: Route) -> bool:
        low, high = (
            None if each is None else own_in_unit(each, one, agent, wish)
            for each in (one.dose_low, one.dose_high)
        )
        cold = one.temp_low_c is not None and temperature_c is not None
        warm = one.temp_high_c is not None and temperature_c is not None
        return (
            high is not None
            and (low or 0.0) * (1.0 - 1e-9) <= wish.dose <= high * (1.0 + 1e-9)
            and not (cold and (temperature_c or 0.0) < (one.temp_low_c or 0.0))
            and not (warm and (temperature_c or 0.0) > (one.temp_high_c or 0.0))
        )

    own = [one for one in agent.routes if one.code == wish.route and one.standing == OWN]
    fitting = [one for one in own if in_range(one)]
    return min(
        fitting,
        key=lambda one: (
            bool(hazards) and not set(one.hazards) & set(hazards),
            _untimely(one, wish.exposure_h),
            one.dose_high,
        ),
        default=None,
    )


def own_in_unit(dose: float, route: Route, agent: Agent, wish: StepWish) -> float | None:
    """A dose of a statement in the unit and sense of a wish; None where that needs a density.

    Parameters
    ----------
    dose
        The dose [unit of the route].
    route
        The statement.
    agent
        Its agent.
    wish
        The step as wished.
    """
    turned = _turned(dose, route.unit, agent, wish)
    return None if turned is None else _in_sense(turned, route, agent, wish)[0]


def word_for(route: Route) -> str:
    """How a statement is named in a sentence: `published`, or `set by the practice`.

    Parameters
    ----------
    route
        The statement.
    """
    return "set by the practice" if route.standing == OWN else "published"


def _untimely(route: Route, exposure_h: float | None) -> int:
    timed = route.exposure == "timed"
    if exposure_h is None:
        return int(timed)
    if not timed:
        return 1
    return 2 if route.exposure_h is not None and exposure_h > route.exposure_h else 0


def most_published(route: Route, agent: Agent, wish: StepWish, water: PondWater) -> Most:
    """The highest dose published for a step, turned into the unit and sense of its dose.

    Other statements on the same route count where they hold for as long a bath; common practice
    does not count as published. A rule that goes by the pond's water sets the most where there is
    one.

    Parameters
    ----------
    route
        The published statement that the step follows.
    agent
        Its agent.
    wish
        The step as wished.
    water
        The pond's water.

    Returns
    -------
    Most
        The dose in the unit of the wish, and what must be said of it.

    Raises
    ------
    BadInput
        The pond already holds as much salt as is published.
    """
    own = [(route.dose_high, route.unit, route.source, route.standing, "")]
    own += [
        (one.dose_high, one.unit, one.source, one.standing, one.says)
        for one in route.alternates
        if one.standing != "common practice" and _as_long(one, route, wish)
    ]
    turned = [(most, one) for one in own if (most := _turned(one[0], one[1], agent, wish))]
    if not turned:
        return Most(
            None,
            (
                f"The published dose stands in {_shown(route.unit)} and the density is not known: "
                "no safe maximum can be given.",
            ),
        )
    most, highest = max(turned, key=lambda pair: pair[0])
    remarks: list[str] = []
    cautious = turned[0][0]
    if {route.unit, wish.unit} == {"mg/L", "uL/L"}:
        remarks.append(
            f"{figures(route.dose_high)} {_shown(route.unit)} are {figures(cautious)} "
            f"{_shown(wish.unit)} of it."
        )
    if highest is not own[0]:
        remarks.append(
            f"The most of any publication is {figures(most)} {_shown(wish.unit)}: {highest[4]} "
            f"({cite_with_standing(highest[2], highest[3])})."
        )
    by_water = most_by_water(route, wish, water)
    remarks += by_water.remarks
    if by_water.dose_mg_l is not None:
        most = _turned(by_water.dose_mg_l, "mg/L", agent, wish) or most
    most, sense = _in_sense(most, route, agent, wish)
    if route.standing == OWN:
        remarks.append(
            f"Nothing published backs this dose of {agent.plain_name}: its most, {figures(most)} "
            f"{_shown(wish.unit)}, is the practice's own word."
        )
    return Most(most, (*remarks, *sense))


def _as_long(one: OtherDose, route: Route, wish: StepWish) -> bool:
    hours = wish.exposure_h if wish.exposure_h is not None else route.exposure_h
    if one.exposure_h is None:
        return route.exposure != "timed" or hours is None
    return hours is not None and hours <= one.exposure_h


def _turned(dose: float, unit: str, agent: Agent, wish: StepWish) -> float | None:
    """A published dose in the unit of the wish; None where that needs an unknown density."""
    if unit == "g/L":
        dose, unit = dose * 1000.0, "mg/L"
    if unit == wish.unit:
        return dose
    density = wish.product.density_g_ml or next(
        (one.density_g_ml for one in agent.forms if one.density_g_ml), None
    )
    if density is None or {unit, wish.unit} != {"mg/L", "uL/L"}:
        return None
    return dose * density if unit == "uL/L" else dose / density


def _in_sense(
    most: float, route: Route, agent: Agent, wish: StepWish
) -> tuple[float, tuple[str, ...]]:
    """The same most where the dose is counted as active substance, or as the product."""
    strength = wish.product.strength_percent
    of_product = wish.unit == "uL/L" or wish.product.basis == "product"
    if route.basis == "product" and not of_product:
        form = next((one.active_percent for one in agent.forms if one.active_percent), None)
        if form is None or strength > OWN_STRENGTH * form:
            return most, ()
        return most * form / 100.0, (
            f"Published doses of {agent.plain_name} are of the product of {figures(form)} %, this "
            f"one is counted as active substance: {figures(most)} of the product are "
            f"{figures(most * form / 100.0)} of it.",
        )
    if route.basis == "active" and of_product and strength < 100.0:
        return most * 100.0 / strength, (
            f"Published doses of {agent.plain_name} are of the active substance, this one is of "
            f"the product of {figures(strength)} %.",
        )
    return most, ()


def _shown(unit: str) -> str:
    return unit.replace("uL", "µL")

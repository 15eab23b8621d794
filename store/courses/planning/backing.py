"""What the dose of a step rests on, and what is published beside it, in words."""

from __future__ import annotations

from store.courses.planning.course import StepWish
from store.courses.planning.route import own_in_unit, word_for
from store.facts.agent import Agent, Route
from store.facts.entry import OWN
from store.facts.sources import cite_with_standing
from store.water.given import figures


def is_published(wish: StepWish, agent: Agent, route: Route, most: float | None) -> bool:
    """Whether what is published goes as far as a dose that is wished, and as low.

    Parameters
    ----------
    wish
        The step as wished.
    agent, route
        Its agent, and the statement that it is put beside.
    most
        The most that is published [unit of the wish]; None where that is not known.
    """
    if route.standing == OWN:
        return False
    low = None if route.dose_low is None else own_in_unit(route.dose_low, route, agent, wish)
    return (low or 0.0) * (1.0 - 1e-9) <= wish.dose and (
        most is not None and wish.dose <= most * (1.0 + 1e-9)
    )


def source_of(route: Route, follows: Route) -> str:
    """What a step rests on; beside an own dose also what is published, where anything is.

    Parameters
    ----------
    route
        The published statement.
    follows
        What the step follows: that statement, or an own dose.
    """
    said = cite_with_standing(follows.source, follows.standing)
    if follows is route:
        return said
    return f"{said}; published beside it: {cite_with_standing(route.source, route.standing)}"


def dose_said(agent: Agent, route: Route) -> str:
    """A statement with its dose and where it stands, in a sentence.

    Parameters
    ----------
    agent, route
        The agent and the statement.
    """
    unit = route.unit.replace("uL", "µL")
    low = "up to" if route.dose_low is None else f"{figures(route.dose_low)} to"
    if route.dose_low == route.dose_high:
        low = ""
    return (
        f"{agent.plain_name.capitalize()}, {route.for_what}: "
        f"{f'{low} {figures(route.dose_high)}'.strip()} {unit} "
        f"({cite_with_standing(route.source, route.standing)})."
        + (f" {route.note}" if route.note else "")
    )


def beside_published(
    wish: StepWish, agent: Agent, route: Route, most: float | None
) -> tuple[str, ...]:
    """The statement that a step is put beside, and what common practice gives.

    Parameters
    ----------
    wish
        The step as wished.
    agent, route
        Its agent and the statement.
    most
        The most that is published [unit of the wish]; None where that is not known.
    """
    said = [dose_said(agent, route)]
    said += [
        f"{one.says.capitalize()}: {figures(one.dose_high)} {one.unit.replace('uL', 'µL')} "
        f"({cite_with_standing(one.source, one.standing)})."
        for one in route.alternates
        if one.standing == "common practice"
    ]
    if most is not None and wish.dose > most * (1.0 + 1e-9):
        said.append(
            f"{figures(wish.dose)} {wish.unit.replace('uL', 'µL')} is more than the "
            f"{figures(most)} that is {word_for(route)} at most."
        )
    return tuple(said)

"""What is done with nets, bowls and boots at a stop, and written down there.

Mud eats the disinfectant: brushed and rinsed first, then dipped for its time, then dried. Common
practice; agent, strength and contact time are those of the label.
"""

from __future__ import annotations

from store.facts.driving import figures
from store.paper.paper import Part
from store.rounds.day.sheet import INFECTED, SUSPECT, StopSheet

LINES = (
    "☐ brushed   ☐ rinsed   ☐ dipped in __________________   strength ____________",
    "contact time ________ min   dried ☐ yes ☐ no   by ___________________________",
)
"""What is filled in at each stop; also printed under the steps in full."""
_STEPS = (
    "Brush mud and slime off nets, bowls and boots: mud eats the disinfectant.",
    "Rinse with clean water, away from every pond.",
    "Dip: agent, strength and contact time as the label says, all of it under water.",
    "Rinse where the label says so, and dry; what stays wet is not used at another pond.",
)
_MORE = (
    "Hands, clothes and wheels as well; change clothes before the drive.",
    "No further pond today.",
)


def gear_parts(stop: StopSheet) -> tuple[Part, ...]:
    """The gear line of a stop; before it the steps in full after an infected or suspect one.

    Parameters
    ----------
    stop
        The stop.
    """
    line = Part("Nets, bowls and boots", LINES, "words", level=2)
    if stop.standing not in (INFECTED, SUSPECT):
        return (line,)
    suspect = stop.standing == SUSPECT
    figure = figures()["disinfect_after_suspect" if suspect else "disinfect_after_infected"]
    title = (
        f"Disinfect before the drive: {stop.stop.errand.disinfect_min} min are planned "
        f"({figure.standing})"
    )
    return Part(title, (*_STEPS, *(_MORE if suspect else ())), "checks", level=2), line

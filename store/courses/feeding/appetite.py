"""What fish eat at a temperature: where they stop, what they need, and how much at most."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from store.courses.feeding.feed import given_rate
from store.facts.fish import fish
from store.facts.sources import cite_with_standing
from store.water.given import figures, given_temperature


@dataclass(frozen=True, slots=True)
class Feeding:
    """What fish eat at a temperature.

    `level` is `stop` where they practically do not feed, `mind` where less than usual or than the
    rate asks; rations are None outside the published temperatures [% of body weight a day].
    """

    level: Literal["", "mind", "stop"]
    maintenance_percent: float | None
    growth_percent: float | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def feeding_at(temp_c: float, rate_percent: float | None = None) -> Feeding:
    """Whether fish feed at a temperature, and whether they can eat so much.

    The rations are interpolated in a straight line between the published temperatures; outside
    them there is none.

    Parameters
    ----------
    temp_c
        Water temperature [°C].
    rate_percent
        Feeding rate that is planned [% of biomass a day]; None where none is.

    Returns
    -------
    Feeding
        Level, rations of juvenile carp [% of body weight a day], remarks.

    Raises
    ------
    BadInput
        A number that cannot exist.

    Notes
    -----
    Grown koi eat less for their weight than juvenile carp: the rations are an upper guide.

    Examples
    --------
    >>> round(feeding_at(20.0).maintenance_percent, 2), feeding_at(7.0).level
    (0.9, 'stop')
    """
    given_temperature(temp_c)
    if rate_percent is not None:
        given_rate(rate_percent)
    remarks: list[str] = []
    level: Literal["", "mind", "stop"] = ""
    limit = next((one for one in fish().feeding if temp_c < one.below_c), None)
    if limit is not None:
        level = limit.level
        remarks.append(
            f"Below {figures(limit.below_c)} °C {limit.said} "
            f"({cite_with_standing(limit.source, limit.standing)})."
        )
    ration = fish().rations["juvenile_carp"]
    first_c, last_c = ration.points[0].temp_c, ration.points[-1].temp_c
    least = most = None
    arithmetic = ""
    for one, other in pairwise(ration.points):
        if one.temp_c <= temp_c <= other.temp_c:
            share = (temp_c - one.temp_c) / (other.temp_c - one.temp_c)
            least = one.maintenance_percent + share * (
                other.maintenance_percent - one.maintenance_percent
            )
            most = one.growth_percent + share * (other.growth_percent - one.growth_percent)
            arithmetic = (
                f"between {figures(one.temp_c)} and {figures(other.temp_c)} °C: maintenance "
                f"{figures(least, 3)} %, most {figures(most, 3)} % of body weight a day"
            )
            break
    if most is None:
        remarks.append(
            f"Rations are published for {figures(first_c)} to {figures(last_c)} °C; at "
            f"{figures(temp_c)} °C there is none."
        )
    elif rate_percent is not None and rate_percent > most:
        level = level or "mind"
        remarks.append(
            f"At {figures(temp_c)} °C juvenile carp ate {figures(most, 3)} % of their weight a day "
            f"at most: {figures(rate_percent)} % will hardly be eaten, and the dose not reached."
        )
    if most is not None and ration.note:
        remarks.append(ration.note)
    return Feeding(
        level, least, most, arithmetic, cite_with_standing(ration.source, ration.standing),
        tuple(remarks),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ProposedRate:
    """A feeding rate that a temperature lets expect [% of biomass a day], and on what it rests."""

    rate_percent: float
    said: str


def proposed_rate(temp_c: float) -> ProposedRate | None:
    """The feeding rate to begin with where nobody knows what the fish eat: what they need, no more.

    The maintenance ration, for a medicated feed must be eaten whole; rounded to two figures.

    Parameters
    ----------
    temp_c
        Water temperature [°C].

    Returns
    -------
    ProposedRate or None
        None where no ration is published for the temperature, or the fish do not feed at it.

    Raises
    ------
    BadInput
        A temperature that cannot exist.

    Examples
    --------
    >>> proposed_rate(20.0).rate_percent
    0.9
    """
    found = feeding_at(temp_c)
    if found.maintenance_percent is None or found.level == "stop":
        return None
    rate = float(f"{found.maintenance_percent:.2g}")
    return ProposedRate(
        rate,
        f"{figures(rate)} % of their weight a day keeps juvenile carp as they are at "
        f"{figures(temp_c)} °C; {found.arithmetic} ({found.source}). Grown koi eat less: put in "
        "what these fish really eat.",
    )

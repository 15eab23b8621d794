"""Deaths of a pond set beside what authorities, farms and practice call much.

None of the figures was published for garden ponds, and none of them decides: local law does.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from store.exams.mortality import Mortality
from store.exams.shares import percent
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing
from store.facts.yardsticks import Yardstick, yardsticks
from store.text import day_said

FOR_FARMS = "Published for farms, not for garden ponds: with few fish one death is many percent."


@dataclass(frozen=True, slots=True)
class Beside:
    """One yardstick beside the deaths.

    `reached` is whether they come up to it, None where it is a sentence only or no head count
    tells; `on` the last day on which they did. `said` are the words of the yardstick with the
    pond's own numbers.
    """

    code: str
    reached: bool | None
    on: date | None
    said: str
    source: str
    standing: Standing


def beside(deaths: Mortality) -> tuple[Beside, ...]:
    """The deaths of a pond beside every yardstick.

    Parameters
    ----------
    deaths
        What `store.exams.mortality.mortality` gave.

    Returns
    -------
    tuple of Beside
        Those reached first, then those not reached, then those that have no figure.

    Notes
    -----
    Days that were not looked at break a row of days: what was not seen is not taken for a rate.
    """
    found = [_set_beside(one, deaths) for one in yardsticks().values()]
    order = {True: 0, False: 1, None: 2}
    return tuple(sorted(found, key=lambda one: order[one.reached]))


def _set_beside(stick: Yardstick, deaths: Mortality) -> Beside:
    reached: bool | None = None
    on: date | None = None
    own = ""
    if stick.measure == "day":
        reached, on, own = _days(stick, deaths)
    elif stick.measure == "week":
        reached, on, own = _weeks(stick, deaths)
    elif stick.measure == "deaths":
        reached, on, own = _number(stick, deaths)
    if stick.measure in ("day", "week") and reached:
        own += f" {FOR_FARMS}"
    return Beside(
        stick.code, reached, on, stick.says + own,
        cite_with_standing(stick.source, stick.standing), stick.standing,
    )  # fmt: skip


def _days(stick: Yardstick, deaths: Mortality) -> tuple[bool | None, date | None, str]:
    row, longest, on = 0, 0, None
    for one in deaths.days:
        above = (
            one.over_days == 1 and one.share is not None and 100.0 * one.share > stick.above_percent
        )
        row = row + 1 if above else 0
        if row >= stick.running:
            on = one.day
        longest = max(longest, row)
    if all(one.share is None for one in deaths.days):
        return None, None, " No head count tells what share died."
    last = "" if on is None else f", until {day_said(on)}"
    return longest >= stick.running, on, f" Here: {longest} in a row{last}."


def _weeks(stick: Yardstick, deaths: Mortality) -> tuple[bool | None, date | None, str]:
    shares = [(one.share, one) for one in deaths.weeks if one.share is not None]
    if not shares:
        return None, None, " No head count tells what share died."
    worst, week = max(shares, key=lambda pair: pair[0])
    above = [one.last for share, one in shares if 100.0 * share > stick.above_percent]
    return (
        bool(above),
        max(above, default=None),
        f" Here: {percent(worst)} at most, from {day_said(week.first)} to {day_said(week.last)}.",
    )


def _number(stick: Yardstick, deaths: Mortality) -> tuple[bool | None, date | None, str]:
    most, on = 0, None
    for place, one in enumerate(deaths.days):
        within = sum(other.dead or 0 for other in deaths.days[max(0, place - 6) : place + 1])
        if within >= stick.deaths and one.dead:
            on = one.day
        most = max(most, within)
    return most >= stick.deaths, on, f" Here: {most} within seven days."

"""What is said of estimates and of readings that are doubted: always with the interval, in °C."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from uuid import UUID

from store.text import day_said
from store.warmth.estimate import APART, NOT_YET, TOO_LITTLE

if TYPE_CHECKING:
    from datetime import date

    from store.warmth.estimate import Doubt, Estimate, EstimatedDay, Neighbour

HOLDS = "four in five such estimates hold the water within their interval"
"""What the interval means, for the foot of a page or a paper."""
NAMED = 3
"""So many neighbours are told of in sentences of their own."""
_CLOSELY = ((0.9, "very closely"), (0.7, "closely"), (0.5, "fairly closely"))
_LOOSELY = "loosely"
_WHY_NOT = {
    NOT_YET: "It came into the book after the last look over all records; an estimate follows with "
    "the next.",
    APART: "Its water does not follow the weather (indoors or heated), so that nobody else's "
    "readings say anything of it.",
    TOO_LITTLE: "Too little is known for an estimate: a few readings over the year of its own, or "
    "lately read ponds near by, are what it takes.",
}


def in_words(day: EstimatedDay) -> str:
    """The water of a day by estimate, with its interval.

    Parameters
    ----------
    day
        One day of an estimate.

    Returns
    -------
    str
        To a tenth of a degree, which is finer than any estimate is sure of.

    Examples
    --------
    >>> from datetime import date
    >>> from store.warmth.estimate import EstimatedDay
    >>> in_words(EstimatedDay(date(2026, 5, 1), 16.42, 15.1, 17.74))
    'about 16.4 °C, 15.1 to 17.7'
    """
    return f"about {day.mean_c:.1f} °C, {day.low_c:.1f} to {day.high_c:.1f}"


def grounds(estimate: Estimate, names: Mapping[UUID, str]) -> tuple[str, ...]:
    """What an estimate rests on, in sentences: its season, its own last reading, its neighbours.

    Parameters
    ----------
    estimate
        The estimate.
    names
        What ponds and stations of the air are called; one that is missing is another pond.

    Returns
    -------
    tuple of str
        The neighbours most alike first, `NAMED` of them each with its newest reading.
    """
    said = [_season(estimate), _own(estimate)]
    said += [_neighbour(one, names, estimate.today) for one in estimate.neighbours[:NAMED]]
    more = len(estimate.neighbours) - NAMED
    if more > 0:
        said.append(
            "One pond more lends its readings."
            if more == 1
            else f"{more} ponds more lend their readings."
        )
    if not estimate.neighbours:
        said.append("No pond that goes with it was read within a month.")
    return tuple(said)


def why_not(code: str) -> str:
    """Why there is no estimate, in a sentence.

    Parameters
    ----------
    code
        As `Estimates.why_not` gave it; empty where there is an estimate.
    """
    return _WHY_NOT.get(code, "")


def doubt_says(doubt: Doubt) -> str:
    """A run of doubted readings, and what is to be settled about it.

    Parameters
    ----------
    doubt
        The run.

    Returns
    -------
    str
        Days, what was read, what season and neighbours said [°C]; a guess where there is one.
    """
    when = (
        f"The temperature of {day_said(doubt.first)} is"
        if doubt.readings == 1
        else f"{doubt.readings} temperatures from {day_said(doubt.first)} to "
        f"{day_said(doubt.last)} are"
    )
    off = doubt.read_c - doubt.expected_c
    read = "it was read as" if doubt.readings == 1 else "the furthest off was read as"
    said = (
        f"{when} hard to believe: {read} {doubt.read_c:.1f} °C, where about "
        f"{doubt.expected_c:.1f} °C was to be expected ({abs(off):.1f} °C "
        f"{'warmer' if off > 0 else 'colder'})."
    )
    if doubt.fahrenheit:
        as_c = (doubt.read_c - 32.0) / 1.8
        return (
            f"{said} Was it {doubt.read_c:.1f} °F? That would be {as_c:.1f} °C and would fit. "
            "Settle in which unit it was read."
        )
    if doubt.readings == 1:
        return f"{said} Settle whether it was read and typed rightly, and of this pond."
    return (
        f"{said} Settle whether the thermometer or its place has changed, and whether the water is "
        "heated or fed by a well."
    )


def _season(estimate: Estimate) -> str:
    many = round(estimate.counted)
    day = f"the season alone would say {estimate.season_c:.1f} °C of today"
    if many < 1:
        return f"Its season is taken from ponds like it, as it has hardly a reading: {day}."
    readings = "1 separate reading" if many == 1 else f"{many} separate readings"
    leans = " and leans on ponds like it" if many < 10 else ""
    return f"Its season rests on {readings} of its own{leans}: {day}."


def _own(estimate: Estimate) -> str:
    if estimate.own_last_on is None or estimate.own_last_c is None:
        return "It has no reading of its own within two months."
    read = f"{estimate.own_last_c:.1f} °C {_ago(estimate.own_last_on, estimate.today)}"
    if estimate.own_doubted:
        return f"Its own last reading, {read}, is doubted and left aside."
    return f"Its own last reading was {read}."


def _neighbour(one: Neighbour, names: Mapping[UUID, str], today: date) -> str:
    name = names.get(one.pond) or "Another pond"
    closely = next((said for least, said in _CLOSELY if one.likeness >= least), _LOOSELY)
    said = f"{name} has gone with it {closely} (likeness {one.likeness:.2f} of 1)"
    if one.last_on is None or one.last_off_c is None:
        return f"{said}."
    if abs(one.last_off_c) < 0.05:
        off = "just as its season"
    else:
        side = "above" if one.last_off_c > 0 else "below"
        off = f"{abs(one.last_off_c):.1f} °C {side} its season"
    return f"{said}; it was read {_ago(one.last_on, today)}, {off}."


def _ago(day: date, today: date) -> str:
    days = (today - day).days
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago ({day_said(day)})"

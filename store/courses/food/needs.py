"""What must have passed after the last dose of an agent before its fish may be eaten.

The label of the product that was used comes first, as the practice entered it; else the law for use
outside a label. Where neither says anything, that is said and no figure is made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate
from typing import Literal

from store.courses.food.water_since import WaterSince
from store.courses.food.withdrawal import withdrawal
from store.courses.food.withdrawal_due import (
    LOCAL_LAW,
    MOST_DEGREE_DAYS,
    Due,
    barred,
    due,
    labelled,
)
from store.facts.agents import agents
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing
from store.facts.withdrawal import withdrawal_facts
from store.text import day_said
from store.water.given import figures

NeedKind = Literal["degree-days", "days", "never", "not published"]
NO_MEDICINE = ("salt", "vitamin", "reducer")
"""Families of agents that the law for use outside a label was not written for."""


@dataclass(frozen=True, slots=True)
class Need:
    """One condition: `amount` in degree-days [°C x days] or days [d], None where there is none."""

    kind: NeedKind
    amount: float | None
    rule: str
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...] = ()
    binds: bool = True
    """Whether the fish wait for it; salt and vitamins have no period that they could wait for."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """The label of a product as the practice entered it [degree-days, days]; None is not stated."""

    name: str
    degree_days: float | None = None
    days: float | None = None


@dataclass(frozen=True, slots=True)
class Met:
    """When a condition is met: `late` and `early` are the first days on which fish are free.

    Both are None where no day can be given. `over` tells that the record alone meets it. `summed`
    are the degree-days of the record until today [°C x days], or the days gone by [d].
    """

    need: Need
    late: date | None
    early: date | None
    over: bool
    summed: float
    arithmetic: str


@dataclass(frozen=True, slots=True)
class Sums:
    """A sum as it grows, to be drawn: `values[:known]` are of the record, then what is expected."""

    days: tuple[date, ...]
    values: tuple[float, ...]
    known: int


def needs(agent: str, shelf: Shelf | None = None) -> tuple[Need, ...]:
    """What must have passed after the last dose of an agent; all of it must be met.

    A label in degree-days counts as it stands. A label in days does not say whether it was written
    for fish: so its days count, and beside them what the law makes of them for fish if they are
    those of a land animal; the later day holds. A label of zero is taken as use outside it.

    Parameters
    ----------
    agent
        Code of the agent.
    shelf
        The product it was, where the practice has one on its shelf.

    Returns
    -------
    tuple of Need
        One or more; `never` where no number lifts it, `not published` where nothing is known.

    Examples
    --------
    >>> [one.amount for one in needs("trichlorfon", Shelf("powder", days=7.0))]
    [7.0, 350.0]
    >>> needs("malachite_green")[0].kind, needs("salt")[0].kind
    ('never', 'not published')

    References
    ----------
    Regulation (EU) 2019/6, Article 115 (from memory).
    """
    bars = barred([agent])
    if bars:
        return tuple(
            Need(
                "never", None, f"barred: {one.substance}",
                f"{one.says} No number of degree-days lifts it.",
                cite_with_standing(one.source, one.standing), one.standing, (LOCAL_LAW,),
            )
            for one in bars
        )  # fmt: skip
    stated = shelf is not None and (shelf.degree_days is not None or shelf.days is not None)
    if shelf is not None and stated:
        return _of_label(agent, shelf)
    known = agents().get(agent)
    if known is None or known.family in NO_MEDICINE:
        why = (
            "the practice's own agent, with no withdrawal period on the shelf"
            if known is None
            else f"{known.plain_name} is no medicine with a withdrawal period"
        )
        return (
            Need(
                "not published", None, "nothing published", f"{why}: no figure, so no day",
                "nothing published", "common practice",
                ("The vet decides; a period entered with the product on the shelf is reckoned.",
                 LOCAL_LAW),
                binds=known is None,
            ),
        )  # fmt: skip
    least = _from_due(due(True))
    factor = withdrawal_facts().rules["aquatic"].factor or 1.0
    aquatic = figures((least.amount or 0.0) / factor, 3)
    return (
        _more(
            least,
            "No label of the product is known: reckoned as for one that is authorised for no "
            f"animal that gives food. With a label of more than {aquatic} degree-days for fish it "
            "is longer: put the product on the shelf.",
            *_published(agent),
        ),
    )


def met(need: Need, water: WaterSince, today: date) -> Met:
    """When one condition is met, with the colder and the warmer water that may be expected.

    Parameters
    ----------
    need
        The condition.
    water
        The water since the last dose.
    today
        The practice's calendar day.

    Returns
    -------
    Met
        The later day with the colder water and nothing for days without knowledge; the earlier one
        with the warmer water from the newest reading on.
    """
    gone = max(0, (today - water.last_dose).days)
    if need.amount is None:
        return Met(need, None, None, False, 0.0, need.arithmetic)
    if need.kind == "days":
        free = water.last_dose + timedelta(days=int(-(-need.amount // 1)) + 1)
        said = (
            f"{need.arithmetic}; {day_said(water.last_dose)} + {figures(need.amount)} d, free from "
            f"the day after: {day_said(free)}"
        )
        return Met(need, free, free, today >= free, float(gone), said)
    late = withdrawal(
        need.amount, water.last_dose, water.to_today_c, expected_c=water.colder_c or None
    )
    early = withdrawal(
        need.amount, water.last_dose, water.known_c, expected_c=water.warmer_c or None
    )
    so_far = sum(max(0.0, one) for one in water.to_today_c if one is not None)
    return Met(
        need,
        late.free_from,
        early.free_from,
        late.met and late.free_from is not None and late.free_from <= today,
        so_far,
        f"{need.arithmetic}; {late.arithmetic}",
    )


def sums(water: WaterSince, today: date, until: date) -> Sums:
    """The sum of degree-days from the last dose on, as far as known and then in colder water.

    Parameters
    ----------
    water
        The water since the last dose.
    today
        The practice's calendar day.
    until
        Where it ends.

    Returns
    -------
    Sums
        Days and running sums [°C x days], beginning with 0 on the day of the last dose.
    """
    values = [max(0.0, one or 0.0) for one in water.to_today_c]
    known = len(values) + 1
    left = (until - max(today, water.last_dose)).days if water.colder_c else 0
    values += [water.colder_c[min(n, len(water.colder_c) - 1)] for n in range(max(0, left))]
    running = tuple(accumulate([0.0, *values]))
    days = tuple(water.last_dose + timedelta(days=n) for n in range(len(running)))
    return Sums(days, running, known)


def _of_label(agent: str, shelf: Shelf) -> tuple[Need, ...]:
    label = f"label of {shelf.name}, as on the practice's shelf"
    found: list[Need] = []
    stated = [one for one in (shelf.degree_days, shelf.days) if one is not None]
    too_long = [one for one in stated if one > MOST_DEGREE_DAYS]
    if too_long:
        return (
            Need(
                "not published", None, label,
                f"{figures(too_long[0])} on the shelf is longer than any period: no day",
                label, "common practice", ("Look at the product on the shelf.", LOCAL_LAW),
            ),
        )  # fmt: skip
    if shelf.degree_days:
        given = _from_due(labelled(shelf.degree_days, label))
        outside = due(True, aquatic_degree_days=shelf.degree_days)
        found.append(
            _more(
                given,
                "Holds for the fish, dose and route of the label. Outside it the law asks for "
                f"{figures(outside.degree_days or 0.0)} degree-days ({outside.arithmetic}).",
            )
        )
    elif shelf.degree_days is not None:
        found.append(_from_due(due(True, aquatic_degree_days=0.0)))
    if shelf.days:
        found.append(
            Need(
                "days", shelf.days, label, f"{figures(shelf.days)} d by the label", label,
                "common practice",
                ("Days of a label belong to the water of their trial.",),
            )
        )  # fmt: skip
    if shelf.days is not None and shelf.degree_days is None:
        land = _from_due(due(True, land_days=shelf.days))
        found.append(
            _more(
                land,
                "The shelf does not say whether these days are those of fish or of a land animal: "
                "the later day counts.",
            )
            if shelf.days
            else land
        )
    return tuple(found)


def _from_due(found: Due) -> Need:
    return Need(
        "degree-days", found.degree_days, found.rule, found.arithmetic, found.source,
        found.standing, found.remarks,
    )  # fmt: skip


def _more(need: Need, *remarks: str) -> Need:
    return Need(
        need.kind, need.amount, need.rule, need.arithmetic, need.source, need.standing,
        (*remarks, *need.remarks), need.binds,
    )  # fmt: skip


def _published(agent: str) -> tuple[str, ...]:
    """Published labels of the agent, which hold for their own fish and country."""
    labels = [
        f"{one.product}, {one.species}: {figures(one.days)} d"
        for one in withdrawal_facts().labels.values()
        if one.code == agent or one.code.startswith(f"{agent}_")
    ]
    return (f"Labels that hold for their own fish and country: {'; '.join(labels)}.",) * bool(
        labels
    )

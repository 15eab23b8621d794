"""Writing the practice's own agents and doses: by vets alone, with the reason, nothing deleted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from store.book.writing import Writing
from store.courses.kept.allowed import only_vets
from store.courses.kept.formulary import DoseOf, formulary_within
from store.courses.kept.formulary_checked import (
    agent_values,
    code_for,
    number,
    ordered,
    reason,
    route_and_unit,
)
from store.errors import BadInput
from store.facts.hazards import hazards as known_hazards
from store.text import plain

MOST_DOSE = 100_000.0
"""More is no dose of anything: a tenth of the water [mg/L]."""
MOST_DOSES = 30
"""More doses than any course has [count]."""
LONGEST_INTERVAL_DAYS = 60
"""The longest interval of a course [d]."""


def keep_own_agent(
    writing: Writing,
    name: str,
    *,
    family: str,
    handling: Sequence[str],
    why: str,
    off: Sequence[str] = (),
    legal: str = "",
) -> UUID:
    """Add an agent that the published formulary does not have.

    Parameters
    ----------
    writing
        The action of a vet.
    name
        What it is called.
    family
        One of `store.facts.agent.FAMILIES`.
    handling
        Cautions for people; at least one.
    why
        Why the practice has it.
    off
        Codes of `store.facts.agent.OFF`: what is switched off or taken out while it works.
    legal
        What the law says of it, as far as the practice knows.

    Returns
    -------
    UUID
        Key of the entry. Without a dose of its own the agent cannot be planned.

    Raises
    ------
    NotAllowed
        The person is no vet.
    BadInput
        A name that the formulary has already, or something missing, at its field.
    """
    only_vets(writing, "add an agent to the formulary")
    values = agent_values(writing, name, family, handling, why, off, legal)
    return writing.add("own_agent", code=code_for(writing, values["name"]), **values)


def change_own_agent(
    writing: Writing,
    key: UUID,
    rev: int,
    *,
    name: str,
    family: str,
    handling: Sequence[str],
    why: str,
    off: Sequence[str] = (),
    legal: str = "",
) -> int:
    """Change an own agent; its code stays, so that its courses find it.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The entry, as the person saw it.
    name, family, handling, off, legal
        As for `keep_own_agent`.
    why
        Why it is changed; it stands on the entry from now on, and in the log beside the one before.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    NotAllowed, BadInput
        As for `keep_own_agent`.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    only_vets(writing, "change an agent of the formulary")
    values = agent_values(writing, name, family, handling, why, off, legal, but=key)
    return writing.change_values("own_agent", key, rev, values, values["why"])


def strike_own_agent(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Strike an own agent through: it is planned no more, and its courses can still be read.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The entry, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    NotAllowed, BadInput, NotFound, ChangedMeanwhile
        As for `Writing.strike`, and where the person is no vet.
    """
    only_vets(writing, "strike an agent through")
    return writing.strike("own_agent", key, reason(why), rev)


def keep_own_dose(
    writing: Writing,
    agent: str,
    route: str,
    *,
    dose_low: float | None,
    dose_high: float,
    unit: str,
    basis: DoseOf,
    why: str,
    exposure_h: float | None = None,
    interval_low_days: int | None = None,
    interval_high_days: int | None = None,
    doses: int | None = None,
    temp_low_c: float | None = None,
    temp_high_c: float | None = None,
    hazards: Sequence[str] = (),
    source: str = "",
) -> UUID:
    """Set the practice's own dose of an agent; what is published stays as it is.

    Parameters
    ----------
    writing
        The action of a vet.
    agent, route
        Codes of the agent and of one of `formulary_checked.DOSED`.
    dose_low, dose_high
        The range [unit]; None for "up to".
    unit
        mg/L, uL/L or g/L for a bath, mg/kg/d with the feed.
    basis
        Of what it is an amount: of the `product` as it comes, or of the `active` substance.
    why
        The reason; never empty.
    exposure_h
        How long a bath lasts [h]; None for as long as it does.
    interval_low_days, interval_high_days
        Days between doses [d]; None where it is given once, or nobody says.
    doses
        How many [count].
    temp_low_c, temp_high_c
        Water temperatures for which it is meant [°C].
    hazards
        Codes of what it is given against.
    source
        What it was taken from, in words.

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    NotAllowed
        The person is no vet.
    BadInput
        What cannot be, at its field.
    """
    only_vets(writing, "set a dose of the practice's own")
    if agent not in formulary_within(writing.connection, writing.book.zone):
        raise BadInput("There is no such agent in the formulary.", field="agent")
    route_and_unit(route, unit)
    if basis not in ("product", "active"):
        raise BadInput(
            "Say whether it is a dose of the product as it comes, or of the active substance.",
            field="basis",
        )
    for code in hazards:
        if code not in known_hazards():
            raise BadInput(f"There is no hazard {plain(code)[:40]!r}.", field="hazards")
    number(dose_high, "dose_high", "dose", unit, 0.0, MOST_DOSE, above=True)
    number(dose_low, "dose_low", "dose", unit, 0.0, MOST_DOSE, above=True)
    number(exposure_h, "exposure_h", "time of the bath", "h", 0.0, 10_000.0, above=True)
    number(temp_low_c, "temp_low_c", "temperature", "°C", -2.0, 45.0)
    number(temp_high_c, "temp_high_c", "temperature", "°C", -2.0, 45.0)
    for days, field in (
        (interval_low_days, "interval_low_days"), (interval_high_days, "interval_high_days"),
    ):  # fmt: skip
        number(days, field, "interval", "d", 1.0, LONGEST_INTERVAL_DAYS)
    number(doses, "doses", "number of doses", "", 1.0, MOST_DOSES)
    ordered(dose_low, dose_high, "dose_low", unit)
    ordered(interval_low_days, interval_high_days, "interval_low_days", "d")
    ordered(temp_low_c, temp_high_c, "temp_low_c", "°C")
    if interval_high_days is None and interval_low_days is not None:
        interval_high_days = interval_low_days
    return writing.add(
        "own_dose",
        agent=agent,
        route=route,
        dose_low=dose_low,
        dose_high=dose_high,
        unit=unit,
        basis=basis,
        exposure_h=exposure_h,
        interval_low_days=interval_low_days,
        interval_high_days=interval_high_days,
        doses=doses,
        temp_low_c=temp_low_c,
        temp_high_c=temp_high_c,
        hazards=list(dict.fromkeys(hazards)),
        why=reason(why),
        source=source,
    )


def change_own_dose(
    writing: Writing, key: UUID, rev: int, agent: str, route: str, **values: Any
) -> UUID:
    """Put another dose in the place of one: the old is struck through, so that both can be read.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The dose before, as the person saw it.
    agent, route, **values
        As for `keep_own_dose`.

    Returns
    -------
    UUID
        Key of the new entry.

    Raises
    ------
    NotAllowed, BadInput
        As for `keep_own_dose`; then nothing was struck through.
    ChangedMeanwhile, NotFound
        As for `Writing.strike`.
    """
    made = keep_own_dose(writing, agent, route, **values)
    writing.strike("own_dose", key, f"Another dose takes its place: {values['why']}", rev)
    return made


def strike_own_dose(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Strike an own dose through; courses that were planned by it can still be read.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The entry, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    NotAllowed, BadInput, NotFound, ChangedMeanwhile
        As for `Writing.strike`, and where the person is no vet.
    """
    only_vets(writing, "strike a dose through")
    return writing.strike("own_dose", key, reason(why), rev)

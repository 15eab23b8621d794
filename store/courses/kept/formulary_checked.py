"""What is written into the practice's formulary, checked: each fault in a sentence at its field."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import Any, get_args
from uuid import UUID

from store.book.writing import Writing
from store.courses.kept.formulary import FEED, OwnAgent, entries, formulary_within
from store.courses.planning.course import Basis
from store.courses.planning.route import BATHS
from store.errors import BadInput
from store.facts.agent import FAMILIES, OFF, ROUTES, THINGS
from store.facts.agents import agents
from store.text import plain
from store.water.given import figures, given

UNITS_OF_BATH = ("mg/L", "uL/L", "g/L")
UNIT_OF_FEED = "mg/kg/d"
DOSED = (*BATHS, FEED)
"""Routes of which a practice can set a dose of its own."""
LONGEST_WHY = 500
"""A reason is read beside every dose that rests on it [characters]."""
_LONGEST_CODE = 50


def reason(why: str) -> str:
    """The reason, which is never empty.

    Parameters
    ----------
    why
        As typed.

    Raises
    ------
    BadInput
        There is none, or it is too long to stand beside a dose.
    """
    said = plain(why, lines=True).strip()
    if not said:
        raise BadInput("Please say why; the record keeps it. Nothing was saved.", field="why")
    if len(said) > LONGEST_WHY:
        raise BadInput(
            f"The reason has {len(said)} characters; it stands beside every dose that rests on it: "
            f"please say it in {LONGEST_WHY}. Nothing was saved.",
            field="why",
        )
    return said


def number(
    value: float | None,
    field: str,
    called: str,
    unit: str,
    low: float,
    high: float,
    *,
    above: bool = False,
) -> None:
    """Refuse a number that cannot be, at its field.

    Parameters
    ----------
    value
        The number [unit]; None is not given.
    field, called, unit
        Where it stands, and its name and unit for the sentence.
    low, high
        The least and the greatest that it can be [unit].
    above
        True where the least itself is refused.

    Raises
    ------
    BadInput
        It is no number, or cannot be.
    """
    if value is None:
        return
    shown = unit.replace("uL", "µL")
    try:
        if above:
            given(value, called, shown, above=low, high=high)
        else:
            given(value, called, shown, low=low, high=high)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field) from trouble


def ordered(low: float | None, high: float | None, field: str, unit: str) -> None:
    """Refuse a low end above the high one.

    Parameters
    ----------
    low, high
        The ends [unit]; None is not given.
    field, unit
        Where the low end stands, and its unit for the sentence.

    Raises
    ------
    BadInput
        The low end lies above the high one.
    """
    if low is not None and high is not None and low > high:
        shown = unit.replace("uL", "µL")
        raise BadInput(
            f"The low end, {figures(low)} {shown}, lies above the high one, {figures(high)} "
            f"{shown}. Nothing was saved.",
            field=field,
        )


def route_and_unit(route: str, unit: str) -> None:
    """Refuse a way that cannot be dosed, and a unit that does not belong to it.

    Parameters
    ----------
    route
        Code of the route.
    unit
        Of the dose.

    Raises
    ------
    BadInput
        At `route` or `unit`.
    """
    if route not in DOSED:
        raise BadInput(
            f"Say how it is given: {', '.join(ROUTES[code] for code in DOSED)}.", field="route"
        )
    allowed = (UNIT_OF_FEED,) if route == FEED else UNITS_OF_BATH
    if unit not in allowed:
        shown = " or ".join(one.replace("uL", "µL") for one in allowed)
        way = "A dose with the feed" if route == FEED else "A dose of a bath"
        raise BadInput(f"{way} is in {shown}, not in {plain(unit)[:20]!r}.", field="unit")


def agent_values(
    writing: Writing,
    name: str,
    family: str,
    handling: Sequence[str],
    why: str,
    off: Sequence[str],
    legal: str,
    *,
    but: UUID | None = None,
) -> dict[str, Any]:
    """The columns of an own agent.

    Parameters
    ----------
    writing
        The action of a vet.
    name, family, handling, why, off, legal
        As for `store.courses.kept.formulary_keeping.keep_own_agent`.
    but
        The entry that is changed itself.

    Raises
    ------
    BadInput
        A name that the formulary has already, or something missing, at its field.
    """
    called = " ".join(plain(name).split())
    if not called:
        raise BadInput("Say what the agent is called.", field="name")
    known = {
        word.casefold()
        for one in agents().values()
        for word in (one.code, one.name, one.plain_name)
    }
    if called.casefold() in known:
        raise BadInput(
            f"{called} is in the published formulary already: set a dose of your own for it there.",
            field="name",
        )
    for one in entries(writing.connection, writing.book.zone, OwnAgent):
        if one.name.casefold() == called.casefold() and one.id != but:
            raise BadInput(
                f"{called} is among the practice's own agents already, entered by {one.by}.",
                field="name",
            )
    if family not in FAMILIES:
        raise BadInput(
            f"Say what kind of agent it is; what is known of its kin then holds for it too: "
            f"{', '.join(FAMILIES)}.",
            field="family",
        )
    cautions = [said for one in handling if (said := plain(one).strip())]
    if not cautions:
        raise BadInput(
            "Say at least what protects the people who handle it, such as gloves and goggles.",
            field="handling",
        )
    for code in off:
        if code not in OFF:
            raise BadInput(
                f"{plain(code)[:30]!r} is nothing that is switched off: {', '.join(OFF)}.",
                field="off",
            )
    return {
        "name": called,
        "family": family,
        "off": list(dict.fromkeys(off)),
        "handling": list(dict.fromkeys(cautions)),
        "legal": legal,
        "why": reason(why),
    }


def code_for(writing: Writing, name: str) -> str:
    """A code that no agent has or had: courses keep it for ever.

    Parameters
    ----------
    writing
        The action.
    name
        What the agent is called.
    """
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "_", ascii_only.casefold()).strip("_")[:_LONGEST_CODE]
    stem = stem or "own_agent"
    taken = (
        set(agents())
        | set(FAMILIES)
        | set(THINGS)
        | {
            one.code
            for one in entries(writing.connection, writing.book.zone, OwnAgent, struck=True)
        }
    )
    code, count = stem, 1
    while code in taken:
        count += 1
        code = f"{stem}_{count}"
    return code


def product_values(
    writing: Writing,
    *,
    name: str,
    agent: str,
    strength_percent: float,
    strength_basis: Basis,
    density_g_ml: float | None = None,
    pack_size: float | None = None,
    pack_unit: str = "g",
    withdrawal_degree_days: int | None = None,
    withdrawal_days: int | None = None,
    note: str = "",
) -> dict[str, Any]:
    """The columns of a product.

    Parameters
    ----------
    writing
        The action of a vet.
    name, agent, strength_basis, pack_unit, note
        As for `store.courses.kept.shelf.keep_product`.
    strength_percent, density_g_ml, pack_size
        As for it: share of the agent [%], density [g/mL], content of a pack [g or mL].
    withdrawal_degree_days, withdrawal_days
        As for it, from the label [°C d, d].

    Raises
    ------
    BadInput
        What cannot be, at its field.
    """
    called = " ".join(plain(name).split())
    if not called:
        raise BadInput("Say what stands on the label.", field="name")
    if agent not in formulary_within(writing.connection, writing.book.zone):
        raise BadInput("There is no such agent in the formulary.", field="agent")
    number(strength_percent, "strength_percent", "strength", "%", 0.0, 100.0, above=True)
    if strength_basis not in get_args(Basis):
        raise BadInput(
            "Say whether the strength is by weight, by volume, or whether doses are of the product "
            "as it comes.",
            field="strength_basis",
        )
    number(density_g_ml, "density_g_ml", "density", "g/mL", 0.1, 20.0)
    number(pack_size, "pack_size", "pack", pack_unit, 0.0, 1e6, above=True)
    if pack_unit not in ("g", "mL"):
        raise BadInput("A pack is told in g or in mL.", field="pack_unit")
    number(withdrawal_degree_days, "withdrawal_degree_days", "withdrawal period", "degree-days",
           0.0, 100_000.0)  # fmt: skip
    number(withdrawal_days, "withdrawal_days", "withdrawal period", "d", 0.0, 3660.0)
    return {
        "name": called,
        "agent": agent,
        "strength_percent": float(strength_percent),
        "strength_basis": strength_basis,
        "density_g_ml": density_g_ml,
        "pack_size": pack_size,
        "pack_unit": pack_unit,
        "withdrawal_degree_days": withdrawal_degree_days,
        "withdrawal_days": withdrawal_days,
        "note": note,
    }

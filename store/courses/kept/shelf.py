"""The products on the practice's shelf: put there, changed and taken off by vets alone."""

from __future__ import annotations

from typing import Any, Literal
from uuid import UUID

from store.book.writing import Writing
from store.courses.kept.allowed import only_vets
from store.courses.kept.formulary_checked import product_values, reason
from store.courses.planning.course import Basis


def keep_product(
    writing: Writing,
    name: str,
    agent: str,
    *,
    strength_percent: float,
    strength_basis: Basis,
    density_g_ml: float | None = None,
    pack_size: float | None = None,
    pack_unit: Literal["g", "mL"] = "g",
    withdrawal_degree_days: int | None = None,
    withdrawal_days: int | None = None,
    note: str = "",
) -> UUID:
    """Put a product on the practice's shelf.

    Parameters
    ----------
    writing
        The action of a vet.
    name
        As it stands on the label.
    agent
        Code of the agent in it.
    strength_percent
        Share of the agent [%], above 0 and up to 100.
    strength_basis
        What the strength is of: w/w, w/v, or `product` where doses are of the product itself.
    density_g_ml
        Density of a liquid [g/mL].
    pack_size, pack_unit
        What a pack holds [g or mL].
    withdrawal_degree_days, withdrawal_days
        From the label [°C d, d]; None where it gives none.
    note
        Why it stands there, or what is to be known of it.

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
    only_vets(writing, "put a product on the shelf")
    values = product_values(
        writing, name=name, agent=agent, strength_percent=strength_percent,
        strength_basis=strength_basis, density_g_ml=density_g_ml, pack_size=pack_size,
        pack_unit=pack_unit, withdrawal_degree_days=withdrawal_degree_days,
        withdrawal_days=withdrawal_days, note=note,
    )  # fmt: skip
    return writing.add("product", **values)


def change_product(
    writing: Writing, key: UUID, rev: int, why: str, name: str, agent: str, **values: Any
) -> int:
    """Change a product of the shelf.

    Parameters
    ----------
    writing
        The action of a vet.
    key, rev
        The entry, as the person saw it.
    why
        The reason, for the log.
    name, agent, **values
        As for `keep_product`.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    NotAllowed, BadInput
        As for `keep_product`.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    only_vets(writing, "change a product of the shelf")
    found = product_values(writing, name=name, agent=agent, **values)
    return writing.change("product", key, rev, reason(why), **found)


def strike_product(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Take a product off the shelf; it stays in the book.

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
    only_vets(writing, "take a product off the shelf")
    return writing.strike("product", key, reason(why), rev)

"""What was agreed for a visit about money and consent; never changed, the newest is in force."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.diary.kept.roster.source import reading
from store.errors import BadInput, NotFound
from store.text import plain

Consent = Literal["not asked", "to be signed", "signed"]
CONSENTS: tuple[Consent, ...] = ("not asked", "to be signed", "signed")
"""How far the consent form is."""
_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Terms:
    """What was agreed for a visit: prices in words, the consent form, who wrote it down and when.

    `prices` may be empty.
    """

    id: UUID
    visit_id: UUID
    prices: str
    consent: Consent
    by: str
    at: datetime


def set_terms(writing: Writing, visit_id: UUID, prices: str, consent: str) -> UUID | None:
    """Write down what was agreed for a visit; what was agreed before stays readable.

    Parameters
    ----------
    writing
        The action of the person.
    visit_id
        Key of the visit.
    prices
        In words, as they were agreed; empty where none were.
    consent
        One of `CONSENTS`.

    Returns
    -------
    UUID or None
        Key of the new row; None where the very same is in force already.

    Raises
    ------
    BadInput
        The form is none of these, or the words are too long. Nothing was saved.
    NotFound
        No such visit, or it was struck through.
    """
    found = next((one for one in CONSENTS if one == consent), None)
    if found is None:
        known = f"{', '.join(CONSENTS[:-1])} or {CONSENTS[-1]}"
        raise BadInput(
            f"The consent form is {known}, not “{plain(consent):.40}”. Nothing was saved.",
            field="consent",
        )
    visits = table("visit").c
    query = select(visits.id).where(visits.id == visit_id, visits.struck_at.is_(None))
    if writing.connection.execute(query).first() is None:
        raise NotFound("There is no such visit in the book, or it was struck through.")
    said = plain(" ".join(prices.split()))
    now = terms_of(writing.connection, [visit_id]).get(visit_id)
    if now is None and not said and found == "not asked":
        return None
    if now is not None and (now.prices, now.consent) == (said, found):
        return None
    return writing.add("visit_terms", visit_id=visit_id, prices=said, consent=found)


def terms_of(source: Book | Connection, visit_ids: Collection[UUID]) -> Mapping[UUID, Terms]:
    """What is in force for some visits.

    Parameters
    ----------
    source
        The practice's book, or a connection that reads or writes in it.
    visit_ids
        Keys of the visits.

    Returns
    -------
    Mapping
        By visit; one for which nothing was ever written down is not there.
    """
    terms, staff, keys = table("visit_terms").c, table("staff").c, list(visit_ids)
    found: dict[UUID, Terms] = {}
    with reading(source) as connection:
        for first in range(0, len(keys), _AT_ONCE):
            query = (
                select(
                    terms.id, terms.visit_id, terms.prices, terms.consent,
                    staff.initials, staff.name, terms.created_at,
                )
                .join_from(table("visit_terms"), table("staff"), staff.id == terms.created_by)
                .where(
                    terms.visit_id.in_(keys[first : first + _AT_ONCE]), terms.struck_at.is_(None)
                )
                .order_by(terms.created_at, terms.id)
            )  # fmt: skip
            for row in connection.execute(query):
                found[row.visit_id] = Terms(
                    row.id, row.visit_id, row.prices, row.consent, row.initials or row.name,
                    row.created_at,
                )  # fmt: skip
    return found

"""Test kits: as what they report, how old they are, and which is used at a pond."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from sqlalchemy import or_, select

from store.book.book import Book
from store.book.rows import Kept, columns_of, made_of, read_all, read_one
from store.book.tables import table

AmmoniaForm = Literal["n", "nh3", "nh4", "unknown"]
NitriteForm = Literal["no2", "n", "unknown"]
NitrateForm = Literal["no3", "n", "unknown"]


@dataclass(frozen=True, slots=True)
class Kit(Kept):
    """A kit of reagents, or a meter; `pond_id` when it stays at one pond."""

    name: str
    ammonia_form: AmmoniaForm
    nitrite_form: NitriteForm
    nitrate_form: NitrateForm
    batch: str
    expires_on: date | None
    ph_calibrated_on: date | None
    notes: str
    pond_id: UUID | None

    def expired(self, on: date) -> bool:
        """Whether the reagents are past their date.

        Parameters
        ----------
        on
            The calendar day of the test.

        Returns
        -------
        bool
            False when no date is known; the last day itself still counts.
        """
        return self.expires_on is not None and self.expires_on < on


def kits(book: Book, pond_id: UUID | None = None, *, struck: bool = False) -> tuple[Kit, ...]:
    """The kits a person can choose from, by name.

    Parameters
    ----------
    book
        The book.
    pond_id
        With this, the kits of the practice and of that pond; without, all.
    struck
        Also those that are struck through.

    Returns
    -------
    tuple of Kit
        In the order of the database's alphabet.
    """
    columns = table("kit").c
    here = () if pond_id is None else (or_(columns.pond_id.is_(None), columns.pond_id == pond_id),)
    return read_all(book, Kit, "kit", *here, order_by=(columns.name,), struck=struck)


def kit(book: Book, key: UUID) -> Kit:
    """One kit, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the kit.

    Returns
    -------
    Kit
        As entered.

    Raises
    ------
    NotFound
        When there is no such kit.
    """
    return read_one(book, Kit, "kit", key)


def own_kit(book: Book, pond_id: UUID) -> Kit | None:
    """The kit that was stated for the pond itself: what its owner tests with.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.

    Returns
    -------
    Kit or None
        None where the pond states none, or one that is struck through.
    """
    kit_table, pond = table("kit"), table("pond")
    query = (
        select(*columns_of(Kit, "kit"))
        .join(pond, pond.c.kit_id == kit_table.c.id)
        .where(pond.c.id == pond_id, kit_table.c.struck_at.is_(None))
    )
    with book.reading() as connection:
        row = connection.execute(query).one_or_none()
    return None if row is None else made_of(Kit, row)


def kit_in_use(book: Book, pond_id: UUID) -> Kit | None:
    """The kit that is taken for granted at a pond: the pond's own, else the practice's.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.

    Returns
    -------
    Kit or None
        None when neither states one. A kit that is struck through is passed over.
    """
    kit_table, pond, practice = table("kit"), table("pond"), table("practice")
    of_pond = select(pond.c.kit_id).where(pond.c.id == pond_id).scalar_subquery()
    of_practice = (
        select(practice.c.kit_id).where(practice.c.struck_at.is_(None)).limit(1).scalar_subquery()
    )
    query = (
        select(*columns_of(Kit, "kit"))
        .where(kit_table.c.struck_at.is_(None))
        .where(or_(kit_table.c.id == of_pond, kit_table.c.id == of_practice))
        .order_by((kit_table.c.id != of_pond).is_not(False))
        .limit(1)
    )
    with book.reading() as connection:
        row = connection.execute(query).one_or_none()
    return None if row is None else made_of(Kit, row)

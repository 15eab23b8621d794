"""Ponds, and the card that shows a pond with its site and client.

A pond is added and changed by `Writing.add("pond", ...)` and `Writing.change("pond", ...)`; its
volume by `store.book.volumes`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import ColumnElement, Table, and_, select

from store.book.book import Book
from store.book.clients import Client, Site
from store.book.rows import Kept, columns_of, field_names, made_of, read_all, read_one
from store.book.tables import table
from store.errors import NotFound

Use = Literal["ornamental", "food", "not asked"]
Shade = Literal["not asked", "open sky", "part of the day", "most of the day"]


@dataclass(frozen=True, slots=True)
class Pond(Kept):
    """A body of water that is tested and treated by itself.

    `volume_l` with its bounds is the estimate in force. `test_every_days` holds outside the
    seasons; each of `test_seasons` is `{"from": "MM-DD", "to": "MM-DD", "every_days": n}`.
    `shade` is how much of the day the water lies in shade, `heated` whether a heater warms it.
    """

    site_id: UUID
    name: str
    code: str
    use: Use
    volume_l: float | None
    volume_method: str
    volume_low_l: float | None
    volume_high_l: float | None
    volume_estimate_id: UUID | None
    depth_m: float | None
    lining: str
    filter: str
    uv: str
    source_water: str
    species: str
    stock_notes: str
    indoor: bool
    heated: bool
    shade: Shade
    test_every_days: int | None
    test_seasons: list[dict[str, Any]]
    kit_id: UUID | None
    notes: str


@dataclass(frozen=True, slots=True)
class PondCard:
    """A pond with the site where it lies and the client who owns it."""

    pond: Pond
    site: Site
    client: Client

    @property
    def struck(self) -> bool:
        """Whether the pond, its site or its client is struck through."""
        return any(row.struck_at is not None for row in (self.pond, self.site, self.client))


def standing() -> ColumnElement[bool]:
    """The condition that neither pond nor site nor client is struck through, for a joined query.

    Returns
    -------
    ColumnElement
        For `where` of a statement that joins the three tables.
    """
    joined: tuple[Table, ...] = (table("pond"), table("site"), table("client"))
    return and_(*(each.c.struck_at.is_(None) for each in joined))


def pond(book: Book, key: UUID) -> Pond:
    """One pond, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the pond.

    Returns
    -------
    Pond
        As entered.

    Raises
    ------
    NotFound
        When there is no such pond.
    """
    return read_one(book, Pond, "pond", key)


def ponds(book: Book, site_id: UUID | None = None, *, struck: bool = False) -> tuple[Pond, ...]:
    """The ponds of a site, or all, by name.

    Parameters
    ----------
    book
        The book.
    site_id
        Of which site; None for all.
    struck
        Also those that are struck through. A pond of a struck site counts as standing here.

    Returns
    -------
    tuple of Pond
        In the order of the database's alphabet.
    """
    columns = table("pond").c
    of_site = () if site_id is None else (columns.site_id == site_id,)
    return read_all(book, Pond, "pond", *of_site, order_by=(columns.name,), struck=struck)


def card(book: Book, key: UUID) -> PondCard:
    """A pond with its site and client, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the pond.

    Returns
    -------
    PondCard
        All three as entered.

    Raises
    ------
    NotFound
        When there is no such pond.
    """
    found = _cards(book, table("pond").c.id == key)
    if not found:
        raise NotFound("There is no such pond in the book.")
    return found[0]


def cards(book: Book) -> tuple[PondCard, ...]:
    """Every pond that stands in the book, with its site and client.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    tuple of PondCard
        By client, site and pond.
    """
    return _cards(book, standing())


def _cards(book: Book, condition: ColumnElement[bool]) -> tuple[PondCard, ...]:
    pond_table, site_table, client_table = table("pond"), table("site"), table("client")
    query = (
        select(*columns_of(Pond, "pond"), *columns_of(Site, "site"), *columns_of(Client, "client"))
        .join_from(pond_table, site_table, pond_table.c.site_id == site_table.c.id)
        .join(client_table, site_table.c.client_id == client_table.c.id)
        .where(condition)
        .order_by(client_table.c.name, site_table.c.name, pond_table.c.name, pond_table.c.id)
    )
    first = len(field_names(Pond))
    second = first + len(field_names(Site))
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(
        PondCard(
            made_of(Pond, row[:first]), made_of(Site, row[first:second]),
            made_of(Client, row[second:]),
        )
        for row in rows
    )  # fmt: skip

"""Clients and their sites.

Both are added and changed by `Writing.add("client", ...)` and `Writing.change("site", ...)`. A
client or site that is struck through takes its ponds out of the lists with it, and brings them back
when it is restored.
"""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from store.book.book import Book
from store.book.rows import Kept, read_all, read_one
from store.book.tables import table


@dataclass(frozen=True, slots=True)
class Client(Kept):
    """Who owns the ponds and answers the telephone."""

    name: str
    phone: str
    phone2: str
    email: str
    notes: str


@dataclass(frozen=True, slots=True)
class Site(Kept):
    """A place with ponds that one drive reaches; latitude and longitude in degrees (WGS 84)."""

    client_id: UUID
    name: str
    address: str
    town: str
    postcode: str
    latitude: float | None
    longitude: float | None
    elevation_m: float | None
    access_hours: str
    access_notes: str
    water_supply: str


def clients(book: Book, *, struck: bool = False) -> tuple[Client, ...]:
    """All clients by name.

    Parameters
    ----------
    book
        The book.
    struck
        Also those that are struck through.

    Returns
    -------
    tuple of Client
        In the order of the database's alphabet.
    """
    return read_all(book, Client, "client", order_by=(table("client").c.name,), struck=struck)


def client(book: Book, key: UUID) -> Client:
    """One client, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the client.

    Returns
    -------
    Client
        As entered.

    Raises
    ------
    NotFound
        When there is no such client.
    """
    return read_one(book, Client, "client", key)


def sites(book: Book, client_id: UUID | None = None, *, struck: bool = False) -> tuple[Site, ...]:
    """The sites of a client, or all, by name.

    Parameters
    ----------
    book
        The book.
    client_id
        Whose sites; None for all.
    struck
        Also those that are struck through.

    Returns
    -------
    tuple of Site
        In the order of the database's alphabet.
    """
    columns = table("site").c
    of_client = () if client_id is None else (columns.client_id == client_id,)
    return read_all(book, Site, "site", *of_client, order_by=(columns.name,), struck=struck)


def site(book: Book, key: UUID) -> Site:
    """One site, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the site.

    Returns
    -------
    Site
        As entered.

    Raises
    ------
    NotFound
        When there is no such site.
    """
    return read_one(book, Site, "site", key)

"""The clients of the book as far as a list is compared with them."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.clients import Client, Site, clients, sites
from store.book.merging.merge_clients import entered_as
from store.book.ponds import Pond, ponds
from store.book.tables import table
from store.exchange.catch_up.addresses import ListedAddress
from store.exchange.catch_up.doubles import Somebody
from store.exchange.catch_up.names import listed_name
from store.exchange.catch_up.telephones import telephones

TABLES = ("client", "site", "pond")
"""What a plan rests on: another stamp of them, and it has to be made anew."""


@dataclass(frozen=True, slots=True)
class KnownClient:
    """A client of the book with sites and ponds that are not struck through."""

    client: Client
    sites: tuple[Site, ...]
    ponds: dict[UUID, tuple[Pond, ...]]
    """By key of the site."""

    @property
    def phones(self) -> tuple[str, ...]:
        """All numbers, those that stand in the notes among them."""
        own = (one for one in (self.client.phone, self.client.phone2) if one)
        noted = telephones(self.client.notes).numbers if self.client.notes else ()
        return tuple(dict.fromkeys((*own, *noted)))

    @property
    def addresses(self) -> tuple[ListedAddress, ...]:
        """Of its sites, those without any left out."""
        found = (address_of(site) for site in self.sites)
        return tuple(one for one in found if one)

    @property
    def somebody(self) -> Somebody:
        """As it is compared."""
        mail = (self.client.email,) if self.client.email else ()
        return Somebody(
            self.client.id.hex, listed_name(self.client.name), self.phones, mail, self.addresses,
            tuple(map(listed_name, entered_as(self.client.notes))),
        )  # fmt: skip


def address_of(site: Site) -> ListedAddress:
    """The address of a site as addresses of a list are.

    Parameters
    ----------
    site
        Of the book.
    """
    return ListedAddress(", ".join(site.address.split("\n")), site.town, site.postcode)


def known_clients(book: Book) -> dict[str, KnownClient]:
    """All clients of the book that are not struck through.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    dict
        By the key of the client as 32 figures.
    """
    by_site: dict[UUID, list[Pond]] = {}
    for pond in ponds(book):
        by_site.setdefault(pond.site_id, []).append(pond)
    by_client: dict[UUID, list[Site]] = {}
    for site in sites(book):
        by_client.setdefault(site.client_id, []).append(site)
    found = {}
    for one in clients(book):
        own = tuple(by_client.get(one.id, ()))
        theirs = {site.id: tuple(by_site.get(site.id, ())) for site in own}
        found[one.id.hex] = KnownClient(one, own, theirs)
    return found


def was_brought(book: Book, sha256: str) -> str:
    """The day on which the very file was brought in before, as ISO text; empty if it was not.

    Parameters
    ----------
    book
        The practice's book.
    sha256
        The fingerprint of the file.
    """
    files = table("import_file").c
    query = (
        select(files.created_at)
        .where(files.sha256 == sha256, files.kind == "clients", files.struck_at.is_(None))
        .order_by(files.created_at.desc())
        .limit(1)
    )
    with book.reading() as connection:
        at = connection.execute(query).scalar()
    return "" if at is None else at.astimezone(book.zone).date().isoformat()

"""Who calls: found in the book by name and number as typed, or entered from the sheet of a call."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.declared import declared_by
from store.book.find import Found, find
from store.book.tables import TableName, table
from store.book.volumes import record_estimate
from store.book.writing import Writing
from store.diary.calling.sheet import Told, record_texts
from store.errors import BadInput, NotFound
from store.water.entered import RecordName, values_of
from store.water.volume import stated

_FEWEST_DIGITS = 5
"""So many digits of a number must have been typed before it finds somebody [count]."""
_FEWEST_LETTERS = 3
_RECORDS: tuple[RecordName, ...] = ("client", "site", "pond")
_POND_TOLD = ("ponds", "volume", "depth", "fish", "dead", "temperature", "readings", "put_in")
"""Questions whose answer says that there is a pond."""


@dataclass(frozen=True, slots=True)
class Whom:
    """Whom a call is about; site and pond are None where that is not known."""

    client_id: UUID
    site_id: UUID | None
    pond_id: UUID | None


def matches(book: Book, name: str, phone: str, street: str = "", *, limit: int = 5) -> tuple[
    Found, ...
]:  # fmt: skip
    """Clients and ponds in the book that fit a caller, those found by their number first.

    Parameters
    ----------
    book
        The book.
    name, phone, street
        As typed so far.
    limit
        The most that are given.
    """
    found: dict[tuple[UUID, UUID | None], Found] = {}
    if sum(letter.isdigit() for letter in phone) >= _FEWEST_DIGITS:
        for one in find(book, phone, limit):
            found.setdefault((one.client_id, one.pond_id), one)
    for text in (name, street):
        if sum(letter.isalpha() for letter in text) >= _FEWEST_LETTERS:
            for one in find(book, text, limit):
                found.setdefault((one.client_id, one.pond_id), one)
    return tuple(found.values())[:limit]


def enter_caller(writing: Writing, one: Told, today: date) -> Whom:
    """Enter a caller who is not in the book, with a site, and a pond where one was told of.

    Parameters
    ----------
    writing
        The action of the person.
    one
        What was told.
    today
        The practice's calendar day.

    Returns
    -------
    Whom
        The new client, site and pond. A volume that was told stands as stated by the owner.

    Raises
    ------
    BadInput
        `field` is the code of the question whose answer cannot be kept.
    """
    texts = record_texts(one)
    client = _added(writing, "client", texts)
    site = _added(writing, "site", texts, client_id=client)
    if not any(one.text(code) for code in _POND_TOLD):
        return Whom(client, site, None)
    log_why = declared_by(texts["pond.said_by"]) if texts["pond.said_by"] else ""
    pond = _added(writing, "pond", texts, site_id=site, log_why=log_why)
    if one.volume_l is not None:
        volume = stated(one.volume_l)
        record_estimate(
            writing, pond, method=volume.method, litres=volume.litres, low_l=volume.low_l,
            high_l=volume.high_l, measured_on=today, pond_rev=1,
            workings=f"{volume.workings}; told on the telephone as “{one.text('volume')}”",
        )  # fmt: skip
    return Whom(client, site, pond)


_ASKED = {
    "client.name": "caller", "client.phone": "phone", "site.address": "address",
    "site.town": "town", "site.postcode": "town", "site.access_notes": "access",
    "site.water_supply": "site_water", "pond.species": "fish", "pond.depth_m": "depth",
}  # fmt: skip
"""Under which question the text of a column was typed."""


def _added(writing: Writing, record: RecordName, texts: dict[str, str], **more: Any) -> UUID:
    start = f"{record}."
    own = {name.removeprefix(start): text for name, text in texts.items() if name.startswith(start)}
    try:
        return writing.add(record, **{**values_of(record, own), **more})
    except BadInput as trouble:
        name = f"{start}{trouble.field}"
        raise BadInput(trouble.message, field=_ASKED.get(name)) from trouble


def settled(
    writing: Writing, client_id: UUID | None, site_id: UUID | None, pond_id: UUID | None
) -> Whom:
    """Whom a call is about, with the only site and the only pond where nobody named another.

    Parameters
    ----------
    writing
        The action, whose transaction is looked at.
    client_id, site_id, pond_id
        What was chosen.

    Raises
    ------
    NotFound
        One of them is not in the book, or was struck through.
    BadInput
        They do not belong together.
    """
    if pond_id is not None:
        site_id = _owner(writing, "pond", pond_id, "site_id", site_id)
    elif site_id is None and client_id is not None:
        site_id = _only(writing, "site", "client_id", client_id)
    if site_id is not None:
        client_id = _owner(writing, "site", site_id, "client_id", client_id)
        if pond_id is None:
            pond_id = _only(writing, "pond", "site_id", site_id)
    if client_id is None:
        raise NotFound("Nobody was named whom the call is about. Nothing was saved.")
    clients = table("client").c
    query = select(clients.id).where(clients.id == client_id, clients.struck_at.is_(None))
    if writing.connection.execute(query).first() is None:
        raise NotFound("There is no such client in the book, or it was struck through.")
    return Whom(client_id, site_id, pond_id)


def _owner(
    writing: Writing, name: TableName, key: UUID, column: str, said: UUID | None
) -> UUID:  # fmt: skip
    target = table(name)
    query = select(target.c[column]).where(target.c.id == key, target.c.struck_at.is_(None))
    owner: UUID | None = writing.connection.execute(query).scalar()
    if owner is None:
        raise NotFound(f"There is no such {name} in the book, or it was struck through.")
    if said is not None and said != owner:
        raise BadInput(f"This {name} belongs to somebody else. Nothing was saved.")
    return owner


def _only(writing: Writing, name: TableName, column: str, key: UUID) -> UUID | None:
    target = table(name)
    query = select(target.c.id).where(target.c[column] == key, target.c.struck_at.is_(None))
    found = writing.connection.execute(query.limit(2)).all()
    only: UUID | None = found[0][0] if len(found) == 1 else None
    return only

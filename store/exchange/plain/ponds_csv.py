"""Clients, sites and ponds out of a sheet: one row a pond."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.declared import DECLARES, declared_by
from store.book.tables import TableName, table
from store.book.volumes import record_estimate
from store.book.writing import Writing
from store.errors import BadInput, PondroundError
from store.exchange.plain.cells import cell_value
from store.exchange.plain.planned import (
    Columns,
    Done,
    Gathering,
    Plan,
    brought_before,
    keep_file,
    unread,
)
from store.exchange.plain.table import Row, open_sheet
from store.text import plain
from store.water.measures import quantity, to_litres
from store.water.plan import typed_seasons
from store.water.volume import stated

_CLIENT = {
    "client": ("client name", "owner", "customer"),
    "phone": ("telephone", "tel", "mobile"),
    "phone2": ("telephone 2", "second phone"),
    "email": ("e-mail", "mail"),
    "client_notes": (),
}
_SITE = {
    "site": ("site name", "place"),
    "address": ("street",),
    "town": ("city",),
    "postcode": ("post code", "zip", "postal code"),
    "latitude": ("lat",),
    "longitude": ("lon", "lng"),
    "elevation_m": ("elevation", "altitude", "altitude_m"),
    "access_hours": (),
    "access_notes": ("access",),
    "water_supply": (),
}
_POND = {
    "pond": ("pond name", "name"),
    "code": ("pond code",),
    "use": (),
    "depth_m": ("depth",),
    "lining": ("liner",),
    "filter": (),
    "uv": (),
    "source_water": ("water source",),
    "species": ("fish",),
    "stock_notes": ("stock",),
    "indoor": ("indoors",),
    "heated": ("heating", "heater"),
    "shade": ("in shade", "shaded"),
    "test_every_days": ("every_days", "test every", "test every days"),
    "notes": ("pond_notes", "remarks"),
}
_VOLUME = {
    "volume_l": ("volume", "litres", "liters"),
    "volume_low_l": (),
    "volume_high_l": (),
    "volume_method": ("volume by",),
    "volume_on": ("volume measured on",),
    "volume_workings": (),
}
_FURTHER = {"test_seasons": ("seasons",), "kit": ("kit name",)}
_COLUMN = {
    "client": "name",
    "client_notes": "notes",
    "site": "name",
    "pond": "name",
}


@dataclass(frozen=True, slots=True)
class PlannedVolume:
    """A finding of a pond's volume [L]."""

    litres: float
    low_l: float
    high_l: float
    method: str
    workings: str
    measured_on: date


@dataclass(frozen=True, slots=True)
class PlannedPond:
    """A pond that the file would bring, with its client and site as columns of the book."""

    line: int
    client: Mapping[str, Any]
    site: Mapping[str, Any]
    pond: Mapping[str, Any]
    volume: PlannedVolume | None
    kit: UUID | None


def read_ponds(path: Path, book: Book, now: datetime) -> Plan[PlannedPond]:
    """What a sheet of ponds would bring into the book; nothing is saved.

    Columns `client` and `pond` are needed. A client of the same name, and a site of the same name
    of that client, are taken to be the ones in the book and stay as they are; so does a pond of the
    same name on that site. The site is called as its town where the file names none.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    now
        The present instant, for the day of a stated volume.

    Returns
    -------
    Plan of PlannedPond
        With refused rows and what was supposed.

    Raises
    ------
    BadInput
        When the file cannot be read, or lacks a column.
    """
    sheet = open_sheet(path)
    columns = Columns(sheet.header, {**_CLIENT, **_SITE, **_POND, **_VOLUME, **_FURTHER})
    columns.need("client", "pond")
    gathering = Gathering()
    with book.reading() as connection:
        present, codes, kits = _present(connection), _codes(connection), _kits(connection)
        phones = _phones(connection)
    today = book.today(now)
    items: list[PlannedPond] = []
    already = supposed = 0
    for row in gathering.fitting(sheet):
        try:
            one = _planned(row, columns, kits, today)
            key = _names(one)
            if key in present:
                already += 1
                continue
            _same_client(one, phones)
            code = str(one.pond["code"]).casefold()
            if code and code in codes:
                raise BadInput(f"The code “{one.pond['code']:.40}” is that of another pond.")
            present.add(key)
            codes.add(code)
            items.append(one)
            supposed += one.volume is not None and one.volume.method == "stated"
        except PondroundError as error:
            gathering.refuse(row, error.message)
    told = [*brought_before(book, sheet)]
    if supposed:
        told.append(
            f"{supposed} volumes say no method: they are kept as stated, with the doubt that "
            "belongs to that."
        )
    told.extend(unread(sheet.header, columns.rest))
    return Plan(
        "ponds",
        path,
        sheet.sha256,
        sheet.header,
        gathering.rows_read,
        tuple(items),
        tuple(gathering.refused),
        already,
        tuple(told),
        sheet.separator,
    )


def save_ponds(book: Book, act: Act, plan: Plan[PlannedPond]) -> Done:
    """Save the ponds of a plan in one transaction, with clients and sites that are new.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_ponds`.

    Returns
    -------
    Done
        How many ponds were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    if not plan.items:
        return Done(0, plan.already, len(plan.refused))
    added = 0
    with book.writing(act) as writing:
        present = _present(writing.connection)
        clients, sites = _keys(writing.connection)
        for one in plan.items:
            if _names(one) in present:
                continue
            client_name, site_name, _ = _names(one)
            if client_name not in clients:
                clients[client_name] = writing.add("client", **one.client)
            client = clients[client_name]
            if (client, site_name) not in sites:
                sites[client, site_name] = writing.add("site", client_id=client, **one.site)
            _add_pond(writing, sites[client, site_name], one, plan.path.name)
            added += 1
        if added:
            keep_file(writing, plan, added)
    return Done(added, plan.already + len(plan.items) - added, len(plan.refused))


def _add_pond(writing: Writing, site: UUID, one: PlannedPond, file: str) -> None:
    # What a file says of eating, nobody of the practice was told: the file itself is named.
    why = declared_by(f"the file {file}") if one.pond["use"] in DECLARES else ""
    pond = writing.add("pond", log_why=why, site_id=site, kit_id=one.kit, **one.pond)
    if one.volume is not None:
        record_estimate(
            writing,
            pond,
            method=one.volume.method,
            litres=one.volume.litres,
            low_l=one.volume.low_l,
            high_l=one.volume.high_l,
            workings=one.volume.workings,
            measured_on=one.volume.measured_on,
            pond_rev=1,
        )


def _planned(row: Row, columns: Columns, kits: Mapping[str, UUID], today: date) -> PlannedPond:
    client = _values("client", _CLIENT, row, columns)
    site = _values("site", _SITE, row, columns, leave=("site",))
    town = columns.text(row, "town")
    site["name"] = cell_value("site", "name", columns.text(row, "site") or town or "Home")
    pond = _values("pond", _POND, row, columns)
    pond["test_seasons"] = typed_seasons(columns.text(row, "test_seasons"))
    kit_name = columns.text(row, "kit")
    kit = kits.get(_folded(kit_name)) if kit_name else None
    if kit_name and kit is None:
        raise BadInput(f"No kit, or more than one, is called “{plain(kit_name):.60}”.")
    return PlannedPond(row.line, client, site, pond, _volume(row, columns, today), kit)


def _values(
    name: TableName,
    known: Mapping[str, tuple[str, ...]],
    row: Row,
    columns: Columns,
    leave: tuple[str, ...] = (),
) -> dict[str, Any]:
    return {
        _COLUMN.get(column, column): cell_value(
            name, _COLUMN.get(column, column), columns.text(row, column)
        )
        for column in known
        if column not in leave
    }


def _volume(row: Row, columns: Columns, today: date) -> PlannedVolume | None:
    text = columns.text(row, "volume_l")
    if not text:
        return None
    number, unit = quantity(text, "volume")
    litres = to_litres(number, unit or "L")
    on = cell_value("volume_estimate", "measured_on", columns.text(row, "volume_on") or str(today))
    if on > today:
        raise BadInput(f"The volume was found on {on}, which lies ahead.")
    method = cell_value("volume_estimate", "method", columns.text(row, "volume_method") or "stated")
    bounds = stated(litres)
    low_l = cell_value("volume_estimate", "low_l", columns.text(row, "volume_low_l") or "0")
    high_l = cell_value("volume_estimate", "high_l", columns.text(row, "volume_high_l") or "1")
    low_l = low_l if columns.text(row, "volume_low_l") else bounds.low_l
    high_l = high_l if columns.text(row, "volume_high_l") else bounds.high_l
    if not low_l <= litres <= high_l:
        raise BadInput(f"The volume {litres:g} L does not lie between {low_l:g} and {high_l:g} L.")
    cell_value("volume_estimate", "litres", str(litres))
    workings = columns.text(row, "volume_workings") or (
        bounds.workings if method == "stated" else ""
    )
    return PlannedVolume(litres, low_l, high_l, method, workings, on)


def _names(one: PlannedPond) -> tuple[str, str, str]:
    return _folded(one.client["name"]), _folded(one.site["name"]), _folded(one.pond["name"])


def _same_client(one: PlannedPond, phones: dict[str, set[str]]) -> None:
    """Refuse a client of a known name with another telephone number: it may be somebody else."""
    name = _folded(one.client["name"])
    number = _digits(one.client["phone"])
    known = phones.setdefault(name, set())
    if number and known and number not in known:
        raise BadInput(
            f"There is a client “{one.client['name']:.60}” with another telephone number. Write "
            "the names apart, or the same number."
        )
    if number:
        known.update({number, _digits(one.client["phone2"])} - {""})


def _digits(phone: str) -> str:
    return "".join(letter for letter in phone if letter.isdigit())


def _phones(connection: Connection) -> dict[str, set[str]]:
    clients = table("client").c
    found: dict[str, set[str]] = {}
    for name, *numbers in connection.execute(
        select(clients.name, clients.phone, clients.phone2).where(clients.struck_at.is_(None))
    ):
        found.setdefault(_folded(name), set()).update(
            _digits(number) for number in numbers if _digits(number)
        )
    return found


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _present(connection: Connection) -> set[tuple[str, str, str]]:
    """Client, site and name of every pond that stands in the book."""
    clients, sites, ponds = table("client"), table("site"), table("pond")
    query = (
        select(clients.c.name, sites.c.name, ponds.c.name)
        .select_from(ponds)
        .join(sites, sites.c.id == ponds.c.site_id)
        .join(clients, clients.c.id == sites.c.client_id)
        .where(*(each.c.struck_at.is_(None) for each in (clients, sites, ponds)))
    )
    return {
        (_folded(client), _folded(site), _folded(pond))
        for client, site, pond in connection.execute(query)
    }


def _codes(connection: Connection) -> set[str]:
    ponds = table("pond").c
    query = select(ponds.code).where(ponds.struck_at.is_(None), ponds.code != "")
    return {code.casefold() for code in connection.execute(query).scalars()}


def _kits(connection: Connection) -> dict[str, UUID]:
    """Kits by name; a name that two kits have is left out."""
    kits = table("kit").c
    found: dict[str, list[UUID]] = {}
    for key, name in connection.execute(select(kits.id, kits.name).where(kits.struck_at.is_(None))):
        found.setdefault(_folded(name), []).append(key)
    return {name: keys[0] for name, keys in found.items() if len(keys) == 1}


def _keys(connection: Connection) -> tuple[dict[str, UUID], dict[tuple[UUID, str], UUID]]:
    """The clients by name and the sites by client and name; the first of those of one name."""
    clients, sites = table("client").c, table("site").c
    by_name: dict[str, UUID] = {}
    for key, name in connection.execute(
        select(clients.id, clients.name).where(clients.struck_at.is_(None)).order_by(clients.id)
    ):
        by_name.setdefault(_folded(name), key)
    by_site: dict[tuple[UUID, str], UUID] = {}
    for key, client, name in connection.execute(
        select(sites.id, sites.client_id, sites.name)
        .where(sites.struck_at.is_(None))
        .order_by(sites.id)
    ):
        by_site.setdefault((client, _folded(name)), key)
    return by_name, by_site

"""The rows of a client list as clients: continued rows, totals and headings in between."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from store.exchange.catch_up.addresses import ListedAddress, listed_address
from store.exchange.catch_up.doubles import same_place
from store.exchange.catch_up.folding import squeezed
from store.exchange.catch_up.list_columns import ListShape, called, is_heading
from store.exchange.catch_up.list_words import Meaning
from store.exchange.catch_up.names import ListedName, joined_name, listed_name
from store.exchange.catch_up.pond_remarks import (
    ProposedPond,
    proposed_ponds,
    read_depth,
    read_volume,
)
from store.exchange.catch_up.telephones import telephones
from store.text import plain

_Item = TypeVar("_Item")
_TOTAL = re.compile(
    r"(?:grand |sub ?)?totals?\b|sum\b|summe\b|gesamt\b|count\b|number of (?:clients|customers)\b"
    r"|end of (?:list|report)\b|\d+ (?:clients|customers|records|rows)\b",
    re.IGNORECASE,
)
_FOOT = re.compile(
    r"\*|page \d|printed\b|report (?:date|run)\b|note:|notes:|\(c\)|©|--+|==+", re.IGNORECASE
)
_MAIL = re.compile(r"[^\s@,;<>()]+@[^\s@,;<>()]+\.[^\s@,;<>()]+")


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row of the file: its line and its cells."""

    line: int
    cells: tuple[str, ...]

    def text(self, place: int) -> str:
        """The cell of a column without blanks at its ends; empty where the row is shorter."""
        return self.cells[place].strip() if place < len(self.cells) else ""


@dataclass(frozen=True, slots=True)
class ListedClient:
    """A client of the list; `rows` are all that speak of it, the first names it.

    `ponds` come from columns of their own and are taken; `proposed` were read out of remarks.
    `notes` are the lines that are kept in words, remarks first.
    """

    rows: tuple[ListRow, ...]
    name: ListedName
    number: str
    phones: tuple[str, ...]
    emails: tuple[str, ...]
    addresses: tuple[ListedAddress, ...]
    ponds: tuple[ProposedPond, ...]
    proposed: tuple[ProposedPond, ...]
    notes: tuple[str, ...]
    doubts: tuple[str, ...] = ()

    @property
    def line(self) -> int:
        """The line that names it."""
        return self.rows[0].line


@dataclass(slots=True)
class Listing:
    """What the rows of a list gave: clients in their order, and rows that speak of none."""

    clients: list[ListedClient] = field(default_factory=list)
    passed: list[tuple[ListRow, str]] = field(default_factory=list)
    """Rows that were passed over, each with what it is: a total, a heading, a footnote."""
    refused: list[tuple[ListRow, str]] = field(default_factory=list)
    continued: int = 0


def listed_clients(rows: Sequence[ListRow], shape: ListShape) -> Listing:
    """The clients that the rows behind the heading speak of.

    Parameters
    ----------
    rows
        All rows of the sheet, title lines among them.
    shape
        What the columns mean.

    Returns
    -------
    Listing
        A row without a name belongs to the client above it.
    """
    listing = Listing()
    for place, row in enumerate(rows):
        if place <= shape.header_at:
            if place < shape.header_at and any(cell.strip() for cell in row.cells):
                listing.passed.append((row, "title"))
            continue
        if not any(cell.strip() for cell in row.cells):
            continue
        if is_heading(row.cells, shape):
            listing.passed.append((row, "heading"))
        elif (what := _no_client(row, shape)) is not None:
            listing.passed.append((row, what))
        else:
            _take(listing, row, shape)
    return listing


def joined(first: ListedClient, second: ListedClient) -> ListedClient:
    """Two entries of the list that are one client; nothing of the second is lost.

    Parameters
    ----------
    first, second
        The first gives the name; another name of the second becomes a note.

    Returns
    -------
    ListedClient
        With the rows of both.
    """
    more = []
    if second.name.typed != first.name.typed:
        more.append(f"Also listed as {second.name.typed}")
    if second.number and second.number != first.number:
        more.append(f"Also number {second.number}")
    second = _moved(second, first.addresses)
    return replace(
        first,
        rows=first.rows + second.rows,
        phones=_both(first.phones, second.phones),
        emails=_both(first.emails, second.emails),
        addresses=_both(first.addresses, second.addresses),
        ponds=_both(first.ponds, second.ponds),
        proposed=_both(first.proposed, second.proposed),
        notes=_both(first.notes, (*second.notes, *more)),
        doubts=_both(first.doubts, second.doubts),
        number=first.number or second.number,
    )


def _moved(one: ListedClient, known: tuple[ListedAddress, ...]) -> ListedClient:
    """The entry with its addresses written as those of another that are the same place."""

    def of(address: ListedAddress) -> ListedAddress:
        return next((other for other in known if same_place(address, other)), address)

    def placed(ponds: tuple[ProposedPond, ...]) -> tuple[ProposedPond, ...]:
        return tuple(
            pond if pond.place is None else replace(pond, place=of(pond.place)) for pond in ponds
        )

    return replace(
        one,
        addresses=tuple(of(address) for address in one.addresses),
        ponds=placed(one.ponds),
        proposed=placed(one.proposed),
    )


def _both(one: tuple[_Item, ...], other: tuple[_Item, ...]) -> tuple[_Item, ...]:
    return tuple(dict.fromkeys((*one, *other)))


def _take(listing: Listing, row: ListRow, shape: ListShape) -> None:
    name = _name(row, shape)
    if name is not None:
        listing.clients.append(_client(row, shape, name))
    elif not listing.clients:
        listing.refused.append((row, "The row names no client, and no client stands above it."))
    else:
        above = listing.clients[-1]
        more = _client(row, shape, above.name)
        if more.number and more.number != above.number:
            listing.refused.append(
                (row, f"The row has a number of its own ({more.number:.30}) and no name.")
            )
            return
        listing.clients[-1] = joined(above, more)
        listing.continued += 1


def _name(row: ListRow, shape: ListShape) -> ListedName | None:
    def text(meaning: Meaning) -> str:
        places = shape.places(meaning)
        return row.text(places[0]) if places else ""

    whole, surname, given = text("name"), text("surname"), text("given")
    title, firm = text("title"), text("firm")
    if surname or (given and not whole):
        return joined_name(title, given, surname or "", firm)
    if whole:
        if title and not given:
            named = listed_name(whole)
            if named.shown == whole and not named.firm:
                return listed_name(f"{title} {whole}")
            return replace(named, shown=f"{title} {named.shown}", typed=f"{title}, {whole}")
        if given:
            # `Name` holds the surname where the first name has a column of its own.
            return joined_name(title, given, whole, firm)
        named = listed_name(whole)
        if firm and squeezed(firm).casefold() != named.shown.casefold():
            return replace(named, shown=f"{named.shown}, {squeezed(plain(firm))}")
        return named
    return joined_name("", "", "", firm) if firm else None


def _client(row: ListRow, shape: ListShape, name: ListedName) -> ListedClient:
    def texts(meaning: Meaning) -> list[str]:
        return [cell for place in shape.places(meaning) if (cell := row.text(place))]

    def first(meaning: Meaning) -> str:
        return next(iter(texts(meaning)), "")

    notes: list[str] = []
    doubts: list[str] = []
    phones: list[str] = []
    emails: list[str] = []
    for cell in texts("phone"):
        emails.extend(_MAIL.findall(cell))
        read = telephones(_MAIL.sub(" ", cell))
        phones.extend(read.numbers)
        if read.note:
            notes.append(f"Telephone: {read.note}")
        if read.spoilt:
            notes.append(f"Telephone in the list: {read.spoilt}")
            doubts.append(f"the telephone {read.spoilt} lost its digits when the list was written")
    for cell in texts("email"):
        found = _MAIL.findall(cell)
        emails.extend(found)
        if not found:
            notes.append(f"Mail: {squeezed(plain(cell))}")
            doubts.append(f"“{squeezed(plain(cell)):.60}” is no mail address: kept in the notes")
    address = listed_address(
        texts("address"), town=first("town"), county=first("county"), postcode=first("postcode")
    )
    remarks = [plain(cell, lines=True).strip() for cell in texts("remarks")]
    for place in shape.places("remarks"):
        if (cell := row.text(place)) and _is_number(cell):
            heading = next(called(one) for one in shape.columns if one.place == place)
            remarks = [one for one in remarks if one != cell] + [f"{heading}: {cell}"]
    here = address or None
    proposed = tuple(
        replace(pond, place=here) for remark in remarks for pond in proposed_ponds(remark)
    )
    ponds = tuple(replace(pond, place=here) for pond in _ponds(row, shape, notes, doubts))
    return ListedClient(
        (row,), name, squeezed(plain(first("number"))), tuple(dict.fromkeys(phones)),
        tuple(dict.fromkeys(emails)), (address,) if address else (), ponds, proposed,
        tuple(dict.fromkeys([*remarks, *notes])), tuple(doubts),
    )  # fmt: skip


def _ponds(
    row: ListRow, shape: ListShape, notes: list[str], doubts: list[str]
) -> tuple[ProposedPond, ...]:
    """The pond that has columns of its own; what cannot be read stays in its words."""

    def first(meaning: Meaning) -> str:
        return next((cell for place in shape.places(meaning) if (cell := row.text(place))), "")

    name, volume, depth, species = (first("pond"), first("volume"), first("depth"),
                                    first("species"))  # fmt: skip
    if not any((name, volume, depth, species)):
        return ()
    said = "; ".join(
        f"{label} {squeezed(plain(cell))}"
        for label, cell in (("", name), ("volume", volume), ("depth", depth), ("fish", species))
        if cell
    ).strip()
    typed, litres, gallons, doubt = read_volume(volume, shape.unit("volume"))
    found_depth = read_depth(depth, shape.unit("depth")) if depth else None
    told = [doubt] if doubt else []
    if depth and found_depth is None:
        told.append(f"the depth “{squeezed(plain(depth)):.30}” has no unit or cannot be read")
    called_pond = squeezed(plain(name)) or "Pond"
    if told and not gallons:
        notes.append(f"{called_pond} in the list: {said}")
    doubts.extend(f"{called_pond}: {one}" for one in told)
    return (
        ProposedPond(
            called_pond, said, typed, litres, gallons, found_depth,
            squeezed(plain(species)), tuple(told),
        ),
    )  # fmt: skip


def _no_client(row: ListRow, shape: ListShape) -> str | None:
    """What a row is that speaks of no client: a total, a footnote; None where it may be one."""
    filled = [cell.strip() for cell in row.cells if cell.strip()]
    first = filled[0]
    contacts = (*shape.places("phone"), *shape.places("email"), *shape.places("address"))
    contact = any(row.text(place) for place in contacts)
    if _TOTAL.match(first) and not (contact and len(filled) > 2):
        return "total"
    if len(filled) == 1 and len(shape.columns) > 1 and _FOOT.match(first):
        return "footnote"
    if all(_is_number(cell) for cell in filled) and not contact:
        return "total"
    return None


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[£$€]?\s*-?[\d.,\s]+%?", text) is not None

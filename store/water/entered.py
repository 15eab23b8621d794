"""What is typed into the forms of the records, as values of the book, and back."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from types import MappingProxyType
from typing import Any, Literal
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.declared import declare_in_form, declared_by
from store.book.writing import Writing
from store.errors import BadInput
from store.water.measures import quantity, to_metres
from store.water.plan import MOST_DAYS, said_seasons, typed_seasons

SAID_BY = "said_by"
"""The field of a pond's form for who said whether its fish may be eaten."""
RecordName = Literal["client", "site", "pond", "staff", "kit", "practice"]
Texts = Mapping[str, str]

_WORDS: Mapping[RecordName, tuple[str, ...]] = MappingProxyType(
    {
        "client": ("name", "phone", "phone2", "email", "notes"),
        "site": ("name", "address", "town", "postcode", "access_hours", "access_notes",
                 "water_supply"),
        "pond": ("name", "code", "use", "shade", "lining", "filter", "uv", "source_water",
                 "species", "stock_notes", "notes"),
        "staff": ("name", "role", "initials"),
        "kit": ("name", "ammonia_form", "nitrite_form", "nitrate_form", "batch", "notes"),
        "practice": ("name", "time_zone", "country"),
    }
)  # fmt: skip


def _degrees(text: str, field: str) -> float | None:
    if not text.strip():
        return None
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([NSEWnsew]?)\s*", text)
    if found is None:
        raise BadInput(
            "Write degrees with decimals, such as 51.5074 or 0.1278 W. Nothing was saved.",
            field=field,
        )
    number = float(found[1].replace(",", "."))
    side = found[2].upper()
    if side and (side in "NS") != (field == "latitude"):
        raise BadInput(f"{side} does not belong here. Nothing was saved.", field=field)
    return -abs(number) if side in ("S", "W") else number


def _metres(text: str, field: str) -> float | None:
    if not text.strip():
        return None
    try:
        return to_metres(*quantity(text, "length"))
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field) from trouble


def _day(text: str, field: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise BadInput(
            "Write the day as year-month-day, such as 2027-04-30. Nothing was saved.", field=field
        ) from error


def _interval(text: str, field: str) -> int | None:
    if not text.strip():
        return None
    found = re.fullmatch(r"\s*(\d{1,3})\s*(d|days?|w|weeks?)?\s*", text.casefold())
    days = int(found[1]) * (7 if (found[2] or "d")[0] == "w" else 1) if found else 0
    if not 1 <= days <= MOST_DAYS:
        raise BadInput(
            f"Write the days between two tests, 1 to {MOST_DAYS}. Nothing was saved.", field=field
        )
    return days


def _key(text: str, field: str) -> UUID | None:
    return UUID(text) if text else None


_READ: Mapping[RecordName, Mapping[str, Callable[[str, str], Any]]] = MappingProxyType(
    {
        "client": {},
        "site": {"latitude": _degrees, "longitude": _degrees, "elevation_m": _metres},
        "pond": {
            "depth_m": _metres,
            "indoor": lambda text, _field: text == "yes",
            "heated": lambda text, _field: text == "yes",
            "test_every_days": _interval,
            "test_seasons": lambda text, _field: typed_seasons(text),
            "kit_id": _key,
        },
        "staff": {},
        "kit": {"expires_on": _day, "ph_calibrated_on": _day},
        "practice": {"kit_id": _key},
    }
)


def _said(name: str, value: Any) -> str:
    if name in ("indoor", "heated"):
        return "yes" if value else "no"
    if name == "test_seasons":
        return said_seasons(value)
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)


def fields_of(record: RecordName) -> tuple[str, ...]:
    """The columns of a record that a form asks for.

    Parameters
    ----------
    record
        A table with a form.
    """
    return (*_WORDS[record], *_READ[record])


def texts_of(record: RecordName, row: object) -> dict[str, str]:
    """What stands in the fields of a record's form.

    Parameters
    ----------
    record
        The table.
    row
        The record, such as a `Pond`.

    Returns
    -------
    dict
        By column. Lengths are in metres, days as year-month-day.
    """
    return {name: _said(name, getattr(row, name)) for name in fields_of(record)}


def values_of(record: RecordName, texts: Texts) -> dict[str, Any]:
    """The typed texts as values of the book.

    Parameters
    ----------
    record
        The table.
    texts
        By column; those left out stay out.

    Returns
    -------
    dict
        By column.

    Raises
    ------
    BadInput
        Naming the field that cannot be read.

    Examples
    --------
    >>> values_of("pond", {"depth_m": "4 ft", "test_every_days": "2 weeks"})
    {'depth_m': 1.2192, 'test_every_days': 14}
    """
    readers = _READ[record]
    return {
        name: readers[name](text, name) if name in readers else text
        for name, text in texts.items()
        if name in fields_of(record)
    }


def save_texts(
    book: Book,
    act: Act,
    record: RecordName,
    texts: Texts,
    *,
    key: UUID | None = None,
    rev: int = 0,
    begun: Texts | None = None,
) -> UUID:
    """Save a form: a new record, or the changed fields of one that is there.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    record
        The table.
    texts
        Everything that stands in the form, by column; for a pond also `said_by`, who said whether
        its fish may be eaten: without it that stays as it is.
    key, rev
        The record and the revision that the person saw; no key for a new one.
    begun
        What stood in the form at first: only what differs from it is changed.

    Returns
    -------
    UUID
        Key of the record.

    Raises
    ------
    BadInput
        Naming the field.
    ChangedMeanwhile
        Somebody else changed the record after it was read.
    """
    if key is not None and begun is not None:
        texts = {name: text for name, text in texts.items() if text != begun.get(name)}
    values = values_of(record, texts)
    with book.writing(act) as writing:
        if key is None:
            return writing.add(record, **_named(record, texts, values))
        use = values.pop("use", (begun or {}).get("use")) if record == "pond" else None
        rev = writing.change(record, key, rev, **values)
        if use is not None:
            declare_in_form(writing, key, rev, use, texts.get(SAID_BY, ""))
        return key


def _named(record: RecordName, texts: Texts, values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a new record; of a pond with who said whether its fish may be eaten."""
    if record != "pond" or values.get("use", "not asked") == "not asked":
        return dict(values)
    return {**values, "log_why": declared_by(texts.get(SAID_BY, ""))}


def save_new_pond(
    book: Book,
    act: Act,
    texts: Texts,
    *,
    client_id: UUID | None = None,
    site_id: UUID | None = None,
) -> UUID:
    """Save a client, a site and a pond typed into one form, all of them or nothing.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    texts
        By record and column, such as `client.name`, `pond.depth_m`.
    client_id, site_id
        What is there already and gets the pond; with a site nothing but the pond is new.

    Returns
    -------
    UUID
        Key of the pond.

    Raises
    ------
    BadInput
        Its field is named in the same way, such as `site.town`.
    """

    def add(writing: Writing, record: RecordName, **owner: UUID | None) -> UUID:
        start = f"{record}."
        own = {
            name.removeprefix(start): text for name, text in texts.items() if name.startswith(start)
        }
        try:
            return writing.add(record, **{**_named(record, own, values_of(record, own)), **owner})
        except BadInput as trouble:
            raise BadInput(
                trouble.message, field=start + trouble.field if trouble.field else None
            ) from trouble

    with book.writing(act) as writing:
        if site_id is None:
            client = client_id or add(writing, "client")
            site_id = add(writing, "site", client_id=client)
        return add(writing, "pond", site_id=site_id)

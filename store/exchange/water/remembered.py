"""How sheets of one source are read, as a person said it: kept for the next file from there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.exchange.columns import Shape, shape_from
from store.text import plain

_MOST = 500


@dataclass(frozen=True, slots=True)
class Remembered:
    """What the book keeps of a source, when it was said, and the file it was said of.

    `shape` is taken without asking. `blocks` and `pond` belong to one file, since two owners may
    use the same headings: they are proposed where they are asked about, and never taken.
    """

    shape: Shape
    said_at: datetime
    name: str
    blocks: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    pond: str = ""
    kept: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    """As it stands in the book."""


def remembered(book: Book, kind: str, source: str, titles: Sequence[str] = ()) -> Remembered | None:
    """What is in force for a source, the newest that stands.

    Parameters
    ----------
    book
        The practice's book.
    kind
        Of sheet, such as `water tests`.
    source
        What tells its sheets apart, from `columns.fingerprint`.
    titles
        The headings in their order. What was said of a column by its number holds only where they
        stand as they did then.
    """
    shapes = table("sheet_shape").c
    query = (
        select(shapes.shape, shapes.created_at, shapes.name)
        .where(shapes.kind == kind, shapes.source == source, shapes.struck_at.is_(None))
        .order_by(shapes.created_at.desc(), shapes.id.desc())
        .limit(1)
    )
    with book.reading() as connection:
        found = connection.execute(query).first()
    if found is None:
        return None
    shape = shape_from(found.shape)
    if found.shape.get("titles") != list(titles):
        named = {key: what for key, what in shape.columns.items() if not key.isdigit()}
        shape = replace(shape, columns=named)
    pond = found.shape.get("pond")
    return Remembered(
        shape.lasting(),
        found.created_at,
        found.name,
        shape.blocks,
        pond if isinstance(pond, str) else "",
        found.shape,
    )


def remember(
    writing: Writing,
    kind: str,
    source: str,
    name: str,
    shape: Shape,
    *,
    titles: Sequence[str] = (),
    pond: str = "",
    before: Remembered | None = None,
) -> None:
    """Keep what was said for the next file of its source, within the action that saves the file.

    The year, the line of the headings and what is unusual are of one file alone and are not kept.

    Parameters
    ----------
    writing
        The action it belongs to.
    kind
        Of sheet.
    source
        From `columns.fingerprint`.
    name
        Of the file, for people.
    shape
        What was said, with what was remembered before.
    titles
        The headings in their order.
    pond
        The pond of the whole file, where it names none.
    before
        What is remembered already; the same is not kept twice.
    """
    kept = shape.lasting().as_json()
    blocks = dict(shape.blocks) or (dict(before.blocks) if before is not None else {})
    if blocks:
        kept["blocks"] = blocks
    whose = pond or (before.pond if before is not None else "")
    if whose:
        kept["pond"] = plain(whose)[:_MOST]
    if any(key.isdigit() for key in shape.columns):
        kept["titles"] = list(titles)
    if before is None or dict(before.kept) != kept:
        writing.add("sheet_shape", kind=kind, source=source, name=plain(name)[:_MOST], shape=kept)

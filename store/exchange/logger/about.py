"""What a logger's file says of itself, from its beginning alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from store.errors import BadInput
from store.exchange.logger.asks import offset_said
from store.exchange.logger.columns import parameter_of, roles_of
from store.exchange.logger.head import Head, read_head
from store.exchange.logger.pieces import Source, open_source
from store.exchange.logger.rows import number_of
from store.water.parameters import PARAMETERS

_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}


@dataclass(frozen=True, slots=True)
class ColumnSaid:
    """One column: its heading, what it is taken for, and a cell of it."""

    heading: str
    taken_for: str
    example: str
    numbers: bool
    """Numbers stand in it, so that a person may name it as the column of values."""


@dataclass(frozen=True, slots=True)
class FileSaid:
    """What a file says of itself."""

    size_bytes: int
    serial: str
    clock: str
    """What it names of its clock: an offset from UTC, a zone, a short name; empty where nothing."""
    encoding: str
    separator: str
    titles: int
    """How many lines stand before the header."""
    columns: tuple[ColumnSaid, ...]


def about_file(path: Path, source: Source | None = None) -> FileSaid:
    """What a logger's file says of itself.

    Parameters
    ----------
    path
        The file; its beginning is read.
    source
        The file as it was opened already.

    Raises
    ------
    BadInput
        When it cannot be read, or has no header.
    """
    source = source or open_source(path)
    head = read_head(source)
    return FileSaid(
        source.size_bytes, head.serial, _clock(head),
        source.encoding if source.sheet is None else "a workbook",
        "cells" if source.sheet else _SEPARATORS.get(head.separator, head.separator),
        head.titles, _columns(head, path.name),
    )  # fmt: skip


def _clock(head: Head) -> str:
    if head.offset_at is not None:
        return f"every row has its offset in “{head.header[head.offset_at]:.30}”"
    if head.offset_min is not None:
        return offset_said(head.offset_min)
    return head.zone or head.zone_word.upper()


def _columns(head: Head, name: str) -> tuple[ColumnSaid, ...]:
    times = (head.at, head.clock, head.offset_at)
    taken = frozenset(place for place in times if place is not None)
    said = {head.offset_at: "offset from UTC", head.clock: "time of day"}
    said[head.at] = "day and time" if head.clock is None else "day"
    try:
        roles = roles_of(head.header, taken, parameter=None, unit="", column="", file_name=name)
    except BadInput:
        # Which column is meant has to be said: each is told by its own heading.
        roles = None
        said |= {
            place: f"{PARAMETERS[code].label}, by its heading"
            for place, heading in enumerate(head.header)
            if place not in taken and (code := parameter_of(heading))
        }
    if roles is not None:
        said |= {
            one.place: ", ".join(filter(None, (PARAMETERS[one.parameter].label, one.unit)))
            for one in roles.columns
        }
        said |= dict.fromkeys(roles.status, "the logger's own word")
        said |= dict.fromkeys(roles.counters, "a count")
        said |= dict.fromkeys(roles.air, "of the air, not read")
    found = []
    for place, heading in enumerate(head.header):
        cells = [row[place] for row in head.sample if place < len(row) and row[place]]
        numbers = place not in taken and any(
            isinstance(number_of(cell, head.decimal), float) for cell in cells[:50]
        )
        example = cells[0] if cells else ""
        found.append(ColumnSaid(heading, said.get(place, "not read"), example, numbers))
    return tuple(found)

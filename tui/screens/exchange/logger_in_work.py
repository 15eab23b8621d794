"""What the page of a logger's file asks of the store: the file looked at, and saved."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from store.errors import BadInput

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.logger.about import FileSaid
    from store.exchange.logger.csv_file import LoggerPlan
    from store.exchange.logger.overview import SeriesSeen
    from store.exchange.logger.pieces import Source
    from store.exchange.logger.read import Tell
    from store.exchange.plain.moments import Order

ASKED_HERE = frozenset({"column", "unit", "clock", "dates"})
"""What a person can say on the page; any other trouble with a file ends it."""
_OPTION = re.compile(r"[^.;]*--[a-z][^.;]*[.;]?")


@dataclass(frozen=True, slots=True)
class Said:
    """What a person said of a file; empty where the file itself counts."""

    column: str = ""
    order: Order | None = None
    clock: str = ""
    unit: str = ""
    lifted: Literal["leave", "keep"] = "leave"


@dataclass(frozen=True, slots=True)
class Open:
    """What has to be said before anything is saved."""

    field: str
    sentence: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Looked:
    """A logger's file as it would go into the book."""

    about: FileSaid
    pond: str
    zone: str
    source: Source
    planned: LoggerPlan | None
    """None while it cannot be read without an answer."""
    series: tuple[SeriesSeen, ...] = ()
    open: tuple[Open, ...] = ()


def look_at(
    book: Book,
    now: datetime,
    path: Path,
    pond: UUID,
    said: Said,
    tell: Tell,
    before: Looked | None = None,
) -> Looked:
    """Read the file, and all that the page shows of it.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant.
    path
        The file.
    pond
        Key of the pond in which the logger hangs.
    said
        What a person said of it.
    tell
        Is called after every piece; what it raises stops the reading.
    before
        As it was looked at before.

    Raises
    ------
    BadInput
        The file cannot be read, whatever is said.
    """
    from store.book.ponds import card
    from store.exchange.logger.about import about_file
    from store.exchange.logger.asks import Unclear
    from store.exchange.logger.csv_file import read_logger
    from store.exchange.logger.overview import series_seen
    from store.exchange.logger.pieces import still

    source = still(path, None if before is None else before.source)
    about, of = about_file(path, source), card(book, pond)
    name, zone = f"{of.client.name}, {of.pond.name}", str(book.zone)
    try:
        planned = read_logger(
            path, book, now, pond, unit=said.unit, order=said.order, clock=said.clock,
            column=said.column, lifted=said.lifted, progress=tell, source=source,
        )  # fmt: skip
    except BadInput as error:
        if error.field not in ASKED_HERE:
            raise
        choices = error.choices if isinstance(error, Unclear) else ()
        return Looked(
            about, name, zone, source, None, (), (Open(error.field, here(error.message), choices),)
        )
    return Looked(
        about, name, zone, source, planned,
        tuple(series_seen(planned, place) for place in range(len(planned.clean))),
        tuple(Open(one.field, here(one.sentence), one.choices) for one in planned.asks),
    )  # fmt: skip


def here(sentence: str) -> str:
    """A sentence without what it says of the options of a command.

    Examples
    --------
    >>> here("No row tells which; nothing was saved. Say --clock +01:00 or --clock local.")
    'No row tells which; nothing was saved.'
    >>> here("a jump; they are left out unless --lifted keep is said")
    'a jump'
    """
    return _OPTION.sub("", sentence).strip().rstrip(";")

"""A file looked at, as plain values: what is asked, what its columns mean, what would be saved."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff
from store.book.ponds import cards
from store.exchange.columns import Answer, Question
from store.exchange.columns.said import Said
from store.exchange.plain.planned import Done, Plan
from store.text import day_said, plain

Values = Mapping[str, Any]
Facts = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A record that a file would bring, in words.

    `line` is where it stands in the file; `facts` are its other values, each with its label.
    """

    line: int
    when: str
    whose: str
    what: str
    facts: Facts = ()


@dataclass(frozen=True, slots=True)
class SeenColumn:
    """A column of the file: by what it is called when something is said of it, what it means."""

    about: str
    """Its heading, or its number where the heading is none or comes twice."""
    title: str
    means: str
    why: str


@dataclass(frozen=True, slots=True)
class Looked:
    """A file looked at: what is asked, what would be saved, and how it is saved."""

    questions: tuple[Question, ...]
    plan: Plan[Any] | None
    """None while a question is open without whose answer nothing is read."""
    lines: tuple[PlanLine, ...]
    save: Callable[[Book, Act], Done]
    columns: tuple[SeenColumn, ...] = ()
    """Empty where the columns go by fixed names."""
    meanings: tuple[Answer, ...] = ()
    """What a person can say that a column is."""
    told: tuple[str, ...] = ()
    """What is told of the file while there is no plan."""

    @property
    def needed(self) -> tuple[Question, ...]:
        """The questions without whose answers nothing is read."""
        return tuple(one for one in self.questions if one.needed)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person said of a file before it is looked at.

    `pond` is the pond of the whole file (its key, code or name), `sheet` the one that is meant of a
    workbook.
    """

    said: Said = field(default_factory=Said)
    pond: str | None = None
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """A kind of file: what one and several of its records are called, and how it is looked at.

    `meanings` is what a person can say that a column is; None where the columns go by fixed names.
    """

    one: str
    many: str
    look: Callable[[Path, Book, datetime, Asked], Looked]
    meanings: Callable[[Book], tuple[Answer, ...]] | None = None


class Names:
    """What the keys of a book's records are called, read once.

    Parameters
    ----------
    book
        The practice's book.
    """

    def __init__(self, book: Book) -> None:
        found = cards(book)
        self._ponds = {card.pond.id: f"{card.client.name}, {card.pond.name}" for card in found}
        self._sites = {card.site.id: f"{card.client.name}, {card.site.name}" for card in found}
        self._people = {one.id: one.name for one in staff(book)}

    def pond(self, key: UUID | None) -> str:
        """Client and pond; empty where there is none."""
        return "" if key is None else self._ponds.get(key, "")

    def site(self, key: UUID | None) -> str:
        """Client and site; empty where there is none."""
        return "" if key is None else self._sites.get(key, "")

    def person(self, key: UUID | None) -> str:
        """Name of a person of the practice; empty where there is none."""
        return "" if key is None else self._people.get(key, "")

    def end(self, values: Values, side: str) -> str:
        """An end of a way, by the columns of a drive time."""
        known = self.site(values[f"{side}_site_id"]) or self.person(values[f"{side}_staff_id"])
        return known or str(values[f"{side}_kind"])


def nothing(book: Book, act: Act) -> Done:
    """Nothing is saved while a question is open.

    Parameters
    ----------
    book, act
        Not used: as for every function that saves.
    """
    return Done(0, 0, 0)


def facts(values: Values, leave: tuple[str, ...] = ()) -> Facts:
    """Values that are there, each with its label, in words.

    Parameters
    ----------
    values
        By the name of the column.
    leave
        Names that are told elsewhere.
    """
    return tuple(_labelled({name: one for name, one in values.items() if name not in leave}))


def _labelled(values: Values) -> Iterator[tuple[str, str]]:
    for name, value in values.items():
        if value is None or value == "" or value is False or name.endswith("_id"):
            continue
        yield name.replace("_", " "), _said(value)


def _said(value: object) -> str:
    if value is True:
        return "yes"
    if isinstance(value, time):
        return f"{value:%H:%M}"
    return day_said(value) if isinstance(value, date) else plain(str(value))

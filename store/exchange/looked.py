"""Files that give a plan, each kind in the same way: looked at, told line by line, saved.

A kind is a `Way`: it reads a file with what a person said of it, and hands out what would be saved
as lines that a person can read, what has to be asked first, and how it is saved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import EVENT_KINDS
from store.book.people import staff
from store.book.ponds import cards
from store.errors import BadInput
from store.exchange.columns import Question, Shape, day_cell, order_of
from store.exchange.plain.planned import Columns, Done, Plan
from store.exchange.plain.table import open_sheet
from store.text import day_said, plain

PlainOrder = Literal["ymd", "dmy", "mdy"]
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
class Looked:
    """A file looked at: what is asked, what would be saved, and how it is saved."""

    questions: tuple[Question, ...]
    plan: Plan[Any] | None
    """None while a question is open without whose answer nothing is read."""
    lines: tuple[PlanLine, ...]
    save: Callable[[Book, Act], Done]
    sheets: tuple[str, ...] = ()
    """The sheets of a workbook among which one has to be chosen."""

    @property
    def needed(self) -> tuple[Question, ...]:
        """The questions without whose answers nothing is read."""
        return tuple(one for one in self.questions if one.needed)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person said of a file before it is looked at.

    `pond` is the pond of the whole file, `sheet` the one that is meant of a workbook.
    """

    shape: Shape = field(default_factory=Shape)
    pond: UUID | None = None
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """A kind of file: what one and several of its records are called, and how it is looked at."""

    one: str
    many: str
    look: Callable[[Path, Book, datetime, Asked], Looked]


def look_at(kind: str, path: Path, book: Book, now: datetime, asked: Asked | None = None) -> Looked:
    """What a file of one kind would bring; nothing is saved.

    Parameters
    ----------
    kind
        A name of `WAYS`.
    path
        The file.
    book
        The practice's book.
    now
        The present instant.
    asked
        What a person said of the file.

    Returns
    -------
    Looked
        Without a plan while a question is open that is needed.

    Raises
    ------
    BadInput
        The file cannot be read, or is not of that kind.
    """
    return WAYS[kind].look(path, book, now, asked or Asked())


# The kinds of the practice's own plain shapes


def _ponds(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.ponds_csv import read_ponds, save_ponds

    plan = read_ponds(path, book, now)
    lines = []
    for one in plan.items:
        volume = "" if one.volume is None else f"{one.volume.litres:,.0f} L"
        facts = {**one.pond, "telephone": one.client["phone"], "town": one.site.get("town", "")}
        lines.append(
            PlanLine(
                one.line,
                "",
                f"{one.client['name']}, {one.site['name']}",
                ", ".join(filter(None, (str(one.pond["name"]), volume))),
                _facts(facts, leave=("name",)),
            )
        )
    return _looked(plan, lines, lambda book, act: save_ponds(book, act, plan))


def _staff(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.staff_csv import read_staff, save_staff

    plan = read_staff(path, book)
    lines = [
        PlanLine(
            one.line, "", str(one.values["name"]), str(one.values["role"]),
            _facts(one.values, leave=("name", "role")),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_staff(book, act, plan))


def _kits(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.staff_csv import read_kits, save_kits

    plan = read_kits(path, book)
    forms = ("ammonia", "nitrite", "nitrate")
    lines = [
        PlanLine(
            one.line, "", str(one.values["name"]),
            ", ".join(f"{form} as {_form(one.values[f'{form}_form'])}" for form in forms),
            _facts(one.values, leave=("name", *(f"{form}_form" for form in forms))),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_kits(book, act, plan))


def _visits(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.visits_csv import read_visits, save_visits

    order, questions = _order(path, {"on_day": ("day", "date", "on")}, asked.shape)
    if order is None:
        return Looked(questions, None, (), _nothing)
    plan = read_visits(path, book, now, order=order)
    names = Names(book)
    lines = [
        PlanLine(
            one.line, day_said(one.values["on_day"]),
            names.pond(one.values["pond_id"]) or f"{names.site(one.values['site_id'])}, all ponds",
            " ".join(filter(None, (str(one.values["state"]), str(one.values["kind"] or "")))),
            _facts({
                "time": one.values["at_time"], "by": names.person(one.values["staff_id"]),
                "note": one.values["note"],
            }),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_visits(book, act, plan), questions)


def _events(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.events_csv import read_events, save_events

    days = {"on_day": ("day", "date", "on"), "until_day": ("until",)}
    order, questions = _order(path, days, asked.shape)
    if order is None:
        return Looked(questions, None, (), _nothing)
    plan = read_events(path, book, now, order=order)
    names = Names(book)
    lines = []
    for one in plan.items:
        kind, values = EVENT_KINDS[one.values["kind"]], one.values
        amount = "" if values["amount"] is None else f"{values['amount']:g} {kind.unit}"
        at = values["at"]
        lines.append(
            PlanLine(
                one.line,
                day_said(values["on_day"]),
                names.pond(values["pond_id"]),
                ", ".join(filter(None, (kind.label, amount))),
                _facts({
                    "time": None if at is None else f"{at.astimezone(book.zone):%H:%M}",
                    "until": values["until_day"], "hazard": values["hazard"],
                    "note": values["note"],
                }),
            )
        )  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_events(book, act, plan), questions)


def _drives(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.drive_times_csv import read_drive_times, save_drive_times

    plan = read_drive_times(path, book)
    names = Names(book)
    lines = []
    for one in plan.items:
        km = "" if one.values["km"] is None else f", {one.values['km']:g} km"
        lines.append(
            PlanLine(
                one.line, "",
                f"{names.end(one.values, 'from')} → {names.end(one.values, 'to')}",
                f"{one.values['minutes']:g} min{km}",
                _facts({"source": one.values["source"]}),
            )
        )  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_drive_times(book, act, plan))


WAYS: Mapping[str, Way] = MappingProxyType(
    {
        "ponds": Way("pond", "ponds", _ponds),
        "staff": Way("person", "people", _staff),
        "kits": Way("kit", "kits", _kits),
        "visits": Way("visit", "visits", _visits),
        "events": Way("event", "events", _events),
        "drives": Way("drive time", "drive times", _drives),
    }
)
"""Every kind that gives a plan, by the name that the command line gives it too."""


# What they share


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


def _looked(
    plan: Plan[Any],
    lines: Iterable[PlanLine],
    save: Callable[[Book, Act], Done],
    questions: tuple[Question, ...] = (),
) -> Looked:
    return Looked(questions, plan, tuple(lines), save)


def _nothing(book: Book, act: Act) -> Done:
    """Nothing is saved while a question is open."""
    return Done(0, 0, 0)


def _order(
    path: Path, names: dict[str, tuple[str, ...]], shape: Shape
) -> tuple[PlainOrder | None, tuple[Question, ...]]:
    """In which order a plain file writes its days, or the question that has to be answered."""
    sheet = open_sheet(path)
    columns = Columns(sheet.header, names)
    days = []
    for row in sheet.rows():
        for name in names:
            with suppress(BadInput):
                if not row.surplus and (text := columns.text(row, name)):
                    days.append(day_cell(text))
    found = order_of(days, shape.order)
    if found.question is not None:
        return None, (found.question,)
    match found.order:
        case "dmy" | "mdy" | "ymd":
            return found.order, ()
        case _:  # nothing hangs on it; a day that would, where a person said so, is refused
            return ("ymd" if shape.order or not days else "dmy"), ()


def _facts(values: Values, leave: tuple[str, ...] = ()) -> Facts:
    return tuple(_labelled({name: one for name, one in values.items() if name not in leave}))


def _labelled(values: Values) -> Iterator[tuple[str, str]]:
    for name, value in values.items():
        if value is None or value == "" or value is False or name.endswith("_id"):
            continue
        said = day_said(value) if isinstance(value, date) else plain(str(value))
        yield name.replace("_", " "), "yes" if value is True else said


def _form(value: object) -> str:
    said = str(value)
    return said if said == "unknown" else said.upper()

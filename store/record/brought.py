"""What came back with a bag, in words: by pond, and what a person is to look at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.copies.choosing import Unsettled
from store.book.tables import table
from store.exchange.bag.beside import Beside
from store.exchange.bag.moved_on import MovedOn, OnStruck
from store.exchange.bag.unpacking import Unpacked
from store.record.kinds import kind_of
from store.record.names import Names
from store.record.sides import DifferingTold, tell_differing
from store.record.values import said_value

_MANY = {
    "person": "people", "fish": "fish", "deaths": "counts of deaths", "days off": "days off",
    "working hours": "working hours", "public holidays": "public holidays",
    "medicated feed": "medicated feeds", "planning anew": "plannings anew",
    "what an agent rests on": "bases of agents", "terms of a visit": "terms of visits",
    "logger_reading": "loggers' series", "count of fish": "counts of fish",
}  # fmt: skip
_OF_PRACTICE = "the practice"
_NOT_THIS = (
    "{path} was left as it is. If the day was entered in a bag, it was in another file: look for "
    "it on the laptop, and delete nothing before it came back."
)


@dataclass(frozen=True, slots=True)
class BroughtTold:
    """What came back: one sentence, counts by pond or client, and what is to be looked at.

    `look` has a paragraph each; `differing` the rows that wait for a choice; `file` says whether
    the file may be deleted.
    """

    head: str
    places: tuple[tuple[str, str], ...]
    look: tuple[str, ...]
    differing: tuple[DifferingTold, ...]
    file: str


def told_brought(book: Book, found: Unpacked) -> BroughtTold:
    """What came back, in words.

    Parameters
    ----------
    book
        The practice's book, with all of it.
    found
        From `store.exchange.bag.unpacking.unpack`.
    """
    which = "the copy of the book" if found.bag is None else f"the {found.bag.said}"
    may = f"{found.path} was left as it is"
    if found.bag is not None:
        may += ". It may be deleted once nobody writes in it any more"
    may += "; it can be brought in again at any time, and then adds only what is new."
    if found.unwritten:
        head = f"Nothing came back: nothing was entered in this file since {which} was packed."
        return BroughtTold(head, (), (), (), _NOT_THIS.format(path=found.path))
    if found.nothing_new:
        head = f"Nothing new: all that {which} holds is in the book already. Nothing was changed."
        return BroughtTold(head, (), (), (), may)
    zone, joined = book.zone, found.joined
    with book.reading() as connection:
        names = Names(connection, zone)
        every = [(name, key) for rows in (joined.added, joined.changed)
                 for name, keys in rows.items() for key in keys]  # fmt: skip
        names.load([(str(name), key) for name, key in every])
        waiting = _waiting(connection, found)
        return BroughtTold(
            _head(found, which), tuple(_places(names, found)), tuple(_look(names, found)),
            tell_differing(connection, names, waiting), may,
        )  # fmt: skip


def counted(rows: Mapping[Any, int]) -> str:
    """Counts of rows by table in words.

    Parameters
    ----------
    rows
        By name of the table.

    Examples
    --------
    >>> counted({"water_test": 2, "dose_given": 1})
    '2 water tests, 1 dose given'
    """
    return ", ".join(_many(name, count) for name, count in rows.items())


def _many(name: str, count: int) -> str:
    said = kind_of(name).said
    if count == 1:
        return f"1 {said}"
    first, blank, rest = said.partition(" ")
    usual = f"{first}s {rest}" if blank and rest.split()[0] in _BEHIND else f"{said}s"
    return f"{count:,} {_MANY.get(name, _MANY.get(said, usual))}"


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}{'' if number == 1 else 's'}"


_BEHIND = frozenset({"of", "given", "to", "brought"})


def _head(found: Unpacked, which: str) -> str:
    joined = found.joined
    added = sum(map(len, joined.added.values()))
    changed = sum(map(len, joined.changed.values()))
    said = f"Brought back from {which}: {_count(added, 'record')} entered, {changed:,} changed"
    if joined.logger_values:
        said += f", {_count(joined.logger_values, 'value')} of loggers"
    return f"{said}."


def _places(names: Names, found: Unpacked) -> Iterator[tuple[str, str]]:
    entered: dict[str, Counter[str]] = {}
    changed: dict[str, Counter[str]] = {}
    for rows, into in ((found.joined.added, entered), (found.joined.changed, changed)):
        for name, keys in rows.items():
            for key in keys:
                into.setdefault(_place(names, name, key), Counter())[name] += 1
    for place in sorted(
        entered.keys() | changed.keys(), key=lambda one: (one == _OF_PRACTICE, one)
    ):
        parts = [counted(entered[place])] if place in entered else []
        if place in changed:
            parts.append(f"changed: {counted(changed[place])}")
        yield place, "; ".join(parts)


def _place(names: Names, name: str, key: UUID) -> str:
    keys = names.belongs(name, key).keys
    said = [names.name(one, keys[one]) for one in ("client", "pond") if one in keys]
    if "pond" not in keys and "site" in keys:
        said.append(names.name("site", keys["site"]))
    return ", ".join(said) or _OF_PRACTICE


def _waiting(connection: Connection, found: Unpacked) -> list[Unsettled]:
    waiting = []
    for name, key, differences in found.joined.differing:
        target = table(name)
        rev = connection.execute(select(target.c.rev).where(target.c.id == key)).scalar()
        waiting.append(Unsettled(name, key, rev or 1, differences))
    return waiting


def _look(names: Names, found: Unpacked) -> Iterator[str]:
    yield from (_merged(names, one) for one in found.moved)
    yield from (_lies_on(names, one) for one in found.on_struck)
    for name, key in found.joined.struck:
        row = names.rows.get((name, key)) or {}
        now = "stands struck through" if row.get("struck_at") is not None else "stands"
        yield (
            f"{_upper(names.title(name, key))} was struck through on one side and changed on the "
            f"other; it {now} now. Look at both in the record of changes."
        )
    names.load([(str(one.table), key) for one in found.beside for key in (one.came, one.there)])
    yield from (_twice(names, one) for one in found.beside)


def _merged(names: Names, one: MovedOn) -> str:
    names.load([(one.place, one.emptied), (one.place, one.kept)])
    was, now = names.name(one.place, one.emptied), names.name(one.place, one.kept)
    series = one.moved.get("logger_reading", 0)
    rows = {name: count for name, count in one.moved.items() if name != "logger_reading"}
    moved = _listed([counted(rows), _count(series, "value") + " of loggers" if series else ""])
    said = f"{was} was merged into {now} meanwhile. What came back to it moved on: {moved}."
    if one.stayed_behind:
        said += (
            f" {one.stayed_behind:,} cannot move (values of a logger at an instant that {now} has "
            f"one of, or limits of its own) and stay with {was}."
        )
    return said


def _lies_on(names: Names, one: OnStruck) -> str:
    names.load([(one.place, one.key)])
    row = names.rows.get((one.place, one.key)) or {}
    why = row.get("struck_why") or "no reason given"
    return (
        f"{_upper(names.title(one.place, one.key))} is struck through ({why}). What came back to "
        f"it ({counted(one.rows)}) is kept, and is seen again once the {one.place} is restored."
    )


def _twice(names: Names, one: Beside) -> str:
    came, there = (_of_row(names, one, key) for key in (one.came, one.there))
    title = _upper(names.title(one.table, one.came))
    if one.what == "dose":
        return (
            f"{_upper(_dose(names, one.came))} is logged on both sides: {came} (brought back), "
            f"{there} (here). Given once, strike one of them through; given twice, a vet looks at "
            "what is due next."
        )
    if one.what == "test":
        return (
            f"{title}: two water tests within an hour, {came} (brought back) and {there} (here). "
            "If they are one, strike one of them through."
        )
    if one.what == "courses":
        return (
            f"{title}: another course of the same pond was entered here meanwhile. In one water "
            "they add up: a vet ends or drops one of them before the next dose."
        )
    return (
        f"{title} came back, and the same person has another one at that hour: "
        f"{names.title(one.table, one.there)}. Move one of them."
    )


def _dose(names: Names, given: UUID) -> str:
    row = names.rows.get(("dose_given", given)) or {}
    return names.title("course_dose", row["dose_id"]) if "dose_id" in row else "a dose"


def _of_row(names: Names, one: Beside, key: UUID) -> str:
    row = names.rows.get((one.table, key)) or {}
    columns = {"dose": ("amount", "given_at", "given_by"), "test": ("taken_at",)}
    parts = [
        said_value(one.table, column, row.get(column), names, key, beside=row)
        for column in columns.get(one.what, ())
    ]
    return ", ".join(filter(None, parts))


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _listed(parts: Iterable[str]) -> str:
    return ", ".join(filter(None, parts)) or "nothing"

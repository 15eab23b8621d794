"""The record of changes as a person reads it: lines in words, a page at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.book.told.record import Cursor, Did, Entry, Wish, Word, read_record
from store.record.kinds import kind_of, label_of, tables_called
from store.record.names import Names
from store.record.values import EMPTY, keys_in, said_value
from store.water.parameters import PARAMETERS
from store.water.reading_rows import readings_of

DID: Mapping[Did, str] = {
    "add": "entered", "change": "changed", "strike": "struck through", "restore": "restored",
}  # fmt: skip
_SAID_ELSEWHERE = frozenset({"struck_at", "struck_by", "struck_why"})
"""Who struck a row through, when and why is said of the line itself."""
_FORMS = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3",
          "caco3": "as CaCO3", "hco3": "as HCO3", "unknown": "form not known"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Field:
    """One column that differs: what it is called, before and after in words, empty for empty."""

    column: str
    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a water test: what was measured, as it was typed, with unit and form."""

    label: str
    typed: str


@dataclass(frozen=True, slots=True)
class Told:
    """One line of the record in words.

    `what` names the row in a sentence, `kind` says what kind of record it is, `whose` is the client
    it belongs to (empty for what belongs to the practice). `page` is the nearest thing that has a
    page of its own, by table and key; `pond` the pond it belongs to.
    """

    key: UUID
    at: datetime
    by: str
    did: str
    kind: str
    what: str
    whose: str
    why: str
    fields: tuple[Field, ...]
    readings: tuple[Reading, ...]
    page: tuple[str, UUID] | None
    pond: UUID | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class ToldPage:
    """Some lines, newest first, and where to go on; `next` is None when there are no more.

    It may hold fewer lines than were asked for, or none, and still have a next one.
    """

    lines: tuple[Told, ...]
    next: Cursor | None


def told_record(
    book: Book, wish: Wish, text: str = "", *, before: Cursor | None = None, limit: int = 50
) -> ToldPage:
    """A page of the record in words.

    Parameters
    ----------
    book
        The practice's book.
    wish
        Which lines are wanted; its words are taken from `text`.
    text
        Words that a line must say, all of them: in what, whose, by whom, why, or in a value.
    before
        Where the page before ended; None begins with the newest line.
    limit
        Lines of a page at the most.

    Returns
    -------
    ToldPage
        Names are those that things have now; values those of the line.
    """
    zone = book.zone
    wanted = text.casefold().split()
    with book.reading() as connection:
        asked = replace(wish, words=words_of(connection, wanted))
        page = read_record(connection, zone, asked, before=before, limit=limit)
        names = Names(connection, zone)
        lines = _told(connection, names, page.lines)
    return ToldPage(tuple(one for one in lines if _says_all(one, wanted)), page.next)


def words_of(connection: Connection, wanted: Sequence[str]) -> tuple[Word, ...]:
    """Words with what they mean: kinds of record, what was done, people.

    Parameters
    ----------
    connection
        Of a reading of the book.
    wanted
        Words without capitals.
    """
    if not wanted:
        return ()
    staff = table("staff").c
    people = [(row.id, row.name) for row in connection.execute(select(staff.id, staff.name))]
    return tuple(
        Word(
            one,
            tables_called(one),
            tuple(code for code, said in DID.items() if one in said),
            tuple(key for key, name in people if one in name.casefold()),
        )
        for one in wanted
    )


def _told(connection: Connection, names: Names, entries: Sequence[Entry]) -> list[Told]:
    wanted = {(one.table, one.row) for one in entries}
    for one in entries:
        wanted.update(keys_in(one.table, one.before))
        wanted.update(keys_in(one.table, one.after))
    names.load(wanted)
    tests = [one.row for one in entries if one.table == "water_test"]
    readings = _readings(connection, tests)
    return [_line(names, one, readings.get(one.row, ())) for one in entries]


def _readings(connection: Connection, tests: Sequence[UUID]) -> dict[UUID, tuple[Reading, ...]]:
    found = readings_of(connection, sorted(set(tests)))
    return {
        key: tuple(
            Reading(
                _measured(code),
                " ".join(
                    part for part in (one.typed, one.unit, _FORMS.get(one.form, one.form)) if part
                ),
            )
            for code, one in values.items()
        )
        for key, values in found.items()
    }


def _measured(code: str) -> str:
    """What was measured, without the form: that is said with what was typed."""
    if code not in PARAMETERS:
        return code.replace("_", " ")
    return PARAMETERS[code].label.partition(" as ")[0]


def _line(names: Names, entry: Entry, readings: tuple[Reading, ...]) -> Told:
    belongs = names.belongs(entry.table, entry.row)
    client = belongs.keys.get("client")
    return Told(
        entry.id, entry.at, entry.by_name, DID[entry.what], kind_of(entry.table).said,
        names.title(entry.table, entry.row), "" if client is None else names.name("client", client),
        entry.why, _fields(names, entry), readings, belongs.page, belongs.keys.get("pond"), entry,
    )  # fmt: skip


def _fields(names: Names, entry: Entry) -> tuple[Field, ...]:
    found = []
    for column in dict.fromkeys([*entry.after, *entry.before]):
        before, after = entry.before.get(column), entry.after.get(column)
        if column in _SAID_ELSEWHERE or (before in EMPTY and after in EMPTY):
            continue
        said = [
            said_value(entry.table, column, value, names, entry.row, beside=values)
            for value, values in ((before, entry.before), (after, entry.after))
        ]
        found.append(Field(column, label_of(entry.table, column), *said))
    return tuple(found)


def _says_all(line: Told, wanted: Sequence[str]) -> bool:
    if not wanted:
        return True
    parts = [line.by, line.did, line.kind, line.what, line.whose, line.why]
    for one in line.fields:
        parts += [one.label, one.before, one.after]
    for values in (line.entry.before, line.entry.after):
        parts += [str(value) for value in values.values() if isinstance(value, int | float | str)]
    parts += [f"{one.label} {one.typed}" for one in line.readings]
    whole = " ".join(parts).casefold()
    return all(one in whole for one in wanted)

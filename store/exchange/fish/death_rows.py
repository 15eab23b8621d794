"""The rows of a mortality book, each wholly understood or wholly refused."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

from sqlalchemy import Connection

from store.book.book import Book
from store.errors import BadInput, PondroundError
from store.exams.deaths import NewDeaths, typed_signs
from store.exchange.columns.named import NamedColumn, NamedRow, NamedSheet
from store.exchange.columns.question import Answer, Question
from store.exchange.fish.death_columns import (
    DASH,
    LENGTHS,
    OF,
    column_pond,
    counted_columns,
    dead_in,
    sum_line,
    zone_is_pond,
)
from store.exchange.fish.death_doubles import Key, PlannedDeaths, entries_there, sorted_out
from store.exchange.fish.lengths import Lengths, lengths_of
from store.exchange.named.planning import plan_of, refuse
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.planned import Gathering, Plan
from store.text import day_said, plain
from store.watch.look_lost import read_counts, read_moves
from store.watch.stock import Move, ledger

_MOST_NOTE = 10_000
_MOST_SPECIES = 60


class DeathRows:
    """How the rows of one mortality book are read.

    Parameters
    ----------
    book, now
        The practice's book, and the present instant.
    sheet
        The mortality book.
    ponds
        Of its rows.
    """

    def __init__(self, book: Book, now: datetime, sheet: NamedSheet, ponds: RowPonds) -> None:
        self.book, self.sheet, self.ponds = book, sheet, ponds
        self.today = book.today(now)
        self.columns = counted_columns(sheet)
        self.by_zone = zone_is_pond(sheet, ponds)
        self.gathering = Gathering()
        self.empty: list[int] = []
        self.of_key: Counter[Key] = Counter()

    def plan(self, told: Sequence[str]) -> tuple[Plan[PlannedDeaths], list[Question]]:
        """What is new, and what may be asked of it.

        Parameters
        ----------
        told
            What is to be told of the file, a sentence each.
        """
        read: list[tuple[NamedRow, tuple[PlannedDeaths, ...]]] = []
        ended, same = sum_line(self.sheet), self._said_twice()
        if self.sheet.said.get("total") == "row":
            ended = None
        for row in self.sheet.rows:
            if row.line in same and self.sheet.said.get("twice") != "others":
                if self.sheet.said.get("twice") != "once":
                    refuse(self.gathering, row, f"The row says the same as line {same[row.line]}.")
                continue
            try:
                day = self.sheet.day(row) if row is not ended else None
                if day is not None:
                    read.append((row, self._row(row, day[0], day[1].clock)))
            except PondroundError as error:
                refuse(self.gathering, row, error.message)
        everything = [one for _, items in read for one in items]
        questions = self._twice_asked(same)
        others = self.sheet.said.get("others")
        with self.book.reading() as connection:
            found = sorted_out(everything, entries_there(connection, everything))
            fresh, already = found.fresh, found.already
            if others == "yes":
                fresh = sorted([*fresh, *(one for one, _ in found.doubted)], key=_line)
            elif others == "no":
                already += len(found.doubted)
            elif found.doubted:
                questions.append(_others_asked(found.doubted))
                why = {one.line: said for one, said in found.doubted}
                fresh = [one for one in fresh if one.line not in why]
                for row, _ in read:
                    if row.line in why:
                        said = f"{why[row.line]} Say whether these are others."
                        refuse(self.gathering, row, said)
            short = self._short(connection, fresh)
        remarks = [*told, *self._told(ended), *short]
        return plan_of(self.book, self.sheet, fresh, self.gathering, already, remarks), questions

    def _said_twice(self) -> dict[int, int]:
        """Lines with dead fish that say the same as one before them, cell by cell, and that one."""
        seen: dict[tuple[str, ...], int] = {}
        same = {}
        for row in self.sheet.rows:
            cells = (row.under, *(row.cell(one).casefold() for one in self.sheet.columns))
            numbers = [row.cell(one) for one in self.columns]
            if any(number[:1].isdigit() and set(number) - {"0"} for number in numbers):
                if cells in seen:
                    same[row.line] = seen[cells]
                seen.setdefault(cells, row.line)
        return same

    def _twice_asked(self, same: dict[int, int]) -> list[Question]:
        if not same or self.sheet.said.get("twice"):
            return []
        line, before = next(iter(same.items()))
        return [
            Question(
                "twice",
                f"Line {line} says the same as line {before}, cell by cell ({len(same)} such in "
                "all). Are these other dead fish?",
                (
                    Answer("others", "others: save them as well"),
                    Answer("once", "the same ones written twice: save them once"),
                ),
                needed=False,
            )
        ]

    def _row(self, row: NamedRow, day: date, clock: str) -> tuple[PlannedDeaths, ...]:
        if day > self.today:
            raise BadInput("The day lies ahead. Correct it.")
        counted = [(one, *dead_in(row.cell(one), self.sheet.said)) for one in self.columns]
        self._check_total(row, [number or 0 for _, number, _ in counted])
        if all(number is None for _, number, _ in counted):
            if row.own("cause") or row.own("note") or row.own("signs"):
                raise BadInput("The row has no number of dead fish. Write 0 where none was dead.")
            self.empty.append(row.line)
            return ()
        items = []
        for column, number, kind in counted:
            if number is None:
                continue
            pond = column_pond(column) or self._pond(row)
            deaths = self._deaths(row, day, clock, number, kind or self._species(row, column))
            called = row.text("code") or row.text("pond")
            one = PlannedDeaths(row.line, pond, deaths, called)
            self.of_key[one.key] += 1
            items.append(replace(one, nth=self.of_key[one.key]))
        return tuple(items)

    def _pond(self, row: NamedRow) -> UUID:
        if self.by_zone:
            return self.ponds.names.one(row.text("zone"))
        return self.ponds.of(row)

    def _species(self, row: NamedRow, column: NamedColumn) -> str:
        text = plain(row.text("species"))
        if column.meaning.startswith(OF):
            return column.meaning.removeprefix(OF)
        if len(text) > _MOST_SPECIES:
            raise BadInput(f"The species is longer than {_MOST_SPECIES} letters.")
        return text

    def _check_total(self, row: NamedRow, numbers: Sequence[int]) -> None:
        totals = self.sheet.columns_of("total")
        if not totals or self.columns == totals or not row.cell(totals[0]):
            return
        total, _ = dead_in(row.cell(totals[0]), self.sheet.said)
        if total is not None and total != sum(numbers):
            raise BadInput(
                f"The total of the row says {total}, and its numbers add up to {sum(numbers)}. "
                "Correct one of them."
            )

    def _deaths(self, row: NamedRow, day: date, clock: str, number: int, species: str) -> NewDeaths:
        asides: list[str] = []
        ends = self._lengths(row, asides)
        signs: tuple[str, ...] = ()
        if text := row.text("signs"):
            try:
                signs = typed_signs(text.replace(";", ","))
            except BadInput:
                asides.append(f"signs as written: {text}")
        if not number:
            if signs:
                asides.append(f"signs as written: {text}")
            if ends is not None:
                asides.append(f"length as written: {self._length_cells(row)}")
            signs, ends = (), None
        if cause := row.text("cause"):
            asides.append(f"cause as written: {cause}")
        if row.text("zone") and not self.by_zone:
            asides.append(f"{self.sheet.columns_of('zone')[0].title}: {row.text('zone')}")
        if when := row.text("time") or clock:
            asides.append(f"at {when}")
        if by := row.text("by"):
            asides.append(f"by {by}")
        note = plain("; ".join(filter(None, (row.text("note"), *asides))), lines=True)
        if len(note) > _MOST_NOTE:
            raise BadInput(f"The note holds {len(note)} characters; {_MOST_NOTE} can be kept.")
        low, high = (None, None) if ends is None else (ends.low_cm, ends.high_cm)
        return NewDeaths(day, number, species, low, high, signs, note)

    def _lengths(self, row: NamedRow, asides: list[str]) -> Lengths | None:
        """The lengths of a row; what is none goes into the note, and so does another unit."""
        found: list[Lengths] = []
        for column in (one for one in self.sheet.columns if one.meaning in LENGTHS):
            cell = row.cell(column)
            if not cell or DASH.fullmatch(cell):
                continue
            unit = column.unit or self.sheet.said.get("unit", column.title)
            one = lengths_of(cell, unit)
            if one is None:
                asides.append(f"{column.title} as written: {cell}")
            else:
                found.append(one)
                if unit != "cm" or not cell[-1:].isdigit():
                    asides.append(f"{column.title} as written: {cell} {unit}".strip())
        if not found:
            return None
        low, high = min(one.low_cm for one in found), max(one.high_cm for one in found)
        if len(found) == 2 and found[0].low_cm > found[1].high_cm:
            raise BadInput("The smallest length is larger than the largest.")
        return Lengths(low, high)

    def _length_cells(self, row: NamedRow) -> str:
        return " to ".join(row.text(role) for role in LENGTHS if row.text(role))

    def _short(self, connection: Connection, items: Sequence[PlannedDeaths]) -> list[str]:
        """A sentence for every pond in which more died than there were."""
        told = []
        for pond in dict.fromkeys(one.pond for one in items):
            counts = [count for _, count in read_counts(connection, [pond])]
            moves = [move for _, move in read_moves(connection, [pond])]
            more = [
                Move(one.deaths.on_day, "died", one.deaths.dead, one.deaths.species)
                for one in items
                if one.pond == pond
            ]
            if not counts:
                continue
            # Between two head counts most are gone on the last day before the second.
            first, last = min(one.on_day for one in more), max(one.on_day for one in more)
            before = {one.on_day - timedelta(days=1) for one in counts}
            for day in sorted({last, *(day for day in before if day >= first)}):
                if ledger(counts, moves, day).short:
                    break
                if ledger(counts, [*moves, *more], day).short:
                    name = next(one.called for one in items if one.pond == pond)
                    told.append(
                        f"With the file more fish have died{f' in {name}' if name else ''} by "
                        f"{day_said(day)} than the head counts say were there; count them again."
                    )
                    break
        return told

    def _told(self, ended: NamedRow | None) -> list[str]:
        told = []
        if ended is not None:
            told.append(f"Line {ended.line} is the sum of the rows above it and was left out.")
        if self.empty:
            number = len(self.empty)
            told.append(
                f"{number} {'row has' if number == 1 else 'rows have'} no number (line "
                f"{self.empty[0]} first): nobody looked, or nobody wrote it down, and nothing is "
                "saved of them."
            )
        if self.sheet.has("cause"):
            told.append("What the file says of the cause is kept in the note; it is no diagnosis.")
        if self.by_zone:
            told.append("The zones of the file are taken for the ponds of that name.")
        return told


def _line(one: PlannedDeaths) -> int:
    return one.line


def _others_asked(doubted: Sequence[tuple[PlannedDeaths, str]]) -> Question:
    first, said = doubted[0]
    return Question(
        "others",
        f"{said} Line {first.line} of the file may say the same ({len(doubted)} such in all). Are "
        "these other dead fish?",
        (
            Answer("yes", "others: save them as well"),
            Answer("no", "the same ones: pass them over"),
        ),
        needed=False,
    )

"""A sheet with one line of headings anywhere, its columns known by a table of words.

`look_at(file, grid, kind, said, today)` finds the headings, tells each column by the words of its
roles (or as a person says), finds the order of day and month, drops totals and footnotes and tells
them, and asks what nobody may guess: order, year, whether a blank means the same as above. It knows
no book; `store.exchange.named` joins ponds, what was said before, and saving.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date

from store.errors import BadInput
from store.exchange.columns.above import facts_above
from store.exchange.columns.dates import DayCell, Order, YearRun, day_cell, order_of, resolved
from store.exchange.columns.layout import LeftOut
from store.exchange.columns.lines import is_day, order_said
from store.exchange.columns.named_columns import (
    DAY,
    IGNORE,
    NOTE,
    WHOSE,
    NamedColumn,
    Role,
    SheetKind,
    columns_under,
    header_place,
    meaning_of,
    words_of,
)
from store.exchange.columns.named_rows import NamedRow, Sorting
from store.exchange.columns.question import Answer, Question
from store.exchange.columns.said import Said
from store.exchange.columns.words import PASSED_OVER, same
from store.exchange.sheets import Grid, RawRow, SheetFile
from store.text import plain

__all__ = [
    "DAY", "IGNORE", "NOTE", "WHOSE", "NamedColumn", "NamedRow", "NamedSheet", "Role", "SheetKind",
    "look_at", "meaning_of",
]  # fmt: skip

_MOST_YEARS = 4
_PARTS = re.compile(r"[,;|]|\s[-–]\s")
_MIDNIGHT = re.compile(r"0?0:00(?::00)?")
_YEAR = re.compile(r"(?<![0-9])(?:19|20)[0-9]{2}(?![0-9])")


@dataclass(frozen=True, slots=True)
class NamedSheet:
    """A sheet looked at. Rows `astray` are refused with the reason; `questions` wait."""

    file: SheetFile
    grid: Grid
    kind: SheetKind
    said: Said
    head: tuple[RawRow, ...]
    """Title lines, headings and units: all that is needed to read its rows once more."""
    header: RawRow
    columns: tuple[NamedColumn, ...]
    rows: tuple[NamedRow, ...]
    astray: tuple[tuple[RawRow, str], ...]
    left_out: tuple[LeftOut, ...]
    order: Order
    told: tuple[str, ...]
    questions: tuple[Question, ...]
    years: YearRun = field(default_factory=lambda: YearRun(None), compare=False)
    stated: Mapping[str, str] = field(default_factory=dict)
    """What a line above the headings says of every row, by role, where there is no column."""

    def columns_of(self, role: str) -> tuple[NamedColumn, ...]:
        """The columns that mean it."""
        return tuple(one for one in self.columns if one.meaning == role)

    def has(self, *roles: str) -> bool:
        """Whether the sheet has a column of one of these roles, or states it for all rows."""
        return any(one.meaning in roles for one in self.columns) or any(
            role in self.stated for role in roles
        )

    @property
    def source(self) -> str:
        """What tells sheets of one source apart from others: a hash of their headings."""
        titles = {same(cell) for cell in self.header.cells} - PASSED_OVER - {""}
        return hashlib.sha256("\n".join(sorted(titles)).encode()).hexdigest()

    def day(self, row: NamedRow, role: str = "date") -> tuple[date, DayCell]:
        """The day of a row; to be asked for row by row, down the sheet.

        Parameters
        ----------
        row
            The row.
        role
            Of the column.

        Returns
        -------
        tuple of date, DayCell
            The day, and the cell with its time or part of the day.

        Raises
        ------
        BadInput
            When the cell is empty, no day, or may be read in two ways.
        """
        cell = row.text(role)
        if not cell:
            raise BadInput(f"The row has no {self.kind.label(role)}. Fill it in.")
        found = day_cell(cell)
        if _MIDNIGHT.fullmatch(found.clock):
            found = replace(found, clock="")  # how spreadsheets write a bare day
        return resolved(found, self.order, self.years.of(found, self.order)), found


def look_at(file: SheetFile, grid: Grid, kind: SheetKind, said: Said, today: date) -> NamedSheet:
    """Look at a sheet: headings, columns, rows, what is no data, what has to be asked.

    Parameters
    ----------
    file, grid
        The file, and the sheet of it that is meant.
    kind
        The roles of its columns.
    said
        What a person said; it goes before every guess.
    today
        The present day, for the years to choose from.

    Returns
    -------
    NamedSheet
        Nothing may be saved of it while one of its `questions` is needed.

    Raises
    ------
    BadInput
        When it has no line of headings, lacks a column that is needed, or two columns mean the
        same; `field` is `column` or `header_line`.
    """
    place = header_place(grid, kind, said)
    header = grid.rows[place]
    words = {word: role for word, role in words_of(kind).items() if role in kind.above}
    stated: Mapping[str, str] = facts_above([row.cells for row in grid.rows[:place]], words)
    may_ask = {"date"} & kind.above
    columns, united = columns_under(grid, place, kind, said, {*stated, *may_ask})
    there = {one.meaning for one in columns}
    stated = {role: text for role, text in stated.items() if role not in there}
    if may_ask - there and (day := said.get("date")):
        day_cell(day)  # said anew where it is none
        stated["date"] = day
    start = place + 1 + united
    head = grid.rows[:start]
    found = Sorting(grid, kind, columns, said, header, stated, loose=file.workbook)
    found.sort(grid.rows[:place], grid.rows[start:])
    by_heading = order_said(tuple(cell for row in head for cell in row.cells))
    days = _days(found.rows, stated.get("date", ""))
    order = order_of(days, said.get("order") or by_heading)
    told = [order.told] if order.told else []
    if by_heading and not said.get("order"):
        told.append(f"A heading says that days are written as {by_heading}.")
    by_lines = {role: one for role, one in stated.items() if said.get(role) != one}
    if by_lines:
        above = ", ".join(
            f"{kind.label(role)} “{plain(one):.40}”" for role, one in by_lines.items()
        )
        told.append(f"Taken for every row from above the headings: {above}.")
    questions = [] if order.question is None else [order.question]
    if may_ask - there - set(stated):
        questions.append(_which_day(head))
    questions += _years(days, said, order.order, head, today)
    questions += found.blanks()
    year = said.get("year")
    return NamedSheet(
        file, grid, kind, said, tuple(head), header, columns, tuple(found.rows),
        tuple(found.astray), tuple(found.left_out), order.order, tuple(told), tuple(questions),
        YearRun(int(year) if year.isdigit() else None), stated,
    )  # fmt: skip


def _which_day(head: Sequence[RawRow]) -> Question:
    """On which day it was, with the day that a title names, where one does."""
    named = next(
        (part for row in head for cell in row.cells for part in _PARTS.split(cell) if is_day(part)),
        "",
    )
    asks = "The file has no column of days, so on which day was it?"
    if not named:
        return Question("date", f"{asks} Type the day.")
    day = plain(named).strip()
    said = f" A line above the headings names “{day:.30}”."
    return Question("date", f"{asks}{said}", (Answer(day, day),))


def _days(rows: Sequence[NamedRow], stated: str) -> list[DayCell]:
    found = []
    if stated:
        with suppress(BadInput):
            found.append(day_cell(stated))
    for row in rows:
        for one in row.columns:
            if one.meaning == "date" and (cell := row.raw.cell(one.place).strip()):
                with suppress(BadInput):
                    found.append(day_cell(cell))
    return found


def _years(
    days: Sequence[DayCell], said: Said, order: Order, head: Sequence[RawRow], today: date
) -> list[Question]:
    without = [one for one in days if not one.year and not (one.two_figures and order == "ymd")]
    if said.get("year") or not without:
        return []
    words = " ".join(" ".join(row.cells) for row in head)
    named = sorted({int(year) for year in _YEAR.findall(words)})
    years = [*named, *(today.year - back for back in range(_MOST_YEARS))]
    answers = [Answer(str(year), str(year)) for year in dict.fromkeys(years)]
    shown = plain(without[0].cell)
    return [
        Question(
            "year",
            f"“{shown:.30}” has no year. In which year does the file begin?",
            tuple(answers),
        )
    ]

"""Where the headings of a sheet of results stand, and which of its columns hold results."""

from __future__ import annotations

from dataclasses import replace

from store.exchange.columns.lines import has_data
from store.exchange.columns.named import IGNORE, NamedColumn, NamedSheet, SheetKind, meaning_of
from store.exchange.columns.question import Question
from store.exchange.columns.said import Said
from store.exchange.lab.resistance import letter_of
from store.exchange.lab.result_words import result_said
from store.exchange.lab.sheet_kind import LONG, RESISTANCE, TEST, WIDE
from store.exchange.sheets import Grid, RawRow

_SEARCHED_LINES = 200
_RESULTS = frozenset({"result", "verdict", "ct"})


def headings(grid: Grid, said: Said) -> tuple[str, SheetKind] | None:
    """The line of the headings, and whether it has one line a result or one line a sample.

    Parameters
    ----------
    grid
        One sheet, without tables of resistance.
    said
        What a person said of line and columns.

    Returns
    -------
    tuple of str, SheetKind, or None
        None where no line heads a column of results.
    """
    line = said.get("header_line")
    best: tuple[int, RawRow, SheetKind] | None = None
    for row in grid.rows[:_SEARCHED_LINES]:
        if line and str(row.line) != line:
            continue
        if not line and has_data(row):
            continue
        meanings = [_meaning(cell, place, said) for place, cell in enumerate(row.cells)]
        known = sum(map(bool, meanings))
        results = any(one in _RESULTS for one in meanings)
        tests = any(one.startswith(TEST) for one in meanings)
        if known > 1 and (results or tests) and (best is None or known > best[0]):
            best = known, row, LONG if results else WIDE
    return None if best is None else (str(best[1].line), best[2])


def _meaning(cell: str, place: int, said: Said) -> str:
    if not cell.strip():
        return ""
    told = said.column(cell, place)
    return meaning_of(told or cell, WIDE)[0]


def one_question_of_blanks(sheet: NamedSheet) -> NamedSheet:
    """Whether a blank means the same as above, asked once for all columns of a report.

    Parameters
    ----------
    sheet
        The sheet; each of its columns asks by itself.
    """
    blanks = [one for one in sheet.questions if one.field == "blank"]
    if len(blanks) < 2:
        return sheet
    named = ", ".join(f"“{one.about:.30}”" for one in blanks[:6]) + (
        " …" if len(blanks) > 6 else ""
    )
    one = Question(
        "blank",
        f"Cells are blank in {len(blanks)} columns ({named}). Does a blank mean the same as above, "
        "as far as the same case goes?",
        blanks[0].answers,
    )
    rest = tuple(each for each in sheet.questions if each.field != "blank")
    return replace(sheet, questions=(*rest, one))


def with_results_of_their_own(sheet: NamedSheet) -> NamedSheet:
    """Columns that nobody knows, by their cells: words of results alone, or S, I and R alone.

    Parameters
    ----------
    sheet
        Words of results make tests of columns only where the sheet has one line a sample.
    """
    columns = tuple(_letters(sheet, one) for one in sheet.columns)
    if not sheet.has(*_RESULTS):
        columns = tuple(_test_by_its_cells(sheet, one) for one in columns)
    if columns == sheet.columns:
        return sheet
    rows = tuple(replace(row, columns=columns) for row in sheet.rows)
    return replace(sheet, columns=columns, rows=rows)


def _letters(sheet: NamedSheet, one: NamedColumn) -> NamedColumn:
    if one.meaning != IGNORE or one.said or not one.title or one.why != "not known":
        return one
    held = [cell for row in sheet.rows if (cell := row.raw.cell(one.place).strip())]
    if not held or not all(letter_of(cell) for cell in held):
        return one
    return replace(one, meaning=f"{RESISTANCE}{one.title}", why="its cells are S, I, R")


def _test_by_its_cells(sheet: NamedSheet, one: NamedColumn) -> NamedColumn:
    if one.meaning != IGNORE or one.said or not one.title or one.why != "not known":
        return one
    found = [
        said for row in sheet.rows
        if (said := result_said(row.raw.cell(one.place), lambda word: "")) is not None
    ]  # fmt: skip
    words = [said for said in found if said.said in ("detected", "not detected")]
    if not words or any(said.said == "asked" or said.number_only or said.prose for said in found):
        return one
    return replace(one, meaning=f"{TEST}{one.title}", why="its cells are results")

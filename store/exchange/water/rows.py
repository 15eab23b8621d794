"""The rows of a sheet of water tests, each wholly understood or wholly refused."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from uuid import UUID

from store.errors import BadInput, PondroundError
from store.exchange.columns import Layout, Section
from store.exchange.columns.calibration import is_calibration
from store.exchange.columns.headings import heading_of
from store.exchange.columns.words import mended
from store.exchange.sheets import Grid, RawRow
from store.exchange.water.cells import has_decimal_comma
from store.exchange.water.reader import IGNORE, Line, PlannedTest, Read, RowReader
from store.text import plain
from store.water.parameters import PARAMETERS

__all__ = ["Line", "PlannedTest", "RowReader", "tests_of"]


_A_STEP = 250


def tests_of(
    layout: Layout,
    grid: Grid,
    reader: RowReader,
    *,
    loose: bool,
    progress: Callable[[int, int], object] | None,
) -> list[PlannedTest]:
    """Every test of a sheet; rows that cannot be read wholly are refused wholly.

    Parameters
    ----------
    layout
        The sheet laid out.
    grid
        The sheet itself, for what is crossed out.
    reader
        How its rows are read; takes the refused ones.
    loose
        The cells may lie beyond the headings without being uncertain, as in a workbook.
    progress
        Told every few hundred rows how many were read, and how many there are.
    """
    whole = sum(len(section.rows) for section in layout.sections)
    reader.commas = any(
        has_decimal_comma(row.cell(one.column))
        for section in layout.sections
        for one in section.guesses
        if one.meaning in ("reading", "value")
        for row in section.rows
    )
    tests: list[PlannedTest] = []
    for section in layout.sections:
        roles = {one.meaning for one in section.guesses}
        fitting = []
        for row in section.rows:
            if progress is not None and reader.gathering.rows_read % _A_STEP == 0:
                progress(reader.gathering.rows_read, whole)
            reader.gathering.rows_read += 1
            filled = reader.filled(section, row)
            reason = _why_not(section, grid, row, loose=loose)
            if reason:
                reader.gathering.refuse(row, reason)
            else:
                fitting.append((row, filled))
        if {"parameter", "value"} <= roles:
            lines = [Line(row, section.guesses, None, section, filled) for row, filled in fitting]
            tests.extend(_tall(lines, reader))
        else:
            for row, filled in fitting:
                tests.extend(_wide(row, reader.lines_of(section, row, filled), reader))
    return tests


def _why_not(section: Section, grid: Grid, row: RawRow, *, loose: bool) -> str:
    if not loose and any(cell.strip() for cell in row.cells[section.width :]):
        return "The row has more cells than the header, so none is certain."
    if row.line == grid.open_line and len(row.cells) < section.width:
        return "The file ends within this row, so it may have been cut off."
    for one in section.guesses:
        if one.meaning != IGNORE and (row.line, one.column) in grid.struck:
            return f"“{plain(row.cell(one.column)):.40}” is crossed out in the sheet."
    return _calibrated(section, row)


def _calibrated(section: Section, row: RawRow) -> str:
    for one in section.guesses:
        if one.meaning == "note" and is_calibration(row.cell(one.column).strip()):
            return (
                f"“{plain(row.cell(one.column)).strip():.40}” is all that the remark says: a "
                "calibration of the meter, or a test? Word the remark otherwise if it is a test."
            )
    return ""


def _wide(row: RawRow, lines: Sequence[Line], reader: RowReader) -> list[PlannedTest]:
    """One row a test, or one test for each pond side by side."""
    tests, wrong = [], []
    for line in lines:
        try:
            tests.append(_one_test(line, reader))
        except PondroundError as error:
            named = line.block.label if line.block is not None else ""
            wrong.append(f"{plain(named):.40}: {error.message}" if named else error.message)
    if wrong:
        reader.gathering.refuse(row, " ".join(wrong))
    return _joined(tests)


def _joined(tests: Sequence[PlannedTest]) -> list[PlannedTest]:
    """Tests of one row, those of one pond and one instant as one where their readings allow it."""
    joined: dict[object, PlannedTest] = {}
    for place, one in enumerate(tests):
        key: object = (one.pond, one.test.taken_at)
        there = joined.get(key)
        names = {each.parameter for each in one.test.readings}
        if there is None:
            joined[key] = one
        elif names & {each.parameter for each in there.test.readings}:
            joined[place] = one
        else:
            notes = dict.fromkeys(filter(None, (there.test.note, one.test.note)))
            readings = (*there.test.readings, *one.test.readings)
            test = replace(there.test, readings=readings, note="; ".join(notes))
            joined[key] = replace(there, test=test, raw=(*there.raw, *one.raw))
    return list(joined.values())


def _one_test(line: Line, reader: RowReader) -> PlannedTest:
    pond = reader.pond_of(line)
    readings: list[Read] = []
    asides: list[str] = []
    for one in line.columns:
        if one.heading is None:
            continue
        cell = line.row.cell(one.column)
        reading, aside = reader.cell(one.heading, cell, pond, line.row.line)
        if aside:
            asides.append(aside)
        if reading is None:
            continue
        if any(each.value.parameter == reading.parameter for each in readings):
            label = PARAMETERS[reading.parameter].label
            raise BadInput(f"Two columns give {label}. Keep one of them.")
        readings.append(Read(reading, one.title, cell.strip()))
    note = "; ".join(part for part in (reader.note(line), *asides) if part)
    return reader.planned(line, pond, readings, note)


def _tall(rows: Sequence[Line], reader: RowReader) -> list[PlannedTest]:
    """One row a reading: rows of one pond and one instant are one test."""
    groups: dict[object, list[tuple[Line, UUID]]] = {}
    for line in rows:
        try:
            pond = reader.pond_of(line)
            groups.setdefault((pond, reader.moment(line)[0].at), []).append((line, pond))
        except PondroundError as error:
            reader.gathering.refuse(line.row, error.message)
    tests = []
    for group in groups.values():
        first, pond = group[0]
        readings: dict[str, Read] = {}
        notes: list[str] = []
        wrong: dict[int, str] = {}
        for line, _ in group:
            try:
                one = _one_reading(reader, line, pond, readings)
                for note in (one, *_beside(reader, line, pond, readings), reader.note(line)):
                    if note and note not in notes:
                        notes.append(note)
            except PondroundError as error:
                wrong[line.row.line] = error.message
        if not wrong:
            try:
                tests.append(reader.planned(first, pond, list(readings.values()), "; ".join(notes)))
                continue
            except PondroundError as error:
                wrong[first.row.line] = error.message
        lines = ", ".join(str(number) for number in sorted(wrong))
        other = f"It belongs to the same test as line {lines}, which cannot be read."
        for line, _ in group:
            reader.gathering.refuse(line.row, wrong.get(line.row.line, other))
    return tests


def _beside(reader: RowReader, line: Line, pond: UUID, readings: dict[str, Read]) -> list[str]:
    """Readings in columns of their own beside those of a row each: a meter's temperature."""
    asides = []
    for one in line.columns:
        if one.heading is None:
            continue
        cell = line.row.cell(one.column)
        reading, aside = reader.cell(one.heading, cell, pond, line.row.line)
        if aside:
            asides.append(aside)
        if reading is None:
            continue
        read = Read(reading, one.title, cell.strip())
        there = readings.setdefault(reading.parameter, read).value
        if replace(there, typed=reading.typed) != reading:
            label = PARAMETERS[reading.parameter].label
            raise BadInput(
                f"{label} is {there.typed} in one row of the test and {reading.typed} in another."
            )
    return asides


def _one_reading(reader: RowReader, line: Line, pond: UUID, readings: dict[str, Read]) -> str:
    """Read one row of a sheet with one row a reading; what is not a reading goes to the note."""
    name = line.text("parameter")
    heading = heading_of(mended(name))
    if heading is None:
        raise BadInput(f"“{plain(name):.40}” is nothing that a water test measures.")
    unit = " ".join(filter(None, (mended(line.text("unit")), line.text("form"))))
    if unit:
        heading = replace(heading, unit=unit)
    reading, aside = reader.cell(heading, line.text("value"), pond, line.row.line)
    if reading is not None:
        if reading.parameter in readings:
            raise BadInput(f"{PARAMETERS[reading.parameter].label} stands twice for one test.")
        cell = " ".join(filter(None, (line.text("value"), line.text("unit"), line.text("form"))))
        readings[reading.parameter] = Read(reading, plain(name), cell)
    return aside

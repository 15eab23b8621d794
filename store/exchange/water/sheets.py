"""Water tests out of any sheet: looked at with its guesses and questions, then saved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.columns import (
    AskFirst,
    Block,
    Guess,
    Layout,
    Question,
    Shape,
    fingerprint,
    lay_out,
)
from store.exchange.plain.planned import Done, Plan, Refused, brought_before, keep_file
from store.exchange.plain.whose import PondNames
from store.exchange.sheets import Grid, SheetFile, read_file
from store.exchange.water.doubled import is_there, new_ones, tests_there
from store.exchange.water.questions import open_questions
from store.exchange.water.remembered import remember, remembered
from store.exchange.water.rows import PlannedTest, RowReader, tests_of
from store.text import day_said, plain
from store.water.parameters import PARAMETERS
from store.water.water_tests import NewTest, add_tests

__all__ = ["PlannedTest", "Preview", "look_at_water", "read_water", "save_water"]

KIND = "water tests"
_FEW = 5


@dataclass(frozen=True, slots=True)
class Preview:
    """A sheet looked at: what its columns are taken for, what is asked, what would be saved."""

    path: Path
    sheet: str
    """The sheet that is read; empty for a text file."""
    sheets: tuple[str, ...]
    columns: tuple[Guess, ...]
    """The columns under the first headings."""
    blocks: tuple[Block, ...]
    """The ponds side by side under the first headings; none where the columns are of one pond."""
    later: tuple[tuple[int, tuple[Guess, ...]], ...]
    """Headings that come later with another meaning: line and columns."""
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    """The first rows as they stand in the file."""
    questions: tuple[Question, ...]
    told: tuple[str, ...]
    shape: Shape
    """What a person said, now or for an earlier file of that source."""
    said: Shape
    """What a person said now."""
    source: str
    plan: Plan[PlannedTest] | None
    """None while a question is open that is needed."""

    @property
    def needed(self) -> tuple[Question, ...]:
        """The questions without whose answers nothing is read."""
        return tuple(one for one in self.questions if one.needed)


def look_at_water(
    path: Path,
    book: Book,
    now: datetime,
    *,
    shape: Shape | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    shift_days: int = 0,
    use_remembered: bool = True,
) -> Preview:
    """Look at a sheet of water tests; nothing is saved, and open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    shape
        What a person says of columns, order of dates, year, blanks, blocks.
    sheet
        Which sheet of a workbook is meant.
    pond
        The pond that is meant where the file names none.
    shift_days
        Whole days by which every day of the file is moved [d].
    use_remembered
        Take what was said for an earlier file of that source where nothing is said now.

    Returns
    -------
    Preview
        With a plan once every question that is needed is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or its columns are no water tests.
    NotFound
        When `pond` names no pond, or several.
    """
    said = shape or Shape()
    file = read_file(path, separator=said.separator or None)
    grid = file.grid(sheet)
    layout = lay_out(grid, said)
    source = fingerprint(layout)
    kept = remembered(book, KIND, source) if use_remembered else None
    told = [*file.remarks, *grid.remarks]
    whole = said
    if kept is not None:
        whole = said.over(kept.shape)
        layout = lay_out(grid, whole)
        told.append(
            f"Read as was said on {day_said(kept.said_at.astimezone(book.zone).date())} for "
            f"{kept.name}, a file with the same headings."
        )
    _refuse_what_is_none(path, layout)
    _refuse_commas_for_both(file, layout)
    ponds = PondNames(book)
    every_row = None if pond is None else ponds.one(pond)
    today = now.astimezone(book.zone).date()
    order, said_of_order, questions = open_questions(
        layout, whole, ponds, today, pond_given=pond is not None
    )
    told.extend(said_of_order)
    plan = None
    if not any(one.needed for one in questions):
        reader = RowReader(book, now, whole, order, ponds, every_row, shift_days)
        plan = _plan(file, grid, layout, reader, told)
    sections = layout.sections
    return Preview(
        path,
        grid.name,
        tuple(one.name for one in file.grids if one.rows and not one.hidden),
        sections[0].guesses,
        sections[0].blocks,
        tuple((one.header.line, one.guesses) for one in sections[1:]),
        tuple((row.line, row.cells) for row in sections[0].rows[:_FEW]),
        tuple(questions),
        tuple(told) if plan is None else plan.told,
        whole,
        said,
        source,
        plan,
    )


def read_water(
    path: Path,
    book: Book,
    now: datetime,
    *,
    shape: Shape | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    shift_days: int = 0,
) -> Plan[PlannedTest]:
    """What a sheet of water tests would bring into the book; nothing is saved.

    Parameters
    ----------
    path, book, now, shape, sheet, pond, shift_days
        As for `look_at_water`.

    Returns
    -------
    Plan of PlannedTest
        A row that cannot be read wholly is refused wholly, with the reason; rows of one test that
        lies in several rows are refused together.

    Raises
    ------
    AskFirst
        When the file leaves open what nobody may guess.
    BadInput
        When the file cannot be read, or its columns are no water tests.
    NotFound
        When `pond` names no pond, or several.
    """
    preview = look_at_water(
        path, book, now, shape=shape, sheet=sheet, pond=pond, shift_days=shift_days
    )
    if preview.plan is None:
        raise AskFirst(preview.needed)
    return preview.plan


def save_water(
    book: Book, act: Act, plan: Plan[PlannedTest], preview: Preview | None = None
) -> Done:
    """Save the tests of a plan in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when. Who took a test, if it was somebody else, is noted.
    plan
        From `read_water` or a preview.
    preview
        What was said of the sheet is remembered for the next file of that source.

    Returns
    -------
    Done
        How many tests were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    said = preview is not None and bool(preview.said.lasting().as_json())
    if not plan.items and not said:
        return Done(0, plan.already, len(plan.refused))
    with book.writing(act) as writing:
        if preview is not None and said:
            remember(writing, KIND, preview.source, plan.path.name, preview.shape)
        there = tests_there(writing.connection, plan.items)
        fresh = [one for one in plan.items if not is_there(one, there)]
        if fresh:
            file = keep_file(writing, plan, len(fresh))
            add_tests(writing, [(one.pond, _signed(one, act)) for one in fresh], import_file=file)
    return Done(len(fresh), plan.already + len(plan.items) - len(fresh), len(plan.refused))


def _plan(
    file: SheetFile, grid: Grid, layout: Layout, reader: RowReader, told: Sequence[str]
) -> Plan[PlannedTest]:
    tests = tests_of(layout, grid, reader, loose=file.workbook)
    kept, already = new_ones(reader.book, tests, reader.gathering)
    several = len(layout.sections) > 1 or len(layout.sections[0].head) > 1
    heads = tuple(
        (one.header.line if place else 0, tuple(row.cells for row in one.head))
        for place, one in enumerate(layout.sections)
    )
    return Plan(
        KIND,
        file.path,
        file.sha256,
        layout.sections[0].header.cells,
        reader.gathering.rows_read,
        tuple(kept),
        _once_a_line(reader.gathering.refused),
        already,
        (
            *brought_before(reader.book, file),
            *told,
            *_supposed(kept, reader),
            *_not_read(layout),
        ),
        file.separator or ",",
        reader.shift_days,
        heads if several else (),
    )


def _once_a_line(refused: Sequence[Refused]) -> tuple[Refused, ...]:
    """Refusals in order; those of several ponds in one row are one."""
    by_line: dict[int, Refused] = {}
    for one in sorted(refused, key=lambda each: each.line):
        there = by_line.get(one.line)
        if there is None:
            by_line[one.line] = one
        elif one.reason not in there.reason:
            by_line[one.line] = replace(there, reason=f"{there.reason} {one.reason}")
    return tuple(by_line.values())


def _refuse_what_is_none(path: Path, layout: Layout) -> None:
    first = layout.sections[0]
    roles: dict[str, int] = {}
    for one in first.guesses:
        if one.block is None:
            roles[one.meaning] = roles.get(one.meaning, 0) + 1
    for role in ("pond", "client", "taken_at", "date", "time", "parameter", "value", "unit"):
        if roles.get(role, 0) > 1:
            raise BadInput(
                f"Two columns of the file mean {role.replace('_', ' ')}; nothing was brought in. "
                "Keep one of them, or say which is to be ignored.",
                field="column",
            )
    meanings = {one.meaning for one in first.guesses}
    if not {"date", "taken_at"} & meanings:
        raise BadInput(
            "The file has no column with days (date, taken_at); nothing was brought in. Name the "
            "columns in one line above the rows, or say which one it is.",
            field="column",
        )
    if not {"parameter", "value"} <= meanings and not {"reading", "note"} & meanings:
        raise BadInput(
            f"{plain(path.name)} has no column with a reading, so nothing was brought in. Head the "
            "columns with names such as temperature, pH, ammonia, KH, or say what they are.",
            field="column",
        )


def _refuse_commas_for_both(file: SheetFile, layout: Layout) -> None:
    """Commas between cells and within numbers: a row that happens to fit would be read wrongly."""
    if file.separator != ",":
        return
    rows = [(one, row) for one in layout.sections for row in one.rows]
    wide = sum(any(cell.strip() for cell in row.cells[one.width :]) for one, row in rows)
    point = any(
        "." in row.cell(guess.column)
        for one, row in rows
        for guess in one.guesses
        if guess.meaning == "reading"
    )
    if wide >= 2 and wide * 10 >= len(rows) * 3 and not point:
        raise BadInput(
            f"In {plain(file.path.name)} commas seem to part the cells and to be decimal marks as "
            "well, so no cell is certain; nothing was brought in. Save the sheet with semicolons "
            "or tabs, or as .xlsx."
        )


def _signed(one: PlannedTest, act: Act) -> NewTest:
    """The test, with who took it in its note where somebody else brings it in."""
    if not one.by or one.by_key == act.by:
        return one.test
    note = "; ".join(part for part in (one.test.note, f"taken by {one.by}") if part)
    return replace(one.test, note=note)


def _not_read(layout: Layout) -> tuple[str, ...]:
    """The columns and lines that were not read."""
    told = []
    names = [
        f"“{one.title:.40}”" + (f" ({one.why})" if "hidden" in one.why else "")
        for section in layout.sections
        for one in section.guesses
        if one.meaning == "ignore" and one.title and one.sure != "said" and one.why != "passed over"
    ]
    names = list(dict.fromkeys(names))
    if names:
        few = ", ".join(names[: _FEW + 1]) + (" …" if len(names) > _FEW + 1 else "")
        told.append(f"Not read, as the book keeps no such thing: {few}.")
    told.extend(
        f"Line {one.line} is {one.why}: “{one.text:.60}”." for one in layout.left_out[:_FEW]
    )
    if len(layout.left_out) > _FEW:
        more = [str(one.line) for one in layout.left_out[_FEW:]]
        shown = ", ".join(more[:20]) + (" …" if len(more) > 20 else "")
        told.append(f"So are {len(more)} further lines: {shown}.")
    return tuple(told)


def _supposed(kept: Sequence[PlannedTest], reader: RowReader) -> tuple[str, ...]:
    """One sentence for each thing that had to be supposed."""
    told = []
    if reader.unit_supposed:
        units = ", ".join(
            f"{PARAMETERS[code].short} in {unit}" if unit else PARAMETERS[code].short
            for code, unit in reader.unit_supposed.items()
            if unit
        )
        if units:
            told.append(f"Where the file names no unit, it was taken as: {units}.")
    unknown = sorted(
        {
            PARAMETERS[reading.parameter].short
            for one in kept
            for reading in one.test.readings
            if reading.form == "unknown"
        }
    )
    if unknown:
        told.append(
            f"Nobody has said as what the kit reports {', '.join(unknown)}: the readings are kept "
            "as ranges. State the kit of the pond or of the practice, or name the form in the "
            "heading."
        )
    for word, sentence in (
        ("no time", "without a time of day: noon was supposed, and the note says so"),
        (
            "part of day",
            "with a word such as “am” for the time: the word stands in the note, with the hour "
            "that was supposed for it",
        ),
        ("twice", "in the hour that the clock showed twice: the first was supposed"),
    ):
        number = sum(one.told == word for one in kept)
        if number:
            told.append(f"{number} {'test' if number == 1 else 'tests'} {sentence}.")
    return tuple(told)

"""A sheet of water tests looked at: what its columns mean, what is asked, what would be saved."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from types import MappingProxyType

from store.book.book import Book
from store.book.kits import kit_in_use
from store.errors import BadInput
from store.exchange.columns import (
    Block,
    Guess,
    Layout,
    LeftOut,
    Question,
    Shape,
    fingerprint,
    lay_out,
)
from store.exchange.plain.planned import Plan, Refused, brought_before
from store.exchange.plain.whose import PondNames
from store.exchange.sheets import SheetFile
from store.exchange.water.doubled import Doubled, new_ones
from store.exchange.water.questions import kit_question, open_questions, unusual_question
from store.exchange.water.remarks import (
    not_read,
    refuse_commas_for_both,
    refuse_what_is_none,
    supposed,
)
from store.exchange.water.remembered import Remembered, remembered
from store.exchange.water.rows import PlannedTest, RowReader, tests_of
from store.text import day_said
from store.water.parameters import PARAMETERS

KIND = "water tests"
_FEW = 5
Progress = Callable[[int, int], object]


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
    """None while a question is open that is needed, and where there is a trouble."""
    trouble: BadInput | None = None
    """Why the columns as they are taken make no water tests; saying what they are mends it."""
    doubled: tuple[Doubled, ...] = ()
    """Tests that are passed over, as the same is in the book or stands above in the file."""
    left_out: tuple[LeftOut, ...] = ()
    """Lines that are no data."""
    kept: Remembered | None = None
    """What was said for an earlier file of that source, where it was taken."""
    pond: str = ""
    """The pond of the whole file, as a person said it."""
    proposed: Mapping[tuple[str, str], str] = field(default_factory=lambda: MappingProxyType({}))
    """What was answered for an earlier file to questions of one file, by `field` and `about`."""

    @property
    def needed(self) -> tuple[Question, ...]:
        """The questions without whose answers nothing is read."""
        return tuple(one for one in self.questions if one.needed)

    @property
    def header(self) -> tuple[str, ...]:
        """The first headings in their order."""
        return tuple(one.title for one in self.columns)


def look_at_sheet(
    file: SheetFile,
    book: Book,
    now: datetime,
    *,
    shape: Shape | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    shift_days: int = 0,
    use_remembered: bool = True,
    progress: Progress | None = None,
) -> Preview:
    """Look at a file that was read; nothing is saved, and open questions are handed back.

    Parameters
    ----------
    file
        From `store.exchange.sheets.read_file`.
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
    progress
        Told now and then how many rows were read, and how many there are.

    Returns
    -------
    Preview
        With a plan once every question that is needed is answered, and a trouble where the columns
        make no water tests.

    Raises
    ------
    BadInput
        When the file has no such sheet, several, or none with headings.
    NotFound
        When `pond` names no pond, or several.
    """
    said = shape or Shape()
    grid = file.grid(sheet)
    layout = lay_out(grid, said)
    source = fingerprint(layout)
    titles = tuple(one.title for one in layout.sections[0].guesses)
    kept = remembered(book, KIND, source, titles) if use_remembered else None
    told = [*file.remarks, *grid.remarks]
    whole = said
    if kept is not None and kept.shape.as_json():
        whole = said.over(kept.shape)
        layout = lay_out(grid, whole)
        told.append(
            f"Read as was said on {day_said(kept.said_at.astimezone(book.zone).date())} for "
            f"{kept.name}, a file with the same headings."
        )
    ponds = PondNames(book)
    every_row = None if pond is None else ponds.one(pond)
    order, said_of_order, questions = open_questions(
        layout, whole, ponds, now.astimezone(book.zone).date(), pond_given=pond is not None
    )
    told.extend(said_of_order)
    first = layout.sections[0]
    preview = Preview(
        file.path,
        grid.name,
        tuple(one.name for one in file.grids if one.rows and not one.hidden),
        first.guesses,
        first.blocks,
        tuple((one.header.line, one.guesses) for one in layout.sections[1:]),
        tuple((row.line, row.cells) for row in first.rows[:_FEW]),
        tuple(questions),
        tuple(told),
        whole,
        said,
        source,
        None,
        _trouble(file, layout),
        left_out=layout.left_out,
        kept=kept,
        pond=pond or "",
        proposed=_proposed(questions, first.blocks, kept),
    )
    if preview.trouble is not None or preview.needed:
        return preview
    reader = RowReader(book, now, whole, order, ponds, every_row, shift_days)
    tests = tests_of(layout, grid, reader, loose=file.workbook, progress=progress)
    new, doubled = new_ones(book, tests, reader.gathering)
    plan = _plan(file, layout, reader, told, new, len(doubled))
    return replace(
        preview,
        questions=(
            *questions,
            *unusual_question(reader.unusual, whole.unusual),
            *kit_question(*_without_a_kit(book, new), whole.kit),
        ),
        told=plan.told,
        plan=plan,
        doubled=tuple(doubled),
    )


def _without_a_kit(book: Book, new: Sequence[PlannedTest]) -> tuple[str, list[str]]:
    """The practice's kit, and what stands without a form at ponds that state none."""
    found: dict[str, None] = {}
    kit = ""
    for one in new:
        if one.test.kit_id is None:
            codes = [each.parameter for each in one.test.readings if each.form == "unknown"]
            if codes and not kit:
                known = kit_in_use(book, one.pond)
                kit = "" if known is None else known.name
            found.update(dict.fromkeys(PARAMETERS[code].short for code in codes))
    return kit, sorted(found)


def _trouble(file: SheetFile, layout: Layout) -> BadInput | None:
    try:
        refuse_what_is_none(file.path, layout)
        refuse_commas_for_both(file, layout)
    except BadInput as error:
        return error
    return None


def _proposed(
    questions: Sequence[Question], blocks: Sequence[Block], kept: Remembered | None
) -> Mapping[tuple[str, str], str]:
    """What an earlier file's ponds were, for the questions after them."""
    if kept is None:
        return MappingProxyType({})
    found = {}
    for one in questions:
        if one.field == "pond" and kept.pond:
            found[one.field, one.about] = kept.pond
        # By name alone: which block is the second may have changed.
        if one.field == "block" and not one.about.isdigit():
            own = [each.keys for each in blocks if one.about in each.keys]
            keys = [one.about, one.about.casefold()]
            keys += [key for each in own for key in each if not key.isdigit()]
            said = next((kept.blocks[key] for key in keys if key in kept.blocks), "")
            if said:
                found[one.field, one.about] = said
    return MappingProxyType(found)


def _plan(
    file: SheetFile,
    layout: Layout,
    reader: RowReader,
    told: Sequence[str],
    new: Sequence[PlannedTest],
    already: int,
) -> Plan[PlannedTest]:
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
        tuple(new),
        _once_a_line(reader.gathering.refused),
        already,
        (
            *brought_before(reader.book, file),
            *told,
            *supposed(new, reader),
            *not_read(layout),
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

"""Water tests out of a sheet: one row a test, or one row a reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.doubled import is_there, new_ones, tests_there
from store.exchange.headings import heading_of
from store.exchange.moments import Order
from store.exchange.planned import Columns, Done, Plan, brought_before, keep_file, unread
from store.exchange.table import Sheet, open_sheet
from store.exchange.water_rows import KNOWN, PlannedTest, RowReader, tall, wide
from store.water.parameters import PARAMETERS
from store.water.water_tests import NewTest, add_tests

__all__ = ["PlannedTest", "read_water", "save_water"]


def read_water(
    path: Path,
    book: Book,
    now: datetime,
    *,
    pond: str | None = None,
    order: Order = "ymd",
    shift_days: int = 0,
) -> Plan[PlannedTest]:
    """What a sheet of water tests would bring into the book; nothing is saved.

    Columns: `pond`, `taken_at` (or `date` and `time`), and either one column a parameter or
    `parameter`, `value`, `unit`, `form`; further `note`, `place`, `by`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    now
        The present instant.
    pond
        The pond that is meant where the file names none.
    order
        In which order the file writes day and month.
    shift_days
        Whole days by which every day of the file is moved [d].

    Returns
    -------
    Plan of PlannedTest
        A row that cannot be read wholly is refused wholly, with the reason; rows of one test that
        lies in several rows are refused together.

    Raises
    ------
    BadInput
        When the file cannot be read, or its columns are no water tests.
    NotFound
        When `pond` names no pond, or several.
    """
    sheet = open_sheet(path)
    columns = Columns(sheet.header, KNOWN)
    reader = RowReader(book, now, columns, pond, order, shift_days)
    if columns.has("parameter") and columns.has("value"):
        left = columns.rest
        tests = tall(sheet, reader)
    else:
        headings = {place: heading_of(sheet.header[place]) for place in columns.rest}
        known = {place: found for place, found in headings.items() if found is not None}
        if not known and not columns.has("note"):
            raise BadInput(
                f"{path.name} has no column with a reading, so nothing was brought in. Head the "
                "columns with names such as temperature, pH, ammonia, KH."
            )
        left = [place for place in columns.rest if place not in known]
        tests = wide(sheet, reader, known)
    kept, already = new_ones(book, tests, reader.gathering)
    told = (
        *brought_before(book, sheet),
        *_supposed(sheet, kept, reader),
        *unread(sheet.header, left),
    )
    return Plan(
        "water tests",
        path,
        sheet.sha256,
        sheet.header,
        reader.gathering.rows_read,
        tuple(kept),
        tuple(sorted(reader.gathering.refused, key=lambda one: one.line)),
        already,
        told,
        sheet.separator,
        shift_days,
    )


def save_water(book: Book, act: Act, plan: Plan[PlannedTest]) -> Done:
    """Save the tests of a plan in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when. Who took a test, if it was somebody else, is noted.
    plan
        From `read_water`.

    Returns
    -------
    Done
        How many tests were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    if not plan.items:
        return Done(0, plan.already, len(plan.refused))
    with book.writing(act) as writing:
        there = tests_there(writing.connection, plan.items)
        fresh = [one for one in plan.items if not is_there(one, there)]
        if fresh:
            file = keep_file(writing, plan, len(fresh))
            add_tests(writing, [(one.pond, _signed(one, act)) for one in fresh], import_file=file)
    return Done(len(fresh), plan.already + len(plan.items) - len(fresh), len(plan.refused))


def _signed(one: PlannedTest, act: Act) -> NewTest:
    """The test, with who took it in its note where somebody else brings it in."""
    if not one.by or one.by_key == act.by:
        return one.test
    note = "; ".join(part for part in (one.test.note, f"taken by {one.by}") if part)
    return replace(one.test, note=note)


def _supposed(sheet: Sheet, kept: Sequence[PlannedTest], reader: RowReader) -> tuple[str, ...]:
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
        ("no time", "of a day without a time were taken as of noon, and say so in their note"),
        ("twice", "fell in the hour that the clock showed twice; the first was supposed"),
    ):
        number = sum(one.told == word for one in kept)
        if number:
            told.append(f"{number} {'test' if number == 1 else 'tests'} {sentence}.")
    return tuple(told)

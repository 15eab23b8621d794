"""Water tests out of any sheet: looked at with its guesses and questions, then saved."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.exchange.columns import AskFirst, Shape
from store.exchange.plain.planned import Done, Plan, keep_file
from store.exchange.sheets import read_file
from store.exchange.water.doubled import is_there, tests_there
from store.exchange.water.looked import KIND, Preview, Progress, look_at_sheet
from store.exchange.water.remembered import remember
from store.exchange.water.rows import PlannedTest
from store.water.water_tests import NewTest, add_tests

__all__ = [
    "PlannedTest", "Preview", "look_at_sheet", "look_at_water", "read_water", "save_water",
]  # fmt: skip


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
    progress: Progress | None = None,
) -> Preview:
    """Look at a sheet of water tests; nothing is saved, and open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book, now, shape, sheet, pond, shift_days, use_remembered, progress
        As for `look_at_sheet`.

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
    file = read_file(path, separator=(shape.separator if shape is not None else "") or None)
    preview = look_at_sheet(
        file, book, now, shape=shape, sheet=sheet, pond=pond, shift_days=shift_days,
        use_remembered=use_remembered, progress=progress,
    )  # fmt: skip
    if preview.trouble is not None:
        raise preview.trouble
    return preview


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
    said = preview is not None and _says_something(preview)
    if not plan.items and not said:
        return Done(0, plan.already, len(plan.refused))
    with book.writing(act) as writing:
        if preview is not None and said:
            remember(
                writing, KIND, preview.source, plan.path.name, preview.shape,
                titles=preview.header, pond=preview.pond, before=preview.kept,
            )  # fmt: skip
        there = tests_there(writing.connection, plan.items)
        fresh = [one for one in plan.items if not is_there(one, there)]
        if fresh:
            file = keep_file(writing, plan, len(fresh))
            add_tests(writing, [(one.pond, _signed(one, act)) for one in fresh], import_file=file)
    return Done(len(fresh), plan.already + len(plan.items) - len(fresh), len(plan.refused))


def _says_something(preview: Preview) -> bool:
    """Whether there is something to be remembered for the next file of that source."""
    said = preview.said
    return bool(said.lasting().as_json() or said.blocks or preview.pond)


def _signed(one: PlannedTest, act: Act) -> NewTest:
    """The test, with who took it in its note where somebody else brings it in."""
    if not one.by or one.by_key == act.by:
        return one.test
    note = "; ".join(part for part in (one.test.note, f"taken by {one.by}") if part)
    return replace(one.test, note=note)

"""Parasite sheets: looked at with their questions, then saved as examinations of fish.

Fish of one pond, day and examiner are one examination; a fish that a file brings to a day that is
in the book already joins the examination there.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.writing import Writing
from store.errors import BadInput
from store.exams.examining import add_fish, record_examination
from store.exchange.columns.question import AskFirst
from store.exchange.columns.said import Said
from store.exchange.fish.exam_plan import Kept, PlannedExam, kept_of, place_of, planned_exams
from store.exchange.fish.fish_columns import FISH, refuse_what_is_none
from store.exchange.fish.fish_questions import open_in_fish
from store.exchange.fish.fish_rows import FishRows
from store.exchange.named.planning import Preview, save_plan, sheet_of
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.planned import Done
from store.exchange.plain.whose import PondNames

__all__ = ["PlannedExam", "look_at_fish", "save_fish"]


def look_at_fish(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    use_remembered: bool = True,
) -> Preview[PlannedExam]:
    """Look at a parasite sheet; nothing is saved, and open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    said
        What a person says of it.
    sheet
        Which sheet of a workbook is meant.
    pond
        The pond that is meant where the file names none.
    use_remembered
        Take what was said for an earlier file of that source where nothing is said now.

    Returns
    -------
    Preview of PlannedExam
        With a plan once every question that is needed is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or is no parasite sheet.
    NotFound
        When `pond` names no pond, or several.
    """
    fresh, names = said or Said(), PondNames(book)
    given = pond or fresh.get("pond")
    ponds = RowPonds(names, names.one(given) if given else None)
    seen, told = sheet_of(path, book, now, FISH, fresh, sheet=sheet, use_remembered=use_remembered)
    refuse_what_is_none(seen)
    questions = [*seen.questions, *open_in_fish(seen, ponds)]
    plan = None
    if not any(one.needed for one in questions):
        plan, more = planned_exams(book, now, FishRows(book, book.today(now), seen, ponds), told)
        questions.extend(more)
    sheets = tuple(one.name for one in seen.file.grids if one.rows and not one.hidden)
    told = [*told, *seen.told]
    return Preview(
        seen, fresh, tuple(questions), tuple(told) if plan is None else plan.told, plan, sheets
    )


def save_fish(book: Book, act: Act, preview: Preview[PlannedExam]) -> Done:
    """Save the examinations of a parasite sheet in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        From `look_at_fish`, with a plan.

    Returns
    -------
    Done
        How many examinations were added or got more fish.

    Raises
    ------
    AskFirst
        When a question is open.
    BadInput, BookTrouble
        Nothing was saved.
    """
    if preview.plan is None:
        raise AskFirst(preview.needed)

    items, before = preview.plan.items, list[Kept]()

    def add(writing: Writing, one: PlannedExam, _file: UUID) -> bool:
        if not before:
            before.append(kept_of(writing.connection, writing.book, items))
        place = place_of(before[0], writing.book, one)
        if place.clash:
            raise BadInput(f"{place.clash} Look at the file once more; nothing was saved.")
        if not place.fresh:
            return False
        if place.into is None:
            record_examination(writing, one.pond, replace(one.exam, fish=place.fresh))
        else:
            for fish in place.fresh:
                add_fish(writing, place.into.id, fish)
        return True

    return save_plan(book, act, preview.plan, preview.sheet, preview.fresh, add)

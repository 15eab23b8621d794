"""Mortality books of keepers and sites: looked at with their questions, then saved as counts.

A cause that the book writes is kept in the note as it stands: it is what somebody thought, and no
diagnosis. A row without a number says nothing; a 0 says that somebody looked and found none.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from pathlib import Path
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.writing import Writing
from store.exams.deaths import record_deaths
from store.exchange.columns.question import AskFirst
from store.exchange.columns.said import Said
from store.exchange.fish.death_columns import deaths_kind, open_in_deaths
from store.exchange.fish.death_doubles import Key, PlannedDeaths, entries_there
from store.exchange.fish.death_rows import DeathRows
from store.exchange.named.planning import Preview, save_plan, sheet_of
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.planned import Done
from store.exchange.plain.whose import PondNames

__all__ = ["PlannedDeaths", "look_at_deaths", "save_deaths"]


def look_at_deaths(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    use_remembered: bool = True,
) -> Preview[PlannedDeaths]:
    """Look at a mortality book; nothing is saved, and open questions are handed back.

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
    Preview of PlannedDeaths
        With a plan once every question that is needed is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or is no mortality book.
    NotFound
        When `pond` names no pond, or several.
    """
    fresh, names = said or Said(), PondNames(book)
    given = pond or fresh.get("pond")
    ponds = RowPonds(names, names.one(given) if given else None)
    seen, told = sheet_of(
        path, book, now, deaths_kind(names), fresh, sheet=sheet, use_remembered=use_remembered
    )
    questions = [*seen.questions, *open_in_deaths(seen, ponds)]
    plan = None
    if not any(one.needed for one in questions):
        reader = DeathRows(book, now, seen, ponds)
        plan, more = reader.plan(told)
        questions.extend(more)
    sheets = tuple(one.name for one in seen.file.grids if one.rows and not one.hidden)
    told = [*told, *seen.told]
    return Preview(
        seen, fresh, tuple(questions), tuple(told) if plan is None else plan.told, plan, sheets
    )


def save_deaths(book: Book, act: Act, preview: Preview[PlannedDeaths]) -> Done:
    """Save the counts of a mortality book in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        From `look_at_deaths`, with a plan.

    Returns
    -------
    Done
        How many were added.

    Raises
    ------
    AskFirst
        When a question is open.
    BadInput, BookTrouble
        Nothing was saved.
    """
    plan = preview.plan
    if plan is None:
        raise AskFirst(preview.needed)
    before: list[Counter[Key]] = []

    def add(writing: Writing, one: PlannedDeaths, _file: UUID) -> bool:
        if not before:
            before.append(entries_there(writing.connection, plan.items).same)
        if one.nth <= before[0][one.key]:
            return False
        record_deaths(writing, one.pond, one.deaths, sure=True)
        return True

    return save_plan(book, act, plan, preview.sheet, preview.fresh, add)

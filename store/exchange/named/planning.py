"""A sheet of named columns on its way into the book: looked at, planned, saved in one action."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.writing import Writing
from store.exchange.columns.named import IGNORE, NamedRow, NamedSheet, SheetKind, look_at
from store.exchange.columns.question import Question
from store.exchange.columns.said import Said
from store.exchange.named.kept import keep_said, said_before
from store.exchange.plain.planned import (
    Done,
    Gathering,
    Plan,
    Refused,
    brought_before,
    keep_file,
)
from store.exchange.sheets import read_file
from store.text import plain

Item = TypeVar("Item")
_FEW = 5


@dataclass(frozen=True, slots=True)
class Preview(Generic[Item]):
    """A sheet looked at: its columns, what is asked, and what would be saved."""

    sheet: NamedSheet
    fresh: Said
    """What a person said now; `sheet.said` has what was said before as well."""
    questions: tuple[Question, ...]
    told: tuple[str, ...]
    plan: Plan[Item] | None
    """None while a question is open that is needed."""
    sheets: tuple[str, ...] = ()

    @property
    def needed(self) -> tuple[Question, ...]:
        """The questions without whose answers nothing is read."""
        return tuple(one for one in self.questions if one.needed)


def sheet_of(
    path: Path,
    book: Book,
    now: datetime,
    kind: SheetKind,
    said: Said,
    *,
    sheet: str | None = None,
    use_remembered: bool = True,
) -> tuple[NamedSheet, list[str]]:
    """A sheet looked at as was said now and for an earlier file of that source.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    kind
        The roles of its columns.
    said
        What a person says now.
    sheet
        Which sheet of a workbook is meant.
    use_remembered
        Take what was said before where nothing is said now.

    Returns
    -------
    tuple of NamedSheet, list of str
        With what is to be told of the file, a sentence each.

    Raises
    ------
    BadInput
        When the file cannot be read, or its columns are not of that kind.
    """
    file = read_file(path, separator=said.get("separator") or None)
    grid = file.grid(sheet)
    today = now.astimezone(book.zone).date()
    told = [*file.remarks, *grid.remarks]
    if not use_remembered:
        return look_at(file, grid, kind, said, today), told
    # What was said before may be what makes the headings known: they are looked at without needs.
    bare = look_at(file, grid, replace(kind, needed=()), said, today)
    before, sentence = said_before(book, kind.name, bare.source)
    if sentence:
        told.append(sentence)
    return look_at(file, grid, kind, said.over(before), today), told


def filled(row: NamedRow) -> tuple[str, ...]:
    """The cells of a row with those that are carried from above, to be read by themselves.

    Parameters
    ----------
    row
        The row.
    """
    return tuple(row.filled.get(place, cell) for place, cell in enumerate(row.raw.cells))


def refuse(gathering: Gathering, row: NamedRow, reason: str) -> None:
    """Leave a row out, with its day and pond as carried from above.

    Parameters
    ----------
    gathering
        Takes it.
    row
        The row.
    reason
        One sentence.
    """
    gathering.refused.append(Refused(row.line, plain(reason), filled(row)))


def plan_of(
    book: Book,
    sheet: NamedSheet,
    items: Sequence[Item],
    gathering: Gathering,
    already: int,
    told: Sequence[str],
) -> Plan[Item]:
    """The plan of a sheet: what is new, refused and left out, and what is told of it.

    Parameters
    ----------
    book
        The practice's book.
    sheet
        The sheet.
    items
        What is new.
    gathering
        The refused rows; those astray are added.
    already
        How many records are in the book.
    told
        What had to be supposed, a sentence each.
    """
    for row, reason in sheet.astray:
        gathering.refuse(row, reason)
    header = sheet.header.cells
    heads = [(0, tuple(row.cells for row in sheet.head))]
    begun = ""
    for one in sheet.rows:
        if one.under != begun and one.titled:
            heads.append((one.titled, ((one.under,), header)))
        begun = one.under
    return Plan(
        sheet.kind.name,
        sheet.file.path,
        sheet.file.sha256,
        header,
        len(sheet.rows) + len(sheet.astray),
        tuple(items),
        tuple(sorted(gathering.refused, key=lambda one: one.line)),
        already,
        (*brought_before(book, sheet.file), *told, *sheet.told, *_not_read(sheet)),
        sheet.file.separator or ",",
        0,
        tuple(heads) if len(heads) > 1 or len(sheet.head) > 1 else (),
    )


def save_plan(
    book: Book,
    act: Act,
    plan: Plan[Item],
    sheet: NamedSheet,
    fresh: Said,
    add: Callable[[Writing, Item, UUID], bool],
) -> Done:
    """Save a plan in one action, with the file and what was said of it.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        What is saved.
    sheet, fresh
        What was said now is remembered for the next file of that source.
    add
        Saves one item, given the key of the file; False where it came into the book meanwhile.

    Returns
    -------
    Done
        How many were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    lasting = bool(fresh.lasting(sheet.kind.once).as_json())
    if not plan.items and not lasting:
        return Done(0, plan.already, len(plan.refused))
    with book.writing(act) as writing:
        if lasting:
            keep_said(writing, sheet)
        file = keep_file(writing, plan, len(plan.items)) if plan.items else None
        added = 0
        if file is not None:
            added = sum(add(writing, one, file) for one in plan.items)
    return Done(added, plan.already + len(plan.items) - added, len(plan.refused))


def _not_read(sheet: NamedSheet) -> tuple[str, ...]:
    """The columns and lines that were not read."""
    told = []
    names = [
        f"“{one.title:.40}”" + (f" ({one.why})" if "hidden" in one.why else "")
        for one in sheet.columns
        if one.meaning == IGNORE and one.title and not one.said and one.why != "passed over"
    ]
    if names:
        few = ", ".join(names[: _FEW + 1]) + (" …" if len(names) > _FEW + 1 else "")
        told.append(f"Not read, as nobody said what it is: {few}.")
    told.extend(f"Line {one.line} is {one.why}: “{one.text:.60}”." for one in sheet.left_out[:_FEW])
    if len(sheet.left_out) > _FEW:
        more = [str(one.line) for one in sheet.left_out[_FEW:]]
        shown = ", ".join(more[:20]) + (" …" if len(more) > 20 else "")
        told.append(f"So are {len(more)} further lines: {shown}.")
    return tuple(told)

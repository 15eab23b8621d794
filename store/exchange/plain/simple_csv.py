"""Sheets whose rows are rows of one table: staff, kits, visits, events."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from store.book.act import Act
from store.book.book import Book
from store.book.writing import Writing
from store.errors import PondroundError
from store.exchange.plain.planned import (
    Columns,
    Done,
    Gathering,
    Plan,
    brought_before,
    keep_file,
    unread,
)
from store.exchange.plain.table import Row, open_sheet

Reads = Callable[[Row, Columns], Mapping[str, Any]]
Same = Callable[[Mapping[str, Any]], object]


@dataclass(frozen=True, slots=True)
class PlannedRow:
    """A record that the file would bring, as columns of the book."""

    line: int
    values: Mapping[str, Any]


def plan_rows(
    kind: str,
    path: Path,
    book: Book,
    columns_known: dict[str, tuple[str, ...]],
    needed: tuple[str, ...],
    reads: Reads,
    same: Same,
    present: Iterable[object],
    shift_days: int = 0,
) -> Plan[PlannedRow]:
    """What a sheet of one kind of record would bring.

    Parameters
    ----------
    kind
        What the file holds, in words.
    path
        The file.
    book
        The practice's book.
    columns_known
        Columns with the further names by which they go.
    needed
        Columns without which the file is refused.
    reads
        One row as columns of the book; raises for a row that cannot be read.
    same
        What makes two records the same.
    present
        What `same` gives for the records in the book.
    shift_days
        Whole days by which the days of the file are moved [d].

    Returns
    -------
    Plan of PlannedRow
        With refused rows.
    """
    sheet = open_sheet(path)
    columns = Columns(sheet.header, columns_known)
    columns.need(*needed)
    gathering = Gathering()
    known = set(present)
    items: list[PlannedRow] = []
    already = 0
    for row in gathering.fitting(sheet):
        try:
            values = reads(row, columns)
        except PondroundError as error:
            gathering.refuse(row, error.message)
            continue
        if same(values) in known:
            already += 1
            continue
        known.add(same(values))
        items.append(PlannedRow(row.line, values))
    return Plan(
        kind,
        path,
        sheet.sha256,
        sheet.header,
        gathering.rows_read,
        tuple(items),
        tuple(gathering.refused),
        already,
        (*brought_before(book, sheet), *unread(sheet.header, columns.rest)),
        sheet.separator,
        shift_days,
    )


def save_rows(
    book: Book,
    act: Act,
    plan: Plan[PlannedRow],
    present: Callable[[Writing], Iterable[object]],
    same: Same,
    add: Callable[[Writing, Mapping[str, Any]], object],
) -> Done:
    """Save the records of a plan in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `plan_rows`.
    present
        What `same` gives for the records in the book, within the writing.
    same
        What makes two records the same.
    add
        Adds one record.

    Returns
    -------
    Done
        How many were added.
    """
    added = 0
    if plan.items:
        with book.writing(act) as writing:
            known = set(present(writing))
            for one in plan.items:
                if same(one.values) not in known:
                    add(writing, one.values)
                    added += 1
            if added:
                keep_file(writing, plan, added)
    return Done(added, plan.already + len(plan.items) - added, len(plan.refused))

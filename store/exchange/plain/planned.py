"""What a file would bring into the book: looked at first, saved afterwards."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput
from store.exchange.plain.table import Row, Sheet, sheet_text
from store.exchange.sheets import RawRow, SheetFile
from store.text import plain

Item = TypeVar("Item")
REASON = "why refused"
LINE = "line"


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that was left out, with the reason; nothing of it went into the book."""

    line: int
    reason: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan(Generic[Item]):
    """What would be saved, what is there already, and what is refused."""

    kind: str
    """What the file holds, such as `water tests` or `ponds`."""
    path: Path
    sha256: str
    header: tuple[str, ...]
    rows_read: int
    items: tuple[Item, ...]
    refused: tuple[Refused, ...]
    already: int
    """How many of the file's records are in the book already and are passed over."""
    told: tuple[str, ...]
    """What had to be supposed, and columns that were not read: one sentence each."""
    separator: str = ","
    shift_days: int = 0
    heads: tuple[tuple[int, tuple[tuple[str, ...], ...]], ...] = ()
    """Where a sheet has more than one line of headings: from which line on, and those lines."""


@dataclass(frozen=True, slots=True)
class Done:
    """What was saved of a plan."""

    added: int
    already: int
    refused: int


class Gathering:
    """Counts rows and collects refusals while a file is read."""

    def __init__(self) -> None:
        self.rows_read = 0
        self.refused: list[Refused] = []

    def refuse(self, row: Row | RawRow, reason: str) -> None:
        """Leave a row out.

        Parameters
        ----------
        row
            The row.
        reason
            One sentence.
        """
        self.refused.append(Refused(row.line, plain(reason), row.cells))

    def fitting(self, sheet: Sheet) -> Iterator[Row]:
        """The rows of a sheet that have no more cells than its header; the others are refused.

        Parameters
        ----------
        sheet
            The file.
        """
        for row in sheet.rows():
            self.rows_read += 1
            if row.surplus:
                self.refuse(row, "The row has more cells than the header, so none is certain.")
            else:
                yield row


class Columns:
    """The places of named columns in a header; names are compared without case, blanks and marks.

    Parameters
    ----------
    header
        The header of the file.
    known
        Column name to the further names by which it goes.

    Raises
    ------
    BadInput
        When two columns of the header mean the same.
    """

    def __init__(self, header: Sequence[str], known: dict[str, tuple[str, ...]]) -> None:
        by_name = {same(one): name for name, others in known.items() for one in (name, *others)}
        self.places: dict[str, int] = {}
        self.rest: list[int] = []
        for place, title in enumerate(header):
            name = by_name.get(same(title))
            if name is None:
                if same(title) not in _PASSED_OVER:
                    self.rest.append(place)
            elif name in self.places:
                raise BadInput(
                    f"Two columns of the file mean {name.replace('_', ' ')}; nothing was brought "
                    "in. Keep one of them."
                )
            else:
                self.places[name] = place

    def has(self, name: str) -> bool:
        """Whether the file has that column."""
        return name in self.places

    def text(self, row: Row, name: str) -> str:
        """The cell of a column, without blanks at its ends; empty where there is no such column."""
        place = self.places.get(name)
        return "" if place is None else row.cells[place].strip()

    def need(self, *names: str) -> None:
        """Refuse a file that lacks one of these columns.

        Parameters
        ----------
        *names
            Of columns.

        Raises
        ------
        BadInput
            Naming what is missing.
        """
        missing = [name for name in names if name not in self.places]
        if missing:
            raise BadInput(
                f"The file has no column {', '.join(missing)}; nothing was brought in. The first "
                "line names the columns.",
                field=missing[0],
            )


def same(title: str) -> str:
    """A column's name without case, blanks, dashes and dots.

    Parameters
    ----------
    title
        As it stands in the header.
    """
    return "".join(letter for letter in plain(title).casefold() if letter not in " _-./")


_PASSED_OVER = frozenset({"", same(REASON), same(LINE)})


def unread(header: Sequence[str], places: Sequence[int]) -> tuple[str, ...]:
    """The sentence that names the columns which were not read, if there are any.

    Parameters
    ----------
    header
        The header of the file.
    places
        Places of the columns that were not read, counted from 0.

    Returns
    -------
    tuple of str
        One sentence, or empty.
    """
    names = [plain(header[place]) for place in places]
    if not names:
        return ()
    few = ", ".join(f"“{name:.40}”" for name in names[:6]) + (" …" if len(names) > 6 else "")
    return (f"Not read, as the book keeps no such thing: {few}.",)


def brought_before(book: Book, sheet: Sheet | SheetFile) -> tuple[str, ...]:
    """The sentence that says when the same file was brought in before, if it was.

    Parameters
    ----------
    book
        The book.
    sheet
        The file.
    """
    files = table("import_file").c
    query = select(files.created_at, files.shift_s).where(
        files.sha256 == sheet.sha256, files.struck_at.is_(None)
    )
    with book.reading() as connection:
        found = connection.execute(query.order_by(files.created_at.desc()).limit(1)).first()
    if found is None:
        return ()
    day = found.created_at.astimezone(book.zone).date()
    if found.shift_s:
        moved = f"{found.shift_s / 86_400:+g} days"
        return (
            f"This very file was brought in on {day}, moved by {moved}: rows whose day is not in "
            "the book count as new. Look whether they are wanted twice.",
        )
    return (f"This very file was brought in on {day}; what is in the book is not doubled.",)


def keep_file(
    writing: Writing,
    plan: Plan[Item],
    rows_saved: int,
    *,
    refused: int | None = None,
) -> UUID:
    """Enter the file itself, by its name and fingerprint.

    Parameters
    ----------
    writing
        The action it belongs to.
    plan
        What it brings.
    rows_saved
        How many of its rows are saved.
    refused
        How many were refused; those of the plan when left out.

    Returns
    -------
    UUID
        Key of the file.
    """
    return writing.add(
        "import_file",
        name=plain(plan.path.name)[:500],
        sha256=plan.sha256,
        kind=plan.kind,
        rows_read=plan.rows_read,
        rows_saved=rows_saved,
        rows_refused=len(plan.refused) if refused is None else refused,
        shift_s=plan.shift_days * 86_400,
    )


def write_refused(plan: Plan[Item]) -> Path | None:
    """Write the refused rows beside the file they came from, with the reason in front.

    Corrected and brought in again, they are read as the file was; the two columns in front are
    passed over.

    Parameters
    ----------
    plan
        What was read.

    Returns
    -------
    Path or None
        `NAME.refused.csv`, or the next free name after it; None when nothing was refused.

    Raises
    ------
    BadInput
        When the folder may not be written.
    """
    if not plan.refused:
        return None
    text = _refused_under_heads(plan) if plan.heads else _refused_under_header(plan)
    stem = plan.path.name.removesuffix(plan.path.suffix)
    stem = re.sub(r"\.refused(-\d+)?$", "", stem)
    place = plan.path.with_name(f"{stem}.refused.csv")
    number = 2
    try:
        while place.exists():
            if place != plan.path and place.read_bytes() == text.encode():
                return place
            place = plan.path.with_name(f"{stem}.refused-{number}.csv")
            number += 1
        place.touch(mode=0o600)
        place.write_bytes(text.encode())
    except OSError as error:
        raise BadInput(
            f"The refused rows cannot be written to {place} ({error.strerror or error}); nothing "
            "was brought in. Copy the file to a folder that you may write."
        ) from error
    return place


def _refused_under_header(plan: Plan[Item]) -> str:
    keep = [at for at, title in enumerate(plan.header) if same(title) not in _PASSED_OVER]
    width = len(plan.header)
    surplus = max(len(one.cells) for one in plan.refused) - width
    header = [LINE, REASON, *(plan.header[at] for at in keep), *[""] * max(surplus, 0)]
    rows = (
        [
            str(one.line),
            one.reason,
            *(one.cells[at] if at < len(one.cells) else "" for at in keep),
            *one.cells[width:],
        ]
        for one in plan.refused
    )
    return sheet_text(header, rows, plan.separator)


def _refused_under_heads(plan: Plan[Item]) -> str:
    """The refused rows under their own headings, title lines and units among them."""
    begun = -1
    lines: list[list[str]] = []
    front = [same(cell) for cell in plan.header[:2]] == [same(LINE), same(REASON)]
    for one in sorted(plan.refused, key=lambda each: each.line):
        place = max(at for at, (line, _) in enumerate(plan.heads) if line <= one.line or not at)
        if place != begun:
            begun = place
            for cells in plan.heads[place][1]:
                headed = tuple(cells) == plan.header or len(plan.heads[place][1]) == 1
                names = [LINE, REASON] if headed else ["", ""]
                lines.append([*names, *(cells[2:] if front else cells)])
        lines.append([str(one.line), one.reason, *(one.cells[2:] if front else one.cells)])
    width = max(map(len, lines))
    filled = [[*line, *[""] * (width - len(line))] for line in lines]
    return sheet_text(filled[0], filled[1:], plan.separator)

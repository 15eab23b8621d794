"""What the page of a water sheet asks of the store, each in one go."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import PondroundError

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.columns import Shape
    from store.exchange.plain.planned import Done
    from store.exchange.sheets import SheetFile
    from store.exchange.water.looked import Preview


def counted(number: int, one: str) -> str:
    """A number with its word, `1 test`, `2,000 tests`."""
    return f"{number:,} {one if number == 1 else one + 's'}"


def said_done(done: Done, beside: Path | None, preview: Preview) -> str:
    """What was saved, in sentences.

    Parameters
    ----------
    done
        What was saved.
    beside
        The file of what was left out.
    preview
        The sheet, with what was said of it.
    """
    said = [f"{counted(done.added, 'water test')} in the book."]
    if done.already:
        said.append(f"{done.already:,} there already, passed over.")
    if beside is not None:
        said.append(f"Rows left out are in {beside.name}, with the reasons.")
    if preview.said.lasting().as_json():
        said.append("What you said of the columns is remembered for files with these headings.")
    return " ".join(said)


def opened(path: Path) -> SheetFile:
    """The file as raw cells.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    BadInput
        It cannot be read.
    """
    from store.exchange.sheets import read_file

    return read_file(path)


def sheets_of(file: SheetFile) -> list[tuple[str, str]]:
    """The sheets that are shown and hold something, each with its rows and first words."""
    found = []
    for one in file.grids:
        if one.rows and not one.hidden:
            words = [cell.strip() for cell in one.rows[0].cells if cell.strip()]
            rows = f"{len(one.rows):,} row{'' if len(one.rows) == 1 else 's'}"
            found.append((one.name, f"{rows}: {', '.join(words)}"))
    return found


def looked_at(
    file: SheetFile,
    book: Book,
    now: datetime,
    said: Shape,
    page: str | None,
    pond: str | None,
    use_remembered: bool,
    progress: Callable[[int, int], object],
) -> tuple[Preview, Mapping[UUID, str]]:
    """The sheet looked at with what was said of it, and the ponds of the book by their keys.

    Parameters
    ----------
    file
        As raw cells.
    book
        The practice's book.
    now
        The present instant.
    said
        What was said of columns, days, blanks and blocks.
    page
        The sheet of a workbook.
    pond
        The pond of the whole file.
    use_remembered
        Take what was said for an earlier file with these headings.
    progress
        Told how many rows were read, and how many there are.
    """
    from store.book.ponds import cards
    from store.exchange.water.looked import look_at_sheet

    preview = look_at_sheet(
        file, book, now, shape=said, sheet=page, pond=pond, use_remembered=use_remembered,
        progress=progress,
    )  # fmt: skip
    return preview, {one.pond.id: f"{one.client.name}, {one.pond.name}" for one in cards(book)}


def saved(book: Book, act: Act, preview: Preview) -> tuple[Done, Path | None]:
    """Save the tests of a sheet; the rows left out go into a file beside it, which is given too.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        The sheet; it has a plan.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    from store.exchange.plain.planned import write_refused
    from store.exchange.water.sheets import save_water

    assert preview.plan is not None
    # Beside the file first: when that cannot be written, nothing is in the book without its rest.
    beside = write_refused(preview.plan)
    try:
        return save_water(book, act, preview.plan, preview), beside
    except PondroundError:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise

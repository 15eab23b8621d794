"""What leaves the book: a pond's water, a table, or the whole book, into a file or a folder."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from textual import on
from textual.message import Message

from store.errors import BadInput, PondroundError
from tui.screens.parts.to_file import FileForm
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.listing import ListLine
    from store.exchange.out.rows import Progress, Told
    from tui.app import PondroundApp

WHAT = (
    ("water", "water tests of a pond, a sheet"),
    ("pond", "a table, of the pond alone"),
    ("table", "a table, all of it"),
    ("book", "the whole book, a folder of CSV"),
    ("json", "the whole book, JSON"),
)
CARE = {
    "water": "A line a test, a column a parameter with its unit, as CSV for a spreadsheet. It uses "
    "pond, from and to.",
    "pond": "Rows of the table that belong to the pond, as CSV. It uses table, pond, from and to.",
    "table": "Every row of the table, those that are struck through among them, as CSV. It uses "
    "table, from and to.",
    "book": "Every table with a README, a dictionary and a manifest; “pondround import book” makes "
    "the same book of it. It holds what clients told in confidence.",
    "json": "One object a line, for programs. It holds what clients told in confidence.",
}
_CELLS = 34
_TICK_S = 0.2
_NO_NAME = re.compile(r"[^\w-]+")


@dataclass(frozen=True, slots=True)
class Wish:
    """What was filled in, understood as far as it can be without the book."""

    what: str
    table: str
    pond: str
    first: date | None
    last: date | None


class OutScreen(FileForm):
    """What goes out, and where to.

    Parameters
    ----------
    pond
        By what the proposed pond goes: its code, or client, site and name.
    day
        The present day of the practice, for names of files.
    """

    WHAT = "what leaves the book now"
    QUESTION = "What is to leave the book, and where is it to stand?"
    ABOUT = (
        "Nothing in the book is changed. CSV is UTF-8; a text that a spreadsheet would take for a "
        "formula is marked with an apostrophe, numbers stay numbers. Below the form stands what "
        "will go out, and which of the fields it uses. A file that is there already is written "
        "over only after you say so. Nothing is sent. The same at the command line: pondround "
        "export."
    )

    class Far(Message):
        """How far the writing is."""

        def __init__(self, progress: Progress) -> None:
            super().__init__()
            self.progress = progress

    def __init__(self, pond: str, day: date) -> None:
        from store.exchange.out.described import table_names

        tables = tuple((name, name.replace("_", " ")) for name in sorted(table_names()))
        fields = (
            Field("what", "what", "", "water" if pond else "book", choices=WHAT, width=_CELLS),
            Field("table", "table", "", "water_test", choices=tables, width=_CELLS),
            Field("pond", "pond", "code or name", pond, width=_CELLS),
            Field("first", "from", "2026-05-03, or empty"),
            Field("last", "to", "2026-05-03, or empty"),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        super().__init__("Out of the book", fields, f"out-{day.isoformat()}-{pond}")
        self._day = day

    def care(self, values: Mapping[str, str]) -> str:
        """What will go out, and which of the fields it uses."""
        return CARE.get(values["what"], CARE["book"])

    async def write(self, texts: dict[str, str]) -> str:
        """Write it, stretch by stretch; how far it is stands under the form."""
        wish = wish_of(texts)
        path = path_of(texts["file"], wish, self._day)
        app, told = self.ponds_app, self._teller()
        try:
            return await app.ask_store(
                written, app.book, wish, path, app.now(), over=False, told=told
            )
        except BadInput as trouble:
            if not can_be_replaced(path, wish):
                raise _said_here(trouble) from trouble
        await self.ask_over(path)
        return await app.ask_store(written, app.book, wish, path, app.now(), over=True, told=told)

    def _teller(self) -> Told:
        """Tells the screen how far it is, from the thread that writes, a few times a second."""
        last = 0.0

        def told(progress: Progress) -> None:
            nonlocal last
            if time.monotonic() - last >= _TICK_S:
                last = time.monotonic()
                self.post_message(self.Far(progress))

        return told

    @on(Far)
    def _is_so_far(self, far: Far) -> None:
        if self.is_writing:
            at = far.progress
            self.tell(f"writing {at.done:,} of {at.whole:,} rows ({at.table})")


def wish_of(texts: Mapping[str, str]) -> Wish:
    """What was filled in.

    Parameters
    ----------
    texts
        By name of the field.

    Raises
    ------
    BadInput
        Something that this needs is missing, or a day is none.
    """
    from store.exchange.plain.moments import read_day

    what = texts["what"] or "book"
    days: dict[str, date | None] = {}
    for name in ("first", "last"):
        typed = texts[name].strip()
        try:
            days[name] = read_day(typed) if typed and what in ("water", "pond", "table") else None
        except BadInput as error:
            raise BadInput(error.message, field=name) from error
    if days["first"] and days["last"] and days["first"] > days["last"]:
        raise BadInput("The first day lies after the last one.", field="first")
    if what in ("water", "pond") and not texts["pond"].strip():
        raise BadInput("Please say which pond, by its code or name.", field="pond")
    if what in ("pond", "table") and not texts["table"]:
        raise BadInput("Please choose a table.", field="table")
    return Wish(what, texts["table"], texts["pond"].strip(), days["first"], days["last"])


def path_of(typed: str, wish: Wish, day: date) -> Path:
    """The file that is meant: a folder, or nothing, takes the name that is proposed.

    Parameters
    ----------
    typed
        As it was typed.
    wish
        What goes out.
    day
        The present day of the practice.
    """
    pond = _NO_NAME.sub("-", wish.pond).strip("-").lower()[:40] or "pond"
    name = {
        "water": f"water-{pond}-{day}.csv",
        "pond": f"{wish.table}-{pond}-{day}.csv",
        "table": f"{wish.table}-{day}.csv",
        "book": f"book-{day}",
        "json": f"book-{day}.jsonl",
    }[wish.what]
    path = Path(typed.strip()).expanduser()
    if not typed.strip():
        return Path(name)
    return path / name if path.is_dir() and not can_be_replaced(path, wish) else path


def can_be_replaced(path: Path, wish: Wish) -> bool:
    """Whether something is there that a person may have written over.

    Parameters
    ----------
    path
        Where it is to stand.
    wish
        What goes out; of folders only one that a book was written to before.
    """
    from store.exchange.out.folder import MANIFEST

    return (path / MANIFEST).is_file() if wish.what == "book" else path.is_file()


def _said_here(trouble: BadInput) -> BadInput:
    """The sentence beside the field that it is about, in the words of this page."""
    fields = {"from": "first", "to": "last"}
    field = fields.get(trouble.field or "", trouble.field or "file")
    return BadInput(trouble.message, field=field)


def written(book: Book, wish: Wish, path: Path, now: Any, *, over: bool, told: Told) -> str:
    """Write it, and say what is there now.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What goes out.
    path
        Where to.
    now
        The present instant.
    over
        Replace what is there.
    told
        Is told how far it is.

    Raises
    ------
    BadInput
        There is something already, or the pond is not one.
    NotFound
        It cannot be written.
    """
    makes: dict[str, Callable[[], str]] = {
        "water": lambda: _water(book, wish, path, over=over),
        "pond": lambda: _table(book, wish, path, over=over, told=told),
        "table": lambda: _table(book, wish, path, over=over, told=told),
        "book": lambda: _book(book, path, now, over=over, told=told),
        "json": lambda: _json(book, path, now, over=over, told=told),
    }
    return f"{path.resolve()}\n{makes[wish.what]()}"


def _water(book: Book, wish: Wish, path: Path, *, over: bool) -> str:
    from store.exchange.out.water_sheet import Days, export_water

    days = Days(wish.first, wish.last)
    made = export_water(book, _pond(book, wish), path, days=days, over=over)
    return f"{made.rows:,} water test{'' if made.rows == 1 else 's'}"


def _pond(book: Book, wish: Wish) -> UUID:
    from store.exchange.plain.whose import PondNames

    try:
        return PondNames(book).one(wish.pond)
    except PondroundError as error:
        raise BadInput(error.message, field="pond") from error


def _table(book: Book, wish: Wish, path: Path, *, over: bool, told: Told) -> str:
    from store.exchange.out.narrowed import Narrow
    from store.exchange.out.table_csv import export_table

    pond = _pond(book, wish) if wish.what == "pond" else None
    narrow = Narrow(pond, None, wish.first, wish.last)
    made = export_table(book, wish.table, path, narrow=narrow, over=over, told=told)
    return _rows(made.rows)


def _book(book: Book, path: Path, now: Any, *, over: bool, told: Told) -> str:
    from store.exchange.out.book_folder import export_book

    made = export_book(book, path, now, over=over, told=told).manifest
    return f"{_rows(made.rows)} of {len(made.tables)} tables"


def _json(book: Book, path: Path, now: Any, *, over: bool, told: Told) -> str:
    from store.exchange.out.json_lines import export_json

    return _rows(export_json(book, path, now, over=over, told=told).rows)


def _rows(number: int) -> str:
    return f"{number:,} row{'' if number == 1 else 's'}"


async def take_out(app: PondroundApp, line: ListLine | None) -> None:
    """Ask what goes out and where to, and write it.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    line
        The line of the directory under the cursor; its pond is proposed.
    """
    pond = ""
    if line is not None and line.pond_id is not None:
        pond = line.code or ", ".join((line.client, line.site, line.pond))
    day = await app.ask_store(app.book.today, app.now())
    await app.push_screen_wait(OutScreen(pond, day))

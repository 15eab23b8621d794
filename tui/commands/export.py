"""`pondround export`: what leaves the book; and `import book`, which brings a whole one back."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound, PondroundError
from store.text import plain
from tui.commands.parsing import OneSentenceParser
from tui.commands.where import DEMO, NO_BOOK, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.out.narrowed import Narrow
    from store.exchange.out.rows import Progress, Told
    from store.exchange.out.table_csv import Written

STDOUT = "-"
_TICK_S = 0.2
_CARE = "It holds what clients told in confidence; keep it as carefully as the book."
_LISTED = "tables"


def add_export(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `export` and what can go out to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options may stand before and behind what goes out.
    """
    export = subparsers.add_parser(
        "export", parents=parents, help="write tables, a pond's water or the whole book to files",
        description="Nothing in the book is changed, and no file is written over unasked. CSV is "
        "UTF-8; a text that a spreadsheet would take for a formula is marked with an apostrophe.",
    )  # fmt: skip
    kinds = export.add_subparsers(
        dest="what", metavar="WHAT", parser_class=OneSentenceParser, required=True
    )
    table = kinds.add_parser(
        "table", parents=parents, help="one table as CSV for a spreadsheet",
        description="One table as CSV, all of it or that of a pond, a client, or some days.",
    )  # fmt: skip
    table.add_argument(
        "table", metavar="NAME", help="such as water_test; “export tables” lists all"
    )
    _add_file(table)
    _add_narrow(table)

    whole = kinds.add_parser(
        "book", parents=parents, help="the whole book as a folder of CSV, to keep or to move",
        description="A CSV a table, a README, a dictionary of every column, a manifest with rows "
        "and SHA-256. “pondround import book” makes the same book of it.",
    )  # fmt: skip
    whole.add_argument("file", type=Path, metavar="FOLDER", help="the folder; it is made")
    _add_usual(whole, "replace a folder that was written like this before")

    lines = kinds.add_parser(
        "json", parents=parents, help="the whole book or a table as JSON, for programs",
        description="One JSON object a line. Of the whole book the first line says what it is, and "
        "each further one is {“table”: …, “row”: {…}}; of a table each line is a row.",
    )  # fmt: skip
    _add_file(lines)
    lines.add_argument("--table", metavar="NAME", default="", help="only this table")
    _add_narrow(lines)

    water = kinds.add_parser(
        "water", parents=parents, help="the water tests of a pond as a sheet for its owner",
        description="A line a test, a column a parameter with its unit, oldest first.",
    )  # fmt: skip
    _add_file(water)
    water.add_argument("--pond", metavar="POND", required=True, help="name or code, or part of it")
    _add_days(water)
    _add_usual(water)

    kinds.add_parser(
        _LISTED, parents=parents, help="list the tables with their rows",
        description="Every table of the book: its name, its rows, what it holds.",
    )  # fmt: skip


def add_import_book(kinds: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `book` to what `import` takes.

    Parameters
    ----------
    kinds
        What `ArgumentParser.add_subparsers` returned to `import`.
    parents
        Parsers whose options it takes as well.
    """
    one = kinds.add_parser(
        "book", parents=parents, help="a whole book, out of the folder of “export book”",
        description="Makes a new book of a folder that “pondround export book” wrote: the same "
        "keys, revisions, people, times and log. A folder of an older version comes in as its book "
        "would, had this version opened it; one of a newer version is refused. --book names the "
        "new place; a book that is there is never touched.",
    )  # fmt: skip
    one.add_argument("file", type=Path, metavar="FOLDER", help="the folder")
    one.add_argument(
        "--dry-run", action="store_true", help="look whether it can be brought in, and make nothing"
    )


def _add_file(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="the file; - prints it")


def _add_usual(one: argparse.ArgumentParser, over: str = "write over a file that is there") -> None:
    one.add_argument("--over", action="store_true", help=over)
    one.add_argument(
        "--dry-run", action="store_true", help="tell what would go out, and write nothing"
    )


def _add_narrow(one: argparse.ArgumentParser) -> None:
    whose = one.add_mutually_exclusive_group()
    whose.add_argument("--pond", metavar="POND", default="", help="only what belongs to this pond")
    whose.add_argument(
        "--client", metavar="CLIENT", default="", help="only what belongs to this client"
    )
    _add_days(one)
    _add_usual(one)


def _add_days(one: argparse.ArgumentParser) -> None:
    one.add_argument("--from", dest="first", metavar="D", default="", help="first day, 2026-05-03")
    one.add_argument("--to", dest="last", metavar="D", default="", help="last day, 2026-05-03")


def run_export(args: argparse.Namespace) -> int:
    """Write what was asked for, and say where it is."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        if args.what == _LISTED:
            return _list_tables(book)
        if args.what == "book":
            return _export_book(book, args, at)
        if args.what == "water":
            return _export_water(book, args)
        return _export_rows(book, args, at)


def _list_tables(book: Book) -> int:
    from store.exchange.out.book_folder import book_rows
    from store.exchange.out.described import table_meaning

    with book.reading() as connection:
        rows = book_rows(connection)
    for name in sorted(rows):
        print(f"{name:<16} {rows[name]:>9,}  {table_meaning(name)}")
    return 0


def _export_book(book: Book, args: argparse.Namespace, at: datetime) -> int:
    from store.exchange.out.book_folder import book_rows, export_book

    if args.dry_run:
        with book.reading() as connection:
            rows = book_rows(connection)
        _say(f"Would write {_rows(sum(rows.values()))} of {len(rows)} tables into {args.file}.")
        return 0
    with _watched("writing") as told:
        written = export_book(book, args.file.expanduser(), at, over=args.over, told=told)
    manifest = written.manifest
    _say(f"{written.path}: {_rows(manifest.rows)} of {len(manifest.tables)} tables. {_CARE}")
    return 0


def _export_rows(book: Book, args: argparse.Namespace, at: datetime) -> int:
    """A table as CSV, or a table or the whole book as JSON."""
    from store.exchange.out.json_lines import asked_of, export_json, write_json
    from store.exchange.out.narrowed import day_said
    from store.exchange.out.rows import count_rows
    from store.exchange.out.table_csv import export_table, known_table, write_table

    if args.what == "table":
        args.table = known_table(args.table).name
    as_json, narrow = args.what == "json", _narrow(book, args)
    table, asked = asked_of(book, args.table, narrow)
    if table is not None and (args.first or args.last):
        _say(f"Days of {table.name} are counted by {day_said(table.name)}.", file=sys.stderr)
    if args.dry_run:
        if table is None:
            return _export_book(book, args, at)
        with book.reading() as connection:
            found = count_rows(connection, table, *asked)
        _say(f"Would write {_rows(found)} of {table.name} into {args.file}.")
        return 0
    if args.file == STDOUT:
        sys.stdout.flush()
        with book.reading() as connection:
            if as_json:
                write_json(connection, sys.stdout.buffer, at, table, *asked)
            elif table is not None:
                write_table(connection, table, sys.stdout.buffer, *asked, bom=False)
        sys.stdout.buffer.flush()
        return 0
    path = _path(args.file)
    with _watched("writing") as told:
        if as_json:
            written = export_json(
                book, path, at, name=args.table, narrow=narrow, over=args.over, told=told
            )
        else:
            written = export_table(book, args.table, path, narrow=narrow, over=args.over, told=told)
    _say(_written(path, written, "of the whole book" if table is None else f"of {table.name}"))
    return 0


def _export_water(book: Book, args: argparse.Namespace) -> int:
    from store.exchange.out.water_sheet import Days, count_water, export_water, write_water
    from tui.commands.asked import one_pond

    pond = one_pond(book, args.pond)
    days = Days(_day(args.first, "first day"), _day(args.last, "last day"))
    if args.dry_run:
        _say(f"Would write {_tests(count_water(book, pond, days))} into {args.file}.")
        return 0
    if args.file == STDOUT:
        sys.stdout.flush()
        zone = book.zone
        with book.reading() as connection:
            write_water(connection, pond, zone, sys.stdout.buffer, days=days, bom=False)
        sys.stdout.buffer.flush()
        return 0
    path = _path(args.file)
    written = export_water(book, pond, path, days=days, over=args.over)
    _say(f"{path}: {_tests(written.rows)}.")
    return 0


def run_import_book(args: argparse.Namespace) -> int:
    """Make a new book of a folder; 1 where it cannot be done, and then there is none."""
    from store.exchange.back.back import bring_back, try_back

    at, place = now(), place_of(args)
    if place == DEMO:
        raise BadInput("A whole book is brought into a place of its own: name one with --book.")
    folder = args.file.expanduser()
    try:
        with _watched("looking" if args.dry_run else "bringing in") as told:
            if args.dry_run:
                brought = try_back(folder, at, told=told)
            else:
                brought = bring_back(folder, place, at, told=told)
    except PondroundError as error:
        _say(error.message, file=sys.stderr)
        return 1
    manifest = brought.manifest
    practice = manifest.practice or "A practice without a name"
    _say(
        f"{practice}, as of {manifest.written_at:%Y-%m-%d %H:%M} UTC: {_rows(manifest.rows)} of "
        f"{len(manifest.tables)} tables."
    )
    for sentence in brought.told:
        _say(sentence)
    _say(
        "It can be brought in; nothing was made."
        if args.dry_run
        else f"The book is {_named(place)}."
    )
    return 0


def _named(place: str) -> str:
    """A place without a password."""
    from urllib.parse import urlsplit

    if "://" not in place:
        return place
    parts = urlsplit(place)
    return f"{parts.scheme}://{parts.netloc.rpartition('@')[2]}{parts.path}"


def _narrow(book: Book, args: argparse.Namespace) -> Narrow:
    from store.exchange.out.narrowed import Narrow
    from tui.commands.asked import one_pond

    return Narrow(
        one_pond(book, args.pond) if args.pond else None,
        one_client(book, args.client) if args.client else None,
        _day(args.first, "first day"),
        _day(args.last, "last day"),
    )


def one_client(book: Book, text: str) -> UUID:
    """The one client that a key, a name or a part of it means.

    Parameters
    ----------
    book
        The practice's book.
    text
        As it was typed.

    Raises
    ------
    NotFound
        None is like it, or several are.
    """
    from store.book.clients import clients

    wanted = " ".join(text.casefold().split())
    known = clients(book)
    for fitting in (
        [one for one in known if wanted in (str(one.id), one.name.casefold())],
        [one for one in known if wanted in one.name.casefold()],
    ):
        if len(fitting) == 1:
            return fitting[0].id
        if fitting:
            names = "; ".join(f"{one.name} ({one.id})" for one in fitting[:6])
            raise NotFound(f"Several clients fit: {names}. Please write more, or the key.")
    raise NotFound(f"No client like “{text}” is in the book.")


def _day(text: str, name: str) -> date | None:
    from tui.commands.typed import day

    return day(text, name) if text.strip() else None


def _path(typed: str) -> Path:
    return Path(typed).expanduser()


def _written(path: Path, written: Written, what: str) -> str:
    return f"{path}: {_rows(written.rows)} {what}."


def _rows(number: int) -> str:
    return f"{number:,} row{'' if number == 1 else 's'}"


def _tests(number: int) -> str:
    return f"{number:,} water test{'' if number == 1 else 's'}"


def _say(text: str, file: Any = None) -> None:
    print(plain(text), file=file)


def _watched(what: str) -> AbstractContextManager[Told]:
    return watched_rows(lambda one: f"{what} {one.done:,} of {one.whole:,} rows ({one.table})")


@contextmanager
def watched_rows(said: Callable[[Progress], str]) -> Iterator[Told]:
    """How far it is, on standard error where that is a terminal; the line is taken away again.

    Parameters
    ----------
    said
        What stands in the line.
    """
    shows, last = sys.stderr.isatty(), 0.0

    def told(progress: Progress) -> None:
        nonlocal last
        if not shows or time.monotonic() - last < _TICK_S:
            return
        last = time.monotonic()
        sys.stderr.write(f"\r\x1b[2K{said(progress)}")
        sys.stderr.flush()

    try:
        yield told
    finally:
        if shows:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()

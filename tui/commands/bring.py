"""`pondround import`: plain files into the book."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import PondroundError
from store.text import plain
from tui.commands.named_options import OPTIONS
from tui.commands.parsing import OneSentenceParser

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.plain.planned import Done, Plan

_SHOWN = 5
_KINDS = {
    "water": "water tests out of any sheet (CSV, .xlsx): one row a test, or one row a reading",
    "logger": "the file of a logger in one pond, as the logger wrote it",
    "air": "the temperature of the air at a station, by the day or by the hour",
    "ponds": "clients, sites and ponds: one row a pond",
    "staff": "the people of the practice",
    "kits": "test kits, and as what they report",
    "visits": "visits, planned and done",
    "events": "what happened at ponds",
    "drives": "the practice's own drive times: from, to, minutes, km",
    "fish": "what was found on fish: parasite sheets, one row a fish or one row a finding",
    "deaths": "a mortality book: dead fish by the day, out of any sheet (CSV, .xlsx)",
    "lab": "results of a laboratory, out of any sheet (CSV, .xlsx)",
    "medicines": "what went out of a medicine book, out of any sheet (CSV, .xlsx)",
    "daysoff": "days off of a person, out of a calendar file (.ics)",
}
_TELLS = {
    "drives": "Columns: from, to, minutes, and where they are there km and note. A place is the "
    "code of a pond that lies there, client and site with a comma between (in quotes), a person "
    "for the place from which they set out, or practice. A way counts in both directions unless "
    "the other has a row of its own.",
}
"""What more there is to say of a kind."""
_ONE = {
    "water": "water test", "ponds": "pond", "staff": "person",
    "kits": "kit", "visits": "visit", "events": "event",
    "drives": "drive time", "deaths": "count of dead fish",
    "fish": "examination", "lab": "result",
    "medicines": "line out of a medicine book",
}  # fmt: skip
_SHEETS = ("water", "fish", "deaths", "lab", "medicines")
"""Kinds that come as any sheet, with corrections and questions of their own."""
_MANY = {
    "staff": "people", "deaths": "counts of dead fish",
    "medicines": "lines out of a medicine book",
}  # fmt: skip


def add_import(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `import` and its kinds of file to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options may stand before and behind the kind of file.
    """
    bring = subparsers.add_parser(
        "import",
        parents=parents,
        help="bring plain files (CSV, .ics) into the book",
        description="The first line of a file names its columns; cells are parted by commas, or by "
        "semicolons with a decimal comma. Rows that cannot be read are written beside the file "
        "with the reason; the others are saved. A file brought in twice adds nothing twice.",
    )
    kinds = bring.add_subparsers(
        dest="kind", metavar="KIND", parser_class=OneSentenceParser, required=True
    )
    for kind, summary in _KINDS.items():
        one = kinds.add_parser(
            kind, parents=parents, help=summary,
            description=" ".join(filter(None, [f"Bring in {summary}.", _TELLS.get(kind)])),
        )  # fmt: skip
        calendar = kind == "daysoff"
        one.add_argument(
            "file",
            type=Path,
            metavar="FILE",
            help=f"the {'calendar' if calendar else 'sheet' if kind in _SHEETS else 'CSV'} file",
        )
        one.add_argument(
            "--dry-run", action="store_true", help="tell what would be saved, and save nothing"
        )
        if calendar:
            whose = one.add_mutually_exclusive_group(required=True)
            whose.add_argument("--person", dest="away", metavar="NAME", help="who is away")
            whose.add_argument(
                "--everybody", action="store_true", help="the whole practice rests on these days"
            )
        if kind == "water":
            from tui.commands.bring_water import add_water

            add_water(one)
        elif kind == "logger":
            from tui.commands.bring_logger import add_logger_options

            add_logger_options(one)
        elif kind == "air":
            from tui.commands.bring_air import add_air_options

            add_air_options(one)
        elif kind in OPTIONS:
            from tui.commands.bring_named import add_named

            add_named(one, kind)
        elif kind not in ("ponds", "staff", "kits", "daysoff", "drives"):
            one.add_argument(
                "--dates", choices=("ymd", "dmy", "mdy"), default="ymd",
                help="in which order the file writes day and month (2026-05-02 always works)",
            )  # fmt: skip
    from tui.commands.export import add_import_book

    add_import_book(kinds, parents)
    from tui.commands.bring_clients import add_clients

    add_clients(kinds, parents)
    from tui.commands.bring_told import add_told

    add_told(kinds, parents)


def run_import(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Read the file, tell what is in it, and save it unless it is a dry run.

    Parameters
    ----------
    args
        What the parser of `add_import` understood.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Returns
    -------
    int
        0 when every row was understood, 1 when some were refused or nothing could be saved.
    """
    try:
        if args.kind == "daysoff":
            from tui.commands.bring_days_off import bring_days_off

            return bring_days_off(args, book, act)
        if args.kind == "water" and args.json:
            from tui.commands.bring_water import bring_water_json

            return bring_water_json(args, book, act)
        if args.kind == "logger":
            from tui.commands.bring_logger import bring_logger

            return bring_logger(args, book, act)
        if args.kind == "air":
            from tui.commands.bring_air import bring_air

            return bring_air(args, book, act)
        if args.kind == "clients":
            from tui.commands.bring_clients import bring_clients

            return bring_clients(args, book, act)
        if args.kind == "told":
            from tui.commands.bring_told import bring_told

            return bring_told(args, book, act)
        plan, done, beside = _bring(args, book, act)
    except PondroundError as error:
        print(plain(error.message), file=sys.stderr)
        return 1
    for line in _summary(args, plan, done, beside):
        print(plain(line))
    return 1 if plan.refused else 0


def _bring(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Done | None, Path | None]:
    from store.exchange.plain.planned import write_refused

    plan, save = _planned(args, book, act)
    if args.dry_run:
        return plan, None, None
    # Beside the file first: when that cannot be written, nothing is in the book without its rest.
    beside = write_refused(plan)
    try:
        return plan, save(), beside
    except PondroundError:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise


def _planned(args: argparse.Namespace, book: Book, act: Act) -> tuple[Plan[Any], Any]:
    """What the file would bring, and the function that saves it."""
    from store.exchange.plain import events_csv, ponds_csv, staff_csv, visits_csv

    now: datetime = act.at
    plan: Plan[Any]
    match args.kind:
        case "water":
            from tui.commands.bring_water import planned_water

            return planned_water(args, book, act)
        case kind if kind in OPTIONS:
            from tui.commands.bring_named import planned_named

            return planned_named(args, book, act)
        case "ponds":
            plan = ponds_csv.read_ponds(args.file, book, now)
            return plan, lambda: ponds_csv.save_ponds(book, act, plan)
        case "staff":
            plan = staff_csv.read_staff(args.file, book)
            return plan, lambda: staff_csv.save_staff(book, act, plan)
        case "kits":
            plan = staff_csv.read_kits(args.file, book)
            return plan, lambda: staff_csv.save_kits(book, act, plan)
        case "visits":
            plan = visits_csv.read_visits(args.file, book, now, order=args.dates)
            return plan, lambda: visits_csv.save_visits(book, act, plan)
        case "drives":
            from store.exchange.plain import drive_times_csv

            plan = drive_times_csv.read_drive_times(args.file, book)
            return plan, lambda: drive_times_csv.save_drive_times(book, act, plan)
        case _:
            plan = events_csv.read_events(args.file, book, now, order=args.dates)
            return plan, lambda: events_csv.save_events(book, act, plan)


def _summary(
    args: argparse.Namespace, plan: Plan[Any], done: Done | None, beside: Path | None
) -> Iterable[str]:
    """What happened, in plain words."""
    yield f"{plain(plan.path.name)}: {_count(plan.rows_read, 'row')} read."
    new = len(plan.items)
    if done is None:
        yield f"Would save {_count(new, _ONE[args.kind], _MANY.get(args.kind))}; nothing was saved."
        already = plan.already
    else:
        yield f"Saved {_count(done.added, _ONE[args.kind], _MANY.get(args.kind))}."
        already = done.already
    if already:
        yield f"{already} in the book already, passed over."
    yield from plan.told
    if plan.refused:
        verb = "would be" if done is None else "were" if len(plan.refused) > 1 else "was"
        yield f"{_count(len(plan.refused), 'row')} {verb} refused:"
        for one in plan.refused[:_SHOWN]:
            yield f"  line {one.line}: {one.reason}"
        if len(plan.refused) > _SHOWN:
            yield f"  and {len(plan.refused) - _SHOWN} more."
    if beside is not None:
        yield f"They are in {plain(str(beside))}; correct them there and import that file."


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number:,} {one if number == 1 else many or one + 's'}"

"""`pondround calendar`: the diary as a calendar file."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import NotFound
from store.text import plain
from tui.commands.typed import day
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book

_SHOWN = 6


def add_calendar(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `calendar` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    calendar = subparsers.add_parser(
        "calendar", parents=parents, help="write visits into a calendar file (.ics)",
        description="The visits of a vet, at a site or of all. Read into a calendar again, the "
        "same file changes what was changed and removes what was cancelled.",
    )  # fmt: skip
    calendar.add_argument("file", type=Path, metavar="FILE.ics", help="where it goes; - prints it")
    calendar.add_argument("--vet", metavar="NAME", default="", help="whose visits and days off")
    calendar.add_argument("--site", metavar="NAME", default="", help="client, site or both")
    calendar.add_argument("--from", dest="first", metavar="DAY", help="first day [today]")
    calendar.add_argument("--to", dest="last", metavar="DAY", help="last day [120 days later]")
    calendar.add_argument(
        "--codes", action="store_true", help="also what opens gates, in the notes on the way in"
    )
    calendar.add_argument("--no-days-off", action="store_true", help="the visits alone")
    calendar.add_argument(
        "--over", action="store_true", help="write over a file that is no calendar of ours"
    )


def run_calendar(args: argparse.Namespace) -> int:
    """Write the file and say what it holds."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    first = day(args.first, "first day") if args.first else None
    last = day(args.last, "last day") if args.last else None
    with open_place(place, at) as book:
        from store.diary.kept.files.calendar_out import calendar_out
        from store.diary.kept.files.site_named import site_named

        found = calendar_out(
            book,
            at,
            staff_id=_vet(book, args.vet) if args.vet else None,
            site_id=site_named(book, args.site) if args.site else None,
            first=first,
            last=last,
            codes=args.codes,
            days_off=not args.no_days_off,
        )
    says = (
        f"{found.name}: {_count(found.visits, 'visit')}, {found.removed} cancelled or moved away, "
        f"{_count(found.days_off, 'day off', 'days off')}."
    )
    if str(args.file) == "-":
        sys.stdout.write(found.data.decode())
        print(plain(says), file=sys.stderr)
        return 0
    from store.diary.calendar.save import save_calendar

    path = args.file.expanduser()
    save_calendar(path, found.data, over=args.over)
    print(plain(f"{path}: {says}"))
    return 0


def _vet(book: Book, name: str) -> UUID:
    from store.book.people import person_named, staff

    found = person_named(book, name)
    if found is None:
        names = ", ".join(one.name for one in staff(book)) or "nobody"
        raise NotFound(
            f"“{plain(name)[:60]}” is not on the staff of this book ({names}); nothing was written."
        )
    return found.id


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number:,} {one if number == 1 else many or one + 's'}"

"""`pondround backup` and `pondround restore`: whole copies of a book, and a book out of one."""

from __future__ import annotations

import argparse
import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import BadInput, NotFound
from tui.commands.check import watched
from tui.commands.where import (
    DEMO,
    NO_BOOK,
    backups_of,
    is_missing,
    no_password_in,
    now,
    open_place,
    place_of,
)
from tui.screens.guard.guard_said import WHYS, said_age
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.backup.marked import Backup

_NO_FOLDER = (
    "PONDROUND_BACKUPS says that there are to be none; name a folder or file with --to FOLDER."
)
_MB = 1_000_000


def run_backup(args: argparse.Namespace) -> int:
    """Make a backup, or list those there are."""
    place = place_of(args)
    return _list(args, place) if args.what else _make(args, place)


def _make(args: argparse.Namespace, place: str) -> int:
    from store.book.backup.making import back_up

    if place == DEMO:
        raise BadInput("The demo is thrown away; “pondround demo --keep FILE” keeps it.")
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    to = args.to or backups_of(place)
    if to is None:
        raise BadInput(_NO_FOLDER)
    at = now()
    with open_place(place, at) as book, watched(lambda what: f"{what}…") as told:
        made = back_up(book.engine, book.name, to, at, "hand", told=told)
    if args.json:
        print(json.dumps(as_json(made), indent=2))
    else:
        print(f"Backup made and compared with the book: {made.path}")
        print(f"{made.rows:,} rows, {made.size_bytes / _MB:,.1f} MB.")
    return 0


def _list(args: argparse.Namespace, place: str) -> int:
    from store.book.backup.keeping import backups_in

    folder = args.to or (None if place == DEMO else backups_of(place))
    found = list(backups_in(folder, place))
    beside = Path(place).parent if "://" not in place else None
    if beside is not None and beside != folder:
        found += backups_in(beside, place)
    found.sort(key=lambda one: one.at, reverse=True)
    at = now()
    if args.json:
        print(json.dumps([as_json(one) for one in found], indent=2))
        return 0
    if not found:
        print(f"There is no backup in {folder}." if folder else _NO_FOLDER)
    for one in found:
        print(
            f"{one.at.astimezone():%Y-%m-%d %H:%M}  {said_age(one.at, at):<14}  "
            f"{WHYS[one.why]:<17}  {one.size_bytes / _MB:8,.1f} MB  {one_line(str(one.path))}"
        )
    return 0


def run_restore(args: argparse.Namespace) -> int:
    """Make a book out of a backup."""
    from store.book.backup.restoring import restore

    no_password_in(args.to, "--to")
    at = now()
    with watched(lambda what: f"{what}…") as told:
        done = restore(args.file, args.to, at, told=told)
    since = _since(args, done.backup, at)
    if args.json:
        print(json.dumps({
            "place": done.place, "lines": done.lines, "written_since": since,
            "backup": as_json(done.backup),
        }, indent=2))  # fmt: skip
        return 0
    one = done.backup
    print(f"Restored to {done.place}: {one.rows:,} rows, {done.lines:,} lines of the record.")
    print(
        f"The backup was made {one.at.astimezone():%Y-%m-%d %H:%M} ({said_age(one.at, at)}) of "
        f"{one_line(one.of)}."
    )
    if since is None:
        print("What was written since cannot be told: the book it was made of is not there.")
    else:
        print(f"In the book it was made of {since:,} lines of the record were written since.")
    return 0


def _since(args: argparse.Namespace, backup: Backup, at: datetime) -> int | None:
    """What the book has beyond the backup; a book that cannot be asked is no hindrance."""
    from store.book.backup.restoring import written_since
    from store.errors import PondroundError

    beside = backup.path.resolve().parent
    places = [place_of(args)] if args.book else [
        str(folder / backup.of) for folder in (beside.parent, beside) if "://" not in backup.of
    ]  # fmt: skip
    for place in places:
        if place == DEMO or is_missing(place):
            continue
        try:
            with open_place(place, at) as book:
                return written_since(backup, book)
        except PondroundError:
            continue
    return None


def as_json(one: Backup) -> dict[str, Any]:
    """A backup for programs.

    Parameters
    ----------
    one
        The backup.
    """
    return {
        "file": str(one.path), "of": one.of, "made_at": one.at.isoformat(), "why": one.why,
        "tables_number": one.number, "rows": one.rows, "size_bytes": one.size_bytes,
        "chain": one.chain,
    }  # fmt: skip

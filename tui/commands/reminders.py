"""`pondround reminders`: texts that remind owners of what is due; nothing is sent."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import NotFound
from store.text import plain
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.diary.kept.files.reminders import Reminder

NONE = "Nobody has to be reminded of anything."
_SHOWN = 6
_MOST_DAYS = 366


def add_reminders(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `reminders` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    reminders = subparsers.add_parser(
        "reminders", parents=parents, help="print reminders to owners, or write a file for each",
        description="What is due, what to do before, what should make them ring: a text for each "
        "client. Nothing is sent.",
    )  # fmt: skip
    reminders.add_argument("--client", metavar="NAME", default="", help="one client alone")
    reminders.add_argument(
        "--folder", metavar="DIR", type=Path, help="one file a client; none is written over"
    )
    reminders.add_argument(
        "--days", type=_days, default=14, metavar="N", help="how far ahead it looks [14]"
    )
    reminders.add_argument(
        "--phone", metavar="NUMBER", default="", help="the number to ring [that of the letterhead]"
    )
    reminders.add_argument("--json", action="store_true", help="one JSON object, for programs")


def run_reminders(args: argparse.Namespace) -> int:
    """Print the texts, or write them into a folder."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.diary.kept.files.reminder_files import save_reminders
        from store.diary.kept.files.reminders import reminder, reminders
        from store.reports.kept.head import head_of

        phone = args.phone or head_of(book).telephone
        if args.client:
            key = client_named(book, args.client)
            told: tuple[Reminder, ...] = (
                reminder(book, key, at, ahead_days=args.days, telephone=phone),
            )
        else:
            told = reminders(book, at, ahead_days=args.days, telephone=phone)
        if args.json:
            print(json.dumps(as_json(told), indent=2, allow_nan=False))
        if args.folder is not None:
            saved = save_reminders(args.folder.expanduser(), told, book.today(at))
    if args.folder is not None and not args.json:
        for path in saved.written:
            print(plain(str(path)))
        same = f" {saved.same} stood there already." if saved.same else ""
        files = "file" if len(saved.written) == 1 else "files"
        print(f"{len(saved.written)} {files} written.{same}")
    elif not args.json:
        texts = [one.text for one in told if one.text]
        print("\n\n".join(texts) if texts else NONE)
    return 0


def as_json(told: Sequence[Reminder]) -> dict[str, Any]:
    """The reminders as one object.

    Key `reminders`: each with `client` (name), `key`, `phone`, `phone2`, `email`, `text`, `unsaid`
    (lines of the desk that a vet speaks of) and `items`: each with `does`, `says`, `where`,
    `due_on`, `first_on`, `last_on` (ISO 8601) and `agreed`: `on_day`, `at_time`, `who`, or null.

    Parameters
    ----------
    told
        From `store.diary.kept.files.reminders`.
    """
    return {
        "reminders": [
            {
                "client": one.client,
                "key": str(one.client_id),
                "phone": one.phone,
                "phone2": one.phone2,
                "email": one.email,
                "text": one.text,
                "unsaid": list(one.unsaid),
                "items": [
                    {
                        "does": item.does,
                        "says": item.says,
                        "where": item.where,
                        "due_on": item.due_on.isoformat(),
                        "first_on": item.first_on.isoformat(),
                        "last_on": item.last_on.isoformat(),
                        "agreed": None
                        if item.agreed is None
                        else {
                            "on_day": item.agreed.on_day.isoformat(),
                            "at_time": item.agreed.at_time.isoformat("minutes")
                            if item.agreed.at_time
                            else None,
                            "who": item.agreed.who,
                        },
                    }
                    for item in one.items
                ],
            }
            for one in told
        ]
    }


def client_named(book: Book, name: str) -> UUID:
    """The one client that a name means.

    Parameters
    ----------
    book
        The practice's book.
    name
        The exact name, or a part of it that fits one client alone.

    Raises
    ------
    NotFound
        No client fits, or more than one.
    """
    from store.book.clients import clients
    from store.book.find import find

    wanted = " ".join(plain(name).casefold().split())
    exact = [one for one in clients(book) if " ".join(one.name.casefold().split()) == wanted]
    if len(exact) == 1:
        return exact[0].id
    found = {one.client_id: one.client for one in find(book, name)}
    shown = plain(name.strip())[:60]
    if not found:
        raise NotFound(f"No client goes by “{shown}”; “pondround find” finds them.")
    if len(found) > 1 or len(exact) > 1:
        named = "; ".join(dict.fromkeys([*found.values()][:_SHOWN]))
        raise NotFound(f"“{shown}” fits more than one client: {named}. Write the whole name.")
    return next(iter(found))


def _days(text: str) -> int:
    days = int(text) if text.isdecimal() and len(text) < 5 else 0
    if not 1 <= days <= _MOST_DAYS:
        raise argparse.ArgumentTypeError(f"it looks 1 to {_MOST_DAYS} days ahead")
    return days

"""`pondround record`: who changed what, when, and why."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import said_moment
from tui.screens.record.record_lines import EMPTY, days_said
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from datetime import date, tzinfo

    from store.book.book import Book
    from store.book.tables import TableName
    from store.book.told.record import Wish
    from store.record.told import Told

NONE = "Nothing of that was recorded."
_AT_ONCE = 200


def run_record(args: argparse.Namespace) -> int:
    """Print the record of changes."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        today, zone = book.today(at), book.zone
        lines, more = read(book, wish_of(book, args, today), " ".join(args.words), args.limit)
    if args.json:
        print(json.dumps(as_json(lines, more), indent=2, allow_nan=False))
    else:
        for line in as_text(lines, more, zone, today):
            print(line)
    return 0


def read(book: Book, wish: Wish, text: str, limit: int) -> tuple[tuple[Told, ...], bool]:
    """So many lines of the record, and whether there may be more.

    Parameters
    ----------
    book
        The practice's book.
    wish
        Which lines are wanted.
    text
        Words that a line must say.
    limit
        The most lines.
    """
    from store.record.told import told_record

    found: list[Told] = []
    before = None
    while len(found) < limit:
        page = told_record(book, wish, text, before=before, limit=min(_AT_ONCE, limit - len(found)))
        found += page.lines
        before = page.next
        if before is None:
            break
    return tuple(found), before is not None


def wish_of(book: Book, args: argparse.Namespace, today: date) -> Wish:
    """What the options ask for.

    Parameters
    ----------
    book
        The practice's book.
    args
        As the command line was understood.
    today
        The practice's calendar day.

    Raises
    ------
    BadInput
        A day or kind of record that is none, nobody of that name.
    NotFound
        No pond or client is like it, or several are.
    """
    from store.book.days import typed_day
    from store.book.told.record import Wish
    from store.record.kinds import kinds, tables_called

    tables = None
    if args.kind and not (tables := tables_called(args.kind)):
        known = ", ".join(one.said for one in kinds().values())
        raise BadInput(f"No kind of record is called “{one_line(args.kind)}”. There are: {known}.")
    since, until = (
        typed_day(text, today, ahead=False) if text else None for text in (args.since, args.until)
    )
    return Wish(
        by=_person(book, args.by), since=since, until=until, tables=tables,
        about=_about(book, args.of) if args.of else None,
    )  # fmt: skip


def _person(book: Book, name: str) -> UUID | None:
    from store.book.people import staff

    if not name:
        return None
    wanted = name.strip().casefold()
    people = staff(book, struck=True)
    fitting = [
        one for one in people if wanted in (one.name.casefold(), one.initials.casefold())
    ] or [one for one in people if wanted in one.name.casefold()]
    if len(fitting) != 1:
        names = ", ".join(one_line(one.name) for one in people) or "nobody"
        raise BadInput(f"“{one_line(name)}” is not one person of this book ({names}).")
    return fitting[0].id


def _about(book: Book, text: str) -> tuple[TableName, UUID]:
    from store.book.find import find
    from tui.commands.asked import one_pond

    wanted = text.strip().casefold()
    clients = [
        one for one in find(book, text)
        if one.kind == "client" and wanted == one.client.casefold()
    ]  # fmt: skip
    if len(clients) == 1:
        return "client", clients[0].client_id
    try:
        return "pond", one_pond(book, text)
    except NotFound:
        some = [one for one in find(book, text, limit=2) if one.kind == "client"]
        if len(some) == 1:
            return "client", some[0].client_id
        raise


def as_text(lines: Sequence[Told], more: bool, zone: tzinfo, today: date) -> Iterator[str]:
    """The record in lines for a terminal or a pipe.

    Parameters
    ----------
    lines
        From `read`.
    more
        Whether there may be more of them.
    zone, today
        Of the practice.
    """
    if not lines:
        yield NONE
        return
    for line in lines:
        whose = f" ({one_line(line.whose)})" if line.whose else ""
        yield (
            f"{fit(said_moment(line.at, zone, today), 17)}  {fit(one_line(line.by), 16)}  "
            f"{fit(line.did, 14)}  {days_said(line.what, today)}{whose}"
        )
        if line.why:
            yield f"    why: {one_line(line.why)}"
        if line.readings:
            said = "; ".join(f"{one.label} {one.typed}" for one in line.readings)
            yield f"    as typed: {one_line(said)}"
        for one in line.fields:
            after = days_said(one.after, today) or EMPTY
            if line.did != "entered":
                after = f"{days_said(one.before, today) or EMPTY} → {after}"
            yield f"    {one.label}: {after}"
    if more:
        yield "There may be more; --limit takes a greater number."


def as_json(lines: Sequence[Told], more: bool) -> dict[str, Any]:
    """The record as one object.

    Keys `more` (whether older lines may fit) and `lines`, newest first. A line has `change` (its
    key), `at` (ISO 8601, UTC), `by`, `did`, `kind`, `what`, `client`, `why`, `table`, `row` (keys),
    `revision`, `hash` (the first 12 characters of its link in the chain through the log, empty
    where there is none), `fields` (each `column`, `label`, `before`, `after` in words) and
    `readings` (each `label`, `typed`).

    Parameters
    ----------
    lines
        From `read`.
    more
        Whether there may be more of them.
    """
    return {"more": more, "lines": [_line(one) for one in lines]}


def _line(line: Told) -> dict[str, Any]:
    return {
        "change": str(line.key),
        "at": line.at.isoformat(),
        "by": line.by,
        "did": line.did,
        "kind": line.kind,
        "what": line.what,
        "client": line.whose,
        "why": line.why,
        "table": line.entry.table,
        "row": str(line.entry.row),
        "revision": line.entry.rev,
        "hash": line.entry.hash[:12],
        "fields": [
            {"column": one.column, "label": one.label, "before": one.before, "after": one.after}
            for one in line.fields
        ],
        "readings": [{"label": one.label, "typed": one.typed} for one in line.readings],
    }

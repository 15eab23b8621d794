"""`pondround bag`: what a round needs as a book of its own, brought back, and what differs then."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound
from store.text import day_said, plain
from tui.commands.typed import day
from tui.commands.where import DEMO, NO_BOOK, acting, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.bag.marks import Bag
    from store.exchange.bag.packing import Packed
    from store.exchange.bag.unpacking import Unpacked
    from store.record.brought import BroughtTold
    from store.record.sides import DifferingTold

_NEAR = {"today": 0, "tomorrow": 1}
_EMPTY = "empty"


def add_bag(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `bag` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    bag = subparsers.add_parser(
        "bag", parents=parents, help="pack what a round needs without signal, bring it back",
        description="A bag is one file with what the round of a day needs: a book of its own for a "
        "laptop without signal. Without a word behind it this lists the records that two sides "
        "changed to different things.",
    )  # fmt: skip
    ways = bag.add_subparsers(dest="way", metavar="WAY", parser_class=type(bag))
    _add_pack(ways, parents)
    one = ways.add_parser(
        "unpack", parents=parents, help="bring a bag back into the book",
        description="Brings in what the bag holds beyond the book, all of it or nothing, and says "
        "what came back. What both sides changed waits for a person to choose. Once more it adds "
        "only what is new. The file stays as it is.",
    )  # fmt: skip
    one.add_argument("file", type=Path, metavar="FILE", help="the bag, or a copy of this book")
    one.add_argument("--json", action="store_true", help="one JSON object, for programs")
    differs = ways.add_parser(
        "differs", parents=parents, help="list the records that two sides changed",
        description="Each record with what it was before, and what it is on each side, by whom "
        "and when. One chooses in the application: D on the morning list.",
    )  # fmt: skip
    differs.add_argument("--json", action="store_true", help="one JSON object, for programs")


def _add_pack(ways: Any, parents: Sequence[argparse.ArgumentParser]) -> None:
    pack = ways.add_parser(
        "pack", parents=parents, help="pack the bag of a day",
        description="The ponds at the sites of the visits that are booked for the vet on that day, "
        "with all their records, and what belongs to the practice as a whole; nothing of other "
        "clients. The file is not encrypted. Opened with: pondround --book FILE",
    )  # fmt: skip
    pack.add_argument("--date", required=True, metavar="D", help="2026-05-03, today or tomorrow")
    pack.add_argument("--vet", required=True, metavar="NAME", help="who drives")
    pack.add_argument(
        "--to", metavar="FILE", default="", help="the file [in this folder, by day and name]"
    )
    pack.add_argument(
        "--also", metavar="POND/CLIENT", action="append", default=[],
        help="a pond, or a client with all ponds, that comes too; again for one more",
    )  # fmt: skip
    pack.add_argument("--json", action="store_true", help="one JSON object, for programs")


def run_bag(args: argparse.Namespace) -> int:
    """Pack, unpack, or list what differs."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        if args.way == "pack":
            return _pack(book, args, at)
        if args.way == "unpack":
            return _unpack(book, args, at)
        return _differs(book, args, at)


def _say(text: str) -> None:
    print(plain(text))


# Packing


def _pack(book: Book, args: argparse.Namespace, at: datetime) -> int:
    from store.book.people import person_named, staff
    from store.exchange.bag.packing import CARE, file_name, pack

    vet = person_named(book, args.vet)
    if vet is None:
        everybody = ", ".join(one.name for one in staff(book)) or "nobody"
        raise NotFound(f"“{args.vet:.60}” is not on the staff of this book ({everybody}).")
    on_day = _day(book, args.date, at)
    ponds, clients = also_named(book, args.also)
    typed = args.to.strip()
    path = Path(typed).expanduser() if typed else Path(file_name(on_day, vet.name))
    by = acting(book, args.person or vet.name, at)
    packed = pack(book, by, on_day, vet.id, path, also_ponds=ponds, also_clients=clients)
    if args.json:
        print(json.dumps(_packed_json(packed), indent=2))
        return 0
    for line in packed_lines(packed):
        _say(line)
    _say(CARE)
    _say(f"Open it with: pondround --book {path}")
    if place_is_demo(args):
        _say("It is of the demo, which is thrown away: nothing can be brought back into it.")
    return 0


def place_is_demo(args: argparse.Namespace) -> bool:
    """Whether the book is thrown away at the end."""
    return place_of(args) == DEMO


def packed_lines(packed: Packed) -> Iterator[str]:
    """What was packed, a sentence each.

    Parameters
    ----------
    packed
        From `store.exchange.bag.packing.pack`.
    """
    bag, ponds = packed.bag, len(packed.bag.ponds)
    booked = f"{packed.visits} booked visit{'' if packed.visits == 1 else 's'}"
    if not packed.visits:
        booked = f"no visit of {bag.vet} is booked on that day, only what was named came"
    sites = f"{packed.sites} site{'' if packed.sites == 1 else 's'}"
    yield (
        f"{packed.path}: {bag.said}: {booked}, {sites}, {ponds} pond{'' if ponds == 1 else 's'}, "
        f"{packed.rows:,} records, {max(1, packed.size // 1000):,} kB."
    )
    if packed.others:
        yield (
            f"Records of these ponds point at {', '.join(packed.others)}: only what they point at "
            "came along, without the rest."
        )


def _packed_json(packed: Packed) -> dict[str, Any]:
    bag = packed.bag
    return {
        "file": str(packed.path), "day": bag.day.isoformat(), "vet": bag.vet, "by": bag.by,
        "packed_at": bag.packed_at.isoformat(), "visits": packed.visits, "sites": packed.sites,
        "ponds": len(bag.ponds), "rows": packed.rows, "bytes": packed.size,
        "others": list(packed.others), "encrypted": False,
    }  # fmt: skip


def _day(book: Book, typed: str, at: datetime) -> date:
    word = typed.strip().casefold()
    if word in _NEAR:
        return book.today(at) + timedelta(days=_NEAR[word])
    return day(typed, "date")


def also_named(book: Book, names: Sequence[str]) -> tuple[list[UUID], list[UUID]]:
    """The ponds and clients that were named.

    Parameters
    ----------
    book
        The practice's book.
    names
        As they were typed; a client is looked for first.

    Raises
    ------
    NotFound
        One of them is like none, or like several.
    """
    from tui.commands.asked import one_pond
    from tui.commands.export import one_client

    ponds, clients = [], []
    for name in names:
        try:
            clients.append(one_client(book, name))
        except NotFound as no_client:
            try:
                ponds.append(one_pond(book, name))
            except (NotFound, BadInput) as no_pond:
                raise NotFound(f"{no_client.message} {no_pond.message}") from no_pond
    return ponds, clients


# Unpacking


def _unpack(book: Book, args: argparse.Namespace, at: datetime) -> int:
    from store.exchange.bag.unpacking import unpack
    from store.record.brought import told_brought

    found = unpack(book, acting(book, args.person, at), args.file.expanduser())
    told = told_brought(book, found)
    if args.json:
        print(json.dumps(_brought_json(found, told), indent=2))
        return 0
    for line in brought_lines(told, book.zone):
        _say(line)
    return 0


def brought_lines(told: BroughtTold, zone: tzinfo) -> Iterator[str]:
    """What came back, line by line.

    Parameters
    ----------
    told
        From `store.record.brought.told_brought`.
    zone
        The practice's.
    """
    yield told.head
    yield from (f"  {place}: {said}" for place, said in told.places)
    for one in told.look:
        yield ""
        yield one
    if told.differing:
        yield ""
        yield said_waiting(len(told.differing))
        for row in told.differing:
            yield from differing_lines(row, zone)
    yield ""
    yield told.file


def said_waiting(count: int) -> str:
    """How many records wait, and where one chooses."""
    wait = "record was" if count == 1 else "records were"
    return (
        f"{count:,} {wait} changed on both sides to different things. What was written last stands "
        "until somebody chooses: D on the morning list."
    )


def differing_lines(row: DifferingTold, zone: tzinfo) -> Iterator[str]:
    """One record side by side.

    Parameters
    ----------
    row
        From `store.record.sides`.
    zone
        The practice's.
    """
    yield f"  {row.what}{f'; {row.whose}' if row.whose else ''}"
    for group in row.groups:
        sides = [("before", "", group.before)]
        for nth, side in enumerate(group.sides):
            at = side.at.astimezone(zone)
            stands = ", stands now" if nth == len(group.sides) - 1 else ""
            who = f" ({side.by}, {day_said(at.date())} {at:%H:%M}{stands})"
            sides.append((side.where, who, side.said))
        for where, who, said in sides:
            values = "; ".join(
                f"{label} {value or _EMPTY}"
                for label, value in zip(group.labels, said, strict=True)
            )
            yield f"    {where}: {values}{who}"


def _brought_json(found: Unpacked, told: BroughtTold) -> dict[str, Any]:
    joined = found.joined
    return {
        "file": str(found.path), "bag": bag_json(found.bag), "nothing_new": found.nothing_new,
        "lines": joined.lines,
        "entered": {name: len(keys) for name, keys in joined.added.items()},
        "changed": {name: len(keys) for name, keys in joined.changed.items()},
        "logger_values": joined.logger_values, "says": told.head,
        "places": [{"place": place, "says": said} for place, said in told.places],
        "look_at": list(told.look), "differs": [differing_json(one) for one in told.differing],
        "of_the_file": told.file,
    }  # fmt: skip


def bag_json(bag: Bag | None) -> dict[str, Any] | None:
    """What a bag says of itself, for programs; None for none."""
    if bag is None:
        return None
    return {
        "day": bag.day.isoformat(), "vet": bag.vet, "by": bag.by, "ponds": len(bag.ponds),
        "packed_at": bag.packed_at.isoformat(),
    }  # fmt: skip


# What differs


def _differs(book: Book, args: argparse.Namespace, at: datetime) -> int:
    from store.exchange.bag.marks import bag_of, said_age
    from store.record.sides import told_differing

    differing, bag = told_differing(book), bag_of(book)
    if getattr(args, "json", False):
        waiting = [differing_json(one) for one in differing]
        print(json.dumps({"bag": bag_json(bag), "differs": waiting}, indent=2))
        return 0
    if bag is not None:
        _say(f"This book is a {bag.said}, packed {said_age(bag, at)} by {bag.by}.")
    if not differing:
        _say("Nothing differs: no record waits for a choice.")
        return 0
    _say(said_waiting(len(differing)))
    for row in differing:
        for line in differing_lines(row, book.zone):
            _say(line)
    return 0


def differing_json(row: DifferingTold) -> dict[str, Any]:
    """One record with its sides, for programs.

    Parameters
    ----------
    row
        From `store.record.sides`.
    """
    return {
        "table": row.table, "key": str(row.key), "revision": row.rev, "what": row.what,
        "client": row.whose,
        "groups": [
            {
                "fields": list(group.labels), "before": list(group.before),
                "sides": [
                    {
                        "where": side.where, "by": side.by, "at": side.at.isoformat(),
                        "why": side.why, "says": list(side.said), "values": dict(side.values),
                    }
                    for side in group.sides
                ],
            }
            for group in row.groups
        ],
    }  # fmt: skip

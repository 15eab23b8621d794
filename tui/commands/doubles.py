"""`pondround doubles`: who may stand in the book twice; `merge`: a person says that two are one."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound
from store.text import plain
from tui.commands.where import NO_BOOK, acting, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.merging.repointing import Merged
    from store.exchange.catch_up.book_doubles import BookDouble

_WIDTH = 100
_MANY = {"client": "clients", "site": "sites", "pond": "ponds"}


def add_doubles(commands: Any, parents: Sequence[argparse.ArgumentParser]) -> None:
    """Add `doubles` and `merge` to the command line.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options they take as well.
    """
    doubles = commands.add_parser(
        "doubles", parents=parents, help="print who may stand in the book twice",
        description="Pairs of clients, of sites of one client and of ponds of one site that may be "
        "one, the likeliest first, with what speaks for it and the command that merges them. "
        "Nothing is merged here. Ends with 0, whether there are any or none.",
    )  # fmt: skip
    doubles.add_argument("--json", action="store_true", help="one JSON object, for programs")

    merge = commands.add_parser(
        "merge", parents=parents, help="merge two clients, sites or ponds that are one",
        description="Shows both side by side. B moves into A: all that points at B points at A "
        "afterwards, A gets what it lacked, B is struck through and keeps its record, and the log "
        "tells what moved. By what the two are known to be one is asked for where the output is a "
        "terminal, else --why has to say it. Ends with 0 when they were merged, or with --dry-run "
        "when both were shown; with 1 when nothing was merged; with 2 when it is not clear which "
        "two are meant.",
    )  # fmt: skip
    merge.add_argument("kept", metavar="A", help="the one that stays: its name, or its key")
    merge.add_argument("emptied", metavar="B", help="the one that is emptied")
    merge.add_argument(
        "--of", choices=tuple(_MANY), default="client", dest="kind",
        help="what the two are [client]; sites and ponds are named by their keys, as “doubles” "
        "prints them, ponds by name or code as well",
    )  # fmt: skip
    merge.add_argument(
        "--why", metavar="REASON", default="", help="by what the two are known to be one"
    )
    merge.add_argument("--dry-run", action="store_true", help="show both, and merge nothing")


def run_doubles(args: argparse.Namespace) -> int:
    """Print the pairs that may be one."""
    from store.exchange.catch_up.book_doubles import client_doubles
    from store.exchange.catch_up.place_doubles import pond_doubles, site_doubles

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        found = (*client_doubles(book), *site_doubles(book), *pond_doubles(book))
    if args.json:
        said = {"pairs": len(found), "lines": [_object(pair) for pair in found]}
        print(json.dumps(said, indent=2, allow_nan=False))
        return 0
    for line in _listed(found):
        print(plain(line))
    return 0


def run_merge(args: argparse.Namespace) -> int:
    """Show two, and merge them with a reason; 1 where nothing was merged."""
    from store.exchange.catch_up.book_doubles import merge_two

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        pair = _meant(book, args)
        for line in _beside(pair):
            print(plain(line))
        if args.dry_run:
            print("Nothing was merged.")
            return 0
        act = acting(book, args.person, at)
        why = args.why.strip() or _asked(pair)
        if not why:
            print("Nothing was merged: say with --why by what the two are known to be one.")
            return 1
        merged = merge_two(book, act, pair, why)
    for line in merged_lines(merged):
        print(plain(line))
    return 0


def merged_lines(merged: Merged) -> Iterator[str]:
    """What a merging did, in plain words.

    Parameters
    ----------
    merged
        What it did.

    Yields
    ------
    str
        A sentence.
    """
    moved = ", ".join(
        f"{count:,} {name.replace('_', ' ')}{'s' * (count != 1)}"
        for name, count in merged.moved.items()
    )
    yield f"Merged: {moved or 'nothing'} moved."
    if merged.filled:
        yield f"It got {', '.join(name.replace('_', ' ') for name in merged.filled)} of the other."
    yield from merged.told


def _asked(pair: BookDouble) -> str:
    """The reason, where somebody is there to be asked."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return ""
    try:
        said = input(
            f"By what are they known to be one {pair.kind}? (Enter alone merges nothing.) "
        )
    except EOFError:
        return ""
    return plain(said).strip()


def _meant(book: Book, args: argparse.Namespace) -> BookDouble:
    from store.exchange.catch_up.book_doubles import two_clients
    from store.exchange.catch_up.place_doubles import two_ponds, two_sites
    from tui.commands.asked import one_pond
    from tui.commands.export import one_client

    look: dict[str, tuple[Callable[[Book, str], UUID], Callable[..., BookDouble]]] = {
        "client": (one_client, two_clients),
        "site": (_no_site, two_sites),
        "pond": (one_pond, two_ponds),
    }
    named, beside = look[args.kind]
    keys = []
    for text in (args.kept, args.emptied):
        key = _key(text)
        try:
            keys.append(named(book, text) if key is None else key)
        except NotFound as error:  # which two are meant is for the person to say
            raise BadInput(error.message) from error
    return beside(book, *keys)


def _key(text: str) -> UUID | None:
    try:
        return UUID(text.strip())
    except ValueError:
        return None


def _no_site(_book: Book, text: str) -> UUID:
    raise NotFound(f"“{text:.60}” is no key of a site; “pondround doubles --json” has them.")


def _listed(found: Sequence[BookDouble]) -> Iterator[str]:
    from tui.widgets.literal import one_line, wrapped

    counted = ", ".join(
        f"{sum(pair.kind == kind for pair in found):,} of {many}" for kind, many in _MANY.items()
    )
    yield f"Pairs that may be one: {counted}."
    for pair in found:
        yield ""
        yield (
            f"{pair.kind:<6} {pair.score:>3} of 100  {one_line(pair.name)} | "
            f"{one_line(pair.other_name)}"
        )
        yield from (f"       {line}" for line in wrapped(one_line(pair.said), _WIDTH - 8))
        of = "" if pair.kind == "client" else f"--of {pair.kind} "
        yield f"       pondround merge {of}{pair.one_id} {pair.other_id}"


def _beside(pair: BookDouble) -> Iterator[str]:
    from tui.widgets.literal import fit, one_line, wrapped  # loads the screens' library

    half = (_WIDTH - 3) // 2
    left, right = list(_side(pair.left, half)), list(_side(pair.right, half))
    yield f"{fit('A, which stays', half)} | B, which is emptied"
    for at in range(max(len(left), len(right))):
        mine, theirs = (lines[at] if at < len(lines) else "" for lines in (left, right))
        yield f"{fit(mine, half)} | {theirs}".rstrip()
    yield from wrapped(one_line(f"{pair.score} of 100: {pair.said}."), _WIDTH)


def _side(pairs: Iterable[tuple[str, str]], width: int) -> Iterator[str]:
    from tui.widgets.literal import one_line, wrapped

    for label, value in pairs:
        yield from wrapped(one_line(f"{label} {value}"), width)


def _object(pair: BookDouble) -> dict[str, Any]:
    return {
        "kind": pair.kind,
        "score": pair.score,
        "reasons": pair.said,
        "one": {"id": str(pair.one_id), "name": pair.name, "told": pair.left},
        "other": {"id": str(pair.other_id), "name": pair.other_name, "told": pair.right},
    }

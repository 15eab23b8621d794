"""The command line. Data on standard output, remarks on standard error.

Exit codes: 0 good; 1 something could not be done, a sentence says what; 2 not understood.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn

from store.errors import BadInput, PondroundError
from store.text import plain
from tui.commands.bring import add_import, run_import
from tui.commands.reckon import add_reckon, run_reckon
from tui.commands.trouble import keep_fault, log_path

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book

DEMO: Final = "demo"
NO_BOOK: Final = (
    "There is no book yet. Start pondround in a terminal to begin one, or look at the demo "
    "practice with: --book demo"
)


class _OneSentence(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{plain(message).capitalize()}. {self.prog} --help shows what it takes.\n")


def parser() -> argparse.ArgumentParser:
    """The parser of the whole command line."""
    whole = _OneSentence(
        prog="pondround",
        description="Which ponds need somebody today, and why. Without a command it opens the "
        "application.",
    )
    whole.add_argument("--version", action="store_true", help="print the version")
    _common(whole, None)
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", parser_class=_OneSentence)
    demo = commands.add_parser("demo", help="open a fresh copy of the demo practice")
    demo.add_argument("--keep", metavar="FILE", help="leave the copy as a book to go on with")
    morning = commands.add_parser("morning", help="print the morning list")
    morning.add_argument("--json", action="store_true", help="print one JSON object")
    morning.add_argument("--all", action="store_true", help="calm ponds too")
    find = commands.add_parser("find", help="find a client or pond, misspelt too")
    pond = commands.add_parser("pond", help="print the page of a pond")
    for one in (find, pond):
        one.add_argument("text", nargs="+", metavar="TEXT", help="part of a name, town, telephone")
    rule = commands.add_parser("try", help="try a rule on the past year")
    rule.add_argument("rule", metavar="RULE", help="code of the rule, as pond prints it")
    add_reckon(commands)
    add_import(commands)
    for one in (morning, find, pond, rule, commands.choices["import"]):
        _common(one, argparse.SUPPRESS)
    for kind in _below(commands.choices["import"]):
        _common(kind, argparse.SUPPRESS)
    return whole


def _below(one: argparse.ArgumentParser) -> list[argparse.ArgumentParser]:
    return [
        kind
        for action in one._actions
        if isinstance(action, argparse._SubParsersAction)
        for kind in action.choices.values()
    ]


def _common(one: argparse.ArgumentParser, default: Any) -> None:
    one.add_argument("--book", default=default, help="file or database address, or demo")
    one.add_argument("--as", dest="person", default=default, metavar="NAME", help="who works")


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the command line says; the exit code."""
    try:
        args = parser().parse_args(argv)
    except SystemExit as left:
        return int(left.code or 0)
    try:
        return _run(args)
    except BadInput as trouble:
        print(plain(trouble.message, lines=True), file=sys.stderr)
        return 2
    except PondroundError as trouble:
        print(plain(trouble.message, lines=True), file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever read the output has enough; the interpreter must not complain when it closes it.
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 1
    except Exception:
        print(keep_fault(log_path(), traceback.format_exc()), file=sys.stderr)
        return 1


def _run(args: argparse.Namespace) -> int:
    if args.version:
        from importlib.metadata import version

        print(version("pondround"))
        return 0
    if args.command == "reckon":
        return run_reckon(args)
    now = datetime.now(UTC)
    if args.command == "demo" or (args.command is None and args.book == DEMO):
        return _demo(args, now)
    if args.command is None:
        return _app(args)
    with tempfile.TemporaryDirectory(prefix="pondround-", ignore_cleanup_errors=True) as folder:
        book = _opened(args, now, Path(folder))
        try:
            return _with_book(args, book, now)
        finally:
            if book is not None:
                book.close()


def _with_book(args: argparse.Namespace, book: Book | None, now: datetime) -> int:
    from tui.commands import show

    if book is None:
        print(NO_BOOK, file=sys.stderr)
        if args.command == "morning":
            show.print_no_morning(now, as_json=args.json)
        return 0 if args.command in ("morning", "find") else 1
    if args.command == "morning":
        show.print_morning(book, now, as_json=args.json, everything=args.all)
    elif args.command == "find":
        show.print_found(book, " ".join(args.text))
    elif args.command == "pond":
        show.print_pond(book, " ".join(args.text), now)
    elif args.command == "try":
        show.print_trial(book, args.rule, now)
    else:
        return run_import(args, book, _act(args, book, now))
    return 0


def _act(args: argparse.Namespace, book: Book, now: datetime) -> Act:
    from store.book.act import Act
    from store.book.people import person_named, staff

    everybody = staff(book)
    if args.person:
        named = person_named(book, args.person)
        if named is None:
            raise BadInput(f"Nobody here, or more than one, is called {args.person!r:.60}.")
        return Act(named.id, now)
    if len(everybody) != 1:
        names = ", ".join(one.name for one in everybody)
        raise BadInput(f"Please say who works with --as NAME: {names or 'nobody is entered yet'}.")
    return Act(everybody[0].id, now)


def _address(args: argparse.Namespace) -> tuple[str, bool]:
    """The book's address, and whether it is the usual one that nobody named."""
    from platformdirs import user_data_path

    from store.book.opening import book_url

    usual = not (args.book or os.environ.get("PONDROUND_BOOK"))
    return book_url(args.book, os.environ, user_data_path("pondround", appauthor=False)), usual


def _opened(args: argparse.Namespace, now: datetime, folder: Path) -> Book | None:
    """The book that is meant; None where the usual one has not been begun."""
    from store.book.opening import open_book

    address, usual = _address(args)
    if address == DEMO:
        from store.exchange.demo import make_demo

        return make_demo(folder / "demo.pondround", now)
    if usual and not Path(address).exists():
        return None
    return open_book(address, now=now)


def _demo(args: argparse.Namespace, now: datetime) -> int:
    keep = getattr(args, "keep", None)
    with tempfile.TemporaryDirectory(prefix="pondround-", ignore_cleanup_errors=True) as folder:
        path = keep or Path(folder) / "demo.pondround"
        if sys.stdout.isatty():
            from tui.app import PondroundApp, run_app, usual_settings

            return run_app(
                PondroundApp(
                    partial(_make_demo, path, now),
                    person=args.person or "",
                    settings=usual_settings(),
                    drafts=Path(folder) / "drafts.json",
                )
            )
        from tui.commands import show

        with _make_demo(path, now) as book:
            show.print_morning(book, now, as_json=False, everything=False)
    return 0


def _make_demo(path: str | Path, now: datetime) -> Book:
    from store.exchange.demo import make_demo

    return make_demo(path, now)


def _app(args: argparse.Namespace) -> int:
    if not sys.stdout.isatty():
        print("The application needs a terminal. pondround morning prints the list.",
              file=sys.stderr)  # fmt: skip
        return 1
    from tui.app import PondroundApp, run_app, usual_settings

    return run_app(
        PondroundApp(
            lambda: _opened(args, datetime.now(UTC), Path()),
            beginning=partial(_begun, args),
            person=args.person or "",
            settings=usual_settings(),
        )
    )


def _begun(args: argparse.Namespace, answers: dict[str, str]) -> Book:
    """A new book with its practice and first person."""
    from store.book.opening import open_book
    from store.book.people import ROLES
    from store.book.practice import begin

    now = datetime.now(UTC)
    book = open_book(_address(args)[0], now=now, create=True)
    try:
        begin(
            book,
            now,
            practice=answers["practice"],
            time_zone=answers["time_zone"],
            person=answers["person"],
            role=next((role for role in ROLES if role == answers["role"]), "vet"),
        )
    except PondroundError:
        book.close()
        raise
    return book

"""The `pondround` command: what it takes, and what each part of it calls.

Exit codes: 0 good, 1 something could not be done, 2 the command was not understood.
"""

from __future__ import annotations

import argparse
import errno
import io
import os
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from pathlib import Path
from types import MappingProxyType

from store.errors import BadInput, NotFound, PondroundError
from store.text import plain
from tui.commands.listings import add_desk, add_lists, add_looking_back
from tui.commands.parsing import OneSentenceParser
from tui.commands.trouble import keep_fault, log_path
from tui.commands.where import (
    DEMO,
    acting,
    backups_of,
    begin_place,
    book_or_none,
    is_missing,
    now,
    open_place,
    place_of,
    throw_away_folder,
)

LATER: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "agents": ("formulary", "run_agents"),
        "bag": ("bag", "run_bag"),
        "backup": ("backup", "run_backup"),
        "calendar": ("calendar", "run_calendar"),
        "check": ("check", "run_check"),
        "courses": ("courses", "run_courses"),
        "deaths": ("deaths", "run_deaths"),
        "desk": ("desk", "run_desk"),
        "doubles": ("doubles", "run_doubles"),
        "exams": ("exams", "run_exams"),
        "export": ("export", "run_export"),
        "find": ("asked", "run_find"),
        "findings": ("findings", "run_findings"),
        "merge": ("doubles", "run_merge"),
        "morning": ("asked", "run_morning"),
        "outcome": ("outcome", "run_outcome"),
        "pond": ("pond", "run_pond"),
        "promises": ("promises", "run_promises"),
        "reckon": ("reckon", "run_reckon"),
        "record": ("record", "run_record"),
        "reminders": ("reminders", "run_reminders"),
        "report": ("report", "run_report"),
        "roles": ("roles", "run_roles"),
        "restore": ("backup", "run_restore"),
        "round": ("round", "run_round"),
        "staff": ("staff", "run_staff"),
        "try": ("asked", "run_try"),
        "verify": ("verify", "run_verify"),
        "withdrawal": ("withdrawal", "run_withdrawal"),
    }
)
"""A command to the file of this folder that holds it, and its function; loaded when asked for."""
_FULL = {errno.ENOSPC, errno.EDQUOT}
NO_ROOM = "No room is left where the output goes to; what came out is not whole."


def parser(given: Sequence[str] = ("import", "reckon")) -> argparse.ArgumentParser:
    """Everything that `pondround` understands.

    The particulars of `import` and `reckon` are loaded only where one of them is among the
    arguments `given`: the application should not wait for them.
    """
    worker = OneSentenceParser(add_help=False)
    worker.add_argument(
        "--as", dest="person", metavar="NAME", default=argparse.SUPPRESS,
        help="who works: a name or initials from the staff",
    )  # fmt: skip
    common = OneSentenceParser(add_help=False, parents=[worker])
    common.add_argument(
        "--book", metavar="BOOK", default=argparse.SUPPRESS,
        help="the book: a file, an address of PostgreSQL, or “demo”; else PONDROUND_BOOK, else the "
        "book in your data folder",
    )  # fmt: skip
    whole = OneSentenceParser(
        prog="pondround",
        parents=[common],
        description="Pond health over many sites: without a command the application opens.",
        epilog="Exit codes: 0 good, 1 something could not be done, 2 not understood.",
    )
    whole.add_argument("--version", action=_Version, help="print the version")
    commands = whole.add_subparsers(
        dest="command", metavar="COMMAND", parser_class=OneSentenceParser
    )

    demo = commands.add_parser(
        "demo", parents=[worker], help="open a fresh copy of the demo practice",
        description="Opens the application on a copy of an invented practice; where the output is "
        "no terminal, prints its morning list.",
    )  # fmt: skip
    demo.add_argument("--keep", metavar="FILE", type=Path, help="leave the copy there as a book")

    add_lists(commands, common)
    add_desk(commands, common)
    add_looking_back(commands, common)
    if "import" in given:
        from tui.commands.bring import add_import

        add_import(commands, [common])
    else:
        commands.add_parser("import", help="bring plain files (CSV) into the book")
    if "reckon" in given:
        from tui.commands.reckon import add_reckon

        add_reckon(commands)
    else:
        commands.add_parser(
            "reckon",
            help="work out ammonia, oxygen, nitrite, volume, a bath, medicated feed and more",
        )
    return whole


class _Version(argparse.Action):
    """Prints the version, looked up only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str = "") -> None:  # noqa: A002
        super().__init__(option_strings, dest=argparse.SUPPRESS, nargs=0, help=help)

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,
    ) -> None:
        from importlib import metadata

        try:
            print(f"pondround {metadata.version('pondround')}")
        except metadata.PackageNotFoundError:
            print("pondround, not installed")
        parser.exit()


def main(given: Sequence[str] | None = None) -> int:
    """Do what the command line says.

    Parameters
    ----------
    given
        The arguments; those of the process when left out.

    Returns
    -------
    int
        The exit code.
    """
    words = sys.argv[1:] if given is None else given
    understands = parser(words)
    for word in words:
        if word == "--":
            break
        if word.startswith("-") and word.endswith("=--"):
            # argparse would hand on an empty list where a text is awaited.
            understands.error(f"“--” is no value of {plain(word[:-3]):.40}")
    args = understands.parse_args(words)
    args.book = getattr(args, "book", None)
    args.person = getattr(args, "person", "")
    _print_what_the_terminal_can()
    try:
        code = _command(args.command)(args)
        sys.stdout.flush()
        return code
    except BadInput as error:
        print(plain(error.message, lines=True), file=sys.stderr)
        return 2
    except PondroundError as error:
        print(plain(error.message, lines=True), file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever read the output has closed it: nobody is left to be told, now or at the exit.
        _print_no_more()
        return 0
    except KeyboardInterrupt:
        print("Stopped by ctrl-C; it was not done.", file=sys.stderr)
        return 1
    except Exception as error:
        if isinstance(error, OSError) and error.errno in _FULL:
            print(NO_ROOM, file=sys.stderr)
            _print_no_more()
            return 1
        print(keep_fault(log_path(), traceback.format_exc()), file=sys.stderr)
        return 1


def _print_no_more() -> None:
    """What is still held back for the output goes nowhere, so that the exit finds no fault."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _print_what_the_terminal_can() -> None:
    """A character that the output's encoding lacks becomes a question mark, not a fault."""
    for output in (sys.stdout, sys.stderr):
        if isinstance(output, io.TextIOWrapper):
            output.reconfigure(errors="replace")


def _command(name: str | None) -> Callable[[argparse.Namespace], int]:
    light: dict[str | None, Callable[[argparse.Namespace], int]] = {
        None: run_application,
        "demo": run_demo,
        "import": run_import,
    }
    if name in light:
        return light[name]
    module, function = LATER[str(name)]
    found: Callable[[argparse.Namespace], int] = getattr(
        import_module(f"tui.commands.{module}"), function
    )
    return found


def run_application(args: argparse.Namespace) -> int:
    """Open the application on a book; begin one where there is none."""
    if not _in_terminal():
        from tui.commands.asked import run_morning

        args.json, args.all = False, False
        return run_morning(args)
    return _open_application(place_of(args), args.person)


def _in_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def run_demo(args: argparse.Namespace) -> int:
    """Open the application on a fresh copy of the demo practice, or print its morning list."""
    if args.book not in (None, DEMO):
        raise BadInput("The demo makes its own book; --keep FILE leaves it there to go on with.")
    at = now()
    if args.keep is not None:
        from store.exchange.demo.practice import make_demo

        make_demo(args.keep, at).close()
    place = DEMO if args.keep is None else str(args.keep.absolute())
    if not _in_terminal():
        from tui.commands.asked import print_demo

        return print_demo(place, at)
    return _open_application(place, args.person)


def run_import(args: argparse.Namespace) -> int:
    """Bring a file into a book that is there, or a whole book into a place of its own."""
    if args.kind == "book":
        from tui.commands.export import run_import_book

        return run_import_book(args)
    from tui.commands.bring import run_import as bring
    from tui.commands.where import NO_BOOK

    place = place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    at = now()
    with open_place(place, at) as book:
        return bring(args, book, acting(book, args.person, at, anybody=args.dry_run))


def _open_application(place: str, person: str) -> int:
    from tui.app import PondroundApp, run_app, usual_settings

    trial = place == DEMO
    app = PondroundApp(
        lambda: book_or_none(place, now()),
        beginning=lambda values: begin_place(place, values, now()),
        person=person,
        settings=usual_settings(),
        drafts=throw_away_folder() / "drafts.json" if trial else None,
        backups=None if trial else lambda: backups_of(place),
        learns=True,
    )
    return run_app(app)

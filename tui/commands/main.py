"""The `pondround` command: what it takes, and what each part of it calls.

Exit codes: 0 good, 1 something could not be done, 2 the command was not understood.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import Any

from store.errors import BadInput, NotFound, PondroundError
from store.text import plain
from tui.commands.parsing import OneSentenceParser
from tui.commands.trouble import keep_fault, log_path
from tui.commands.where import (
    DEMO,
    acting,
    begin_place,
    is_missing,
    now,
    open_place,
    place_of,
    throw_away_folder,
)

LATER: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "agents": ("formulary", "run_agents"),
        "courses": ("courses", "run_courses"),
        "deaths": ("deaths", "run_deaths"),
        "exams": ("exams", "run_exams"),
        "find": ("asked", "run_find"),
        "findings": ("findings", "run_findings"),
        "morning": ("asked", "run_morning"),
        "outcome": ("outcome", "run_outcome"),
        "pond": ("pond", "run_pond"),
        "reckon": ("reckon", "run_reckon"),
        "try": ("asked", "run_try"),
        "withdrawal": ("withdrawal", "run_withdrawal"),
    }
)
"""A command to the file of this folder that holds it, and its function; loaded when asked for."""


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

    morning = commands.add_parser(
        "morning", parents=[common], help="print the morning list",
        description="Every pond that needs somebody, worst first.",
    )  # fmt: skip
    morning.add_argument("--json", action="store_true", help="one JSON object, for programs")
    morning.add_argument("--all", action="store_true", help="also the calm ponds")

    courses = commands.add_parser(
        "courses", parents=[common], help="print the courses that are planned or run",
        description="What is due of every treatment course, worst first.",
    )  # fmt: skip
    courses.add_argument("--json", action="store_true", help="one JSON object, for programs")

    withdrawal = commands.add_parser(
        "withdrawal", parents=[common], help="print until when fish must not be eaten",
        description="What was given to a pond and what must have passed before its fish are "
        "eaten; without a pond, every treated pond that waits or that nobody was asked about.",
    )  # fmt: skip
    withdrawal.add_argument(
        "text", nargs="*", metavar="POND", help="its name or code, or part of it"
    )
    withdrawal.add_argument("--json", action="store_true", help="one JSON object, for programs")

    agents = commands.add_parser(
        "agents", parents=[common], help="print the formulary, or one agent of it",
        description="Every agent with its doses, published and the practice's own; with a code, "
        "all that is said of one, each statement with its source.",
    )  # fmt: skip
    agents.add_argument("code", nargs="?", default="", metavar="CODE", help="code or name")
    agents.add_argument("--json", action="store_true", help="one JSON object, for programs")

    _add_looking_back(commands, common)

    find = commands.add_parser(
        "find", parents=[common], help="find a client or pond",
        description="By part of a name, town or telephone number, misspelt too.",
    )  # fmt: skip
    find.add_argument("text", nargs="+", metavar="TEXT")

    pond = commands.add_parser(
        "pond", parents=[common], help="print everything about one pond",
        description="What it is, its concerns explained, the courses that run, what its fish may "
        "be, the last examination, its last tests.",
    )  # fmt: skip
    pond.add_argument("text", nargs="+", metavar="TEXT", help="its name or code, or part of it")
    pond.add_argument("--json", action="store_true", help="one JSON object, for programs")

    deaths = commands.add_parser(
        "deaths", parents=[common], help="print the deaths of one pond",
        description="What is suspected, the share that died, how many are left, day by day.",
    )  # fmt: skip
    deaths.add_argument("text", nargs="+", metavar="POND", help="its name or code, or part of it")
    deaths.add_argument("--json", action="store_true", help="one JSON object, for programs")

    exams = commands.add_parser(
        "exams", parents=[common], help="print the examinations of one pond",
        description="Fish by fish what was found, what it means, samples and courses beside it.",
    )  # fmt: skip
    exams.add_argument("text", nargs="+", metavar="POND", help="its name or code, or part of it")
    exams.add_argument("--json", action="store_true", help="one JSON object, for programs")

    trial = commands.add_parser(
        "try", parents=[common], help="try a rule on the past year",
        description="On how many days, at how many ponds, a rule would have spoken.",
    )  # fmt: skip
    trial.add_argument("rule", metavar="RULE", help="code of the rule; a wrong one lists them all")
    trial.add_argument("--days", type=_days, default=365, metavar="N", help="how far back [365]")

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


def _add_looking_back(commands: Any, common: argparse.ArgumentParser) -> None:
    outcome = commands.add_parser(
        "outcome", parents=[common], help="print whether courses worked",
        description="What was found before the first dose against what was found after the last: "
        "of one course (its key), of those of a pond, of all, or agent by agent.",
    )  # fmt: skip
    outcome.add_argument("course", nargs="*", metavar="COURSE", help="key of a course, or a pond")
    outcome.add_argument("--agents", action="store_true", help="each agent over all ponds")
    outcome.add_argument("--json", action="store_true", help="one JSON object, for programs")

    findings = commands.add_parser(
        "findings", parents=[common], help="print what was found over all ponds",
        description="Hazards by month and water temperature, and whether the temperature windows "
        "in the rules had spoken before; with a hazard also what another edge would have done.",
    )  # fmt: skip
    findings.add_argument("hazard", nargs="?", default="", metavar="HAZARD", help="its code")
    findings.add_argument("--days", type=_days, default=730, metavar="N", help="how far back [730]")
    findings.add_argument(
        "--within", type=_days, default=21, metavar="N",
        help="days before a finding in which the window may have spoken [21]",
    )  # fmt: skip
    findings.add_argument(
        "--step", type=float, default=1.0, metavar="C", help="by how much an edge is moved [1 °C]"
    )
    findings.add_argument("--json", action="store_true", help="one JSON object, for programs")


def _days(text: str) -> int:
    days = int(text) if text.isdecimal() else 0
    if not 1 <= days <= 3660:
        raise argparse.ArgumentTypeError("a trial looks back 1 to 3660 days")
    return days


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
    args = parser(words).parse_args(words)
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
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 1
    except Exception:
        print(keep_fault(log_path(), traceback.format_exc()), file=sys.stderr)
        return 1


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
        from store.exchange.demo import make_demo

        make_demo(args.keep, at).close()
    place = DEMO if args.keep is None else str(args.keep.absolute())
    if not _in_terminal():
        from tui.commands.asked import print_demo

        return print_demo(place, at)
    return _open_application(place, args.person)


def run_import(args: argparse.Namespace) -> int:
    """Bring a file into a book that is there."""
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
        lambda: None if is_missing(place) else open_place(place, now()),
        beginning=lambda values: begin_place(place, values, now()),
        person=person,
        settings=usual_settings(),
        drafts=throw_away_folder() / "drafts.json" if trial else None,
    )
    return run_app(app)

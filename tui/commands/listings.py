"""What the commands that print lists understand; what they do stands in files of their own."""

from __future__ import annotations

import argparse
from typing import Any

from tui.commands.bag import add_bag
from tui.commands.calendar import add_calendar
from tui.commands.doubles import add_doubles
from tui.commands.export import add_export
from tui.commands.guarding import add_backup, add_check
from tui.commands.reminders import add_reminders
from tui.commands.report import add_report
from tui.commands.roles import add_roles
from tui.commands.round import add_round
from tui.commands.staff import add_staff
from tui.commands.verify import add_verify


def add_lists(commands: Any, common: argparse.ArgumentParser) -> None:
    """Add the lists of ponds, courses and findings as they are today.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    common
        The options that every command has.
    """
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


def add_desk(commands: Any, common: argparse.ArgumentParser) -> None:
    """Add what was promised and is due, the calendar, texts for owners, the round, what goes out.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    common
        The options that every command has.
    """
    desk = commands.add_parser(
        "desk", parents=[common], help="print what was promised and is due",
        description="What was promised to whom, the heaviest first, with telephone numbers.",
    )  # fmt: skip
    desk.add_argument("--json", action="store_true", help="one JSON object, for programs")
    desk.add_argument("--all", action="store_true", help="also what is booked already")

    promises = commands.add_parser(
        "promises", parents=[common], help="print how many promises were kept on time",
        description="By kind and by month, each share with its count and its interval.",
    )  # fmt: skip
    promises.add_argument("--json", action="store_true", help="one JSON object, for programs")
    promises.add_argument(
        "--months", type=_months, default=12, metavar="N", help="how far back [12]"
    )

    add_calendar(commands, [common])
    add_reminders(commands, [common])
    add_round(commands, [common])
    add_export(commands, [common])
    add_doubles(commands, [common])
    add_report(commands, [common])
    add_staff(commands, [common])
    add_roles(commands, [common])
    add_bag(commands, [common])
    add_check(commands, [common])
    add_backup(commands, [common])


def add_looking_back(commands: Any, common: argparse.ArgumentParser) -> None:
    """Add what became of courses and findings, the record of changes, trying a rule on the past.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    common
        The options that every command has.
    """
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

    record = commands.add_parser(
        "record", parents=[common], help="print who changed what, when and why",
        description="Everything that was entered, changed, struck through or restored, newest "
        "first, with each field before and after.",
    )  # fmt: skip
    record.add_argument("words", nargs="*", metavar="WORD", help="words that a line must say")
    record.add_argument(
        "--of", default="", metavar="POND", help="a pond or client, with all that hangs on it"
    )
    record.add_argument("--by", default="", metavar="NAME", help="what one person did")
    record.add_argument("--since", default="", metavar="DAY", help="such as 2026-03-12, Mon, 3 d")
    record.add_argument("--until", default="", metavar="DAY", help="the last day, included")
    record.add_argument("--kind", default="", metavar="WORD", help="such as dose, “water test”")
    record.add_argument("--limit", type=_many, default=50, metavar="N", help="so many lines [50]")
    record.add_argument("--json", action="store_true", help="one JSON object, for programs")

    trial = commands.add_parser(
        "try", parents=[common], help="try a rule on the past year",
        description="On how many days, at how many ponds, a rule would have spoken.",
    )  # fmt: skip
    trial.add_argument("rule", metavar="RULE", help="code of the rule; a wrong one lists them all")
    trial.add_argument("--days", type=_days, default=365, metavar="N", help="how far back [365]")

    add_verify(commands, [common])


def _months(text: str) -> int:
    months = int(text) if text.isdecimal() else 0
    if not 1 <= months <= 120:
        raise argparse.ArgumentTypeError("promises are looked at 1 to 120 months back")
    return months


def _days(text: str) -> int:
    days = int(text) if text.isdecimal() else 0
    if not 1 <= days <= 3660:
        raise argparse.ArgumentTypeError("a trial looks back 1 to 3660 days")
    return days


def _many(text: str) -> int:
    number = int(text) if text.isdecimal() else 0
    if not 1 <= number <= 1_000_000:
        raise argparse.ArgumentTypeError("a record is printed in 1 to 1000000 lines")
    return number

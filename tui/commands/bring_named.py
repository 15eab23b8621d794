"""What the commands share that bring in sheets whose columns are known by words."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from store.text import plain
from tui.commands.named_options import COMMON, OPTIONS

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.columns.named import NamedColumn
    from store.exchange.columns.question import Question
    from store.exchange.columns.said import Said
    from store.exchange.named.planning import Preview
    from store.exchange.plain.planned import Done, Plan

_SHOWN = 5
_MOST, _FIRST = 6, 3
"""So many answers are listed line by line; of more the first three, the others in one line."""
_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
_WHOLE_FILE = ("order", "year", "header_line", "separator")


def add_named(one: argparse.ArgumentParser, kind: str) -> None:
    """Add the options with which a person corrects and answers.

    Parameters
    ----------
    one
        The parser of a kind of sheet.
    kind
        Its name among `OPTIONS`.
    """
    one.add_argument("--pond", metavar="POND", help="the pond, where the file names none")
    one.add_argument("--sheet", metavar="NAME", help="which sheet of a workbook")
    one.add_argument(
        "--order", "--dates", choices=("dmy", "mdy", "ymd", "each"), default="", dest="order",
        help="in which order the file writes day and month; each reads only days that can be read "
        "in one way",
    )  # fmt: skip
    one.add_argument(
        "--year", type=int, metavar="YEAR",
        help="the year in which the file begins, where its days are written without one",
    )  # fmt: skip
    one.add_argument(
        "--header-line", type=int, metavar="LINE", help="the line on which the headings stand"
    )
    one.add_argument(
        "--separator", choices=tuple(_SEPARATORS), help="what parts the cells of a text file"
    )
    one.add_argument(
        "--afresh", action="store_true",
        help="do not take what was said for an earlier file with the same headings",
    )  # fmt: skip
    for option in (*COMMON, *OPTIONS[kind]):
        if option.about:
            one.add_argument(
                option.flag, metavar=option.metavar, action="append", default=[],
                dest=f"answer_{option.name}", help=option.help,
            )  # fmt: skip
        else:
            one.add_argument(
                option.flag, metavar=option.metavar, choices=option.choices or None, default="",
                dest=f"answer_{option.name}", help=option.help,
            )  # fmt: skip


def planned_named(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What a sheet would bring, and the function that saves it.

    Parameters
    ----------
    args
        What the parser understood.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Raises
    ------
    BadInput
        When the file cannot be read, or leaves a question open; the sentences name the options
        that answer it.
    """
    look, save, words = _reader(args.kind, book)
    preview = look(
        args.file, book, act.at, said=_said(args), sheet=args.sheet, pond=args.pond,
        use_remembered=not args.afresh,
    )  # fmt: skip
    return _shown(args, preview, words), lambda: save(book, act, preview)


def _reader(
    kind: str, book: Book
) -> tuple[Callable[..., Preview[Any]], Callable[..., Done], Callable[[Any], str]]:
    """What looks at a sheet of a kind, what saves it, and one of its records in words."""
    from store.exchange.looking.values import Names
    from store.text import day_said

    match kind:
        case "fish":
            from store.exchange.fish.exams import look_at_fish, save_fish

            names = Names(book)
            return (
                look_at_fish,
                save_fish,
                lambda one: (
                    f"{day_said(one.exam.at.astimezone(book.zone).date())}, "
                    f"{names.pond(one.pond)}: {one.words}"
                ),
            )
        case "deaths":
            from store.exchange.fish.deaths import look_at_deaths, save_deaths

            names = Names(book)
            return (
                look_at_deaths,
                save_deaths,
                lambda one: f"{day_said(one.deaths.on_day)}, {names.pond(one.pond)}: {one.words}",
            )
        case "lab":
            from store.exchange.lab.results import look_at_lab, save_lab

            return look_at_lab, save_lab, lambda one: str(one.words)
        case _:
            from store.exchange.medicines.medicine_books import look_at_medicines, save_medicines

            return look_at_medicines, save_medicines, lambda one: str(one.words)


def _said(args: argparse.Namespace) -> Said:
    """What a person says of a sheet on the command line."""
    from store.errors import BadInput
    from store.exchange.columns.said import Said, said_as

    answers: dict[str, str] = {}
    for name in _WHOLE_FILE:
        value = getattr(args, name, None)
        if value:
            answers[name] = _SEPARATORS.get(value, str(value))
    for option in (*COMMON, *OPTIONS[args.kind]):
        given = getattr(args, f"answer_{option.name}")
        if not option.about:
            answers.update({option.name: given} if given else {})
            continue
        for text in given:
            said = plain(text).rpartition("=")[2].strip()
            if option.choices and said not in option.choices:
                known = " or ".join(option.choices)
                raise BadInput(f"“{said:.40}” is no answer to {option.flag}. Say {known}.")
            if option.each and "=" not in text:
                raise BadInput(
                    f"{option.flag} says of one word what it means: {option.metavar}. Of all of "
                    "them at once nothing can be said."
                )
            if "=" not in text and option.name != "column":
                answers[option.name] = plain(text).strip()
            else:
                key, answer = said_as(option.name, text)
                answers[key] = answer
    return Said(answers)


def _shown(
    args: argparse.Namespace, preview: Preview[Any], words: Callable[[Any], str]
) -> Plan[Any]:
    """The plan; how the sheet was understood is printed where that is wanted."""
    from store.errors import BadInput

    if args.dry_run:
        for line in _preview_lines(preview, words):
            print(plain(line))
    if preview.plan is None:
        for line in _asked(preview.needed):
            print(plain(line), file=sys.stderr)
        raise BadInput("Nothing was brought in: say what is asked above, and import again.")
    for line in _asked(one for one in preview.questions if not one.needed):
        print(plain(line))
    return preview.plan


def _preview_lines(preview: Preview[Any], words: Callable[[Any], str]) -> Iterable[str]:
    if preview.sheet.grid.name:
        yield f"Sheet “{preview.sheet.grid.name}”."
    yield "Columns:"
    for one in preview.sheet.columns:
        yield _column(one, preview.sheet.kind.label(one.means))
    if preview.plan is not None and preview.plan.items:
        yield "First records as they would be saved:"
        for item in preview.plan.items[:_SHOWN]:
            yield f"  line {item.line}: {words(item)}"


def _column(one: NamedColumn, means: str) -> str:
    title = f"“{one.title}”" if one.title else "no heading"
    unit = f", in {one.unit}" if one.unit else ""
    return f"  {one.place + 1}  {title}: {means}{unit} ({one.why})"


def _asked(questions: Iterable[Question]) -> Iterable[str]:
    """Questions, with what to type to answer each."""
    for one in questions:
        yield one.text
        flag = f"--{one.field.replace('_', '-')}"
        shown = one.answers if len(one.answers) <= _MOST else one.answers[:_FIRST]
        for answer in shown:
            yield f"  {flag} {_typed(one, answer.value)}  {answer.label}"
        if len(shown) < len(one.answers):
            others = ", ".join(answer.value for answer in one.answers[_FIRST:])
            yield f"  or in its place one of: {others}"
        if not one.answers:
            yield f"  {flag} {one.field.upper()}"


def _typed(question: Question, value: str) -> str:
    """An answer as it is typed, in quotation marks where a blank stands in it."""
    text = f"{question.about}={value}" if question.about else value
    return f"“{text}”" if question.about or " " in text else text

"""`pondround import water`: what a person says of a sheet, and what is shown of it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from store.text import plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.columns import Guess, Question, Shape
    from store.exchange.plain.planned import Done, Plan
    from store.exchange.water.sheets import Preview

_SHOWN = 5
_BAR = 30
_OPTION = {
    "order": "--order", "year": "--year", "blank": "--blank", "column": "--column",
    "block": "--block", "pond": "--pond",
    "unusual": "--unusual", "kit": "--kit",
}  # fmt: skip
_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}


def add_water(one: argparse.ArgumentParser) -> None:
    """Add the options with which a person corrects what a sheet is taken for.

    Parameters
    ----------
    one
        The parser of `import water`.
    """
    one.add_argument("--pond", metavar="POND", help="the pond, where the file names none")
    one.add_argument("--sheet", metavar="NAME", help="which sheet of a workbook")
    one.add_argument(
        "--column", metavar="HEADING=WHAT", action="append", default=[], dest="columns",
        help="what a column is, by its heading or number: “Temp=temperature °F”, “4=ignore”",
    )  # fmt: skip
    one.add_argument(
        "--order", "--dates", choices=("dmy", "mdy", "ymd", "each"), default="", dest="dates",
        help="in which order the file writes day and month; each reads only days that can be read "
        "in one way",
    )  # fmt: skip
    one.add_argument(
        "--year", type=int, metavar="YEAR",
        help="the year in which the file begins, where its days are written without one",
    )  # fmt: skip
    one.add_argument(
        "--blank", choices=("same", "none"), default="",
        help="whether a blank day or pond means the same as in the row above",
    )  # fmt: skip
    one.add_argument(
        "--unusual", choices=("right", "refuse"), default="",
        help="values that are unusual and possible were looked at and are right; or leave those "
        "rows out and ask no more",
    )  # fmt: skip
    one.add_argument(
        "--kit", choices=("practice", "unknown"), default="",
        help="whether it was tested with the practice's kit, where neither the pond nor a heading "
        "says as what ammonia, nitrite and nitrate are reported",
    )  # fmt: skip
    one.add_argument(
        "--block", metavar="NAME=POND", action="append", default=[], dest="blocks",
        help="the pond of a block of columns, by the name above it or by its number; or ignore",
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
    one.add_argument(
        "--json", action="store_true",
        help="print one JSON object: columns, what is asked, every test with its raw cells, what "
        "is left out; with --dry-run a preview for programs",
    )  # fmt: skip


def planned_water(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What the sheet would bring, and the function that saves it; shows the sheet when asked to.

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
        that answer.
    """
    from store.errors import BadInput
    from store.exchange.water.sheets import save_water

    preview = _looked(args, book, act)
    if args.dry_run:
        for line in preview_lines(preview):
            print(plain(line))
    plan = preview.plan
    if plan is None:
        for line in _asked(preview.needed):
            print(plain(line), file=sys.stderr)
        raise BadInput("Nothing was brought in: say what is asked above, and import again.")
    if not args.dry_run:
        for line in _asked(one for one in preview.questions if not one.needed):
            print(plain(line))
    return plan, lambda: save_water(book, act, plan, preview)


def bring_water_json(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Print one JSON object of the sheet, and save it unless it is a dry run.

    Parameters
    ----------
    args
        What the parser understood.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Returns
    -------
    int
        0 when every row was understood, 1 when some were refused, or something is asked first.

    Raises
    ------
    BadInput
        When the file cannot be read.
    """
    from store.errors import PondroundError
    from store.exchange.plain.planned import write_refused
    from store.exchange.water.sheets import save_water
    from tui.commands.water_json import as_json

    preview = _looked(args, book, act)
    plan, done, beside = preview.plan, None, None
    if plan is not None and not args.dry_run:
        # Beside the file first: when that fails, nothing is in the book without its rest.
        beside = write_refused(plan)
        try:
            done = save_water(book, act, plan, preview)
        except PondroundError:
            if beside is not None:
                beside.unlink(missing_ok=True)
            raise
    print(json.dumps(as_json(preview, done, beside), indent=2, allow_nan=False))
    return 1 if plan is None or plan.refused else 0


def _looked(args: argparse.Namespace, book: Book, act: Act) -> Preview:
    from store.exchange.water.sheets import look_at_water

    shows = sys.stderr.isatty()
    if shows:
        print(f"\rreading {plain(args.file.name)} …", end="", file=sys.stderr, flush=True)
    try:
        return look_at_water(
            args.file, book, act.at, shape=_shape(args), sheet=args.sheet, pond=args.pond,
            use_remembered=not args.afresh, progress=_show if shows else None,
        )  # fmt: skip
    finally:
        if shows:
            print("\r" + " " * (_BAR + 50) + "\r", end="", file=sys.stderr, flush=True)


def _show(done: int, whole: int) -> None:
    """How far it is, where somebody looks."""
    share = done / whole if whole else 1.0
    full = round(_BAR * min(1.0, share))
    print(
        f"\rreading   {'#' * full}{'.' * (_BAR - full)} {share:4.0%} {done:,} of {whole:,} rows ",
        end="", file=sys.stderr, flush=True,
    )  # fmt: skip


def preview_lines(preview: Preview) -> Iterable[str]:
    """A sheet as it was understood: its columns with the reasons, and the first tests.

    Parameters
    ----------
    preview
        The sheet looked at.
    """
    if preview.sheet:
        yield f"Sheet “{preview.sheet}”."
    yield "Columns:"
    names = {one.number: one.name or f"block {one.number + 1}" for one in preview.blocks}
    for one in preview.columns:
        whose = "" if one.block is None else f", of {names[one.block]}"
        yield _column(one) + whose
    for line, columns in preview.later:
        yield f"Columns from line {line} on:"
        for one in columns:
            yield _column(one)
    if preview.plan is not None:
        yield "First tests as they would be saved:"
        for test in preview.plan.items[:_SHOWN]:
            whose = f"{test.called}, " if test.called else ""
            at = f"{test.test.taken_at:%Y-%m-%d %H:%M} UTC"
            yield f"  line {test.line}: {whose}{at}  {test.words}"
    for question in preview.questions:
        if not question.needed:
            yield from _asked([question])


def _column(one: Guess) -> str:
    sure = "" if one.sure in ("sure", "said") else ", not certain"
    title = f"“{one.title}”" if one.title else "no heading"
    return f"  {one.column + 1}  {title}: {one.words} ({one.why}{sure})"


def _asked(questions: Iterable[Question]) -> Iterable[str]:
    """Questions, with what to type to answer each."""
    for one in questions:
        yield one.text
        option = _OPTION[one.field]
        for answer in one.answers:
            value = answer.value
            if one.field in ("column", "block"):
                value = f"“{answer.about or one.about}={value}”"
            yield f"  {option} {value}  {answer.label}"
        if one.field == "block":
            yield f"  {option} “{one.about}=POND”  the pond by its code or name"
        if one.field == "pond":
            yield f"  {option} POND  the pond by its code or name"


def _shape(args: argparse.Namespace) -> Shape:
    from store.errors import BadInput
    from store.exchange.columns import Shape, column_said

    blocks = {}
    for text in args.blocks:
        name, mark, pond = text.rpartition("=")
        if not mark or not name.strip() or not pond.strip():
            raise BadInput(f"“{plain(text):.60}” does not say which pond. Write “NAME=POND”.")
        blocks[name.strip().casefold()] = pond.strip()
    return Shape(
        dict(map(column_said, args.columns)),
        args.dates,
        args.year,
        args.blank,
        blocks,
        args.header_line,
        _SEPARATORS.get(args.separator or "", ""),
        args.unusual,
        args.kit,
    )

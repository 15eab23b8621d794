"""`pondround import logger`: the file of a logger in one pond."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from store.text import plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.logger.csv_file import LoggerPlan
    from store.exchange.logger.read import Progress
    from store.exchange.plain.planned import Done

_SHOWN = 5
_EXAMPLES = 2
_BAR = 30


def add_logger_options(parser: argparse.ArgumentParser) -> None:
    """Add what the file of a logger may need to be told.

    Parameters
    ----------
    parser
        Of `import logger`.
    """
    parser.add_argument(
        "--pond", metavar="POND", required=True, help="key, code or name of the pond"
    )
    parser.add_argument(
        "--dates", choices=("ymd", "dmy", "mdy"), default=None,
        help="in which order the file writes day and month; else a day above 12 tells",
    )  # fmt: skip
    parser.add_argument(
        "--clock", default="", metavar="CLOCK",
        help="how the logger's clock ran, where the file does not say: local, +01:00, a zone",
    )  # fmt: skip
    parser.add_argument(
        "--parameter", metavar="CODE",
        help="what the column value holds (temperature_c); else the headings say it",
    )  # fmt: skip
    parser.add_argument(
        "--column", default="", metavar="HEADING", help="the one column that is to be read"
    )
    parser.add_argument(
        "--unit", default="", metavar="UNIT", help="where the heading names none: C, F, mg/L"
    )
    parser.add_argument(
        "--lifted", choices=("leave", "keep"), default="leave",
        help="values of a logger lifted out of the water: left out and listed, or kept",
    )  # fmt: skip


def bring_logger(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Read the file, tell what is in it, and save it unless it is a dry run.

    Parameters
    ----------
    args
        With the options of `add_logger_options`.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Returns
    -------
    int
        0 when every row was understood, 1 when some were refused, when something has to be said
        first, or when nothing could be saved.
    """
    from store.exchange.logger.beside import save_and_list
    from store.exchange.logger.csv_file import read_logger
    from store.exchange.plain.whose import PondNames

    bar = _bar()
    planned = read_logger(
        args.file, book, act.at, PondNames(book).one(args.pond), parameter=args.parameter,
        unit=args.unit, order=args.dates, clock=args.clock, column=args.column,
        lifted=args.lifted, progress=bar,
    )  # fmt: skip
    done = beside = None
    if not args.dry_run and not planned.asks:
        done, beside = save_and_list(book, act, planned, bar)
    if bar is not None:
        print("\r" + " " * (_BAR + 50) + "\r", end="", file=sys.stderr, flush=True)
    for line in _summary(planned, done):
        print(plain(line))
    if beside is not None and beside.refused is not None:
        print(f"They are in {plain(str(beside.refused))}; correct them there and import that file.")
    if beside is not None and beside.left is not None:
        print(f"Every row that was left out or doubted is listed in {plain(str(beside.left))}.")
    for ask in planned.asks:
        print(plain(ask.sentence), file=sys.stderr)
    return 1 if planned.refused_n or planned.asks else 0


def _bar() -> Callable[[Progress], None] | None:
    """What shows how far it is, where somebody looks."""
    if not sys.stderr.isatty():
        return None

    def show(progress: Progress) -> None:
        share = progress.done / progress.whole if progress.whole else 1.0
        full = round(_BAR * min(1.0, share))
        print(
            f"\r{progress.stage:<9} {'#' * full}{'.' * (_BAR - full)} {share:4.0%} "
            f"{progress.rows:,} rows ",
            end="", file=sys.stderr, flush=True,
        )  # fmt: skip

    return show


def _summary(planned: LoggerPlan, done: Done | None) -> Iterator[str]:
    plan = planned.plan
    yield f"{plain(plan.path.name)}: {_count(plan.rows_read, 'row')} read."
    yield from _series(planned)
    if done is None:
        new = sum(series.n for series in plan.items) - plan.already
        yield f"Would save {_count(new, 'logger value')}; nothing was saved."
        already = plan.already
    else:
        yield f"Saved {_count(done.added, 'logger value')}."
        already = done.already
    if already:
        yield f"{already:,} in the book already, passed over."
    listed = {one.sentence for one in planned.left}
    yield from (sentence for sentence in plan.told if sentence not in listed)
    for one in planned.left:
        if one.reason in ("refused", "gap"):
            continue
        yield one.sentence
        for first in one.first[:_EXAMPLES]:
            where = f"line {first.line}: " if first.line else ""
            yield f"  {where}{first.text:.100}"
    if plan.refused:
        verb = "would be" if done is None else "were" if planned.refused_n > 1 else "was"
        yield f"{_count(planned.refused_n, 'row')} {verb} refused:"
        for row in plan.refused[:_SHOWN]:
            yield f"  line {row.line}: {row.reason}"
        if planned.refused_n > _SHOWN:
            yield f"  and {planned.refused_n - _SHOWN:,} more."


def _series(planned: LoggerPlan) -> Iterator[str]:
    from store.water.parameters import PARAMETERS

    for series in planned.plan.items:
        parameter = PARAMETERS[series.parameter]
        yield (
            f"{parameter.label.capitalize() if parameter.code != 'ph' else 'pH'}: "
            f"{_count(series.n, 'value')} from {series.first:%Y-%m-%d %H:%M} to "
            f"{series.last:%Y-%m-%d %H:%M} UTC, {parameter.shown(series.low)} to "
            f"{parameter.shown_with_unit(series.high)}."
        )


def _count(number: int, one: str) -> str:
    return f"{number:,} {one if number == 1 else one + 's'}"

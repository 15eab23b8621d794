"""`pondround import air`: a file of the weather, as the air of a station near the ponds."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from store.text import plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.logger.air_file import AirPlan
    from store.exchange.plain.planned import Done

_SHOWN = 5


def add_air_options(parser: argparse.ArgumentParser) -> None:
    """Add what a file of the weather may need to be told.

    Parameters
    ----------
    parser
        Of `import air`.
    """
    parser.add_argument(
        "--station", metavar="NAME", required=True,
        help="where the air was measured; one of that name in the book is taken for it",
    )  # fmt: skip
    for name, what in (
        ("lat", "latitude in degrees, north is positive"),
        ("lon", "longitude in degrees, east is positive"),
        ("elevation", "height above the sea in metres"),
    ):
        parser.add_argument(f"--{name}", type=float, metavar="NUMBER", help=what)
    parser.add_argument(
        "--dates", choices=("ymd", "dmy", "mdy"), default=None,
        help="in which order the file writes day and month; else a day above 12 tells",
    )  # fmt: skip
    parser.add_argument(
        "--clock", default="", metavar="CLOCK",
        help="how its clock ran, where the file does not say: local, +01:00, a zone",
    )  # fmt: skip
    parser.add_argument(
        "--column", default="", metavar="HEADING", help="the one column that is to be read"
    )
    parser.add_argument(
        "--unit", default="", metavar="UNIT", help="where no heading names it: C, F"
    )


def bring_air(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Read the file, tell what is in it, and save it unless it is a dry run.

    Parameters
    ----------
    args
        With the options of `add_air_options`.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Returns
    -------
    int
        0 when every row was understood, 1 when some were refused or something has to be said first.
    """
    from store.errors import PondroundError
    from store.exchange.logger.air_file import StationSaid, read_air, save_air
    from store.exchange.plain.planned import write_refused

    said = StationSaid(args.station, args.lat, args.lon, args.elevation)
    planned = read_air(
        args.file, book, act.at, said, unit=args.unit, order=args.dates, clock=args.clock,
        column=args.column,
    )  # fmt: skip
    done = beside = None
    if not args.dry_run and not planned.asks:
        beside = write_refused(planned.plan)
        try:
            done = save_air(book, act, planned)
        except PondroundError:
            if beside is not None:
                beside.unlink(missing_ok=True)
            raise
    for line in _summary(planned, done, beside):
        print(plain(line))
    for ask in planned.asks:
        print(plain(ask.sentence), file=sys.stderr)
    return 1 if planned.refused_n or planned.asks else 0


def _summary(planned: AirPlan, done: Done | None, beside: Path | None) -> Iterator[str]:
    plan = planned.plan
    yield f"{plain(plan.path.name)}: {_count(plan.rows_read, 'row')} read."
    if plan.items:
        first, last = plan.items[0], plan.items[-1]
        low = min(one.mean_c for one in plan.items)
        high = max(one.mean_c for one in plan.items)
        yield (
            f"Air at {plain(planned.said.name):.60}: {_count(len(plan.items), 'day')} from "
            f"{first.day} to {last.day}, means {low:.1f} to {high:.1f} °C."
        )
    if done is None:
        yield f"Would save {_count(len(plan.items), 'day')} of the air; nothing was saved."
    else:
        yield f"Saved {_count(done.added, 'day')} of the air."
    already = plan.already if done is None else done.already
    if already:
        yield f"{already:,} in the book already, passed over."
    yield from plan.told
    if plan.refused:
        verb = "would be" if done is None else "were" if planned.refused_n > 1 else "was"
        yield f"{_count(planned.refused_n, 'row')} {verb} refused:"
        for row in plan.refused[:_SHOWN]:
            yield f"  line {row.line}: {row.reason}"
        if planned.refused_n > _SHOWN:
            yield f"  and {planned.refused_n - _SHOWN:,} more."
    if beside is not None:
        yield f"They are in {plain(str(beside))}; correct them there and import that file."


def _count(number: int, one: str) -> str:
    return f"{number:,} {one if number == 1 else one + 's'}"

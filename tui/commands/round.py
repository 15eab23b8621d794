"""`pondround round`: a day on the road in its best order, the same as place 7 shows it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal, get_args
from uuid import UUID

from store.errors import BadInput, NotFound
from store.text import plain
from tui.commands.typed import day
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.rounds.day.values import DayPlan, DayWish

Shape = Literal["text", "markdown", "pdf", "geojson", "gpx", "calendar"]
SHAPES: tuple[Shape, ...] = get_args(Shape)
MOST_EFFORT = 600.0
_NEAR = {"today": 0, "tomorrow": 1}


def add_round(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `round` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    one = subparsers.add_parser(
        "round", parents=parents, help="print the round of a day, in its best order",
        description="The booked visits of a day and what is due near the way, clean ponds before "
        "sick ones, with times, proof, and why something is left out. Ctrl-C ends the search and "
        "prints the best so far.",
    )  # fmt: skip
    one.add_argument(
        "--date", metavar="D", default="today", help="2026-05-03, today or tomorrow [today]"
    )
    one.add_argument(
        "--vet", metavar="NAME", action="append", default=[],
        help="who drives; again for one more [all vets who work that day]",
    )  # fmt: skip
    one.add_argument(
        "--free", action="store_true",
        help="agreed hours may move, all but fixed ones; says who is to be rung",
    )  # fmt: skip
    one.add_argument("--no-due", action="store_true", help="add nothing that nobody has booked")
    one.add_argument(
        "--any-order", action="store_true",
        help="do not go from clean to infected; every step against it is listed",
    )  # fmt: skip
    one.add_argument("--week", action="store_true", help="the seven days from that day on")
    one.add_argument(
        "--effort", type=_effort, metavar="N", help="work of the search, about seconds [8]"
    )
    one.add_argument(
        "--late", type=_minutes, metavar="MIN",
        help="the vet runs so late: new times, who is to be rung, the best order from there",
    )  # fmt: skip
    one.add_argument(
        "--after", type=_stops, metavar="N", default=0, help="so many visits are behind [0]"
    )
    one.add_argument("--json", action="store_true", help="one JSON object, for programs")
    one.add_argument(
        "--shape", nargs=2, metavar=("SHAPE", "FILE"),
        help=f"write it into a file instead: {', '.join(SHAPES)}; - prints it",
    )  # fmt: skip
    one.add_argument("--over", action="store_true", help="write over a file that is there")


def run_round(args: argparse.Namespace) -> int:
    """Plan the day and print it, or what is asked of it."""
    _refuse(args)
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from tui.commands import warm

        warm.have_fit(book, at)
        if args.week:
            from tui.commands.round_week import print_week

            return print_week(book, args, _day(book, args.date, at), _vets(book, args.vet), at)
        wish = _wish(book, args, at)
        plan, stopped = planned(book, wish, at, args.effort)
        if args.shape:
            return _write(book, plan, args, at)
        if args.late is not None:
            from tui.commands.round_late import print_late

            return print_late(plan, args, wish.staff[0], at)
    if args.json:
        from tui.commands.round_json import as_json

        print(json.dumps(as_json(plan, at, stopped=stopped), indent=2, allow_nan=False))
        return 0
    from tui.commands.round_text import as_text

    for line in as_text(plan):
        print(line)
    return 0


def planned(book: Book, wish: DayWish, at: datetime, effort: float | None) -> tuple[DayPlan, bool]:
    """The plan of a day, and whether its search was ended by ctrl-C.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What is asked for.
    at
        The present instant.
    effort
        How much work the search may do; None the usual [-].
    """
    from store.rounds.day.plan import plan_day
    from store.rounds.kept.days.day import day_asked
    from store.rounds.solving.halt import Halt
    from store.rounds.solving.proof import EFFORT
    from tui.commands.watched import Say, watched

    asked = day_asked(book, wish, at)

    def search(halt: Halt, say: Say) -> DayPlan:
        def better(best: DayPlan) -> None:
            say(f"best so far {best.found.drive_min} min of driving")

        return plan_day(asked, effort=effort or EFFORT, halt=halt, better=better)

    return watched(search)


def _refuse(args: argparse.Namespace) -> None:
    """What does not go together."""
    if args.shape and args.shape[0] not in SHAPES:
        raise BadInput(f"A shape is one of {', '.join(SHAPES)}.", field="shape")
    if args.late is not None and len(args.vet) != 1:
        raise BadInput("Say who runs late with one --vet NAME.", field="vet")
    if args.after and args.late is None:
        raise BadInput("--after says how many visits are behind when --late is given.")
    if args.over and not args.shape:
        raise BadInput("--over writes over the file of --shape; it goes with that alone.")
    if args.shape and not args.shape[1].strip():
        raise BadInput("--shape takes the name of a file after the shape; - prints it.")
    instead = [args.week, args.late is not None, bool(args.shape)]
    if sum(instead) > 1 or (args.shape and args.json):
        raise BadInput("Please ask for one of --week, --late and --shape, a shape without --json.")


def _wish(book: Book, args: argparse.Namespace, at: datetime) -> DayWish:
    from store.rounds.day.values import MOST_ADDED, DayWish

    return DayWish(
        _day(book, args.date, at),
        _vets(book, args.vet),
        agreed="free" if args.free else "kept",
        add_due=0 if args.no_due else MOST_ADDED,
        ordered=not args.any_order,
    )


def _day(book: Book, typed: str, at: datetime) -> date:
    word = typed.strip().casefold()
    if word in _NEAR:
        return book.today(at) + timedelta(days=_NEAR[word])
    return day(typed, "date")


def _vets(book: Book, names: Sequence[str]) -> tuple[UUID, ...]:
    return tuple(dict.fromkeys(_each_vet(book, names)))


def _each_vet(book: Book, names: Sequence[str]) -> Iterator[UUID]:
    from store.book.people import person_named, staff

    for name in names:
        found = person_named(book, name)
        if found is None:
            everybody = ", ".join(one.name for one in staff(book)) or "nobody"
            raise NotFound(f"“{plain(name)[:60]}” is not on the staff of this book ({everybody}).")
        yield found.id


def _write(book: Book, plan: DayPlan, args: argparse.Namespace, at: datetime) -> int:
    from store.rounds.kept.sheets.round_file import round_file
    from tui.to_file import path_of, put_said

    shape, name = args.shape
    if not any(one.stops for one in plan.rounds):
        raise NotFound("Nobody has a stop on this day; nothing was written.")
    whose = plan.asked.wish.staff
    made = round_file(book, plan, whose[0] if len(whose) == 1 else None, shape, at)
    if name == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(made.data)
        print(plain(made.said), file=sys.stderr)
        return 0
    path = path_of(name, made.name)
    put_said(path, made.data, over=args.over)
    print(plain(f"{path}: {made.said}"))
    return 0


def _effort(text: str) -> float:
    try:
        effort = float(text)
    except ValueError:
        effort = 0.0
    if not 0.1 <= effort <= MOST_EFFORT:
        raise argparse.ArgumentTypeError(f"an effort goes from 0.1 to {MOST_EFFORT:g}")
    return effort


def _minutes(text: str) -> int:
    minutes = int(text) if text.isdecimal() else 0
    if not 1 <= minutes <= 1440:
        raise argparse.ArgumentTypeError("somebody runs 1 to 1440 minutes late")
    return minutes


def _stops(text: str) -> int:
    stops = int(text) if text.isdecimal() else -1
    if not 0 <= stops <= 200:
        raise argparse.ArgumentTypeError("0 to 200 visits can be behind")
    return stops

"""`pondround report`: papers for owners, colleagues and the wall, as text, Markdown or PDF."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal
from uuid import UUID

from store.errors import BadInput, NotFound
from store.text import plain
from tui.commands.typed import day
from tui.commands.where import NO_BOOK, acting, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.book import Book
    from store.reports.kept.head import Head
    from store.reports.kept.report_file import ReportFile
    from store.reports.visit_values import Piece

SHAPES = ("text", "markdown", "pdf")
_PAGES: dict[str, Literal["A4", "Letter"]] = {"a4": "A4", "letter": "Letter"}
_NEAR = {"yesterday": -1, "today": 0, "tomorrow": 1}
_ASKED = "Number to ring, as it stands on papers: "
_HOW_TO_SET = (
    "The papers need the practice's letterhead with a number to ring. Nothing was written. "
    "“pondround report letterhead --telephone NUMBER” keeps it for all papers; --telephone NUMBER "
    "gives it for this one."
)


def add_report(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `report` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    report = subparsers.add_parser(
        "report", help="write a paper: visit, history, morning, course, feed, day",
        description="Papers for owners, colleagues and the wall. Text and Markdown are printed "
        "where no file is named; a PDF goes into this folder. Only letterhead writes in the book.",
    )  # fmt: skip
    kinds = report.add_subparsers(
        dest="paper", metavar="PAPER", required=True, parser_class=type(report)
    )

    visit = _added(kinds, parents, "visit", "what the owner gets after a visit", pond=True)
    visit.add_argument(
        "--day", metavar="D", default="", help="which day [the newest on which something was done]"
    )
    visit.add_argument(
        "--with", dest="more", metavar="PIECES", default="", help="also notes, access"
    )
    visit.add_argument(
        "--without", dest="less", metavar="PIECES", default="",
        help="leave out charts, findings, done, sources",
    )  # fmt: skip
    visit.add_argument(
        "--months", type=_months, metavar="N", default=3, help="how far back charts reach [3]"
    )

    history = _added(kinds, parents, "history", "a pond's history for a referral", pond=True)
    history.add_argument("--from", dest="first", metavar="D", default="", help="first day [a year]")
    history.add_argument("--to", dest="last", metavar="D", default="", help="last day [today]")
    history.add_argument("--notes", action="store_true", help="with the practice's own notes")
    history.add_argument("--no-charts", action="store_true", help="without charts")

    morning = _added(kinds, parents, "morning", "the morning list for the wall", head=False)
    morning.add_argument("--all", action="store_true", help="also the calm ponds")

    for name, what in (
        ("course", "what the owner does of a course, day by day"),
        ("feed", "how a medicated feed is mixed, with its label"),
    ):
        one = _added(kinds, parents, name, what, pond=True)
        one.add_argument(
            "--course", metavar="KEY", default="", help="which one, where a pond has several"
        )

    sheet = _added(kinds, parents, "day", "the day's sheet of a round, stop by stop", head=False)
    sheet.add_argument(
        "--date", metavar="D", default="today", help="2026-05-03, today or tomorrow [today]"
    )
    sheet.add_argument("--vet", metavar="NAME", default="", help="whose round [all of the day]")

    head = kinds.add_parser(
        "letterhead", parents=parents, help="show or set what stands at the head of papers",
        description="Without an option it is shown. What is not named stays as it is; what stood "
        "there before is kept in the book.",
    )  # fmt: skip
    for option, what in (
        ("--practice", "its name"), ("--telephone", "the number to ring"),
        ("--address", "\\n begins a line"), ("--email", ""), ("--foot", "such as a registration"),
    ):  # fmt: skip
        head.add_argument(option, metavar="TEXT", default=None, help=what)


def _added(
    kinds: Any,
    parents: Sequence[argparse.ArgumentParser],
    name: str,
    what: str,
    *,
    pond: bool = False,
    head: bool = True,
) -> Any:
    one = kinds.add_parser(name, parents=parents, help=what, description=f"{what.capitalize()}.")
    if pond:
        one.add_argument("pond", nargs="*", metavar="POND", help="its name or code, or part of it")
    one.add_argument("--shape", choices=SHAPES, default="text", help="text, markdown or pdf [text]")
    one.add_argument("--page", choices=tuple(_PAGES), default="a4", help="a4 or letter [a4]")
    one.add_argument(
        "--out", metavar="FILE", default="", help="a file, a folder, or - for the output"
    )
    one.add_argument("--over", action="store_true", help="write over a file that is there")
    one.add_argument(
        "--dry-run", action="store_true", help="tell which file it would be, and write nothing"
    )
    if head:
        one.add_argument("--practice", metavar="NAME", default="", help="at the head of this one")
        one.add_argument("--telephone", metavar="NUMBER", default="", help="to ring, of this one")
    return one


def run_report(args: argparse.Namespace) -> int:
    """Write the paper that is asked for."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        if args.paper == "letterhead":
            return _letterhead(book, args, at)
        made = _made(book, args, at)
    return _put(made, args)


def _made(book: Book, args: argparse.Namespace, at: datetime) -> ReportFile:
    from store.reports.kept import reports
    from tui.commands.asked import one_pond

    page, shape = _PAGES[args.page], args.shape
    if args.paper == "morning":
        return reports.morning_report(book, at, shape, calm=args.all, page=page)
    if args.paper == "day":
        return _day_sheet(book, args, at)
    key = _course_key(args)
    if key is None and not args.pond:
        raise BadInput("Please name the pond.", field="pond")
    pond = one_pond(book, " ".join(args.pond)) if args.pond else None
    if args.paper in ("course", "feed"):
        feed = args.paper == "feed"
        found = reports.course_named(book, pond, key, feed=feed)
        return reports.course_report(
            book, found, at, _head(book, args), shape, feed=feed, page=page
        )
    assert pond is not None
    if args.paper == "history":
        return reports.history_report(
            book, pond, at, _head(book, args), shape,
            first=_day(book, args.first, "first day", at),
            last=_day(book, args.last, "last day", at), notes=args.notes,
            charts=not args.no_charts, page=page,
        )  # fmt: skip
    return reports.visit_report(
        book, pond, at, _head(book, args), shape, day=_day(book, args.day, "day", at),
        include=_pieces(args), months=args.months, page=page,
    )  # fmt: skip


def _day_sheet(book: Book, args: argparse.Namespace, at: datetime) -> ReportFile:
    """The same sheet as `pondround round --shape` writes."""
    from store.book.people import person_named, staff
    from store.reports.kept.report_file import ReportFile
    from store.rounds.day.values import DayWish
    from store.rounds.kept.sheets.round_file import round_file
    from tui.commands.round import planned

    on = _day(book, args.date, "date", at) or book.today(at)
    vets: tuple[UUID, ...] = ()
    if args.vet:
        found = person_named(book, args.vet)
        if found is None:
            names = ", ".join(one.name for one in staff(book)) or "nobody"
            raise NotFound(f"“{plain(args.vet)[:60]}” is not on the staff of this book ({names}).")
        vets = (found.id,)
    plan, _ = planned(book, DayWish(on, vets), at, None)
    made = round_file(book, plan, vets[0] if vets else None, args.shape, at, page=_PAGES[args.page])
    return ReportFile(made.name, made.data, made.said)


def _head(book: Book, args: argparse.Namespace) -> Head:
    """The letterhead, with what was said for this paper; asked for where there is none."""
    from store.reports.kept.head import head_of

    head = head_of(book)
    head = replace(
        head, practice=args.practice or head.practice, telephone=args.telephone or head.telephone
    )
    if head.telephone.strip():
        return head
    number = ""
    if sys.stdin.isatty() and sys.stderr.isatty():
        print(_ASKED, end="", file=sys.stderr, flush=True)
        number = sys.stdin.readline().strip()
    if not number:
        raise BadInput(_HOW_TO_SET, field="telephone")
    return replace(head, telephone=number)


def _letterhead(book: Book, args: argparse.Namespace, at: datetime) -> int:
    from store.book.letterhead import set_practice_head
    from store.reports.kept.head import head_of

    head = head_of(book)
    named = {
        name: value.replace("\\n", "\n") if name in ("address", "foot") else value
        for name in ("practice", "telephone", "address", "email", "foot")
        if (value := getattr(args, name)) is not None
    }
    if named:
        wanted = replace(head, **named)
        act = acting(book, args.person, at)
        with book.writing(act) as writing:
            set_practice_head(
                writing, practice=wanted.practice, telephone=wanted.telephone,
                address=wanted.address, email=wanted.email, foot=wanted.foot,
            )  # fmt: skip
        head = head_of(book)
    for name, value in (
        ("practice", head.practice), ("telephone", head.telephone), ("address", head.address),
        ("email", head.email), ("foot", head.foot),
    ):  # fmt: skip
        print(plain(f"{name + ':':<11}{', '.join(value.splitlines()) or '–'}"))
    if not head.kept:
        print("No letterhead is kept yet: papers ask for the number to ring.", file=sys.stderr)
    return 0


def _put(made: ReportFile, args: argparse.Namespace) -> int:
    from tui.to_file import path_of, put_said

    if args.dry_run:
        path = path_of("" if args.out == "-" else args.out, made.name)
        there = " It is there already; --over would write over it." if path.exists() else ""
        print(plain(f"{path}: {made.said} Nothing was written.{there}"))
        return 0
    if args.out == "-" or (not args.out and args.shape != "pdf"):
        sys.stdout.flush()
        if args.shape == "pdf":
            sys.stdout.buffer.write(made.data)
        else:
            print(made.data.decode(), end="")
        return 0
    path = path_of(args.out, made.name)
    put_said(path, made.data, over=args.over)
    print(plain(f"{path}: {made.said}"))
    return 0


def _pieces(args: argparse.Namespace) -> frozenset[Piece]:
    from store.reports.visit_values import PIECES, USUAL

    chosen: set[Piece] = set(USUAL)
    for typed, add in ((args.more, True), (args.less, False)):
        for name in filter(None, (one.strip() for one in typed.split(","))):
            known = next((one for one in PIECES if one == name), None)
            if known is None:
                raise BadInput(f"A piece is one of {', '.join(PIECES)}, not “{plain(name)[:40]}”.")
            if add:
                chosen.add(known)
            else:
                chosen.discard(known)
    return frozenset(chosen)


def _course_key(args: argparse.Namespace) -> UUID | None:
    typed = getattr(args, "course", "")
    if not typed:
        return None
    try:
        return UUID(typed)
    except ValueError as error:
        raise BadInput(f"“{plain(typed)[:40]}” is no key of a course.", field="course") from error


def _day(book: Book, typed: str, name: str, at: datetime) -> date | None:
    word = typed.strip().casefold()
    if not word:
        return None
    if word in _NEAR:
        return book.today(at) + timedelta(days=_NEAR[word])
    return day(typed, name)


def _months(text: str) -> int:
    months = int(text) if text.isdecimal() and len(text) < 4 else 0
    if not 1 <= months <= 36:
        raise argparse.ArgumentTypeError("charts reach 1 to 36 months back")
    return months

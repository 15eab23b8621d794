"""`pondround import clients`: a list of clients and ponds, with questions and answers."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import PondroundError
from store.text import plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.catch_up.clients_plan import CatchUp, PlannedClient
    from store.exchange.out.rows import Progress
    from store.exchange.plain.planned import Done

SUMMARY = "a list of clients with telephones, addresses and ponds, as another program writes it"
TELLS = (
    "Any sheet (CSV, .xlsx); the columns are found by their headings. New clients, sites and ponds "
    "are saved; who is in the book already is passed over and gets only what it lacks. What only a "
    "person can say is asked, and what hangs on it waits: whether two are one client (never "
    "decided by a name alone), whether a pond in a remark is one, which gallons, whether postcodes "
    "or telephones lost a zero. The questions are written to FILE.answers.csv beside the list, one "
    "a row: put one of the choices into the column answer, and run again with --answers. Answers: "
    "same, other or open for doubles; take, leave or open for ponds; another, same or open for a "
    "further address; zero, keep or open for zeros; us, uk or open for gallons; where no heading "
    "says it, the letter of the column with the names, and yes, no or open for whether the first "
    "row are headings. In a row whose key begins with “column”, and behind --column, the answer is "
    "what the column means: number, name, surname, given, title, firm, phone, email, address, "
    "town, county, postcode, remarks, pond, volume, depth, species or ignore. What was said of "
    "columns is remembered for the next list with the same headings, and told there. Ends with 0 "
    "when all is in the book, 1 when rows were refused or questions are open."
)
_SHOWN = 5


def add_clients(kinds: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `clients` to the kinds of file that can be brought in.

    Parameters
    ----------
    kinds
        What `add_subparsers` of `import` returned.
    parents
        Parsers whose options may stand before and behind it.
    """
    parser = kinds.add_parser(
        "clients", parents=parents, help=SUMMARY, description=f"Bring in {SUMMARY}. {TELLS}"
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="the list")
    parser.add_argument(
        "--dry-run", action="store_true", help="tell what would be saved, and save nothing"
    )
    parser.add_argument(
        "--answers", type=Path, metavar="FILE",
        help="the file of answers that an earlier run wrote; it is brought up to date",
    )  # fmt: skip
    parser.add_argument(
        "--column", metavar="HEADING=MEANING", action="append", default=[], dest="columns",
        help="what a column means, by its heading or its letter: “Box=volume”, “B=name”",
    )  # fmt: skip
    parser.add_argument(
        "--afresh", action="store_true",
        help="do not take what was said of an earlier list with the same headings",
    )  # fmt: skip
    parser.add_argument("--sheet", metavar="NAME", help="which sheet of a workbook")


def bring_clients(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Read a client list, tell what is in it, and save what needs no answer unless it is a dry run.

    Parameters
    ----------
    args
        What the parser of `import clients` understood.
    book
        The practice's book.
    act
        Who brings the list in, and when.

    Returns
    -------
    int
        0 when all is in the book, 1 when rows were refused or questions are open.
    """
    from store.exchange.catch_up.answers_file import read_answers, write_answers
    from store.exchange.catch_up.read_clients import read_clients
    from store.exchange.catch_up.save_clients import save_clients
    from store.exchange.plain.planned import write_refused
    from tui.commands.export import watched_rows

    answers = {} if args.answers is None else read_answers(args.answers, args.file)
    answers |= _columns(args)
    with watched_rows(telling) as told:
        looked_at = read_clients(args.file, book, answers=answers, sheet=args.sheet, told=told)
    asked = None
    if looked_at.open_questions or args.answers is not None:
        asked = write_answers(looked_at, answers, args.answers)
    done = beside = None
    if not args.dry_run:
        # Beside the file first: when that cannot be written, nothing is in the book without it.
        beside = write_refused(looked_at.plan)
        try:
            with watched_rows(telling) as told:
                done = save_clients(book, act, looked_at, told=told)
        except PondroundError:
            if beside is not None:
                beside.unlink(missing_ok=True)
            raise
    for line in summary(looked_at, done, beside, asked):
        print(plain(line))
    return 1 if looked_at.plan.refused or looked_at.open_questions else 0


def summary(
    looked_at: CatchUp, done: Done | None, beside: Path | None, asked: Path | None
) -> Iterable[str]:
    """What is in a list and what became of it, in plain words.

    Parameters
    ----------
    looked_at
        The list.
    done
        What was saved; None where nothing was.
    beside, asked
        The files of refused rows and of questions.

    Yields
    ------
    str
        A line.
    """
    plan = looked_at.plan
    yield f"{plan.path.name}: {_count(plan.rows_read, 'row')} read."
    clients, sites, ponds = looked_at.counted()
    new = f"{_count(clients, 'client')}, {_count(sites, 'site')} and {_count(ponds, 'pond')}"
    yield f"Would save {new}; nothing was saved." if done is None else f"Saved {new}."
    given = [one for one in plan.items if one.state == "same"]
    if given:
        verb = "would get" if done is None else "got"
        yield f"{_count(len(given), 'client')} of the book {verb} what was lacking:"
        yield from _few([f"{one.in_book}: {'; '.join(one.adds)}" for one in given])
    if plan.already:
        yield f"{_count(plan.already, 'client')} in the book already, passed over."
    yield from plan.told
    if done is not None and done.added and looked_at.remembers is not None:
        yield (
            "What was said of the columns is remembered for the next list with these headings."
            if looked_at.remembers[1]
            else "What was said of the columns of an earlier list is forgotten."
        )
    if looked_at.remembered:
        yield "To take the columns as they stand: --afresh."
    if plan.refused:
        yield f"{_count(len(plan.refused), 'row')} refused:"
        yield from _few([f"line {one.line}: {one.reason}" for one in plan.refused])
    if beside is not None:
        yield f"They are in {beside}; correct them there and import that file."
    if looked_at.waiting:
        yield f"{_count(len(looked_at.waiting), 'client')} waiting for an answer:"
        yield from _few([_named(one) for one in looked_at.waiting])
    if looked_at.open_questions:
        yield f"{_count(len(looked_at.open_questions), 'question')} open:"
        yield from _few(
            [
                f"{one.asks} ({'' if one.score is None else f'{one.score} of 100: '}{one.reasons})"
                + "".join(f"; {value} is {said}" for value, said in one.among)
                for one in looked_at.open_questions
            ]
        )
    if asked is not None and looked_at.open_questions:
        yield f"Answer them in {asked}, then run again with --answers {asked}."


def telling(progress: Progress) -> str:
    """How far a list is, in a few words.

    Parameters
    ----------
    progress
        What the store tells.
    """
    what = {"comparing": "comparing", "saving": "saving"}.get(progress.table, "reading")
    return f"{what} {progress.done:,} of {progress.whole:,} clients"


def _columns(args: argparse.Namespace) -> dict[str, str]:
    """What was said of columns on the command line, as answers."""
    from store.errors import BadInput
    from store.exchange.catch_up.asking import AFRESH, AFRESH_ANSWER, column_key

    found = {AFRESH: AFRESH_ANSWER} if args.afresh else {}
    for text in args.columns:
        heading, mark, meaning = text.rpartition("=")
        if not mark or not heading.strip() or not meaning.strip():
            raise BadInput(
                f"“{plain(text):.60}” does not say what a column means. Write “HEADING=MEANING”."
            )
        found[column_key(heading.strip())] = meaning.strip().casefold()
    return found


def _named(one: PlannedClient) -> str:
    return f"line {one.line}: {one.name}"


def _few(lines: list[str]) -> Iterable[str]:
    for line in lines[:_SHOWN]:
        yield f"  {line}"
    if len(lines) > _SHOWN:
        yield f"  and {len(lines) - _SHOWN} more."


def _count(number: int, one: str) -> str:
    return f"{number:,} {one}{'' if number == 1 else 's'}"

"""`pondround import told`: an owner's messages or a diary, values only where they are named."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from datetime import date, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import BadInput
from store.text import day_said, plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.told.found import Found, Looked
    from store.exchange.told.keep import KeptTold, Take

SUMMARY = "what an owner told: messages copied from a chat, or a diary of a paragraph a day"
TELLS = (
    "A text file. Everything that looks like a reading, dead fish, a water change, a dose, feed or "
    "a sign is listed with a number, and with the day that it would get; nothing is saved without "
    "--take. With it, the whole text is kept in words on the pond, by the days on which it was "
    "written, and only what --take names becomes a value: “1,3”, or “3:2” for the second of "
    "several readings that 3 may mean; “all” for every reading beyond doubt; “none” for the words "
    "alone. A dose in the text stays words: it is never a dose that was given. The same text again "
    "adds nothing twice. Ends with 0 when all that was named is in the book, 1 when nothing was "
    "saved because something is asked."
)


_MOST_DIGITS = 6


def add_told(kinds: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `told` to the kinds of file that can be brought in.

    Parameters
    ----------
    kinds
        What `add_subparsers` of `import` returned.
    parents
        Parsers whose options may stand before and behind it.
    """
    parser = kinds.add_parser(
        "told", parents=parents, help=SUMMARY, description=f"Bring in {SUMMARY}. {TELLS}"
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="the text")
    parser.add_argument("--pond", metavar="POND", required=True, help="the pond it tells of")
    parser.add_argument("--take", metavar="N,N", default="", help="what becomes a value; see above")
    parser.add_argument(
        "--dry-run", action="store_true", help="list what was seen, and save nothing"
    )
    parser.add_argument(
        "--sent", metavar="DAY",
        help="when what bears no day was written: 2026-05-02, yesterday, Mon",
    )  # fmt: skip
    parser.add_argument(
        "--dates", choices=("dmy", "mdy", "ymd"), default="",
        help="in which order the text writes day and month",
    )  # fmt: skip
    parser.add_argument(
        "--year", type=int, metavar="YEAR",
        help="the year in which a diary begins whose days are written without one",
    )  # fmt: skip
    parser.add_argument(
        "--on", metavar="N=DAY", action="append", default=[], dest="days",
        help="on which day number N was, where that is asked or wrong",
    )  # fmt: skip
    parser.add_argument(
        "--hour", metavar="[N=]HH:MM", action="append", default=[], dest="hours",
        help="at what hour readings were taken that name none, or number N; “message” for the hour "
        "of the message, “unknown” where nobody knows",
    )  # fmt: skip
    parser.add_argument(
        "--others", action="store_true",
        help="dead fish that seem to be in the book already are others",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="one JSON object, for programs")


def bring_told(args: argparse.Namespace, book: Book, act: Act) -> int:
    """List what a text tells, and save what was named.

    Parameters
    ----------
    args
        What the parser of `import told` understood.
    book
        The practice's book.
    act
        Who brings the text in, and when.

    Returns
    -------
    int
        0 when all that was named is in the book, or nothing was; 1 when something is asked first.
    """
    from store.book.days import typed_day
    from store.exchange.plain.whose import PondNames
    from store.exchange.told.keep import keep_told
    from store.exchange.told.look import look
    from store.exchange.told.texts import setting_of, text_of

    pond = PondNames(book).one(args.pond)
    today = book.today(act.at)
    sent = typed_day(args.sent, today, ahead=False, field="sent") if args.sent else None
    setting = setting_of(book, pond, act.at)
    looked = look(text_of(args.file), setting, sent=sent, order=args.dates, year=args.year)
    saving = bool(args.take.strip()) and not args.dry_run
    done = None
    if saving:
        takes = list(_takes(args, looked, today))
        done = keep_told(book, act, pond, looked, takes, name=args.file.name, sure=args.others)
    if args.json:
        print(json.dumps(_as_json(looked, done), ensure_ascii=False, indent=1))
    else:
        for line in _lines(args, looked, done):
            print(plain(line))
    for doubt in done.doubts if done is not None else ():
        print(plain(f"{doubt} Nothing was saved; --others says so."), file=sys.stderr)
    return 1 if done is not None and done.doubts else 0


def _takes(args: argparse.Namespace, looked: Looked, today: date) -> Iterator[Take]:
    """What was named, with its day and hour."""
    from store.exchange.told.keep import takes_of

    days = dict(_numbered(args.days, "--on"))
    hours = dict(_numbered(args.hours, "--hour"))
    wanted = args.take.strip().casefold()
    if wanted == "none":
        return
    parts = [part.strip() for part in wanted.split(",")]
    named = dict(_number(part, looked) for part in parts if part != "all")
    if "all" in parts:
        sure = {one.found.key for one in takes_of(looked.found)}
        for number, one in enumerate(looked.found, 1):
            if one.key in sure:
                named.setdefault(number, None)
    for number in sorted(named):
        found = looked.found[number - 1]
        yield _take(number, found, named[number], days, hours, today)


def _number(part: str, looked: Looked) -> tuple[int, int | None]:
    """The number of a line, and which of its readings is meant."""
    number, _, choice = part.partition(":")
    if not _is_number(number) or (choice and not _is_number(choice)):
        raise BadInput(f"“{plain(part):.40}” is no number of a line. Write --take 1,3.")
    if not 1 <= int(number) <= len(looked.found):
        raise BadInput(f"There is no line {number}; nothing was saved. The list shows which.")
    return int(number), int(choice) if choice else None


def _is_number(text: str) -> bool:
    """Digits that may be the number of a line; more than Python reads are none."""
    return text.isdecimal() and len(text) <= _MOST_DIGITS


def _numbered(texts: Sequence[str], option: str) -> Iterator[tuple[int, str]]:
    """What was said of one line, by its number; 0 is every other."""
    for text in texts:
        number, mark, value = text.rpartition("=")
        if mark and not _is_number(number.strip()):
            raise BadInput(f"“{plain(text):.40}” does not say which line. Write {option} 3=….")
        yield int(number) if mark else 0, value.strip()


def _take(
    number: int,
    found: Found,
    choice: int | None,
    days: dict[int, str],
    hours: dict[int, str],
    today: date,
) -> Take:
    from store.book.days import typed_day
    from store.exchange.told.keep import Take

    if not found.takeable:
        raise BadInput(f"Line {number} stays words: {found.why} Nothing was saved.")
    day = typed_day(days[number], today, ahead=False) if number in days else found.day
    if day is None:
        raise BadInput(
            f"Line {number}, “{found.raw:.60}”: {found.when_why or 'the day is asked.'} Say --on "
            f"{number}=2026-05-02, or --sent. Nothing was saved."
        )
    reading = None
    if found.choices:
        if choice is None and len(found.choices) > 1:
            raise BadInput(
                f"Line {number} may mean {found.becomes}. Say --take {number}:1 for the first. "
                "Nothing was saved."
            )
        if not 1 <= (choice or 1) <= len(found.choices):
            raise BadInput(f"Line {number} has {len(found.choices)} readings to choose from.")
        reading = found.choices[(choice or 1) - 1]
    said = hours.get(number, "" if found.clock_how in ("said", "reckoned") else hours.get(0, ""))
    clock, by_hand = _hour(number, found, said)
    return Take(found, day, clock, reading, by_hand)


def _hour(number: int, found: Found, said: str) -> tuple[time | None, bool]:
    from store.exchange.told.days import typed_clock

    if not found.needs_clock or (not said and found.clock_how in ("said", "reckoned")):
        return found.clock, False
    word = said.casefold()
    if word == "unknown":
        return None, True
    if word == "message" and found.clock is not None:
        return found.clock, False
    clock = typed_clock(said) if said else None
    if clock is None:
        proposed = "--hour message, " if found.clock_how == "message" else ""
        raise BadInput(
            f"Line {number}, “{found.raw:.60}”: at what hour was that? Say {proposed}--hour 07:40 "
            "or --hour unknown. Nothing was saved."
        )
    return clock, True


def _lines(args: argparse.Namespace, looked: Looked, done: KeptTold | None) -> Iterator[str]:
    """What was seen and what became of it."""
    messages = len(looked.messages)
    yield f"{args.file.name}: {messages} {'part' if messages == 1 else 'parts'} read."
    if done is None:
        for number, one in enumerate(looked.found, 1):
            yield f"{number:3}  {one.becomes}: “{one.raw:.100}”"
            yield f"     {_told(one)}"
        if not looked.found:
            yield "Nothing in it looks like a value; --take none keeps it in words."
        for question in looked.questions:
            yield question.text
            option = {"order": "--dates", "year": "--year", "sent": "--sent"}[question.field]
            for answer in question.answers:
                yield f"  {option} {answer.value}  {answer.label}"
            if not question.answers:
                yield f"  {option} 2026-05-02"
        yield "Nothing was saved; --take 1,3 takes what you name."
        return
    yield saved_said(done)


def _told(one: Found) -> str:
    """Day, hour, doubt and reason of a line."""
    if not one.takeable:
        return one.why
    when = "day asked" if one.day is None else day_said(one.day)
    if one.needs_clock:
        clock = "hour asked" if one.clock is None else f"{one.clock:%H:%M}"
        when += f" {clock}{' proposed' if one.clock_how == 'message' else ''}"
    doubt = one.doubt if one.doubt and one.doubt != one.when_why else ""
    return " ".join(filter(None, [f"{when}.", doubt, one.when_why]))


def saved_said(done: KeptTold) -> str:
    """What was saved of a text, in a sentence or two.

    Parameters
    ----------
    done
        From `keep_told`.
    """
    if done.doubts:
        return "Nothing was saved yet."
    parts = [
        f"{number} {one if number == 1 else many}"
        for number, one, many in (
            (done.words, "note in words", "notes in words"),
            (done.readings, "reading", "readings"),
            (done.deaths, "death count", "death counts"),
            (done.events, "event", "events"),
        )
        if number
    ]
    said = f"Saved {', '.join(parts)}." if parts else "Nothing new."
    had = done.already + done.words_already
    if done.already:
        said += f" {done.already} taken before, passed over."
    elif had:
        said += " The words are in the book already."
    return said


def _as_json(looked: Looked, done: KeptTold | None) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "messages": [
            {
                "sender": one.sender,
                "written_on": None if one.written_on is None else str(one.written_on),
                "written_at": None if one.written_at is None else f"{one.written_at:%H:%M}",
            }
            for one in looked.messages
        ],
        "found": [
            {
                "number": number,
                "kind": one.kind,
                "phrase": one.raw,
                "becomes": one.becomes,
                "takeable": one.takeable,
                "day": None if one.day is None else str(one.day),
                "day_rests_on": one.day_how if one.takeable else None,
                "hour": None if one.clock is None else f"{one.clock:%H:%M}",
                "hour_rests_on": one.clock_how if one.needs_clock and one.takeable else None,
                "doubt": one.doubt,
                "why": one.why,
            }
            for number, one in enumerate(looked.found, 1)
        ],
        "questions": [one.text for one in looked.questions],
        "saved": None if done is None else asdict(done),
    }

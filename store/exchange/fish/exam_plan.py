"""Fish of a sheet put together to examinations, and what of them the book has already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from sqlalchemy import Connection

from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput, PondroundError
from store.exams.examinations import KeptExam, read_examinations
from store.exams.examining import CLOCK_SLACK
from store.exams.values import Exam, ExamFish
from store.exchange.columns.dates import clock_said
from store.exchange.columns.question import Answer, Question
from store.exchange.fish.fish_rows import ExamKey, FishRows, ReadFish
from store.exchange.fish.fish_said import said_of_exam
from store.exchange.named.planning import plan_of, refuse
from store.exchange.plain.moments import read_moment
from store.exchange.plain.planned import Plan
from store.text import day_said

NO_TIME = "time of day not stated, noon supposed"


@dataclass(frozen=True, slots=True)
class PlannedExam:
    """Fish that a file would bring of one pond and occasion; `timed` where it states the time."""

    line: int
    pond: UUID
    exam: Exam
    called: str = ""
    timed: bool = False

    @property
    def words(self) -> str:
        """The examination in one line, as it was understood."""
        return said_of_exam(self.exam)


@dataclass(frozen=True, slots=True)
class Place:
    """Where an examination goes: the one that is there already, and the fish that are new."""

    into: KeptExam | None
    fresh: tuple[ExamFish, ...]
    clash: str = ""
    clashing: int = 0
    """The number of the fish that is there with other findings."""
    beside: KeptExam | None = None
    """Another examination of that day, by another person or for another purpose."""


Kept = dict[tuple[UUID, date], list[KeptExam]]
"""Examinations of the book by pond and day, those struck through as well."""


def kept_of(connection: Connection, book: Book, items: Sequence[PlannedExam]) -> Kept:
    """What the book has on the days of these examinations.

    Parameters
    ----------
    connection
        A connection of the book, reading or writing.
    book
        The practice's book.
    items
        What a file would bring.
    """
    found: Kept = {}
    columns = table("examination").c
    instants: dict[UUID, list[datetime]] = {}
    for one in items:
        instants.setdefault(one.pond, []).append(one.exam.at)
    for pond, at in instants.items():
        around = timedelta(days=1, hours=2)
        for kept in read_examinations(
            connection, columns.pond_id == pond, columns.at >= min(at) - around,
            columns.at <= max(at) + around, struck=True,
        ):  # fmt: skip
            found.setdefault((pond, book.today(kept.exam.at)), []).append(kept)
    return found


def place_of(kept_there: Kept, book: Book, one: PlannedExam) -> Place:
    """The fish of an examination that are not in the book, and the examination they join.

    Parameters
    ----------
    kept_there
        From `kept_of`.
    book
        The practice's book.
    one
        What a file would bring.
    """
    at = one.exam.at
    same = [
        kept
        for kept in kept_there.get((one.pond, book.today(at)), ())
        if not one.timed or kept.exam.at == at.replace(microsecond=0)
    ]
    there = [_folded(fish) for kept in same for fish in kept.exam.fish]
    fresh = tuple(fish for fish in one.exam.fish if _folded(fish) not in there)
    into = next(
        (
            kept
            for kept in same
            if not kept.struck_why and kept.exam.examiner.casefold() == one.exam.examiner.casefold()
        ),
        None,
    )
    taken = set() if into is None else {fish.nth for fish in into.exam.fish}
    for fish in fresh:
        if fish.nth in taken:
            said = f"Fish {fish.nth} of that day is in the book with other findings."
            return Place(into, fresh, said, fish.nth)
    day = kept_there.get((one.pond, book.today(at)), ())
    beside = next((kept for kept in day if not kept.struck_why), None)
    return Place(into, fresh, beside=beside if into is None else None)


def _folded(fish: ExamFish) -> ExamFish:
    """A fish as it is compared: its findings in one order."""
    preps = tuple(
        replace(prep, found=tuple(sorted(prep.found, key=lambda found: found.hazard)))
        for prep in fish.preparations
    )
    by_eye = tuple(sorted(fish.by_eye, key=lambda found: found.hazard))
    return replace(fish, preparations=preps, by_eye=by_eye)


def planned_exams(
    book: Book, now: datetime, reader: FishRows, told: Sequence[str]
) -> tuple[Plan[PlannedExam], list[Question]]:
    """What is new, and what is to be asked of it.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant.
    reader
        The sheet.
    told
        What is to be told of the file, a sentence each.
    """
    groups: dict[ExamKey, list[ReadFish]] = {}
    for one in reader.fish():
        groups.setdefault(one.exam, []).append(one)
    items: list[PlannedExam] = []
    questions: list[Question] = []
    already = noon = 0
    made: list[tuple[PlannedExam, list[ReadFish]]] = [
        (whole, fish)
        for key, fish in groups.items()
        if (whole := _exam_of(book, now, key, fish, reader)) is not None
    ]
    with book.reading() as connection:
        kept = kept_of(connection, book, [one for one, _ in made])
    for first, fish in made:
        planned: PlannedExam | None = first
        while planned is not None:
            place = place_of(kept, book, planned)
            if not place.clash:
                break
            said = f"{place.clash} Correct that one, or the number here."
            planned = _without(planned, fish, place.clashing, said, reader)
        if planned is None:
            continue
        others = reader.said.get("others")
        if place.fresh and place.beside is not None and others != "yes":
            if others == "no":
                already += 1
            else:
                said = _beside_said(book, place.beside)
                questions = questions or [_others_asked(planned, said)]
                for each in fish:
                    _refuse(reader, each, f"{said} Say whether it is another one.")
            continue
        already += not place.fresh
        if place.fresh:
            items.append(replace(planned, exam=replace(planned.exam, fish=place.fresh)))
            noon += not planned.timed
    remarks = [*told, *_told(reader, items, noon)]
    plan = plan_of(book, reader.sheet, items, reader.gathering, already, remarks)
    return plan, questions


def _beside_said(book: Book, kept: KeptExam) -> str:
    day, exam = day_said(book.today(kept.exam.at)), kept.exam
    return (
        f"An examination of {day} is in the book: {exam.purpose}, by {exam.examiner}, "
        f"{len(exam.fish)} fish."
    )


def _others_asked(planned: PlannedExam, said: str) -> Question:
    return Question(
        "others",
        f"{said} Is the one from line {planned.line} on another?",
        (
            Answer("yes", "another: save such examinations as well"),
            Answer("no", "the same one: pass them over"),
        ),
        needed=False,
    )


def _exam_of(
    book: Book, now: datetime, key: ExamKey, read: list[ReadFish], reader: FishRows
) -> PlannedExam | None:
    """The examination of fish that belong together; those that cannot be are refused.

    Where no time is written noon is supposed, or the present instant on the day itself.
    """
    pond, day, clock, examiner, purpose = key
    try:
        at, timed = _instant(book, day, clock)
        if not timed and day == book.today(now):
            at = min(at, now)
        if at > now + CLOCK_SLACK:
            raise BadInput("The time lies ahead. Correct day and hour.")
    except PondroundError as error:
        for one in read:
            _refuse(reader, one, error.message)
        return None
    given: set[int] = {one.values["nth"] for one in read if "nth" in one.values}
    free = (number for number in range(1, 10_001) if number not in given)
    fish: list[ExamFish] = []
    numbers: set[int] = set()
    for one in list(read):
        try:
            made = one.fish(one.values["nth"] if "nth" in one.values else next(free))
            if made.nth in numbers:
                raise BadInput(f"Two fish of that day have the number {made.nth}.")
        except (PondroundError, StopIteration) as error:
            _refuse(reader, one, getattr(error, "message", "There are too many fish."))
            read.remove(one)
            continue
        numbers.add(made.nth)
        one.values["nth"] = made.nth
        fish.append(made)
    if not fish:
        return None
    note = "" if timed else NO_TIME
    exam = Exam(at, purpose, examiner, tuple(fish), note=note)
    return PlannedExam(read[0].line, pond, exam, read[0].called, timed)


def _without(
    planned: PlannedExam, read: list[ReadFish], nth: int, why: str, reader: FishRows
) -> PlannedExam | None:
    """The examination without one of its fish, which is refused."""
    for one in [each for each in read if each.values["nth"] == nth]:
        _refuse(reader, one, why)
        read.remove(one)
    fish = tuple(one for one in planned.exam.fish if one.nth != nth)
    if not fish:
        return None
    return replace(planned, line=read[0].line, exam=replace(planned.exam, fish=fish))


def _refuse(reader: FishRows, fish: ReadFish, why: str) -> None:
    for row in fish.rows:
        refuse(reader.gathering, row, why)


def _instant(book: Book, day: date, clock: str) -> tuple[datetime, bool]:
    typed, part, hour = clock_said(clock)
    moment = read_moment(day.isoformat(), book.zone, clock=typed or hour)
    return moment.at, bool(typed and not part)


def _told(reader: FishRows, items: Sequence[PlannedExam], noon: int) -> list[str]:
    told = []
    if noon:
        told.append(
            f"Noon was supposed for {noon} {'examination' if noon == 1 else 'examinations'} "
            "without a time of day; the note says so."
        )
    if reader.measures.most > 3:
        said = "kept in words" if reader.measures.scale is None else "put to 1 to 3 as was said"
        told.append(
            f"The scores of the file go to {reader.measures.most}; they are {said}, and every "
            "finding keeps in its note what the file says."
        )
    if reader.empty:
        number = len(reader.empty)
        told.append(
            f"{number} {'row says' if number == 1 else 'rows say'} nothing of parasites (line "
            f"{reader.empty[0]} first): not looked."
        )
    each = sum(
        "per field" in one.note and one.counted is not None
        for item in items
        for fish in item.exam.fish
        for _, one in fish.found
    )
    if each:
        told.append(
            f"{each} {'count' if each == 1 else 'counts'} per field, times the fields of the row, "
            "are kept as counts over all of them; the note has what the file says."
        )
    return told

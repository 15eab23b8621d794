"""Parasite sheets: looked at with their questions, then saved as examinations of fish.

Fish of one pond, day and examiner are one examination; a fish that a file brings to a day that is
in the book already joins the examination there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, PondroundError
from store.exams.examinations import KeptExam, read_examinations
from store.exams.examining import CLOCK_SLACK, add_fish, record_examination
from store.exams.values import Exam, ExamFish
from store.exchange.columns.dates import clock_said
from store.exchange.columns.question import AskFirst
from store.exchange.columns.said import Said
from store.exchange.fish.fish_columns import FISH, refuse_what_is_none
from store.exchange.fish.fish_questions import open_in_fish
from store.exchange.fish.fish_rows import ExamKey, FishRows, ReadFish
from store.exchange.fish.fish_said import said_of_exam
from store.exchange.named.planning import Preview, plan_of, refuse, save_plan, sheet_of
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.moments import read_moment
from store.exchange.plain.planned import Done, Plan
from store.exchange.plain.whose import PondNames

__all__ = ["PlannedExam", "look_at_fish", "read_fish", "save_fish"]

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


def look_at_fish(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | None = None,
    use_remembered: bool = True,
) -> Preview[PlannedExam]:
    """Look at a parasite sheet; nothing is saved, and open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    said
        What a person says of it.
    sheet
        Which sheet of a workbook is meant.
    pond
        The pond that is meant where the file names none.
    use_remembered
        Take what was said for an earlier file of that source where nothing is said now.

    Returns
    -------
    Preview of PlannedExam
        With a plan once every question that is needed is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or is no parasite sheet.
    NotFound
        When `pond` names no pond, or several.
    """
    fresh, names = said or Said(), PondNames(book)
    given = pond or fresh.get("pond")
    ponds = RowPonds(names, names.one(given) if given else None)
    seen, told = sheet_of(path, book, now, FISH, fresh, sheet=sheet, use_remembered=use_remembered)
    refuse_what_is_none(seen)
    questions = [*seen.questions, *open_in_fish(seen, ponds)]
    plan = None
    if not any(one.needed for one in questions):
        plan = _planned(book, now, FishRows(book, book.today(now), seen, ponds), told)
    sheets = tuple(one.name for one in seen.file.grids if one.rows and not one.hidden)
    told = [*told, *seen.told]
    return Preview(
        seen, fresh, tuple(questions), tuple(told) if plan is None else plan.told, plan, sheets
    )


def read_fish(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | None = None,
) -> Plan[PlannedExam]:
    """What a parasite sheet would bring into the practice's book; nothing is saved.

    Parameters
    ----------
    path, book, now, said, sheet, pond
        As for `look_at_fish`.

    Raises
    ------
    AskFirst
        When the file leaves open what nobody may guess.
    BadInput, NotFound
        As for `look_at_fish`.
    """
    preview = look_at_fish(path, book, now, said=said, sheet=sheet, pond=pond)
    if preview.plan is None:
        raise AskFirst(preview.needed)
    return preview.plan


def save_fish(book: Book, act: Act, preview: Preview[PlannedExam]) -> Done:
    """Save the examinations of a parasite sheet in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        From `look_at_fish`, with a plan.

    Returns
    -------
    Done
        How many examinations were added or got more fish.

    Raises
    ------
    AskFirst
        When a question is open.
    BadInput, BookTrouble
        Nothing was saved.
    """
    if preview.plan is None:
        raise AskFirst(preview.needed)

    items, before = preview.plan.items, list[Kept]()

    def add(writing: Writing, one: PlannedExam, _file: UUID) -> bool:
        if not before:
            before.append(_kept_of(writing.connection, writing.book, items))
        place = _place_of(before[0], writing.book, one)
        if place.clash:
            raise BadInput(f"{place.clash} Look at the file once more; nothing was saved.")
        if not place.fresh:
            return False
        if place.into is None:
            record_examination(writing, one.pond, replace(one.exam, fish=place.fresh))
        else:
            for fish in place.fresh:
                add_fish(writing, place.into.id, fish)
        return True

    return save_plan(book, act, preview.plan, preview.sheet, preview.fresh, add)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an examination goes: the one that is there already, and the fish that are new."""

    into: KeptExam | None
    fresh: tuple[ExamFish, ...]
    clash: str = ""
    clashing: int = 0
    """The number of the fish that is there with other findings."""


Kept = dict[tuple[UUID, date], list[KeptExam]]
"""Examinations of the book by pond and day, those struck through as well."""


def _kept_of(connection: Connection, book: Book, items: Sequence[PlannedExam]) -> Kept:
    """What the book has on the days of these examinations."""
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


def _place_of(kept_there: Kept, book: Book, one: PlannedExam) -> _Place:
    """The fish of an examination that are not in the book, and the examination they join."""
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
            return _Place(into, fresh, said, fish.nth)
    return _Place(into, fresh)


def _folded(fish: ExamFish) -> ExamFish:
    """A fish as it is compared: its findings in one order."""
    preps = tuple(
        replace(prep, found=tuple(sorted(prep.found, key=lambda found: found.hazard)))
        for prep in fish.preparations
    )
    by_eye = tuple(sorted(fish.by_eye, key=lambda found: found.hazard))
    return replace(fish, preparations=preps, by_eye=by_eye)


def _planned(book: Book, now: datetime, reader: FishRows, told: Sequence[str]) -> Plan[PlannedExam]:
    groups: dict[ExamKey, list[ReadFish]] = {}
    for one in reader.fish():
        groups.setdefault(one.exam, []).append(one)
    items: list[PlannedExam] = []
    already = noon = 0
    made: list[tuple[PlannedExam, list[ReadFish]]] = [
        (whole, fish)
        for key, fish in groups.items()
        if (whole := _exam_of(book, now, key, fish, reader)) is not None
    ]
    with book.reading() as connection:
        kept = _kept_of(connection, book, [one for one, _ in made])
    for first, fish in made:
        planned: PlannedExam | None = first
        while planned is not None:
            place = _place_of(kept, book, planned)
            if not place.clash:
                break
            said = f"{place.clash} Correct that one, or the number here."
            planned = _without(planned, fish, place.clashing, said, reader)
        if planned is None:
            continue
        already += not place.fresh
        if place.fresh:
            items.append(replace(planned, exam=replace(planned.exam, fish=place.fresh)))
            noon += not planned.timed
    remarks = [*told, *_told(reader, items, noon)]
    return plan_of(book, reader.sheet, items, reader.gathering, already, remarks)


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
            f"{noon} {'examination' if noon == 1 else 'examinations'} without a time of day "
            "were taken as of noon, and say so in their note."
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

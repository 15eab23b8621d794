"""Medicine books out of any sheet: what went out becomes what was given at ponds, then saved.

The book keeps no stock, so lines of what came in are told and not kept. What was given stands as an
event in the words of the medicine book; where it writes the end of a withdrawal, the pond's fish
are not for eating until then.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.ponds import PondCard, cards
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotFound
from store.exchange.columns.above import facts_above
from store.exchange.columns.question import Question
from store.exchange.columns.said import Said
from store.exchange.columns.words import same
from store.exchange.medicines.book_columns import (
    DAYS,
    KIND,
    amounts_asked,
    whole_expiries,
    with_blanks_that_matter,
)
from store.exchange.medicines.lines import BookLine, BookLines
from store.exchange.medicines.told import told_of
from store.exchange.named.day_roles import with_days_of
from store.exchange.named.planning import Preview, plan_of, refuse, save_plan, sheet_of
from store.exchange.named.ponds_asked import PondsAsked, Whose
from store.exchange.plain.cells import cell_value
from store.exchange.plain.planned import Done, Gathering
from store.text import day_said

__all__ = ["GIVEN", "WITHHELD", "PlannedGiven", "look_at_medicines", "save_medicines"]

GIVEN, WITHHELD = "medicine_given", "not_for_eating"
_Place = tuple[UUID, date]
_KNOWN = {same(word): name for name, role in KIND.roles.items() for word in (name, *role.words)}


@dataclass(frozen=True, slots=True)
class PlannedGiven:
    """A line that went out, at the pond that got it; `called` is the pond's name in the book.

    `nth` counts lines of the file that say the same of the same pond and day, from 1: what stands
    there twice was given twice.
    """

    given: BookLine
    pond: UUID
    called: str
    nth: int = 1

    @property
    def line(self) -> int:
        """Where it stands in the file."""
        return self.given.line

    @property
    def words(self) -> str:
        """In one line, as a person looks it over before it is saved."""
        end = self.given.until
        until = "" if end is None else f"; not for eating until {day_said(end)}"
        return f"{self.called}, {day_said(self.given.on_day)}: {self.given.words}{until}"

    @property
    def withheld_note(self) -> str:
        """Why its fish are not for eating."""
        batch = f", batch {self.given.batch}" if self.given.batch else ""
        day = day_said(self.given.on_day)
        return f"{self.given.product}{batch}, given on {day}, as written in a medicine book"


def look_at_medicines(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | UUID | None = None,
    use_remembered: bool = True,
) -> Preview[PlannedGiven]:
    """Look at a medicine book; nothing is saved, open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    said
        What a person says: `column`, `order`, `year`, `blank`, `ponds` about a client.
    sheet
        Which sheet of a workbook is meant.
    pond
        The pond of the whole file: its key, code or name.
    use_remembered
        Take what was said for an earlier file with the same headings.

    Returns
    -------
    Preview of PlannedGiven
        With a plan once every question is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or has no days or amounts.
    """
    fresh = said or Said()
    found, told = sheet_of(
        path, book, now, KIND, fresh, sheet=sheet, use_remembered=use_remembered
    )  # fmt: skip
    above = [row.cells for row in found.head if row.line < found.header.line]
    facts = facts_above(above, _KNOWN)
    said_above = [facts[role] for role in DAYS if role in facts]
    found = with_days_of(found, DAYS, [*said_above, *whole_expiries(found)])
    found = with_blanks_that_matter(found)
    ponds = PondsAsked(book, found.said, pond)
    gathering = Gathering()
    lines: list[BookLine] = []
    reader, today = BookLines(found, facts), book.today(now)
    asked = [*found.questions, *amounts_asked(found)]
    if any(one.needed for one in asked):
        # All that is open is asked in one go: names of clients do not wait for the days.
        _ask_whose(reader, ponds)
        return Preview(found, fresh, (*asked, *ponds.questions), tuple(told), None)
    for row in found.rows:
        try:
            lines += reader.of(row, today)
        except BadInput as error:
            refuse(gathering, row, error.message)
    given = _placed([one for one in lines if one.way == "out"], ponds, gathering, pond)
    questions: tuple[Question, ...] = (*asked, *ponds.questions)
    if ponds.questions:
        return Preview(found, fresh, questions, tuple(told), None)
    with book.reading() as connection:
        there = _there(connection, given)
        logged = _logged(connection, book, given)
    items = [one for one in given if not _is_there(one, there)]
    already = len(given) - len(items)
    twice = [(one.given, logged[one.pond, one.given.on_day]) for one in items
             if (one.pond, one.given.on_day) in logged]  # fmt: skip
    told += told_of(
        lines, [one.given for one in items], _eaten(book, items), twice, _otherwise(items, there)
    )
    plan = plan_of(book, found, items, gathering, already, told)
    return Preview(found, fresh, questions, plan.told, plan)


def save_medicines(book: Book, act: Act, preview: Preview[PlannedGiven]) -> Done:
    """Save what was given in one action; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        From `look_at_medicines`, with a plan.

    Returns
    -------
    Done
        How many lines were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved; a question is open.
    """
    plan = preview.plan
    if plan is None:
        raise BadInput("The file leaves a question open; nothing was brought in.")
    there: dict[_Place, list[str]] | None = None

    def add(writing: Writing, item: PlannedGiven, file: UUID) -> bool:
        nonlocal there
        if there is None:
            there = _there(writing.connection, plan.items)
        if _is_there(item, there):
            return False
        line = item.given
        record_event(writing, item.pond, GIVEN, line.on_day, note=line.note)
        if line.until is not None:
            record_event(
                writing, item.pond, WITHHELD, line.on_day, until_day=line.until,
                note=item.withheld_note,
            )  # fmt: skip
        return True

    return save_plan(book, act, plan, preview.sheet, preview.fresh, add)


def _ask_whose(reader: BookLines, ponds: PondsAsked) -> None:
    for row in reader.sheet.rows:
        whose = reader.whose(row)
        if whose is not None:
            with suppress(BadInput, NotFound):
                ponds.of(Whose(*whose), row.line)


def _placed(
    lines: Iterable[BookLine],
    ponds: PondsAsked,
    gathering: Gathering,
    given: str | UUID | None,
) -> list[PlannedGiven]:
    found = []
    often: Counter[tuple[UUID, date, str]] = Counter()
    for one in lines:
        whose = Whose(one.code, one.pond, one.client)
        if not whose.about and not given:
            refuse(gathering, one.row, "The row does not say at which pond, or to whom, it went.")
            continue
        try:
            cell_value("pond_event", "note", one.note)
            pond = ponds.of(whose, one.line)
        except (BadInput, NotFound) as error:
            refuse(gathering, one.row, error.message)
            continue
        if pond is not None:
            often[pond, one.on_day, one.note] += 1
            nth = often[pond, one.on_day, one.note]
            found.append(PlannedGiven(one, pond, ponds.called(pond), nth))
    return found


def _there(connection: Connection, given: Sequence[PlannedGiven]) -> dict[_Place, list[str]]:
    """The notes of what is in the book at these ponds, struck through or not."""
    if not given:
        return {}
    events = table("pond_event").c
    query = select(events.pond_id, events.on_day, events.note).where(
        events.kind == GIVEN, events.pond_id.in_({one.pond for one in given})
    )
    found: dict[_Place, list[str]] = {}
    for pond, on_day, note in connection.execute(query):
        found.setdefault((pond, on_day), []).append(note)
    return found


def _logged(connection: Connection, book: Book, given: Sequence[PlannedGiven]) -> dict[_Place, str]:
    """The products that were logged at these ponds under courses, by pond and day."""
    if not given:
        return {}
    log, doses, steps, courses = (
        table(name) for name in ("dose_given", "course_dose", "course_step", "course")
    )
    query = (
        select(courses.c.pond_id, log.c.given_at, steps.c.agent, steps.c.product)
        .join(doses, doses.c.id == log.c.dose_id)
        .join(steps, steps.c.id == doses.c.step_id)
        .join(courses, courses.c.id == steps.c.course_id)
        .where(log.c.struck_at.is_(None), courses.c.pond_id.in_({one.pond for one in given}))
    )
    found: dict[_Place, str] = {}
    for pond, at, agent, product in connection.execute(query):
        found[pond, at.astimezone(book.zone).date()] = product or agent.replace("_", " ")
    return found


def _is_there(one: PlannedGiven, there: dict[_Place, list[str]]) -> bool:
    """Whether the book has it; what a person wrote behind its note makes it no other."""
    notes = there.get((one.pond, one.given.on_day), ())
    return sum(_begins_with(note, one.given.note) for note in notes) >= one.nth


def _begins_with(note: str, wanted: str) -> bool:
    """Whether a note is one of the file, whole, perhaps with more behind it: `5` is not `50 kg`."""
    return (
        note.startswith(wanted)
        and re.match(r"\s*$|\s*[;\n]|[.,] ", note[len(wanted) :]) is not None
    )


def _otherwise(items: Iterable[PlannedGiven], there: dict[_Place, list[str]]) -> list[BookLine]:
    """Lines of a medicine that the book has of the same pond and day, in other words."""

    def named(note: str) -> str:
        return same(note.partition(":")[0])

    return [
        one.given
        for one in items
        if any(named(note) == named(one.given.note)
               for note in there.get((one.pond, one.given.on_day), ()))
    ]  # fmt: skip


def _eaten(book: Book, items: Sequence[PlannedGiven]) -> list[tuple[BookLine, PondCard]]:
    """Lines at ponds whose fish may be eaten, or of which nobody said whether they may."""
    by_key = {card.pond.id: card for card in cards(book)} if items else {}
    return [
        (one.given, by_key[one.pond])
        for one in items
        if one.pond in by_key and by_key[one.pond].pond.use != "ornamental"
    ]

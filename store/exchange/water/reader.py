"""What is the same for every row of a sheet of water tests: ponds, days, kits, people, cells."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.kits import kit_in_use, own_kit
from store.book.people import person_named
from store.errors import BadInput, NotFound
from store.exchange.columns import (
    Block,
    DayCell,
    Guess,
    Order,
    Section,
    Shape,
    YearRun,
    clock_said,
    day_cell,
    resolved,
)
from store.exchange.columns.headings import Heading
from store.exchange.plain.moments import Moment, read_moment
from store.exchange.plain.planned import Gathering
from store.exchange.plain.whose import PondNames
from store.exchange.sheets import RawRow
from store.exchange.water.cells import as_reading, is_bare, is_ditto
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.plausible import usual
from store.water.understood import Doubt, KitForms, ReadingValue, shown
from store.water.water_tests import NewTest

_MOST_CELL = 100
_AHEAD = timedelta(hours=1)
_MOST_WORDS = 500
_MOST_NOTE = 10_000
_MOST_KEPT = 20_000
IGNORE = "ignore"
_FORMS = {
    "n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3",
    "caco3": "CaCO3", "hco3": "HCO3",
}  # fmt: skip
_CARRIED = ("pond", "date", "taken_at")


@dataclass(frozen=True, slots=True)
class PlannedTest:
    """A test that the file would bring, with the line it begins on and who took it."""

    line: int
    pond: UUID
    test: NewTest
    by: str = ""
    by_key: UUID | None = None
    """The member of staff who goes by that."""
    told: str = ""
    """What had to be supposed of its time: `no time`, `twice`, `part of day`, or nothing."""
    cells: tuple[str, ...] = ()
    called: str = ""
    """How the file calls the pond; empty where it was given for the whole file."""
    raw: tuple[tuple[str, str], ...] = ()
    """For each reading of the test the heading and the cell as they stand in the file."""

    @property
    def words(self) -> str:
        """The test in one line, as it was understood."""
        return " · ".join(shown(reading) for reading in self.test.readings) or self.test.note


@dataclass(frozen=True, slots=True)
class Line:
    """One row as one pond's: its cells by what the columns mean."""

    row: RawRow
    columns: tuple[Guess, ...]
    block: Block | None
    section: Section
    filled: Mapping[int, str]
    """Cells of day and pond that mean the one above, by column."""

    def text(self, role: str) -> str:
        """The cells of a role in one text; empty where there is no such column."""
        held = [
            self.filled.get(one.column, self.row.cell(one.column).strip())
            for one in self.columns
            if one.meaning == role
        ]
        return "; ".join(cell for cell in held if cell)

    def has(self, role: str) -> bool:
        """Whether the sheet has a column of that role."""
        return any(one.meaning == role for one in self.columns)


@dataclass(frozen=True, slots=True)
class Read:
    """A reading, with the heading and the cell as they stand in the file."""

    value: ReadingValue
    title: str
    cell: str


class RowReader:
    """What is the same for every row of one file.

    Parameters
    ----------
    book, now
        The practice's book, and the present instant.
    shape
        What a person said of the sheet.
    order
        Of day and month, as found or said.
    ponds
        The ponds of the book by their names.
    pond
        Whose rows they are where the file names none.
    shift_days
        Whole days by which every day is moved [d].
    """

    def __init__(
        self,
        book: Book,
        now: datetime,
        shape: Shape,
        order: Order,
        ponds: PondNames,
        pond: UUID | None,
        shift_days: int = 0,
    ) -> None:
        self.book, self.now, self.zone = book, now, book.zone
        self.shape, self.order, self.shift_days = shape, order, shift_days
        self.gathering = Gathering()
        self.ponds = ponds
        self.every_row = pond
        self.unit_supposed: dict[str, str] = {}
        self.unusual: dict[str, int] = {}
        """Values that are unusual and possible, in words, with the first line of each."""
        self.commas = False
        self._kits: dict[UUID, tuple[KitForms, UUID | None]] = {}
        self.kit_names: dict[UUID, str] = {}
        """The kits of the book that tests of the file are kept with."""
        self._cells: dict[tuple[Heading, str, KitForms], ReadingValue | Doubt | None] = {}
        self._people: dict[str, UUID | None] = {}
        self._named: dict[tuple[str, str], UUID] = {}
        self._years: dict[int, YearRun] = {}
        self._above: dict[int, str] = {}
        self._moments: dict[tuple[int, int], tuple[Moment, str, str]] = {}

    def filled(self, section: Section, row: RawRow) -> dict[int, str]:
        """Days and ponds of a row that are those of the row above, by column.

        A ditto mark says so by itself; a blank cell only where a person has said so. To be called
        for every row in its order, those that are refused among them.
        """
        filled = {}
        for one in section.guesses:
            if one.meaning not in _CARRIED:
                continue
            text = row.cell(one.column).strip()
            above = self._above.get(one.column, "")
            if above and (is_ditto(text) or (not text and self.shape.blank == "same")):
                filled[one.column] = above
            else:
                self._above[one.column] = text
        return filled

    def lines_of(self, section: Section, row: RawRow, filled: dict[int, str]) -> list[Line]:
        """A row as one line, or one for each block that holds something in it."""
        if not section.blocks:
            return [Line(row, section.guesses, None, section, filled)]
        lines = []
        for block in section.blocks:
            own = [one for one in section.guesses if one.block == block.number]
            held = any(
                row.cell(one.column).strip() for one in own if one.meaning in ("reading", "note")
            )
            if held and self._block_pond(block) != IGNORE:
                shared = [one for one in section.guesses if one.block is None]
                lines.append(Line(row, (*shared, *own), block, section, filled))
        return lines

    def pond_of(self, line: Line) -> UUID:
        """The pond that a line is of; the one given for the file goes where the row names none."""
        if line.block is not None and not line.block.of_row:
            named = self._block_pond(line.block)
            if not named:
                raise BadInput(f"Which pond block {line.block.number + 1} is of was not said.")
            return self.ponds.one(named)
        text, client = line.text("pond"), line.text("client")
        if not text:
            return self._pond_of_sheet(line.section)
        known = self._named.get((text, client))
        if known is None:
            called = called_pond(text, client)
            said = said_of_pond(self.shape, called)
            if said == IGNORE:
                raise BadInput(f"“{called:.60}” is not to be read, as was said.")
            known = self.ponds.one(said or called)
            self._named[text, client] = known
        if self.every_row is not None and known != self.every_row:
            raise BadInput("The row names another pond than the one given for the file.")
        return known

    def _pond_of_sheet(self, section: Section) -> UUID:
        titled = None
        if section.title:
            try:
                titled = self.ponds.one(section.title)
            except NotFound:
                titled = None
        if self.every_row is not None:
            if titled is not None and titled != self.every_row:
                raise BadInput(
                    f"The line above the headings names another pond, “{section.title:.40}”, than "
                    "the one given for the file."
                )
            return self.every_row
        if titled is not None:
            return titled
        return self.ponds.one("")

    def _block_pond(self, block: Block) -> str:
        said = self.shape.blocks
        return next((said[key] for key in block.keys if key in said), block.name)

    def moment(self, line: Line) -> tuple[Moment, str, str]:
        """When the sample was taken, what had to be supposed, and the sentence for the note."""
        key = (line.row.line, -1 if line.block is None else line.block.number)
        if key not in self._moments:
            self._moments[key] = self._moment(line)
        return self._moments[key]

    def _moment(self, line: Line) -> tuple[Moment, str, str]:
        role = "taken_at" if line.text("taken_at") or not line.has("date") else "date"
        cell = line.text(role)
        if not cell:
            raise BadInput("The row has no day. Fill in when the sample was taken.")
        found = day_cell(cell)
        places = [one.column for one in line.columns if one.meaning == role]
        years = self._years.setdefault(places[0] if places else -1, YearRun(self.shape.year))
        day = resolved(found, self.order, years.of(found, self.order))
        clock, part, hour = self._time_of(line, found)
        moment = read_moment(
            day.isoformat(), self.zone, clock=clock or hour, shift_days=self.shift_days
        )
        today = day + timedelta(days=self.shift_days) == self.now.astimezone(self.zone).date()
        if moment.at > self.now + _AHEAD and not clock and today:
            raise BadInput(
                f"The row is of today and names no hour; {hour or '12:00'}, which would be "
                "supposed, lies ahead. Write the hour."
            )
        if moment.at > self.now + _AHEAD:
            raise BadInput("The time lies ahead. Correct day and hour.")
        if moment.told == "no time":
            return moment, moment.told, "time of day not stated, noon supposed"
        if part and not clock:
            headed = line.block is not None and line.block.part == part
            where = "stands over the column" if headed else "typed for the time"
            return moment, "part of day", f"“{part}” {where}, {hour} supposed"
        if moment.told == "twice":
            said = "the clock showed that hour twice, the first of them supposed"
            return moment, moment.told, said
        return moment, "", ""

    def _time_of(self, line: Line, found: DayCell) -> tuple[str, str, str]:
        """Time as typed, a word for it, and the hour that stands for the word."""
        typed = clock_said(line.text("time"))
        if not typed[0] and not typed[1]:
            typed = (found.clock, found.part, found.part_clock)
        block = line.block
        if block is None or not block.part:
            return typed
        headed = clock_said(block.part)
        if not typed[0] and not typed[1]:
            return headed
        if any(one.meaning == "time" and one.block == block.number for one in line.columns):
            return typed
        # One time for a row of two tests is that of the one it suits.
        said, meant = (_half_of(one[0] or one[2]) for one in (typed, headed))
        return typed if said and said == meant else headed

    def kit(self, pond: UUID) -> tuple[KitForms, UUID | None]:
        """As what the kit of a pond's tests reports, and which one it is.

        It is the one stated for the pond. Who wrote the sheet need not have tested with the
        practice's: that one counts where a person says so.
        """
        if pond not in self._kits:
            kit = own_kit(self.book, pond)
            if kit is None and self.shape.kit == "practice":
                kit = kit_in_use(self.book, pond)
            if kit is not None:
                self.kit_names[kit.id] = kit.name
            self._kits[pond] = (
                (KitForms(), None)
                if kit is None
                else (KitForms(kit.ammonia_form, kit.nitrite_form, kit.nitrate_form), kit.id)
            )
        return self._kits[pond]

    def person(self, name: str) -> UUID | None:
        """Key of the member of staff of that name or those initials, if there is one."""
        if name not in self._people:
            found = person_named(self.book, name) if name else None
            self._people[name] = None if found is None else found.id
        return self._people[name]

    def cell(
        self, heading: Heading, text: str, pond: UUID, line: int
    ) -> tuple[ReadingValue | None, str]:
        """One reading and what goes into the note; a doubt becomes the reason for refusing."""
        label = PARAMETERS[heading.parameter].label
        if len(text) > _MOST_CELL:
            raise BadInput(f"The cell for {label} holds {len(text)} characters.")
        read, aside = as_reading(text, commas=self.commas)
        answer = self._read(heading, read, self.kit(pond)[0])
        if isinstance(answer, Doubt):
            answer = self._right_all_the_same(answer, line)
        if answer is not None and not heading.unit and is_bare(read):
            form = "" if answer.form == "unknown" else _FORMS.get(answer.form, answer.form)
            self.unit_supposed.setdefault(answer.parameter, f"{answer.unit} {form}".strip())
        return answer, f"{label}: {aside}" if aside else ""

    def _read(self, heading: Heading, cell: str, kit: KitForms) -> ReadingValue | Doubt | None:
        """One cell; the same values come again and again in a long sheet."""
        key = (heading, cell, kit)
        if key not in self._cells:
            if len(self._cells) > _MOST_KEPT:
                self._cells.clear()
            self._cells[key] = heading.read(cell, kit)
        return self._cells[key]

    def _right_all_the_same(self, doubt: Doubt, line: int) -> ReadingValue:
        """The value as typed, where a person has said that unusual ones are right.

        Only a value that can be and can be read in one way alone; other doubts stay refusals.
        """
        one = doubt.proposal
        if one is not None and not doubt.others and not usual(one):
            self.unusual.setdefault(shown(one), line)
            if self.shape.unusual == "right":
                return one
        raise BadInput(doubt.question)

    def planned(self, line: Line, pond: UUID, read: Sequence[Read], note: str) -> PlannedTest:
        """A test of these readings."""
        readings = [one.value for one in read]
        moment, told, said = self.moment(line)
        if not readings and not note:
            raise BadInput("Nothing was measured and nothing noted.")
        by = plain(line.text("by"))[:_MOST_WORDS]
        test = NewTest(
            moment.at,
            tuple(readings),
            note="; ".join(part for part in (note, said) if part),
            way="file",
            place=line.text("place"),
            kit_id=self.kit(pond)[1],
        )
        block = line.block
        called = line.text("pond") if block is None or block.of_row else block.name
        if not called and self.every_row is None:
            called = line.section.title
        person = self.person(by)
        raw = tuple((one.title, one.cell) for one in read)
        return PlannedTest(line.row.line, pond, test, by, person, told, line.row.cells, called, raw)

    def note(self, line: Line) -> str:
        """The note of a row, in one piece and not too long to be kept."""
        note = plain(line.text("note"), lines=True)
        if len(note) > _MOST_NOTE:
            raise BadInput(f"The note holds {len(note)} characters; {_MOST_NOTE} can be kept.")
        if len(line.text("place")) > _MOST_WORDS:
            raise BadInput(f"The place is longer than {_MOST_WORDS} characters.")
        return note


def called_pond(pond: str, client: str) -> str:
    """What a row calls its pond, the client in front where it names one.

    Parameters
    ----------
    pond, client
        The cells of the row.
    """
    return f"{client}, {pond}" if client else pond


def said_of_pond(shape: Shape, called: str) -> str:
    """The pond that a person says a name in the rows means, `ignore`, or nothing.

    Parameters
    ----------
    shape
        What a person said.
    called
        From `called_pond`.
    """
    return shape.blocks.get(called) or shape.blocks.get(called.casefold()) or ""


def _half_of(clock: str) -> str:
    """The half of the day in which a time lies, `am` or `pm`; empty where it is no time."""
    found = re.match(r"([0-9]{1,2})(?::[0-9]{2})*[ ]?(?:([ap])\.?m)?", clock, re.IGNORECASE)
    if found is None:
        return ""
    if found[2]:
        return f"{found[2].lower()}m"
    return "am" if int(found[1]) < 12 else "pm"

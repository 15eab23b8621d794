"""The rows of a sheet of water tests, each wholly understood or wholly refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.kits import kit_in_use
from store.book.people import person_named
from store.errors import BadInput, PondroundError
from store.exchange.headings import Heading, heading_of
from store.exchange.moments import Moment, Order, Told, read_moment
from store.exchange.planned import Columns, Gathering
from store.exchange.table import Row, Sheet
from store.exchange.whose import PondNames
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.understood import Doubt, KitForms, ReadingValue, shown
from store.water.water_tests import NewTest

KNOWN = {
    "pond": ("pond_code", "pond code", "pond key", "code", "pond name"),
    "client": ("owner",),
    "taken_at": (
        "datetime",
        "date time",
        "date and time",
        "taken",
        "sampled at",
        "timestamp",
        "at",
    ),
    "date": ("day",),
    "time": ("clock", "hour", "time of day"),
    "note": ("notes", "remarks", "comment", "comments"),
    "place": ("where", "sampled where"),
    "by": ("tested by", "taken by", "who"),
    "parameter": ("measurement", "what"),
    "value": ("reading", "result"),
    "unit": ("units",),
    "form": ("as", "reported as"),
}
"""The columns that are not headed by a parameter."""
_MOST_CELL = 100
_AHEAD = timedelta(hours=1)
_MOST_WORDS = 500
_MOST_NOTE = 10_000


@dataclass(frozen=True, slots=True)
class PlannedTest:
    """A test that the file would bring, with the line it begins on and who took it."""

    line: int
    pond: UUID
    test: NewTest
    by: str = ""
    by_key: UUID | None = None
    """The member of staff who goes by that."""
    told: Told = ""
    cells: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The test in one line, as it was understood."""
        return " · ".join(shown(reading) for reading in self.test.readings) or self.test.note


class RowReader:
    """What is the same for every row of one file."""

    def __init__(
        self,
        book: Book,
        now: datetime,
        columns: Columns,
        pond: str | None,
        order: Order,
        shift_days: int,
    ) -> None:
        self.book, self.columns, self.order = book, columns, order
        self.now, self.zone, self.shift_days = now, book.zone, shift_days
        self.gathering = Gathering()
        self.ponds = PondNames(book)
        self.every_row = None if pond is None else self.ponds.one(pond)
        self.unit_supposed: dict[str, str] = {}
        if self.every_row is None:
            columns.need("pond")
        if not columns.has("date"):
            columns.need("taken_at")
        self._kits: dict[UUID, tuple[KitForms, UUID | None]] = {}
        self._people: dict[str, UUID | None] = {}
        self._named: dict[tuple[str, str], UUID] = {}

    def pond_of(self, row: Row) -> UUID:
        """The pond that a row is of; the one given for the file goes where the row names none."""
        text, client = self.columns.text(row, "pond"), self.columns.text(row, "client")
        if not text and self.every_row is not None:
            return self.every_row
        known = self._named.get((text, client))
        if known is None:
            known = self.ponds.one(f"{client}, {text}" if client else text)
            self._named[text, client] = known
        if self.every_row is not None and known != self.every_row:
            raise BadInput("The row names another pond than the one given for the file.")
        return known

    def moment(self, row: Row) -> Moment:
        """When the sample was taken."""
        cell = self.columns.text(row, "taken_at") or self.columns.text(row, "date")
        if not cell:
            raise BadInput("The row has no day. Fill in when the sample was taken.")
        moment = read_moment(
            cell,
            self.zone,
            clock=self.columns.text(row, "time"),
            order=self.order,
            shift_days=self.shift_days,
        )
        if moment.at > self.now + _AHEAD:
            raise BadInput("The time lies ahead. Correct day and hour.")
        return moment

    def kit(self, pond: UUID) -> tuple[KitForms, UUID | None]:
        """As what the kit of a pond reports, and which one it is."""
        if pond not in self._kits:
            kit = kit_in_use(self.book, pond)
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

    def cell(self, heading: Heading, text: str, pond: UUID) -> ReadingValue | None:
        """One reading; a doubt becomes the reason for refusing the row."""
        if len(text) > _MOST_CELL:
            label = PARAMETERS[heading.parameter].label
            raise BadInput(f"The cell for {label} holds {len(text)} characters.")
        answer = heading.read(text, self.kit(pond)[0])
        if isinstance(answer, Doubt):
            raise BadInput(answer.question)
        if answer is not None and not heading.unit:
            self.unit_supposed.setdefault(answer.parameter, f"{answer.unit} {answer.form}".strip())
        return answer

    def planned(
        self, row: Row, pond: UUID, moment: Moment, readings: Sequence[ReadingValue], note: str
    ) -> PlannedTest:
        """A test of these readings."""
        if not readings and not note:
            raise BadInput("Nothing was measured and nothing noted.")
        notes = [note]
        if moment.told == "no time":
            notes.append("time of day not stated, noon supposed")
        elif moment.told == "twice":
            notes.append("the clock showed that hour twice, the first of them supposed")
        by = plain(self.columns.text(row, "by"))[:_MOST_WORDS]
        test = NewTest(
            moment.at,
            tuple(readings),
            note="; ".join(part for part in notes if part),
            way="file",
            place=self.columns.text(row, "place"),
            kit_id=self.kit(pond)[1],
        )
        return PlannedTest(row.line, pond, test, by, self.person(by), moment.told, row.cells)

    def note(self, row: Row) -> str:
        """The note of a row, in one piece and not too long to be kept."""
        note = plain(self.columns.text(row, "note"), lines=True)
        if len(note) > _MOST_NOTE:
            raise BadInput(f"The note holds {len(note)} characters; {_MOST_NOTE} can be kept.")
        if len(self.columns.text(row, "place")) > _MOST_WORDS:
            raise BadInput(f"The place is longer than {_MOST_WORDS} characters.")
        return note


def wide(sheet: Sheet, reader: RowReader, headings: dict[int, Heading]) -> list[PlannedTest]:
    """One row a test.

    Parameters
    ----------
    sheet
        The file.
    reader
        How its rows are read; takes the refused ones.
    headings
        Place of each column of readings, counted from 0, to what it holds.
    """
    tests = []
    for row in reader.gathering.fitting(sheet):
        try:
            pond, moment = reader.pond_of(row), reader.moment(row)
            readings: list[ReadingValue] = []
            for place, heading in headings.items():
                reading = reader.cell(heading, row.cells[place], pond)
                if reading is None:
                    continue
                if any(one.parameter == reading.parameter for one in readings):
                    label = PARAMETERS[reading.parameter].label
                    raise BadInput(f"Two columns give {label}. Keep one of them.")
                readings.append(reading)
            tests.append(reader.planned(row, pond, moment, readings, reader.note(row)))
        except PondroundError as error:
            reader.gathering.refuse(row, error.message)
    return tests


def tall(sheet: Sheet, reader: RowReader) -> list[PlannedTest]:
    """One row a reading: rows of one pond and one instant are one test.

    Parameters
    ----------
    sheet
        The file.
    reader
        How its rows are read; takes the refused ones.
    """
    groups: dict[object, list[tuple[Row, UUID, Moment]]] = {}
    for row in reader.gathering.fitting(sheet):
        try:
            pond, moment = reader.pond_of(row), reader.moment(row)
            groups.setdefault((pond, moment.at), []).append((row, pond, moment))
        except PondroundError as error:
            reader.gathering.refuse(row, error.message)
    tests = []
    for group in groups.values():
        first, pond, moment = group[0]
        readings: dict[str, ReadingValue] = {}
        notes: list[str] = []
        wrong: dict[int, str] = {}
        for row, _, _ in group:
            try:
                _one_reading(reader, row, pond, readings)
                note = reader.note(row)
                if note and note not in notes:
                    notes.append(note)
            except PondroundError as error:
                wrong[row.line] = error.message
        if not wrong:
            try:
                note = "; ".join(notes)
                tests.append(reader.planned(first, pond, moment, list(readings.values()), note))
                continue
            except PondroundError as error:
                wrong[first.line] = error.message
        lines = ", ".join(str(line) for line in sorted(wrong))
        for row, _, _ in group:
            other = f"It belongs to the same test as line {lines}, which cannot be read."
            reader.gathering.refuse(row, wrong.get(row.line, other))
    return tests


def _one_reading(
    reader: RowReader, row: Row, pond: UUID, readings: dict[str, ReadingValue]
) -> None:
    """Read one row of a file with one row a reading."""
    columns = reader.columns
    name = columns.text(row, "parameter")
    heading = heading_of(name)
    if heading is None:
        raise BadInput(f"“{plain(name):.40}” is nothing that a water test measures.")
    unit = " ".join(filter(None, (columns.text(row, "unit"), columns.text(row, "form"))))
    if unit:
        heading = replace(heading, unit=unit)
    reading = reader.cell(heading, columns.text(row, "value"), pond)
    if reading is None:
        return
    if reading.parameter in readings:
        raise BadInput(f"{PARAMETERS[reading.parameter].label} stands twice for one test.")
    readings[reading.parameter] = reading

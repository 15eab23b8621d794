"""Water tests out of a sheet: one row a test, or one row a reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.kits import kit_in_use
from store.book.people import person_named
from store.book.tables import table
from store.errors import BadInput, PondroundError
from store.exchange.headings import Heading, heading_of
from store.exchange.moments import Moment, Order, Told, read_moment
from store.exchange.planned import (
    Columns,
    Done,
    Gathering,
    Plan,
    Refused,
    brought_before,
    keep_file,
    unread,
)
from store.exchange.table import Row, Sheet, open_sheet
from store.exchange.whose import PondNames
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.understood import Doubt, KitForms, ReadingValue, shown
from store.water.water_tests import NewTest, add_tests

_KNOWN = {
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


def read_water(
    path: Path,
    book: Book,
    now: datetime,
    *,
    pond: str | None = None,
    order: Order = "ymd",
    shift_days: int = 0,
) -> Plan[PlannedTest]:
    """What a sheet of water tests would bring into the book; nothing is saved.

    Columns: `pond`, `taken_at` (or `date` and `time`), and either one column a parameter or
    `parameter`, `value`, `unit`, `form`; further `note`, `place`, `by`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    now
        The present instant.
    pond
        The pond that is meant where the file names none.
    order
        In which order the file writes day and month.
    shift_days
        Whole days by which every day of the file is moved [d].

    Returns
    -------
    Plan of PlannedTest
        A row that cannot be read wholly is refused wholly, with the reason; rows of one test that
        lies in several rows are refused together.

    Raises
    ------
    BadInput
        When the file cannot be read, or its columns are no water tests.
    NotFound
        When `pond` names no pond, or several.
    """
    sheet = open_sheet(path)
    columns = Columns(sheet.header, _KNOWN)
    reader = _Reader(book, now, columns, pond, order, shift_days)
    if columns.has("parameter") and columns.has("value"):
        left = columns.rest
        tests = _tall(sheet, reader)
    else:
        headings = {place: heading_of(sheet.header[place]) for place in columns.rest}
        known = {place: found for place, found in headings.items() if found is not None}
        if not known and not columns.has("note"):
            raise BadInput(
                f"{path.name} has no column with a reading, so nothing was brought in. Head the "
                "columns with names such as temperature, pH, ammonia, KH."
            )
        left = [place for place in columns.rest if place not in known]
        tests = _wide(sheet, reader, known)
    kept, already = _apart(book, tests, reader.gathering)
    told = (
        *brought_before(book, sheet),
        *_supposed(sheet, kept, reader),
        *unread(sheet.header, left),
    )
    return Plan(
        "water tests",
        path,
        sheet.sha256,
        sheet.header,
        reader.gathering.rows_read,
        tuple(kept),
        tuple(sorted(reader.gathering.refused, key=lambda one: one.line)),
        already,
        told,
        sheet.separator,
        shift_days,
    )


def save_water(book: Book, act: Act, plan: Plan[PlannedTest]) -> Done:
    """Save the tests of a plan in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when. Who took a test, if it was somebody else, is noted.
    plan
        From `read_water`.

    Returns
    -------
    Done
        How many tests were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    if not plan.items:
        return Done(0, plan.already, len(plan.refused))
    with book.writing(act) as writing:
        there = _in_book(writing.connection, plan.items)
        fresh = [one for one in plan.items if not _found(one, there)]
        if fresh:
            file = keep_file(writing, plan, len(fresh))
            add_tests(writing, [(one.pond, _signed(one, act)) for one in fresh], import_file=file)
    return Done(len(fresh), plan.already + len(plan.items) - len(fresh), len(plan.refused))


def _signed(one: PlannedTest, act: Act) -> NewTest:
    """The test, with who took it in its note where somebody else brings it in."""
    if not one.by or one.by_key == act.by:
        return one.test
    note = "; ".join(part for part in (one.test.note, f"taken by {one.by}") if part)
    return replace(one.test, note=note)


class _Reader:
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


def _wide(sheet: Sheet, reader: _Reader, headings: dict[int, Heading]) -> list[PlannedTest]:
    """One row a test."""
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


def _tall(sheet: Sheet, reader: _Reader) -> list[PlannedTest]:
    """One row a reading: rows of one pond and one instant are one test."""
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


def _one_reading(reader: _Reader, row: Row, pond: UUID, readings: dict[str, ReadingValue]) -> None:
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


_Values = dict[str, float]


@dataclass(frozen=True, slots=True)
class _There:
    """A test at one pond and instant that is in the book, or stands earlier in the file."""

    values: _Values
    note: str
    struck: bool = False


def _in_book(
    connection: Connection, planned: Sequence[PlannedTest]
) -> dict[tuple[UUID, datetime], list[_There]]:
    """The tests in the book at the ponds and instants of these, those struck through as well."""
    wanted: dict[UUID, set[datetime]] = {}
    for one in planned:
        wanted.setdefault(one.pond, set()).add(_kept(one.test.taken_at))
    tests, reading = table("water_test").c, table("reading").c
    found: dict[tuple[UUID, datetime], list[_There]] = {}
    for pond, instants in wanted.items():
        query = (
            select(tests.id, tests.taken_at, tests.note, tests.struck_at)
            .where(tests.pond_id == pond)
            .where(tests.taken_at >= min(instants), tests.taken_at <= max(instants))
        )
        rows = [row for row in connection.execute(query) if row.taken_at in instants]
        for row in rows:
            values = select(reading.parameter, reading.value).where(reading.test_id == row.id)
            found.setdefault((pond, row.taken_at), []).append(
                _There(
                    dict(connection.execute(values).tuples().all()),
                    row.note,
                    row.struck_at is not None,
                )
            )
    return found


def _kept(at: datetime) -> datetime:
    """The instant as the book keeps it, in whole milliseconds."""
    return at.replace(microsecond=at.microsecond // 1000 * 1000)


def _found(one: PlannedTest, there: dict[tuple[UUID, datetime], list[_There]]) -> bool:
    """Whether the same test is in the book, standing or struck through on purpose."""
    return any(
        _equal(one.test, known) for known in there.get((one.pond, _kept(one.test.taken_at)), ())
    )


def _equal(test: NewTest, known: _There) -> bool:
    values = {reading.parameter: reading.value for reading in test.readings}
    if set(values) != set(known.values):
        return False
    if not values:
        return known.note.startswith(test.note.strip())
    return all(
        abs(value - known.values[name]) <= 1e-9 * max(1.0, abs(value))
        for name, value in values.items()
    )


def _apart(
    book: Book, tests: Sequence[PlannedTest], gathering: Gathering
) -> tuple[list[PlannedTest], int]:
    """Tests that are new, and how many are not; another test of the same instant is refused."""
    with book.reading() as connection:
        there = _in_book(connection, tests)
    kept, already = [], 0
    for one in tests:
        if _found(one, there):
            already += 1
            continue
        place = (one.pond, _kept(one.test.taken_at))
        standing = [known for known in there.get(place, ()) if not known.struck]
        if standing:
            reason = (
                "This pond has a test of the same time with other values. Correct that one, or "
                "the time here."
            )
            gathering.refused.append(Refused(one.line, reason, one.cells))
            continue
        there.setdefault(place, []).append(
            _There({each.parameter: each.value for each in one.test.readings}, one.test.note)
        )
        kept.append(one)
    return kept, already


def _supposed(sheet: Sheet, kept: Sequence[PlannedTest], reader: _Reader) -> tuple[str, ...]:
    """One sentence for each thing that had to be supposed."""
    told = []
    if reader.unit_supposed:
        units = ", ".join(
            f"{PARAMETERS[code].short} in {unit}" if unit else PARAMETERS[code].short
            for code, unit in reader.unit_supposed.items()
            if unit
        )
        if units:
            told.append(f"Where the file names no unit, it was taken as: {units}.")
    unknown = sorted(
        {
            PARAMETERS[reading.parameter].short
            for one in kept
            for reading in one.test.readings
            if reading.form == "unknown"
        }
    )
    if unknown:
        told.append(
            f"Nobody has said as what the kit reports {', '.join(unknown)}: the readings are kept "
            "as ranges. State the kit of the pond or of the practice, or name the form in the "
            "heading."
        )
    for word, sentence in (
        ("no time", "of a day without a time were taken as of noon, and say so in their note"),
        ("twice", "fell in the hour that the clock showed twice; the first was supposed"),
    ):
        number = sum(one.told == word for one in kept)
        if number:
            told.append(f"{number} {'test' if number == 1 else 'tests'} {sentence}.")
    return tuple(told)

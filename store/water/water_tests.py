"""Water tests in the book: save, correct, strike through, list.

A test is never rewritten. A correction strikes the old one through with its reason and adds a new
one that names it; both stay readable.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, and_, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotFound
from store.water.reading_rows import check_readings, reading_rows, readings_of
from store.water.understood import ReadingValue

_CLOCK_SLACK = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class NewTest:
    """A water test before it is saved.

    `since_feeding_min` and `since_water_change_min` [min], `binder_days` (days since a
    dechlorinator or ammonia binder went in) and `place` tell how far the readings can be believed.
    """

    taken_at: datetime
    readings: tuple[ReadingValue, ...]
    note: str = ""
    way: str = "form"
    place: str = ""
    depth_m: float | None = None
    tested_at: datetime | None = None
    since_feeding_min: float | None = None
    since_water_change_min: float | None = None
    binder_days: float | None = None
    kit_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class WaterTest:
    """A water test as it stands in the book."""

    key: UUID
    rev: int
    pond: UUID
    taken_at: datetime
    readings: Mapping[str, ReadingValue]
    """By parameter code, in the order in which parameters are shown."""
    note: str
    way: str
    place: str
    depth_m: float | None
    tested_at: datetime | None
    since_feeding_min: float | None
    since_water_change_min: float | None
    binder_days: float | None
    kit_id: UUID | None
    by: str
    """Initials or name of who entered it."""
    replaces: UUID | None
    struck_why: str
    """Why it was struck through; empty while it stands."""

    @property
    def struck(self) -> bool:
        """Whether the test was struck through."""
        return bool(self.struck_why)


def save_test(book: Book, act: Act, pond: UUID, new: NewTest) -> UUID:
    """Save a water test and give its key.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    pond
        Key of the pond.
    new
        What was measured, or seen: a test without readings needs a note.

    Returns
    -------
    UUID
        Key of the new test.

    Raises
    ------
    BadInput
        Nothing measured and nothing noted, a parameter twice, a value that cannot exist, a time
        that lies ahead. Nothing was saved.
    NotFound
        No such pond.
    """
    with book.writing(act) as writing:
        return add_test(writing, pond, new)


def add_test(
    writing: Writing,
    pond: UUID,
    new: NewTest,
    *,
    replaces: UUID | None = None,
    import_file: UUID | None = None,
) -> UUID:
    """Add a water test within a writing that is under way; see `save_test`.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond
        Key of the pond.
    new
        What was measured.
    replaces
        The test that this one corrects.
    import_file
        The file it came from.

    Returns
    -------
    UUID
        Key of the new test.

    Raises
    ------
    BadInput, NotFound
        As for `save_test`.
    """
    return add_tests(writing, [(pond, new)], replaces=replaces, import_file=import_file)[0]


def add_tests(
    writing: Writing,
    tests: Sequence[tuple[UUID, NewTest]],
    *,
    replaces: UUID | None = None,
    import_file: UUID | None = None,
) -> list[UUID]:
    """Add many water tests at once within a writing that is under way; see `save_test`.

    Parameters
    ----------
    writing
        The action they belong to.
    tests
        Key of the pond and what was measured there, one a test.
    replaces
        The test that these correct.
    import_file
        The file they came from.

    Returns
    -------
    list of UUID
        Keys of the new tests, in order.

    Raises
    ------
    BadInput, NotFound
        As for `save_test`.
    """
    for _, new in tests:
        _check(new, writing.act.at)
    for pond in {pond for pond, _ in tests}:
        _stands(writing.connection, pond)
    keys = writing.add_many(
        "water_test", [_row(pond, new, replaces, import_file) for pond, new in tests]
    )
    rows = []
    for key, (_, new) in zip(keys, tests, strict=True):
        rows.extend(reading_rows(key, new.readings))
    writing.add_many("reading", rows)
    return keys


def _row(
    pond: UUID, new: NewTest, replaces: UUID | None, import_file: UUID | None
) -> dict[str, Any]:
    return {
        "pond_id": pond,
        "taken_at": new.taken_at,
        "tested_at": new.tested_at,
        "place": new.place,
        "depth_m": new.depth_m,
        "since_feeding_min": new.since_feeding_min,
        "since_water_change_min": new.since_water_change_min,
        "binder_days": new.binder_days,
        "kit_id": new.kit_id,
        "note": new.note,
        "way": new.way,
        "import_file_id": import_file,
        "replaces_id": replaces,
    }


def correct_test(book: Book, act: Act, key: UUID, rev: int, new: NewTest, why: str) -> UUID:
    """Put a corrected test in the place of one; the first is struck through and kept.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    key, rev
        The test to be corrected, as the person saw it.
    new
        The whole test as it should be.
    why
        The reason; never empty.

    Returns
    -------
    UUID
        Key of the corrected test.

    Raises
    ------
    BadInput, NotFound, ChangedMeanwhile, NotAllowed
        As for `save_test` and `Writing.strike`. Nothing was saved.
    """
    with book.writing(act) as writing:
        tests = table("water_test")
        pond = writing.connection.execute(select(tests.c.pond_id).where(tests.c.id == key)).scalar()
        if pond is None:
            raise NotFound("There is no such water test in the book; nothing was saved.")
        writing.strike("water_test", key, why, rev)
        return add_test(writing, pond, new, replaces=key)


def strike_test(book: Book, act: Act, key: UUID, rev: int, why: str) -> None:
    """Strike a water test through; it stays readable and no longer counts.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    key, rev
        The test, as the person saw it.
    why
        The reason; never empty.
    """
    with book.writing(act) as writing:
        writing.strike("water_test", key, why, rev)


def list_tests(
    book: Book,
    pond: UUID,
    newest: int = 20,
    *,
    before: datetime | None = None,
    struck: bool = False,
) -> tuple[WaterTest, ...]:
    """The tests of a pond, newest first.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    newest
        How many at the most [tests].
    before
        Only tests taken before this instant, for paging.
    struck
        Also those that were struck through.

    Returns
    -------
    tuple of WaterTest
        Empty when there is none.
    """
    with book.reading() as connection:
        return read_tests(connection, pond, newest, before=before, struck=struck)


def read_tests(
    connection: Connection,
    pond: UUID,
    newest: int,
    *,
    before: datetime | None = None,
    struck: bool = False,
) -> tuple[WaterTest, ...]:
    """The tests of a pond within a reading that is under way; see `list_tests`.

    Parameters
    ----------
    connection
        A reading connection of the book.
    pond, newest, before, struck
        As for `list_tests`.
    """
    tests, staff = table("water_test"), table("staff")
    query = (
        select(tests, staff.c.initials, staff.c.name.label("staff_name"))
        .join(staff, staff.c.id == tests.c.created_by)
        .where(tests.c.pond_id == pond)
        .order_by(tests.c.taken_at.desc(), tests.c.id.desc())
        .limit(newest)
    )
    if before is not None:
        query = query.where(tests.c.taken_at < before)
    if not struck:
        query = query.where(tests.c.struck_at.is_(None))
    rows = connection.execute(query).all()
    readings = readings_of(connection, [row.id for row in rows])
    return tuple(_water_test(row, readings.get(row.id, {})) for row in rows)


def _water_test(row: Row[Any], readings: Mapping[str, ReadingValue]) -> WaterTest:
    return WaterTest(
        key=row.id,
        rev=row.rev,
        pond=row.pond_id,
        taken_at=row.taken_at,
        readings=readings,
        note=row.note,
        way=row.way,
        place=row.place,
        depth_m=row.depth_m,
        tested_at=row.tested_at,
        since_feeding_min=row.since_feeding_min,
        since_water_change_min=row.since_water_change_min,
        binder_days=row.binder_days,
        kit_id=row.kit_id,
        by=row.initials or row.staff_name,
        replaces=row.replaces_id,
        struck_why=row.struck_why,
    )


def _check(new: NewTest, now: datetime) -> None:
    if not new.readings and not new.note.strip():
        raise BadInput(
            "Nothing was measured and nothing was noted, so there is nothing to save. "
            "Type a reading or a note."
        )
    if new.taken_at > now + _CLOCK_SLACK:
        raise BadInput(
            "The time of this test lies ahead. Nothing was saved; please look at day and hour.",
            field="taken_at",
        )
    check_readings(new.readings)


def _stands(connection: Connection, pond: UUID) -> None:
    ponds = table("pond")
    query = select(ponds.c.id).where(and_(ponds.c.id == pond, ponds.c.struck_at.is_(None)))
    if connection.execute(query).first() is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")

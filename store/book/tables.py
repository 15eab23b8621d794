"""The tables of a book.

Every row but readings, logger values and days of the air carries a key, a revision, who made and
changed it and when, and whether it is struck through. Names end in their unit. Readings, changes
and rule changes are added to and never rewritten: triggers see to it, see `store.book.triggers`.
The tables of treatment stand in `store.book.course_tables` and `store.book.formulary_tables`, those
of examinations in `store.book.exam_tables`, those of the desk in `store.book.desk_tables`, those of
the rounds in `store.book.rounds_tables`, those of sheets and papers in
`store.book.exchange_tables`, those of the air in `store.book.air_tables`, those that guard the book
in `store.book.keeping_tables`.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import CheckConstraint, Index, String, Table, Time, false
from sqlalchemy.orm import Mapped, mapped_column

import store.book.air_tables
import store.book.course_tables
import store.book.desk_tables
import store.book.exam_tables
import store.book.exchange_tables
import store.book.formulary_tables
import store.book.keeping_tables
import store.book.rounds_tables  # noqa: F401 - their tables belong to a book too
from store.book import checks
from store.book.columns import (
    Base,
    Day,
    Json,
    Key,
    choice,
    data,
    instant,
    notes,
    number,
    to,
    whole,
    words,
    yes_no,
)
from store.book.kept import MOST_LITRES, Kept

TableName = Literal[
    "practice", "staff", "client", "site", "pond", "volume_estimate", "kit", "water_test",
    "reading", "logger_reading", "logger_day", "pond_event", "rest", "rule_change", "visit",
    "import_file", "change", "book_meta", "course", "course_step", "course_dose", "course_task",
    "dose_given", "caution_answer", "course_turn", "own_agent", "own_dose", "product",
    "step_rests_on", "feed_ration", "examination", "examined_fish", "preparation", "exam_finding",
    "lab_sample", "death_count", "head_count", "follow_up", "follow_up_day", "contact_attempt",
    "booking", "visit_purpose", "visit_length", "working_hours", "day_off", "holiday_region",
    "call_note", "drive_time", "visit_terms", "way_home",
    "sheet_shape", "letterhead", "change_link", "sign_in", "air_station", "air_day",
]  # fmt: skip

_CLUSTERED = {"sqlite_with_rowid": False}
SHADES = ("not asked", "open sky", "part of the day", "most of the day")
"""How much of a pond's day lies in shade, as somebody said it."""


class PracticeRow(Kept, Base):
    """The practice; a book holds one."""

    __tablename__ = "practice"
    name: Mapped[str] = words(required=True)
    time_zone: Mapped[str] = mapped_column(
        String(60), info={"shortest": 1, "longest": 60, "check": checks.time_zone}
    )
    country: Mapped[str] = words(60)
    kit_id: Mapped[UUID | None] = to("kit")


class StaffRow(Kept, Base):
    """A person who works with the book."""

    __tablename__ = "staff"
    name: Mapped[str] = words(required=True)
    role: Mapped[str] = choice("vet", "receptionist", "travelling vet")
    initials: Mapped[str] = words(8)


class ClientRow(Kept, Base):
    """Who owns the ponds and answers the telephone."""

    __tablename__ = "client"
    name: Mapped[str] = words(required=True)
    phone: Mapped[str] = words(60)
    phone2: Mapped[str] = words(60)
    email: Mapped[str] = mapped_column(
        String(254), default="", info={"shortest": 0, "longest": 254, "check": checks.email}
    )
    notes: Mapped[str] = notes()


class SiteRow(Kept, Base):
    """A place with ponds that one drive reaches."""

    __tablename__ = "site"
    client_id: Mapped[UUID] = to("client", index=True)
    name: Mapped[str] = words(required=True)
    address: Mapped[str] = words(1000, lines=True)
    town: Mapped[str] = words()
    postcode: Mapped[str] = words(20)
    latitude: Mapped[float | None] = number(-90.0, 90.0)
    longitude: Mapped[float | None] = number(-180.0, 180.0)
    elevation_m: Mapped[float | None] = number(-500.0, 9000.0)
    access_hours: Mapped[str] = words(lines=True)
    access_notes: Mapped[str] = notes()
    water_supply: Mapped[str] = words()


class PondRow(Kept, Base):
    """A body of water that is tested and treated by itself.

    `volume_l` and its bounds repeat the estimate in force (`volume_estimate_id`), so that a list of
    ponds needs one table.
    """

    __tablename__ = "pond"
    site_id: Mapped[UUID] = to("site", index=True)
    name: Mapped[str] = words(required=True)
    code: Mapped[str] = words(60)
    use: Mapped[str] = choice("ornamental", "food", "not asked", default="not asked")
    volume_l: Mapped[float | None] = number(0.1, MOST_LITRES)
    volume_method: Mapped[str] = words(60)
    volume_low_l: Mapped[float | None] = number(0.0, MOST_LITRES)
    volume_high_l: Mapped[float | None] = number(0.1, MOST_LITRES)
    volume_estimate_id: Mapped[UUID | None] = to("volume_estimate", late=True)
    depth_m: Mapped[float | None] = number(0.0, 200.0)
    lining: Mapped[str] = words()
    filter: Mapped[str] = words()
    uv: Mapped[str] = words()
    source_water: Mapped[str] = words()
    species: Mapped[str] = words(2000)
    stock_notes: Mapped[str] = notes()
    indoor: Mapped[bool] = yes_no("indoor", default=False)
    heated: Mapped[bool] = yes_no("heated", default=False, server_default=false())
    shade: Mapped[str] = choice(*SHADES, default=SHADES[0], server_default=SHADES[0])
    test_every_days: Mapped[int | None] = whole(1, checks.MOST_DAYS)
    test_seasons: Mapped[list[dict[str, Any]]] = data(checks.seasons, default=list)
    kit_id: Mapped[UUID | None] = to("kit", late=True)
    notes: Mapped[str] = notes()
    __table_args__ = (
        CheckConstraint("volume_low_l <= volume_l AND volume_l <= volume_high_l", name="volume"),
    )


class VolumeEstimateRow(Kept, Base):
    """One finding of a pond's volume; the pond says which is in force."""

    __tablename__ = "volume_estimate"
    pond_id: Mapped[UUID] = to("pond", index=True)
    method: Mapped[str] = words(60, required=True)
    litres: Mapped[float] = number(0.1, MOST_LITRES)
    low_l: Mapped[float] = number(0.0, MOST_LITRES)
    high_l: Mapped[float] = number(0.1, MOST_LITRES)
    workings: Mapped[str] = notes()
    inputs: Mapped[dict[str, Any]] = data(checks.mapping, default=dict)
    measured_on: Mapped[date] = mapped_column(Day)
    __table_args__ = (CheckConstraint("low_l <= litres AND litres <= high_l", name="range"),)


class KitRow(Kept, Base):
    """A test kit: as what it reports ammonia, nitrite and nitrate."""

    __tablename__ = "kit"
    name: Mapped[str] = words(required=True)
    ammonia_form: Mapped[str] = choice("n", "nh3", "nh4", "unknown", default="unknown")
    nitrite_form: Mapped[str] = choice("no2", "n", "unknown", default="unknown")
    nitrate_form: Mapped[str] = choice("no3", "n", "unknown", default="unknown")
    batch: Mapped[str] = words(60)
    expires_on: Mapped[date | None] = mapped_column(Day)
    ph_calibrated_on: Mapped[date | None] = mapped_column(Day)
    notes: Mapped[str] = notes()
    pond_id: Mapped[UUID | None] = to("pond", index=True)


class WaterTestRow(Kept, Base):
    """One sampling of one pond; its values are readings."""

    __tablename__ = "water_test"
    pond_id: Mapped[UUID] = to("pond")
    taken_at: Mapped[datetime] = instant()
    tested_at: Mapped[datetime | None] = instant()
    place: Mapped[str] = words()
    depth_m: Mapped[float | None] = number(0.0, 200.0)
    since_feeding_min: Mapped[float | None] = number(0.0, 1_000_000.0)
    since_water_change_min: Mapped[float | None] = number(0.0, 10_000_000.0)
    binder_days: Mapped[float | None] = number(0.0, 1000.0)
    kit_id: Mapped[UUID | None] = to("kit")
    note: Mapped[str] = notes()
    way: Mapped[str] = choice("form", "line", "file")
    import_file_id: Mapped[UUID | None] = to("import_file")
    replaces_id: Mapped[UUID | None] = to("water_test", index=True)
    # Clustered by key, the index carries the key as well: the newest tests of all ponds are found
    # without touching the table.
    __table_args__ = (
        Index(None, "pond_id", "taken_at", "struck_at"),
        _CLUSTERED,
    )


class ReadingRow(Base):
    """One value of one test, in the stored unit, with what was typed beside it."""

    __tablename__ = "reading"
    test_id: Mapped[UUID] = to("water_test", primary=True)
    parameter: Mapped[str] = words(40, required=True, primary_key=True)
    value: Mapped[float] = number(-1e9, 1e9)
    low: Mapped[float | None] = number(-1e9, 1e9)
    high: Mapped[float | None] = number(-1e9, 1e9)
    bound: Mapped[str] = choice("=", "<", ">", "~", default="=")
    typed: Mapped[str] = words(100)
    unit: Mapped[str] = words(40)
    form: Mapped[str] = words(20)
    __table_args__ = _CLUSTERED


class LoggerReadingRow(Base):
    """One value of a logger left in a pond."""

    __tablename__ = "logger_reading"
    pond_id: Mapped[UUID] = to("pond", primary=True)
    parameter: Mapped[str] = words(40, required=True, primary_key=True)
    at: Mapped[datetime] = instant(primary_key=True)
    value: Mapped[float] = number(-1e9, 1e9)
    import_file_id: Mapped[UUID | None] = to("import_file")
    __table_args__ = _CLUSTERED


class LoggerDayRow(Base):
    """One calendar day of a logger, reckoned from its values and replaced when they grow."""

    __tablename__ = "logger_day"
    pond_id: Mapped[UUID] = to("pond", primary=True)
    parameter: Mapped[str] = words(40, required=True, primary_key=True)
    day: Mapped[date] = mapped_column(Day, primary_key=True)
    n: Mapped[int] = whole(1, 1_000_000)
    mean: Mapped[float] = number(-1e9, 1e9)
    low: Mapped[float] = number(-1e9, 1e9)
    high: Mapped[float] = number(-1e9, 1e9)
    __table_args__ = _CLUSTERED


class PondEventRow(Kept, Base):
    """Something that happened to a pond, see `store.book.events`."""

    __tablename__ = "pond_event"
    pond_id: Mapped[UUID] = to("pond")
    kind: Mapped[str] = words(40, required=True)
    on_day: Mapped[date] = mapped_column(Day)
    at: Mapped[datetime | None] = instant()
    until_day: Mapped[date | None] = mapped_column(Day)
    hazard: Mapped[str | None] = mapped_column(String(60), info={"shortest": 1, "longest": 60})
    amount: Mapped[float | None] = number(0.0, 1e12)
    unit: Mapped[str] = words(20)
    note: Mapped[str] = notes()
    __table_args__ = (
        CheckConstraint("until_day >= on_day", name="days"),
        Index(None, "pond_id", "on_day"),
    )


class RestRow(Kept, Base):
    """A concern put to rest until a day; it returns when it gets worse than it was then."""

    __tablename__ = "rest"
    pond_id: Mapped[UUID] = to("pond", index=True)
    rule: Mapped[str] = words(100, required=True)
    until_day: Mapped[date] = mapped_column(Day)
    reason: Mapped[str] = words(2000, required=True)
    level: Mapped[str] = choice("act", "watch", "unknown", "calm")
    value: Mapped[float | None] = number(-1e9, 1e9)


class RuleChangeRow(Kept, Base):
    """The practice's own say on a rule, for all ponds or for one; the newest is in force."""

    __tablename__ = "rule_change"
    pond_id: Mapped[UUID | None] = to("pond")
    rule: Mapped[str] = words(100, required=True)
    params: Mapped[dict[str, Any]] = data(checks.mapping, default=dict)
    enabled: Mapped[bool] = yes_no("enabled", default=True)
    why: Mapped[str] = words(2000, required=True)
    __table_args__ = (Index(None, "pond_id", "rule"),)


class VisitRow(Kept, Base):
    """A call at a site, planned or done."""

    __tablename__ = "visit"
    site_id: Mapped[UUID] = to("site")
    pond_id: Mapped[UUID | None] = to("pond", index=True)
    on_day: Mapped[date] = mapped_column(Day, index=True)
    at_time: Mapped[time | None] = mapped_column(Time)
    staff_id: Mapped[UUID | None] = to("staff")
    kind: Mapped[str] = words(60)
    state: Mapped[str] = choice("planned", "done", "cancelled", default="planned")
    note: Mapped[str] = notes()
    __table_args__ = (Index(None, "site_id", "on_day"),)


class ImportFileRow(Kept, Base):
    """A file that was read in, by its name and the hash of its bytes."""

    __tablename__ = "import_file"
    name: Mapped[str] = words(required=True)
    sha256: Mapped[str] = mapped_column(
        String(64), index=True, info={"shortest": 64, "longest": 64}
    )
    kind: Mapped[str] = words(40, required=True)
    rows_read: Mapped[int] = whole(0, 1_000_000_000)
    rows_saved: Mapped[int] = whole(0, 1_000_000_000)
    rows_refused: Mapped[int] = whole(0, 1_000_000_000)
    shift_s: Mapped[int] = whole(-10_000_000_000, 10_000_000_000, default=0)


class ChangeRow(Base):
    """Who did what to which row: the changed fields before and after."""

    __tablename__ = "change"
    id: Mapped[UUID] = mapped_column(Key, primary_key=True)
    at: Mapped[datetime] = instant(index=True)
    by: Mapped[UUID] = to("staff")
    table_name: Mapped[str] = words(40, required=True)
    row_id: Mapped[UUID] = mapped_column(Key, index=True)
    rev: Mapped[int] = whole(1, 1_000_000_000)
    what: Mapped[str] = choice("add", "change", "strike", "restore")
    before: Mapped[dict[str, Any] | None] = mapped_column(Json)
    after: Mapped[dict[str, Any] | None] = mapped_column(Json)
    why: Mapped[str] = words(2000)


class BookMetaRow(Base):
    """What the book says of itself, and the stamps that tell whether something changed."""

    __tablename__ = "book_meta"
    key: Mapped[str] = words(100, required=True, primary_key=True)
    value: Mapped[str] = words(2000)


def table(name: TableName) -> Table:
    """The table of that name, for statements.

    Parameters
    ----------
    name
        Such as `pond`.

    Returns
    -------
    Table
        As SQLAlchemy knows it.
    """
    return Base.metadata.tables[name]

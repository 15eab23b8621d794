"""The first tables.

Frozen: what a book of this number holds. A later change is a new file beside this one.
"""

from __future__ import annotations

from typing import Any

from alembic import op
from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKeyConstraint,
    Integer,
    PrimaryKeyConstraint,
    String,
    Time,
)

from store.book.columns import Day, Instant, Json, Key
from store.book.triggers import statements

revision = "0001"
down_revision = None

ONLY_ADDED_TO = ("change", "reading", "rule_change")
LATE: list[tuple[str, str]] = [("volume_estimate_id", "volume_estimate"), ("kit_id", "kit")]


def text(name: str, longest: int, *, shortest: int = 0, null: bool = False) -> list[Any]:
    check = f"length({name}) BETWEEN {shortest} AND {longest}"
    return [Column(name, String(longest), nullable=null), CheckConstraint(check, name=name)]


def number(
    name: str, low: float, high: float, *, null: bool = False, kind: type = Double
) -> list[Any]:
    check = f"{name} BETWEEN {low!r} AND {high!r}"
    return [Column(name, kind, nullable=null), CheckConstraint(check, name=name)]


def choice(name: str, *allowed: str) -> list[Any]:
    check = f"{name} IN ({', '.join(repr(word) for word in allowed)})"
    longest = max(map(len, allowed))
    return [Column(name, String(longest), nullable=False), CheckConstraint(check, name=name)]


def instant(name: str, *, null: bool = False) -> list[Any]:
    check = f"{name} BETWEEN -2208988800000 AND 7258118400000"  # the years 1900 to 2200
    return [Column(name, Instant, nullable=null), CheckConstraint(check, name=name)]


def yes_no(name: str) -> Column[Any]:
    return Column(name, Boolean(create_constraint=True, name=name), nullable=False)


def to(name: str, target: str, *, null: bool = False, late: bool = False) -> list[Any]:
    return [
        Column(name, Key, nullable=null),
        ForeignKeyConstraint([name], [f"{target}.id"], ondelete="RESTRICT", use_alter=late),
    ]


def kept() -> list[Any]:
    return [
        Column("id", Key, nullable=False),
        *number("rev", 1, 1_000_000_000, kind=Integer),
        *instant("created_at"),
        *to("created_by", "staff"),
        *instant("changed_at"),
        *to("changed_by", "staff"),
        *instant("struck_at", null=True),
        *to("struck_by", "staff", null=True),
        *text("struck_why", 2000),
        PrimaryKeyConstraint("id"),
    ]


def index(table: str, *columns: str) -> None:
    op.create_index(f"ix_{table}_{'_'.join(columns)}", table, list(columns))


def upgrade() -> None:
    op.create_table(
        "staff",
        *text("name", 500, shortest=1),
        *choice("role", "vet", "receptionist", "travelling vet"),
        *text("initials", 8),
        *kept(),
    )
    op.create_table(
        "client",
        *text("name", 500, shortest=1),
        *text("phone", 60),
        *text("phone2", 60),
        *text("email", 254),
        *text("notes", 20000),
        *kept(),
    )
    op.create_table(
        "site",
        *to("client_id", "client"),
        *text("name", 500, shortest=1),
        *text("address", 1000),
        *text("town", 500),
        *text("postcode", 20),
        *number("latitude", -90.0, 90.0, null=True),
        *number("longitude", -180.0, 180.0, null=True),
        *number("elevation_m", -500.0, 9000.0, null=True),
        *text("access_hours", 500),
        *text("access_notes", 20000),
        *text("water_supply", 500),
        *kept(),
    )
    op.create_table(
        "pond",
        *to("site_id", "site"),
        *text("name", 500, shortest=1),
        *text("code", 60),
        *choice("use", "ornamental", "food", "not asked"),
        *number("volume_l", 0.1, 10000000000.0, null=True),
        *text("volume_method", 60),
        *number("volume_low_l", 0.0, 10000000000.0, null=True),
        *number("volume_high_l", 0.1, 10000000000.0, null=True),
        *to("volume_estimate_id", "volume_estimate", null=True, late=True),
        *number("depth_m", 0.0, 200.0, null=True),
        *text("lining", 500),
        *text("filter", 500),
        *text("uv", 500),
        *text("source_water", 500),
        *text("species", 2000),
        *text("stock_notes", 20000),
        yes_no("indoor"),
        *number("test_every_days", 1, 366, null=True, kind=Integer),
        Column("test_seasons", Json, nullable=False),
        *to("kit_id", "kit", null=True, late=True),
        *text("notes", 20000),
        *kept(),
        CheckConstraint("volume_low_l <= volume_l AND volume_l <= volume_high_l", name="volume"),
    )
    op.create_table(
        "kit",
        *text("name", 500, shortest=1),
        *choice("ammonia_form", "n", "nh3", "nh4", "unknown"),
        *choice("nitrite_form", "no2", "n", "unknown"),
        *choice("nitrate_form", "no3", "n", "unknown"),
        *text("batch", 60),
        Column("expires_on", Day, nullable=True),
        Column("ph_calibrated_on", Day, nullable=True),
        *text("notes", 20000),
        *to("pond_id", "pond", null=True),
        *kept(),
    )
    op.create_table(
        "practice",
        *text("name", 500, shortest=1),
        *text("time_zone", 60, shortest=1),
        *text("country", 60),
        *to("kit_id", "kit", null=True),
        *kept(),
    )
    op.create_table(
        "volume_estimate",
        *to("pond_id", "pond"),
        *text("method", 60, shortest=1),
        *number("litres", 0.1, 10000000000.0),
        *number("low_l", 0.0, 10000000000.0),
        *number("high_l", 0.1, 10000000000.0),
        *text("workings", 20000),
        Column("inputs", Json, nullable=False),
        Column("measured_on", Day, nullable=False),
        *kept(),
        CheckConstraint("low_l <= litres AND litres <= high_l", name="range"),
    )
    op.create_table(
        "import_file",
        *text("name", 500, shortest=1),
        *text("sha256", 64, shortest=64),
        *text("kind", 40, shortest=1),
        *number("rows_read", 0, 1000000000, kind=Integer),
        *number("rows_saved", 0, 1000000000, kind=Integer),
        *number("rows_refused", 0, 1000000000, kind=Integer),
        *number("shift_s", -10000000000, 10000000000, kind=BigInteger),
        *kept(),
    )
    op.create_table(
        "water_test",
        *to("pond_id", "pond"),
        *instant("taken_at"),
        *instant("tested_at", null=True),
        *text("place", 500),
        *number("depth_m", 0.0, 200.0, null=True),
        *number("since_feeding_min", 0.0, 1000000.0, null=True),
        *number("since_water_change_min", 0.0, 10000000.0, null=True),
        *number("binder_days", 0.0, 1000.0, null=True),
        *to("kit_id", "kit", null=True),
        *text("note", 20000),
        *choice("way", "form", "line", "file"),
        *to("import_file_id", "import_file", null=True),
        *to("replaces_id", "water_test", null=True),
        *kept(),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "reading",
        *to("test_id", "water_test"),
        *text("parameter", 40, shortest=1),
        *number("value", -1000000000.0, 1000000000.0),
        *number("low", -1000000000.0, 1000000000.0, null=True),
        *number("high", -1000000000.0, 1000000000.0, null=True),
        *choice("bound", "=", "<", ">", "~"),
        *text("typed", 100),
        *text("unit", 40),
        *text("form", 20),
        PrimaryKeyConstraint("test_id", "parameter"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "logger_reading",
        *to("pond_id", "pond"),
        *text("parameter", 40, shortest=1),
        *instant("at"),
        *number("value", -1000000000.0, 1000000000.0),
        *to("import_file_id", "import_file", null=True),
        PrimaryKeyConstraint("pond_id", "parameter", "at"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "logger_day",
        *to("pond_id", "pond"),
        *text("parameter", 40, shortest=1),
        Column("day", Day, nullable=False),
        *number("n", 1, 1000000, kind=Integer),
        *number("mean", -1000000000.0, 1000000000.0),
        *number("low", -1000000000.0, 1000000000.0),
        *number("high", -1000000000.0, 1000000000.0),
        PrimaryKeyConstraint("pond_id", "parameter", "day"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "pond_event",
        *to("pond_id", "pond"),
        *text("kind", 40, shortest=1),
        Column("on_day", Day, nullable=False),
        *instant("at", null=True),
        Column("until_day", Day, nullable=True),
        *text("hazard", 60, shortest=1, null=True),
        *number("amount", 0.0, 1000000000000.0, null=True),
        *text("unit", 20),
        *text("note", 20000),
        *kept(),
        CheckConstraint("until_day >= on_day", name="days"),
    )
    op.create_table(
        "rest",
        *to("pond_id", "pond"),
        *text("rule", 100, shortest=1),
        Column("until_day", Day, nullable=False),
        *text("reason", 2000, shortest=1),
        *choice("level", "act", "watch", "unknown", "calm"),
        *number("value", -1000000000.0, 1000000000.0, null=True),
        *kept(),
    )
    op.create_table(
        "rule_change",
        *to("pond_id", "pond", null=True),
        *text("rule", 100, shortest=1),
        Column("params", Json, nullable=False),
        yes_no("enabled"),
        *text("why", 2000, shortest=1),
        *kept(),
    )
    op.create_table(
        "visit",
        *to("site_id", "site"),
        *to("pond_id", "pond", null=True),
        Column("on_day", Day, nullable=False),
        Column("at_time", Time, nullable=True),
        *to("staff_id", "staff", null=True),
        *text("kind", 60),
        *choice("state", "planned", "done", "cancelled"),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "change",
        Column("id", Key, nullable=False),
        *instant("at"),
        *to("by", "staff"),
        *text("table_name", 40, shortest=1),
        Column("row_id", Key, nullable=False),
        *number("rev", 1, 1000000000, kind=Integer),
        *choice("what", "add", "change", "strike", "restore"),
        Column("before", Json, nullable=True),
        Column("after", Json, nullable=True),
        *text("why", 2000),
        PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "book_meta",
        *text("key", 100, shortest=1),
        *text("value", 2000),
        PrimaryKeyConstraint("key"),
    )
    index("site", "client_id")
    index("pond", "site_id")
    index("kit", "pond_id")
    index("volume_estimate", "pond_id")
    index("import_file", "sha256")
    index("water_test", "pond_id", "taken_at", "struck_at")
    index("water_test", "replaces_id")
    index("pond_event", "pond_id", "on_day")
    index("rest", "pond_id")
    index("rule_change", "pond_id", "rule")
    index("visit", "on_day")
    index("visit", "pond_id")
    index("visit", "site_id", "on_day")
    index("change", "at")
    index("change", "row_id")
    dialect = op.get_bind().dialect.name
    if dialect == "postgresql":  # SQLite has these within its CREATE TABLE
        for column, target in LATE:
            op.create_foreign_key(
                f"fk_pond_{column}", "pond", target, [column], ["id"], ondelete="RESTRICT"
            )
    for statement in statements(dialect, ONLY_ADDED_TO):
        op.execute(statement)

"""What warms a pond beside the season: its heater, its shade, and the temperature of the air.

Frozen: what a book of this number holds beside the tables of the one before. A pond of an older
book is not heated as far as anybody said, and nobody was asked about its shade.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column, Integer, PrimaryKeyConstraint

from store.book.columns import Day
from store.book.migrations.columns_of_then import kept, number, text, to

revision = "0010"
down_revision = "0009"

_SHADES = "'not asked', 'open sky', 'part of the day', 'most of the day'"


def upgrade() -> None:
    _pond()
    op.create_table(
        "air_station",
        *text("name", 500, shortest=1),
        *number("latitude", -90.0, 90.0, null=True),
        *number("longitude", -180.0, 180.0, null=True),
        *number("elevation_m", -500.0, 9000.0, null=True),
        *text("notes", 20000),
        *kept(),
    )
    op.create_table(
        "air_day",
        *to("station_id", "air_station"),
        Column("day", Day, nullable=False),
        *number("n", 1, 1_000_000, kind=Integer),
        *number("mean_c", -90.0, 60.0),
        *number("low_c", -90.0, 60.0, null=True),
        *number("high_c", -90.0, 60.0, null=True),
        *to("import_file_id", "import_file", null=True),
        PrimaryKeyConstraint("station_id", "day"),
        sqlite_with_rowid=False,
    )


def _pond() -> None:
    """Two columns more, in place: a table that others point at is not made anew.

    SQLite keeps the words of the statement as a part of the table, hence the line feeds before the
    constraints: they stand as in a table that is made today.
    """
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "ALTER TABLE pond ADD COLUMN heated BOOLEAN DEFAULT 0 NOT NULL\n"
            "CONSTRAINT ck_pond_heated CHECK (heated IN (0, 1))"
        )
        op.execute(
            "ALTER TABLE pond ADD COLUMN shade VARCHAR(15) DEFAULT 'not asked' NOT NULL\n"
            f"CONSTRAINT ck_pond_shade CHECK (shade IN ({_SHADES}))"
        )
        return
    op.execute("ALTER TABLE pond ADD COLUMN heated BOOLEAN DEFAULT false NOT NULL")
    op.execute(
        "ALTER TABLE pond ADD COLUMN shade VARCHAR(15) DEFAULT 'not asked' NOT NULL "
        f"CONSTRAINT ck_pond_shade CHECK (shade IN ({_SHADES}))"
    )

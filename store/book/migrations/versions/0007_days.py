"""Days on the road: what was agreed for a visit, and where a person's day ends.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column

from store.book.columns import Day
from store.book.migrations.columns_of_then import choice, index, kept, number, text, to

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "visit_terms",
        *to("visit_id", "visit"),
        *text("prices", 2000),
        *choice("consent", "not asked", "to be signed", "signed"),
        *kept(),
    )
    index("visit_terms", "visit_id")
    op.create_table(
        "way_home",
        *to("staff_id", "staff"),
        Column("from_day", Day, nullable=False),
        *text("place", 500),
        *number("latitude", -90.0, 90.0, null=True),
        *number("longitude", -180.0, 180.0, null=True),
        *kept(),
    )
    index("way_home", "staff_id")

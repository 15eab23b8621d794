"""In and out: how a source's sheets are read, what stands at the head of papers.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column

from store.book.columns import Json
from store.book.migrations.columns_of_then import index, kept, text

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    op.create_table(
        "sheet_shape",
        *text("kind", 40, shortest=1),
        *text("source", 200, shortest=1),
        *text("name", 500),
        Column("shape", Json, nullable=False),
        *kept(),
    )
    index("sheet_shape", "source")
    op.create_table(
        "letterhead",
        *text("practice", 500, shortest=1),
        *text("address", 2000),
        *text("telephone", 60),
        *text("email", 500),
        *text("foot", 2000),
        *kept(),
    )

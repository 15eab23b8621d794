"""The rounds: the practice's own table of drive times.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from typing import Any

from alembic import op
from sqlalchemy import CheckConstraint

from store.book.migrations.columns_of_then import choice, kept, number, text, to

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    op.create_table(
        "drive_time",
        *_end("from"),
        *_end("to"),
        *number("minutes", 0.0, 1440.0),
        *number("km", 0.0, 3000.0, null=True),
        *text("source", 500, shortest=1),
        *to("import_file_id", "import_file", null=True),
        *kept(),
    )


def _end(which: str) -> list[Any]:
    return [
        *choice(f"{which}_kind", "site", "vet", "practice"),
        *to(f"{which}_site_id", "site", null=True),
        *to(f"{which}_staff_id", "staff", null=True),
        CheckConstraint(
            f"({which}_kind = 'site') = ({which}_site_id IS NOT NULL) AND "
            f"({which}_kind = 'vet') = ({which}_staff_id IS NOT NULL)",
            name=f"{which}_end",
        ),
    ]

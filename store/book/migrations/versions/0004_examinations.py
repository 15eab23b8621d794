"""Examinations, samples, deaths and head counts.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import CheckConstraint, Column, Integer

from store.book.columns import Day, Json
from store.book.migrations.columns_of_then import choice, index, instant, kept, number, text, to

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "examination",
        *to("pond_id", "pond"),
        *to("visit_id", "visit", null=True),
        *to("course_id", "course", null=True),
        *instant("at"),
        *choice("purpose", "first look", "routine", "control", "losses"),
        *text("examiner", 500, shortest=1),
        *choice("gear", "not said", "disinfected", "own to the pond", "not disinfected"),
        *text("disinfectant", 500),
        *number("contact_min", 0.0, 10000.0, null=True),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "examined_fish",
        *to("examination_id", "examination"),
        *number("nth", 1, 10000, kind=Integer),
        *text("species", 60),
        *text("mark", 500),
        *number("length_cm", 0.1, 500.0, null=True),
        *choice("length_kind", "fork", "total", "not said"),
        *number("weight_g", 0.001, 1000000.0, null=True),
        *choice("weight_how", "weighed", "reckoned", "not known"),
        *choice("condition", "thin", "normal", "full", "not looked"),
        Column("behaviour", Json, nullable=False),
        Column("signs", Json, nullable=False),
        *text("other", 20000),
        *text("treated", 20000),
        Column("photos", Json, nullable=False),
        *kept(),
    )
    op.create_table(
        "preparation",
        *to("fish_id", "examined_fish"),
        *number("nth", 1, 1000, kind=Integer),
        *choice("kind", "skin scrape", "gill clip", "fin clip", "lesion edge", "other"),
        *text("place", 500),
        *number("magnification", 1, 5000, null=True, kind=Integer),
        *number("fields", 1, 10000, null=True, kind=Integer),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "exam_finding",
        *to("fish_id", "examined_fish"),
        *to("preparation_id", "preparation", null=True),
        *text("hazard", 60, shortest=1),
        *number("counted", 0, 1000000, null=True, kind=Integer),
        *number("score", 0, 3, null=True, kind=Integer),
        *choice("motile", "yes", "no", "not looked"),
        *choice("confidence", "seen", "suspected"),
        *text("note", 20000),
        *to("replaces_id", "exam_finding", null=True),
        CheckConstraint("counted IS NULL OR score IS NULL", name="measure"),
        *kept(),
    )
    op.create_table(
        "lab_sample",
        *to("pond_id", "pond"),
        *to("examination_id", "examination", null=True),
        *to("fish_id", "examined_fish", null=True),
        *text("label", 500, shortest=1),
        *text("material", 500),
        *text("laboratory", 500),
        *text("asked", 2000),
        *text("hazard", 60),
        Column("taken_on", Day, nullable=False),
        Column("sent_on", Day, nullable=True),
        *choice("result", "awaited", "not detected", "detected", "unclear"),
        Column("reported_on", Day, nullable=True),
        *text("said", 20000),
        *text("report", 500),
        *to("replaces_id", "lab_sample", null=True),
        *kept(),
    )
    op.create_table(
        "death_count",
        *to("pond_id", "pond"),
        Column("on_day", Day, nullable=False),
        *text("species", 60),
        *number("dead", 0, 10000000, kind=Integer),
        *number("length_low_cm", 0.1, 500.0, null=True),
        *number("length_high_cm", 0.1, 500.0, null=True),
        Column("signs", Json, nullable=False),
        *text("note", 20000),
        CheckConstraint("length_low_cm <= length_high_cm", name="length"),
        *kept(),
    )
    op.create_table(
        "head_count",
        *to("pond_id", "pond"),
        Column("on_day", Day, nullable=False),
        *text("species", 60),
        *number("fish", 0, 10000000, kind=Integer),
        *choice("how", "counted", "netted", "estimated", "told"),
        *text("note", 20000),
        *kept(),
    )
    index("examination", "pond_id", "at")
    index("examination", "course_id")
    index("examined_fish", "examination_id")
    index("preparation", "fish_id")
    index("exam_finding", "fish_id")
    index("lab_sample", "pond_id")
    index("death_count", "pond_id", "on_day")
    index("head_count", "pond_id", "on_day")

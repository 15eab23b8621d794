"""Treatment courses.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import CheckConstraint, Column, Integer

from store.book.columns import Day, Json
from store.book.migrations.columns_of_then import choice, index, instant, kept, number, text, to
from store.book.triggers import statements

revision = "0002"
down_revision = "0001"

ONLY_ADDED_TO = ("caution_answer", "course_turn")


def upgrade() -> None:
    op.create_table(
        "course",
        *to("pond_id", "pond"),
        *choice("state", "planned", "running", "completed", "stopped", "changed"),
        *text("reason", 2000, shortest=1),
        Column("hazards", Json, nullable=False),
        *number("volume_l", 0.1, 10000000000.0),
        *number("volume_low_l", 0.0, 10000000000.0),
        *number("volume_high_l", 0.1, 10000000000.0),
        *choice("use", "ornamental", "food", "not asked"),
        Column("water", Json, nullable=False),
        Column("control_on", Day, nullable=True),
        Column("started_on", Day, nullable=True),
        Column("ended_on", Day, nullable=True),
        *text("end_why", 2000),
        *to("follows_id", "course", null=True),
        Column("remarks", Json, nullable=False),
        *text("note", 20000),
        CheckConstraint("volume_low_l <= volume_l AND volume_l <= volume_high_l", name="volume"),
        CheckConstraint("started_on <= ended_on", name="days"),
        *kept(),
    )
    op.create_table(
        "course_step",
        *to("course_id", "course"),
        *number("place", 1, 100, kind=Integer),
        *text("agent", 60, shortest=1),
        *text("route", 40, shortest=1),
        *number("dose", 0.0, 1000000.0),
        *text("unit", 20, shortest=1),
        *text("product", 500),
        *number("strength_percent", 1e-06, 100.0),
        *choice("strength_basis", "w/w", "w/v", "product"),
        *number("density_g_ml", 0.1, 20.0, null=True),
        *number("volume_l", 0.1, 10000000000.0),
        *number("interval_days", 1, 366, null=True, kind=Integer),
        *text("interval_why", 4000),
        *number("gap_days", 0, 3660, null=True, kind=Integer),
        *number("exposure_h", 0.0, 100000.0, null=True),
        *number("half_life_h", 0.0, 1000000.0, null=True),
        *number("safe_most", 0.0, 1000000.0, null=True),
        *text("source", 2000),
        *choice("standing", "published", "common practice", "from memory"),
        Column("remarks", Json, nullable=False),
        *kept(),
    )
    op.create_table(
        "course_dose",
        *to("step_id", "course_step"),
        *number("nth", 1, 1000, kind=Integer),
        Column("due_on", Day, nullable=False),
        *number("dose", 0.0, 1000000.0),
        *number("amount", 0.0, 1000000000.0),
        *choice("amount_unit", "g", "mL"),
        *number("water_change_percent", 0.0, 100.0),
        *choice("share", "practice", "owner"),
        *choice("state", "due", "given", "missed", "dropped"),
        *choice("added", "", "in place", "for cover", "not planned"),
        *kept(),
    )
    op.create_table(
        "course_task",
        *to("course_id", "course"),
        *text("code", 60, shortest=1),
        Column("on_day", Day, nullable=False),
        *text("says", 2000, shortest=1),
        *text("source", 2000),
        *choice("share", "practice", "owner"),
        *instant("done_at", null=True),
        *kept(),
    )
    op.create_table(
        "dose_given",
        *to("dose_id", "course_dose"),
        *instant("given_at"),
        *number("dose", 0.0, 1000000.0),
        *number("amount", 0.0, 1000000000.0),
        *choice("amount_unit", "g", "mL"),
        *number("water_change_percent", 0.0, 100.0),
        *text("given_by", 500, shortest=1),
        *text("batch", 60),
        *text("observed", 20000),
        *kept(),
    )
    op.create_table(
        "caution_answer",
        *to("course_id", "course"),
        *to("dose_id", "course_dose", null=True),
        *text("code", 60, shortest=1),
        *choice("level", "stop", "mind"),
        *text("said", 4000, shortest=1),
        *text("reason", 2000),
        *kept(),
    )
    op.create_table(
        "course_turn",
        *to("course_id", "course"),
        *text("said", 4000, shortest=1),
        *kept(),
    )
    index("course", "pond_id")
    index("course", "state")
    index("course_step", "course_id")
    index("course_dose", "step_id")
    index("course_dose", "due_on")
    index("course_task", "course_id")
    index("dose_given", "dose_id")
    index("caution_answer", "course_id")
    index("course_turn", "course_id")
    made = statements(op.get_bind().dialect.name, ONLY_ADDED_TO)
    for statement in made:
        if not statement.startswith("CREATE FUNCTION"):  # it is there since the first tables
            op.execute(statement)

"""The practice's own formulary, and steps of a course that are given with the feed.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import CheckConstraint, Column, Integer

from store.book.columns import Json
from store.book.migrations.columns_of_then import choice, index, kept, number, text, to

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "own_agent",
        *text("code", 60, shortest=1),
        *text("name", 500, shortest=1),
        *text("family", 40, shortest=1),
        Column("off", Json, nullable=False),
        Column("handling", Json, nullable=False),
        *text("legal", 20000),
        *text("why", 2000, shortest=1),
        *kept(),
    )
    op.create_table(
        "own_dose",
        *text("agent", 60, shortest=1),
        *text("route", 40, shortest=1),
        *number("dose_low", 0.0, 1000000.0, null=True),
        *number("dose_high", 0.0, 1000000.0),
        *text("unit", 20, shortest=1),
        *choice("basis", "product", "active"),
        *number("exposure_h", 0.0, 100000.0, null=True),
        *number("interval_low_days", 1, 366, null=True, kind=Integer),
        *number("interval_high_days", 1, 366, null=True, kind=Integer),
        *number("doses", 1, 1000, null=True, kind=Integer),
        *number("temp_low_c", -2.0, 45.0, null=True),
        *number("temp_high_c", -2.0, 45.0, null=True),
        Column("hazards", Json, nullable=False),
        *text("why", 2000, shortest=1),
        *text("source", 2000),
        CheckConstraint("dose_low <= dose_high", name="dose"),
        CheckConstraint("interval_low_days <= interval_high_days", name="interval"),
        CheckConstraint("temp_low_c <= temp_high_c", name="temp"),
        *kept(),
    )
    op.create_table(
        "product",
        *text("name", 500, shortest=1),
        *text("agent", 60, shortest=1),
        *number("strength_percent", 1e-06, 100.0),
        *choice("strength_basis", "w/w", "w/v", "product"),
        *number("density_g_ml", 0.1, 20.0, null=True),
        *number("pack_size", 0.001, 1000000000.0, null=True),
        *choice("pack_unit", "g", "mL"),
        *number("withdrawal_degree_days", 0, 100000, null=True, kind=Integer),
        *number("withdrawal_days", 0, 3660, null=True, kind=Integer),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "step_rests_on",
        *to("step_id", "course_step"),
        *to("own_dose_id", "own_dose", null=True),
        *to("product_id", "product", null=True),
        *kept(),
    )
    op.create_table(
        "feed_ration",
        *to("step_id", "course_step"),
        *number("biomass_kg", 1e-06, 1000000000.0),
        *text("biomass_how", 4000),
        *number("rate_percent", 1e-06, 100.0),
        *number("feed_days", 1, 366, kind=Integer),
        *number("feed_kg", 0.0, 1000000000.0),
        *number("mg_per_kg_feed", 0.0, 1000000.0),
        *text("binder", 40),
        *kept(),
    )
    index("own_dose", "agent")
    index("product", "agent")
    index("step_rests_on", "step_id")
    index("feed_ration", "step_id")

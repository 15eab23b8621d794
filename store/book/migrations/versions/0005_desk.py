"""The desk: promises, attempts, bookings, working hours, days off, call notes.

Frozen: what a book of this number holds beside the tables of the one before.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import Boolean, CheckConstraint, Column, Integer, Time

from store.book.columns import Day, Json
from store.book.migrations.columns_of_then import choice, index, instant, kept, number, text, to

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "call_note",
        *to("client_id", "client", null=True),
        *to("site_id", "site", null=True),
        *to("pond_id", "pond", null=True),
        *instant("called_at"),
        *text("caller", 500, shortest=1),
        *text("phone", 60),
        *choice("urgency", "same day", "next day", "routine"),
        Column("urgent_by", Json, nullable=False),
        Column("answers", Json, nullable=False),
        Column("advised", Json, nullable=False),
        *text("note", 20000),
        *choice("state", "open", "closed"),
        *text("closed_why", 2000),
        *to("visit_id", "visit", null=True),
        *kept(),
    )
    op.create_table(
        "follow_up",
        *to("client_id", "client"),
        *to("site_id", "site", null=True),
        *to("pond_id", "pond", null=True),
        *text("kind", 40, shortest=1),
        *text("says", 2000, shortest=1),
        *choice("origin", "by hand", "course", "examination", "test plan", "alert rule", "call"),
        *text("rule", 100),
        *to("course_id", "course", null=True),
        *to("examination_id", "examination", null=True),
        *to("call_note_id", "call_note", null=True),
        *to("promised_by", "staff"),
        Column("promised_on", Day, nullable=False),
        Column("first_on", Day, nullable=False),
        *number("early_days", 0, 366, kind=Integer),
        *number("late_days", 0, 366, kind=Integer),
        *text("repeats", 500),
        *choice("state", "open", "ended"),
        Column("ended_on", Day, nullable=True),
        *text("ended_why", 2000),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "follow_up_day",
        *to("follow_up_id", "follow_up"),
        Column("due_on", Day, nullable=False),
        Column("moved_to", Day, nullable=True),
        *choice("state", "open", "kept", "dropped"),
        Column("kept_on", Day, nullable=True),
        *to("visit_id", "visit", null=True),
        *text("why", 2000),
        *kept(),
    )
    op.create_table(
        "contact_attempt",
        *to("client_id", "client"),
        *to("pond_id", "pond", null=True),
        *text("about", 200),
        *instant("at"),
        *choice("outcome", "reached", "left word", "no answer", "ring back"),
        Column("ring_on", Day, nullable=True),
        Column("ring_at", Time, nullable=True),
        *text("note", 20000),
        *kept(),
    )
    op.create_table(
        "booking",
        *to("visit_id", "visit"),
        *number("minutes", 5, 1440, kind=Integer),
        Column("fixed", Boolean(create_constraint=True, name="fixed"), nullable=False),
        *text("agreed_with", 500),
        *text("in_spite", 2000),
        *kept(),
    )
    op.create_table(
        "visit_purpose",
        *to("visit_id", "visit"),
        *to("pond_id", "pond", null=True),
        *text("about", 200, shortest=1),
        *text("kind", 40, shortest=1),
        *text("says", 2000, shortest=1),
        Column("due_on", Day, nullable=False),
        Column("first_on", Day, nullable=False),
        Column("last_on", Day, nullable=False),
        CheckConstraint("first_on <= last_on", name="days"),
        *kept(),
    )
    op.create_table(
        "visit_length",
        *text("kind", 60, shortest=1),
        *number("minutes", 5, 1440, kind=Integer),
        *text("why", 2000, shortest=1),
        *kept(),
    )
    op.create_table(
        "working_hours",
        *to("staff_id", "staff"),
        Column("from_day", Day, nullable=False),
        *text("hours", 500, shortest=1),
        *number("break_min", 0, 480, kind=Integer),
        *text("start_place", 500),
        *number("start_latitude", -90.0, 90.0, null=True),
        *number("start_longitude", -180.0, 180.0, null=True),
        *kept(),
    )
    op.create_table(
        "day_off",
        *to("staff_id", "staff", null=True),
        Column("first_day", Day, nullable=False),
        Column("last_day", Day, nullable=False),
        Column("from_time", Time, nullable=True),
        Column("until_time", Time, nullable=True),
        *text("says", 500),
        *to("import_file_id", "import_file", null=True),
        *text("uid", 1000),
        *number("sequence", 0, 2000000000, kind=Integer),
        CheckConstraint("first_day <= last_day", name="days"),
        *kept(),
    )
    op.create_table(
        "holiday_region",
        *text("country", 2),
        *text("region", 20),
        *kept(),
    )
    index("call_note", "client_id")
    index("call_note", "pond_id")
    index("call_note", "state", "called_at")
    index("follow_up", "client_id")
    index("follow_up", "pond_id")
    index("follow_up", "state", "first_on")
    index("follow_up_day", "follow_up_id", "due_on")
    index("contact_attempt", "client_id", "at")
    index("booking", "visit_id")
    index("visit_purpose", "visit_id")
    index("visit_purpose", "about")
    index("working_hours", "staff_id")
    index("day_off", "staff_id")
    index("day_off", "last_day")
    index("day_off", "uid")

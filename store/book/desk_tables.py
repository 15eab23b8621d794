"""The tables of the desk: what was promised, who was rung, when somebody goes, who is away.

A promise made by hand may repeat; its days are reckoned from its rule, and a row stands for a day
only once something became of it. What courses, examinations, test plans and rules promise stands in
their own tables: attempts and bookings name it by `about`, see `store.diary.about`.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint, Index, Time
from sqlalchemy.orm import Mapped, mapped_column

from store.book import checks
from store.book.columns import (
    Base,
    Day,
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
from store.book.kept import Kept

MOST_WINDOW_DAYS = 366
LONGEST_VISIT_MIN = 1440


class FollowUpRow(Kept, Base):
    """Something promised by hand to a client, a site or a pond, once or again and again."""

    __tablename__ = "follow_up"
    client_id: Mapped[UUID] = to("client", index=True)
    site_id: Mapped[UUID | None] = to("site")
    pond_id: Mapped[UUID | None] = to("pond", index=True)
    kind: Mapped[str] = words(40, required=True)
    says: Mapped[str] = words(2000, required=True)
    origin: Mapped[str] = choice(
        "by hand", "course", "examination", "test plan", "alert rule", "call", default="by hand"
    )
    rule: Mapped[str] = words(100)
    course_id: Mapped[UUID | None] = to("course")
    examination_id: Mapped[UUID | None] = to("examination")
    call_note_id: Mapped[UUID | None] = to("call_note")
    promised_by: Mapped[UUID] = to("staff")
    promised_on: Mapped[date] = mapped_column(Day)
    first_on: Mapped[date] = mapped_column(Day)
    early_days: Mapped[int] = whole(0, MOST_WINDOW_DAYS, default=0)
    late_days: Mapped[int] = whole(0, MOST_WINDOW_DAYS, default=0)
    repeats: Mapped[str] = words(500)
    state: Mapped[str] = choice("open", "ended", default="open")
    ended_on: Mapped[date | None] = mapped_column(Day)
    ended_why: Mapped[str] = words(2000)
    note: Mapped[str] = notes()
    __table_args__ = (Index(None, "state", "first_on"),)


class FollowUpDayRow(Kept, Base):
    """What became of one day of a promise: moved, kept or dropped."""

    __tablename__ = "follow_up_day"
    follow_up_id: Mapped[UUID] = to("follow_up")
    due_on: Mapped[date] = mapped_column(Day)
    moved_to: Mapped[date | None] = mapped_column(Day)
    state: Mapped[str] = choice("open", "kept", "dropped", default="open")
    kept_on: Mapped[date | None] = mapped_column(Day)
    visit_id: Mapped[UUID | None] = to("visit")
    why: Mapped[str] = words(2000)
    __table_args__ = (Index(None, "follow_up_id", "due_on"),)


class ContactAttemptRow(Kept, Base):
    """Somebody was rung, or is to be rung back on a day."""

    __tablename__ = "contact_attempt"
    client_id: Mapped[UUID] = to("client")
    pond_id: Mapped[UUID | None] = to("pond")
    about: Mapped[str] = words(200)
    at: Mapped[datetime] = instant()
    outcome: Mapped[str] = choice("reached", "left word", "no answer", "ring back")
    ring_on: Mapped[date | None] = mapped_column(Day)
    ring_at: Mapped[time | None] = mapped_column(Time)
    note: Mapped[str] = notes()
    __table_args__ = (Index(None, "client_id", "at"),)


class BookingRow(Kept, Base):
    """What was agreed for a planned visit: how long it takes, and why in spite of what was said."""

    __tablename__ = "booking"
    visit_id: Mapped[UUID] = to("visit", index=True)
    minutes: Mapped[int] = whole(5, LONGEST_VISIT_MIN)
    fixed: Mapped[bool] = yes_no("fixed", default=False)
    agreed_with: Mapped[str] = words()
    in_spite: Mapped[str] = words(2000)


class VisitPurposeRow(Kept, Base):
    """One promise that a visit is to keep, as it stood when the visit was booked."""

    __tablename__ = "visit_purpose"
    visit_id: Mapped[UUID] = to("visit", index=True)
    pond_id: Mapped[UUID | None] = to("pond")
    about: Mapped[str] = words(200, required=True, index=True)
    kind: Mapped[str] = words(40, required=True)
    says: Mapped[str] = words(2000, required=True)
    due_on: Mapped[date] = mapped_column(Day)
    first_on: Mapped[date] = mapped_column(Day)
    last_on: Mapped[date] = mapped_column(Day)
    __table_args__ = (CheckConstraint("first_on <= last_on", name="days"),)


class VisitLengthRow(Kept, Base):
    """The practice's own say on how long a kind of visit takes; the newest is in force."""

    __tablename__ = "visit_length"
    kind: Mapped[str] = words(60, required=True)
    minutes: Mapped[int] = whole(5, LONGEST_VISIT_MIN)
    why: Mapped[str] = words(2000, required=True)


class WorkingHoursRow(Kept, Base):
    """When a person works from a day on, as typed, and from where the person sets out."""

    __tablename__ = "working_hours"
    staff_id: Mapped[UUID] = to("staff", index=True)
    from_day: Mapped[date] = mapped_column(Day)
    hours: Mapped[str] = words(required=True)
    break_min: Mapped[int] = whole(0, 480, default=0)
    start_place: Mapped[str] = words()
    start_latitude: Mapped[float | None] = number(-90.0, 90.0)
    start_longitude: Mapped[float | None] = number(-180.0, 180.0)


class DayOffRow(Kept, Base):
    """Days, or hours of a day, on which a person is away; without a person the practice rests."""

    __tablename__ = "day_off"
    staff_id: Mapped[UUID | None] = to("staff", index=True)
    first_day: Mapped[date] = mapped_column(Day)
    last_day: Mapped[date] = mapped_column(Day, index=True)
    from_time: Mapped[time | None] = mapped_column(Time)
    until_time: Mapped[time | None] = mapped_column(Time)
    says: Mapped[str] = words()
    import_file_id: Mapped[UUID | None] = to("import_file")
    uid: Mapped[str] = words(1000, index=True)
    sequence: Mapped[int] = whole(0, 2_000_000_000, default=0)
    __table_args__ = (CheckConstraint("first_day <= last_day", name="days"),)


class HolidayRegionRow(Kept, Base):
    """Whose public holidays the practice marks; the newest is in force."""

    __tablename__ = "holiday_region"
    country: Mapped[str] = words(2)
    region: Mapped[str] = words(20)


class CallNoteRow(Kept, Base):
    """A call as it was taken: what was asked and answered, how urgent, what was advised."""

    __tablename__ = "call_note"
    client_id: Mapped[UUID | None] = to("client", index=True)
    site_id: Mapped[UUID | None] = to("site")
    pond_id: Mapped[UUID | None] = to("pond", index=True)
    called_at: Mapped[datetime] = instant()
    caller: Mapped[str] = words(required=True)
    phone: Mapped[str] = words(60)
    urgency: Mapped[str] = choice("same day", "next day", "routine")
    urgent_by: Mapped[list[str]] = data(checks.texts, default=list)
    answers: Mapped[dict[str, Any]] = data(checks.mapping, default=dict)
    advised: Mapped[list[str]] = data(checks.texts, default=list)
    note: Mapped[str] = notes()
    state: Mapped[str] = choice("open", "closed", default="open")
    closed_why: Mapped[str] = words(2000)
    visit_id: Mapped[UUID | None] = to("visit")
    __table_args__ = (Index(None, "state", "called_at"),)

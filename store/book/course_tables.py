"""The tables of treatment: courses, their steps, doses and tasks, the log of doses, the cautions.

A course is a plan with a state. Its steps are agents one after another, and a step has doses whose
days and amounts are planned anew when one slips. What was really given stands in the log by itself
and is never rewritten: a slip of the pen is struck through. What was cautioned and answered, and
what was planned anew and why, is only added to.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from store.book import checks
from store.book.columns import Base, Day, choice, data, instant, notes, number, to, whole, words
from store.book.kept import MOST_LITRES, Kept

MOST_MG_L = 1e6
"""A litre of water cannot hold more than a kilogram of anything dissolved in it."""
MOST_AMOUNT = 1e9
"""A thousand tonnes, in grams."""


class CourseRow(Kept, Base):
    """A treatment course of one pond, with the water as it was found when it was planned."""

    __tablename__ = "course"
    pond_id: Mapped[UUID] = to("pond", index=True)
    state: Mapped[str] = choice(
        "planned", "running", "completed", "stopped", "changed", default="planned"
    )
    reason: Mapped[str] = words(2000, required=True)
    hazards: Mapped[list[str]] = data(checks.texts, default=list)
    volume_l: Mapped[float] = number(0.1, MOST_LITRES)
    volume_low_l: Mapped[float] = number(0.0, MOST_LITRES)
    volume_high_l: Mapped[float] = number(0.1, MOST_LITRES)
    use: Mapped[str] = choice("ornamental", "food", "not asked")
    water: Mapped[dict[str, Any]] = data(checks.mapping, default=dict)
    control_on: Mapped[date | None] = mapped_column(Day)
    started_on: Mapped[date | None] = mapped_column(Day)
    ended_on: Mapped[date | None] = mapped_column(Day)
    end_why: Mapped[str] = words(2000)
    follows_id: Mapped[UUID | None] = to("course")
    remarks: Mapped[list[str]] = data(checks.texts, default=list)
    note: Mapped[str] = notes()
    __table_args__ = (
        CheckConstraint("volume_low_l <= volume_l AND volume_l <= volume_high_l", name="volume"),
        CheckConstraint("started_on <= ended_on", name="days"),
        Index(None, "state"),
    )


class CourseStepRow(Kept, Base):
    """One agent of a course, in its order."""

    __tablename__ = "course_step"
    course_id: Mapped[UUID] = to("course", index=True)
    place: Mapped[int] = whole(1, 100)
    agent: Mapped[str] = words(60, required=True)
    route: Mapped[str] = words(40, required=True)
    dose: Mapped[float] = number(0.0, MOST_MG_L)
    unit: Mapped[str] = words(20, required=True)
    product: Mapped[str] = words()
    strength_percent: Mapped[float] = number(1e-6, 100.0)
    strength_basis: Mapped[str] = choice("w/w", "w/v", "product")
    density_g_ml: Mapped[float | None] = number(0.1, 20.0)
    volume_l: Mapped[float] = number(0.1, MOST_LITRES)
    interval_days: Mapped[int | None] = whole(1, 366)
    interval_why: Mapped[str] = words(4000)
    gap_days: Mapped[int | None] = whole(0, 3660)
    exposure_h: Mapped[float | None] = number(0.0, 1e5)
    half_life_h: Mapped[float | None] = number(0.0, 1e6)
    safe_most: Mapped[float | None] = number(0.0, MOST_MG_L)
    source: Mapped[str] = words(2000)
    standing: Mapped[str] = choice("published", "common practice", "from memory")
    remarks: Mapped[list[str]] = data(checks.texts, default=list)


class CourseDoseRow(Kept, Base):
    """A dose that is due; its day and amount are planned again when another slips."""

    __tablename__ = "course_dose"
    step_id: Mapped[UUID] = to("course_step", index=True)
    nth: Mapped[int] = whole(1, 1000)
    due_on: Mapped[date] = mapped_column(Day, index=True)
    dose: Mapped[float] = number(0.0, MOST_MG_L)
    amount: Mapped[float] = number(0.0, MOST_AMOUNT)
    amount_unit: Mapped[str] = choice("g", "mL")
    water_change_percent: Mapped[float] = number(0.0, 100.0, default=0.0)
    share: Mapped[str] = choice("practice", "owner", default="practice")
    state: Mapped[str] = choice("due", "given", "missed", "dropped", default="due")
    added: Mapped[str] = choice("", "in place", "for cover", "not planned", default="")


class CourseTaskRow(Kept, Base):
    """Something to be done beside the doses, such as switching the UV lamp off."""

    __tablename__ = "course_task"
    course_id: Mapped[UUID] = to("course", index=True)
    code: Mapped[str] = words(60, required=True)
    on_day: Mapped[date] = mapped_column(Day)
    says: Mapped[str] = words(2000, required=True)
    source: Mapped[str] = words(2000)
    share: Mapped[str] = choice("practice", "owner", default="practice")
    done_at: Mapped[datetime | None] = instant()


class DoseGivenRow(Kept, Base):
    """What was really given, as somebody logged it."""

    __tablename__ = "dose_given"
    dose_id: Mapped[UUID] = to("course_dose", index=True)
    given_at: Mapped[datetime] = instant()
    dose: Mapped[float] = number(0.0, MOST_MG_L)
    amount: Mapped[float] = number(0.0, MOST_AMOUNT)
    amount_unit: Mapped[str] = choice("g", "mL")
    water_change_percent: Mapped[float] = number(0.0, 100.0, default=0.0)
    given_by: Mapped[str] = words(required=True)
    batch: Mapped[str] = words(60)
    observed: Mapped[str] = notes()


class CautionAnswerRow(Kept, Base):
    """A caution as it was shown, and why a vet went on in spite of it."""

    __tablename__ = "caution_answer"
    course_id: Mapped[UUID] = to("course", index=True)
    dose_id: Mapped[UUID | None] = to("course_dose")
    code: Mapped[str] = words(60, required=True)
    level: Mapped[str] = choice("stop", "mind")
    said: Mapped[str] = words(4000, required=True)
    reason: Mapped[str] = words(2000)


class CourseTurnRow(Kept, Base):
    """One sentence that says what of a course was planned anew, and why."""

    __tablename__ = "course_turn"
    course_id: Mapped[UUID] = to("course", index=True)
    said: Mapped[str] = words(4000, required=True)

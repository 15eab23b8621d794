"""The tables of examinations: fish that were looked at, what was found, what died, how many swim.

A preparation without a finding says that nothing was found in it. A finding that was corrected
stays, struck through, and the new one names it. A day without a row of deaths was not looked at; a
row of none says that somebody looked.
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from store.book import checks
from store.book.columns import Base, Day, choice, data, instant, notes, number, to, whole, words
from store.book.kept import Kept

MOST_FISH = 10_000_000


class ExaminationRow(Kept, Base):
    """Fish of one pond looked at on one occasion."""

    __tablename__ = "examination"
    pond_id: Mapped[UUID] = to("pond")
    visit_id: Mapped[UUID | None] = to("visit")
    course_id: Mapped[UUID | None] = to("course", index=True)
    at: Mapped[datetime] = instant()
    purpose: Mapped[str] = choice("first look", "routine", "control", "losses")
    examiner: Mapped[str] = words(required=True)
    gear: Mapped[str] = choice(
        "not said", "disinfected", "own to the pond", "not disinfected", default="not said"
    )
    disinfectant: Mapped[str] = words()
    contact_min: Mapped[float | None] = number(0.0, 10_000.0)
    note: Mapped[str] = notes()
    __table_args__ = (Index(None, "pond_id", "at"),)


class ExaminedFishRow(Kept, Base):
    """One fish of an examination."""

    __tablename__ = "examined_fish"
    examination_id: Mapped[UUID] = to("examination", index=True)
    nth: Mapped[int] = whole(1, 10_000)
    species: Mapped[str] = words(60)
    mark: Mapped[str] = words()
    length_cm: Mapped[float | None] = number(0.1, 500.0)
    length_kind: Mapped[str] = choice("fork", "total", "not said", default="not said")
    weight_g: Mapped[float | None] = number(0.001, 1e6)
    weight_how: Mapped[str] = choice("weighed", "reckoned", "not known", default="not known")
    condition: Mapped[str] = choice("thin", "normal", "full", "not looked", default="not looked")
    behaviour: Mapped[list[str]] = data(checks.texts, default=list)
    signs: Mapped[list[str]] = data(checks.texts, default=list)
    other: Mapped[str] = notes()
    treated: Mapped[str] = notes()
    photos: Mapped[list[str]] = data(checks.texts, default=list)


class PreparationRow(Kept, Base):
    """A scrape or clip of one fish under the microscope."""

    __tablename__ = "preparation"
    fish_id: Mapped[UUID] = to("examined_fish", index=True)
    nth: Mapped[int] = whole(1, 1000)
    kind: Mapped[str] = choice("skin scrape", "gill clip", "fin clip", "lesion edge", "other")
    place: Mapped[str] = words()
    magnification: Mapped[int | None] = whole(1, 5000)
    fields: Mapped[int | None] = whole(1, 10_000)
    note: Mapped[str] = notes()


class ExamFindingRow(Kept, Base):
    """A hazard on one fish: in a preparation, or by the naked eye."""

    __tablename__ = "exam_finding"
    fish_id: Mapped[UUID] = to("examined_fish", index=True)
    preparation_id: Mapped[UUID | None] = to("preparation")
    hazard: Mapped[str] = words(60, required=True)
    counted: Mapped[int | None] = whole(0, 1_000_000)
    score: Mapped[int | None] = whole(0, 3)
    motile: Mapped[str] = choice("yes", "no", "not looked", default="not looked")
    confidence: Mapped[str] = choice("seen", "suspected")
    note: Mapped[str] = notes()
    replaces_id: Mapped[UUID | None] = to("exam_finding")
    __table_args__ = (CheckConstraint("counted IS NULL OR score IS NULL", name="measure"),)


class LabSampleRow(Kept, Base):
    """A sample that went to a laboratory, and what came back."""

    __tablename__ = "lab_sample"
    pond_id: Mapped[UUID] = to("pond", index=True)
    examination_id: Mapped[UUID | None] = to("examination")
    fish_id: Mapped[UUID | None] = to("examined_fish")
    label: Mapped[str] = words(required=True)
    material: Mapped[str] = words()
    laboratory: Mapped[str] = words()
    asked: Mapped[str] = words(2000)
    hazard: Mapped[str] = words(60)
    taken_on: Mapped[date] = mapped_column(Day)
    sent_on: Mapped[date | None] = mapped_column(Day)
    result: Mapped[str] = choice(
        "awaited", "not detected", "detected", "unclear", default="awaited"
    )
    reported_on: Mapped[date | None] = mapped_column(Day)
    said: Mapped[str] = notes()
    report: Mapped[str] = words()
    replaces_id: Mapped[UUID | None] = to("lab_sample")


class DeathCountRow(Kept, Base):
    """Dead fish of one pond on one day; none is a count too."""

    __tablename__ = "death_count"
    pond_id: Mapped[UUID] = to("pond")
    on_day: Mapped[date] = mapped_column(Day)
    species: Mapped[str] = words(60)
    dead: Mapped[int] = whole(0, MOST_FISH)
    length_low_cm: Mapped[float | None] = number(0.1, 500.0)
    length_high_cm: Mapped[float | None] = number(0.1, 500.0)
    signs: Mapped[list[str]] = data(checks.texts, default=list)
    note: Mapped[str] = notes()
    __table_args__ = (
        CheckConstraint("length_low_cm <= length_high_cm", name="length"),
        Index(None, "pond_id", "on_day"),
    )


class HeadCountRow(Kept, Base):
    """How many fish of a kind swim in a pond, as counted or told on a day."""

    __tablename__ = "head_count"
    pond_id: Mapped[UUID] = to("pond")
    on_day: Mapped[date] = mapped_column(Day)
    species: Mapped[str] = words(60)
    fish: Mapped[int] = whole(0, MOST_FISH)
    how: Mapped[str] = choice("counted", "netted", "estimated", "told")
    note: Mapped[str] = notes()
    __table_args__ = (Index(None, "pond_id", "on_day"),)

"""The tables of a practice's own formulary, and of the steps of courses that rest on it or on feed.

What is published stands in `store.facts.agents` and is never written here. A row says who wrote it
and why; what no longer holds is struck through, so that a course that rests on it can still be
read.
"""

from __future__ import annotations

from uuid import UUID

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped

from store.book import checks
from store.book.columns import Base, choice, data, notes, number, to, whole, words
from store.book.course_tables import MOST_AMOUNT, MOST_MG_L
from store.book.kept import Kept


class OwnAgentRow(Kept, Base):
    """An agent that the published formulary does not have."""

    __tablename__ = "own_agent"
    code: Mapped[str] = words(60, required=True)
    name: Mapped[str] = words(required=True)
    family: Mapped[str] = words(40, required=True)
    off: Mapped[list[str]] = data(checks.texts, default=list)
    handling: Mapped[list[str]] = data(checks.texts, default=list)
    legal: Mapped[str] = notes()
    why: Mapped[str] = words(2000, required=True)


class OwnDoseRow(Kept, Base):
    """The practice's own dose of an agent by a route, with the reason for it."""

    __tablename__ = "own_dose"
    agent: Mapped[str] = words(60, required=True, index=True)
    route: Mapped[str] = words(40, required=True)
    dose_low: Mapped[float | None] = number(0.0, MOST_MG_L)
    dose_high: Mapped[float] = number(0.0, MOST_MG_L)
    unit: Mapped[str] = words(20, required=True)
    basis: Mapped[str] = choice("product", "active")
    exposure_h: Mapped[float | None] = number(0.0, 1e5)
    interval_low_days: Mapped[int | None] = whole(1, 366)
    interval_high_days: Mapped[int | None] = whole(1, 366)
    doses: Mapped[int | None] = whole(1, 1000)
    temp_low_c: Mapped[float | None] = number(-2.0, 45.0)
    temp_high_c: Mapped[float | None] = number(-2.0, 45.0)
    hazards: Mapped[list[str]] = data(checks.texts, default=list)
    why: Mapped[str] = words(2000, required=True)
    source: Mapped[str] = words(2000)
    __table_args__ = (
        CheckConstraint("dose_low <= dose_high", name="dose"),
        CheckConstraint("interval_low_days <= interval_high_days", name="interval"),
        CheckConstraint("temp_low_c <= temp_high_c", name="temp"),
    )


class ProductRow(Kept, Base):
    """A product on the practice's shelf: what is in it, and what its label says of waiting."""

    __tablename__ = "product"
    name: Mapped[str] = words(required=True)
    agent: Mapped[str] = words(60, required=True, index=True)
    strength_percent: Mapped[float] = number(1e-6, 100.0)
    strength_basis: Mapped[str] = choice("w/w", "w/v", "product")
    density_g_ml: Mapped[float | None] = number(0.1, 20.0)
    pack_size: Mapped[float | None] = number(0.001, MOST_AMOUNT)
    pack_unit: Mapped[str] = choice("g", "mL", default="g")
    withdrawal_degree_days: Mapped[int | None] = whole(0, 100_000)
    withdrawal_days: Mapped[int | None] = whole(0, 3660)
    note: Mapped[str] = notes()


class StepRestsOnRow(Kept, Base):
    """Which dose of the practice's own, and which product from its shelf, a step was planned by."""

    __tablename__ = "step_rests_on"
    step_id: Mapped[UUID] = to("course_step", index=True)
    own_dose_id: Mapped[UUID | None] = to("own_dose")
    product_id: Mapped[UUID | None] = to("product")


class FeedRationRow(Kept, Base):
    """What a step that is given with the feed was reckoned for; each of its doses is a batch."""

    __tablename__ = "feed_ration"
    step_id: Mapped[UUID] = to("course_step", index=True)
    biomass_kg: Mapped[float] = number(1e-6, 1e9)
    biomass_how: Mapped[str] = words(4000)
    rate_percent: Mapped[float] = number(1e-6, 100.0)
    feed_days: Mapped[int] = whole(1, 366)
    feed_kg: Mapped[float] = number(0.0, 1e9)
    mg_per_kg_feed: Mapped[float] = number(0.0, 1e6)
    binder: Mapped[str] = words(40)

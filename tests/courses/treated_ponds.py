"""Ponds with a course, doses and a temperature record, for the tests of withdrawal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product

LAST_DOSE = date(2026, 5, 3)
# Daily means of an invented pond from 4 May on, °C.
MAY_C = (
    14.2, 15.0, 15.8, 16.5, 17.1, 17.8, 18.4, 18.9, 19.5, 20.1, 20.6, 21.0, 20.2, 19.4, 18.8,
    18.1, 17.6, 18.3, 19.2, 20.0, 20.7, 21.3, 21.9, 22.4, 21.7, 20.9, 20.3, 19.8, 19.1, 18.6,
)  # fmt: skip


def at_noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)


def add_carp_pond(book: Book, act: Act, *, use: str = "food", client: str = "Hollow Farm") -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="ponds")
        return writing.add("pond", site_id=site, name="carp pond", use=use, volume_l=9000.0)


def treat(
    book: Book,
    act: Act,
    pond: UUID,
    agent: str,
    days: Sequence[date],
    *,
    route: str = "pond_bath",
    given: int | None = None,
    product: str = "bottle",
    shelf: Mapping[str, Any] | None = None,
    feed_days: int | None = None,
    use: str = "food",
) -> UUID:
    """A course of one agent whose first doses, or all, were given on their days."""
    doses = tuple(
        PlannedDose(n, day, 1.0, 9.0, "g", 0.0, "practice") for n, day in enumerate(days, 1)
    )
    step = PlanStep(
        place=1, agent=agent, route=route, dose=1.0, unit="mg/L", product=Product(product, 98.0),
        volume_l=9000.0, doses=doses, interval_days=7, interval_why="typed", exposure_h=None,
        half_life_h=None, safe_most=None, source="common_practice", standing="common practice",
    )  # fmt: skip
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=18.0, use=use)
    plan = Plan((), "as the vet found", water, (step,), (), None)
    then = Act(act.by, at_noon(days[0]) - timedelta(hours=1))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
        step_id = _step_of(writing, key)
        if shelf is not None:
            on_shelf = writing.add(
                "product", name=product, agent=agent, strength_percent=98.0,
                strength_basis="product", **shelf,
            )  # fmt: skip
            writing.add("step_rests_on", step_id=step_id, product_id=on_shelf)
        if feed_days is not None:
            writing.add(
                "feed_ration", step_id=step_id, biomass_kg=42.0, biomass_how="weighed",
                rate_percent=1.0, feed_days=feed_days, feed_kg=4.2, mg_per_kg_feed=1000.0,
            )  # fmt: skip
    ids = course(book, key).dose_ids
    for number, day in enumerate(days[:given], start=1):
        give(book, act, ids[1, number], day)
    return key


def give(book: Book, act: Act, dose: UUID, day: date) -> UUID:
    with book.writing(Act(act.by, at_noon(day))) as writing:
        return log_dose(
            writing, dose, given_at=at_noon(day), amount=9.0, amount_unit="g",
            water_change_percent=0.0, given_by="Ada",
        )  # fmt: skip


def _step_of(writing: Any, key: UUID) -> UUID:
    steps = table("course_step").c
    found: UUID = writing.connection.execute(
        steps.id.table.select().with_only_columns(steps.id).where(steps.course_id == key)
    ).scalar_one()
    return found


def add_logger(
    book: Book, act: Act, pond: UUID, temps_c: Sequence[float], *, after: date = LAST_DOSE
) -> None:
    with book.writing(act) as writing:
        writing.add_many(
            "logger_day",
            [
                {
                    "pond_id": pond, "parameter": "temperature_c",
                    "day": after + timedelta(days=n), "n": 24, "mean": temp_c,
                    "low": temp_c - 1.0, "high": temp_c + 1.0,
                }
                for n, temp_c in enumerate(temps_c, start=1)
            ],
        )  # fmt: skip

"""Ponds that were looked at, treated and looked at again, for the tests of outcomes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product
from store.exams.examining import record_examination
from store.exams.values import Exam, ExamFish, Found, Prep

BEFORE = (42, 35, 60, 18, 27, 55, 33, 30)
AFTER = (3, 1, 6, 0, 2, 4, 1, 3)
"""Eight marked koi before and seven days after a course."""
DOSE = date(2026, 5, 3)
MARKS = ("Asa", "Bo", "Cy", "Di", "Ed", "Flo", "Gus", "Hal")


def noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)


def clips(
    counts: Sequence[int | None],
    *,
    hazard: str = "gill_flukes",
    kind: str = "gill clip",
    magnification: int | None = 100,
    fields: int | None = 5,
    marks: Sequence[str] = MARKS,
    scores: bool = False,
) -> tuple[ExamFish, ...]:
    """One fish a number: counted, or scored; None is found without a number, 0 a clean slide."""
    fish = []
    for nth, count in enumerate(counts, 1):
        number: dict[str, Any] = {"score" if scores else "counted": count}
        found = () if count == 0 else (Found(hazard, **({} if count is None else number)),)
        prep = Prep(kind, "", magnification, fields, found=found)  # type: ignore[arg-type]
        mark = marks[nth - 1] if nth <= len(marks) else ""
        fish.append(ExamFish(nth=nth, species="koi", mark=mark, preparations=(prep,)))
    return tuple(fish)


def looked(day: date, fish: tuple[ExamFish, ...], **values: Any) -> Exam:
    return Exam(noon(day), values.pop("purpose", "first look"), "Ada Vet", fish, **values)


def enter(book: Book, act: Act, pond: UUID, *exams: Exam) -> list[UUID]:
    later = Act(act.by, max(act.at, *(one.at for one in exams)))
    with book.writing(later) as writing:
        return [record_examination(writing, pond, one) for one in exams]


def treat(
    book: Book,
    act: Act,
    pond: UUID,
    days: Sequence[date],
    *,
    agents: Sequence[str] = ("praziquantel",),
    hazards: tuple[str, ...] = ("gill_flukes",),
    given: int | None = None,
) -> UUID:
    """A course of which some doses, or all, were given on their days."""
    step = PlanStep(
        place=1, agent=agents[0], route="pond_bath", dose=2.0, unit="mg/L",
        product=Product("bottle", 98.0), volume_l=9000.0,
        doses=tuple(
            PlannedDose(n, day, 2.0, 18.0, "g", 0.0, "practice") for n, day in enumerate(days, 1)
        ),
        interval_days=7, interval_why="typed", exposure_h=None, half_life_h=None, safe_most=None,
        source="common_practice", standing="common practice",
    )  # fmt: skip
    steps = tuple(replace(step, place=n, agent=agent) for n, agent in enumerate(agents, 1))
    plan = Plan(hazards, "flukes", PondWater(9000.0, 8000.0, 10_000.0), steps, (), None)
    with book.writing(Act(act.by, noon(days[0]) - timedelta(hours=1))) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
    ids = course(book, key).dose_ids
    for number, day in enumerate(days[:given], 1):
        for place in range(1, len(agents) + 1):
            with book.writing(Act(act.by, noon(day))) as writing:
                log_dose(
                    writing, ids[place, number], given_at=noon(day), amount=18.0, amount_unit="g",
                    water_change_percent=0.0, given_by="Ada",
                )  # fmt: skip
    return key


def warm(book: Book, act: Act, pond: UUID, since: date, temps_c: Sequence[float]) -> None:
    """A logger's days from one on."""
    rows = [
        {
            "pond_id": pond, "parameter": "temperature_c", "day": since + timedelta(days=n),
            "n": 24, "mean": one, "low": one - 1.0, "high": one + 1.0,
        }
        for n, one in enumerate(temps_c)
    ]  # fmt: skip
    with book.writing(act) as writing:
        writing.add_many("logger_day", rows)

"""A book with sites of every standing, and rounds over them made by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import pond as pond_of
from store.book.volumes import record_estimate
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product, Task
from store.diary.booking.values import Purpose
from store.diary.desk.about import About
from store.rounds.day.values import DayPlan, Errand
from tests.book.entries import NOW
from tests.rounds.day_plans import driver, errand, plan_of

TODAY = date(2026, 3, 14)
DAY = timedelta(days=1)
HOSTILE = '<b>&"\']]>\n# [x](y) =HYPERLINK("z")\x1b[2J\t{0}%s ☠ *a*'
"""What a name may hold: markup of every kind, a line feed, control characters, a formula."""


@dataclass(frozen=True, slots=True)
class Place:
    """A client's site with its ponds."""

    client: UUID
    site: UUID
    ponds: tuple[UUID, ...]
    name: str


def place(
    book: Book, act: Act, name: str = "Brook House", *ponds: str, site: Any = None, **pond: Any
) -> Place:
    where = {
        "name": "Garden", "address": "4 Mill Lane\nOverwater", "town": "Overwater",
        "postcode": "OV1 2AB", "latitude": 53.05, "longitude": -1.66,
        "access_notes": "Gate code 4711. Dog is loose.", "access_hours": "Mon-Fri 08:00-18:00",
    } | (site or {})  # fmt: skip
    with book.writing(act) as writing:
        client = writing.add("client", name=name, phone="01632 960101", phone2="01632 960102")
        own = writing.add("site", client_id=client, **where)
        keys = tuple(
            writing.add("pond", site_id=own, name=one, **({"use": "ornamental"} | pond))
            for one in ponds or ("Lower pond",)
        )
    return Place(client, own, keys, f"{name}, {where['name']}")


def estimate(book: Book, act: Act, pond: UUID, litres: float, method: str = "salt") -> None:
    with book.writing(act) as writing:
        record_estimate(
            writing, pond, method=method, litres=litres, low_l=litres * 0.9, high_l=litres * 1.1,
            measured_on=TODAY - 3 * DAY, pond_rev=pond_of(book, pond).rev,
        )  # fmt: skip


def treat(
    book: Book, act: Act, pond: UUID, *days: date, given: int = 1, share: Any = "practice",
    change_percent: float = 0.0, control_on: date | None = None, agent: str = "praziquantel",
    tasks: tuple[Task, ...] = (), hazards: tuple[str, ...] = ("gill_flukes",), use: Any = "food",
) -> UUID:  # fmt: skip
    """A course of 2 mg/L in 9000 L, 18 g a dose, the first doses given at noon."""
    doses = tuple(
        PlannedDose(n, day, 2.0, 18.0, "g", change_percent, share) for n, day in enumerate(days, 1)
    )
    step = PlanStep(
        place=1, agent=agent, route="pond_bath", dose=2.0, unit="mg/L",
        product=Product("powder", 98.0), volume_l=9000.0, doses=doses, interval_days=7,
        interval_why="typed", exposure_h=None, half_life_h=None, safe_most=None,
        source="common_practice", standing="common practice",
    )  # fmt: skip
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=18.0, use=use)
    plan = Plan(hazards, "gill flukes on two koi", water, (step,), tasks, control_on)
    then = Act(act.by, datetime.combine(days[0], time(11), NOW.tzinfo))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
    ids = course(book, key).dose_ids
    for number in range(1, given + 1):
        at = datetime.combine(days[number - 1], time(12), NOW.tzinfo)
        with book.writing(Act(act.by, at)) as writing:
            log_dose(
                writing, ids[1, number], given_at=at, amount=18.0, amount_unit="g",
                water_change_percent=change_percent, given_by="Ada Vet", observed="calm",
            )  # fmt: skip
    return key


def purpose(pond: UUID | None, kind: str = "water_test", **values: Any) -> Purpose:
    given = {
        "about": str(About("test", UUID(int=5))), "says": "water test", "due_on": TODAY,
        "first_on": TODAY - DAY, "last_on": TODAY + 2 * DAY,
    } | values  # fmt: skip
    return Purpose(kind=kind, pond_id=pond, **given)


def stop_at(where: Place, number: int = 1, *purposes: Purpose, **values: Any) -> Errand:
    """An errand to a place, with the keys that the book has."""
    at = values.pop("at", (53.05, -1.66 + number / 100))
    said = values.pop("said", {})
    made = errand(
        number, where.name, at, site_id=where.site, purposes=purposes,
        ponds=values.pop("ponds", where.ponds), **values,
    )  # fmt: skip
    client, _, site = where.name.partition(", ")
    visit = None
    if made.visit is not None:
        visit = replace(made.visit, client=client, site=site, client_id=where.client, **said)
    return replace(made, client_id=where.client, visit=visit)


def day_of(
    *errands: Errand, on_day: date = TODAY, ends: int = 1380, **values: Any
) -> DayPlan:  # fmt: skip
    return plan_of((driver(ends=ends), errands), on_day=on_day, **values)


def shared(*rounds: tuple[UUID, str, Sequence[Errand]], on_day: date = TODAY) -> DayPlan:
    return plan_of(*((driver(key, who), of) for key, who, of in rounds), on_day=on_day)

"""What the tests of the desk enter: clients with numbers, sites and ponds, courses, visits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product
from store.diary.desk.due import DueLine
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test
from tests.book.entries import NOW

TODAY = date(2026, 3, 14)
DAY = timedelta(days=1)
KIT = KitForms("n", "no2", "no3")
GOOD = "12C pH 7.6 TAN 0.05 NO2 0.02 KH 7 DO 9.4 Cl 120"
BAD = "12C pH 7.6 TAN 0.05 NO2 3.0 KH 7 DO 9.4 Cl 20"


@dataclass(frozen=True, slots=True)
class Owned:
    """A client with one site and its ponds."""

    client: UUID
    site: UUID
    ponds: tuple[UUID, ...]

    @property
    def pond(self) -> UUID:
        return self.ponds[0]


def own(
    book: Book, act: Act, name: str = "Brook House", *ponds: str, pond: Any = None, **client: Any
) -> Owned:
    """A client; `pond` are values of each pond."""
    with book.writing(act) as writing:
        owner = writing.add("client", name=name, **({"phone": "01632 960101"} | client))
        site = writing.add(
            "site", client_id=owner, name="Garden", town="Overwater", address="4 Mill Lane"
        )
        keys = tuple(
            writing.add("pond", site_id=site, name=one, **(pond or {}))
            for one in ponds or ("Lower pond",)
        )
    return Owned(owner, site, keys)


def step(place: int, agent: str, days: Sequence[date], share: Any) -> PlanStep:
    doses = tuple(PlannedDose(n, day, 1.0, 9.0, "g", 0.0, share) for n, day in enumerate(days, 1))
    return PlanStep(
        place=place, agent=agent, route="pond_bath", dose=1.0, unit="mg/L",
        product=Product("bottle", 98.0), volume_l=9000.0, doses=doses, interval_days=7,
        interval_why="typed", exposure_h=None, half_life_h=None, safe_most=None,
        source="common_practice", standing="common practice",
    )  # fmt: skip


def treat(
    book: Book,
    act: Act,
    pond: UUID,
    *steps: PlanStep,
    control_on: date | None = None,
    began: date | None = None,
) -> UUID:
    """A course of those steps, prescribed and begun on its first day or an earlier one."""
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=18.0, use="ornamental")
    plan = Plan((), "worms on two fish", water, steps, (), control_on)
    first = began or min(TODAY, *(dose.due_on for one in steps for dose in one.doses))
    then = Act(act.by, datetime.combine(first, time(8), NOW.tzinfo))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
    return key


def sample(book: Book, act: Act, pond: UUID, at: datetime, line: str = GOOD) -> UUID:
    understood = understand(line, kit=KIT, now=at, zone=book.zone)
    return save_test(book, act, pond, NewTest(at, understood.readings, way="line"))


def visit(
    book: Book,
    act: Act,
    owned: Owned,
    on_day: date,
    about: str = "",
    *,
    pond: UUID | None = None,
    state: str = "planned",
) -> UUID:
    """A visit as the book keeps it; with `about` it was booked for that promise."""
    with book.writing(act) as writing:
        key = writing.add(
            "visit", site_id=owned.site, pond_id=pond, on_day=on_day, at_time=time(10, 30),
            staff_id=act.by, kind="call", state=state,
        )  # fmt: skip
        if about:
            writing.add(
                "visit_purpose", visit_id=key, pond_id=pond, about=about, kind="dose", says="it",
                due_on=on_day, first_on=on_day, last_on=on_day,
            )  # fmt: skip
    return key


def said(lines: Sequence[DueLine]) -> list[tuple[str, str]]:
    """Kind and words of each line."""
    return [(one.promised.kind, one.promised.says) for one in lines]

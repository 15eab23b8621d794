"""What the tests of standings enter: courses that run or have ended, samples, clean looks."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.morning import watch_pond
from store.courses.kept.records import course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product
from store.exams.specimens import add_sample, report_result, sample
from store.exams.values import Found
from store.watch.rests import put_to_rest
from tests.book.entries import NOW
from tests.exams.looked_at import enter, exam, found_in, koi

TODAY = date(2026, 3, 14)
DAY = timedelta(days=1)
FLUKES = Found("gill_flukes", counted=23)


def own(book: Book, act: Act, name: str = "Brook House", *ponds: str) -> tuple[UUID, ...]:
    """A client with one site; the site's key and those of its ponds."""
    with book.writing(act) as writing:
        owner = writing.add("client", name=name)
        site = writing.add("site", client_id=owner, name="Garden")
        return site, *(
            writing.add("pond", site_id=site, name=one) for one in ponds or ("Lower pond",)
        )


def looked(
    book: Book, act: Act, pond: UUID, days: int, *found: Found, hour: int = 7, **values: Any
) -> UUID:
    """Fish examined so many days ago; without a finding they were clean."""
    at = datetime(2026, 3, 14, hour, tzinfo=NOW.tzinfo) - days * DAY
    return enter(book, act, pond, exam(koi(found_in("gill clip", *found)), at=at, **values))


def treat(
    book: Book, act: Act, pond: UUID, days: int, *hazards: str, ended: int | None = None,
    state: Any = "completed",
) -> UUID:  # fmt: skip
    """A course that began so many days ago; with `ended` it has ended so many days ago."""
    then = Act(act.by, NOW - days * DAY)
    step = PlanStep(
        place=1, agent="praziquantel", route="pond_bath", dose=2.0, unit="mg/L",
        product=Product("powder", 98.0), volume_l=9000.0,
        doses=(PlannedDose(1, then.at.date(), 2.0, 18.0, "g", 0.0, "practice"),), interval_days=7,
        interval_why="typed", exposure_h=None, half_life_h=None, safe_most=None,
        source="common_practice", standing="common practice",
    )  # fmt: skip
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=18.0, use="ornamental")
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, Plan(hazards, "as the vet found", water, (step,), (), None))
        start_course(writing, key, 1, (), {})
    if ended is not None:
        with book.writing(Act(act.by, NOW - ended * DAY)) as writing:
            end_course(writing, key, course(book, key).rev, state, "as the vet decided")
    return key


def sent(book: Book, act: Act, pond: UUID, days: int, result: Any = "", **values: Any) -> UUID:
    """A sample taken so many days ago, and its result where one has come."""
    said = {"label": "BH-1", "laboratory": "North Laboratory", "hazard": "khv"} | values
    with book.writing(act) as writing:
        key = add_sample(writing, pond, taken_on=TODAY - days * DAY, **said)
    if result:
        with book.writing(act) as writing:
            report_result(writing, key, sample(book, key).rev, result, TODAY, said="as reported")
    return key


def rest_all(book: Book, act: Act, pond: UUID) -> None:
    """Put to rest whatever speaks at a pond."""
    later = Act(act.by, act.at + timedelta(minutes=1))
    for concern in watch_pond(book, pond, NOW).concerns:
        put_to_rest(book, later, pond, concern, TODAY + 9 * DAY, "the vet knows")
    assert watch_pond(book, pond, NOW).concerns == ()

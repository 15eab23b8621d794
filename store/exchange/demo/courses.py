"""Treatment courses of the demo practice, planned, begun and logged by the store's own functions.

The ponds, their fish and their water are those of `demo_sites`; what was found there and what was
done about it is invented. Every day is counted back from today, so that on any day one dose is due,
one course has slipped and was planned anew, and one control examination is late.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.writing import Writing
from store.courses.cautions.before import cautions
from store.courses.feeding.stock import stock
from store.courses.kept.allowed import course_within
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import end_course, keep_plan, start_course, turn_course
from store.courses.kept.tasks import tick_task
from store.courses.kept.water_now import water_now
from store.courses.planning.course import Product, StepWish
from store.courses.planning.feed_step import FeedWish, Medicine, plan_feed
from store.courses.planning.plan import plan_course
from store.exchange.demo.exams import AFTER_FLUKES
from store.exchange.plain.whose import PondNames
from store.facts.agents import agents

_MORNING = time(9, 30)


@dataclass(frozen=True, slots=True)
class _Dose:
    """A dose as it was given, as much as was planned: when [d before today], and what was seen."""

    place: int
    number: int
    days_ago: int
    by: str
    batch: str
    observed: str


@dataclass(frozen=True, slots=True)
class _Made:
    """A course of the demo practice, as it went until today."""

    pond: str
    hazards: tuple[str, ...]
    reason: str
    wishes: tuple[StepWish, ...]
    given: tuple[_Dose, ...]
    """The first of them on the day on which the course began."""
    ticked: tuple[str, ...]
    """Codes of the tasks that were ticked as they came due."""
    why: Mapping[str, str] = field(default_factory=dict)
    """Code of a stop to the reason written against it."""
    turned_days_ago: int | None = None
    ended_days_ago: int | None = None
    feed: FeedWish | None = None
    """What goes into the feed; None for a course of baths."""


_FORMALIN = Product(
    "formalin, 37 %", 37.0, "product",
    next(one.density_g_ml for one in agents()["formalin"].forms if one.density_g_ml is not None),
)  # fmt: skip
"""As it comes, measured in mL: all that is published of it counts the product itself."""

_COURSES = (
    _Made(
        pond="PEL-3",
        hazards=("gill_flukes",),
        reason=AFTER_FLUKES,
        wishes=(
            StepWish("praziquantel", "pond_bath", 2.0, doses=2, interval_days=7,
                     water_change_percent=30.0, product=Product("powder of the practice")),
        ),
        given=(
            _Dose(1, 1, 46, "Maren Birkholt", "PZ-104", "None refused feed the day after."),
            _Dose(1, 2, 39, "Maren Birkholt", "PZ-104", ""),
        ),
        ticked=("volume", "off_uv", "off_carbon", "off_ozone", "air_on", "feed", "watch"),
        ended_days_ago=38,
    ),
    _Made(
        pond="QUA-1",
        hazards=("gill_flukes",),
        reason="gill flukes, five in a snip at 100x",
        wishes=(
            StepWish("praziquantel", "pond_bath", 2.0, doses=3, interval_days=5, share="owner",
                     water_change_percent=25.0, product=Product("powder of the practice")),
        ),
        given=(
            _Dose(1, 1, 12, "Maren Birkholt", "PZ-118", "All eight bright, one flicks."),
            _Dose(1, 2, 3, "Dr Quayne", "PZ-118", "Four days late: on nights all week."),
        ),
        ticked=("volume", "off_uv", "off_carbon", "off_ozone", "air_on", "feed", "watch"),
        turned_days_ago=3,
    ),
    _Made(
        pond="PEL-3",
        hazards=("costia", "gill_flukes"),
        reason="costia on the skin, flukes in the gills of two koi",
        wishes=(
            StepWish("formalin", "pond_bath", 20.0, doses=2, interval_days=5, product=_FORMALIN),
            StepWish("trichlorfon", "pond_bath", 0.25, doses=3, interval_days=5,
                     water_change_percent=40.0, product=Product("powder of the practice", 98.0)),
        ),
        given=(
            _Dose(1, 1, 5, "Maren Birkholt", "F-2207", "Some rose for air, settled in an hour."),
        ),
        ticked=("volume", "off_uv", "off_carbon", "off_ozone", "feed", "watch"),
    ),
    _Made(
        pond="QUI-1",
        hazards=("gill_flukes",),
        reason="gill flukes, before the summer guests",
        wishes=(
            StepWish("praziquantel", "pond_bath", 2.0, doses=2, interval_days=4,
                     water_change_percent=30.0, product=Product("powder of the practice")),
        ),
        given=(
            _Dose(1, 1, 16, "Rafe Kestrick", "PZ-118", ""),
            _Dose(1, 2, 12, "Rafe Kestrick", "PZ-118", "Feeding again the same evening."),
        ),
        ticked=("volume", "off_uv", "off_carbon", "off_ozone", "air_on", "feed", "watch"),
        ended_days_ago=11,
    ),
    _Made(
        pond="OST-2",
        hazards=("anchor_worm",),
        reason="anchor worm on nine goldfish",
        wishes=(
            StepWish("trichlorfon", "pond_bath", 0.25, doses=2, interval_days=7,
                     water_change_percent=40.0, product=Product("powder of the practice", 98.0)),
        ),
        given=(_Dose(1, 1, 4, "Maren Birkholt", "T-031", "Goldfish quiet, feeding by night."),),
        ticked=("volume", "off_uv", "off_carbon", "off_ozone", "air_on", "feed", "watch"),
        why={"species": "The orfe were netted out and stay in the long water until the control."},
    ),
    _Made(
        pond="VEL-1",
        hazards=(),
        reason="ulcers on three koi, swabbed; the laboratory found it susceptible",
        wishes=(),
        given=(_Dose(1, 1, 5, "Rafe Kestrick", "FF-09", "All 27 clear it in a minute."),),
        ticked=("feed_only", "watch_eaten", "watch_binder"),
        feed=FeedWish(
            Medicine("florfenicol", 10.0, product=Product("premix of the practice", 50.0)),
            stock("27 × 1.4 kg"), 10, rate_percent=1.0, batch_days=5,
        ),
    ),
)  # fmt: skip


def add_courses(book: Book, vet: UUID, now: datetime) -> None:
    """Plan, begin, log, turn and end the courses of the demo practice.

    Parameters
    ----------
    book
        The book of the demo practice, with its ponds and water tests.
    vet
        Key of a vet of the practice.
    now
        The present instant, with a time zone.
    """
    ponds = PondNames(book)
    for made in _COURSES:
        _make(book, vet, ponds.one(made.pond), made, now)


def _act(book: Book, vet: UUID, now: datetime, days_ago: int) -> Act:
    """That many days ago at half past nine."""
    day = book.today(now) - timedelta(days=days_ago)
    return Act(vet, datetime.combine(day, _MORNING, book.zone))


def _make(book: Book, vet: UUID, pond: UUID, made: _Made, now: datetime) -> None:
    begun = _act(book, vet, now, made.given[0].days_ago)
    water, first_day = water_now(book, pond, now), book.today(begun.at)
    if made.feed is not None:
        plan = plan_feed(
            made.feed, hazards=made.hazards, reason=made.reason, water=water, first_day=first_day
        )
    else:
        plan = plan_course(
            made.wishes, hazards=made.hazards, reason=made.reason, water=water, first_day=first_day
        )
    with book.writing(begun) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, cautions(plan), made.why)
    for dose in made.given:
        with book.writing(_act(book, vet, now, dose.days_ago)) as writing:
            _give(writing, key, made, dose)
    if made.turned_days_ago is not None:
        with book.writing(_act(book, vet, now, made.turned_days_ago)) as writing:
            turn_course(writing, key, course_within(writing, key).rev, made.why)
    if made.ended_days_ago is not None:
        with book.writing(_act(book, vet, now, made.ended_days_ago)) as writing:
            end_course(writing, key, course_within(writing, key).rev, "completed")


def _give(writing: Writing, key: UUID, made: _Made, dose: _Dose) -> None:
    """Log a dose as planned, and tick what was due by its day."""
    found, today = course_within(writing, key), writing.book.today(writing.act.at)
    planned = next(
        one
        for step in found.plan.steps
        for one in step.doses
        if (step.place, one.number) == (dose.place, dose.number)
    )
    for one in found.tasks:
        if one.task.code in made.ticked and one.task.on_day <= today:
            tick_task(writing, one.id, True)
    log_dose(
        writing,
        found.dose_ids[dose.place, dose.number],
        given_at=writing.act.at,
        amount=planned.amount,
        amount_unit=planned.amount_unit,
        water_change_percent=planned.water_change_percent,
        given_by=dose.by,
        batch=dose.batch,
        observed=dose.observed,
    )

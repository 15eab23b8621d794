"""The facts of a visit report, gathered from the book: only what is fit for the owner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.events import EVENT_KINDS, PondEvent, events
from store.book.people import Staff, staff
from store.book.ponds import PondCard, card
from store.book.visits import Visit, visits_of
from store.courses.kept.morning import watch_pond
from store.courses.kept.of_pond import courses_here, dose_name
from store.courses.kept.records import courses_of
from store.errors import BadInput, NotFound
from store.exams.death_days import death_days
from store.exams.deaths import deaths_of
from store.exams.examinations import KeptExam, examinations_of
from store.exams.line_said import say
from store.exams.specimens import samples_of
from store.paper.chart import Chart
from store.paper.paper import date_in_words, one_line
from store.reports.kept.bare import bare_exam, exam_notes, found_short
from store.reports.kept.charts import paper_charts
from store.reports.kept.head import Head
from store.reports.kept.visit_after import (
    eating,
    owners_part,
    standing,
    unanswered,
    unfinished,
    when_to_ring,
)
from store.reports.kept.water import ranges, test_said
from store.reports.reading import BEYOND
from store.reports.visit_values import DoneSaid, ExamSaid, TestSaid, VisitFacts
from store.watch.chart import CHART_CODES, ChartEvent, PondChart, pond_series
from store.watch.concern import Concern
from store.watch.rulebook import rulebook
from store.water.given import figures
from store.water.plan import due_on, read_seasons
from store.water.water_tests import WaterTest, list_tests

MONTHS = 3
MOST_MONTHS = 36
_MONTH_DAYS = 30.44
_MOST_TESTS = 2000
_LATEST_DAYS = 40
_NOT_DONE = ("hazard_seen", "fish_died", "note")
"""Events that stand among what was found, or that are words alone, not among what was done."""


@dataclass(frozen=True, slots=True)
class ReportDay:
    """A day at a pond on which a report can be written, and what there is of it."""

    day: date
    what: str


def report_days(book: Book, pond: UUID, now: datetime) -> tuple[ReportDay, ...]:
    """The days of a pond on which something was done or found, newest first.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    tuple of ReportDay
        The newest forty; visits that were done, tests, examinations and doses.
    """
    zone, today = book.zone, book.today(now)
    found: dict[date, dict[str, None]] = {}

    def add(day: date, what: str) -> None:
        if day <= today:
            found.setdefault(day, {})[what] = None

    for visit in visits_of(book, pond):
        if visit.state == "done":
            add(visit.on_day, f"visit{f' ({one_line(visit.kind)})' if visit.kind else ''}")
    for test in list_tests(book, pond, _LATEST_DAYS):
        add(_day(test.taken_at, zone), "water test")
    for exam in examinations_of(book, pond):
        add(_day(exam.exam.at, zone), "examination")
    for course in courses_of(book, pond):
        for given in course.given:
            add(given.on_day, "dose")
    newest = sorted(found, reverse=True)[:_LATEST_DAYS]
    return tuple(ReportDay(day, ", ".join(found[day])) for day in newest)


def visit_facts(
    book: Book,
    pond: UUID,
    day: date,
    now: datetime,
    head: Head,
    *,
    months: int = MONTHS,
) -> VisitFacts:
    """What a report of one day at a pond may tell its owner.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    day
        The day that it is about; what comes next is told as of now.
    now
        The present instant, with a time zone.
    head
        What stands at the head.
    months
        How far back the charts reach [months].

    Returns
    -------
    VisitFacts
        Texts that people wrote for the practice stand in fields of their own.

    Raises
    ------
    NotFound
        No such pond, or it is struck through.
    BadInput
        A day ahead, or no number to ring.
    """
    here, today, zone = card(book, pond), book.today(now), book.zone
    if here.struck:
        raise NotFound("This pond is struck through, and no report of a visit is written for it.")
    if day > today:
        raise BadInput(f"{date_in_words(day)} lies ahead. Nothing was written.", field="day")
    if not 1 <= months <= MOST_MONTHS:
        raise BadInput(f"Charts reach 1 to {MOST_MONTHS} months back.", field="months")
    people = {one.id: one for one in staff(book, struck=True)}
    visits = visits_of(book, pond)
    done = [one for one in visits if one.state == "done" and one.on_day == day]
    exams = [one for one in examinations_of(book, pond) if _day(one.exam.at, zone) == day]
    courses = courses_here(book, pond, now)
    told = _Water(book, pond, day, now, here, months)
    who = _who(done, people)
    vet = _vet(done, exams, people)
    coming = min(
        (one for one in visits if one.state == "planned" and one.on_day >= today),
        key=lambda one: (one.on_day, one.at_time or time.max),
        default=None,
    )
    running = [one for one in courses.under_way if one.course.state == "running"]
    return VisitFacts(
        letterhead=head.to(here.client.name, here.pond.name, vet),
        foot=head.foot_lines,
        on_day=day,
        written_on=today,
        visited=bool(done),
        who=who,
        tests=told.tests,
        exams=tuple(_exam(one, zone) for one in exams),
        done=tuple(_done(book, pond, day, zone)),
        dead=tuple(_dead(book, pond, day)),
        moves=any(
            one.rule.startswith("suspected_")
            for one in _concerned(book, pond, now)
        ),
        own=tuple(one for line in running for one in owners_part(line, today)),
        ring=when_to_ring(one.course for one in running),
        next_visit=None if coming is None else coming.on_day,
        next_hour="" if coming is None or coming.at_time is None else f"at {coming.at_time:%H:%M}",
        next_test=_next_test(here, told.newest, zone),
        untreated=tuple(unanswered(exams, courses.under_way)),
        unfinished=tuple(unfinished(book, pond, courses.under_way, today)),
        eating=eating(book, pond, now),
        charts=told.charts(courses.marks),
        charted_months=months,
        visit_note=" ".join(one_line(one.note) for one in done if one.note.strip()),
        access=tuple(
            f"{name}: {one_line(said)}"
            for name, said in (
                ("Hours", here.site.access_hours), ("Way in", here.site.access_notes)
            )
            if said.strip()
        ),
    )  # fmt: skip


def _concerned(book: Book, pond: UUID, now: datetime) -> Iterator[Concern]:
    watched = watch_pond(book, pond, now)
    yield from watched.concerns
    yield from (one for one, _ in watched.at_rest)


class _Water:
    """Tests of the day and charts up to it, read once."""

    def __init__(
        self, book: Book, pond: UUID, day: date, now: datetime, here: PondCard, months: int
    ) -> None:
        self._zone = zone = book.zone
        after = datetime.combine(day + timedelta(days=1), time(), zone)
        end = min(after, now) if after > now else after
        start = end - timedelta(days=months * _MONTH_DAYS)
        every = list_tests(book, pond, _MOST_TESTS, before=after)
        self._within = [one for one in every if one.taken_at >= start]
        of_day = [one for one in reversed(every) if _day(one.taken_at, zone) == day]
        newest = list_tests(book, pond, 1)
        self.newest: WaterTest | None = newest[0] if newest else None
        self._chart: PondChart = pond_series(book, pond, CHART_CODES, start, end, now=now)
        in_force = ranges(self._chart.series, rulebook(book).of(pond))
        altitude_m = here.site.elevation_m or 0.0
        self.tests: tuple[TestSaid, ...] = tuple(
            test_said(one, in_force, altitude_m, zone) for one in of_day
        )

    def charts(self, doses: Sequence[ChartEvent]) -> tuple[Chart, ...]:
        """Those of the last months, with what is beyond its range among them."""
        beyond = [one.code for test in self.tests for one in test.readings if one.verdict in BEYOND]
        return paper_charts(self._chart, doses, self._within, self._zone, beside=beyond)


def _day(at: datetime, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()


def _who(visits: Sequence[Visit], people: dict[UUID, Staff]) -> str:
    names = (people[one.staff_id].name for one in visits if one.staff_id in people)
    return " and ".join(dict.fromkeys(names))


def _vet(visits: Sequence[Visit], exams: Sequence[KeptExam], people: dict[UUID, Staff]) -> str:
    came = [people[one.staff_id] for one in visits if one.staff_id in people]
    return next((one.name for one in came if one.is_vet), "") or next(
        (one.exam.examiner for one in exams if one.exam.examiner), ""
    )


def _exam(kept: KeptExam, zone: ZoneInfo) -> ExamSaid:
    """What was found, without the notes that were written beside it for the practice."""
    bare = bare_exam(kept.exam)
    return ExamSaid(
        at=bare.at.astimezone(zone).replace(tzinfo=None),
        examiner=bare.examiner,
        short=found_short(bare),
        fish=tuple(f"Fish {one.nth}: {say(one)}" for one in bare.fish),
        note="; ".join(map(one_line, exam_notes(kept.exam))),
    )


def _done(book: Book, pond: UUID, day: date, zone: ZoneInfo) -> Iterator[DoneSaid]:
    for course in courses_of(book, pond):
        for one in course.log:
            given = one.given
            if one.struck_why or given.on_day != day:
                continue
            says = (
                f"{dose_name(course, given.place, given.number)}: "
                f"{figures(given.amount, 4)} {given.amount_unit} given"
            )
            if given.water_change_percent:
                says += f", after {figures(given.water_change_percent)} % of the water was changed"
            yield DoneSaid(_capital(f"{says}."), one_line(one.observed))
    for event in reversed(events(book, pond, since=day)):
        if event.on_day == day and event.kind not in _NOT_DONE:
            yield DoneSaid(_event(event), one_line(event.note))
    for sample in standing(samples_of(book, pond)):
        if sample.taken_on == day:
            where = f" for {one_line(sample.laboratory)}" if sample.laboratory else ""
            yield DoneSaid(f"Sample taken{where}: {one_line(sample.material) or 'not said'}.")


def _dead(book: Book, pond: UUID, day: date) -> Iterator[DoneSaid]:
    for dead in death_days(deaths_of(book, pond)):
        if dead.on_day == day and dead.dead and not dead.struck:
            yield DoneSaid(f"{_capital(dead.says)}.", one_line(dead.beside))


def _event(event: PondEvent) -> str:
    known = EVENT_KINDS.get(event.kind)
    says = _capital(event.kind if known is None else known.label)
    if event.amount is not None:
        says += f": {figures(event.amount, 4)} {event.unit}"
    return f"{says}."


def _next_test(here: PondCard, newest: WaterTest | None, zone: ZoneInfo) -> date | None:
    pond = here.pond
    if not (pond.test_every_days or pond.test_seasons):
        return None
    begun = _day(pond.created_at if newest is None else newest.taken_at, zone)
    return due_on(begun, pond.test_every_days, read_seasons(pond.test_seasons or ()))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

"""The facts of a pond's history, gathered from the book."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.events import EVENT_KINDS, events
from store.book.people import staff
from store.book.ponds import PondCard, card
from store.book.visits import visits_of
from store.book.volumes import estimates
from store.courses.kept.morning import watch_pond
from store.courses.kept.of_pond import courses_here, dose_name
from store.courses.kept.records import Course, courses_of
from store.courses.kept.under_way import course_name
from store.courses.kept.withdrawal_of import withdrawal_of
from store.courses.planning.course import PlanStep
from store.errors import BadInput
from store.exams.death_days import death_days
from store.exams.deaths import deaths_of
from store.exams.examinations import KeptExam, examinations_of
from store.exams.line_said import say
from store.exams.specimens import samples_of
from store.facts.hazards import hazards
from store.paper.chart import Chart
from store.reports.history_paper import HistoryFacts, HistoryTable
from store.reports.kept.bare import bare_exam, found_short
from store.reports.kept.charts import paper_charts
from store.reports.kept.head import Head
from store.reports.kept.water import figure_said
from store.text import day_said
from store.watch.chart import CHART_CODES, pond_series
from store.water.derived import derive
from store.water.given import figures
from store.water.parameters import PARAMETERS
from store.water.water_tests import WaterTest, list_tests

DAYS = 365
MOST_DAYS = 3660
_MOST_TESTS = 20_000
_AT_ONCE = 1000
_NH3 = "nh3_n_mg_l"


def history_facts(
    book: Book,
    pond: UUID,
    first: date,
    last: date,
    now: datetime,
    head: Head,
    *,
    notes: bool = False,
    charts: bool = True,
) -> HistoryFacts:
    """What stands in the book of a pond over a span of days.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond; one that is struck through has a history too.
    first, last
        The span, both days included.
    now
        The present instant, with a time zone.
    head
        What stands at the head.
    notes
        Whether the practice's own notes are told.
    charts
        Whether charts are drawn.

    Raises
    ------
    NotFound
        No such pond.
    BadInput
        A span that ends before it begins, lies ahead or is longer than ten years, or no number to
        ring.
    """
    today = book.today(now)
    if last < first:
        raise BadInput("The last day lies before the first. Nothing was written.", field="last")
    if first > today:
        raise BadInput("The first day lies ahead. Nothing was written.", field="first")
    if (last - first).days > MOST_DAYS:
        raise BadInput(f"A history spans {MOST_DAYS} days at most.", field="first")
    last = min(last, today)
    told = _History(book, pond, first, last, now, notes=notes)
    return HistoryFacts(
        letterhead=head.to(told.here.client.name, told.here.pond.name),
        foot=head.foot_lines,
        first=first,
        last=last,
        written_on=today,
        about=tuple(told.about()),
        tables=(
            told.concerns(),
            told.tests(),
            told.exams(),
            told.fish(),
            *told.courses(),
            told.deaths(),
            told.events(),
            told.samples(),
            told.volumes(),
            told.visits(),
        ),
        charts=told.charts() if charts else (),
    )


class _History:
    """One pond over a span of days, each kind of record as a table."""

    def __init__(
        self, book: Book, pond: UUID, first: date, last: date, now: datetime, *, notes: bool
    ) -> None:
        self.book, self.pond, self.now, self.notes = book, pond, now, notes
        self.first, self.last, self.zone = first, last, book.zone
        self.here: PondCard = card(book, pond)
        self.people = {one.id: one.name for one in staff(book, struck=True)}
        self.begin = datetime.combine(first, time(), self.zone)
        self.end = datetime.combine(last + timedelta(days=1), time(), self.zone)
        self.water = self._tests()

    def _tests(self) -> tuple[WaterTest, ...]:
        """Of the span, old to new, however many there are."""
        found: list[WaterTest] = []
        before = self.end
        while len(found) < _MOST_TESTS:
            page = list_tests(self.book, self.pond, _AT_ONCE, before=before)
            within = [one for one in page if one.taken_at >= self.begin]
            found += within
            if len(within) < _AT_ONCE:
                break
            before = within[-1].taken_at
        return tuple(reversed(found))

    def _within(self, day: date) -> bool:
        return self.first <= day <= self.last

    def _when(self, at: datetime) -> str:
        local = at.astimezone(self.zone)
        return f"{day_said(local.date())} {local:%H:%M}"

    def _day(self, at: datetime) -> date:
        return at.astimezone(self.zone).date()

    def about(self) -> Iterator[str]:
        """The pond, as it is now."""
        pond, site = self.here.pond, self.here.site
        volume = "not known"
        if pond.volume_l is not None:
            volume = f"{pond.volume_l:,.0f} L"
            if pond.volume_low_l is not None and pond.volume_high_l is not None:
                volume += f" ({pond.volume_low_l:,.0f} to {pond.volume_high_l:,.0f} L)"
            method = pond.volume_method.removeprefix("by ")
            volume += f", by {method}" if method else ""
        yield f"Volume: {volume}"
        yield f"Use: {pond.use}"
        depth = "" if pond.depth_m is None else f"{figures(pond.depth_m)} m"
        for name, said in (
            ("Fish", pond.species), ("Stock", pond.stock_notes), ("Depth", depth),
            ("Lining", pond.lining), ("Filter", pond.filter), ("UV", pond.uv),
            ("Water from", pond.source_water or site.water_supply), ("Town", site.town),
        ):  # fmt: skip
            if said.strip():
                yield f"{name}: {said}"
        if self.here.struck:
            yield "State: struck through in the practice's records"
            return
        eating = withdrawal_of(self.book, self.pond, self.now)
        yield f"Eating: {eating.says}"

    def concerns(self) -> HistoryTable:
        """What the rules say today; a temperature window is no finding and stands apart."""
        rows: list[tuple[str, ...]] = []
        windows: list[str] = []
        watched = () if self.here.struck else watch_pond(self.book, self.pond, self.now).concerns
        for one in watched:
            if one.rule.startswith("window_"):
                windows.append(one.title.partition(":")[0])
                continue
            since = "" if one.since is None else day_said(one.since)
            own = one.standing.endswith("'s own")
            rests_on = "set by the practice" if own else one.source
            rows.append((one.level, one.title, one.what, since, rests_on))
        words = (
            f"Temperature windows that the water is in, which are no findings: "
            f"{', '.join(windows)}.",
        ) if windows else ()  # fmt: skip
        return HistoryTable(
            "What the alert rules say today", ("Level", "Rule", "What", "Since", "Rests on"),
            tuple(rows), words=words,
        )  # fmt: skip

    def tests(self) -> HistoryTable:
        """Water tests, a column a reading."""
        codes = [code for code in PARAMETERS if any(code in one.readings for one in self.water)]
        reckoned = {one.key: self._nh3(one) for one in self.water}
        has_nh3 = any(reckoned.values())
        columns = ["Day and hour", *map(_column, codes)]
        columns += ["NH3-N mg/L"] if has_nh3 else []
        columns += ["By", "Note"] if self.notes else ["By"]
        rows = []
        for one in self.water:
            cells = [f"{one.taken_at.astimezone(self.zone):%Y-%m-%d %H:%M}"]
            cells += [
                figure_said(one.readings[code]) if code in one.readings else "" for code in codes
            ]
            cells += [reckoned[one.key]] if has_nh3 else []
            rows.append((*cells, one.by, one.note) if self.notes else (*cells, one.by))
        many = range(1, 1 + len(codes) + has_nh3)
        return HistoryTable("Water tests", tuple(columns), tuple(rows), frozenset(many))

    def _nh3(self, test: WaterTest) -> str:
        if "tan_mg_l" not in test.readings:
            return ""
        reading = test.readings["tan_mg_l"]
        if reading.bound == "<" and reading.high is None:
            return ""
        values = {code: each.value for code, each in test.readings.items()}
        found = derive(values, self.here.site.elevation_m or 0.0)[_NH3]
        if found.value is None:
            return ""
        sign = "" if reading.bound == "=" else reading.bound
        return f"{sign}{found.value:.{found.decimals}f}"

    def exams(self) -> HistoryTable:
        """Examinations, a row each."""
        rows = [
            (self._when(one.exam.at), one.exam.purpose, one.exam.examiner,
             found_short(one.exam),
             *((one.exam.note,) if self.notes else ()))
            for one in self._exams()
        ]  # fmt: skip
        beside = ("Note",) if self.notes else ()
        return HistoryTable(
            "Examinations", ("Day and hour", "Why", "By", "Found", *beside), tuple(rows)
        )

    def _exams(self) -> list[KeptExam]:
        every = reversed(examinations_of(self.book, self.pond))
        return [one for one in every if self._within(self._day(one.exam.at))]

    def fish(self) -> HistoryTable:
        """Fish by fish."""
        rows = [
            (day_said(self._day(one.exam.at)), str(fish.nth), say(fish))
            for one in self._exams()
            for fish in (one.exam if self.notes else bare_exam(one.exam)).fish
        ]
        return HistoryTable("Fish by fish", ("Day", "Fish", "What was found"), tuple(rows))

    def courses(self) -> Iterator[HistoryTable]:
        """Courses that began, ended or had a dose within the span, each with its log."""
        shown = [one for one in reversed(courses_of(self.book, self.pond)) if self._touches(one)]
        for one in shown:
            yield self._course(one)
        if not shown:
            yield HistoryTable("Courses of treatment")

    def _touches(self, course: Course) -> bool:
        if course.state in ("planned", "running"):
            return True
        days = [one.on_day for one in course.given]
        days += [day for day in (course.started_on, course.ended_on) if day is not None]
        return any(map(self._within, days))

    def _course(self, course: Course) -> HistoryTable:
        plan = course.plan
        known = hazards()
        against = [known[one].plain_name if one in known else one for one in plan.hazards]
        words = [
            f"Against {', '.join(against) or plan.reason}; {course.state}; prescribed by "
            f"{self.people.get(course.prescribed_by, 'somebody')}."
        ]
        if plan.reason and against:
            words.append(f"Reason: {plan.reason}.")
        for name, day in (("Begun", course.started_on), ("Ended", course.ended_on)):
            if day is not None:
                words.append(f"{name} on {day_said(day)}.")
        if self.notes:
            words += [one for one in (course.note, course.end_why) if one.strip()]
        for step in plan.steps:
            words.append(
                f"{plan.plain_name(step.agent)}: {figures(step.dose)} {step.unit}, "
                f"{len(step.doses)} {'dose' if len(step.doses) == 1 else 'doses'} planned in "
                f"{step.volume_l:,.0f} L. Rests on: {_rests(step)}."
            )
        done = course.control_done
        if done is not None and done.done_at is not None:
            words.append(f"Control examination made on {day_said(self._day(done.done_at))}.")
        elif plan.control_on is not None:
            words.append(f"Control examination due on {day_said(plan.control_on)}, not made.")
        rows = []
        for one in course.log:
            if one.struck_why:
                continue
            given = one.given
            change = given.water_change_percent
            rows.append((
                self._when(given.at), dose_name(course, given.place, given.number),
                f"{figures(given.amount, 4)} {given.amount_unit}",
                f"{figures(change)} %" if change else "", one.given_by, one.batch,
                *((one.observed,) if self.notes else ()),
            ))  # fmt: skip
        if not rows:
            words.append("No dose of it is logged.")
        columns = ("Given", "Dose", "Amount", "Water changed", "By", "Batch")
        beside = ("Seen",) if self.notes else ()
        return HistoryTable(
            f"Course: {course_name(plan)}", (*columns, *beside), tuple(rows), words=tuple(words)
        )

    def deaths(self) -> HistoryTable:
        """Dead fish by the day, and days on which somebody looked and found none."""
        rows = []
        for one in reversed(death_days(deaths_of(self.book, self.pond))):
            if one.struck or not (self._within(one.on_day) or self._within(one.first)):
                continue
            day = day_said(one.on_day)
            if one.first != one.on_day:
                day = f"{day_said(one.first)} to {day}"
            beside = (one.beside,) if self.notes else ()
            rows.append((day, str(one.dead), one.says, *beside))
        note = ("Note",) if self.notes else ()
        return HistoryTable("Deaths", ("Day", "Dead", "What", *note), tuple(rows), frozenset((1,)))

    def events(self) -> HistoryTable:
        """What else happened."""
        rows = []
        for one in reversed(events(self.book, self.pond, since=self.first)):
            if one.on_day > self.last:
                continue
            known = EVENT_KINDS.get(one.kind)
            what = one.kind if known is None else known.label
            if one.hazard and one.hazard in hazards():
                what += f": {hazards()[one.hazard].plain_name}"
            lasts = known is not None and known.lasts
            until = "" if one.until_day is None else day_said(one.until_day)
            amount = "" if one.amount is None else f"{figures(one.amount, 4)} {one.unit}"
            beside = (one.note,) if self.notes else ()
            until = until or ("still" if lasts else "")
            rows.append((day_said(one.on_day), until, what, amount, *beside))
        note = ("Note",) if self.notes else ()
        return HistoryTable("What happened", ("Day", "Until", "What", "Amount", *note), tuple(rows))

    def samples(self) -> HistoryTable:
        """Samples at laboratories; an amended report stands in place of the first."""
        every = [one for one in samples_of(self.book, self.pond) if one.struck_at is None]
        amended = {one.replaces_id for one in every}
        rows = [
            (day_said(one.taken_on), one.label, one.material, one.laboratory, one.asked,
             one.result, "" if one.reported_on is None else day_said(one.reported_on), one.said)
            for one in reversed(every)
            if one.id not in amended and self._within(one.taken_on)
        ]  # fmt: skip
        columns = (
            "Taken", "Label", "Material", "Laboratory", "Asked", "Result", "Reported", "Report says"
        )  # fmt: skip
        return HistoryTable("Samples at laboratories", columns, tuple(rows))

    def volumes(self) -> HistoryTable:
        """How the volume was found, all of it: doses rest on it, whenever it was measured."""
        in_force = self.here.pond.volume_estimate_id
        rows = [
            (day_said(one.measured_on), one.method, f"{one.litres:,.0f} L",
             f"{one.low_l:,.0f} to {one.high_l:,.0f} L", "in force" if one.id == in_force else "",
             one.workings)
            for one in reversed(estimates(self.book, self.pond))
        ]  # fmt: skip
        columns = ("Day", "Method", "Volume", "Between", "Now", "Workings")
        return HistoryTable("Volume", columns, tuple(rows), frozenset((2, 3)))

    def visits(self) -> HistoryTable:
        """Visits that took place."""
        rows = [
            (day_said(one.on_day), one.kind, self.people.get(one.staff_id, "")
             if one.staff_id else "", *((one.note,) if self.notes else ()))
            for one in reversed(visits_of(self.book, self.pond))
            if one.state == "done" and self._within(one.on_day)
        ]  # fmt: skip
        note = ("Note",) if self.notes else ()
        return HistoryTable("Visits", ("Day", "What for", "By", *note), tuple(rows))

    def charts(self) -> tuple[Chart, ...]:
        """The series of the span."""
        end = min(self.end, self.now) if self.now > self.begin else self.end
        if end <= self.begin or self.here.struck:
            return ()
        drawn = pond_series(self.book, self.pond, CHART_CODES, self.begin, end, now=self.now)
        doses = courses_here(self.book, self.pond, self.now).marks
        return paper_charts(drawn, doses, self.water, self.zone)


def _rests(step: PlanStep) -> str:
    told = step.source.rstrip(".")
    return told if step.standing in told else f"{told} ({step.standing})"


def _column(code: str) -> str:
    parameter = PARAMETERS[code]
    unit = "mg/L N" if code == "tan_mg_l" else parameter.shown_unit
    return f"{parameter.short} {unit}".strip()

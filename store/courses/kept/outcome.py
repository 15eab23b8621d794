"""Did it work: what was found before the first dose of a course against what was found after it.

The examinations of the pond are read and set against one another; the reckoning is that of
`store.exams.before_after` and `store.courses.cycles.recount`. No reduction is named from which a
course has worked: none is published for fish.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.ponds import PondCard, card
from store.courses.cycles.recount import Recount, recount
from store.courses.kept.allowed import open_doses
from store.courses.kept.records import Course, course, courses_of
from store.courses.kept.under_way import course_name
from store.courses.kept.water_daily import daily_temperatures
from store.courses.planning.fed import batch_days, is_fed
from store.courses.planning.timing import CONTROL_DAYS
from store.exams.before_after import Change, Compared, set_against
from store.exams.examinations import KeptExam, examinations_of
from store.exams.reduction import DRAWS
from store.facts.hazards import hazards
from store.text import day_said

MOST_BEFORE_DAYS = 30
"""A count older than this at the first dose is not the burden that was treated (common practice)
[d]."""
OLD_BEFORE_DAYS = 7
"""From here on it is said how old the count before was (common practice) [d]."""
MOST_AFTER_DAYS = 60
"""So long after the last dose an examination still tells of the course, unless it names the course
itself (common practice) [d]."""

Timely = Literal["in time", "too early", "not known"]
"""Whether all that the last dose did not reach could be seen already."""


@dataclass(frozen=True, slots=True)
class Control:
    """An examination after the last dose, set against the one before the first."""

    exam: UUID
    on_day: date
    days_after: int
    """Days since the last day of treatment."""
    timely: Timely
    compared: Compared


@dataclass(frozen=True, slots=True)
class HazardOutcome:
    """What became of one hazard of a course.

    `before` is the examination before the first dose; `controls` run from old to new; `told` is the
    one that the answer rests on: the first that was not too early, else the last. `why` says why it
    cannot be told; `mixed` which other course was given between the two counts.
    """

    hazard: str
    name: str
    before: UUID | None
    before_on: date | None
    controls: tuple[Control, ...]
    told: Control | None
    recount: Recount | None
    change: Change
    says: str
    why: str
    mixed: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """A course with what became of each of its hazards; `why` says why there is nothing to tell."""

    course: Course
    card: PondCard
    name: str
    first_dose: date | None
    treated_until: date | None
    hazards: tuple[HazardOutcome, ...]
    why: str

    @property
    def says(self) -> tuple[str, ...]:
        """One sentence or two for each hazard."""
        return (self.why,) if self.why else tuple(one.says for one in self.hazards)


@dataclass(frozen=True, slots=True)
class PondRecord:
    """What a pond's outcomes rest on: its courses and examinations, and its water since a day."""

    card: PondCard
    courses: tuple[Course, ...]
    exams: tuple[KeptExam, ...]
    temps_c: Callable[[date], Sequence[float | None]]
    zone: ZoneInfo
    today: date


def outcome(book: Book, key: UUID, now: datetime) -> Outcome:
    """Whether a course worked, as far as the examinations of its pond tell.

    Parameters
    ----------
    book
        The practice's book.
    key
        Of the course.
    now
        The present instant, with a time zone.

    Returns
    -------
    Outcome
        Each hazard of the course with its burden before and after.

    Raises
    ------
    NotFound
        There is no such course.
    """
    found = course(book, key)
    return outcome_of(found, pond_record(book, found.pond_id, book.today(now)))


def pond_record(book: Book, pond: UUID, today: date) -> PondRecord:
    """What the outcomes of the courses of a pond rest on.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    today
        The practice's calendar day.
    """
    return PondRecord(
        card(book, pond), courses_of(book, pond), examinations_of(book, pond),
        water_of(book, pond, today), book.zone, today,
    )  # fmt: skip


def water_of(book: Book, pond: UUID, today: date) -> Callable[[date], Sequence[float | None]]:
    """Reads the daily mean temperatures of a pond since a day, once they are asked for [°C].

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    today
        The last day.
    """
    return lambda since: _temperatures(daily_temperatures(book, pond, since, today), since)


def _temperatures(known_c: Mapping[date, float], since: date) -> list[float | None]:
    """Day by day from `since` on; the first is taken from the days before where it is missing."""
    if not known_c:
        return []
    first = next((known_c[day] for day in sorted(known_c, reverse=True) if day <= since), None)
    last = max(*known_c, since)
    days = [since + timedelta(days=n) for n in range((last - since).days + 1)]
    return [first, *(known_c.get(day) for day in days[1:])]


def outcome_of(found: Course, record: PondRecord, *, draws: int = DRAWS) -> Outcome:
    """What became of each hazard of a course.

    Parameters
    ----------
    found
        The course.
    record
        What is known of its pond, from `pond_record`.
    draws
        How often fish are drawn anew for the second limits [count].
    """
    name = course_name(found.plan)

    def nothing(why: str) -> Outcome:
        return Outcome(found, record.card, name, _first_day(found), None, (), why)

    if not found.given:
        return nothing("No dose of the course was logged, so there is nothing to look back on.")
    until = treated_until(found)
    codes = found.plan.hazards or _found_before(found, record)
    if not codes:
        return nothing(
            "The course names no hazard of the list, and none was found in the "
            f"{MOST_BEFORE_DAYS} days before its first dose."
        )
    return Outcome(
        found, record.card, name, _first_day(found), until,
        tuple(_of_hazard(found, record, code, until, draws) for code in codes), "",
    )  # fmt: skip


def treated_until(found: Course) -> date:
    """The last day on which a course was given: of medicated feed the last of the last batch.

    Parameters
    ----------
    found
        A course of which a dose was logged.
    """
    steps = {step.place: step for step in found.plan.steps}
    days = []
    for one in found.given:
        step, length = steps.get(one.place), 1
        if step is not None and is_fed(step):
            planned = next((dose for dose in step.doses if dose.number == one.number), None)
            length = 1 if planned is None else batch_days(step, planned)
        days.append(one.on_day + timedelta(days=length - 1))
    return max(days)


def _first_day(found: Course) -> date | None:
    return min((one.on_day for one in found.given), default=None)


def _begun(found: Course) -> datetime:
    return min(one.at for one in found.given)


def _over(found: Course) -> datetime:
    return max(one.at for one in found.given)


def _found_before(found: Course, record: PondRecord) -> tuple[str, ...]:
    exam = next(iter(_before(found, record, None)), None)
    return () if exam is None else exam.exam.hazards


def _before(found: Course, record: PondRecord, hazard: str | None) -> Iterable[KeptExam]:
    """Examinations up to the first dose, newest first; with a hazard those that found it."""
    begun = _begun(found)
    earliest = begun - timedelta(days=MOST_BEFORE_DAYS)
    for one in record.exams:
        if earliest <= one.exam.at <= begun and (
            one.exam.hazards if hazard is None else hazard in one.exam.hazards
        ):
            yield one


def _of_hazard(
    found: Course, record: PondRecord, hazard: str, until: date, draws: int
) -> HazardOutcome:
    name = hazards()[hazard].plain_name
    first = _first_day(found)
    assert first is not None
    before = next(iter(_before(found, record, hazard)), None)
    due = recount(hazard, until, record.temps_c(until))
    if before is None:
        why = (
            f"No examination in the {MOST_BEFORE_DAYS} days before the first dose on "
            f"{day_said(first)} found {name}: there is no burden to compare with."
        )
        return HazardOutcome(
            hazard, name, None, None, (), None, due, "not told", _head(name, why), why, "", ()
        )
    before_on = _day(before, record.zone)
    controls = tuple(
        _control(before, one, hazard, until, due, record.zone, draws)
        for one in _after(found, record, hazard, until)
    )
    told = _told(controls)
    mixed = _mixed(found, record, hazard, before, told)
    remarks = _remarks(found, record, hazard, before_on, first, controls)
    if told is None:
        why = _why_nothing(found, controls)
        said = _head(name, why) + (f" {due.said}" if due.after is not None else "")
        change: Change = "not told"
    else:
        why, change = "", told.compared.change
        said = f"{_head(name, told.compared.said)} {_when(told, due)}"
    if mixed:
        said += f" Not of this course alone: {mixed} was given between the two counts."
    return HazardOutcome(
        hazard, name, before.id, before_on, controls, told, due, change, said, why, mixed, remarks
    )


def _head(name: str, said: str) -> str:
    return f"{name[0].upper()}{name[1:]}: {said[0].lower()}{said[1:]}"


def _day(exam: KeptExam, zone: ZoneInfo) -> date:
    return exam.exam.at.astimezone(zone).date()


def _shares(other: Course, hazard: str) -> bool:
    return not other.plan.hazards or hazard in other.plan.hazards


def _after(found: Course, record: PondRecord, hazard: str, until: date) -> list[KeptExam]:
    """Examinations after the last dose and before another course against the hazard, old first."""
    over = _over(found)
    nexts = [
        _begun(one) for one in record.courses
        if one.id != found.id and one.given and _shares(one, hazard) and _begun(one) > over
    ]  # fmt: skip
    ends = min(nexts, default=None)
    return [
        one for one in reversed(record.exams)
        if one.exam.at > over and (ends is None or one.exam.at <= ends)
        and (one.exam.course_id == found.id
             or (_day(one, record.zone) - until).days <= MOST_AFTER_DAYS)
    ]  # fmt: skip


def _control(
    before: KeptExam, after: KeptExam, hazard: str, until: date, due: Recount, zone: ZoneInfo,
    draws: int,
) -> Control:  # fmt: skip
    on_day = _day(after, zone)
    days = (on_day - until).days
    if not due.known:
        timely: Timely = "not known"
    elif due.after is None:
        timely = "too early" if days < CONTROL_DAYS else "in time"
    else:
        timely = "in time" if on_day > due.after else "too early"
    compared = set_against(before.exam, after.exam, hazard, draws=draws)
    return Control(after.id, on_day, days, timely, compared)


def _told(controls: Sequence[Control]) -> Control | None:
    told = [one for one in controls if one.compared.by != "nothing"]
    timely = next((one for one in told if one.timely == "in time"), None)
    return timely or (told[-1] if told else None)


def _when(told: Control, due: Recount) -> str:
    days = "1 day" if told.days_after == 1 else f"{told.days_after} days"
    looked = f"Looked at on {day_said(told.on_day)}, {days} after the last dose"
    if told.timely == "in time":
        return f"{looked}."
    if told.timely == "not known":
        return f"{looked}. {due.said}"
    if due.after is None:
        return (
            f"{looked}: dead parasites fall off over days, and {CONTROL_DAYS} days are usually "
            "waited (common practice)."
        )
    return f"{looked}, which is too early to know. {due.said}"


def _why_nothing(found: Course, controls: Sequence[Control]) -> str:
    if controls:
        return controls[-1].compared.why
    control = found.plan.control_on
    planned = "" if control is None else f"; the control is planned for {day_said(control)}"
    return f"Nobody has looked again since the last dose{planned}."


def _mixed(
    found: Course, record: PondRecord, hazard: str, before: KeptExam, told: Control | None
) -> str:
    """Another course against the hazard of which a dose was given between the two counts."""
    if told is None:
        return ""
    until = next(one.exam.at for one in record.exams if one.id == told.exam)
    names = [
        course_name(one.plan) for one in record.courses
        if one.id != found.id and _shares(one, hazard)
        and any(before.exam.at <= dose.at <= until for dose in one.given)
    ]  # fmt: skip
    return ", ".join(dict.fromkeys(names))


def _remarks(
    found: Course, record: PondRecord, hazard: str, before_on: date, first: date,
    controls: Sequence[Control],
) -> tuple[str, ...]:  # fmt: skip
    name = hazards()[hazard].plain_name
    remarks = []
    if not found.plan.hazards:
        remarks.append("The course names no hazard of the list: taken are those found before it.")
    if (first - before_on).days > OLD_BEFORE_DAYS:
        remarks.append(
            f"The count before was made {(first - before_on).days} days before the first dose: the "
            "burden may have been another when the course began."
        )
    newest = next(iter(_before(found, record, None)), None)
    if newest is not None and hazard not in newest.exam.hazards:
        remarks.append(
            f"On {day_said(_day(newest, record.zone))}, before the first dose, {name} was not "
            "among what was found."
        )
    if controls and found.state == "running" and open_doses(found, record.today):
        remarks.append("The course still runs: this is how it stands so far.")
    return tuple(remarks)

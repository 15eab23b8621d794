"""The courses that are planned or run, over all ponds: what is due and how late, worst first.

A completed course stands among them until its control examination was made.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.book.ponds import PondCard, card
from store.book.tables import table
from store.courses.kept.against_stop import unanswered_stop
from store.courses.kept.course_water import Temps, temps_of
from store.courses.kept.morning import overdue_said, promises
from store.courses.kept.records import Course, control_open, read_courses
from store.courses.kept.tasks import overdue_tasks
from store.courses.planning.course import Plan
from store.courses.planning.fed import in_order
from store.courses.turning.due import DueNow, due
from store.courses.turning.tally import tallies
from store.text import day_said
from store.watch.levels import ORDER, Level
from store.watch.rulebook import RuleBook, rulebook
from store.watch.seen import Promise

PROMISED_BY = {
    "dose": "dose_due", "turn": "course_slipped", "control": "control_due",
    "answer": "dose_against_stop",
}  # fmt: skip
"""The rule that speaks of each kind of promise."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing that a course waits for: `late_days` is below 0 before its day.

    `arithmetic`, `note` and `source` tell why it speaks and what the rule rests on.
    """

    promise: Promise
    level: Level
    late_days: int
    what: str
    arithmetic: str
    note: str
    advice: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A course with its pond, what it waits for (worst first), and how many doses were given.

    `tasks` is how many of its tasks are overdue, and `tasks_said` which, in a sentence.
    """

    course: Course
    card: PondCard
    name: str
    level: Level
    waiting: tuple[Waiting, ...]
    due: DueNow
    given: int
    doses: int
    tasks: int = 0
    tasks_said: str = ""

    @property
    def first(self) -> Waiting | None:
        """What needs somebody first; None where nothing is left, or the course has not begun."""
        return self.waiting[0] if self.waiting else None


def under_way(book: Book, now: datetime) -> tuple[UnderWay, ...]:
    """Every course that is planned, runs or waits, of ponds that stand in the book.

    It waits for its control once it is completed, and for a vet where a dose was logged against a
    stop that nobody answered.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    tuple of UnderWay
        By level, then by lateness, then by client and pond; planned ones last.
    """
    courses = table("course").c
    waits = (
        courses.state.in_(("planned", "running"))
        | ((courses.state == "completed") & control_open())
        | unanswered_stop()
    )
    with book.reading() as connection:
        found = read_courses(connection, book.zone, waits)
    rules, today = rulebook(book), book.today(now)
    temps = temps_of(book, found, today)
    cards = {key: card(book, key) for key in {one.pond_id for one in found}}
    lines = [
        of_course(one, cards[one.pond_id], rules, today, temps.get(one.id))
        for one in found
        if not cards[one.pond_id].struck
    ]
    return tuple(sorted(lines, key=_worst_first))


def of_course(
    course: Course, card: PondCard, rules: RuleBook, today: date, temps: Temps | None = None
) -> UnderWay:
    """What a course waits for, as the rules in force at its pond see it.

    Parameters
    ----------
    course
        The course.
    card
        Its pond.
    rules
        The rules in force.
    today
        The practice's calendar day.
    temps
        Daily water from `store.courses.kept.course_water`; None where nothing was measured.
    """
    waits = sorted(
        (_waiting(one, rules, course.pond_id, today) for one in promises(course, today, temps)),
        key=lambda one: (ORDER[one.level], -one.late_days),
    )
    counted = [
        one
        for step in course.plan.steps
        for one in tallies(course.plan, step, course.given, today)
        if one.planned.state not in {"missed", "dropped"}
    ]
    return UnderWay(
        course=course,
        card=card,
        name=course_name(course.plan),
        level=waits[0].level if waits else "calm",
        waiting=tuple(waits),
        due=due(course.plan, course.given, today, examined_on=_examined_on(course)),
        given=sum(one.counts_on is not None for one in counted),
        doses=len(counted),
        tasks=len(overdue_tasks(course, today)),
        tasks_said=overdue_said(course, today),
    )


def _examined_on(course: Course) -> date | None:
    done = course.control_done
    return None if done is None or done.done_at is None else done.done_at.date()


def course_name(plan: Plan) -> str:
    """The agents of a course in the order of its steps.

    Parameters
    ----------
    plan
        The plan.
    """
    return in_order(plan.steps, plan.plain_name)


def _waiting(promise: Promise, rules: RuleBook, pond: UUID, today: date) -> Waiting:
    code = PROMISED_BY[promise.kind]
    rule = next(one for one in rules.of(pond) if one.code == code)
    late = (today - promise.due).days
    act_from, ahead = rule.number("act_late_days"), rule.number("watch_ahead_days")
    level: Level = "act" if late >= act_from else "watch" if late >= -ahead else "calm"
    if promise.kind == "answer":
        what = promise.says
    elif late == 0:
        what = f"{promise.says} due today"
    else:
        what = f"{promise.says} {f'is {late} d late' if late > 0 else f'due in {-late} d'}"
    backing = rule.backing[""]
    return Waiting(
        promise=promise,
        level=level,
        late_days=late,
        what=what,
        arithmetic=(
            f"{day_said(today)} − {day_said(promise.due)} = {late} d; act from "
            f"{act_from:g} d late, watch from {ahead:g} d before"
        ),
        note=backing.note,
        advice=rule.advice,
        source=backing.source,
        standing=backing.standing,
    )


def _worst_first(line: UnderWay) -> tuple[bool, int, int, str, str]:
    first = line.first
    return (
        line.course.state == "planned",
        ORDER[line.level],
        -first.late_days if first is not None else 10**6,
        line.card.client.name,
        line.card.pond.name,
    )

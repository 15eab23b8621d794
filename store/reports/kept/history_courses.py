"""The courses of a pond in its history, each with the log of its doses."""

from __future__ import annotations

from collections.abc import Iterator

from store.courses.kept.of_pond import dose_name
from store.courses.kept.records import Course, courses_of
from store.courses.kept.under_way import course_name
from store.courses.planning.course import PlanStep
from store.facts.hazards import hazards
from store.reports.history_paper import HistoryTable
from store.reports.kept.history_span import Span
from store.text import day_said
from store.water.given import figures


def courses(span: Span) -> Iterator[HistoryTable]:
    """Courses that began, ended or had a dose within the span, each with its log.

    Parameters
    ----------
    span
        The pond and the days.
    """
    shown = [one for one in reversed(courses_of(span.book, span.pond)) if _touches(span, one)]
    for one in shown:
        yield _course(span, one)
    if not shown:
        yield HistoryTable("Courses of treatment")


def _touches(span: Span, course: Course) -> bool:
    if course.state in ("planned", "running"):
        return True
    days = [one.on_day for one in course.given]
    days += [day for day in (course.started_on, course.ended_on) if day is not None]
    return any(map(span.within, days))


def _course(span: Span, course: Course) -> HistoryTable:
    plan = course.plan
    known = hazards()
    against = [known[one].plain_name if one in known else one for one in plan.hazards]
    words = [
        f"Against {', '.join(against) or plan.reason}; {course.state}; prescribed by "
        f"{span.people.get(course.prescribed_by, 'somebody')}."
    ]
    if plan.reason and against:
        words.append(f"Reason: {plan.reason}.")
    for name, day in (("Begun", course.started_on), ("Ended", course.ended_on)):
        if day is not None:
            words.append(f"{name} on {day_said(day)}.")
    if span.notes:
        words += [one for one in (course.note, course.end_why) if one.strip()]
    for step in plan.steps:
        words.append(
            f"{plan.plain_name(step.agent)}: {figures(step.dose)} {step.unit}, "
            f"{len(step.doses)} {'dose' if len(step.doses) == 1 else 'doses'} planned in "
            f"{step.volume_l:,.0f} L. Rests on: {_rests(step)}."
        )
    done = course.control_done
    if done is not None and done.done_at is not None:
        words.append(f"Control examination made on {day_said(span.day(done.done_at))}.")
    elif plan.control_on is not None:
        words.append(f"Control examination due on {day_said(plan.control_on)}, not made.")
    rows = []
    for one in course.log:
        if one.struck_why:
            continue
        given = one.given
        change = given.water_change_percent
        rows.append((
            span.when(given.at), dose_name(course, given.place, given.number),
            f"{figures(given.amount, 4)} {given.amount_unit}",
            f"{figures(change)} %" if change else "", one.given_by, one.batch,
            *((one.observed,) if span.notes else ()),
        ))  # fmt: skip
    if not rows:
        words.append("No dose of it is logged.")
    columns = ("Given", "Dose", "Amount", "Water changed", "By", "Batch")
    beside = ("Seen",) if span.notes else ()
    return HistoryTable(
        f"Course: {course_name(plan)}", (*columns, *beside), tuple(rows), words=tuple(words)
    )


def _rests(step: PlanStep) -> str:
    told = step.source.rstrip(".")
    return told if step.standing in told else f"{told} ({step.standing})"

"""The ponds of a stop in words: volume, fish, readings, concerns, what runs, what is open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from store.book.ponds import Pond, PondCard
from store.book.volumes import compare
from store.courses.kept.course_values import Course
from store.courses.kept.under_way import UnderWay, of_course
from store.courses.kept.withdrawal_of import withdrawal_of
from store.courses.papers.owner_days import amount_said
from store.courses.papers.sheet_step import concentration_said
from store.courses.planning.course import PlanStep
from store.courses.planning.fed import batch_days, dose_word
from store.courses.turning.due import Due, due
from store.exams.specimens import LabSample
from store.facts.hazards import hazards
from store.rounds.day.sheet import ConcernLine, CourseLine, PondSheet
from store.rounds.kept.sheets.sheet_rows import SheetRows
from store.text import day_said
from store.watch.found import OpenFinding
from store.water.doubtful import doubts_of
from store.water.given import figures
from store.water.understood import shown

USES = {
    "ornamental": "ornamental, declared not for eating",
    "food": "FOOD FISH",
    "not asked": "NOT ASKED whether the fish are food: ask the owner, write down who said what",
}
NO_TEST = "No water test is in the book."


def pond_sheet(rows: SheetRows, card: PondCard) -> PondSheet:
    """One pond of a stop.

    Parameters
    ----------
    rows
        What the book holds.
    card
        The pond.
    """
    pond, key = card.pond, card.pond.id
    test = rows.tests.get(key)
    eating = ""
    if pond.use != "ornamental":
        found = withdrawal_of(rows.book, key, rows.now)
        eating = found.says if pond.use == "food" or found.state != "nothing given" else ""
    return PondSheet(
        pond_id=key,
        name=pond.name,
        volume=_volume(rows, pond),
        apart=_apart(rows, pond),
        use=USES[pond.use],
        eating=eating,
        fish=", ".join(part for part in (pond.species, pond.stock_notes) if part.strip()),
        system=", ".join(
            f"{name} {value}" for name, value in
            (("filter:", pond.filter), ("UV:", pond.uv), ("water:", pond.source_water))
            if value.strip()
        ),
        tested=NO_TEST if test is None else _tested(rows, test.taken_at, test.place, test.by),
        readings=() if test is None else tuple(map(shown, test.readings.values())),
        doubts=() if test is None else (*_noted(test.note), *doubts_of(test)),
        flagged=tuple(
            ConcernLine(one.level, one.what, one.title, one.parameter, one.advice)
            for one in rows.watched.get(key, ())
        ),
        courses=tuple(course_line(rows, one, card) for one in rows.courses[key]),
        findings=tuple(map(finding_said, rows.findings.get(key, ()))),
        samples=tuple(
            _sample(one) for one in rows.samples[key] if one.result in {"awaited", "unclear"}
        ),
    )  # fmt: skip


def _volume(rows: SheetRows, pond: Pond) -> str:
    if pond.volume_l is None:
        return "not known"
    low, high = pond.volume_low_l, pond.volume_high_l
    bounds = ""
    if low is not None and high is not None and low < high:
        bounds = f" ({low:,.0f} to {high:,.0f} L)"
    method = {"salt": "by salt"}.get(pond.volume_method, pond.volume_method)
    on = next(
        (one.measured_on for one in rows.volumes[pond.id] if one.id == pond.volume_estimate_id),
        None,
    )
    how = ", ".join(filter(None, (method, "" if on is None else day_said(on))))
    return f"{pond.volume_l:,.0f} L{bounds}, in force" + (f": {how}" if how else "")


def _apart(rows: SheetRows, pond: Pond) -> str:
    found = compare(rows.volumes[pond.id])
    if not found:
        return ""
    one = found[0]
    return (
        f"Volumes disagree by {one.percent:.0f} %: {one.one.litres:,.0f} L by {one.one.method}, "
        f"{one.other.litres:,.0f} L by {one.other.method}."
    )


def _tested(rows: SheetRows, at: datetime, place: str, by: str) -> str:
    local = at.astimezone(rows.book.zone)
    age = (rows.day - local.date()).days
    old = f", {age} {'day' if age == 1 else 'days'} before this visit" if age > 0 else ""
    where = f", {place}" if place else ""
    return f"{day_said(local.date())}, {local:%H:%M}{where} ({by}){old}"


def _noted(note: str) -> Iterator[str]:
    if note.strip():
        yield f"Note: {' '.join(note.split())}"


def finding_said(one: OpenFinding) -> str:
    """A finding that nothing has answered, with where and how much.

    Parameters
    ----------
    one
        The finding.
    """
    name = hazard_name(one.hazard)
    how = "suspected" if one.suspected else "found"
    after = f", after {one.after_course}" if one.after_course else ""
    heavy = f"; heavy: {one.heavy}" if one.heavy else ""
    places = f" ({'; '.join(one.places)})" if one.places else ""
    return f"{name} {how} on {day_said(one.on_day)}{after}{places}{heavy}, unanswered"


def hazard_name(code: str) -> str:
    """A hazard in plain words; its code where the list does not have it.

    Parameters
    ----------
    code
        Its code.
    """
    known = hazards().get(code)
    return code if known is None else known.plain_name


def _sample(one: LabSample) -> str:
    where = f" at {one.laboratory}" if one.laboratory else ""
    asked = f", for {one.asked}" if one.asked else ""
    said = f"{one.material or 'sample'} “{one.label}” of {day_said(one.taken_on)}{asked}"
    if one.sent_on is None and one.result == "awaited":
        return f"{said}: not sent yet"
    if one.result == "unclear":
        return f"{said}{where}: came back unclear" + (f" ({one.said})" if one.said else "")
    return f"{said}{where}: result awaited"


def course_line(rows: SheetRows, course: Course, card: PondCard) -> CourseLine:
    """A course at a pond in words.

    Parameters
    ----------
    rows
        What the book holds.
    course
        The course.
    card
        Its pond.
    """
    line = of_course(course, card, rows.rules, rows.today, rows.temps.get(course.id))
    stands = {
        "planned": "planned, not begun",
        "running": f"runs since {day_said(course.started_on or rows.today)}",
        "completed": "completed" + ("" if course.ended_on is None
                                    else f" on {day_said(course.ended_on)}"),
        "stopped": "stopped early", "changed": "changed to another course",
    }[course.state]  # fmt: skip
    given = f"{line.given} of {line.doses} doses given"
    plan = course.plan
    control = ""
    if plan.control_on is not None and course.control_done is None:
        control = f"control examination planned for {day_said(plan.control_on)}"
    nexts = [one.said for one in open_doses(rows, course)] or (
        [dose_said(course, coming)] if (coming := line.due.coming) is not None else []
    )
    return CourseLine(
        course_id=course.id,
        says=f"{line.name} against {plan.reason}: {stands}, {given}",
        last=_last(rows, course),
        next="; ".join(nexts) if course.state in {"planned", "running"} else "",
        control=control,
        waits=tuple(waits_of(rows, course, line)),
    )


def waits_of(rows: SheetRows, course: Course, line: UnderWay) -> Iterator[str]:
    """What of a course waits for somebody before its next dose, in sentences.

    Parameters
    ----------
    rows
        What the book holds.
    course, line
        The course.
    """
    for one in line.waiting:
        if one.promise.kind == "turn":
            yield f"To be planned anew before the next dose: {one.promise.of}"
        elif one.promise.kind == "answer":
            yield f"A vet's answer is open: {one.promise.says}. {one.promise.of}"
    if line.tasks_said:
        yield line.tasks_said


def _last(rows: SheetRows, course: Course) -> str:
    counted = [one for one in course.log if not one.struck_why]
    if not counted:
        return "nothing is given yet"
    last = max(counted, key=lambda one: one.given.at)
    given, at = last.given, last.given.at.astimezone(rows.book.zone)
    step = next(one for one in course.plan.steps if one.place == given.place)
    seen = f"; seen: {' '.join(last.observed.split())}" if last.observed.strip() else ""
    return (
        f"last: {course.plan.plain_name(step.agent)}, {dose_word(step)} {given.number} on "
        f"{day_said(at.date())}, {at:%H:%M}, {amount_said(given.amount, given.amount_unit)}, by "
        f"{last.given_by}{seen}"
    )


@dataclass(frozen=True, slots=True)
class OpenDose:
    """A dose that is due by the day of the round, with its words."""

    due: Due
    said: str


def open_doses(rows: SheetRows, course: Course) -> tuple[OpenDose, ...]:
    """The doses of a course that are due by the day of the round and not given, oldest first.

    Parameters
    ----------
    rows
        What the book holds.
    course
        The course.
    """
    if course.state not in {"planned", "running"}:
        return ()
    found = due(course.plan, course.given, max(rows.day, rows.today))
    return tuple(
        OpenDose(one, dose_said(course, one))
        for one in found.now
        if one.dose.due_on <= rows.day
    )  # fmt: skip


def dose_said(course: Course, one: Due) -> str:
    """A dose with its number, day and amount; what was given of it before is taken off.

    Parameters
    ----------
    course
        The course.
    one
        The dose.
    """
    step = one.step
    most = max((each.number for each in step.doses if each.state != "dropped"), default=0)
    rest = " left" if one.left < one.dose.dose else ""
    return (
        f"{course.plan.plain_name(step.agent)}, {dose_word(step)} {one.dose.number} of {most}, "
        f"planned for {day_said(one.dose.due_on)}: "
        f"{amount_said(one.left_amount, one.dose.amount_unit)}{rest} ({_for_what(step, one)})"
    )


def _for_what(step: PlanStep, one: Due) -> str:
    ration = step.ration
    if ration is None:
        return f"{concentration_said(one.left, step.unit)} in {figures(step.volume_l, 6)} L"
    days = batch_days(step, one.dose)
    feed_g = ration.feed_kg / ration.feed_days * 1000.0 * days
    return f"in {amount_said(feed_g, 'g')} of dry feed for {days} {'day' if days == 1 else 'days'}"

"""What follows after a visit, in words for the owner: what falls to them, what is not finished."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.courses.kept.of_pond import dose_name
from store.courses.kept.records import Course
from store.courses.kept.under_way import UnderWay
from store.courses.kept.withdrawal_of import withdrawal_of
from store.courses.papers.owner_sheet import EATING
from store.exams.examinations import KeptExam
from store.exams.specimens import LabSample, samples_of
from store.facts.advice import advice_for
from store.facts.agent import LOCAL_LAW
from store.facts.hazards import hazards
from store.paper.paper import date_in_words, one_line
from store.reports.visit_values import Coming
from store.text import with_days


def standing(samples: Iterable[LabSample]) -> Iterator[LabSample]:
    """Samples that stand, an amended report in place of the first.

    Parameters
    ----------
    samples
        Of a pond.
    """
    every = [one for one in samples if one.struck_at is None]
    amended = {one.replaces_id for one in every}
    return (one for one in every if one.id not in amended)


def owners_part(line: UnderWay, today: date) -> Iterator[Coming]:
    """Doses and tasks of a course that fall to the owner; amounts stand on the course's sheet.

    Parameters
    ----------
    line
        The course as it stands.
    today
        The practice's day.
    """
    course = line.course
    late = any(one.dose.due_on < today for one in line.due.now)
    for step in course.plan.steps:
        for dose in step.doses:
            if dose.share != "owner" or dose.state != "due":
                continue
            if any(one.place == step.place and one.number == dose.number for one in course.given):
                continue
            named = dose_name(course, step.place, dose.number)
            if dose.due_on < today:
                says = f"{named} was due and is not logged. Give nothing before you have rung us."
            elif late:
                says = f"{named} is planned, and a dose before it is late: ring us first."
            else:
                says = f"{named}. You give it, as your sheet of this course says."
            yield Coming(dose.due_on, says)
    for task in course.tasks:
        if task.done_at is None and task.task.share == "owner" and task.task.on_day >= today:
            yield Coming(task.task.on_day, with_days(one_line(task.task.says), date_in_words))


def when_to_ring(courses: Iterable[Course]) -> tuple[str, ...]:
    """When an owner rings because of what is given.

    Parameters
    ----------
    courses
        Those that run.
    """
    said: dict[str, None] = {}
    for course in courses:
        for step in course.plan.steps:
            agent = course.plan.formulary.get(step.agent)
            form = "powder" if step.doses and step.doses[0].amount_unit == "g" else "liquid"
            family = "" if agent is None else agent.family
            for one in advice_for("ring", form=form, family=family, route=step.route):
                said[one.says] = None
    return tuple(said)


def unanswered(exams: Sequence[KeptExam], courses: Sequence[UnderWay]) -> Iterator[str]:
    """What was found that day and no course is against: the owner gives nothing unasked.

    Parameters
    ----------
    exams
        Of the day.
    courses
        Of the pond.
    """
    met = {hazard for line in courses for hazard in line.course.plan.hazards}
    known = hazards()
    found: dict[str, None] = {}
    for kept in exams:
        for fish in kept.exam.fish:
            for _, one in fish.found:
                if one.present and one.hazard not in met and one.hazard in known:
                    found[known[one.hazard].plain_name] = None
    if found:
        yield (
            f"Found and not treated so far: {', '.join(found)}. Whether something is given, and "
            "what, the vet will tell you; please give nothing before."
        )


def unfinished(book: Book, pond: UUID, courses: Sequence[UnderWay], today: date) -> Iterator[str]:
    """What is begun at a pond and not finished, in sentences.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    courses
        Of the pond.
    today
        The practice's day.
    """
    for line in courses:
        course = line.course
        if course.state == "planned":
            yield f"A course of {line.name} is planned and has not begun."
            continue
        if course.state == "running":
            yield (
                f"The course of {line.name} is not finished: {line.given} of {line.doses} doses "
                f"are given.{_next_dose(line, today)}"
            )
        control = course.plan.control_on
        if control is not None and course.control_done is None:
            late = ", which has passed" if control < today else ""
            yield (
                f"The fish are still to be looked at again after {line.name}; the day for it is "
                f"{date_in_words(control)}{late}."
            )
    for sample in standing(samples_of(book, pond)):
        if sample.result == "awaited":
            sent = "not sent yet" if sample.sent_on is None else "at the laboratory"
            yield (
                f"A sample of {date_in_words(sample.taken_on)} is {sent}; there is no result yet."
            )


def _next_dose(line: UnderWay, today: date) -> str:
    """When the next dose is due and who gives it, after a blank; empty where none is left."""
    coming = line.due.now[0] if line.due.now else line.due.coming
    if coming is None:
        return ""
    on = coming.dose.due_on
    who = "we give it" if coming.dose.share == "practice" else "you give it"
    if on < today:
        return f" The next was due on {date_in_words(on)}; nothing is given before we have spoken."
    return f" The next is due on {date_in_words(on)}; {who}."


def eating(book: Book, pond: UUID, now: datetime) -> str:
    """Whether fish may be eaten, where something was given; each dose to come counts anew.

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
    str
        Empty where nothing speaks against it, or where nobody would eat them.
    """
    found = withdrawal_of(book, pond, now)
    if found.state == "asked":
        return EATING["not asked"]
    if not found.runs:
        return ""
    says = found.says.replace("Not for eating", "The fish are not for eating", 1)
    said = [with_days(says, date_in_words)]
    if found.state == "running":
        said += [one for one in found.remarks if one != LOCAL_LAW]
    if found.state != "barred":
        said.append(
            "Take none for eating and sell none until we have said in writing that you may."
        )
    return " ".join(said)

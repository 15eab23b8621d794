"""What courses promise: doses, controls, answers of a vet, and plans to be made anew."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from uuid import UUID

from store.book.book import Book
from store.courses.kept.against_stop import open_stops
from store.courses.kept.course_water import Temps, temps_of
from store.courses.kept.morning import promises
from store.courses.kept.records import Course, followed_courses
from store.courses.planning.fed import dose_word
from store.diary.desk.about import About, Thing
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.whereabouts import Whereabouts, whereabouts
from store.exams.remembered import remembered
from store.facts.follow_ups import Needs, follow_up_kinds
from store.watch.seen import Promise

_RESTS_ON = (
    "course", "course_step", "course_dose", "course_task", "course_turn", "dose_given",
    "caution_answer", "feed_ration", "step_rests_on", "own_agent", "own_dose", "product",
    "water_test", "reading", "logger_day", "logger_reading", "client", "site", "pond", "staff",
    "practice",
)  # fmt: skip
_THINGS: dict[str, Thing] = {
    "dose": "dose", "control": "control", "answer": "answer", "turn": "turn",
}  # fmt: skip


def from_courses(book: Book, where: Whereabouts, today: date, until: date) -> Iterator[Promised]:
    """Everything that courses promise up to a day; what is late always.

    Parameters
    ----------
    book
        The practice's book.
    where
        The ponds that are wanted.
    today
        The practice's calendar day.
    until
        The last day on which a window may begin.

    Yields
    ------
    Promised
        A dose that the owner gives needs a call, one that the practice gives a visit; an answer
        and a plan to be made anew need the vet.

    Notes
    -----
    What a course still promises costs some milliseconds a course to reckon; it is remembered until
    something that it rests on is written.
    """
    whole = whereabouts(book)
    promised = remembered(
        book, "promises of courses", _RESTS_ON, today, lambda: tuple(_of_all(book, whole, today))
    )
    for one in promised:
        if one.first_on <= until and one.pond_id in where.ponds:
            yield one


def _of_all(book: Book, where: Whereabouts, today: date) -> Iterator[Promised]:
    followed = followed_courses(book)
    temps = temps_of(book, followed, today)
    for course in followed:
        if course.pond_id in where.ponds:  # its client may be struck through
            yield from _of_course(course, where, today, temps.get(course.id))


def _of_course(
    course: Course, where: Whereabouts, today: date, temps: Temps | None
) -> Iterator[Promised]:
    place = where.ponds[course.pond_id]
    kinds, keys = follow_up_kinds(), _Keys(course)
    for one in promises(course, today, temps):
        kind = kinds[one.kind]
        needs: Needs = "call" if one.kind == "dose" and one.share == "owner" else kind.needs
        by = "the owner" if one.share == "owner" else "the practice"
        falls = f" It falls to {by}." if one.kind == "dose" else ""
        beside = f" {one.beside}" if one.beside else ""
        yield Promised(
            about=str(About(_THINGS[one.kind], keys.of(one))),
            kind=one.kind,
            client_id=place.client_id,
            site_id=place.site_id,
            pond_id=course.pond_id,
            says=one.says,
            because=f"Course: {one.of.rstrip('.')}.{falls}{beside}",
            origin="course",
            promised_by=where.names.get(course.prescribed_by, ""),
            promised_on=course.started_on,
            due_on=one.due,
            first_on=one.due - timedelta(days=kind.early_days),
            last_on=one.due + timedelta(days=kind.late_days),
            needs=needs,
        )


class _Keys:
    """The row that each promise of a course is about; promises themselves carry no key."""

    def __init__(self, course: Course) -> None:
        self._course = course
        self._doses: dict[tuple[date, str], list[UUID]] = {}
        plan, many = course.plan, len(course.plan.steps) > 1
        for step in plan.steps:
            named = plan.plain_name(step.agent) if many else dose_word(step)
            for dose in step.doses:
                says = f"{named} {dose.number} of {len(step.doses)}"
                key = course.dose_ids[step.place, dose.number]
                self._doses.setdefault((dose.due_on, says), []).append(key)
        waits = open_stops(course)
        self._answers: dict[tuple[date, str], list[UUID]] = {}
        for one in waits:
            keys = self._answers.setdefault((one.on_day, one.name), [])
            key = course.dose_ids[one.place, one.number]
            if key not in keys:
                keys.append(key)

    def of(self, promise: Promise) -> UUID:
        """Key of the dose, or of the course; each dose is given once."""
        if promise.kind == "dose":
            return self._doses[promise.due, promise.says.removesuffix(" short")].pop(0)
        if promise.kind == "answer":
            name = promise.says.partition(" was logged against ")[0]
            return self._answers[promise.due, name].pop(0)
        return self._course.id

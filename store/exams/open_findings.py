"""Findings that nothing has answered yet, over all ponds: what the morning list is to speak of.

A finding is answered by a course against its hazard that began on its day or later, or by a later
examination with the same kind of preparation in which the hazard was not there. While a course runs
what is found in passing belongs to it; a control examination with the hazard still there opens it
anew. A laboratory's report is answered by a course or by a later sample without the hazard.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, func, or_, select

from store.book.book import Book
from store.book.columns import milliseconds
from store.book.tables import table
from store.exams.bearing import heavy_of
from store.exams.remembered import remembered
from store.exams.values import BY_EYE, Found, Prep
from store.watch.found import OpenFinding

LABORATORY = "laboratory"
_RESTS_ON = ("examination", "examined_fish", "preparation", "exam_finding", "lab_sample", "course",
             "practice")  # fmt: skip
_MOST_PONDS = 500
"""So many keys go into one query: both databases bound how many."""


@dataclass(frozen=True, slots=True)
class _Course:
    """A course that began, as far as it can answer a finding."""

    id: UUID
    hazards: frozenset[str]
    started_on: date
    running: bool
    reason: str


@dataclass(frozen=True, slots=True)
class _Seen:
    """One row of a finding that was there, or a laboratory's word."""

    hazard: str
    kind: str
    at: datetime
    day: date
    control: bool
    by: str
    fish_id: UUID | None
    place: str
    per_field: float | None
    score: int | None
    sure: bool
    entered_ms: int
    exam_id: UUID | None
    course_id: UUID | None


def open_findings(book: Book, pond: UUID | None = None) -> Mapping[UUID, tuple[OpenFinding, ...]]:
    """What was found and is not answered, by pond.

    Parameters
    ----------
    book
        The practice's book.
    pond
        The one pond that is wanted; None for all.

    Returns
    -------
    Mapping
        Only ponds at which something is open; the newest first.
    """
    if pond is not None:
        return _gathered(book, pond)
    return remembered(book, "open findings", _RESTS_ON, None, lambda: _gathered(book, None))


def _gathered(book: Book, pond: UUID | None) -> Mapping[UUID, tuple[OpenFinding, ...]]:
    zone = book.zone
    with book.reading() as connection:
        unanswered = _not_looked_at_since(connection, pond)
        if not unanswered:
            return {}
        courses = _courses(connection, pond)
        rows = _rows(connection, list(unanswered), zone)
        slides = _slides(connection, list(unanswered))
    found = {}
    for key, wanted in unanswered.items():
        one = _open_at(wanted, rows.get(key, ()), slides.get(key, ()), courses.get(key, ()))
        if one:
            found[key] = one
    return found


@dataclass(frozen=True, slots=True)
class _Slide:
    """A fish that was looked at in one way, and when."""

    exam_id: UUID
    at: datetime
    fish_id: UUID
    kind: str


def _open_at(
    wanted: set[tuple[str, str]],
    rows: Sequence[_Seen],
    slides: Sequence[_Slide],
    courses: Sequence[_Course],
) -> tuple[OpenFinding, ...]:
    """The open findings of one pond."""
    kinds: dict[str, set[str]] = {}
    for hazard, kind in wanted:
        kinds.setdefault(hazard, set()).add(kind)
    found = []
    for hazard, of in kinds.items():
        own = [one for one in rows if one.hazard == hazard]
        ends = {kind: max(one.at for one in own if one.kind == kind) for kind in of}
        last = [one for one in own if one.kind in of and one.at == ends[one.kind]]
        newest = max(last, key=lambda one: one.at)
        against = [one for one in courses if hazard in one.hazards]
        if any(_answers(one, newest) for one in against):
            continue
        found.append(_open_one(hazard, of, own, last, newest, slides, against))
    return tuple(sorted(found, key=lambda one: (one.on_day, one.hazard), reverse=True))


def _answers(course: _Course, seen: _Seen) -> bool:
    """Whether a course answers what was seen: it began afterwards, or it was under way already.

    A control examination never is answered by the very course that it was to prove.
    """
    if seen.control and seen.course_id == course.id:
        return False
    return course.started_on >= seen.day or (course.running and not seen.control)


def _open_one(
    hazard: str,
    kinds: set[str],
    own: Sequence[_Seen],
    last: Sequence[_Seen],
    newest: _Seen,
    slides: Sequence[_Slide],
    against: Sequence[_Course],
) -> OpenFinding:
    before = [one for one in against if one.started_on < newest.day]
    course = max(before, key=lambda one: one.started_on, default=None)
    exams = {one.exam_id for one in last}
    looked = {
        one.fish_id
        for one in slides
        if one.exam_id in exams and (one.kind in kinds or BY_EYE in kinds)
    }
    counted = [one.per_field for one in last if one.per_field is not None]
    scored = [one.score for one in last if one.score is not None]
    places = {hazard: {one.kind for one in last}}
    return OpenFinding(
        hazard=hazard,
        on_day=newest.day,
        first=_first(own, newest, slides, against),
        suspected=not any(one.sure for one in last),
        heavy=heavy_of(places).get(hazard, ""),
        per_field=max(counted, default=None),
        score=max(scored, default=None),
        fish=len({one.fish_id for one in last if one.fish_id is not None}),
        of=len(looked),
        places=tuple(one.place for one in last),
        after_course="" if course is None else f"the course against {course.reason}",
        by=newest.by,
        entered_ms=max(one.entered_ms for one in last),
    )


def _first(
    own: Sequence[_Seen], newest: _Seen, slides: Sequence[_Slide], against: Sequence[_Course]
) -> date:
    """The first day of the run that neither a course nor a clean look broke."""
    first = newest
    for one in sorted(own, key=lambda seen: seen.at, reverse=True):
        if one.at >= first.at:
            continue
        broken = any(_answers(course, one) for course in against)
        there = {seen.exam_id for seen in own}
        clean = any(
            one.at < slide.at < first.at and slide.kind == one.kind and slide.exam_id not in there
            for slide in slides
        )
        if broken or clean:
            break
        first = one
    return first.day


def _present() -> Any:
    """The conditions under which a finding stands and says that something was there."""
    exams, fish = table("examination").c, table("examined_fish").c
    preps, found = table("preparation").c, table("exam_finding").c
    return and_(
        exams.struck_at.is_(None),
        fish.struck_at.is_(None),
        preps.struck_at.is_(None),  # also where there is none
        found.struck_at.is_(None),
        or_(found.counted.is_(None), found.counted > 0),
        or_(found.score.is_(None), found.score > 0),
    )


def _joined() -> Any:
    """Findings with their fish, examination and, where there is one, preparation."""
    exams, fish = table("examination"), table("examined_fish")
    preps, found = table("preparation"), table("exam_finding")
    return (
        found.join(fish, fish.c.id == found.c.fish_id)
        .join(exams, exams.c.id == fish.c.examination_id)
        .outerjoin(preps, preps.c.id == found.c.preparation_id)
    )


def _not_looked_at_since(
    connection: Connection, pond: UUID | None
) -> dict[UUID, set[tuple[str, str]]]:
    """Hazards with the kind of preparation in which they were last, unless a later one was clean.

    The database finds them: of a practice with many examinations only few are read.
    """
    exams, found = table("examination"), table("exam_finding")
    kind = func.coalesce(table("preparation").c.kind, BY_EYE).label("kind")
    newest = (
        select(exams.c.pond_id, found.c.hazard, kind, func.max(exams.c.at).label("at"))
        .select_from(_joined())
        .where(_present())
        .group_by(exams.c.pond_id, found.c.hazard, kind)
    )
    if pond is not None:
        newest = newest.where(exams.c.pond_id == pond)
    last = newest.subquery()
    later, fish, slide = exams.alias(), table("examined_fish").alias(), table("preparation").alias()
    looked_again = (
        select(later.c.id)
        .select_from(
            later.join(fish, fish.c.examination_id == later.c.id).outerjoin(
                slide, and_(slide.c.fish_id == fish.c.id, slide.c.struck_at.is_(None))
            )
        )
        .where(
            later.c.pond_id == last.c.pond_id,
            later.c.at > last.c.at,
            later.c.struck_at.is_(None),
            fish.c.struck_at.is_(None),
            or_(last.c.kind == BY_EYE, slide.c.kind == last.c.kind),
        )
    )
    query = select(last.c.pond_id, last.c.hazard, last.c.kind).where(~looked_again.exists())
    unanswered: dict[UUID, set[tuple[str, str]]] = {}
    for key, hazard, where in connection.execute(query):
        unanswered.setdefault(key, set()).add((hazard, where))
    for key, hazard in _reported_last(connection, pond):
        unanswered.setdefault(key, set()).add((hazard, LABORATORY))
    return unanswered


def _reported_last(connection: Connection, pond: UUID | None) -> Iterable[tuple[UUID, str]]:
    """Hazards that a laboratory detected, and not found absent in a sample taken later."""
    samples = table("lab_sample").c
    query = (
        select(samples.pond_id, samples.hazard, samples.result, func.max(samples.taken_on))
        .where(
            samples.struck_at.is_(None),
            samples.hazard != "",
            samples.result.in_(("detected", "not detected")),
        )
        .group_by(samples.pond_id, samples.hazard, samples.result)
    )
    if pond is not None:
        query = query.where(samples.pond_id == pond)
    days = {(key, hazard, said): day for key, hazard, said, day in connection.execute(query)}
    for (key, hazard, said), day in days.items():
        if said == "detected" and days.get((key, hazard, "not detected"), day) <= day:
            yield key, hazard


def _courses(connection: Connection, pond: UUID | None) -> dict[UUID, list[_Course]]:
    courses = table("course").c
    query = select(
        courses.id,
        courses.pond_id,
        courses.hazards,
        courses.started_on,
        courses.state,
        courses.reason,
    ).where(courses.struck_at.is_(None), courses.started_on.is_not(None))
    if pond is not None:
        query = query.where(courses.pond_id == pond)
    found: dict[UUID, list[_Course]] = {}
    for row in connection.execute(query):
        running = row.state == "running"
        one = _Course(row.id, frozenset(row.hazards), row.started_on, running, row.reason)
        found.setdefault(row.pond_id, []).append(one)
    return found


def _rows(
    connection: Connection, ponds: Sequence[UUID], zone: ZoneInfo
) -> Mapping[UUID, list[_Seen]]:
    """All that was ever there at some ponds, each row in words."""
    exams, fish = table("examination").c, table("examined_fish").c
    preps, found = table("preparation").c, table("exam_finding").c
    columns = (
        exams.pond_id, exams.id.label("exam_id"), exams.at, exams.purpose, exams.examiner,
        exams.course_id,
        fish.id.label("fish_id"), fish.nth, preps.id.label("prep_id"), preps.kind, preps.place,
        preps.magnification, preps.fields, found.hazard, found.counted, found.score, found.motile,
        found.confidence, found.note, found.created_at,
    )  # fmt: skip
    rows: dict[UUID, list[_Seen]] = {}
    for some in _pieces(ponds):
        query = select(*columns).select_from(_joined()).where(_present(), exams.pond_id.in_(some))
        for row in connection.execute(query.order_by(exams.at, fish.nth, found.id)):
            rows.setdefault(row.pond_id, []).append(_seen(row, zone))
        samples = table("lab_sample").c
        reported = select(
            samples.pond_id, samples.hazard, samples.taken_on, samples.laboratory, samples.material,
            samples.label, samples.changed_at,
        ).where(
            samples.struck_at.is_(None), samples.result == "detected", samples.hazard != "",
            samples.pond_id.in_(some),
        )  # fmt: skip
        for lab in connection.execute(reported.order_by(samples.taken_on)):
            rows.setdefault(lab.pond_id, []).append(_reported(lab))
    return rows


def _seen(row: Any, zone: ZoneInfo) -> _Seen:
    what = Found(row.hazard, row.counted, row.score, row.motile, row.confidence, row.note)
    where, kind = BY_EYE, BY_EYE
    if row.prep_id is not None:
        prep = Prep(row.kind, row.place, row.magnification, row.fields)
        where, kind = prep.looked_as, row.kind
    sure = "" if row.confidence == "seen" else ", suspected"
    return _Seen(
        hazard=row.hazard,
        kind=kind,
        at=row.at,
        day=row.at.astimezone(zone).date(),
        control=row.purpose == "control",
        by=row.examiner,
        fish_id=row.fish_id,
        place=f"fish {row.nth}, {where}: {what.measure(row.fields)}{sure}",
        per_field=what.per_field(row.fields),
        score=row.score,
        sure=row.confidence == "seen",
        entered_ms=milliseconds(row.created_at),
        exam_id=row.exam_id,
        course_id=row.course_id,
    )


def _reported(row: Any) -> _Seen:
    where = row.laboratory or LABORATORY
    material = row.material or "sample"
    return _Seen(
        hazard=row.hazard, kind=LABORATORY, at=_as_instant(row.taken_on), day=row.taken_on,
        control=False, by=where, fish_id=None, place=f"{material} “{row.label}”: detected",
        per_field=None, score=None, sure=True, entered_ms=milliseconds(row.changed_at),
        exam_id=None, course_id=None,
    )  # fmt: skip


def _slides(connection: Connection, ponds: Sequence[UUID]) -> Mapping[UUID, list[_Slide]]:
    """Every fish of some ponds with each way in which it was looked at; by eye it always was."""
    exams, fish, preps = table("examination"), table("examined_fish"), table("preparation")
    joined = fish.join(exams, exams.c.id == fish.c.examination_id).outerjoin(
        preps, and_(preps.c.fish_id == fish.c.id, preps.c.struck_at.is_(None))
    )
    found: dict[UUID, list[_Slide]] = {}
    for some in _pieces(ponds):
        query = (
            select(exams.c.pond_id, exams.c.id, exams.c.at, fish.c.id, preps.c.kind)
            .select_from(joined)
            .where(
                exams.c.struck_at.is_(None),
                fish.c.struck_at.is_(None),
                exams.c.pond_id.in_(some),
            )
        )
        for key, exam, at, one, kind in connection.execute(query):
            listed = found.setdefault(key, [])
            listed.append(_Slide(exam, at, one, BY_EYE))
            if kind is not None:
                listed.append(_Slide(exam, at, one, kind))
    return found


def _pieces(ponds: Sequence[UUID]) -> Iterable[Sequence[UUID]]:
    return (ponds[place : place + _MOST_PONDS] for place in range(0, len(ponds), _MOST_PONDS))


def _as_instant(day: date) -> datetime:
    """A day of a sample as something that can be put in order with others of its kind."""
    return datetime.combine(day, time(), UTC)

"""A client in one look, while the client waits on the telephone: what is due, what runs, who went.

Everything is read in one go and handed out as plain values; nothing of it is reckoned anew here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import and_, select

from store.book.book import Book
from store.book.clients import Client, Site, client, sites
from store.book.people import staff
from store.book.ponds import PondCard, card
from store.book.tables import table
from store.book.visits import Visit, visits_of
from store.courses.kept.examined import said_in_short
from store.courses.kept.of_pond import CourseEntry, courses_here
from store.courses.kept.under_way import UnderWay
from store.diary.desk.due import Attempt, DueLine
from store.diary.kept.calls.call_notes import CallNote, call_notes
from store.diary.kept.due.desk import due_of_client
from store.diary.kept.promised.attempts import attempts_of
from store.diary.kept.promised.follow_ups import FollowUp, follow_ups_of
from store.diary.kept.promised.open_days import resting
from store.exams.examinations import KeptExam, examinations_of
from store.text import joined

ATTEMPTS_SHOWN = 20
"""The newest attempts of a client that are read [attempts]."""

WroteOf = Literal["visit", "examination", "dose", "control", "course", "call"]
_OF: Mapping[str, WroteOf] = {"dose": "dose", "control": "control", "end": "course"}


@dataclass(frozen=True, slots=True)
class Wrote:
    """The last words somebody of the practice left about a pond.

    `at` is local and without a zone, noon where `hour` is False. `key` is that of the visit, the
    examination, the course or the call in whose record the words stand.
    """

    of: WroteOf
    key: UUID
    at: datetime
    hour: bool
    by: str
    says: str


@dataclass(frozen=True, slots=True)
class PondPicture:
    """One pond of a client: what is due there, what runs, who was there and who comes.

    `last_course` is the course that ended last, where none runs. `next_visit` is the nearest that
    is planned; where all that are planned lie behind it is the newest of these, which nobody
    closed. `last_test_on` is the day of the newest water test.
    """

    card: PondCard
    due: tuple[DueLine, ...]
    courses: tuple[UnderWay, ...]
    last_course: UnderWay | None
    last_visit: Visit | None
    next_visit: Visit | None
    wrote: Wrote | None
    last_test_on: date | None


@dataclass(frozen=True, slots=True)
class ClientPicture:
    """A client with all that the practice has to do with it.

    `due` is what concerns no single pond of it, `follow_ups` what was promised by hand and is still
    open, due yet or not; `resting` tells by its key why nothing of one falls due, since what it is
    for was struck through. Attempts are newest first; `ring_on` and `ring_at` (local) tell when the
    client is to be rung back. `people` holds the names of the staff.
    """

    client: Client
    sites: tuple[Site, ...]
    ponds: tuple[PondPicture, ...]
    due: tuple[DueLine, ...]
    follow_ups: tuple[FollowUp, ...]
    resting: Mapping[UUID, str]
    attempts: tuple[Attempt, ...]
    ring_on: date | None
    ring_at: time | None
    calls: tuple[CallNote, ...]
    people: Mapping[UUID, str]
    zone: ZoneInfo
    today: date

    @property
    def all_due(self) -> tuple[DueLine, ...]:
        """Everything that is due, of the client first, then pond by pond."""
        return (*self.due, *(line for pond in self.ponds for line in pond.due))


def client_picture(book: Book, client_id: UUID, now: datetime) -> ClientPicture:
    """The whole picture of a client.

    Parameters
    ----------
    book
        The practice's book.
    client_id
        Key of the client, struck through or not.
    now
        The present instant, with a time zone.

    Returns
    -------
    ClientPicture
        Only ponds and sites that stand in the book: ponds by what weighs most at each, those with
        nothing due last, by site and name. The lines that are due are in the order of the desk.

    Raises
    ------
    NotFound
        No such client.
    """
    owner = client(book, client_id)
    today, zone = book.today(now), book.zone
    people = {one.id: one.name for one in staff(book, struck=True)}
    due = due_of_client(book, client_id, now)
    places = sites(book, client_id)
    keys = _ponds_of(book, client_id)
    tested = _tested_on(book, keys, zone)
    calls = call_notes(book, open=False, client_id=client_id)
    ponds = tuple(
        _pond(
            book,
            key,
            [line for line in due if line.promised.pond_id == key],
            [one for one in calls if one.pond_id == key],
            now,
            people,
            tested.get(key),
        )
        for key in keys
    )  # fmt: skip
    rank = {
        key: place for place, key in reversed([*enumerate(one.promised.pond_id for one in due)])
    }
    last = len(due)
    attempts = attempts_of(book, client_id, limit=ATTEMPTS_SHOWN)
    here = set(keys)
    ring = next((line for line in due if line.ring_on is not None), None)
    ring_on, ring_at = (None, None) if ring is None else (ring.ring_on, ring.ring_at)
    if ring is None and (waits := _ring_back(attempts)) is not None:
        ring_on, ring_at = waits.ring_on, waits.ring_at
    return ClientPicture(
        client=owner,
        sites=places,
        ponds=tuple(sorted(ponds, key=lambda one: rank.get(one.card.pond.id, last))),
        due=tuple(line for line in due if line.promised.pond_id not in here),
        follow_ups=follow_ups_of(book, client_id),
        resting={one.id: one.why for one in resting(book, client_id)},
        attempts=attempts,
        ring_on=ring_on,
        ring_at=ring_at,
        calls=tuple(one for one in calls if one.state == "open"),
        people=people,
        zone=zone,
        today=today,
    )


def _ring_back(attempts: Sequence[Attempt]) -> Attempt | None:
    """The newest promise to ring back that nobody has closed by reaching the client since."""
    for one in attempts:
        if one.outcome == "reached":
            return None
        if one.ring_on is not None:
            return one
    return None


def _ponds_of(book: Book, client_id: UUID) -> tuple[UUID, ...]:
    """Keys of the ponds that stand in the book, by site and name."""
    pond, site = table("pond"), table("site")
    query = (
        select(pond.c.id)
        .join(site, and_(site.c.id == pond.c.site_id, site.c.struck_at.is_(None)))
        .where(site.c.client_id == client_id, pond.c.struck_at.is_(None))
        .order_by(site.c.name, site.c.id, pond.c.name, pond.c.id)
    )
    with book.reading() as connection:
        return tuple(connection.execute(query).scalars())


def _tested_on(book: Book, ponds: Sequence[UUID], zone: ZoneInfo) -> dict[UUID, date]:
    from sqlalchemy import func

    tests = table("water_test").c
    query = (
        select(tests.pond_id, func.max(tests.taken_at))
        .where(tests.pond_id.in_(ponds), tests.struck_at.is_(None))
        .group_by(tests.pond_id)
    )
    with book.reading() as connection:
        return {key: at.astimezone(zone).date() for key, at in connection.execute(query)}


def _pond(
    book: Book,
    key: UUID,
    due: Sequence[DueLine],
    calls: Sequence[CallNote],
    now: datetime,
    people: Mapping[UUID, str],
    tested: date | None,
) -> PondPicture:
    courses = courses_here(book, key, now)
    visits = visits_of(book, key)
    exams = examinations_of(book, key)
    today, zone = book.today(now), book.zone
    words = [
        *(one for visit in visits if (one := _of_visit(visit, people)) is not None),
        *(_of_exam(exam, zone) for exam in exams),
        *(one for entry in courses.entries if (one := _of_course(entry, people)) is not None),
        *(_of_call(one, zone, people) for one in calls),
    ]
    return PondPicture(
        card=card(book, key),
        due=tuple(due),
        courses=courses.under_way,
        last_course=None if courses.under_way else courses.last,
        last_visit=next((one for one in visits if one.state == "done"), None),
        next_visit=_next(visits, today),
        wrote=max(words, key=lambda one: one.at, default=None),
        last_test_on=tested,
    )


def _next(visits: Iterable[Visit], today: date) -> Visit | None:
    planned = [one for one in visits if one.state == "planned"]
    ahead = [one for one in planned if one.on_day >= today]
    if ahead:
        return min(ahead, key=lambda one: (one.on_day, one.at_time or time()))
    return max(planned, key=lambda one: one.on_day, default=None)


def _of_visit(visit: Visit, people: Mapping[UUID, str]) -> Wrote | None:
    """What stands in the note of a visit that took place."""
    if visit.state != "done" or not visit.note.strip():
        return None
    at = datetime.combine(visit.on_day, visit.at_time or time(12))
    by = people.get(visit.staff_id or visit.changed_by, "")
    return Wrote("visit", visit.id, at, visit.at_time is not None, by, visit.note)


def _of_exam(kept: KeptExam, zone: ZoneInfo) -> Wrote:
    """What an examination found, with its note before it."""
    exam = kept.exam
    found = said_in_short(exam)
    says = f"{exam.note.strip()} ({found})" if exam.note.strip() else found
    at = exam.at.astimezone(zone).replace(tzinfo=None)
    return Wrote("examination", kept.id, at, True, exam.examiner, says)


def _of_course(entry: CourseEntry, people: Mapping[UUID, str]) -> Wrote | None:
    """What was observed at a dose or a control, or why a course ended."""
    of = _OF.get(entry.kind)
    if of is None or not entry.beside.strip():
        return None
    by = "" if entry.by is None else people.get(entry.by, "")
    return Wrote(of, entry.course, entry.at, entry.hour, by, entry.beside)


def _of_call(note: CallNote, zone: ZoneInfo, people: Mapping[UUID, str]) -> Wrote:
    """What was told on the telephone, and what was advised."""
    told = joined(note.advised)
    says = f"{note.says}; advised: {told}" if told else note.says
    at = note.called_at.astimezone(zone).replace(tzinfo=None)
    return Wrote("call", note.id, at, True, people.get(note.created_by, ""), says)

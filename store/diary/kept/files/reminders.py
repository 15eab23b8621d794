"""Reminders to owners out of the book: a text for each client; nothing is sent."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.clients import Client, client, clients, sites
from store.book.letterhead import practice_head
from store.book.people import staff
from store.book.practice import practice
from store.courses.kept.records import Course, followed_courses
from store.courses.kept.tasks import BEFORE, LASTS
from store.diary.booking.values import Visiting
from store.diary.desk.about import about_of
from store.diary.desk.due import DueLine
from store.diary.kept.due.desk import desk_list, due_of_client
from store.diary.kept.visits.diary import visits_between
from store.diary.papers.reminder import (
    UNSAID,
    Agreed,
    Item,
    OwnTask,
    item_of,
    reminder_text,
)
from store.facts.advice import advice_for
from store.facts.follow_ups import FollowUpKind, follow_up_kinds
from store.paper.paper import one_line
from store.text import plain

AHEAD_DAYS = 14
"""How far ahead a reminder looks where nobody says [d]."""
UNKNOWN = "visit"

_NAMED_VISITS = frozenset({"examination", "course dose", "water test"})
"""Kinds of visit whose name says something to an owner."""
_IN_A_COURSE = ("dose", "control")


@dataclass(frozen=True, slots=True)
class Reminder:
    """What one client is reminded of.

    `text` is empty where there is nothing to be reminded of. `unsaid` are lines of the desk that
    are not in it, since they are told by word of mouth.
    """

    client_id: UUID
    client: str
    phone: str
    phone2: str
    email: str
    items: tuple[Item, ...]
    text: str
    unsaid: tuple[str, ...]


def reminder(
    book: Book,
    client_id: UUID,
    now: datetime,
    *,
    lines: Sequence[DueLine] | None = None,
    ahead_days: int = AHEAD_DAYS,
    telephone: str = "",
) -> Reminder:
    """What a client is reminded of.

    Parameters
    ----------
    book
        The practice's book.
    client_id
        Key of the client.
    now
        The present instant, with a time zone.
    lines
        The client's lines of the desk where they are at hand; else they are gathered.
    ahead_days
        How far ahead it looks [d].
    telephone
        The number to ring; may be empty.

    Raises
    ------
    NotFound
        No such client.
    """
    found = (
        due_of_client(book, client_id, now, ahead_days=ahead_days)
        if lines is None
        else tuple(lines)
    )
    places = {one.id for one in sites(book, client_id)}
    today = book.today(now)
    visits = [one for one in _visits(book, today, ahead_days) if one.site_id in places]
    return _Reminding(book, now, telephone).of(client(book, client_id), found, visits)


def reminders(
    book: Book, now: datetime, *, ahead_days: int = AHEAD_DAYS, telephone: str = ""
) -> tuple[Reminder, ...]:
    """What every client is reminded of, those without anything left out.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    ahead_days
        How far ahead it looks [d].
    telephone
        The number to ring; may be empty.

    Returns
    -------
    tuple of Reminder
        By name.
    """
    lines: dict[UUID, list[DueLine]] = {}
    for line in desk_list(book, now, ahead_days=ahead_days).lines:
        lines.setdefault(line.promised.client_id, []).append(line)
    visits: dict[UUID, list[Visiting]] = {}
    for visit in _visits(book, book.today(now), ahead_days):
        visits.setdefault(visit.client_id, []).append(visit)
    reminding = _Reminding(book, now, telephone)
    told = (
        reminding.of(one, lines.get(one.id, ()), visits.get(one.id, ()))
        for one in clients(book)
        if one.id in lines or one.id in visits
    )
    return tuple(one for one in told if one.text)


def _visits(book: Book, today: date, ahead_days: int) -> tuple[Visiting, ...]:
    return visits_between(book, today, today + timedelta(days=ahead_days))


class _Reminding:
    """What the reminders of one run share: the practice, its courses, the kinds of follow-up."""

    def __init__(self, book: Book, now: datetime, telephone: str) -> None:
        own, head = practice(book), practice_head(book)
        named = own.name if own is not None else ""
        self._practice = named if head is None else head.practice
        self._today, self._telephone = book.today(now), telephone
        people = staff(book)
        self._people = {
            one.initials: one.name
            for one in people
            if one.initials and sum(each.initials == one.initials for each in people) == 1
        }
        self._kinds: Mapping[str, FollowUpKind] = follow_up_kinds()
        self._courses: dict[UUID, Course] = {}
        for course in followed_courses(book):
            self._courses[course.id] = course
            self._courses |= dict.fromkeys(course.dose_ids.values(), course)

    def of(self, owner: Client, lines: Sequence[DueLine], visits: Sequence[Visiting]) -> Reminder:
        """The reminder of one client: lines of the desk, and visits that keep none of them."""
        items: list[Item] = []
        courses: dict[UUID, Course] = {}
        taken: set[UUID] = set()
        # By day, so that a task stands before the first dose that it comes before.
        for line in sorted(lines, key=_day_of):
            course = self._course_of(line)
            tasks = () if course is None else self._tasks(course, line, taken)
            item = item_of(line, self._kinds.get(line.promised.kind, self._kinds[UNKNOWN]), tasks)
            if item is None:
                continue
            items.append(self._by_name(item))
            if course is not None:
                courses[course.id] = course
        unsaid = [
            plain(f"{line.pond}: {line.promised.says}" if line.pond else line.promised.says)
            for line in lines
            if line.promised.kind in UNSAID
        ]
        told = {item.agreed.visit_id for item in items if item.agreed is not None}
        items += [self._visit(one) for one in visits if one.id not in told]
        return Reminder(
            client_id=owner.id,
            client=owner.name,
            phone=owner.phone,
            phone2=owner.phone2,
            email=owner.email,
            items=tuple(items),
            text=reminder_text(
                owner.name,
                self._practice,
                items,
                self._today,
                telephone=self._telephone,
                ring=_ring_of(courses.values()),
            ),
            unsaid=tuple(unsaid),
        )

    def _course_of(self, line: DueLine) -> Course | None:
        if line.promised.kind not in _IN_A_COURSE:
            return None
        return self._courses.get(about_of(line.promised.about).key)

    def _tasks(self, course: Course, line: DueLine, taken: set[UUID]) -> tuple[OwnTask, ...]:
        """What falls to the owner by the day of a dose or control, is not ticked and not told."""
        day = _day_of(line)
        found = []
        for one in course.tasks:
            task = one.task
            # What passes with the day of its dose stands before that dose alone.
            matters = task.code.startswith(BEFORE if task.on_day == day else LASTS)
            if (
                one.id not in taken
                and one.done_at is None
                and task.share == "owner"
                and task.on_day <= day
                and matters
            ):
                taken.add(one.id)
                found.append(OwnTask(task.on_day, task.says, task.on_day < self._today))
        return tuple(found)

    def _by_name(self, item: Item) -> Item:
        """An owner reads who comes by name, not by initials."""
        agreed = item.agreed
        if agreed is None or agreed.who not in self._people:
            return item
        return replace(item, agreed=replace(agreed, who=one_line(self._people[agreed.who])))

    def _visit(self, one: Visiting) -> Item:
        kind = next(
            (each for each in self._kinds.values() if one.kind and each.visit == one.kind), None
        )
        item = Item(
            does="we come",
            says=one.kind if one.kind in _NAMED_VISITS else "a visit",
            where=one.pond,
            due_on=one.on_day,
            first_on=one.on_day,
            last_on=one.on_day,
            agreed=Agreed(one.id, one.on_day, one.at_time, one.who),
            before=() if kind is None or kind.code == "water_test" else kind.before,
        )
        return self._by_name(item)


def _day_of(line: DueLine) -> date:
    return line.promised.due_on if line.booked is None else line.booked.on_day


def _ring_of(courses: Iterable[Course]) -> tuple[str, ...]:
    """What should make an owner ring while a course runs, each sentence once."""
    said: dict[str, None] = {}
    for course in courses:
        for step in course.plan.steps:
            agent = course.plan.formulary.get(step.agent)
            form = "powder" if step.doses and step.doses[0].amount_unit == "g" else "liquid"
            for one in advice_for(
                "ring", form=form, family="" if agent is None else agent.family, route=step.route
            ):
                said[one.says] = None
    return tuple(said)

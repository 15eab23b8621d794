"""What the round asks of the store: the day it begins with, the plan, whether it is out of date."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from store.rounds.solving.halt import Halt

if TYPE_CHECKING:
    from store.book.book import Book
    from store.diary.booking.values import DiaryDay
    from store.rounds.day.values import DayAsked, DayPlan, DayWish
    from store.watch.concern import MorningList

DAYS_AHEAD = 14
"""So many days are looked through for the next on which somebody works."""
LOOK_AGAIN = timedelta(minutes=5)
_RESTS_ON = (
    "client", "site", "pond", "practice", "water_test", "logger_day", "pond_event", "rest",
    "rule_change", "course", "course_step", "course_dose", "course_task", "dose_given",
    "examination", "examined_fish", "preparation", "exam_finding", "lab_sample", "death_count",
    "head_count", "import_file", "drive_time",
)  # fmt: skip
"""Tables from which standings and the morning list follow; the diary is compared as it reads."""
_DUE_RESTS_ON = ("follow_up", "follow_up_day", "call_note", "visit_purpose", "way_home")
"""Tables from which else follows what is due near the way, and where a day ends."""


@dataclass(frozen=True, slots=True)
class Basis:
    """What a day was planned from, to be compared with what is there now."""

    days: tuple[DiaryDay, ...]
    stamp: str


@dataclass(frozen=True, slots=True)
class Held:
    """The morning list, which need not be reckoned anew for another wish."""

    stamp: str
    at: datetime
    morning: MorningList


@dataclass(slots=True)
class Planning:
    """A day that is being planned: since when, how it is ended, the best so far."""

    wish: DayWish
    since: datetime
    halt: Halt = field(default_factory=Halt)
    best_min: int | None = None

    def seconds(self, now: datetime) -> int:
        """How long it has gone on [s]."""
        return max(0, int((now - self.since).total_seconds()))


def first_day(book: Book, now: datetime) -> date:
    """The day with which one begins: today while somebody still works, else the next working day.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant.
    """
    from store.diary.kept.visits.diary import diary

    today = book.today(now)
    at = now.astimezone(book.zone).time()
    for one in diary(book, today, today + timedelta(days=DAYS_AHEAD)):
        if one.day == today and any(spell.ends > at for spell in one.work):
            return today
        if one.day > today and one.work:
            return one.day
    return today


def basis(book: Book, day: date) -> Basis:
    """What a plan of a day rests on.

    Parameters
    ----------
    book
        The practice's book.
    day
        The day.
    """
    from store.diary.kept.visits.diary import diary

    return Basis(tuple(diary(book, day, day)), book.stamp(*_RESTS_ON, *_DUE_RESTS_ON))


def changed_since(book: Book, day: date, before: Basis) -> str:
    """What has changed since: `the diary`, `the book`, or nothing.

    Parameters
    ----------
    book
        The practice's book.
    day
        The day that was planned.
    before
        What it was planned from.
    """
    now = basis(book, day)
    if now.days != before.days:
        return "the diary"
    return "the book" if now.stamp != before.stamp else ""


def asked_for(book: Book, wish: DayWish, now: datetime, held: Held | None) -> tuple[DayAsked, Held]:
    """All that a day is planned from, and the morning list it used.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What is asked for.
    now
        The present instant.
    held
        The morning list of before; it is used again while nothing it rests on was written.
    """
    from store.courses.kept.morning import morning_list
    from store.rounds.kept.days.day import day_asked

    stamp = book.stamp(*_RESTS_ON, "visit")
    if held is None or held.stamp != stamp or now - held.at >= LOOK_AGAIN:
        held = Held(stamp, now, morning_list(book, now))
    return day_asked(book, wish, now, held.morning), held


def planned(
    asked: DayAsked, effort: float | None, halt: Halt, better: Callable[[DayPlan], None]
) -> DayPlan:
    """The plan of a day.

    Parameters
    ----------
    asked
        What it is planned from.
    effort
        How much work the search may do; None the usual [-].
    halt
        Ends it, with the best so far.
    better
        Is told of every better plan, in the thread of the search.
    """
    from store.rounds.day.plan import plan_day

    if effort is None:
        return plan_day(asked, halt=halt, better=better)
    return plan_day(asked, effort=effort, halt=halt, better=better)

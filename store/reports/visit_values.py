"""What a visit report tells, as plain values: all that is fit for an owner, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, get_args

from store.paper.chart import Chart
from store.paper.paper import Letterhead
from store.reports.reading import ReadingSaid

Piece = Literal["charts", "findings", "done", "sources", "notes", "access"]
PIECES: tuple[Piece, ...] = get_args(Piece)
USUAL: frozenset[Piece] = frozenset(("charts", "findings", "done", "sources"))
"""What stands on a report unless somebody says otherwise.

The practice's own notes and the way in of a site are left out, as they are written for those who
work there.
"""
PIECES_SAID: dict[Piece, str] = {
    "charts": "charts of the last months",
    "findings": "what was found on the fish",
    "done": "what was done",
    "sources": "what the ranges rest on",
    "notes": "the practice's own notes",
    "access": "hours and way in",
}


@dataclass(frozen=True, slots=True)
class TestSaid:
    """A water test: its local time, its readings, and what could not be reckoned from them."""

    __test__ = False

    at: datetime
    readings: tuple[ReadingSaid, ...]
    lacking: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class ExamSaid:
    """Fish that were looked at: in short, then fish by fish; `note` is the practice's own."""

    at: datetime
    examiner: str
    short: str
    fish: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class DoneSaid:
    """Something that was done or happened on the day; `note` is the practice's own."""

    says: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Coming:
    """Something of a course that falls to the owner."""

    on_day: date
    says: str


@dataclass(frozen=True, slots=True)
class VisitFacts:
    """All that a report of one day at one pond may tell.

    `visited` tells whether a visit was entered as done on that day; `who` came. `dead` are the dead
    fish of the day. `moves` is said where nothing may be moved. `own` are things of courses that
    fall to the owner. `next_visit` and `next_test` are days, None where none is agreed or planned;
    `next_hour` is the hour as agreed. `unfinished` are sentences, `untreated` those on what
    was found and no course is against. `access` is the way in.
    """

    letterhead: Letterhead
    foot: tuple[str, ...]
    on_day: date
    written_on: date
    visited: bool
    who: str
    tests: tuple[TestSaid, ...]
    exams: tuple[ExamSaid, ...]
    done: tuple[DoneSaid, ...]
    dead: tuple[DoneSaid, ...]
    moves: bool
    own: tuple[Coming, ...]
    ring: tuple[str, ...]
    next_visit: date | None
    next_hour: str
    next_test: date | None
    unfinished: tuple[str, ...]
    eating: str
    charts: tuple[Chart, ...]
    charted_months: int
    untreated: tuple[str, ...] = ()
    visit_note: str = ""
    access: tuple[str, ...] = ()

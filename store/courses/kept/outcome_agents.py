"""Where an agent does well and where not: the outcomes of all courses, by agent and hazard."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.ponds import card
from store.book.tables import table
from store.courses.kept.outcome import HazardOutcome, Outcome, PondRecord, outcome_of, water_of
from store.courses.kept.records import Course, read_courses
from store.exams.before_after import Change
from store.exams.examinations import KeptExam, read_examinations
from store.exams.over_ponds import OverPonds, PondResult, over_ponds
from store.exams.reduction import LEAST_DRAWS
from store.facts.hazards import hazards
from store.text import day_said


@dataclass(frozen=True, slots=True)
class CourseResult:
    """What one course did against one hazard at its pond."""

    course: UUID
    pond: UUID
    where: str
    treated_until: date
    outcome: HazardOutcome

    @property
    def change(self) -> Change:
        """`not told` as well where another course was given between the two counts."""
        return "not told" if self.outcome.mixed else self.outcome.change

    @property
    def why(self) -> str:
        """Why it tells nothing of the agent; empty where it does."""
        mixed = self.outcome.mixed
        return f"{mixed} was given between the two counts." if mixed else self.outcome.why


@dataclass(frozen=True, slots=True)
class AgentHazard:
    """The courses of one agent, or of the same agents one after another, against one hazard.

    `over` holds the reductions where counts allow one; `failures` are the courses after which the
    hazard was no fewer, or is not shown to be fewer, the worst first. `results` are all.
    """

    agents: tuple[str, ...]
    name: str
    hazard: str
    hazard_name: str
    over: OverPonds | None
    results: tuple[CourseResult, ...]
    failures: tuple[CourseResult, ...]

    @property
    def ponds(self) -> int:
        """At how many ponds."""
        return len({one.pond for one in self.results})

    def count(self, change: Change) -> int:
        """How many courses came out so.

        Parameters
        ----------
        change
            Which way.
        """
        return sum(one.change == change for one in self.results)

    @property
    def told(self) -> int:
        """How many courses tell anything."""
        return len(self.results) - self.count("not told")

    @property
    def said(self) -> str:
        """In one sentence."""
        of = f"{len(self.results)} {'course' if len(self.results) == 1 else 'courses'}"
        at = f"{self.ponds} {'pond' if self.ponds == 1 else 'ponds'}"
        head = f"{self.name} against {self.hazard_name}: {of} at {at}"
        if not self.told:
            return f"{head}; none can be told."
        parts = [f"fewer after {self.count('fewer')} of {self.told} that can be told"]
        if self.count("not shown"):
            parts.append(f"not shown after {self.count('not shown')}")
        if self.count("no fewer"):
            parts.append(f"no fewer after {self.count('no fewer')}")
        early = sum(
            one.change == "fewer"
            and one.outcome.told is not None
            and one.outcome.told.timely == "too early"
            for one in self.results
        )
        if early:
            parts.append(f"{early} of those fewer counted too early to know")
        counted = ""
        if self.over is not None and self.over.worst_first:
            counted = f" {self.over.said}"
        return f"{head}; {', '.join(parts)}.{counted}"


_WORST = ("no fewer", "not shown", "fewer", "not told")


def agents_outcome(book: Book, now: datetime) -> tuple[AgentHazard, ...]:
    """Every agent against every hazard it was given for, those that failed most often first.

    Parameters
    ----------
    book
        The practice's book; of ponds that stand in it.
    now
        The present instant, with a time zone.

    Returns
    -------
    tuple of AgentHazard
        A course of several agents stands by itself: what it did cannot be laid to one of them.
    """
    groups: dict[tuple[tuple[str, ...], str], list[tuple[Outcome, HazardOutcome]]] = {}
    for record in _records(book, book.today(now)):
        for found in record.courses:
            if not found.given:
                continue
            answer = outcome_of(found, record, draws=LEAST_DRAWS)
            agents = _agents(found)
            for one in answer.hazards:
                groups.setdefault((agents, one.hazard), []).append((answer, one))
    rows = [_row(agents, hazard, found) for (agents, hazard), found in groups.items()]
    return tuple(sorted(rows, key=lambda row: (-len(row.failures), row.name, row.hazard_name)))


def outcomes(book: Book, now: datetime, pond: UUID | None = None) -> tuple[Outcome, ...]:
    """What came of every course of which a dose was logged, the newest first.

    Parameters
    ----------
    book
        The practice's book; of ponds that stand in it.
    now
        The present instant, with a time zone.
    pond
        The one pond; None for all.
    """
    found = [
        outcome_of(one, record)
        for record in _records(book, book.today(now), pond)
        for one in record.courses
        if one.given
    ]
    return tuple(sorted(found, key=lambda one: (max(dose.at for dose in one.course.given),
                                                one.course.id), reverse=True))  # fmt: skip


def _agents(found: Course) -> tuple[str, ...]:
    given = {one.place for one in found.given}
    return tuple(dict.fromkeys(step.agent for step in found.plan.steps if step.place in given))


def _records(book: Book, today: date, pond: UUID | None = None) -> Iterable[PondRecord]:
    """All courses and examinations in two readings; the water of a pond where it is asked for."""
    ponds, exams = table("pond").c, table("examination").c
    standing = select(ponds.id).where(ponds.struck_at.is_(None))
    if pond is not None:
        standing = standing.where(ponds.id == pond)
    with book.reading() as connection:
        courses = read_courses(connection, book.zone, table("course").c.pond_id.in_(standing))
        treated = select(table("course").c.pond_id)
        looked = read_examinations(
            connection, exams.pond_id.in_(treated), exams.pond_id.in_(standing)
        )
    of_pond: dict[UUID, list[Course]] = defaultdict(list)
    for one in courses:
        of_pond[one.pond_id].append(one)
    seen: dict[UUID, list[KeptExam]] = defaultdict(list)
    for exam in looked:
        seen[exam.pond_id].append(exam)
    for key, here in of_pond.items():
        where = card(book, key)
        if not where.struck:
            yield PondRecord(
                where, tuple(here), tuple(seen[key]), water_of(book, key, today), book.zone, today
            )


def _row(
    agents: tuple[str, ...], hazard: str, found: Sequence[tuple[Outcome, HazardOutcome]]
) -> AgentHazard:
    results = sorted(
        (_result(answer, one) for answer, one in found),
        key=lambda one: (_WORST.index(one.change), one.where, one.treated_until, one.course),
    )
    counted = [
        PondResult(
            f"{one.where} ({day_said(one.treated_until)})",
            one.outcome.told.compared.found
            if one.outcome.told is not None and not one.outcome.mixed
            else None,
            one.why or (one.outcome.told.compared.why if one.outcome.told is not None else ""),
        )
        for one in results
    ]
    plan = found[0][0].course.plan
    return AgentHazard(
        agents, ", then ".join(plan.plain_name(one) for one in agents), hazard,
        hazards()[hazard].plain_name,
        over_ponds(counted) if any(one.found is not None for one in counted) else None,
        tuple(results), tuple(one for one in results if one.change in {"no fewer", "not shown"}),
    )  # fmt: skip


def _result(answer: Outcome, one: HazardOutcome) -> CourseResult:
    assert answer.treated_until is not None
    where = answer.card
    named = ", ".join(part for part in (where.client.name, where.pond.name) if part)
    return CourseResult(
        answer.course.id, answer.course.pond_id, named, answer.treated_until, one
    )  # fmt: skip

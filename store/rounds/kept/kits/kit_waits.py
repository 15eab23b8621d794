"""Why a dose is not packed: it waits for a vet, a stop or another day, or the owner gives it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from store.book.ponds import PondCard
from store.courses.cautions.before import cautions_before
from store.courses.kept.against_stop import open_stops
from store.courses.kept.course_page import DoseLine
from store.courses.kept.course_water import Temps
from store.courses.kept.dose_now import AskedNow
from store.courses.kept.records import Course
from store.courses.kept.same_stop import answered_before
from store.courses.kept.water_now import Beside
from store.courses.planning.course import PondWater
from store.courses.turning.turned import turned
from store.errors import PondroundError
from store.facts.agent import Agent
from store.rounds.kit.amounts import amount_said
from store.rounds.kit.values import StopRef
from store.text import day_said

OWNER = "The owner gives it: ask whether enough of it is there."
MEASURED = "It is packed, and stays a stop until it is read at the pond:"
MISSING = "missing_"
"""Stops for a reading that nobody has: the visit itself can answer them."""


def key_of(course: Course, line: DoseLine) -> UUID | None:
    """The key of a dose.

    Parameters
    ----------
    course
        The course.
    line
        The dose.
    """
    return course.dose_ids.get((line.step.place, line.planned.number))


@dataclass(frozen=True, slots=True)
class Seen:
    """A course with all that its doses are looked at with."""

    course: Course
    card: PondCard
    stop: StopRef
    day: date
    today: date
    temps: Temps | None
    water: PondWater | None
    beside: Beside
    trouble: str
    formulary: Mapping[str, Agent]
    named: Collection[UUID]

    def waits(self, line: DoseLine) -> str:
        """Why a dose is not packed, its stops apart; empty where nothing speaks against it.

        Parameters
        ----------
        line
            The dose.
        """
        found = self.course
        planned = line.planned
        if planned.share == "owner":
            return OWNER
        if found.state == "planned":
            return "The course has not begun: a vet begins it, then it is packed."
        if self.trouble:
            return self.trouble
        for stop in open_stops(found):
            return f"A vet has not answered a stop: {stop.stop.said}"
        if planned.due_on > self.day:
            return (
                f"It is due on {day_said(planned.due_on)}, after this visit: a vet says whether "
                "it goes in sooner."
            )
        if self.today <= planned.due_on < self.day and key_of(found, line) not in self.named:
            return (
                f"It is due on {day_said(planned.due_on)}, before this visit: packed if it is "
                "not given by then."
            )
        parts = [one.given.on_day for one in line.log if not one.struck_why]
        if parts and max(parts) < self.day:
            return (
                f"A part of it was given on {day_said(max(parts))}: a vet says whether the rest "
                "still goes in."
            )
        return self._slipped(line)

    def _slipped(self, line: DoseLine) -> str:
        """What planning anew would make of it, where that is another dose or none."""
        turn = turned(self.course.plan, self.course.given, self.today, temps=self.temps)
        if not turn.changed:
            return ""
        new = next(
            (
                one
                for step in turn.plan.steps
                if step.place == line.step.place
                for one in step.doses
                if one.number == line.planned.number
            ),
            None,
        )
        if new is not None and new.state == "due" and math.isclose(
            new.amount, line.planned.amount, rel_tol=1e-9
        ) and new.due_on <= self.day:  # fmt: skip
            return ""
        became = (
            "is not in it any more" if new is None or new.state != "due"
            else f"comes on {day_said(new.due_on)}, "
            f"{amount_said(new.amount, new.amount_unit)}"
        )  # fmt: skip
        return f"The course is to be planned anew by a vet; this dose {became}."

    def stops(self, line: DoseLine, asked: AskedNow) -> tuple[tuple[str, str], ...]:
        """The stops before a dose that nobody answered: their codes and sentences.

        Parameters
        ----------
        line
            The dose.
        asked
            What of it is asked for.
        """
        if self.water is None or asked.amount <= 0.0:
            return ()
        planned = line.planned
        dose = replace(planned, amount=asked.amount)
        if asked.lacks is None and planned.amount:
            dose = replace(dose, dose=planned.dose * asked.amount / planned.amount)
        try:
            stated = cautions_before(
                self.course.plan, line.step, dose, self.water, given=self.course.given,
                running=self.beside.running, last=self.beside.last, on_day=self.day,
            )  # fmt: skip
        except PondroundError as trouble:
            return (("trouble", trouble.message),)
        return tuple(
            (one.code, one.said)
            for one in stated
            if one.level == "stop" and answered_before(self.course, one) is None
        )


def unanswered(stops: Sequence[tuple[str, str]]) -> str:
    """The first stop that no reading at the pond can answer; empty where there is none.

    Parameters
    ----------
    stops
        From `Seen.stops`.
    """
    held = [said for code, said in stops if not code.startswith(MISSING)]
    if not held:
        return ""
    more = f" {len(held) - 1} more." if len(held) > 1 else ""
    return f"A stop waits for a vet's reason in writing: {held[0]}{more}"

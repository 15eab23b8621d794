"""A course as the book keeps it: plan, log, tasks, answers. Nothing is read here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from store.courses.planning.course import CourseState, Given, Plan, Task

CONTROL = "control"
"""Code of the task that is the control examination."""


@dataclass(frozen=True, slots=True)
class LoggedDose:
    """A dose as somebody logged it; one that was struck through by mistake stays to be read."""

    id: UUID
    rev: int
    given: Given
    given_by: str
    batch: str
    observed: str
    logged_by: UUID
    struck_why: str


@dataclass(frozen=True, slots=True)
class KeptTask:
    """A task of a course; `done_at` is None until somebody ticks it, `note` is what they wrote."""

    id: UUID
    rev: int
    task: Task
    done_at: datetime | None
    done_by: UUID | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """A caution as it was shown, and the reason for which a vet went on.

    `dose` is the place of the step and the number of the dose before which it was shown; None
    before the course. A stop without a reason was passed over by somebody who is no vet, when a
    dose was logged that had been given.
    """

    code: str
    level: str
    said: str
    reason: str
    at: datetime
    by: UUID
    dose: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Course:
    """A course of one pond: the plan as it stands now, and everything that happened to it."""

    id: UUID
    rev: int
    pond_id: UUID
    state: CourseState
    plan: Plan
    started_on: date | None
    ended_on: date | None
    end_why: str
    prescribed_by: UUID
    note: str
    log: tuple[LoggedDose, ...]
    turns: tuple[tuple[datetime, str], ...]
    answered: tuple[Answered, ...]
    dose_ids: Mapping[tuple[int, int], UUID]
    """Place of the step and number of the dose to its key."""
    tasks: tuple[KeptTask, ...] = ()
    """Those of the plan, and those that were done before it was planned anew."""
    follows: UUID | None = None
    """The course that this one takes the place of."""

    @property
    def given(self) -> tuple[Given, ...]:
        """What counts of the log: the doses that are not struck through, old to new."""
        return tuple(one.given for one in self.log if not one.struck_why)

    @property
    def control_done(self) -> KeptTask | None:
        """The control examination, once it was made; None while one is still to be made."""
        controls = [one for one in self.tasks if one.task.code == CONTROL]
        if not controls or any(one.done_at is None for one in controls):
            return None
        return controls[-1]

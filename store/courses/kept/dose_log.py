"""The log of doses: what was really given, by whom, and what it changed. Everybody may log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from math import inf
from typing import Literal
from uuid import UUID

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.courses.kept.allowed import answer, course_within
from store.courses.kept.course_page import DoseLine, dose_lines
from store.courses.kept.dose_now import (
    AMOUNT_OFF,
    AskedNow,
    dose_counted,
    left_of,
    off_caution,
    refuse_off,
)
from store.courses.kept.records import Course
from store.courses.planning.course import Caution
from store.errors import BadInput, NotAllowed, NotFound


def log_dose(
    writing: Writing,
    dose_id: UUID,
    *,
    given_at: datetime,
    amount: float,
    amount_unit: Literal["g", "mL"],
    water_change_percent: float,
    given_by: str,
    batch: str = "",
    observed: str = "",
    cautions: Sequence[Caution] = (),
    reasons: Mapping[str, str] | None = None,
    asked: AskedNow | None = None,
) -> UUID:
    """Log a dose as it was really given.

    Parameters
    ----------
    writing
        The action; whoever gave it or heard of it.
    dose_id
        The planned dose it was.
    given_at
        The instant, not ahead.
    amount, amount_unit
        What was measured out [g or mL], in the unit of the plan.
    water_change_percent
        The water change that really went before it [% of the volume].
    given_by
        Who gave it, in words: the owner is none of the staff.
    batch
        Of the product.
    observed
        What was seen, in words.
    cautions, reasons
        As for `start_course`; only a vet can answer a `stop`. Where somebody else logs the dose and
        leaves the stops without a reason, they stand open until a vet answers them, for what was
        given is a fact: see `store.courses.kept.against_stop`. The reason under `amount_off` is who
        decided on an amount that is off what is asked for by more than a tenth, and why.
    asked
        What was asked for then, at its level and salinity, from `store.courses.kept.dose_now`; None
        for what the plan has left of the dose in the full pond.

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    NotAllowed
        The course does not run, or a `stop` was answered by somebody who is no vet.
    NotFound
        No such dose.
    BadInput
        A time ahead, another unit, an amount that is not above zero, a `stop` that a vet leaves
        without a reason, or an amount that is off what is asked for while nobody says why.
    """
    doses, steps = table("course_dose"), table("course_step")
    query = (
        select(doses, steps.c.course_id)
        .join(steps, steps.c.id == doses.c.step_id)
        .where(doses.c.id == dose_id)
        .with_for_update(of=doses)
    )
    planned = writing.connection.execute(query).one_or_none()
    if planned is None:
        raise NotFound("There is no such dose in the book; nothing was saved.")
    found = course_within(writing, planned.course_id)
    if found.state != "running":
        raise NotAllowed(f"The course is {found.state}, and no dose of it can be logged.")
    if given_at > writing.act.at:
        raise BadInput("This time lies ahead. Nothing was saved.", field="given_at")
    if amount_unit != planned.amount_unit:
        raise BadInput(
            f"The plan measures this dose in {planned.amount_unit}, not in {amount_unit}. "
            "Nothing was saved.",
            field="amount",
        )
    if not 0.0 < amount < inf:
        raise BadInput(
            "The amount that was given is a number above zero. Nothing was saved.", field="amount"
        )
    line = _line(found, dose_id, writing.book.today(writing.act.at))
    if asked is None:
        asked = AskedNow(left_of(line), line.planned.amount_unit, 1.0, ())
    if not 0.0 < asked.share <= 1.0:
        raise BadInput("A pond is full or less than full. Nothing was saved.", field="level")
    refuse_off(amount, asked, (reasons or {}).get(AMOUNT_OFF, ""))
    off = off_caution(amount, asked)
    if off is not None and all(one.code != AMOUNT_OFF for one in cautions):
        cautions = (off, *cautions)
    answer(writing, found.id, dose_id, cautions, reasons or {}, was_given=True)
    return writing.add(
        "dose_given",
        dose_id=dose_id,
        given_at=given_at,
        dose=dose_counted(line, amount, asked),
        amount=amount,
        amount_unit=amount_unit,
        water_change_percent=water_change_percent,
        given_by=given_by,
        batch=batch,
        observed=observed,
    )


def _line(found: Course, dose_id: UUID, today: date) -> DoseLine:
    keys = {key: where for where, key in found.dose_ids.items()}
    return next(
        one
        for one in dose_lines(found, today)
        if (one.step.place, one.planned.number) == keys[dose_id]
    )


def strike_given(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Strike an entry of the log through; it stays to be read and no longer counts.

    Parameters
    ----------
    writing
        The action.
    key, rev
        The entry, as the person saw it.
    why
        The reason.

    Raises
    ------
    BadInput, ChangedMeanwhile, NotAllowed, NotFound
        As for `Writing.strike`.
    """
    return writing.strike("dose_given", key, why, rev)

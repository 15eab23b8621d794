"""Courses out of the rows of the book, and what of a pond's water goes into them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Row

from store.courses.kept.course_values import Answered, Course, KeptTask, LoggedDose
from store.courses.planning.course import (
    Given,
    Plan,
    PlannedDose,
    PlanStep,
    PondWater,
    Product,
    Ration,
    Task,
)
from store.facts.agent import Agent
from store.facts.entry import OWN

_WATER = tuple(
    field.name
    for field in fields(PondWater)
    if field.name not in ("volume_l", "volume_low_l", "volume_high_l", "use")
)


def water_kept(water: PondWater) -> dict[str, Any]:
    """What of the pond's water is kept beside the volume, as the book holds it.

    Parameters
    ----------
    water
        As it was found when the course was planned.
    """
    kept = {name: getattr(water, name) for name in _WATER}
    kept["things"] = sorted(water.things)
    return {name: value for name, value in kept.items() if value not in (None, "", [])}


def made_task(row: Row[Any], notes: Mapping[tuple[UUID, int], str]) -> KeptTask:
    """A task out of its row.

    Parameters
    ----------
    row
        Of `course_task`.
    notes
        What was written beside each tick, by key and revision.
    """
    done = row.done_at is not None
    return KeptTask(
        row.id,
        row.rev,
        Task(row.code, row.on_day, row.says, row.share, row.source),
        row.done_at,
        row.changed_by if done else None,
        notes.get((row.id, row.rev), "") if done else "",
    )


def made_course(
    row: Row[Any],
    steps: Sequence[Row[Any]],
    doses: Sequence[Row[Any]],
    log: Sequence[Row[Any]],
    tasks: Sequence[KeptTask],
    turns: Sequence[Row[Any]],
    answers: Sequence[Row[Any]],
    zone: ZoneInfo,
    rations: Mapping[UUID, Ration],
    own_doses: Mapping[UUID, UUID | None],
    known: Mapping[str, Agent],
) -> Course:
    """A course out of its row and the rows that belong to it.

    Parameters
    ----------
    row
        Of `course`.
    steps, tasks, turns, answers
        Of this course, in their order.
    doses, log
        Of this course or of several.
    zone
        Of the practice, in which a dose belongs to its calendar day.
    rations, own_doses
        Of each step by its key, where it has one.
    known
        The formulary, with what was struck through.
    """
    places = {step.id: step.place for step in steps}
    own = {dose.id: dose for dose in doses if dose.step_id in places}
    dose_ids = {(places[dose.step_id], dose.nth): dose.id for dose in own.values()}
    water = PondWater(
        row.volume_l,
        row.volume_low_l,
        row.volume_high_l,
        use=row.use,
        **{**row.water, "things": frozenset(row.water.get("things", ()))},
    )
    of_dose = {key: where for where, key in dose_ids.items()}
    return Course(
        id=row.id,
        rev=row.rev,
        pond_id=row.pond_id,
        state=row.state,
        plan=Plan(
            hazards=tuple(row.hazards),
            reason=row.reason,
            water=water,
            steps=tuple(
                _step(
                    step,
                    [one for one in doses if one.step_id == step.id],
                    rations.get(step.id),
                    own_doses.get(step.id),
                    known.get(step.agent),
                )
                for step in steps
            ),
            tasks=tuple(one.task for one in tasks),
            control_on=row.control_on,
            remarks=tuple(row.remarks),
            formulary=known,
        ),
        started_on=row.started_on,
        ended_on=row.ended_on,
        end_why=row.end_why,
        prescribed_by=row.created_by,
        note=row.note,
        log=tuple(
            _logged(one, places[own[one.dose_id].step_id], own[one.dose_id].nth, zone)
            for one in log
            if one.dose_id in own
        ),
        turns=tuple((one.created_at, one.said) for one in turns),
        answered=tuple(
            Answered(
                one.code, one.level, one.said, one.reason, one.created_at, one.created_by,
                of_dose.get(one.dose_id),
            )
            for one in answers
        ),
        dose_ids=dose_ids,
        tasks=tuple(tasks),
        follows=row.follows_id,
    )  # fmt: skip


def ration_of(row: Row[Any]) -> Ration:
    """What a step that is given with the feed was reckoned for, out of its row.

    Parameters
    ----------
    row
        Of `feed_ration`.
    """
    return Ration(**{field.name: getattr(row, field.name) for field in fields(Ration)})


def _step(
    row: Row[Any],
    doses: Sequence[Row[Any]],
    ration: Ration | None,
    own_dose: UUID | None,
    agent: Agent | None,
) -> PlanStep:
    own = own_dose is not None or (agent is not None and agent.standing == OWN)
    return PlanStep(
        place=row.place,
        agent=row.agent,
        route=row.route,
        dose=row.dose,
        unit=row.unit,
        product=Product(row.product, row.strength_percent, row.strength_basis, row.density_g_ml),
        volume_l=row.volume_l,
        doses=tuple(
            PlannedDose(
                one.nth,
                one.due_on,
                one.dose,
                one.amount,
                one.amount_unit,
                one.water_change_percent,
                one.share,
                one.state,
                one.added,
            )
            for one in doses
        ),
        interval_days=row.interval_days,
        interval_why=row.interval_why,
        exposure_h=row.exposure_h,
        half_life_h=row.half_life_h,
        safe_most=row.safe_most,
        source=row.source,
        standing=OWN if own else row.standing,
        remarks=tuple(row.remarks),
        gap_days=row.gap_days,
        ration=ration,
        own_dose=own_dose,
        called=row.agent if agent is None else agent.plain_name,
    )


def _logged(row: Row[Any], place: int, number: int, zone: ZoneInfo) -> LoggedDose:
    given = Given(
        place=place,
        number=number,
        at=row.given_at,
        on_day=row.given_at.astimezone(zone).date(),
        dose=row.dose,
        amount=row.amount,
        amount_unit=row.amount_unit,
        water_change_percent=row.water_change_percent,
    )
    return LoggedDose(
        row.id, row.rev, given, row.given_by, row.batch, row.observed, row.created_by,
        row.struck_why,
    )  # fmt: skip

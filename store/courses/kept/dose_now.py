"""What a dose comes to today: at the level of today, and for salt against the salinity of today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from store.courses.baths.salt_target import three_forms
from store.courses.kept.course_page import DoseLine
from store.courses.kept.records import Course
from store.courses.planning.course import Caution, PondWater
from store.courses.planning.level import Level
from store.courses.planning.limits import MG_IN_G
from store.courses.planning.plan import measured_out
from store.courses.planning.predicted import moments, predicted
from store.courses.planning.route import FRESH
from store.courses.planning.typed_step import SALT_AGENT
from store.errors import BadInput
from store.water.given import figures

OFF_BY = 0.10
"""An amount that is off by more than this share was decided by somebody; common practice [-]."""
AGAIN_WITHIN = timedelta(hours=24)
"""A second dose so soon may be the same one, logged by two people; common practice."""
AMOUNT_OFF = "amount_off"
AGAIN_SOON = "again_soon"
COLOUR = {"potassium_permanganate": "how many h the colour lasted"}
"""What is asked after a dose of which the colour tells how long it worked, by the agent's code."""


@dataclass(frozen=True, slots=True)
class AskedNow:
    """What of a dose is asked today [g or mL], with the arithmetic; empty where it is the plan's.

    `share` is that of the planned volume which is treated [-]. `kept` is what of `said` is written
    down with the entry.
    """

    amount: float
    unit: str
    share: float
    said: tuple[str, ...]
    lacks: float | None = None
    """What the water lacks of the salinity that is meant after the dose [unit of the step], below 0
    where it holds more; None where the amount is the plan's own."""
    kept: str = ""


def asked_now(
    course: Course, line: DoseLine, water: PondWater, level: Level | None = None
) -> AskedNow:
    """What a dose comes to in the pond as it is today.

    Parameters
    ----------
    course
        Its course.
    line
        The dose.
    water
        The pond as it is now.
    level
        From `store.courses.planning.level.level_now`; None where the pond is as it was planned.

    Returns
    -------
    AskedNow
        Salt in a pond is what the salinity of now lacks of the one that is meant after this dose;
        all else is what the plan says, less what was given of it, at the level of today.
    """
    step, planned = line.step, line.planned
    share = 1.0 if level is None or step.route in FRESH else level.share
    kept = "" if level is None or step.route in FRESH else level.said
    said = (kept,) if kept else ()
    if step.agent == SALT_AGENT and step.route not in FRESH and step.ration is None:
        salt = _salt(course, line, water, share)
        if salt is not None:
            return replace(salt, said=(*said, *salt.said), kept=f"{kept} {salt.kept}".strip())
    return AskedNow(left_of(line) * share, planned.amount_unit, share, said, kept=kept)


def left_of(line: DoseLine) -> float:
    """What of a dose is not yet given [g or mL, as the plan measures it].

    Parameters
    ----------
    line
        The dose.
    """
    gone = sum(one.given.amount for one in line.log if not one.struck_why)
    return line.planned.amount if gone >= line.planned.amount else line.planned.amount - gone


def dose_counted(line: DoseLine, amount: float, asked: AskedNow) -> float:
    """What an amount counts as beside the plan [unit of the step].

    Parameters
    ----------
    line
        The dose.
    amount
        As given [g or mL].
    asked
        What was asked for then.

    Notes
    -----
    An amount is what it brings into the water. Salt that is to bring a pond to a salinity counts by
    what the water comes to: the amount that the salinity of the day asks for is the planned dose,
    however much it is, and less or more of it counts as that share. Where more than a tenth too
    much went in, all that it brings the water above what was meant stands on top of the plan.
    """
    planned = line.planned
    if not planned.amount or not asked.share:
        return 0.0
    brings = planned.dose * amount / (planned.amount * asked.share)
    if asked.lacks is None:
        return brings
    gone = sum(one.given.dose for one in line.log if not one.struck_why)
    left = planned.dose if gone >= planned.dose else planned.dose - gone
    above = left + brings - asked.lacks
    if asked.amount <= 0.0:
        return max(0.0, above)
    share = left * amount / asked.amount
    return max(share, above) if off_by(amount, asked) > OFF_BY + 1e-9 else share


def _salt(course: Course, line: DoseLine, water: PondWater, share: float) -> AskedNow | None:
    """The salt that is lacking, where both salinities are known."""
    planned = line.planned
    before, now = course.plan.water.salinity_g_l, water.salinity_g_l
    if now is None:
        return None if before is None else AskedNow(
            left_of(line) * share,
            planned.amount_unit,
            share,
            ("The salinity of now is not known: measure it after the water change, before the "
             "dose.",),
        )  # fmt: skip
    numbers = [one.number for one in moments(line.step)]
    if before is None or planned.number not in numbers:
        return None
    added = predicted(replace(line.step, half_life_h=None)).bound_mg_l
    meant = before + added[numbers.index(planned.number)] / MG_IN_G
    lacks = meant - now
    volume_l = line.step.volume_l * share
    if lacks <= 0.0:
        said = (
            f"After this dose {three_forms(meant)} are meant, and {figures(now)} g/L are there: "
            "nothing is to be added."
        )
        return AskedNow(0.0, planned.amount_unit, share, (said,), lacks * MG_IN_G, said)
    out = measured_out(lacks * MG_IN_G, line.step.unit, line.step.product, volume_l).out
    said = (
        f"After this dose {three_forms(meant)} are meant: ({figures(meant)} - {figures(now)}) g/L "
        f"× {figures(volume_l)} L = {out.said}."
    )
    return AskedNow(
        out.measured or out.exact, planned.amount_unit, share,
        (f"{said} Measure it after the water change.",), lacks * MG_IN_G, said,
    )  # fmt: skip


def off_by(amount: float, asked: AskedNow) -> float:
    """How far an amount is off what is asked, as a share of that [-]; 0 where nothing is asked.

    Parameters
    ----------
    amount
        As typed [g or mL].
    asked
        What is asked today.
    """
    return amount / asked.amount - 1.0 if asked.amount > 0.0 else 0.0


def off_caution(amount: float, asked: AskedNow) -> Caution | None:
    """A caution where an amount is off by more than a tenth; its reason is who decided, and why.

    Parameters
    ----------
    amount
        As typed [g or mL].
    asked
        What is asked today.
    """
    off = off_by(amount, asked)
    if abs(off) <= OFF_BY + 1e-9:
        return None
    way = "more" if off > 0.0 else "less"
    return Caution(
        AMOUNT_OFF,
        "mind",
        f"{figures(amount)} {asked.unit} are {figures(100.0 * abs(off), 3)} % {way} than the "
        f"{figures(asked.amount)} {asked.unit} that are asked for. Who decided it, and why, stands "
        "in the record.",
        f"{figures(amount)} / {figures(asked.amount)} = {figures(1.0 + off, 3)}",
        "common practice of the trade",
    )


def refuse_off(amount: float, asked: AskedNow, why: str) -> None:
    """Refuse an amount that is off what is asked for while nobody says who decided it, and why.

    Parameters
    ----------
    amount
        As typed [g or mL].
    asked
        What is asked today.
    why
        Who decided, and why, in words.

    Raises
    ------
    BadInput
        It is off by more than a tenth, and `why` is empty.
    """
    if not why.strip() and off_caution(amount, asked) is not None:
        raise BadInput(
            f"{figures(asked.amount)} {asked.unit} are asked for: who decided on another amount, "
            "and why? Nothing was saved.",
            field="off_why",
        )


def again_soon(line: DoseLine, at: datetime, log: Sequence[tuple[int, int, datetime]]) -> tuple[
    Caution, ...
]:  # fmt: skip
    """A caution where another dose of the same agent went in within a day of this one.

    Parameters
    ----------
    line
        The dose.
    at
        When it was given.
    log
        Place, number and instant of every dose that counts.
    """
    near = [
        (abs(at - when), number)
        for place, number, when in log
        if place == line.step.place and abs(at - when) < AGAIN_WITHIN
    ]
    if not near:
        return ()
    apart, number = min(near)
    hours = apart.total_seconds() / 3600.0
    return (
        Caution(
            AGAIN_SOON,
            "mind",
            f"Dose {number} of it is logged {figures(hours, 2)} h from this one. Is this another "
            "dose, and not the same one logged by two people?",
            f"less than {AGAIN_WITHIN.total_seconds() / 3600.0:g} h apart",
            "common practice of the trade",
        ),
    )

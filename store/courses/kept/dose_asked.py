"""What is asked before a dose is logged: which doses are open, and what stands against one now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.days import typed_day, typed_time
from store.book.people import person
from store.book.ponds import PondCard, card
from store.courses.baths.weighing import refuse_household
from store.courses.cautions.before import cautions_before
from store.courses.kept.course_page import DoseLine, dose_lines
from store.courses.kept.dose_log import log_dose
from store.courses.kept.dose_now import (
    AMOUNT_OFF,
    COLOUR,
    AskedNow,
    again_soon,
    asked_now,
    off_caution,
    refuse_off,
)
from store.courses.kept.records import Course, course
from store.courses.kept.tasks import task_cautions
from store.courses.kept.water_now import Beside, beside, water_now
from store.courses.planning.course import Caution, PondWater
from store.courses.planning.level import Level, at_level, level_now
from store.courses.planning.route import FRESH
from store.errors import BadInput
from store.water.given import figures
from store.water.measures import quantity

NOON = 12
"""Hour of a dose of an earlier day without a time of its own."""


@dataclass(frozen=True, slots=True)
class DoseAsked:
    """A course with its open doses, the one that is due first on top, in the water as it is now."""

    course: Course
    card: PondCard
    open: tuple[DoseLine, ...]
    water: PondWater
    beside: Beside
    today: date

    def line(self, place: int, number: int) -> DoseLine:
        """The open dose of that step and number.

        Raises
        ------
        BadInput
            It is not open.
        """
        for one in self.open:
            if (one.step.place, one.planned.number) == (place, number):
                return one
        raise BadInput("Please choose a dose of the course.", field="which")


@dataclass(frozen=True, slots=True)
class DoseTyped:
    """A dose as it was typed and understood."""

    line: DoseLine
    at: datetime
    on_day: date
    amount: float
    water_change_percent: float
    asked: AskedNow
    level: Level | None = None


def dose_asked(book: Book, key: UUID, now: datetime) -> DoseAsked:
    """What can be logged of a course.

    Parameters
    ----------
    book
        The practice's book.
    key
        Of the course.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        No such course.
    BadInput
        The pond has no volume.
    """
    found, today = course(book, key), book.today(now)
    lines = dose_lines(found, today)
    opened = [one for one in lines if one.stands not in {"given", "dropped"}]
    # A dose that was missed may have been given after all; it is offered last.
    opened.sort(key=lambda one: (one.stands == "missed", one.planned.due_on, one.step.place))
    return DoseAsked(
        course=found,
        card=card(book, found.pond_id),
        open=tuple(opened),
        water=water_now(book, found.pond_id, now),
        beside=beside(book, found.pond_id, today, but=key),
        today=today,
    )


def now_of(asked: DoseAsked, values: Mapping[str, str]) -> AskedNow:
    """What the dose that is chosen comes to today.

    Parameters
    ----------
    asked
        What `dose_asked` gave.
    values
        `which` and `level`, as typed.

    Raises
    ------
    BadInput
        No such dose, or a level that cannot be, at its field.
    """
    line = _chosen(asked, values)
    return asked_now(asked.course, line, asked.water, _level(line, values))


def observe_said(line: DoseLine) -> str | None:
    """What of a dose is worth a look above all; None for nothing.

    Parameters
    ----------
    line
        The dose.
    """
    return COLOUR.get(line.step.agent)


def _chosen(asked: DoseAsked, values: Mapping[str, str]) -> DoseLine:
    place, _, number = values["which"].partition(":")
    if not (place.isdecimal() and number.isdecimal()):
        raise BadInput("Please choose a dose of the course.", field="which")
    return asked.line(int(place), int(number))


def _level(line: DoseLine, values: Mapping[str, str]) -> Level | None:
    if line.step.ration is not None or line.step.route in FRESH:
        return None
    return level_now(values.get("level", ""), line.step.volume_l)


def dose_typed(asked: DoseAsked, values: Mapping[str, str], now: datetime, book: Book) -> DoseTyped:
    """What was typed of a dose, understood.

    Parameters
    ----------
    asked
        What `dose_asked` gave.
    values
        `which` (step and number, `1:2`), `amount` (a number, with `g` or `mL` or without), `on_day`
        and `at_time` as people type them, `change` [% of the volume], `level` of the pond today.
    now
        The present instant.
    book
        For the zone.

    Returns
    -------
    DoseTyped
        Without a time it is now, and noon on an earlier day.

    Raises
    ------
    BadInput
        Something that cannot be understood, or lies ahead, at its field.
    """
    line = _chosen(asked, values)
    on_day = typed_day(values["on_day"], asked.today, ahead=False)
    hour = typed_time(values["at_time"])
    if hour is not None:
        at = datetime.combine(on_day, hour, book.zone)
    elif on_day == asked.today:
        at = now
    else:
        at = datetime.combine(on_day, datetime.min.time().replace(hour=NOON), book.zone)
    if on_day > asked.today or at > now:
        raise BadInput(
            "This lies ahead: a dose is logged once it is given. Nothing was saved.",
            field="on_day" if on_day > asked.today else "at_time",
        )
    return DoseTyped(
        line=line,
        at=at,
        on_day=on_day,
        amount=_amount(values["amount"], line.planned.amount_unit),
        water_change_percent=_percent(values["change"]),
        asked=now_of(asked, values),
        level=_level(line, values),
    )


def dose_said(typed: DoseTyped) -> str:
    """The amount as a concentration beside the plan's, such as `1.02 mg/L, planned 1 mg/L`.

    Parameters
    ----------
    typed
        What was understood.
    """
    planned = typed.line.planned
    unit = typed.line.step.unit.replace("uL", "µL")
    said = f"{figures(_dose_of(typed))} {unit}; planned {figures(planned.dose)} {unit}"
    if typed.asked.said:
        said += f"; asked today {figures(typed.asked.amount)} {typed.asked.unit}"
    return said


def cautions_of(asked: DoseAsked, typed: DoseTyped) -> tuple[Caution, ...]:
    """What stands against a dose as it was typed, `stop` first.

    Parameters
    ----------
    asked
        What `dose_asked` gave.
    typed
        The dose.

    Raises
    ------
    BadInput, NotFound
        As `cautions_before`.
    """
    dose = replace(
        typed.line.planned,
        dose=_dose_of(typed),
        amount=typed.amount,
        water_change_percent=typed.water_change_percent,
    )
    before = [*task_cautions(asked.course, typed.on_day)]
    off = off_caution(typed.amount, typed.asked)
    before = [off, *before] if off is not None else before
    log = [(one.place, one.number, one.at) for one in asked.course.given]
    stated = cautions_before(
        asked.course.plan,
        typed.line.step,
        dose,
        at_level(asked.water, typed.level),
        given=asked.course.given,
        running=asked.beside.running,
        last=asked.beside.last,
        on_day=typed.on_day,
    )
    if not any(one.code.startswith("twice") for one in stated):
        before = [*again_soon(typed.line, typed.at, log), *before]
    stops = sum(one.level == "stop" for one in stated)
    return (*stated[:stops], *before, *stated[stops:])


def log_typed(
    book: Book,
    act: Act,
    asked: DoseAsked,
    typed: DoseTyped,
    values: Mapping[str, str],
    cautions: tuple[Caution, ...],
    reasons: Mapping[str, str],
) -> UUID:
    """Log a dose as it was typed, with the cautions that were shown.

    Parameters
    ----------
    book, act
        The book, and who logs it when.
    asked, typed
        The course, and the dose as understood.
    values
        `given_by`, `batch` and `observed`, in words; who works is taken where nobody is named.
        `off_why` tells who decided on an amount that is not the one asked for, and why.
    cautions, reasons
        As for `log_dose`.

    Raises
    ------
    PondroundError
        As `log_dose`.
    """
    why = refuse_unexplained(typed, values)
    if why:
        reasons = {**reasons, AMOUNT_OFF: why}
    observed = " ".join(
        part for part in (values["observed"].strip(), typed.asked.kept) if part
    )  # fmt: skip
    by = values["given_by"].strip() or person(book, act.by).name
    dose = typed.line.planned
    with book.writing(act) as writing:
        return log_dose(
            writing,
            asked.course.dose_ids[typed.line.step.place, dose.number],
            given_at=min(typed.at, act.at),
            amount=typed.amount,
            amount_unit=dose.amount_unit,
            water_change_percent=typed.water_change_percent,
            given_by=by,
            batch=values["batch"].strip(),
            observed=observed,
            asked=typed.asked,
            cautions=cautions,
            reasons=reasons,
        )


def refuse_unexplained(typed: DoseTyped, values: Mapping[str, str]) -> str:
    """Who decided on an amount that is off what is asked for, and why; empty where it is not off.

    Parameters
    ----------
    typed
        The dose.
    values
        `off_why`, in words.

    Raises
    ------
    BadInput
        It is off, and nobody says why.
    """
    why = values.get("off_why", "").strip()
    refuse_off(typed.amount, typed.asked, why)
    return "" if off_caution(typed.amount, typed.asked) is None else why


def _dose_of(typed: DoseTyped) -> float:
    planned = typed.line.planned
    share = planned.amount * typed.asked.share
    return planned.dose * typed.amount / share if share else 0.0


def _amount(text: str, unit: str) -> float:
    if not text.strip():
        raise BadInput("How much was given? Nothing was saved.", field="amount")
    try:
        refuse_household(text)
        amount, typed_unit = quantity(text, "amount")
    except BadInput as trouble:
        raise BadInput(trouble.message, field="amount") from trouble
    if typed_unit and typed_unit.casefold() != unit.casefold():
        raise BadInput(
            f"The plan measures this dose in {unit}; please type the amount in {unit}. "
            "Nothing was saved.",
            field="amount",
        )
    if amount <= 0.0:
        raise BadInput(
            "The amount that was given is a number above zero. Nothing was saved.", field="amount"
        )
    return amount


def _percent(text: str) -> float:
    try:
        percent, unit = quantity(text or "0", "change")
    except BadInput as trouble:
        raise BadInput(trouble.message, field="change") from trouble
    if unit not in {"", "%"} or not 0.0 <= percent <= 100.0:
        raise BadInput(
            "The water change is a share of the volume, 0 to 100 %. Nothing was saved.",
            field="change",
        )
    return percent

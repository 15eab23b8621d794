"""When, why and by whom fish were looked at, from the texts that were typed for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.days import typed_day, typed_time
from store.errors import BadInput
from store.exams.entry import read_gear
from store.exams.values import PURPOSES, Exam, ExamFish, Purpose
from store.text import plain

FIELDS = ("purpose", "on_day", "at_time", "examiner", "gear", "note")


@dataclass(frozen=True, slots=True)
class Occasion:
    """Everything of an examination but its fish."""

    at: datetime
    purpose: Purpose
    examiner: str
    gear: str
    note: str


def read_occasion(
    texts: Mapping[str, str], *, now: datetime, zone: ZoneInfo, examiner: str = ""
) -> Occasion:
    """What the texts say of the occasion.

    Parameters
    ----------
    texts
        By the names of `FIELDS`; without a day and a time it is now.
    now
        The present instant, with a time zone.
    zone
        Of the practice.
    examiner
        Who is taken where no name was typed.

    Raises
    ------
    BadInput
        No purpose, a day or time that is not understood or lies ahead, a day before today without
        a time; `field` names the place.
    """
    local = now.astimezone(zone)
    purpose = texts.get("purpose", "")
    if purpose not in PURPOSES:
        raise BadInput("What was it done for?", field="purpose")
    day = typed_day(texts.get("on_day", ""), local.date(), ahead=False)
    typed = texts.get("at_time", "").strip()
    if day > local.date():
        raise BadInput("The day of the examination lies ahead.", field="on_day")
    at = now
    if typed and typed.casefold() != "now":
        clock = typed_time(typed)
        assert clock is not None
        at = datetime.combine(day, clock, zone)
        if at > now:
            raise BadInput("The time of the examination lies ahead.", field="at_time")
    elif day != local.date():
        raise BadInput("At what time was it?", field="at_time")
    name = plain(texts.get("examiner", "")).strip() or examiner
    note = plain(texts.get("note", ""), lines=True).strip()
    return Occasion(at, purpose, name, texts.get("gear", ""), note)


def made_exam(
    occasion: Occasion, fish: tuple[ExamFish, ...], *, course_id: UUID | None = None
) -> Exam:
    """The examination, to be kept.

    Parameters
    ----------
    occasion
        When, why, by whom.
    fish
        What was looked at and found.
    course_id
        The course that it controls.

    Raises
    ------
    BadInput
        The words for the gear are not clear, or nobody is named.
    """
    said = read_gear(occasion.gear)
    if said.question:
        raise BadInput(said.question, field="gear")
    if not occasion.examiner:
        raise BadInput("Who looked at the fish?", field="examiner")
    return Exam(
        at=occasion.at, purpose=occasion.purpose, examiner=occasion.examiner, fish=fish,
        gear=said.gear, disinfectant=said.disinfectant, contact_min=said.contact_min,
        note=occasion.note, course_id=course_id,
    )  # fmt: skip

"""What is to be done at a stop: doses with their amounts, examinations, water tests, samples."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from uuid import UUID

from store.book.ponds import PondCard
from store.courses.kept.course_values import Course
from store.courses.kept.tasks import open_tasks, short
from store.courses.planning.course import Product
from store.diary.calling.van import van_list
from store.diary.desk.about import About, about_of
from store.diary.kept.calls.call_notes import told_in
from store.errors import BadInput
from store.facts.call_questions import to_carry
from store.rounds.day.sheet import SUSPECT, Job, PondSheet
from store.rounds.day.values import Errand
from store.rounds.kept.sheets.sheet_ponds import OpenDose, hazard_name, open_doses
from store.rounds.kept.sheets.sheet_rows import SheetRows
from store.text import day_said, joined
from store.water.given import figures, said_minutes
from store.water.parameters import PARAMETERS

OLD_TEST_DAYS = 14
"""A pond whose newest test is older is tested on every visit; common practice [d]."""
USUAL = (
    "temperature_c", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "alkalinity_mg_l",
    "oxygen_mg_l",
)  # fmt: skip
"""What is read where nothing else says so; common practice."""
BEFORE_DOSE = ("temperature_c", "ph", "oxygen_mg_l")
"""What is read before a dose: pH and oxygen swing within the day; common practice."""
_FROM = {
    "nh3_n_mg_l": ("temperature_c", "ph", "tan_mg_l"),
    "co2_mg_l": ("temperature_c", "ph", "alkalinity_mg_l"),
}
"""What has to be read for a value that is reckoned."""
_ASKS_TEST = frozenset({"water_test", "look_again", "seasonal", "visit", "concern"})
_ASKS_LOOK = frozenset({"finding", "look_again", "control"})
_LABORATORY = re.compile(
    r"\b(?:laborator(?:y|ies)|lab|labs|swabs?|pcr|histolog\w+|bacteriolog\w+|samples? tubes?)\b",
    re.IGNORECASE,
)
_TAKE = "Take along: "
_SAME_L = 0.01
_SERIES = "temperature_c"
"""What is drawn beside a concern that rests on no reading of its own."""


def jobs_of(rows: SheetRows, errand: Errand, ponds: Sequence[PondSheet]) -> Iterator[Job]:
    """Everything that is to be done at a stop, pond by pond.

    Parameters
    ----------
    rows
        What the book holds.
    errand
        The visit.
    ponds
        Its ponds as the sheet has them.
    """
    abouts = tuple(_abouts(errand))
    for about in abouts:
        if about.thing == "call" and about.key in rows.calls:
            yield _call(rows, about.key)
    for card, sheet in zip(rows.cards[errand.key], ponds, strict=True):
        courses = rows.courses[card.pond.id]
        for course in courses:
            for one in open_doses(rows, course):
                yield _dose(rows, card, course, one)
        for course in courses:
            if _control_due(course, rows.day, abouts):
                yield _control(card, course)
        yield from _look(rows, card, errand)
        yield from _water(rows, card, errand, sheet)
        yield from _samples(rows, card, errand)
    for need in _laboratory(rows, errand, abouts):
        yield Job("sample", None, "", f"{_TAKE}{to_carry()['tubes'].says}", (need,))


def _abouts(errand: Errand) -> Iterator[About]:
    for one in errand.purposes:
        try:
            yield about_of(one.about)
        except BadInput:  # named on the sheet all the same, as a reason to come
            continue


def _call(rows: SheetRows, key: UUID) -> Job:
    note = rows.calls[key]
    at = note.called_at.astimezone(rows.book.zone)
    told = [f"Rang on {day_said(at.date())}, {at:%H:%M}; telephone {note.phone or 'not noted'}."]
    if saw := str(note.answers.get("saw", "")).strip():
        told.append(f"Told: {saw}")
    if note.advised:
        told.append(f"Was advised: {joined(note.advised)}")
    if note.note.strip():
        told.append(f"Note: {' '.join(note.note.split())}")
    return Job("call", None, "", f"Answer the {note.said}", tuple(told))


def _dose(rows: SheetRows, card: PondCard, course: Course, one: OpenDose) -> Job:
    step, dose, plan = one.due.step, one.due.dose, course.plan
    owner = dose.share == "owner"
    told = [f"Product: {_product(step.product, plan.plain_name(step.agent))}."]
    if dose.due_on < rows.day:
        told.append("Planned before this visit: look first whether it was given meanwhile.")
    if dose.water_change_percent > 0.0:
        litres = dose.water_change_percent / 100.0 * step.volume_l
        told.append(
            f"Change {figures(dose.water_change_percent)} % of the water first, about "
            f"{figures(litres, 2)} L."
        )
    if step.exposure_h is not None:
        told.append(f"The bath lasts {said_minutes(step.exposure_h * 60.0)}.")
    if before := list(dict.fromkeys(short(each.task) for each in open_tasks(course, rows.day))):
        told.append(f"Before it, and not ticked yet: {', '.join(before)}.")
    if course.state == "planned":
        told.append("The course has not begun: a vet begins it before the first dose.")
    in_force, planned = card.pond.volume_l, plan.water.volume_l
    if in_force is not None and abs(in_force - planned) > _SAME_L * planned:
        told.append(
            f"The course was reckoned for {planned:,.0f} L, and {in_force:,.0f} L are in force "
            "now: look at the course before anything is weighed."
        )
    told.append("The course asks before the dose what speaks against it, with that day's readings.")
    says = f"Owner's dose, ask whether it was given: {one.said}" if owner else f"Give {one.said}"
    return Job("dose", card.pond.id, card.pond.name, says, tuple(told))


def _product(product: Product, agent: str) -> str:
    name = product.name or agent
    if product.basis == "product":
        return f"{name}, as it comes"
    return f"{name}, {figures(product.strength_percent)} % {product.basis}"


def _control_due(course: Course, day: date, abouts: Sequence[About]) -> bool:
    control = course.plan.control_on
    if control is None or course.control_done is not None or course.state == "planned":
        return False
    named = any(one.thing == "control" and one.key == course.id for one in abouts)
    return named or control <= day


def _control(card: PondCard, course: Course) -> Job:
    control = course.plan.control_on
    on = "" if control is None else f", planned for {day_said(control)}"
    return Job(
        "control", card.pond.id, card.pond.name,
        f"Control examination of the course against {course.plan.reason}{on}",
        ("Count the same way and on as many fish as before the course, well or not.",),
    )  # fmt: skip


def _look(rows: SheetRows, card: PondCard, errand: Errand) -> Iterator[Job]:
    key = card.pond.id
    here = [one for one in errand.purposes if one.pond_id in (None, key)]
    found = rows.findings.get(key, ())
    if found:
        named = ", ".join(dict.fromkeys(hazard_name(one.hazard) for one in found))
        yield Job(
            "examination", key, card.pond.name,
            f"Look again in the same preparations, nothing has answered it yet: {named}",
        )  # fmt: skip
    elif any(one.kind in _ASKS_LOOK - {"control"} for one in here):
        yield Job("examination", key, card.pond.name, "Look at fish again, gill and skin")


def _water(rows: SheetRows, card: PondCard, errand: Errand, sheet: PondSheet) -> Iterator[Job]:
    key = card.pond.id
    because: dict[str, list[str]] = {}

    def ask(codes: Sequence[str], why: str) -> None:
        for code in codes:
            if code in PARAMETERS and why not in because.setdefault(code, []):
                because[code].append(why)

    test = rows.tests.get(key)
    usual = tuple(dict.fromkeys((*USUAL, *(() if test is None else test.readings))))
    for one in sheet.flagged:
        if one.parameter != _SERIES:
            ask(_FROM.get(one.parameter, (one.parameter,)), one.says)
    if any(open_doses(rows, course) for course in rows.courses[key]):
        ask(BEFORE_DOSE, "before the dose")
    kinds = {one.kind for one in errand.purposes if one.pond_id in (None, key)}
    if kinds & _ASKS_TEST:
        ask(usual, "promised")
    if test is None:
        ask(usual, "no test yet")
    elif (rows.day - test.taken_at.astimezone(rows.book.zone).date()).days > OLD_TEST_DAYS:
        ask(usual, f"the last test is more than {OLD_TEST_DAYS} days old")
    if not because:
        return
    codes = tuple(code for code in PARAMETERS if code in because)
    reasons = list(dict.fromkeys(why for code in codes for why in because[code]))
    yield Job(
        "water", key, card.pond.name,
        f"Water test: {', '.join(PARAMETERS[code].label for code in codes)}",
        (f"Because: {joined(reasons)}.",), codes,
    )  # fmt: skip


def _samples(rows: SheetRows, card: PondCard, errand: Errand) -> Iterator[Job]:
    samples = rows.samples[card.pond.id]
    for one in samples:
        said = f"{one.material or 'sample'} “{one.label}” of {day_said(one.taken_on)}"
        newer = any(
            other.taken_on > one.taken_on and other.hazard == one.hazard for other in samples
        )
        if one.result == "unclear" and not newer:
            yield Job(
                "sample", card.pond.id, card.pond.name,
                f"Take a new sample: {said} came back unclear",
                (f"{_TAKE}{to_carry()['tubes'].says}.",),
            )  # fmt: skip
        elif one.result == "awaited" and one.sent_on is None:
            yield Job(
                "sample", card.pond.id, card.pond.name, f"{said} is not sent yet",
                ("Fetch it or have it sent; look up the laboratory's hours.",),
            )  # fmt: skip


def _laboratory(rows: SheetRows, errand: Errand, abouts: Sequence[About]) -> Iterator[str]:
    """Why tubes are taken along, where a laboratory is asked for."""
    if errand.standing == SUSPECT:
        yield (
            "A notifiable disease is suspected: the authority says who samples and where to, "
            "before any treatment. Local law decides."
        )
        return
    for about in abouts:
        note = rows.calls.get(about.key) if about.thing == "call" else None
        if note is None:
            continue
        for one in van_list(*told_in(note, rows.book.zone)):
            if one.code == "tubes":
                yield f"By the call: {one.because}."
                return
    words = [one.says for one in errand.purposes]
    if errand.visit is not None:
        words.append(errand.visit.note)
    asked = next((one for one in words if _LABORATORY.search(one)), "")
    if asked:
        yield f"A laboratory is named: {' '.join(asked.split())}"

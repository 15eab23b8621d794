"""`pondround pond`: everything about one pond, as text and as JSON."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.asked import WIDTH, one_pond
from tui.commands.pond_estimate import estimate_json
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import said_day
from tui.widgets.literal import one_line, wrapped

if TYPE_CHECKING:
    from datetime import datetime
    from uuid import UUID
    from zoneinfo import ZoneInfo

    from store.book.book import Book
    from store.book.ponds import Pond
    from store.courses.kept.exam_page import ExamPage
    from store.courses.kept.likely_free import LikelyFree
    from store.courses.kept.likely_hatch import LikelyHatch
    from store.courses.kept.under_way import UnderWay
    from store.courses.kept.withdrawal_of import PondWithdrawal
    from store.courses.turning.due import Due
    from store.water.water_tests import WaterTest
    from tui.explained import Explained

LAST_TESTS = 10


@dataclass(frozen=True, slots=True)
class PondTold:
    """All that is printed of a pond."""

    explained: Explained
    courses: tuple[UnderWay, ...]
    withdrawal: PondWithdrawal
    exam: ExamPage | None
    """The newest examination that is not struck through."""
    tests: tuple[WaterTest, ...]
    zone: ZoneInfo
    likely: Mapping[UUID, LikelyFree]
    """When its fish are likely to be free, by estimate."""
    hatching: Mapping[UUID, tuple[LikelyHatch, ...]]
    """When what its courses wait for is likely to be over, by estimate."""


def run_pond(args: argparse.Namespace) -> int:
    """Print everything about one pond."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from tui.commands import warm

        warm.have_fit(book, at)
        told = read_pond(book, one_pond(book, " ".join(args.text)), at)
    if args.json:
        print(json.dumps(as_json(told), indent=2, allow_nan=False))
    else:
        for line in as_text(told):
            print(line)
    return 0


def read_pond(book: Book, pond: UUID, at: datetime) -> PondTold:
    """What is printed of a pond.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    at
        The present instant, with a time zone.
    """
    from store.courses.kept.exam_page import exam_page
    from store.courses.kept.likely_free import likely_free
    from store.courses.kept.likely_hatch import likely_hatch
    from store.courses.kept.of_pond import courses_here
    from store.courses.kept.withdrawal_of import withdrawal_of
    from store.exams.examinations import examinations_of
    from store.water.water_tests import list_tests
    from tui.explained import read_explained

    exams = examinations_of(book, pond)
    withdrawal = withdrawal_of(book, pond, at)
    courses = courses_here(book, pond, at).under_way
    return PondTold(
        explained=read_explained(book, pond, at),
        courses=courses,
        withdrawal=withdrawal,
        exam=exam_page(book, exams[0].id, at) if exams else None,
        tests=tuple(list_tests(book, pond, LAST_TESTS)),
        zone=book.zone,
        likely=likely_free(book, (withdrawal,), at),
        hatching=likely_hatch(book, [one.course for one in courses], at),
    )


def as_text(told: PondTold) -> Iterator[str]:
    """The pond in lines of at most eighty cells: what it is, what speaks, what it is given.

    Parameters
    ----------
    told
        From `read_pond`.
    """
    from tui.explained import paragraphs
    from tui.screens.ponds.pond_lines import said_volume

    card = told.explained.card
    yield one_line(f"{card.client.name}, {card.pond.name}")
    warm = "; ".join(_warmth(card.pond))
    about = f"{said_volume(card)}; {card.pond.use}; {card.pond.species}; {card.site.name}"
    about += f"; {warm}" if warm else ""
    yield from wrapped(one_line(about), WIDTH)
    yield ""
    for said in paragraphs(told.explained):
        yield from _said(said.voice, said.text, said.level)
    for title, lines in (
        ("Courses", [_course(one, told) for one in told.courses]),
        ("Eating", list(_eating(told))),
        ("Last examination", list(_exam(told))),
        ("Last tests", [_test(one, told.zone) for one in told.tests]),
    ):
        if lines or title == "Last tests":
            yield title
        for line in lines:
            yield from wrapped(one_line(line), WIDTH)
        if lines and title != "Last tests":
            yield ""


def _warmth(pond: Pond) -> Iterator[str]:
    """What keeps the water from following the weather, as far as it was said."""
    if pond.indoor:
        yield "indoors"
    if pond.heated:
        yield "heated"
    if pond.shade != "not asked":
        yield {"open sky": "open to the sky"}.get(pond.shade, f"in shade {pond.shade}")


def _said(voice: str, text: str, level: str) -> Iterator[str]:
    if voice == "air":
        yield ""
        return
    indent = {"part": "  ", "text": "    "}.get(voice, "")
    head = f"{level}: " if voice == "level" and level else ""
    for line in wrapped(one_line(head + text), WIDTH - len(indent)):
        yield indent + line


def _next(one: UnderWay) -> Due | None:
    """The dose that is due first."""
    return one.due.now[0] if one.due.now else one.due.coming


def _course(one: UnderWay, told: PondTold) -> str:
    if one.course.state == "planned":
        return f"{one.name}: planned, not begun; against {one.course.plan.reason}"
    coming = _next(one)
    due = (coming.said if coming is not None else one.due.said) or "nothing is due"
    control = one.course.plan.control_on
    on = "" if control is None else f"; control {said_day(control, told.explained.today)}"
    tasks = f"; {one.tasks_said}" if one.tasks_said else ""
    return f"{one.name}: {one.given} of {one.doses} doses given; {due}{on}{tasks}"


def _eating(told: PondTold) -> Iterator[str]:
    found = told.withdrawal
    declared = f" ({found.declared.said})" if found.declared and found.declared.said else ""
    yield f"{found.use}{declared}: {found.says}"
    if found.early is not None and found.early != found.late:
        yield f"In warmer water from {found.early.isoformat()}."
    yield from (one.says for one in told.likely.values())
    if found.asks:
        yield found.asks
    if found.written or found.beside:
        yield from found.remarks


def _exam(told: PondTold) -> Iterator[str]:
    from store.courses.kept.examined import said_in_short

    if told.exam is None:
        return
    exam = told.exam.kept.exam
    at = exam.at.astimezone(told.zone)
    yield f"{at:%Y-%m-%d %H:%M} ({exam.examiner}), {exam.purpose}: {said_in_short(exam)}"
    yield from (one.said for one in told.exam.bearings)


def _test(test: WaterTest, zone: ZoneInfo) -> str:
    from store.water.understood import shown

    readings = ", ".join(shown(reading) for reading in test.readings.values())
    note = f" {test.note}" if test.note else ""
    return f"{test.taken_at.astimezone(zone):%Y-%m-%d %H:%M} ({test.by}): {readings}.{note}"


def as_json(told: PondTold) -> dict[str, Any]:
    """The pond as one object.

    Keys: `pond` (its key), `client`, `site`, `pond_name`, `code`, `use`, `species`, `volume_l` with
    `volume_low_l` and `volume_high_l` [L], `estimate` (of the temperature, as of
    `tui.commands.pond_estimate.estimate_json`), `level`, `concerns` and `resting` (`rule`, `level`,
    `what`, `since`, `source`, `advice`), `courses` (as of `pondround courses`, each with
    `next_dose`: `agent`, `number`, `of`, `due_on`, `overdue_days`, `amount`, `amount_unit`, or
    null), `withdrawal` (as of `pondround withdrawal`), `examination` (as of `pondround exams`, the
    newest, or null) and `tests`, newest first: `taken_at`, `by`, `note` and `readings` as typed and
    understood.

    Parameters
    ----------
    told
        From `read_pond`.
    """
    from store.water.understood import shown
    from tui.commands import courses, exams, withdrawal

    card, watch = told.explained.card, told.explained.watch
    listed = courses.as_json(told.courses, told.hatching)["courses"]
    exam = exams.as_json(card, [] if told.exam is None else [told.exam])["examinations"]
    return {
        "pond": str(card.pond.id),
        "client": card.client.name,
        "site": card.site.name,
        "pond_name": card.pond.name,
        "code": card.pond.code,
        "use": card.pond.use,
        "species": card.pond.species,
        "volume_l": card.pond.volume_l,
        "volume_low_l": card.pond.volume_low_l,
        "volume_high_l": card.pond.volume_high_l,
        "indoor": card.pond.indoor,
        "heated": card.pond.heated,
        "shade": card.pond.shade,
        "estimate": estimate_json(told.explained.warmth),
        "level": watch.level,
        "concerns": [_concern(one) for one in watch.concerns],
        "resting": [_concern(one) for one, _ in watch.at_rest],
        "courses": [
            {**said, "next_dose": _next_json(one)}
            for said, one in zip(listed, told.courses, strict=True)
        ],
        "withdrawal": withdrawal.as_json((told.withdrawal,), told.likely)["ponds"][0],
        "examination": exam[0] if exam else None,
        "tests": [
            {
                "taken_at": one.taken_at.isoformat(),
                "by": one.by,
                "note": one.note,
                "readings": {code: shown(value) for code, value in one.readings.items()},
            }
            for one in told.tests
        ],
    }


def _concern(one: Any) -> dict[str, Any]:
    return {
        "rule": one.rule,
        "level": one.level,
        "what": one.what,
        "since": None if one.since is None else one.since.isoformat(),
        "source": one.source,
        "advice": one.advice,
    }


def _next_json(one: UnderWay) -> dict[str, Any] | None:
    coming = _next(one)
    if coming is None:
        return None
    numbers = [dose.number for dose in coming.step.doses if dose.state != "dropped"]
    return {
        "agent": coming.step.agent,
        "number": coming.dose.number,
        "of": max(numbers, default=coming.dose.number),
        "due_on": coming.dose.due_on.isoformat(),
        "overdue_days": coming.overdue_days,
        "amount": coming.left_amount,
        "amount_unit": coming.dose.amount_unit,
    }

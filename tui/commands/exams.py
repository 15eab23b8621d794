"""`pondround exams POND`: the examinations of a pond, fish by fish, with what they mean."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.asked import WIDTH, one_pond
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.widgets.literal import one_line, wrapped

if TYPE_CHECKING:
    from store.book.ponds import PondCard
    from store.courses.kept.exam_page import ExamPage
    from store.exams.examinations import KeptFinding, KeptFish
    from store.exams.specimens import LabSample
    from store.exams.values import Prep

NONE = "No examination of this pond stands in the book."


def run_exams(args: argparse.Namespace) -> int:
    """Print the examinations of one pond, newest first."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.book.ponds import card
        from store.courses.kept.exam_page import exam_page
        from store.exams.examinations import examinations_of

        pond = one_pond(book, " ".join(args.text))
        here = card(book, pond)
        pages = [exam_page(book, one.id, at) for one in examinations_of(book, pond)]
    if args.json:
        print(json.dumps(as_json(here, pages), indent=2, allow_nan=False))
    else:
        for line in as_text(here, pages):
            print(line)
    return 0


def as_text(here: PondCard, pages: Sequence[ExamPage]) -> Iterator[str]:
    """The examinations in lines for a terminal or a pipe; nothing is left out or shortened.

    Parameters
    ----------
    here
        The pond.
    pages
        From `store.courses.kept.exam_page`, newest first.
    """
    yield one_line(f"{here.client.name}, {here.pond.name}")
    if not pages:
        yield NONE
    for page in pages:
        yield ""
        for before, said in _lines(page):
            for number, line in enumerate(wrapped(one_line(said), WIDTH - len(before))):
                yield f"{before if number == 0 else ' ' * len(before)}{line}".rstrip()


def _lines(page: ExamPage) -> Iterator[tuple[str, str]]:
    exam = page.kept.exam
    at = exam.at.astimezone(page.zone)
    yield "", f"{at:%Y-%m-%d %H:%M}  {exam.purpose}, by {exam.examiner}, {_gear(page)}"
    if page.warmth is not None:
        old = "" if page.warmth.age.days < 1 else f", {page.warmth.age.days} d before"
        yield "  ", f"water {page.warmth.value_c:.1f} °C{old}"
    for one in page.bearings:
        yield f"  {one.weight:<7}", f"{one.said} {one.source}"
    for fish in page.kept.fish:
        yield from _fish(fish)
    for sample in page.samples:
        if sample.struck_at is None:
            yield "  sample ", _sample(sample)
    if page.controls is not None:
        made = "made" if page.controls.controlled else "still open"
        yield "  course ", f"control of {page.controls.name}: {made}"
    for answer in page.answered_by:
        begun = "" if answer.started_on is None else f", begun {answer.started_on.isoformat()}"
        yield "  course ", f"answered by {answer.name}{begun}"
    if exam.note:
        yield "  note   ", exam.note


def _fish(fish: KeptFish) -> Iterator[tuple[str, str]]:
    from dataclasses import replace

    from store.exams.line import say
    from store.exams.line_said import said_found

    bare = say(replace(fish.fish, preparations=(), by_eye=()))
    yield f"  fish {fish.fish.nth:<2}", bare or "nothing was said of the fish itself"
    for prep in fish.fish.preparations:
        found = "; ".join(said_found(one, prep.fields) for one in prep.found) or "nothing found"
        note = f" ({prep.note})" if prep.note else ""
        yield "    ", f"{prep.looked_as}: {found}{note}"
    for one in fish.fish.by_eye:
        yield "    ", f"by eye: {said_found(one)}"
    for found_in, looked in (*((one.findings, one.prep) for one in fish.preparations),
                             (fish.by_eye, None)):  # fmt: skip
        for old in found_in:
            if not old.stands:
                said = said_found(old.found, None if looked is None else looked.fields)
                yield "    ", f"struck through: {said}; {old.struck_why}"


def _gear(page: ExamPage) -> str:
    from store.exams.entry import GearSaid, write_gear

    exam = page.kept.exam
    said = write_gear(GearSaid(exam.gear, exam.disinfectant, exam.contact_min, exam.gear))
    return f"gear {said or 'not said'}"


def _sample(one: LabSample) -> str:
    where = f" at {one.laboratory}" if one.laboratory else ""
    day = "" if one.reported_on is None else f" {one.reported_on.isoformat()}"
    words = f"; {one.said}" if one.said else ""
    return f"{one.material or 'sample'} “{one.label}”{where}: {one.result}{day}{words}"


def as_json(here: PondCard, pages: Sequence[ExamPage]) -> dict[str, Any]:
    """The examinations as one object.

    Keys: `pond`, `client`, `pond_name` and `examinations`, newest first: each with `examination`
    (its key), `at` (ISO 8601), `purpose`, `examiner`, `gear`, `disinfectant`, `contact_min`,
    `note`, `temperature_c` with `temperature_age_h` [h] or null, `hazards` (codes of all that was
    there), `means` (`code`, `weight`, `hazard`, `says`, `source`, `standing`), `fish`, `samples`,
    `controls` and `answered_by` (keys of courses). A fish has what was seen of it and
    `preparations`, each with `found`; `by_eye` is found without one. A finding has `counted` over
    all `fields`, `per_field`, `score` (0 to 3), `motile`, `confidence` and `corrects`: the finding
    that it takes the place of; those that were struck through stand in `struck`.

    Parameters
    ----------
    here
        The pond.
    pages
        From `store.courses.kept.exam_page`, newest first.
    """
    return {
        "pond": str(here.pond.id),
        "client": here.client.name,
        "pond_name": here.pond.name,
        "examinations": [_exam(page) for page in pages],
    }


def _exam(page: ExamPage) -> dict[str, Any]:
    kept, exam, warmth = page.kept, page.kept.exam, page.warmth
    return {
        "examination": str(kept.id),
        "at": exam.at.isoformat(),
        "purpose": exam.purpose,
        "examiner": exam.examiner,
        "entered_by": kept.entered_by,
        "gear": exam.gear,
        "disinfectant": exam.disinfectant,
        "contact_min": exam.contact_min,
        "note": exam.note,
        "temperature_c": None if warmth is None else warmth.value_c,
        "temperature_age_h": None if warmth is None else warmth.age.total_seconds() / 3600.0,
        "hazards": list(exam.hazards),
        "means": [
            {
                "code": one.code, "weight": one.weight, "hazard": one.hazard, "says": one.said,
                "source": one.source, "standing": one.standing,
            }
            for one in page.bearings
        ],
        "fish": [_fish_json(one) for one in kept.fish],
        "samples": [_sample_json(one) for one in page.samples if one.struck_at is None],
        "controls": None if page.controls is None else str(page.controls.id),
        "answered_by": [str(one.id) for one in page.answered_by],
    }  # fmt: skip


def _fish_json(one: KeptFish) -> dict[str, Any]:
    fish = one.fish
    return {
        "number": fish.nth,
        "species": fish.species,
        "mark": fish.mark,
        "length_cm": fish.length_cm,
        "length_kind": fish.length_kind,
        "weight_g": fish.weight_g,
        "weight_how": fish.weight_how,
        "condition": fish.condition,
        "behaviour": list(fish.behaviour),
        "signs": list(fish.signs),
        "other": fish.other,
        "treated": fish.treated,
        "photos": list(fish.photos),
        "preparations": [
            {
                "kind": prep.prep.kind,
                "place": prep.prep.place,
                "magnification": prep.prep.magnification,
                "fields": prep.prep.fields,
                "note": prep.prep.note,
                "found": [_found(each, prep.prep) for each in prep.findings if each.stands],
                "struck": [_found(each, prep.prep) for each in prep.findings if not each.stands],
            }
            for prep in one.preparations
        ],
        "by_eye": [_found(each, None) for each in one.by_eye if each.stands],
        "struck": [_found(each, None) for each in one.by_eye if not each.stands],
    }


def _found(one: KeptFinding, prep: Prep | None) -> dict[str, Any]:
    found = one.found
    fields = None if prep is None else prep.fields
    return {
        "finding": str(one.id),
        "hazard": found.hazard,
        "counted": found.counted,
        "per_field": found.per_field(fields),
        "score": found.score,
        "motile": found.motile,
        "confidence": found.confidence,
        "note": found.note,
        "by": one.by,
        "corrects": None if one.replaces is None else str(one.replaces),
        "why_struck": one.struck_why,
    }


def _sample_json(one: LabSample) -> dict[str, Any]:
    return {
        "sample": str(one.id),
        "label": one.label,
        "material": one.material,
        "laboratory": one.laboratory,
        "asked": one.asked,
        "hazard": one.hazard,
        "taken_on": one.taken_on.isoformat(),
        "sent_on": None if one.sent_on is None else one.sent_on.isoformat(),
        "result": one.result,
        "reported_on": None if one.reported_on is None else one.reported_on.isoformat(),
        "said": one.said,
        "report": one.report,
        "amends": None if one.replaces_id is None else str(one.replaces_id),
    }

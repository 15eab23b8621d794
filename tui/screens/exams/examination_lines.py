"""The lines of an examination's page in words: its head, what it means, fish by fish."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text
from textual.content import Content

from tui.said import said_date, said_moment, said_since
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.courses.kept.exam_page import CourseBeside, ExamPage
    from store.exams.examinations import KeptFinding, KeptFish, KeptPrep
    from store.exams.specimens import LabSample

_LEVEL_CELLS = 9
_STYLES = {"heavy": "bold $level-act", "mind": "bold $level-watch", "note": "$quiet"}
_WORDS = {"heavy": "heavy", "mind": "look", "note": "note"}


@dataclass(frozen=True, slots=True)
class ExamKey:
    """What a line of the page is, so that a key knows what it is about."""

    kind: Literal["fish", "prep", "finding", "sample", "controls", "answer", "note", "outcome"]
    key: UUID
    fish: UUID | None = None
    hazard: str = ""


def said_gear(page: ExamPage) -> str:
    """Whether nets and bowls were disinfected, in words."""
    from store.exams.entry import GearSaid, write_gear

    exam = page.kept.exam
    if exam.gear == "not said":
        return "gear: not said"
    said = write_gear(GearSaid(exam.gear, exam.disinfectant, exam.contact_min, exam.gear))
    return f"gear {said}"


def said_facts(page: ExamPage) -> str:
    """The second line: what for, by whom, with which gear, in what water."""
    exam = page.kept.exam
    parts = [f"struck through: {page.kept.struck_why}"] if page.kept.struck_why else []
    parts += [exam.purpose, f"by {exam.examiner}", said_gear(page)]
    warmth = page.warmth
    if warmth is None:
        parts.append("no temperature known")
    else:
        old = "" if warmth.age.days < 1 else f", {warmth.age.days} d before"
        parts.append(f"{warmth.value_c:.1f} °C{old}")
    return " · ".join(one_line(part) for part in parts if part)


def meaning_lines(page: ExamPage, width: int, most: int) -> Content:
    """One line a thing that the findings mean, the heaviest first; what is hidden is counted."""
    said = [(one.weight, _named(one.hazard, one.said)) for one in page.bearings]
    if not said:
        found = page.kept.exam.hazards
        words = "Nothing that was found asks for more." if found else "Nothing was found."
        return Content.assemble((f"{'calm':<{_LEVEL_CELLS}}", "$quiet"), words)
    lines = []
    for number, (weight, text) in enumerate(said[:most], start=1):
        more = f"  and {len(said) - most} more" if number == most and len(said) > most else ""
        room = max(0, width - _LEVEL_CELLS - len(more))
        lines.append(
            Content.assemble(
                (f"{_WORDS[weight]:<{_LEVEL_CELLS}}", _STYLES[weight]),
                cut(one_line(text), room),
                (more, "$quiet"),
            )
        )
    return Content("\n").join(lines)


def _named(hazard: str, said: str) -> str:
    """A sentence that names no hazard, behind the name of the one it is about."""
    name = _name(hazard)
    return said if name.casefold() in said.casefold() else f"{name}: {said[:1].lower()}{said[1:]}"


def exam_rows(page: ExamPage) -> list[Row]:
    """Fish by fish with its preparations and findings; then samples, and courses beside it."""
    rows: list[Row] = []
    for fish in page.kept.fish:
        rows += _fish_rows(fish)
    if page.kept.exam.note:
        rows.append(Row(ExamKey("note", page.kept.id), ("note", one_line(page.kept.exam.note))))
    rows += [_sample_row(page, one) for one in page.samples]
    if page.controls is not None:
        rows.append(_course_row(page, page.controls, "controls"))
        rows += _outcome_rows(page)
    rows += [_course_row(page, one, "answer") for one in page.answered_by]
    return rows


def _fish_rows(fish: KeptFish) -> Iterator[Row]:
    yield Row(ExamKey("fish", fish.id, fish.id), (f"fish {fish.fish.nth}", said_fish(fish)))
    for prep in fish.preparations:
        text = Text(f"  {one_line(prep.prep.looked_as)}")
        if not any(one.stands for one in prep.findings):
            text.append(": nothing found")
        if prep.prep.note:
            text.append(f"  {one_line(prep.prep.note)}", "quiet")
        yield Row(ExamKey("prep", prep.id, fish.id), ("", text))
        for one in prep.findings:
            yield _finding_row(one, prep.prep.fields, fish.id, "    ")
    for one in fish.by_eye:
        yield _finding_row(one, None, fish.id, "  by eye: ")


def said_fish(fish: KeptFish) -> str:
    """The fish itself without its preparations and findings."""
    from dataclasses import replace

    from store.exams.line import say

    bare = replace(fish.fish, preparations=(), by_eye=())
    return one_line(say(bare)) or "nothing was said of the fish itself"


def _finding_row(one: KeptFinding, fields: int | None, fish: UUID, before: str) -> Row:
    from store.exams.line_said import said_found

    words = one_line(said_found(one.found, fields))
    text = Text(before)
    if one.stands:
        text.append(words)
        if one.replaces is not None:
            text.append("  corrected", "quiet")
    else:
        text.append(f"struck: {words}  ({one_line(one.struck_why)})", "quiet")
    return Row(ExamKey("finding", one.id, fish), ("", text))


def said_sample(page: ExamPage, one: LabSample) -> str:
    """A sample with what came of it."""
    what = one_line(f"{one.material or 'sample'} “{one.label}”")
    where = f" at {one_line(one.laboratory)}" if one.laboratory else ""
    if one.result == "awaited":
        since = one.sent_on or one.taken_on
        sent = "awaited" if one.sent_on is not None else "not sent yet"
        return f"{what}{where}: {sent}, {(page.today - since).days} d"
    day = said_date(one.reported_on or one.taken_on, page.today)
    hazard = _name(one.hazard) if one.hazard else ""
    result = f"{hazard} {one.result}".strip()
    return f"{what}{where}: {result} {day}" + (f"; {one_line(one.said)}" if one.said else "")


def _sample_row(page: ExamPage, one: LabSample) -> Row:
    text = Text()
    if one.struck_at is not None:
        text.append(f"struck: {said_sample(page, one)}  ({one_line(one.struck_why)})", "quiet")
    else:
        style = "act" if one.result == "detected" else ""
        text.append(said_sample(page, one), style)
        if one.replaces_id is not None:
            text.append("  amended", "quiet")
    return Row(ExamKey("sample", one.id, one.fish_id), ("sample", text))


def _course_row(page: ExamPage, one: CourseBeside, kind: Literal["controls", "answer"]) -> Row:
    if kind == "answer":
        text = Text(f"answered by {one_line(one.name)}")
        text.append(f"  {_said_course(page, one)}", "quiet")
    else:
        made = "made" if one.controlled else "still open"
        text = Text(f"control of {one_line(one.name)}: {made}")
    return Row(ExamKey(kind, one.id), ("course", text))


def _said_course(page: ExamPage, one: CourseBeside) -> str:
    begun = "not begun"
    if one.started_on is not None:
        begun = f"begun {said_since(one.started_on, page.today)}"
    state = {"running": "runs", "stopped": "stopped early"}.get(one.state, one.state)
    return f"{begun}, {state}"


def _outcome_rows(page: ExamPage) -> Iterator[Row]:
    """What became of each hazard of the course that was controlled."""
    found = page.outcome
    if found is None:
        return
    if found.why:
        yield Row(ExamKey("outcome", found.course.id), ("worked?", one_line(found.why)))
    for number, one in enumerate(found.hazards):
        title = "worked?" if number == 0 else ""
        yield Row(ExamKey("outcome", found.course.id, hazard=one.hazard),
                  (title, one_line(one.says)))  # fmt: skip


def _told_outcome(page: ExamPage, key: ExamKey) -> Told:
    found = page.outcome
    one = next((one for one in found.hazards if one.hazard == key.hazard), None) if found else None
    if found is None or one is None:
        return Told("Did it work?", one_line(found.why) if found is not None else "")
    compared = None if one.told is None else one.told.compared
    remark = "; ".join(part for part in (one.mixed, *one.remarks) if part)
    return Told(
        one_line(one.says),
        one_line(one.why if compared is None else compared.arithmetic),
        "" if compared is None else one_line(compared.source),
        one_line(remark),
    )


def _name(code: str) -> str:
    from store.facts.hazards import hazards

    known = hazards().get(code)
    return one_line(code if known is None else known.plain_name)


def finding_of(page: ExamPage, key: UUID) -> tuple[KeptFinding, KeptPrep | None]:
    """A finding with the preparation in which it was made."""
    one = page.kept.finding(key)
    preps = (prep for fish in page.kept.fish for prep in fish.preparations)
    return one, next((prep for prep in preps if prep.id == one.preparation_id), None)


def told(page: ExamPage, key: ExamKey) -> Told:
    """What the strip says of a line of the page."""
    if key.kind == "finding":
        return _told_finding(page, key.key)
    if key.kind == "fish":
        fish = next(one for one in page.kept.fish if one.id == key.key)
        entered = said_moment(page.kept.entered_at, page.zone, page.today)
        return Told(
            f"Fish {fish.fish.nth}: {said_fish(fish)}",
            f"Entered by {one_line(page.kept.entered_by)}, {entered}",
            "",
            "Next: l takes a sample of it for a laboratory.",
        )
    if key.kind == "outcome":
        return _told_outcome(page, key)
    if key.kind == "note":
        return Told(one_line(page.kept.exam.note))
    if key.kind == "prep":
        preps = (prep for fish in page.kept.fish for prep in fish.preparations)
        prep = next(one for one in preps if one.id == key.key)
        return Told(
            one_line(prep.prep.looked_as),
            one_line(prep.prep.note),
            "",
            "Next: n adds what was found in it and forgotten.",
        )
    if key.kind == "sample":
        one = next(one for one in page.samples if one.id == key.key)
        sent = (
            "not sent yet" if one.sent_on is None else f"sent {said_since(one.sent_on, page.today)}"
        )
        asked = f"; asked: {one.asked}" if one.asked else ""
        return Told(
            said_sample(page, one),
            one_line(f"Taken {said_since(one.taken_on, page.today)}, {sent}{asked}"),
            one_line(f"Report {one.report}" if one.report else ""),
            "Next: enter enters the report; a later one amends it, and the first stays."
            if one.struck_at is None
            else "The report that was amended; it stays to be read.",
        )
    beside = next(
        one for one in (page.controls, *page.answered_by) if one is not None and one.id == key.key
    )
    what = "The course that it controls" if key.kind == "controls" else "A course that answers it"
    return Told(
        f"{what}: {one_line(beside.name)}", _said_course(page, beside), "",
        "Next: enter opens the course.",
    )  # fmt: skip


def _told_finding(page: ExamPage, key: UUID) -> Told:
    from store.exams.bearing import reminder
    from store.exams.line_said import said_found

    one, prep = finding_of(page, key)
    fields = None if prep is None else prep.prep.fields
    entered = said_moment(one.at, page.zone, page.today)
    said = f"{one_line(said_found(one.found, fields))}; entered by {one_line(one.by)}, {entered}"
    before = "; ".join(
        f"before: {one_line(said_found(old.found, fields))}, by {one_line(old.by)}; corrected by "
        f"{one_line(old.struck_by)}: {one_line(old.struck_why)}"
        for old in page.kept.earlier(key)
    )
    mark = reminder(one.found.hazard)
    marks = one_line("; ".join(mark.identify))
    meant = next((b for b in page.bearings if b.hazard == one.found.hazard), None)
    if not one.stands:
        when = "" if one.struck_at is None else said_moment(one.struck_at, page.zone, page.today)
        return Told(
            f"Struck through: {one_line(said_found(one.found, fields))}",
            f"{one_line(one.struck_why)}; {one_line(one.struck_by)}, {when}",
        )
    source = mark.source
    if meant is not None and meant.source != mark.source:
        source = f"{meant.source}; its marks: {mark.source}"
    return Told(
        said,
        before or (f"{mark.name}: {marks}" if marks else ""),
        one_line(source),
        one_line(_named(meant.hazard, meant.said))
        if meant is not None
        else "Next: c corrects it; the first one stays.",
    )

"""A call in words: the urgency, what is read out, the lines of a call that was taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.text import Text
from textual.content import Content

from store.text import joined
from tui.said import said_moment
from tui.widgets.grid import Row
from tui.widgets.hanging import beside
from tui.widgets.literal import cut, one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.book.find import Found
    from store.diary.calling.sheet import Told as CallTold
    from store.diary.calling.triage import Triage
    from store.diary.kept.calls.call_page import CallPage
    from store.facts.call_questions import Question, Urgency

_STYLES = {"same day": "bold $level-act", "next day": "bold $level-watch", "routine": "bold"}
_GUTTER = 10
VET_AT_ONCE = "Vet at once. No fish, water or nets move."
NOTHING_YET = "nothing told so far raises it"


@dataclass(frozen=True, slots=True)
class CallKey:
    """What a line of a call's page is: its part, and which of them."""

    part: str
    place: int


def urgency_lines(urgency: Urgency, because: Sequence[str], vet: bool, width: int) -> Content:
    """The urgency in words, with what raised it; what the vet must know at once stands under it."""
    said = joined(one_line(one) for one in because) or NOTHING_YET
    lines = beside(urgency, said, width, _GUTTER).split("\n")
    room = 2 if vet else 3
    if len(lines) > room:
        lines = [*lines[: room - 1], cut(f"{lines[room - 1]} …", width)]
    style = _STYLES[urgency]
    first = Content.assemble((lines[0][:_GUTTER], style), lines[0][_GUTTER:])
    parts = [first, *(Content(line) for line in lines[1:])]
    if vet:
        parts.append(Content.styled(cut(f"{'':<{_GUTTER}}{VET_AT_ONCE}", width), style))
    return Content("\n").join(parts)


JUMP = "the letter of a question; esc goes back to where you were"


def ask_lines(
    question: Question | None,
    one: CallTold,
    found: Triage,
    whom: str,
    width: int,
    *,
    low: bool = False,
) -> Content:
    """What is read out now, whom it is about, what is missing for the van, what is still open.

    Without a question the letter of one is waited for. On a low terminal each gets one line, and
    what is still open stands behind its key.
    """
    head = ("jump", JUMP) if question is None else ("ask", question.says)
    parts = [(*head, "bold")]
    if question is not None and question.reads == "told":
        parts.append(("say", said_safe(), ""))
    else:
        parts.append(("whom", whom, ""))
    parts.append(("for van", ", ".join(one.missing) or "all of it was told", "$quiet"))
    if found.still_open and not low:
        parts.append(("not asked", ", ".join(found.still_open), "$quiet"))
    lines = []
    for word, text, style in parts:
        said = beside(word, text, width, _GUTTER)
        if low and word != "say":
            said = cut(f"{word:<{_GUTTER}}{one_line(text)}", width)
        lines.append(Content.styled(said, style))
    return Content("\n").join(lines)


def said_safe() -> str:
    """The fixed list in short with its numbers, on one line."""
    from store.facts.call_questions import safe_list

    return ", ".join(f"{number} {one.short}" for number, one in enumerate(safe_list().values(), 1))


def told_text(one: CallTold, found: Triage) -> str:
    """What the caller may be told, and why the call is as urgent as it is, with sources."""
    from store.facts.call_questions import safe_list
    from store.facts.sources import cite_with_standing

    listed = [f"{number} {each.says}" for number, each in enumerate(safe_list().values(), 1)]
    parts = ["\n".join(["All that a caller is told, no dose and no name for it:", *listed])]
    parts.append(found.words)
    for each in found.raised:
        source = cite_with_standing(each.source, each.standing)
        parts.append(f"{each.urgency}: {each.sentence}\n({source})")
    parts += list(found.remarks)
    if found.still_open:
        parts.append(f"Not asked yet, and can raise it: {', '.join(found.still_open)}.")
    if one.missing:
        parts.append(f"Missing for the van: {', '.join(one.missing)}.")
    return "\n\n".join(parts)


def said_found(one: Found) -> str:
    """A client or pond that fits a caller, and why where that is not plain to see."""
    name = ", ".join(part for part in (one.client, one.pond, one.town) if part)
    plain = one.reason in (f"client {one.client}", f"pond {one.pond}")
    return one_line(name if plain else f"{name} ({one.reason})")


def facts_line(page: CallPage, width: int) -> str:
    """When, by whom, on which number; whether it is open."""
    note = page.note
    state = note.state if note.struck_at is None else "struck through"
    at = said_moment(note.called_at, page.zone, page.today)
    parts = (at, note.caller, note.phone, f"taken by {page.taken_by}", state)
    return cut(" · ".join(one_line(part) for part in parts if part), width)


def call_rows(page: CallPage) -> list[Row]:
    """The call line by line: what raised it, what was advised, what was told, what is carried."""
    rows: list[Row] = []
    for part, texts in _parts(page):
        for place, text in enumerate(texts):
            head = part if not place else ""
            said = text if isinstance(text, Text) else one_line(text)
            rows.append(Row(CallKey(part, place), (head, said)))
    return rows


def _parts(page: CallPage) -> Iterator[tuple[str, Sequence[str | Text]]]:
    note = page.note
    if note.struck_at is not None:
        yield "struck", [note.struck_why]
    if note.state == "closed":
        yield "closed", [note.closed_why]
    yield "urgent", note.urgent_by or ["routine: nothing that was told raised it"]
    yield "advised", note.advised or ["nothing was noted as told to the caller"]
    if page.visits:
        yield "visit", page.visits
    if note.short:
        yield "said", [str(note.answers["said"])]
        yield "next", [str(note.answers.get("next") or "nothing")]
    else:
        yield "told", list(_answers(page))
        missing = page.told.missing
        if missing:
            yield "missing", [f"for the van: {', '.join(missing)}"]
        yield "carry", [_carried(one.says, one.because) for one in page.carried]
    if note.note:
        yield "note", [note.note]


def _answers(page: CallPage) -> Iterator[Text]:
    from store.facts.call_questions import questions

    texts = page.note.texts
    for code, question in questions().items():
        if code not in texts:
            continue
        line = Text()
        line.append(f"{question.label}: ", "quiet")
        line.append(one_line(texts[code]))
        yield line


def _carried(says: str, because: str) -> Text:
    line = Text(one_line(says))
    if because:
        line.append(f"  {one_line(because)}", "quiet")
    return line


def line_told(page: CallPage, key: CallKey) -> Told:
    """The line under the cursor in full."""
    texts = dict(_parts(page)).get(key.part, ())
    if key.place >= len(texts):
        return Told("")
    text = texts[key.place]
    said = text.plain if isinstance(text, Text) else one_line(text)
    head, _stop, rest = said.partition(". ")
    return Told(head, advice=rest)


def causes(urgent_by: Sequence[str]) -> list[str]:
    """What raised a call, without the reasons."""
    said = [one.partition(". ")[0] for one in urgent_by]
    return [one[:1].lower() + one[1:] for one in said]


def whole_text(page: CallPage) -> str:
    """The call in full, to read and to copy."""
    lines = [facts_line(page, 10_000), page.where]
    for part, texts in _parts(page):
        lines += ["", part, *(f"  {text.plain if isinstance(text, Text) else text}"
                              for text in texts)]  # fmt: skip
    return "\n".join(lines)

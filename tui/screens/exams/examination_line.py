"""The line of one fish: where it is typed, what was understood, the question, what to look for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.events import Key
from textual.message import Message
from textual.widgets import Input

from tui.widgets.entry import TextLine
from tui.widgets.literal import one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.exams.line import Answer, FishDoubt, UnderstoodFish

EXAMPLE = "koi 42 cm, thin, clamped; gill 100x 5 fields: gill flukes 23; skin 40x: nothing"


def said_reminders(codes: Iterable[str]) -> Content:
    """What tells each hazard from others, then the source; then how it is confirmed.

    Nothing without a hazard. Where there is little room, what stands last is out of sight first.
    """
    from store.exams.bearing import reminder

    told = [reminder(code) for code in codes]
    names = {one.name for one in told}
    lines: list[Content] = []
    for one in told:
        marks = one_line("; ".join(one.identify)) or "no mark told"
        lines.append(Content.assemble((f"{one_line(one.name)}: ", "bold"), marks))
        lines += [
            Content(one_line(f"not {name}: {'; '.join(other)}"))
            for name, other in one.alike
            if name not in names
        ]
    lines += [
        Content.styled(one_line(source), "$quiet")
        for source in dict.fromkeys(one.source for one in told)
    ]
    for one in told:
        confirm = f"To confirm {one.name}: {one.confirm}"
        lines += [Content(one_line(confirm))] if one.confirm else []
        lines += [Content(one_line(one.cautions[0]))] if one.cautions and len(told) == 1 else []
    return Content("\n").join(lines)


class FishQuestion(Static, can_focus=True):
    """The first open question with its answers, or what enter does."""

    class Answered(Message):
        """One of the answers was chosen; None keeps the words in the note."""

        def __init__(self, doubt: FishDoubt, answer: Answer | None) -> None:
            super().__init__()
            self.doubt = doubt
            self.answer = answer

    class Agreed(Message):
        """Nothing is asked any more, and enter was pressed."""

    _understood: UnderstoodFish | None = None

    def show(self, understood: UnderstoodFish) -> None:
        """Ask what is open in this line."""
        self._understood = understood
        if understood.doubts:
            self.update(self._asked(understood.doubts))
        elif understood.text.strip():
            self.update(Content.styled("enter: the next fish    F2 saves the examination", "bold"))
        else:
            self.update(
                Content.styled(
                    "One line a fish; a colon before what was found in a preparation. F3 is the "
                    "form, F6 the list of signs.",
                    "$quiet",
                )
            )

    def _asked(self, doubts: tuple[FishDoubt, ...]) -> Content:
        doubt = doubts[0]
        parts: list[Content | str | tuple[str, str]] = [
            (one_line(doubt.question), "bold $level-watch")
        ]
        if len(doubt.answers) == 1:
            parts += [
                "\n  ", (f"{'enter':<7}", "$primary"), Content(one_line(doubt.answers[0].said))
            ]  # fmt: skip
        else:
            for number, answer in enumerate(doubt.answers[:9], start=1):
                parts += ["\n  ", (f"{number:<7}", "$primary"), Content(one_line(answer.said))]
        parts += ["\n  ", (f"{'n':<7}", "$primary"), "keep it in the note of this fish"]
        if doubts[1:]:
            more = f"\nand {len(doubts) - 1} more question{'s' if doubts[2:] else ''} after it"
            parts.append((more, "$quiet"))
        if not self.has_focus:
            parts.append(("\nenter goes to the question; or type it anew in the line", "$quiet"))
        return Content.assemble(*parts)

    def watch_has_focus(self, has_focus: bool) -> None:
        """Once it has the focus it need not be said how to come here."""
        super().watch_has_focus(has_focus)
        if self._understood is not None:
            self.show(self._understood)

    def on_key(self, event: Key) -> None:
        """Answers to the question; no letter or digit means anything else here."""
        if self._understood is None:
            return
        if event.is_printable:
            event.stop()
        if not self._understood.doubts:
            if event.key == "enter":
                event.stop()
                self.post_message(self.Agreed())
            return
        doubt = self._understood.doubts[0]
        chosen: Answer | None = None
        if event.key == "enter" and len(doubt.answers) == 1:
            chosen = doubt.answers[0]
        elif event.key.isdecimal() and 1 <= int(event.key) <= len(doubt.answers):
            chosen = doubt.answers[int(event.key) - 1]
        elif event.key != "n":
            return
        event.stop()
        self.post_message(self.Answered(doubt, chosen))


class FishLine(Vertical):
    """One line to type, and under it what was understood, asked, and to be looked for."""

    class Changed(Message):
        """A letter was typed."""

    class Submitted(Message):
        """Enter was pressed in the line."""

    def compose(self) -> ComposeResult:
        """The line, what was understood, the question, the marks of what is named."""
        with Horizontal(id="exam-line-row"):
            yield Static("", id="exam-nth", markup=False)
            yield TextLine(placeholder=EXAMPLE, id="exam-line")
        with VerticalScroll(id="exam-read", can_focus=False):
            yield Static("", id="exam-understood", markup=False)
            yield FishQuestion("", id="exam-question", markup=False)
            yield Static("", id="exam-reminder", markup=False)

    @property
    def text(self) -> str:
        """What stands in the line."""
        return self.query_one("#exam-line", TextLine).value

    def put(self, text: str) -> None:
        """Put a text into the line."""
        line = self.query_one("#exam-line", TextLine)
        with self.prevent(Input.Changed):
            line.value = text
        line.cursor_position = len(text)

    def number(self, *, form: bool, nth: int) -> None:
        """The number of the fish; a fish that is begun in the form is typed there."""
        self.query_one("#exam-nth", Static).update(Content.styled(f"fish {nth}", "bold"))
        line = self.query_one("#exam-line", TextLine)
        line.disabled = form
        line.placeholder = "begun in the form: F3 goes on there" if form else EXAMPLE

    def type_on(self) -> None:
        """The keys go to the line."""
        self.query_one("#exam-line", TextLine).focus()

    def ask(self) -> None:
        """The keys go to the question."""
        self.query_one(FishQuestion).focus()

    @property
    def asking(self) -> bool:
        """Whether the keys go to the question."""
        return self.query_one(FishQuestion).has_focus

    def show(self, understood: UnderstoodFish) -> None:
        """Say what was understood, what is asked, and what to look for."""
        from store.exams.entry import reminded

        self.query_one("#exam-understood", Static).update(Content(one_line(understood.echo)))
        question = self.query_one(FishQuestion)
        question.show(understood)
        self.query_one("#exam-reminder", Static).update(said_reminders(reminded(understood)))
        self.call_after_refresh(question.scroll_visible, animate=False)

    @on(Input.Changed)
    def _typed(self, changed: Input.Changed) -> None:
        changed.stop()
        self.post_message(self.Changed())

    @on(Input.Submitted)
    def _entered(self, submitted: Input.Submitted) -> None:
        submitted.stop()
        self.post_message(self.Submitted())

"""The line of a water test: where it is typed, what was understood, the question, the doubts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Input

from tui.screens.water.water_question import Question
from tui.widgets.entry import TextLine
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.water.understood import Understood


class Told(Static):
    """A text that takes no room while there is nothing to tell.

    Parameters
    ----------
    style
        Of the text.
    """

    def __init__(self, style: str = "", *, id: str, classes: str = "") -> None:  # noqa: A002
        super().__init__("", id=id, classes=classes, markup=False)
        self._style = style
        self.display = False

    def tell(self, text: str) -> None:
        """Tell this, or nothing."""
        self.update(literal(text, self._style))
        self.display = bool(text)


class WaterLine(Vertical):
    """One line to type, and under it what was understood."""

    class Changed(Message):
        """A letter was typed, or a text put in that is to be read."""

    class Submitted(Message):
        """Enter was pressed in the line."""

    def compose(self) -> ComposeResult:
        """The line, what was understood, the question."""
        yield TextLine(placeholder="19.5C pH 6.8 TAN 0.5 NO2 0.1 KH 4 DO 8.2", id="test-line")
        with VerticalScroll(id="test-read", can_focus=False):
            yield Static("", id="test-understood", markup=False)
            yield Question("", id="test-question", markup=False)
            yield Told("$level-watch", id="test-line-doubts")

    @property
    def text(self) -> str:
        """What stands in the line."""
        return self.query_one(TextLine).value

    def put(self, text: str, *, quietly: bool = False) -> None:
        """Put a text into the line; quietly where it says what was read already."""
        line = self.query_one(TextLine)
        if quietly:
            with self.prevent(Input.Changed):
                line.value = text
        else:
            line.value = text
        line.cursor_position = len(line.value)

    def type_on(self) -> None:
        """The keys go to the line."""
        self.query_one(TextLine).focus()

    def ask(self) -> None:
        """The keys go to the question."""
        self.query_one(Question).focus()

    @property
    def asking(self) -> bool:
        """Whether the keys go to the question."""
        return self.query_one(Question).has_focus

    def show(self, understood: Understood, taken: str, doubts: str) -> None:
        """Say what was understood, how it was taken, what is asked, what makes it doubtful."""
        from store.water.understood import shown, shown_time

        lines = [Content(one_line(shown(reading))) for reading in understood.readings]
        if understood.taken_at is not None:
            lines.append(Content(shown_time(understood.taken_at)))
        if taken:
            lines.append(Content(one_line(taken)))
        if understood.note:
            lines.append(Content.styled(f"note: {one_line(understood.note)}", "$quiet"))
        self.query_one("#test-understood", Static).update(Content("\n").join(lines))
        question = self.query_one(Question)
        question.show(understood)
        self.query_one(Told).tell(doubts)
        # Where there is little room, what was understood gives way to what is asked.
        self.call_after_refresh(question.scroll_visible, animate=False)

    @on(Input.Changed)
    def _typed(self, changed: Input.Changed) -> None:
        changed.stop()
        self.post_message(self.Changed())

    @on(Input.Submitted)
    def _entered(self, submitted: Input.Submitted) -> None:
        submitted.stop()
        self.post_message(self.Submitted())

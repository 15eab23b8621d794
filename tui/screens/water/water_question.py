"""The question that stands first while a water test is typed, and the keys that answer it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.events import Key
from textual.message import Message

from tui.screens.water.water_entry import Answer, answers_to
from tui.widgets.literal import one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.water.understood import Doubt, Understood


class Question(Static, can_focus=True):
    """The first open question with its answers, or that everything is ready to be saved."""

    class Answered(Message):
        """One of the answers was chosen."""

        def __init__(self, doubt: Doubt, answer: Answer) -> None:
            super().__init__()
            self.doubt = doubt
            self.answer = answer

    class Agreed(Message):
        """Nothing is asked any more, and enter was pressed."""

    _understood: Understood | None = None

    def show(self, understood: Understood) -> None:
        """Ask what is open in this line."""
        self._understood = understood
        if understood.doubts:
            self.update(self._asked(understood.doubts))
        elif understood.echo:
            self.update(Content.styled("enter saves this", "bold"))
        else:
            self.update(Content.styled("Nothing typed yet.", "$quiet"))

    def _asked(self, doubts: tuple[Doubt, ...]) -> Content:
        doubt = doubts[0]
        parts: list[Content | str | tuple[str, str]] = [
            (one_line(doubt.question), "bold $level-watch")
        ]
        for answer in answers_to(doubt):
            parts += ["\n  ", (f"{answer.key:<7}", "$primary"), Content(one_line(answer.words))]
        if doubts[1:]:
            more = f"\nand {len(doubts) - 1} more question{'s' if doubts[2:] else ''} after it"
            parts.append((more, "$quiet"))
        if not self.has_focus:
            parts.append(("\nenter goes to the question; nothing is saved before", "$quiet"))
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
        for answer in answers_to(doubt):
            if event.key == answer.key:
                event.stop()
                self.post_message(self.Answered(doubt, answer))
                return

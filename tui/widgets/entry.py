"""Places to type in. What cannot be seen, or could drive the terminal, never gets in."""

from __future__ import annotations

from dataclasses import replace

from textual.document._document import EditResult
from textual.widgets import Input, TextArea
from textual.widgets.text_area import Edit

from store.text import plain
from tui.widgets.literal import one_line


class TextLine(Input):
    """One line to type or paste into; the text is harmless at every moment."""

    def __init__(
        self,
        value: str = "",
        *,
        placeholder: str = "",
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
    ) -> None:
        super().__init__(
            one_line(value),
            one_line(placeholder),
            id=id,
            classes=classes,
            compact=True,
            select_on_focus=False,
        )
        # A blinking cursor is the only thing that would move on the screen.
        self.cursor_blink = False

    def validate_value(self, value: str) -> str:
        """The text made harmless, whatever way it came."""
        return one_line(value)


class TextBox(TextArea):
    """Some lines to type or paste into; the text is harmless at every moment."""

    def __init__(
        self,
        value: str = "",
        *,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
    ) -> None:
        super().__init__(
            plain(value, lines=True),
            id=id,
            classes=classes,
            compact=True,
            tab_behavior="focus",
            highlight_cursor_line=False,
        )
        self.cursor_blink = False

    def edit(self, edit: Edit) -> EditResult:
        """Every change passes here; its text is made harmless."""
        return super().edit(replace(edit, text=plain(edit.text, lines=True)))

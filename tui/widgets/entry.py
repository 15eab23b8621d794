"""Places to type in. What cannot be seen, or could drive the terminal, never gets in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rich.text import Text
from textual.document._document import EditResult
from textual.events import Key
from textual.widgets import Input, OptionList, Select, TextArea
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


class TextChoice(Select[str]):
    """A list to choose from: typing letters opens it and goes to what holds them.

    Parameters
    ----------
    choices
        Key and words of each.
    value
        The key that is chosen; any other text chooses none.
    """

    def __init__(self, choices: Sequence[tuple[str, str]], value: str, *, classes: str) -> None:
        known = any(value == key for key, _ in choices)
        super().__init__(
            # Of the texts without markup the search of the list knows this kind alone.
            [(Text(one_line(words)), key) for key, words in choices],
            prompt="",
            value=value if known else Select.NULL,
            compact=True,
            classes=classes,
        )

    def check_consume_key(self, key: str, character: str | None = None) -> bool:
        """Letters belong to the list, not to the keys of the screen."""
        return character is not None and character.isprintable() and character != " "

    def on_key(self, key: Key) -> None:
        """A letter opens the list and is looked for in it."""
        if not self.expanded and self.check_consume_key(key.key, key.character):
            key.stop()
            key.prevent_default()
            self.action_show_overlay()
            self.call_after_refresh(
                self.query_one(OptionList).post_message, Key(key.key, key.character)
            )

"""Places to type in. What cannot be seen, or could drive the terminal, never gets in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from textual.content import Content
from textual.document._document import EditResult
from textual.events import Key
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Input, OptionList, Select, TextArea
from textual.widgets.text_area import Edit

from store.text import plain
from tui.widgets.literal import one_line

MOST_TYPED = 20_000
"""Characters of a line: more that is pasted at once is not taken, and what stood there stays."""


class TextLine(Input):
    """One line to type or paste into; the text is harmless at every moment."""

    virtual_size: Reactive[Size] = Reactive(Size(0, 0))
    """Cells that the text would take: it scrolls within its line, and needs no other room."""

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
            max_length=MOST_TYPED,
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

    def load_text(self, text: str) -> None:
        """A whole text takes the place of what stood there; it is made harmless."""
        super().load_text(plain(text, lines=True))

    def edit(self, edit: Edit) -> EditResult:
        """Every change passes here; its text is made harmless."""
        return super().edit(replace(edit, text=plain(edit.text, lines=True)))


class TextChoice(Select[str]):
    """A list to choose from: typing opens it and goes to what holds the letters; enter takes it.

    Parameters
    ----------
    choices
        Key and words of each.
    value
        The key that is chosen; any other text chooses none.
    """

    def __init__(self, choices: Sequence[tuple[str, str]], value: str, *, classes: str) -> None:
        known = any(value == key for key, _ in choices)
        self._words = tuple(one_line(words).casefold() for _, words in choices)
        self._sought = ""
        super().__init__(
            [(Content(one_line(words)), key) for key, words in choices],
            prompt="",
            value=value if known else Select.NULL,
            # The library's own search knows no literal text, and loses letters that come quickly.
            type_to_search=False,
            compact=True,
            classes=classes,
        )

    def check_consume_key(self, key: str, character: str | None = None) -> bool:
        """Letters belong to the list, not to the keys of the screen; a space once it is open."""
        if character is None or not character.isprintable():
            return False
        return self.expanded or character != " "

    def on_key(self, key: Key) -> None:
        """Go to the first choice that holds what was typed since the list was opened."""
        if not self.check_consume_key(key.key, key.character):
            return
        key.stop()
        key.prevent_default()
        if not self.expanded:
            self._sought = ""
            self.action_show_overlay()
        typed = (key.character or "").casefold()
        for sought in (self._sought + typed, typed):
            found = [words.find(sought) for words in self._words]
            places = [(at, index) for index, at in enumerate(found) if at >= 0]
            if places:
                self._sought = sought
                # The first line of the list is the empty choice.
                self.query_one(OptionList).highlighted = min(places)[1] + 1
                return

"""What is to be minded, read to its end before a course begins or a dose is logged."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Button

from tui.screens.parts.dialogs import Dialog
from tui.widgets.literal import one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.courses.planning.course import Caution

READ = "read"
"""What the record keeps as the answer to a caution that asks for no reason."""
_ON, _DONE = "Read on", "All read"


class ReadCautions(Dialog[bool]):
    """Every caution that asks for no reason; enter reads on, and at the end says that it is read.

    Parameters
    ----------
    cautions
        As they stand now.
    """

    QUESTION = "What is to be minded?"
    ABOUT = (
        "Nothing here stops you. Enter reads on, and at the end says that all was read; the record "
        "keeps who read it, and when. Esc goes back, and nothing is saved."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "on", "read on, then all read", id="cautions.on", priority=True,
                tooltip="Reads on; at the end, says that all was read"),
    ]  # fmt: skip

    def __init__(self, cautions: Sequence[Caution]) -> None:
        count = len(cautions)
        super().__init__(f"To mind, {count} thing{'' if count == 1 else 's'}")
        self._cautions = tuple(cautions)

    def content(self) -> ComposeResult:
        """Each caution with its numbers and source."""
        with Reading(id="message"):
            yield Static(_said(self._cautions))

    def buttons(self) -> ComposeResult:
        """Back, and on."""
        yield Button(Content("Back"), id="back", compact=True)
        yield Button(Content(_ON), id="on", compact=True)

    def on_mount(self) -> None:
        """Enter goes on; the button follows how far was read."""
        self.query_one("#on", Button).focus()
        self.watch(self.query_one(Reading), "scroll_y", self._name_button, init=False)
        self.watch(self.query_one(Reading), "virtual_size", self._name_button, init=False)
        self.call_after_refresh(self._name_button)

    def _at_end(self) -> bool:
        text = self.query_one(Reading)
        return text.scroll_offset.y >= text.max_scroll_y

    def _name_button(self) -> None:
        button = self.query_one("#on", Button)
        button.label = Content(_DONE if self._at_end() else _ON)
        button.refresh(layout=True)  # its two names are not as wide

    def action_on(self) -> None:
        """Read on; at the end it is read. On the other button enter goes back."""
        if self.query_one("#back", Button).has_focus:
            self.dismiss(False)
        elif self._at_end():
            self.dismiss(True)
        else:
            self.action_read(1)

    @on(Button.Pressed)
    def _pressed(self, pressed: Button.Pressed) -> None:
        if pressed.button.id == "back":
            self.dismiss(False)
        else:
            self.action_on()

    def action_back(self) -> None:
        """Escape means that it was not read."""
        self.dismiss(False)


def _said(cautions: Sequence[Caution]) -> Content:
    from tui.backing import said_backing

    parts: list[str | tuple[str, str]] = []
    for one in cautions:
        source = said_backing(one.source, one.standing) if one.standing else one.source
        parts.append("\n\n" if parts else "")
        parts.append(one_line(one.said))
        more = [one_line(text) for text in (one.arithmetic, source) if text]
        parts += [(f"\n{text}", "$quiet") for text in more]
    return Content.assemble(*parts)


async def all_read(app: App[Any], cautions: Sequence[Caution]) -> dict[str, str] | None:
    """That every caution without a reason was read, by its code; None where somebody went back.

    Parameters
    ----------
    app
        The application.
    cautions
        As they were shown; those that stop are passed over, for they ask for a reason each.
    """
    minds = [one for one in cautions if one.level != "stop"]
    if minds and not await app.push_screen_wait(ReadCautions(minds)):
        return None
    return {one.code: READ for one in minds}

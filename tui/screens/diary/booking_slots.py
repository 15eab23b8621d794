"""The proposed slots as a list to choose from."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import OptionList


class Slots(OptionList):
    """The proposed slots; down from the last one goes on into the form."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "select", "take it", id="slots.take",
                tooltip="Put this day, hour and vet into the form"),
        Binding("tab", "app.focus_next", "to the form", key_display="tab", id="slots.form",
                tooltip="Into the form, to choose freely"),
    ]  # fmt: skip

    def action_cursor_down(self) -> None:
        """To the next slot, or on into the form."""
        if self.highlighted is None or self.highlighted >= self.option_count - 1:
            self.screen.focus_next()
        else:
            super().action_cursor_down()

    def action_cursor_up(self) -> None:
        """To the slot before; the first stays."""
        if self.highlighted:
            super().action_cursor_up()
